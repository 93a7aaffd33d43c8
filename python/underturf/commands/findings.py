"""``underturf add-probe``, ``add-test`` and ``add-dig``: what was found or is proposed, written into the document.

Each writes the document back to its file, whole or not at all. Sample anew afterwards: what was made before does not know it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

import underturf as ut
from underturf import _core
from underturf._checks import DOCUMENT_ENDINGS, length
from underturf._written import LENGTHS
from underturf.commands.answers import Answer, about, json_rows, say
from underturf.commands.given import (
    SAMPLING,
    SITE,
    Given,
    command,
    count,
    length_option,
    number,
    option,
    out_option,
    switch,
)
from underturf.commands.placed import site_with
from underturf.commands.reading import STDIN, read_document, sized, source, typed_as_written
from underturf.commands.sampling import sampled
from underturf.commands.texts import Column, page, table
from underturf.commands.writing import Target, target
from underturf.digs import Hole, Trench

__all__ = ["add_dig", "add_probe", "add_test", "evidence"]

AGAIN = switch("--again", help="Write it though the document says just the same already.")

#: What is odd about an entry is most often its unit.
ODD = switch("--odd", help="Write it though its size or place is odd.")

#: Where the document goes.
BACK = out_option("Where the document goes, .toml or .json; back to SITE if not given.")

PROBE = (
    option("--at", nargs=2, metavar="X Y", help="Middle of a round probe."),
    length_option("--radius", None, "Its radius."),
    option("--from", "from_", nargs=2, metavar="X Y", help="Instead, where a slit begins."),
    option("--to", nargs=2, metavar="X Y", help="Where it ends."),
    length_option("--width", None, "Its width."),
    length_option("--depth", None, "Depth reached."),
    option(
        "--plan",
        metavar="FILE",
        help="Plan of probes that the command probes wrote: place, size, depth and tool are its own.",
    ),
    count("--probe", None, "Number of the probe in that plan."),
    switch("--found/--clear", default=None, help="Whether a line was met. One of them must be given."),
    option("--class", "line_class", metavar="CLASS", help="What the line carries."),
    number("--azimuth", None, "Its direction, degrees clockwise from north.", "DEGREES"),
    length_option("--cover", None, "Ground above it."),
    option(
        "--tool", type=click.Choice(_core.WORDS["tool"]), help="What it was dug with. A pothole or a slit if not given."
    ),
    number("--p-detect", None, "Chance that a line within it would be met; that of the tool if not given.", "P"),
    number("--p-false", None, "Chance of a find where there is no line.", "P"),
    AGAIN,
    ODD,
)


@command("add-probe", SITE, PROBE, BACK)
def add_probe(given: Given) -> None:
    """Write the result of a probe into the document: where it was dug, and whether a line was met."""
    if given.found is None:
        raise click.UsageError("was a line met? Give --found or --clear")
    site = read_document(given)
    place = back(given)
    line = noted(given, site)
    if (given.plan is None) != (given.probe is None):
        raise click.UsageError("--plan FILE and --probe NUMBER go together")
    if given.plan is not None:
        later = planned(given, site, line)
    elif given.from_ is not None or given.to is not None:
        later = slit(given, site, line)
    else:
        later = pothole(given, site, line)
    written(given, site, later, "probes", place)


def noted(given: Given, site: ut.Site) -> ut.FoundLine | None:
    """Return what was noted of the line that was met."""
    cover = None if given.cover is None else typed_as_written(given.cover, "--cover", site)
    if given.line_class is None and given.azimuth is None and cover is None:
        return None
    if not given.found:
        raise click.UsageError("--class, --azimuth and --cover tell of a line that was met; this probe was clear")
    return ut.FoundLine(given.line_class, given.azimuth, cover)


def needs(given: Given, **options: str) -> None:
    """Refuse where options are missing."""
    missing = [name for key, name in options.items() if getattr(given, key) is None]
    if missing:
        raise click.UsageError(f"the probe has no {', '.join(missing)}; or take it from a plan with --plan and --probe")


def tool_of(given: Given, kind: Any = None) -> ut.ProbeTool:
    """Return what a probe was dug with."""
    return ut.ProbeTool(given.tool or kind, given.p_detect, given.p_false)


def point(given: Given, site: ut.Site, key: str, name: str) -> list[float | str]:
    """Return a point as it was typed, numbers in metres."""
    return [typed_as_written(text, name, site) for text in getattr(given, key)]


def pothole(given: Given, site: ut.Site, line: ut.FoundLine | None) -> ut.Site:
    """Return the site with a round probe."""
    needs(given, at="--at", radius="--radius", depth="--depth")
    if given.width is not None:
        raise click.UsageError("--width is that of a slit; give --from and --to")
    x, y = point(given, site, "at", "--at")
    radius, depth = (typed_as_written(getattr(given, key), f"--{key}", site) for key in ("radius", "depth"))
    return site.with_probe(x, y, radius, depth, given.found, line=line, tool=tool_of(given))


def slit(given: Given, site: ut.Site, line: ut.FoundLine | None) -> ut.Site:
    """Return the site with a slit."""
    needs(given, from_="--from", to="--to", width="--width", depth="--depth")
    if given.at is not None or given.radius is not None:
        raise click.UsageError("--at and --radius are those of a round probe, --from and --to those of a slit")
    path: Any = [point(given, site, "from_", "--from"), point(given, site, "to", "--to")]
    width, depth = (typed_as_written(getattr(given, key), f"--{key}", site) for key in ("width", "depth"))
    return site.with_slit(path, width, depth, given.found, line=line, tool=tool_of(given, "slit"))


def planned(given: Given, site: ut.Site, line: ut.FoundLine | None) -> ut.Site:
    """Return the site with a probe of a plan, as deep as it was dug."""
    beside = [name for name in ("at", "radius", "from_", "to", "width") if getattr(given, name) is not None]
    if beside:
        raise click.UsageError(f"the plan says where the probe is; leave out --{beside[0].rstrip('_')}")
    plan = ut.read_probes(given.plan)
    if not isinstance(plan, ut.ProbePlan):
        raise ut.ArgumentError(
            f"{given.plan}: no plan that the command probes wrote; give --at, --radius and --depth instead"
        )
    numbers = [probe.number for probe in plan]
    if given.probe not in numbers:
        known = ", ".join(map(str, numbers)) or "none"
        raise ut.ArgumentError(f"--probe: the plan has no probe {given.probe}; it has {known}")
    dig = rounded(plan.digs[numbers.index(given.probe)], site.unit_m)
    depth = dig.depth_m if given.depth is None else typed_as_written(given.depth, "--depth", site)
    if isinstance(dig, Hole):
        tool = tool_of(given, plan.tool)
        return site.with_probe(dig.x_m, dig.y_m, dig.radius_m, depth, given.found, line=line, tool=tool)
    return site.with_slit(dig.path_m, dig.width_m, depth, given.found, line=line, tool=tool_of(given, "slit"))


def rounded(dig: Hole | Trench, unit_m: float) -> Hole | Trench:
    """Return a planned probe with lengths rounded to a thousandth of the unit: nobody digs closer, and people read the document.

    Examples
    --------
    >>> rounded(Hole(1.23456, 0.3048, 0.25, 0.45), 0.3048).x_m / 0.3048
    4.05
    """

    def near(length_m: float) -> float:
        return round(length_m / unit_m, 3) * unit_m

    if isinstance(dig, Hole):
        return Hole(near(dig.x_m), near(dig.y_m), near(dig.radius_m), near(dig.depth_m))
    return Trench(tuple((near(x), near(y)) for x, y in dig.path_m), near(dig.width_m), near(dig.depth_m))


TEST = (
    click.argument("heads", nargs=-1, metavar="HEADS..."),
    option("--zone", metavar="ZONE", help="Zone that was run."),
    option("--valve", metavar="BOX", help="Instead, the valve box one of whose valves was run."),
    number("--error", None, "Chance that one head was noted wrongly.", "P"),
    switch("--none", help="No head came up."),
    AGAIN,
    ODD,
)


@command("add-test", SITE, TEST, BACK)
def add_test(given: Given) -> None:
    """Write into the document which HEADS came up when a zone or a valve was run."""
    site = read_document(given)
    if (given.zone is None) == (given.valve is None):
        raise click.UsageError("which valve was run? Give --zone, or --valve with the box of a valve without a name")
    if bool(given.heads) == given.none:
        raise click.UsageError("which heads came up? Name them after the document, or give --none")
    heads = [name for text in given.heads for name in text.split(",") if name.strip()]
    later = site.with_station_test(given.zone, heads, valve=given.valve, error=given.error)
    written(given, site, later, "station_tests", back(given))


DIG = (
    option("--id", metavar="ID", help="Its name."),
    option("--at", nargs=2, metavar="X Y", required=True, help="Its middle."),
    length_option("--radius", None, "Its radius; that of the root ball of its tree if not given."),
    length_option("--depth", None, "Its depth; likewise."),
    option("--method", type=click.Choice(_core.WORDS["method"]), default="hand", help="Who digs."),
    option(
        "--tree",
        type=click.Choice(("small", "medium", "large")),
        metavar="SIZE",
        help="Tree that it is for, by its size.",
    ),
    length_option("--caliper", None, "Its stem as bought, such as 2in."),
    number("--container", None, "Trade number of its container instead."),
    ODD,
)


@command("add-dig", SITE, DIG, BACK)
def add_dig(given: Given) -> None:
    """Propose a round dig in the document, for a post or a tree."""
    site = read_document(given)
    x, y = point(given, site, "at", "--at")
    caliper = sized(given)
    if given.tree is None and (caliper is not None or given.container is not None):
        raise click.UsageError("--caliper and --container are those of a tree; give its size with --tree")
    tree = None if given.tree is None else ut.Tree(given.tree, caliper_m=caliper, container_gal=given.container)
    sizes = {key: getattr(given, key) for key in ("radius", "depth")}
    if None in sizes.values() and caliper is None and given.container is None:
        missing = [f"--{key}" for key, value in sizes.items() if value is None]
        raise click.UsageError(
            f"how large is the dig? Give {' and '.join(missing)}, or --tree with --caliper or --container"
        )
    if None in sizes.values():
        ball = ut.root_ball(None if caliper is None else caliper / 0.0254, given.container)
        needed = {"radius": ball.hole_width_m / 2, "depth": ball.hole_depth_m}
    else:
        needed = {}
    radius, depth = (
        needed[key] if value is None else length(value, f"--{key}", site.unit_m) for key, value in sizes.items()
    )
    x_m, y_m = (length(value, "--at") for value in (x, y))
    hole = ut.Hole(x_m, y_m, radius, depth, id=given.id, method=given.method, tree=tree)
    written(given, site, site_with(site, [hole], new=True), "digs", back(given))


def back(given: Given) -> Target:
    """Return where the document goes: back to its file, or from standard input to standard output."""
    default = None if given.site == STDIN else given.site
    if given.out is None and default is None and not given.state.json:
        given.out = "-"
    place = target(given, DOCUMENT_ENDINGS, default)
    if place is not None:
        return place
    if default is None:
        raise click.UsageError(
            "--json and the document both go to standard output; name a file for the document with -o"
        )
    return Target(Path(default), Path(default).suffix.lower())


def written(given: Given, site: ut.Site, later: ut.Site, key: str, place: Target) -> None:
    """Write the document with its new entry, and say what it is."""
    entries: Any = later.to_dict()[key]
    if entries[-1] in entries[:-1] and not getattr(given, "again", True):
        same = entries.index(entries[-1])
        raise ut.ArgumentError(f"{key}[{same}] says just the same already; give --again to write it once more")
    number = f"{key}[{len(entries) - 1}]"
    rules = ut.plausibility_table().index
    odd = [note.sentence for note in later.notes if note.place == number and note.kind in rules]
    if odd and not given.odd:
        raise ut.ArgumentError(
            "\n".join([*odd, f"Nothing was written. Bare numbers are {site.units}. --odd writes it as it is."])
        )
    place.write_site(later, source(given))
    entry = dict(entries[-1])
    said = ", ".join(f"{name} {word(value, name, site.units)}" for name, value in entry.items())
    known = about(later)
    news = [note for note in later.warnings if note not in site.warnings]
    text = "\n".join(
        [
            f"{number}: {said}",
            f"{place.said('Document')}",
            "",
            SAMPLE_ANEW,
            ut.caution_text(),
        ]
    )
    say(
        given,
        Answer(
            text=text, about={**known, "warnings": news}, result={"place": number, "entry": entry}, files=place.files
        ),
    )


#: What is to be done after every finding.
SAMPLE_ANEW = "Answers and sheets made before do not know this: make them anew."


def word(value: object, key: str = "", units: str = "") -> str:
    """Write a value of a document; a length without a unit gets that of the document.

    Examples
    --------
    >>> word(True), word("2in"), word(2.0, "x", "ft"), word([1.0, 2.0]), word(["h1", "h2"])
    ('yes', '2in', '2 ft', '[1.0, 2.0]', 'h1, h2')
    """
    if isinstance(value, dict):
        return ", ".join(f"{name} {word(part, name, units)}" for name, part in value.items())
    if isinstance(value, float):
        return f"{value:.6g}{f' {units}' if key in LENGTHS and units else ''}"
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return ", ".join(value) or "none"
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


EVIDENCE = (
    Column("evidence", "evidence"),
    Column("chance_before", "chance before", "chance"),
    Column("surprising", "surprising", "yes"),
    Column("uncertainty_before", "doubt before", "number"),
    Column("uncertainty_after", "doubt after", "number"),
    Column("verdicts_changed", "verdicts changed"),
)


@command("evidence", SITE, (count("--log-draws", 500, "Layouts sampled at each step."),), SAMPLING)
def evidence(given: Given) -> None:
    """Tell what each tree, sketch, swept ground, station test and probe of the site changed."""
    site = read_document(given)
    layouts = sampled(given, site)
    log = layouts.evidence_log(given.log_draws)
    rows, known = json_rows(log), about(layouts)
    known["converged"] = layouts.converged and bool(log["converged"].all())
    body = (
        table(rows, EVIDENCE, site.units)
        if rows
        else "The document holds no tree, sketch, swept ground, station test or probe."
    )
    meaning = "doubt: sum over the digs of p (1 - p); surprising: less probable than 1 in 1000 before it was seen"
    say(given, Answer(text=page(body, known, said=[meaning], chances=False), about=known, rows=rows))
