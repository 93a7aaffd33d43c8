"""The sheet as blocks, in the order in which a crew needs them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.crew.blocks import Alarm, Block, Details, Group, Heading, Items, Map, Table, Text, Together
from underturf.crew.drawing.labels import head_names
from underturf.crew.lengths import width_text
from underturf.crew.metal import carries, label_of, metal_block, told_words
from underturf.crew.points import about, with_unit
from underturf.crew.spots import PLACE, probes, set_out, spots
from underturf.crew.sweeps import sweep_block
from underturf.crew.words import BLANK, IF_HIT, class_words, percent
from underturf.site_tables import counted

if TYPE_CHECKING:
    from underturf.crew.plan import Plan, Stake

__all__ = ["content", "footer", "title"]

#: Lists of a document that are evidence, in the order of the sheet.
EVIDENCE = (
    *("heads", "valve_boxes", "sources", "outlets", "obstacles", "trees", "station_tests", "probes"),
    *("swept", "sketches", "flags", "marks", "services"),
)


def title(plan: Plan) -> tuple[str, str]:
    """Return the title and the line below it."""
    draws = f"{plan.layouts.draws:,} sampled layouts, seed {plan.layouts.seed}"
    unit = "feet and inches" if plan.units == "ft" else "metres"
    return f"Dig sheet: {plan.site.name or 'site without a name'}", f"{plan.date} · {draws} · lengths in {unit}"


def footer(plan: Plan) -> str:
    """Return what stands at the foot of every page."""
    mark = "" if plan.layouts.converged else f"{NOT_CONVERGED}. "
    return mark + " ".join(CAUTIONS)


def content(plan: Plan, *, annex: bool = False) -> tuple[Block, ...]:
    """Return the blocks of a sheet: orders, map, spots; places, details; what it rests on; the owner's page; the annex.

    Parameters
    ----------
    plan : Plan
        What it tells.
    annex : bool
        Whether the stakes that are far from every spot follow at the end.
    """
    alarm: list[Block] = [] if plan.layouts.converged else [Alarm(NOT_CONVERGED)]
    blocks: list[Block] = [*alarm, Heading("Before digging"), before(plan)]
    blocks += [Together((Heading("If a line is hit"), Items(IF_HIT, columns=2)))]
    blocks += [Map(), *spots(plan)]
    blocks += alarm
    blocks += [*fixed_points(plan), *set_out(plan), *probes(plan), Details()]
    blocks += [*metal_block(plan), *sweep_block(plan), *stakes(plan, annex=annex), *heads(plan)]
    blocks += [*evidence(plan), *owner(plan)]
    rest = [stake for stake in plan.stakes if stake.near_m > plan.options.near_m]
    if annex and rest:
        blocks += [Heading("Annex: stakes further away", new_page=True), stake_table(plan, rest)]
    if plan.options.full_page_map:
        blocks.append(Map(at_scale=True))
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
        found += f" Supply shut-off (not in the document): {BLANK}"
    if places and not boxes:
        found += f" Valve boxes (not in the document): {BLANK}"
    dated = sorted({str(mark["date"]) for mark in plan.document.get("marks", []) if mark.get("date")})
    day = plan.options.marks_date or (", ".join(dated) + " (site document)" if dated else BLANK)
    items = [
        f"One-call ticket no. {plan.options.ticket or BLANK}. Marks dated {day}. Marks are not faded and not expired.",
        f"Irrigation is off at the controller and {closed}.",
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
            f"{names}. Measure these first: {lengths}. If the tape differs by more than {about(0.1, units)}, stop: a point or "
            "the plan is wrong. Each place is given in two ways. First: two tapes, one from each of two points; the place is "
            f"where they cross. Second: along the line from {first} to {second} (minus: away from {second}), then square off "
            f"it, left (L) or right (R) as you look from {first} to {second}. Both must meet. Where the line is built over, use "
            f"the tapes alone. Tapes fix the worst of these places to {about(fixed.greatest_error_m(), units)} (one standard "
            "deviation)."
        ),
    ]


def stakes(plan: Plan, *, annex: bool) -> list[Block]:
    """List the stakes near spots, and say how many are not listed."""
    heading = Heading("Stakes on likely lines and metal lines" if len(plan.metal) else "Stakes on likely lines")
    share = percent(plan.options.least_chance)
    if not plan.stakes:
        return [heading, Text(f"No course of a line has a chance of {share} or more. Lines lie here all the same.")]
    rest = len(plan.stakes) - len(plan.listed)
    words = (
        f"Lines with a chance of {share} or more. Other courses are possible everywhere. Doubt: in 9 of 10 of the layouts that "
        "have the line, it lies no further than this to either side of the stake."
    )
    if rest:
        words += (
            f" Not listed: {rest} of {len(plan.stakes)} stakes, further than {with_unit(plan.options.near_m, plan.units)} from "
            "every spot and probe" + ("; see the annex." if annex else "; their lines are on the map.")
        )
    body: list[Block] = [stake_table(plan, list(plan.listed))] if plan.listed else []
    return [heading, Text(words), *body]


def heads(plan: Plan) -> list[Block]:
    """Tell the names of heads that are numbers on the map."""
    names, numbered = head_names(plan.document)
    if not names or not numbered:
        return []
    rows = tuple(
        (number, clean_lines(head["id"]), "not known" if head.get("zone") is None else clean_lines(head["zone"]))
        for number, head in zip(names, plan.document["heads"], strict=True)
    )
    return [Heading("Heads on the map"), Table(("no.", "head", "zone"), rows, side_by_side=2)]


def clean_lines(name: object) -> str:
    """Write a name in one line."""
    return " ".join(str(name).split())


def stake_table(plan: Plan, stakes: list[Stake]) -> Table:
    """Return the table of stakes, line by line."""
    names = line_names(plan)
    rows: list[tuple[str, ...] | Group] = []
    last = None
    for stake in stakes:
        if stake.line != last:
            last = stake.line
            rows.append(Group(f"{last}: {names[last]}"))
        cells = plan.row(stake.label)
        rows.append((stake.label, *cells, "±" + width_text(stake.half_width_m, plan.units)))
    return Table((*PLACE, "doubt"), tuple(rows), side_by_side=2)


def line_names(plan: Plan) -> dict[str, str]:
    """Say of each line that may have stakes what it is."""
    names = {label_of(line): f"metal line, {carries(line)}; told by {told_words(line)}" for line in plan.metal}
    lengths = plan.lines.groupby("line")["span_m"].sum()
    for row in plan.lines.drop_duplicates("line").to_dict("records"):
        zone = "" if row["class"] == row["zone"] else f", {row['zone']}"
        length = with_unit(lengths[row["line"]], plan.units)
        names[f"L{row['line']}"] = f"{class_words(row['class'])}{zone}, {percent(row['p_line'])}, {length} long"
    return names


def owner(plan: Plan) -> list[Block]:
    """Write to the owner about every dangerous line that was marked, found or flagged, the worst first, with its place."""
    rows: list[tuple[str, ...] | Group] = []
    for find in plan.finds:
        rows.append(Group(f"{find.label}: {find.words}"))
        rows += [(point.label, *plan.row(point.label)) for point in find.points]
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
        "Keep this page with the papers of the property. Show it to everyone who digs here next. Marks fade and lines are moved: "
        "this page replaces neither a call nor a mark."
    )
    table: list[Block] = [Table(PLACE, tuple(rows), side_by_side=2)] if rows else []
    title = f"To the owner of the ground: {plan.site.name}" if plan.site.name else "To the owner of the ground"
    drawn: list[Block] = [Map(again=True)] if rows else []
    return [Heading(title, new_page=True), *owner_points(plan, rows), *table, Text(" ".join(notes)), *drawn]


def owner_points(plan: Plan, rows: list[tuple[str, ...] | Group]) -> list[Block]:
    """Say again from where places are measured: the owner's page is read without the rest of the sheet."""
    if not rows or not plan.fixed.points:
        return []
    names = "; ".join(f"{plan.fixed.letter(k)} {name}" for k, (name, _, _) in enumerate(plan.fixed.points))
    return [
        Text(
            f"Dangerous lines that are known here on {plan.date}. Measured from: {names}. Each place is where the two tapes "
            "cross; and again along the line from the first point to the second, then square off it, left (L) or right (R) as "
            "you look along that line."
        )
    ]


