"""Words for people who dig: chances, lengths, and the table of an assessment as text.

A chance is never written as 0 % or 100 %, and a class without evidence is written "not assessed".
"""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING

import pandas as pd

from underturf import _core
from underturf._notes import verdict
from underturf.cautions import CAUTIONS, CHOSEN, NOT_CONVERGED, TOTAL
from underturf.directions import compass
from underturf.errors import ArgumentError

if TYPE_CHECKING:
    from underturf.results.assessment import Assessment

__all__ = ["chance_text", "length_text", "text_table"]

#: Chances below this are written "<0.1 %", and those above one less this ">99.9 %": finer than any model of turf.
LEAST_SHOWN = 0.001

FEET_PER_M = 1 / 0.3048

#: What the column of losses means.
LOSS_NOTE = (
    "loss: weights times chances, to compare these digs only; nearest likely line: median, and the band that holds nine in "
    "ten layouts"
)


def chance_text(p: float) -> str:
    """Write a probability for people.

    Parameters
    ----------
    p : float
        Probability, or NaN for a class that is not assessed.

    Returns
    -------
    str
        At most two digits that matter; never 0 % or 100 %.

    Examples
    --------
    >>> [chance_text(p) for p in (0.0, 0.0123, 0.124, 0.996, 1.0, float("nan"))]
    ['<0.1 %', '1.2 %', '12 %', '99.6 %', '>99.9 %', 'not assessed']
    """
    if math.isnan(p):
        return "not assessed"
    if p < LEAST_SHOWN:
        return "<0.1 %"
    if p > 1 - LEAST_SHOWN:
        return ">99.9 %"
    percent = 100 * p
    return f"{percent:.1f} %" if percent < 9.95 or percent > 99 else f"{percent:.0f} %"


def length_text(length_m: float, units: str) -> str:
    """Write a length in the unit of a document.

    Examples
    --------
    >>> length_text(0.3048, "ft"), length_text(0.3048, "m"), length_text(float("nan"), "m")
    ('1.0 ft', '0.30 m', '')
    """
    if math.isnan(length_m):
        return ""
    return f"{length_m * FEET_PER_M:.1f} ft" if units == "ft" else f"{length_m:.2f} m"


def text_table(assessment: Assessment, width: int = 100) -> str:
    """Write an assessment as text for the site, in the document's units, with the cautions.

    An assessment whose chains did not converge says so above and below its figures.

    Parameters
    ----------
    assessment : Assessment
        As `Layouts.assess` returns it.
    width : int
        Greatest number of characters in a line of prose.

    Returns
    -------
    str
        What ``print(assessment)`` shows.

    Raises
    ------
    ArgumentError
        If it is no assessment.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> text = ut.text_table(ut.sample_layouts(site, draws=50, seed=7).assess())
    >>> "not assessed: " in text and text.count("A probability is not a clearance")
    1
    """
    if not hasattr(assessment, "reach_m"):
        raise ArgumentError(
            f"assessment is {type(assessment).__name__}; it must be an Assessment, as assess returns it"
        )
    table, units = assessment.table(), assessment.site.units
    body = grid(rows(assessment, table))
    verdicts = [
        textwrap.fill(f"{dig}: {verdict(words, by)}", width, subsequent_indent="  ")
        for dig, words, by in zip(table.index, table["verdict"], table["blocked_by"], strict=True)
    ]
    said = [
        f"chance: {TOTAL}, by {assessment.draws} sampled layouts, seed {assessment.seed}; up to: bound at 95 % for the error of "
        "sampling"
    ]
    if assessment.not_assessed:
        missing = ", ".join(assessment.not_assessed)
        said.append(f"not assessed: {missing}. They have no part in the chances above and may lie here all the same")
    trees = [text for (dig, row) in table.iterrows() for text in tree_texts(dig, row, units, assessment.setback)]
    verdicts += [textwrap.fill(text, width, subsequent_indent="  ") for text in trees]
    said.append(LOSS_NOTE)
    if table["shift_m"].notna().any():
        said.append(CHOSEN)
    notes = [textwrap.fill(note, width) for note in said]
    cautions = [f"  - {caution}" for caution in CAUTIONS]
    mark = [] if assessment.converged else [f"*** {NOT_CONVERGED} ***", ""]
    return "\n".join([*mark, body, *notes, "", *mark, *verdicts, "", "Before you dig:", *cautions])


