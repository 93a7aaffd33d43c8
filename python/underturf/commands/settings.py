"""``underturf settings``, ``setbacks`` and ``root-ball``: figures to look up. None of them needs a site."""

from __future__ import annotations

import dataclasses

import underturf as ut
from underturf.commands.answers import Answer, about, json_rows, say
from underturf.commands.given import Given, command, length_option, number, option
from underturf.commands.reading import sized
from underturf.commands.texts import Column, table, told
from underturf.report import length_text

__all__ = ["root_ball", "setbacks", "settings"]

SETTINGS = (
    Column("name", "setting"),
    Column("default", "default"),
    Column("least", "least"),
    Column("greatest", "greatest"),
    Column("unit", "unit"),
)


@command("settings", (option("--name", metavar="TEXT", help="Only settings whose name holds this."),))
def settings(given: Given) -> None:
    """List every setting with its default, range, unit and meaning."""
    found = ut.settings_table()
    if given.name is not None:
        found = found[found.index.str.contains(given.name, regex=False, case=False)]
        if not len(found):
            raise ut.ArgumentError(f'--name: no setting has "{given.name}" in its name')
    rows = json_rows(found)
    shown = [{**row, **{key: f"{row[key]:g}" for key in ("default", "least", "greatest")}} for row in rows]
    lines = [told(row["name"], row["meaning"]) for row in rows]
    text = "\n".join(
        [table(shown, SETTINGS, "m"), "", *lines, "", "A document sets them under [settings], in these units."]
    )
    say(given, Answer(text=text, about=about(), rows=rows))


@command("setbacks")
def setbacks(given: Given) -> None:
    """List the setbacks of trees that can be named. They are examples of local law."""
    rows = json_rows(ut.setbacks())
    lines = [told(row["setback"], f"{row['published']} ({row['source']})") for row in rows]
    text = "\n".join([*lines, "", "The first holds where none is named. The local code decides."])
    say(given, Answer(text=text, about=about(), rows=rows))


BALL = (
    length_option("--caliper", None, "Diameter of the stem 6 in above ground, such as 2in."),
    number("--container", None, "Trade number of the container instead."),
    option("--table", metavar="NAME", help="Table of ball diameters: shade_tree or florida."),
    number("--width-factor", 3.0, "How many balls wide the hole is dug, 2 to 3."),
    option("--units", metavar="UNIT", default="m", help="Unit of the text, m or ft."),
)


@command("root-ball", BALL)
def root_ball(given: Given) -> None:
    """Tell how large a hole a tree needs, from the published tables of root balls."""
    if given.units not in ("m", "ft"):
        raise ut.ArgumentError(f'--units: "{given.units}" must be m or ft')
    caliper_m = sized(given)
    caliper_in = None if caliper_m is None else caliper_m / 0.0254
    ball = ut.root_ball(caliper_in, given.container, table=given.table, width_factor=given.width_factor)
    wide, deep, across = (
        length_text(size, given.units) for size in (ball.hole_width_m, ball.hole_depth_m, ball.ball_diameter_m)
    )
    between = ", between two rows of the table" if ball.interpolated else ""
    text = f"The hole is at least {wide} across and {deep} deep: the ball is {across} across{between}.\nSource: {ball.source}."
    say(given, Answer(text=text, about=about(), rows=[dataclasses.asdict(ball)]))