def evidence(plan: Plan) -> list[Block]:
    """Tell what the chances rest on, and what they do not."""
    document = plan.document
    zoned = sum(head.get("zone") is not None for head in document.get("heads", []))
    words = [counted(key, len(document.get(key, []))) for key in EVIDENCE]
    words[0] += f" ({zoned} with a zone)"
    items = [
        ("In the site document", ", ".join(words) + "."),
        ("Of the document", " ".join(plan.site.warnings) or "all of it counts in the chances."),
        ("Assumed", assumptions(plan)),
        ("Convergence", convergence(plan)),
    ]
    items += [("Outlets", words) for words in [fed_indoors(plan)] if words]
    noted = [note for note in plan.layouts.warnings if note not in plan.site.warnings]
    if noted:
        items.append(("Notes", " ".join(noted[:6]) + (f" And {len(noted) - 6} more." if len(noted) > 6 else "")))
    return [Heading("What this rests on"), Items(tuple(items))]


def fed_indoors(plan: Plan) -> str:
    """Say which outlets are fed by their house, by the document or perhaps."""
    outlets = plan.site._handle.house_fed()
    told = [f"{class_words(kind)} {clean_lines(name)}" for name, kind, chance in outlets if chance >= 1.0]
    perhaps = [f"{class_words(kind)} {clean_lines(name)}" for name, kind, chance in outlets if chance < 1.0]
    words = []
    if told:
        words.append(f"Fed from inside the house, so that no pipe to it counts: {', '.join(told)}.")
    if perhaps:
        share = percent(plan.settings["house_fed_share"])
        words.append(
            f"Perhaps fed from inside the house ({share} before any probe): {', '.join(perhaps)}. Look where the pipe comes from."
        )
    return " ".join(words)


