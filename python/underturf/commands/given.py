"""How commands are made, and the options that several of them share.

A command is a function of what was given: arguments and options by name, and the state of the run, from which `program` takes the
exit code. Lengths stay texts here, since a bare number is in the unit of a document that is not read yet.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, TypeAlias

import click

from underturf import _core
from underturf._limits import memory_limit
from underturf.options import SETBACK, SETBACK_LIMIT

__all__ = [
    "CLOSED",
    "DIGS",
    "RULES",
    "SAMPLING",
    "SITE",
    "WEIGHTS",
    "Given",
    "Parts",
    "State",
    "command",
    "count",
    "leave_quietly",
    "length_option",
    "number",
    "option",
    "out_option",
    "switch",
]

#: What stands below the help of every command.
UNITS = (
    "Lengths take a unit (0.3m, 30cm, 12in, 5ft6in); a bare number is in the unit of the document. "
    "Days are written YYYY-MM-DD."
)

#: What an argument SITE is.
SITE_IS = "SITE is a site document, .toml or .json, layouts kept by sample, .nc, or - for standard input."


#: Exit code where the reader of standard output has gone, as shells have it.
CLOSED = 141


@dataclass
class State:
    """What is known of a run of the program."""

    #: The command that runs.
    command: str = ""
    #: Whether it answers with JSON.
    json: bool = False
    #: Layouts, where a file that keeps them stands in place of the site document.
    layouts: Any = None
    #: Whether its answer can be relied on, or was asked for as it is.
    reliable: bool = True


class Given(SimpleNamespace):
    """What a command was given, by name; ``state`` is the state of the run."""


Decorator: TypeAlias = Callable[[Any], Any]
Parts: TypeAlias = Sequence[Decorator]


class Command(click.Command):
    """A command whose help ends with how lengths and days are written, and that knows what a mistyped option may have been."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        takes_site = any(isinstance(part, click.Argument) and part.name == "site" for part in self.params)
        self.epilog = f"{SITE_IS} {UNITS}" if takes_site else UNITS

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse words, and say in our own words what is no option or takes two values.

        Raises
        ------
        UsageError
            If an option does not exist, or one of two lengths is followed by another option.
        """
        try:
            left = super().parse_args(ctx, args)
        except click.NoSuchOption as error:
            known = [
                name for part in self.get_params(ctx) for name in (*part.opts, *part.secondary_opts) if name[:2] == "--"
            ]
            hint = _core.spelling_hint(error.option_name, known)
            raise click.UsageError(f'there is no option "{error.option_name}"{hint}', ctx) from None
        for part in self.params:
            if part.nargs == 2 and any(is_option(value) for value in flat(ctx.params.get(str(part.name)))):
                raise click.UsageError(f"{part.opts[0]} takes two values, {part.metavar}; one is missing", ctx)
        return left


def is_option(value: object) -> bool:
    """Whether a value looks like an option."""
    return isinstance(value, str) and value.startswith("--")


def flat(value: Any) -> list[Any]:
    """Return what an option of two values holds, given once or several times, as one list."""
    if isinstance(value, tuple):
        return [item for part in value for item in flat(part)]
    return [value]


def command(name: str, *groups: Parts) -> Callable[[Callable[[Given], None]], click.Command]:
    """Make a command of a function of what was given; its docstring is the help."""

    def made(run: Callable[[Given], None]) -> click.Command:
        def callback(**values: Any) -> None:
            state = click.get_current_context().ensure_object(State)
            state.command, state.json = name, values["json"]
            try:
                with memory_limit(values.get("memory_limit_gb")):
                    run(Given(**values, state=state))
            except BrokenPipeError:
                leave_quietly()
                raise click.exceptions.Exit(CLOSED) from None

        parts = [part for group in groups for part in group]
        wrapped: Any = callback
        for part in reversed([*parts, switch("--json", help="Answer with one JSON object; lengths in metres.")]):
            wrapped = part(wrapped)
        wrapped.__doc__ = run.__doc__
        return click.command(name, cls=Command, help=run.__doc__)(wrapped)

    return made


def leave_quietly() -> None:
    """Say nothing more: whoever read standard output has gone, and Python shall not try to write there as it ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def option(*names: str, **more: Any) -> Decorator:
    """Describe an option."""
    found: Decorator = click.option(*names, **more)
    return found


def length_option(name: str, default: str | None, help: str, *names: str) -> Decorator:
    """Describe an option that takes a length, as text."""
    return option(*names, name, default=default, metavar="LENGTH", help=help)


def number(name: str, default: float | None, help: str, metavar: str = "NUMBER") -> Decorator:
    """Describe an option that takes a number."""
    return option(name, type=float, default=default, metavar=metavar, help=help)


def count(name: str, default: int | None, help: str, *names: str) -> Decorator:
    """Describe an option that takes a whole number."""
    return option(*names, name, type=int, default=default, metavar="COUNT", help=help)


def switch(*names: str, help: str, default: bool | None = False) -> Decorator:
    """Describe an option that is on or off."""
    return option(*names, is_flag=True, default=default, help=help, show_default=False)


def out_option(help: str, default: str | None = None) -> Parts:
    """Describe where a command writes, and in which format where that is standard output."""
    return (
        option("-o", "--out", default=default, metavar="FILE", help=f"{help} - is standard output."),
        option("--as", "as_", metavar="FORMAT", help="Format for -o -, such as csv or pdf."),
    )


SITE: Parts = (click.argument("site", metavar="SITE"),)

#: How layouts are sampled.
SAMPLING: Parts = (
    count("--draws", 2000, "Number of layouts."),
    option(
        "--seed", type=int, default=7, metavar="SEED", help="Where randomness begins: the same seed, the same answer."
    ),
    count("--threads", None, "Worker threads. One per core if not given."),
    option(
        "--longest",
        type=int,
        default=16,
        metavar="TIMES",
        help="Where zones are unknown: how many times their first length chains may grow to.",
    ),
    number("--effort", 1.0, "Work that sampling may take: 1 is about a minute, whatever the machine.", "TIMES"),
    number("--memory-limit-gb", None, "Memory that a step may take. Half of what is free if not given.", "GB"),
    switch("--accept-unconverged", help="Give an answer that has not converged, marked as such."),
    switch("--progress/--no-progress", default=None, help="Draw a bar on standard error. On a terminal if not given."),
)

#: What trees ask of their places.
RULES: Parts = (
    option("--setback", default=SETBACK, metavar="NAME", help="Setback of trees; see the command setbacks."),
    number(
        "--setback-limit",
        SETBACK_LIMIT,
        "Greatest chance of a line within it at which a tree is moved to a place.",
        "P",
    ),
)

#: What a strike costs.
WEIGHTS: Parts = (
    option(
        "--weight",
        "weights",
        multiple=True,
        metavar="CLASS=NUMBER",
        help="What a strike of a class costs, such as gas=1000; may be given several times.",
    ),
)

#: Which digs are asked about.
DIGS: Parts = (
    option("--dig", "digs", multiple=True, metavar="ID", help="Only this dig of the site; may be given several times."),
    option(
        "--digs",
        "digs_file",
        metavar="FILE",
        help="Instead of the digs of the site: a table (.csv) with id, x, y, radius, depth, or a file that spots, shift, rank or "
        "assess wrote.",
    ),
)

#: Distances that engine and options know by default, as text.
DEFAULTS = {name: f"{value:g}m" for name, value in _core.DEFAULTS.items() if name.endswith("_m")}