def rows(assessment: Assessment, table: pd.DataFrame) -> list[list[str]]:
    """Return the cells of the text's table, headings first; classes that no dig has assessed are left to the notes."""
    missing, units = assessment.not_assessed, assessment.site.units
    classes = [name[2:] for name in table.columns if name.startswith("p_") and name[2:] not in (*missing, *TOTALS)]
    heads = [
        "dig",
        "chance",
        "up to",
        *(name.replace("_", " ") for name in classes),
        "loss",
        "nearest likely line",
        "mark or metal",
        "best shift",
    ]
    lines = [heads]
    for dig, row in table.iterrows():
        lines.append(
            [
                str(dig),
                chance_text(row["p_strike"]),
                chance_text(row["p_upper95"]),
                *(chance_text(row[f"p_{name}"]) for name in classes),
                loss_text(row["loss"]),
                nearest_text(row, units),
                mark_text(row, units),
                shift_text(row, units),
            ]
        )
    return lines


#: Columns that begin like a class but are totals.
TOTALS = (
    *("strike", "upper95", "shifted", "setback", "roots"),
    *("strike_drawn", "setback_shifted", "roots_shifted"),
)


def nearest_text(row: pd.Series, units: str) -> str:
    """Name the nearest likely line, its median distance and the band that holds nine draws in ten."""
    if pd.isna(row["nearest_m"]):
        return "-"
    band = f"{length_text(row['nearest_m_q05'], units)} to {length_text(row['nearest_m_q95'], units)}"
    return f"{row['nearest_zone']}, {length_text(row['nearest_m'], units)} ({band})"


def loss_text(loss: float) -> str:
    """Write an expected loss, which has no unit, with two digits that matter; never as nought.

    Examples
    --------
    >>> [loss_text(loss) for loss in (0.0, 0.0123, 0.456, 12.3, 1234.0)]
    ['<0.01', '0.01', '0.46', '12', '1234']
    """
    if loss < 0.01:
        return "<0.01"
    return f"{loss:.2f}" if loss < 1 else f"{loss:.1f}" if loss < 10 else f"{loss:.0f}"


def tree_texts(dig: object, row: pd.Series, units: str, setback: str) -> list[str]:
    """Say what stands against a tree, and whether the dig reaches into the roots of a standing one."""
    said = []
    if pd.notna(row["p_setback"]):
        before, after = row["p_setback"], row["p_setback_shifted"]
        said.append(f"chance of a line within its setback ({setback}) {chance_text(before)}{shifted_text(after)}")
    if pd.notna(row["p_roots"]):
        said.append(f"within its roots at maturity {chance_text(row['p_roots'])}{shifted_text(row['p_roots_shifted'])}")
    if row["structure_in_roots"]:
        said.append(
            f"a building or pool {length_text(row['structure_m'], units)} off lies within its roots at maturity"
        )
    if row["hole_too_small"]:
        width, depth = (length_text(row[name], units) for name in ("hole_width_m", "hole_depth_m"))
        said.append(
            f"its root ball needs a hole at least {width} across and {depth} deep, and all figures are for such a hole; the "
            f"smaller one that was drawn has a chance of {chance_text(row['p_strike_drawn'])}"
        )
    texts = [f"{dig}, tree: {'; '.join(said)}"] if said else []
    if row["in_root_protection"]:
        away = length_text(row["standing_tree_m"], units)
        texts.append(f"{dig}: reaches into the protected roots of {row['standing_tree']}, {away} from its stem")
    return texts


def shifted_text(p: float) -> str:
    """Say what a chance is after the best shift; nothing without one.

    Examples
    --------
    >>> shifted_text(0.12), shifted_text(float("nan"))
    (', after the best shift 12 %', '')
    """
    return "" if pd.isna(p) else f", after the best shift {chance_text(p)}"


def mark_text(row: pd.Series, units: str) -> str:
    """Name the nearest utility mark and the nearest flagged metal with their distances."""
    said = []
    if pd.notna(row["mark_m"]):
        zone = ", in its zone" if row["in_tolerance_zone"] else ""
        said.append(f"{row['mark_class']}, {length_text(row['mark_m'], units)}{zone}")
    if pd.notna(row["metal_m"]):
        on = ", in its strip" if row["on_flagged_metal"] else ""
        said.append(f"metal {row['metal']}, {length_text(row['metal_m'], units)}{on}")
    return "; ".join(said) or "-"


def shift_text(row: pd.Series, units: str) -> str:
    """Name the best shift and what it leaves, or say that there is none."""
    if pd.isna(row["shift_m"]):
        return "none better" if row["shift_note"] == _core.NOWHERE else "-"
    moved = f"{length_text(row['shift_m'], units)} {compass(row['shift_azimuth_deg'])}"
    return f"{moved}: {chance_text(row['p_shifted'])}, loss {loss_text(row['loss_shifted'])}"


def grid(lines: list[list[str]]) -> str:
    """Align cells in columns, with a rule under the headings."""
    widths = [max(len(line[k]) for line in lines) for k in range(len(lines[0]))]
    text = ["  ".join(cell.ljust(w) for cell, w in zip(line, widths, strict=True)).rstrip() for line in lines]
    rule = "  ".join("-" * w for w in widths)
    return "\n".join([text[0], rule, *text[1:]])
