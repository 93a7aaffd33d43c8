"""``underturf spots``: places for holes of least total loss, for one kind of hole or for a list of trees."""

from __future__ import annotations

from pathlib import Path

import click

import underturf as ut
from underturf import _core
from underturf._checks import at_least, length
from underturf.commands.answers import Answer, about, facts, json_rows, say
from underturf.commands.given import (
    DEFAULTS,
    RULES,
    SAMPLING,
    SITE,
    WEIGHTS,
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
from underturf.commands.reading import read_document, sized, source, typed, weights
from underturf.commands.results import keep
from underturf.commands.sampling import running, sampled
from underturf.commands.texts import Column, page, table, told
from underturf.commands.trees_file import Planting, read_trees
from underturf.commands.writing import Target, target
from underturf.options.spots import ROOTS_SHARE, SETBACK_SHARE
from underturf.report import chance_text

__all__ = ["spots"]

HOLES = (
    count("--count", None, "Number of holes.", "-n"),
    length_option("--radius", None, "Radius of each hole; that of its root ball if not given."),
    length_option("--depth", None, "Depth of each hole; likewise."),
    option(
        "--tree", metavar="SIZE", type=click.Choice(("small", "medium", "large")), help="A tree in each, by its size."
    ),
    length_option("--caliper", None, "Its stem as bought, such as 2in."),
    number("--container", None, "Trade number of its container instead."),
    option(
        "--trees",
        "trees_file",
        metavar="FILE",
        help="Instead of all these, a list of trees, .csv: id, count, size, vigour, caliper_in, container, root_radius, setback, "
        "radius, depth.",
    ),
)

PLACES = (
    length_option("--spacing", "0m", "Least distance between two centres."),
    length_option("--gap", None, "Least distance between the edges of two holes; 0.3m if not given."),
    length_option("--from-building", "0m", "Least distance from the edge of a hole to a building or pool."),
    length_option("--from-boundary", "0m", "Least distance from the edge of a hole to the boundary."),
    option(
        "--within",
        "within",
        nargs=2,
        multiple=True,
        metavar="X Y",
        help="Corner of the ground to stay in; give three or more, in order.",
    ),
    length_option("--cell", DEFAULTS["spot_cell_m"], "Side of a cell of the places looked at."),
    switch(
        "--spare-roots/--no-spare-roots",
        default=True,
        help="Keep out of the protected roots of trees. Kept if not given.",
    ),
    option("--method", type=click.Choice(_core.WORDS["method"]), default="hand", help="Who digs."),
    number("--setback-share", SETBACK_SHARE, "Cost of a line within the setback, as a share of striking it.", "SHARE"),
    number("--roots-share", ROOTS_SHARE, "Cost of a building at the stem, as a share of striking a sewer.", "SHARE"),
    number("--chance-limit", None, "Name the spots whose chance may be at or above this.", "P"),
    *out_option("Write the answer, .csv or .json, or the document with the spots as digs, .toml;"),
)

#: What the chances of places are that were chosen by them.
CHOSEN = "The chance of a chosen place is the least of many and too low: dig there by hand first as well."

SHOWN = (
    Column("id", "spot"),
    Column("x_m", "x", "place"),
    Column("y_m", "y", "place"),
    Column("radius_m", "radius", "length"),
    Column("depth_m", "depth", "length"),
    Column("p_strike", "chance", "chance"),
    Column("p_upper95", "up to", "chance"),
    Column("loss", "loss", "loss"),
)


@command("spots", SITE, HOLES, PLACES, RULES, WEIGHTS, SAMPLING)
def spots(given: Given) -> None:
    """Find the best places for holes: so many of one kind, or one for each tree of a list."""
    site = read_document(given)
    planting = asked(given, site)
    costs, where, limit = weights(given), options(given, site, planting), chance_limit(given)
    place = target(given, (".csv", ".json", ".toml"))
    taken = sorted({*planting.names} & {*site.dig_ids}) if place is not None and place.ending == ".toml" else []
    if taken:
        raise ut.ArgumentError(
            f"the document has digs of the names {', '.join(taken)} already; call the trees otherwise"
        )
    layouts = sampled(given, site)
    found = layouts.best_spots(
        None,
        planting.radii_m,
        planting.depths_m,
        tree=planting.trees,
        weights=costs,
        options=where,
        run=running(given),
    )
    above = [] if limit is None else [spot for spot in found if spot.p_upper95 >= limit]
    known, files = about(found, layouts), written(given, site, found, place)
    rows = [
        {**row, "above_limit": any(spot.number == row["spot"] for spot in above)} for row in json_rows(found.table())
    ]
    shown = (*SHOWN, Column("p_setback", "line in setback", "chance")) if any(planting.trees) else SHOWN
    lines = [
        told(
            spot.id,
            f"chance up to {chance_text(spot.p_upper95)}, at or above the limit of {chance_text(limit)}: probe by hand first",
        )
        for spot in above
        if limit is not None
    ]
    text = page(table(rows, shown, site.units), known, said=[*found._notes(), CHOSEN], lines=lines)
    if place is not None:
        text += f"\n\n{place.said('Spots', found.converged)}"
    say(given, Answer(text=text, about=known, rows=rows, result={**facts(found), "chance_limit": limit}, files=files))


def asked(given: Given, site: ut.Site) -> Planting:
    """Return the holes that are asked for.

    Raises
    ------
    UsageError
        If a list of trees is given beside what it says itself, or neither a list nor a number of holes.
    """
    single = {name: getattr(given, name) for name in ("count", "radius", "depth", "tree", "caliper", "container")}
    if given.trees_file is not None:
        beside = [f"--{name}" for name, value in single.items() if value is not None]
        if beside:
            raise click.UsageError(f"--trees says what is planted, and {', '.join(beside)} too; give one of them")
        return read_trees(given.trees_file, site.unit_m)
    if given.count is None:
        raise click.UsageError("how many holes? Give -n with --radius and --depth, or a list with --trees")
    many = at_least(1, given.count, "-n")
    radius_m, depth_m = typed(given, site, "radius", "depth")
    caliper_m = sized(given)
    if given.tree is None:
        if given.caliper is not None or given.container is not None:
            raise click.UsageError("--caliper and --container are those of a tree; give its size with --tree")
        missing = [f"--{name}" for name in ("radius", "depth") if single[name] is None]
        if missing:
            raise click.UsageError(
                f"how large is a hole? Give {' and '.join(missing)}, or --tree with --caliper or --container"
            )
    tree = None if given.tree is None else ut.Tree(given.tree, caliper_m=caliper_m, container_gal=given.container)
    return Planting([], [tree] * many, [radius_m] * many, [depth_m] * many)


def options(given: Given, site: ut.Site, planting: Planting) -> ut.SpotOptions:
    """Return where spots may lie."""
    spacing_m, gap_m, building_m, boundary_m, cell_m = typed(
        given, site, "spacing", "gap", "from_building", "from_boundary", "cell"
    )
    corners = [[length(text, "--within", site.unit_m) for text in corner] for corner in given.within]
    if corners and len(corners) < 3:
        raise click.UsageError(f"--within is given {len(corners)} times; ground has three corners or more")
    return ut.SpotOptions(
        names=planting.names or None,
        spacing_m=spacing_m,
        gap_m=gap_m,
        setback=given.setback if any(planting.trees) else None,
        setback_limit=given.setback_limit,
        setback_share=given.setback_share,
        roots_share=given.roots_share,
        spare_roots=given.spare_roots,
        from_building_m=building_m,
        from_boundary_m=boundary_m,
        cell_m=cell_m,
        within=corners or None,
        method=given.method,
    )


def chance_limit(given: Given) -> float | None:
    """Return the limit of the chance of a spot."""
    limit: float | None = given.chance_limit
    if limit is not None and not 0 < limit <= 1:
        raise ut.ArgumentError(f"--chance-limit is {limit:g}; it must be above 0 and at most 1")
    return limit


def written(given: Given, site: ut.Site, found: ut.Spots, place: Target | None) -> list[Path]:
    """Write spots to where they are asked for."""
    if place is not None and place.ending == ".toml":
        place.write_site(site_with(site, found.digs, new=True), source(given))
        return place.files
    return keep(found, place)
