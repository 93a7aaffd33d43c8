"""The program: its commands, what it says when something is refused, and its exit codes."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

import click

import underturf as ut
from underturf import _core
from underturf.commands import (
    assess,
    completion,
    demo,
    explore,
    export,
    findings,
    lines,
    plans,
    rank,
    sample,
    settings,
    shift,
    spots,
    strike_maps,
    survey,
    zones,
)
from underturf.commands import check as checking
from underturf.commands import sheet as sheets
from underturf.commands.answers import refusal
from underturf.commands.given import CLOSED, UNITS, State, leave_quietly
from underturf.commands.group import Program

__all__ = ["cli", "main"]

#: What the exit codes mean.
DONE, REFUSED, USAGE, UNCONVERGED, STOPPED = 0, 1, 2, 3, 130

#: Set where a shell asks what words may follow.
COMPLETE = "_UNDERTURF_COMPLETE"

EXIT_CODES = (
    "Exit codes: 0 done. 1 refused: the message says why and what to do. 2 wrong usage. 3 not converged: no answer, or a marked "
    "one. 130 stopped with Ctrl-C."
)

#: How to ask otherwise on the command line, by kind of error.
ASK_OTHERWISE: tuple[tuple[type[Exception], str], ...] = (
    (ut.ConvergenceError, "On the command line these are --draws, --longest and --accept-unconverged."),
    (ut.EffortError, "On the command line these are --draws and --effort."),
    (ut.MemoryLimitError, "On the command line that is --memory-limit-gb."),
)


@click.group(
    cls=Program,
    epilog=f"{UNITS} - stands for standard input or output. {EXIT_CODES}\n\n{ut.caution_text(10_000)}",
    context_settings={
        "max_content_width": 100,
        "help_option_names": ["-h", "--help"],
        "show_default": True,
    },
)
@click.version_option(ut.__version__, prog_name="underturf")
def cli() -> None:
    """Tell the chance that a hole dug on irrigated ground strikes a buried line."""


cli.add_section("Begin", demo.demo, survey.survey, checking.check, sample.sample)
cli.add_section("Ask about digs", assess.assess, rank.rank, shift.shift, spots.spots, strike_maps.strike_map)
cli.add_section(
    "Look before you dig", plans.probes, plans.valves, plans.sweeps, lines.likely_lines, lines.metal, zones.zones
)
cli.add_section("Write down what you found", findings.add_probe, findings.add_test, findings.add_dig, findings.evidence)
cli.add_section("Take it along", sheets.sheet, export.export, explore.explore, explore.report)
cli.add_section("Look up", settings.settings, settings.setbacks, settings.root_ball, completion.completion)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the program's name; those of this process if not given.

    Returns
    -------
    int
        The exit code: 0 done, 1 refused, 2 wrong usage, 3 not converged, 130 stopped with Ctrl-C.
    """
    state = State()
    words = sys.argv[1:] if arguments is None else list(arguments)
    if not words and COMPLETE not in os.environ:
        click.echo(cli.get_help(click.Context(cli, info_name="underturf", **cli.context_settings)), err=True)
        return USAGE
    try:
        code = cli.main(words, prog_name="underturf", standalone_mode=False, obj=state)
        sys.stdout.flush()
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (click.Abort, KeyboardInterrupt):
        print("stopped", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        leave_quietly()
        return CLOSED
    except (ut.UnderturfError, OSError, ImportError) as error:
        code = UNCONVERGED if isinstance(error, ut.ConvergenceError) else REFUSED
        print(said(error), file=sys.stderr)
        if state.json:
            print(refusal(state, error, said(error), code))
        return code
    if code:
        return int(code)
    return DONE if state.reliable else UNCONVERGED


def said(error: Exception) -> str:
    """Return what an error says, with how to ask otherwise on the command line instead of in Python."""
    if isinstance(error, OSError) and error.strerror and error.filename is not None:
        return f"{error.filename}: {error.strerror}"
    lines = [line for line in str(error).splitlines() if not line.startswith(_core.IN_PYTHON)]
    lines += getattr(error, "__notes__", [])
    lines += [how for kind, how in ASK_OTHERWISE if isinstance(error, kind)]
    return "\n".join(lines)
