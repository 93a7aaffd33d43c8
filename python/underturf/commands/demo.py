"""``underturf demo``: the main job on a shipped example."""

from __future__ import annotations

import re
from pathlib import Path

import click

import underturf as ut
from underturf._checks import writable
from underturf.commands.answers import Answer, about, facts, json_rows, say
from underturf.commands.given import SAMPLING, Given, command, option
from underturf.commands.pictures import picture
from underturf.commands.sampling import running, sampled

__all__ = ["demo"]

OPTIONS = (
    option("--example", type=click.Choice(ut.examples()), default="green", help="Which one."),
    option(
        "--out",
        type=click.Path(path_type=Path),
        default=Path("underturf-demo"),
        metavar="DIR",
        help="Folder for the pictures.",
    ),
)


@command("demo", OPTIONS, SAMPLING)
def demo(given: Given) -> None:
    """Run a shipped example: print its table, write its plan and maps."""
    path, folder = ut.example(given.example), given.out
    if folder.exists():
        writable(folder, "pictures")
    else:
        writable(next(parent for parent in folder.absolute().parents if parent.exists()), str(folder))
    layouts = sampled(given, ut.read_site(path))
    assessment = layouts.assess(run=running(given))
    folder.mkdir(parents=True, exist_ok=True)
    smap = layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.1, run=running(given))
    written = [picture(layouts, folder / "plan.png"), picture(smap, folder / "map.png", digs=None)]
    for dig, dig_map in zip(layouts.site.dig_ids, layouts.dig_maps(run=running(given)), strict=True):
        written.append(picture(dig_map, folder / f"dig-{safe_name(dig)}.png"))
    known = about(assessment, layouts)
    notes = [f"Note: {warning}" for warning in layouts.warnings]
    head = [f"Shipped example {path.name}; the place is invented.", "", *notes, *([""] if notes else [])]
    named = ["", f"Pictures in {folder.resolve()}:", *(f"  {path.name}" for path in written)]
    shown = known if given.state.json else {**known, "warnings": []}  # they stand in the text already
    rows = json_rows(assessment.table())
    text = "\n".join([*head, str(assessment), *named])
    say(
        given,
        Answer(text=text, about=shown, rows=rows, result=facts(assessment), files=[path.resolve() for path in written]),
    )


def safe_name(name: str) -> str:
    """Return a name that can stand in a file's name.

    Examples
    --------
    >>> safe_name("oak 1/2")
    'oak-1-2'
    """
    return re.sub(r"[^A-Za-z0-9_-]+", "-", name)
