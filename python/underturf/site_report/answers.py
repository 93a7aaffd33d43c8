"""What the report says of digs: chances and verdicts, and which settings move them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from underturf._notes import verdict
from underturf.cautions import CHOSEN, TOTAL
from underturf.report import chance_text, mark_text, nearest_text, shift_text
from underturf.site_report.markup import Markup, items, paragraph, section, table

if TYPE_CHECKING:
    from underturf.results import Assessment, Effect, Sensitivity

__all__ = ["digs", "matters"]

#: Settings that are listed for one dig at most, the greatest changes.
MOST = 12


def digs(assessment: Assessment) -> Markup:
    """Return the section on digs."""
    if not len(assessment):
        return section("Digs", paragraph("No dig is proposed."))
    units, cells = assessment.site.units, assessment.table()
    rows = [
        [
            name,
            chance_of(row),
            f"{100 * row['mcse']:.1f}",
            nearest_text(row, units),
            mark_text(row, units),
            shift_text(row, units),
            verdict(row["verdict"], row["blocked_by"]),
        ]
        for name, row in cells.iterrows()
    ]
    heads = [
        "dig",
        "chance of a strike",
        "error, points",
        "nearest likely line",
        "mark or metal",
        "best shift",
        "verdict",
    ]
    missing = ", ".join(name.replace("_", " ") for name in assessment.not_assessed)
    notes = [
        f"Chance: {TOTAL}; up to: bound at 95 % for the error of sampling. Error: Monte Carlo standard error, percentage points.",
        f"Not assessed: {missing}. They have no part in the chances and may lie here all the same." if missing else "",
        CHOSEN if cells["shift_m"].notna().any() else "",
    ]
    return section("Digs", table(heads, rows, "digs"), items(note for note in notes if note))


def chance_of(row: Any) -> str:
    """Return the chance of a dig; where a mark or flagged metal counts, that comes first."""
    chance = f"{chance_text(row['p_strike'])}, up to {chance_text(row['p_upper95'])}"
    if row["in_tolerance_zone"]:
        return f"in a tolerance zone: the mark counts (private lines: {chance})"
    return f"on flagged metal: the flags count (other lines: {chance})" if row["on_flagged_metal"] else chance


def matters(effects: Sensitivity | None, why_not: str = "") -> Markup:
    """Return the section on the settings that matter."""
    if effects is None or not len(effects):
        return section("Settings that matter", paragraph(why_not or "No dig is proposed, so nothing was moved."))
    each = effects.draws // effects.replicates
    said = (
        "One setting at a time was moved, and every dig asked again with the same random numbers: "
        f"{effects.replicates} samples of {each} layouts each. Where no values were asked for, a setting moves by "
        f"{effects.share:g} of the way to the nearer end of its range, down and up; one that lies at an end moves inward. "
        "The error of a change is the standard error over these samples. A change that its error explains (Student's t, "
        "two-sided, 0.05) is marked: it may be noise. What settings do together is not told."
    )
    parts = [paragraph(said)]
    for name in dict.fromkeys(effect.dig for effect in effects):
        parts += of_dig(name, [effect for effect in effects if effect.dig == name])
    return section("Settings that matter", *parts)


def of_dig(name: str, rows: list[Effect]) -> list[Markup]:
    """Return the table of one dig: changes that are no noise first."""
    still = [row.setting for row in rows if row.swing == 0.0]
    moving = [row for row in rows if row.swing > 0.0]
    widest = max((row.swing for row in moving), default=1.0)
    cells = [
        [
            row.setting,
            f"{row.value:g}",
            way(row.low, row.p_low, row.change_low, row.change_low_mcse),
            way(row.high, row.p_high, row.change_high, row.change_high_mcse),
            bars(row, widest),
            "" if row.distinct else "may be noise",
        ]
        for row in moving[:MOST]
    ]
    parts = [
        Markup("<h3>")
        + Markup(paragraph(f"{name}: {chance_text(rows[0].p_strike)} as things are, by these samples")[3:-4] + "</h3>")
    ]
    heads = ["setting", "here", "lower", "higher", "change of the chance", ""]
    parts.append(table(heads, cells, "effects") if cells else paragraph("No setting that was moved changes it."))
    left = [row.setting for row in moving[MOST:]]
    if left:
        parts.append(paragraph(f"Smaller changes, not listed: {', '.join(left)}."))
    if still and cells:
        parts.append(paragraph(f"No effect at all: {', '.join(still)}."))
    return [Markup("<div class='dig'>" + "".join(parts) + "</div>")]


def way(value: float | None, p: float | None, change: float | None, error: float | None) -> str:
    """Return what a setting moved one way does.

    Examples
    --------
    >>> way(0.14, 0.2, 0.05, 0.004), way(None, None, None, None)
    ('0.14: 20 % (+5.0 ± 0.4)', 'not moved')
    """
    if value is None or p is None or change is None:
        return "not moved"
    return f"{value:g}: {chance_text(p)} ({100 * change:+.1f} ± {100 * (error or 0.0):.1f})"


def bars(row: Effect, widest: float) -> Markup:
    """Return the two changes as bars from a middle line: lower hatched by its outline, higher filled."""
    drawn = []
    for k, change in enumerate((row.change_low, row.change_high)):
        if change is None:
            continue
        long = 48 * abs(change) / widest
        x = 50 - long if change < 0 else 50
        look = 'fill="none" stroke="#1f1f1f"' if k == 0 else 'fill="#4d4d4d" stroke="#1f1f1f"'
        drawn.append(f'<rect x="{x:.1f}" y="{2 + 8 * k}" width="{max(long, 0.1):.1f}" height="6" {look}/>')
    middle = '<line x1="50" y1="0" x2="50" y2="18" stroke="#1f1f1f"/>'
    return Markup(
        f'<svg viewBox="0 0 100 18" width="150" height="27" aria-hidden="true">{middle}{"".join(drawn)}</svg>'
    )
