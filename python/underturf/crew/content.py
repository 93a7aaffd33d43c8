"""The sheet as blocks, in the order in which a crew needs them."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any

from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.crew.blocks import Alarm, Block, Group, Heading, Items, Map, Table, Text, Together
from underturf.crew.lengths import width_text
from underturf.crew.points import about, with_unit
from underturf.crew.spots import PLACE, probes, set_out, spots
from underturf.crew.words import BLANK, IF_HIT, class_words, percent
from underturf.settings import settings_table

if TYPE_CHECKING:
    from underturf.crew.plan import Plan, Stake

__all__ = ["content", "footer", "title"]

#: Lists of a document that are evidence, with what they hold: one and many.
EVIDENCE = {
    "heads": ("head", "heads"),
    "valve_boxes": ("valve box", "valve boxes"),
    "sources": ("source", "sources"),
    "outlets": ("outlet", "outlets"),
    "obstacles": ("obstacle", "obstacles"),
    "trees": ("tree", "trees"),
    "station_tests": ("station test", "station tests"),
    "probes": ("probe", "probes"),
    "swept": ("swept piece of ground", "swept pieces of ground"),
    "sketches": ("line of old drawings", "lines of old drawings"),
    "flags": ("detector flag", "detector flags"),
    "marks": ("utility mark", "utility marks"),
    "services": ("service line", "service lines"),
}


def title(plan: Plan) -> tuple[str, str]:
    """Return the title and the line below it."""
    draws = f"{plan.layouts.draws:,} sampled layouts, seed {plan.layouts.seed}"
    unit = "feet and inches" if plan.units == "ft" else "metres"
    return f"Dig sheet: {plan.site.name or 'site without a name'}", f"{plan.date} · {draws} · lengths in {unit}"


def footer(plan: Plan) -> str:
    """Return what stands at the foot of every page."""
    mark = "" if plan.layouts.converged else f"{NOT_CONVERGED}. "
    return mark + " ".join(CAUTIONS)


@functools.lru_cache(maxsize=16)
def content(plan: Plan, most: int | None = None, *, annex: bool = False) -> tuple[Block, ...]:
    """Return the blocks of a sheet; kept, since many layouts of them are tried.

    Parameters
    ----------
    plan : Plan
        What it tells.
    most : int, optional
        How many stakes to list at most; all that are near spots if not given.
    annex : bool
        Whether the other stakes follow at the end.
    """
    listed = plan.listed(most)
    alarm: list[Block] = [] if plan.layouts.converged else [Alarm(NOT_CONVERGED)]
    blocks: list[Block] = [*alarm, Map(), *spots(plan)]
    blocks += [Heading("Before digging"), before(plan), *alarm]
    blocks += [Together((Heading("If a line is hit"), Items(IF_HIT, columns=2)))]
    blocks += [*fixed_points(plan), *set_out(plan), *probes(plan), *stakes(plan, listed, annex=annex)]
    blocks += [*owner(plan), *evidence(plan)]
    shown = {stake.label for stake in listed}
    rest = [stake for stake in plan.stakes if stake.label not in shown]
    if annex and rest:
        blocks += [Heading("Annex: stakes further away"), stake_table(plan, rest)]
    return tuple(blocks)


def before(plan: Plan) -> Items:
    """Return what is done before anyone digs; the cautions stand at the foot of every page, this one too."""
    sources = [shut for shut in plan.shut_offs if shut.source]
    boxes = [shut for shut in plan.shut_offs if not shut.source]
    places = "; ".join(f"{shut.label} {shut.words}" for shut in plan.shut_offs)
    backflow = " and ".join(f"{shut.label} {shut.words}" for shut in sources if "backflow" in shut.words)
    closed = (
        f"at the backflow assembly ({backflow})"
        if backflow
        else f"at the backflow assembly (not in the document): {BLANK}"
    )
    found = (
        f"Shut-offs found and tried. On the map: {places}."
        if places
        else f"Shut-offs found and tried (none in the document): {BLANK}"
    )
    if places and not sources:
        found += f" Where the supply closes is not in the document: {BLANK}"
    if places and not boxes:
        found += f" Valve boxes are not in the document: {BLANK}"
    dated = sorted({str(mark["date"]) for mark in plan.document.get("marks", []) if mark.get("date")})
    day = plan.options.marks_date or (", ".join(dated) + " (site document)" if dated else BLANK)
    items = [
        f"One-call ticket no. {plan.options.ticket or BLANK}  Marks dated {day}. Marks not faded, not expired.",
        f"Irrigation off at the controller and {closed}.",
        found,
    ]
    return Items(tuple(("", item) for item in items), boxes=True)


def fixed_points(plan: Plan) -> list[Block]:
    """Name the fixed points and what is measured first."""
    fixed, units = plan.fixed, plan.units
    if not fixed.pairs:
        return []
    names = "; ".join(f"{fixed.letter(k)} {name}" for k, (name, _, _) in enumerate(fixed.points))
    lengths = ", ".join(f"{fixed.letter(a)}{fixed.letter(b)} {with_unit(m, units)}" for a, b, m in fixed.pairs)
    first, second = (fixed.letter(k) for k in fixed.pairs[0][:2])
    return [
        Heading("Measure from"),
        Text(
            f"{names}. Measure these first: {lengths}; if the tape says otherwise by more than {about(0.1, units)}, stop: a "
            f"point or the plan is wrong. Each place is given twice: by the tapes from two points, where they cross, and as the "
            f"distance from {first} along the line to {second} (minus: away from {second}), then square to it, left or right "
            f"looking from {first} to {second}. Both must meet; built over: by the tapes "
            "alone. Tapes fix the worst of these places to "
            f"{about(fixed.greatest_error_m(), units)} (one standard deviation)."
        ),
    ]


def stakes(plan: Plan, listed: tuple[Stake, ...], *, annex: bool) -> list[Block]:
    """List the stakes near spots, and say how many are not listed."""
    heading = Heading("Stakes on likely lines")
    share = percent(plan.options.least_chance)
    if not plan.stakes:
        return [heading, Text(f"No course of a line has a chance of {share} or more. Lines lie here all the same.")]
    rest = len(plan.stakes) - len(listed)
    words = (
        f"Lines with a chance of {share} or more; other courses are possible everywhere. Doubt: the line lies within so much to "
        "either side of the stake in 9 of 10 of the layouts that have it."
    )
    if rest:
        which = f"further than {with_unit(plan.options.near_m, plan.units)} from every spot and probe"
        if len(listed) < len(plan.listed(None)):
            which = "further away than those listed (there is no room for all)"
        words += f" Not listed: {rest} of {len(plan.stakes)} stakes, {which}" + (
            "; see the annex." if annex else "; their lines are on the map."
        )
    body: list[Block] = [stake_table(plan, list(listed))] if listed else []
    return [heading, Text(words), *body]


def stake_table(plan: Plan, stakes: list[Stake]) -> Table:
    """Return the table of stakes, line by line."""
    lines: dict[int, dict[Any, Any]] = {row["line"]: row for row in plan.lines.to_dict("records")}
    lengths = plan.lines.groupby("line")["span_m"].sum()
    rows: list[tuple[str, ...] | Group] = []
    last = None
    for stake in stakes:
        if stake.line != last:
            last = stake.line
            row = lines[last]
            name = (
                class_words(row["class"])
                if row["class"] == row["zone"]
                else f"{class_words(row['class'])}, {row['zone']}"
            )
            length = with_unit(lengths[last], plan.units)
            rows.append(Group(f"L{last}: {name}, {percent(row['line_chance'])}, {length} long"))
        cells = plan.cells(stake.label)
        rows.append((stake.label, *cells, "±" + width_text(stake.half_width_m, plan.units)))
    return Table((*PLACE, "doubt"), tuple(rows), side_by_side=2)


def owner(plan: Plan) -> list[Block]:
    """Write to the owner about every dangerous line that was marked or found, with its place."""
    rows: list[tuple[str, ...] | Group] = []
    for find in plan.finds:
        rows.append(Group(f"{find.label}: {find.words}"))
        rows += [(point.label, *plan.cells(point.label)) for point in find.points]
    inside: dict[str, list[str]] = {}
    for k, (name, row) in enumerate(plan.table.iterrows()):
        if row["in_tolerance_zone"]:
            inside.setdefault(row["mark_class"], []).append(f"{k + 1} ({name})")
    notes = [
        f"Inside the tolerance zone of {class_words(name)}: spot {', '.join(within)}."
        for name, within in inside.items()
    ]
    on_metal = [f"{k + 1} ({name})" for k, (name, row) in enumerate(plan.table.iterrows()) if row["on_flagged_metal"]]
    if on_metal:
        notes.append(f"On metal that a detector heard: spot {', '.join(on_metal)}.")
    if not rows and not notes:
        return []
    notes.append(
        "Keep this sheet with the papers of the ground, and tell whoever digs here next. Marks fade and lines are moved: "
        "this note replaces neither a call nor a mark."
    )
    table: list[Block] = [Table(PLACE, tuple(rows), side_by_side=2)] if rows else []
    return [Heading("To the owner of the ground"), *table, Text(" ".join(notes))]


def evidence(plan: Plan) -> list[Block]:
    """Tell what the chances rest on, and what they do not."""
    document = plan.document
    counts = {key: len(document.get(key, [])) for key in EVIDENCE}
    zoned = sum(head.get("zone") is not None for head in document.get("heads", []))
    words = [f"{counts[key]} {names[counts[key] != 1]}" for key, names in EVIDENCE.items()]
    words[0] += f" ({zoned} with a zone)"
    items = [
        ("In the site document", ", ".join(words) + "."),
        ("Of the document", " ".join(plan.site.warnings) or "all of it takes part in the chances."),
        ("Assumed", assumptions(plan)),
        ("Gates", gates(plan)),
    ]
    noted = [note for note in plan.layouts.warnings if note not in plan.site.warnings]
    if noted:
        items.append(("Notes", " ".join(noted[:6]) + (f" And {len(noted) - 6} more." if len(noted) > 6 else "")))
    return [Heading("What this rests on"), Items(tuple(items))]


def assumptions(plan: Plan) -> str:
    """Tell the settings that matter to a reader, and those that the document changes."""
    settings: dict[str, Any] = settings_table()["default"].to_dict() | plan.document.get("settings", {})
    changed = ", ".join(f"{name} = {value:g}" for name, value in plan.document.get("settings", {}).items())
    return (
        "how crews lay pipe (common practice, most of it without a source); the ground is flat; "
        f"verdicts change at {percent(settings['verdict_limit'])} and 50\u00a0%; tolerance zones reach "
        f"{about(settings['tolerance_half_zone_m'], plan.units)} to either side of a mark unless it says otherwise; "
        "a tape is right to "
        f"{about(settings['tape_sd_m'], plan.units)}. Settings: "
        + (f"as shipped but for {changed}." if changed else "as shipped.")
    )


def gates(plan: Plan) -> str:
    """Tell whether the answer passed its gates."""
    if plan.layouts.independent:
        return "zones are known or settled; the layouts are independent draws and there is no chain to judge."
    if plan.layouts.converged:
        return "zones are sampled; the chains agree with each other and passed every gate."
    return f"{NOT_CONVERGED}: " + " ".join(plan.layouts.run_info["failures"])