def assumptions(plan: Plan) -> str:
    """Tell the settings that matter to a reader, and those that the document changes."""
    settings = plan.settings
    changed = ", ".join(f"{name} = {value:g}" for name, value in plan.document.get("settings", {}).items())
    return (
        "how crews lay pipe (common practice, most of it without a source); the ground is flat; "
        f"verdicts change at {percent(settings['verdict_limit'])} and 50\u00a0%; tolerance zones reach "
        f"{about(settings['tolerance_half_zone_m'], plan.units)} to either side of a mark unless the mark says otherwise; "
        "a tape is right to "
        f"{about(settings['tape_sd_m'], plan.units)}. Settings: "
        + (f"as shipped but for {changed}." if changed else "as shipped.")
    )


def convergence(plan: Plan) -> str:
    """Tell whether the chains passed their checks, those over metal too."""
    metal = ""
    if len(plan.metal):
        passed = "did not pass every check" if plan.metal.failures else "passed every check"
        metal = f" Which flag is on which metal line is sampled; these chains {passed}."
    return zone_convergence(plan) + metal


def zone_convergence(plan: Plan) -> str:
    """Tell whether the chains over zones passed their checks."""
    if plan.layouts.independent:
        return "zones are known or settled; the layouts are independent draws, so there are no chains to check."
    failures = plan.layouts.run_info["failures"]
    if not failures:
        return "zones are sampled; the chains agree with each other and passed every check."
    return f"{NOT_CONVERGED}: " + " ".join(failures)
