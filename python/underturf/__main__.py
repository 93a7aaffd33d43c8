"""The command line: ``python -m underturf demo | check | assess | map | sheet SITE``.

Exit codes: 0 done, 1 refused (the message says why and what to do), 2 wrong usage, 130 stopped with Ctrl-C.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Sequence
from pathlib import Path

import underturf as ut
from underturf import _core
from underturf._checks import day, length, output, writable
from underturf._limits import memory_limit
from underturf.cautions import NOT_CONVERGED
from underturf.crew.sheet import ENDINGS as SHEETS
from underturf.options import SETBACK, SETBACK_LIMIT

__all__ = ["main"]

#: What names of pictures may end in.
PICTURES = (".png", ".pdf", ".svg")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the program's name; those of this process if not given.

    Returns
    -------
    int
        The exit code.
    """
    options = parser().parse_args(arguments)
    try:
        with memory_limit(getattr(options, "memory_limit_gb", None)):
            options.run(options)
    except ut.ConvergenceError as error:
        print(
            f"{said(error)}\nOn the command line these are --draws, --longest and --accept-unconverged.",
            file=sys.stderr,
        )
        return 1
    except ut.EffortError as error:
        print(f"{said(error)}\nOn the command line these are --draws and --effort.", file=sys.stderr)
        return 1
    except ut.MemoryLimitError as error:
        print(f"{said(error)}\nOn the command line that is --memory-limit-gb.", file=sys.stderr)
        return 1
    except (ut.UnderturfError, OSError) as error:
        print(said(error), file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130
    return 0


def said(error: Exception) -> str:
    """Return what an error says, but for how to ask otherwise in Python."""
    return "\n".join(line for line in str(error).splitlines() if not line.startswith(_core.IN_PYTHON))


def parser() -> argparse.ArgumentParser:
    """Return the description of the command line."""
    top = argparse.ArgumentParser(
        prog="underturf",
        description="The chance that a hole dug on irrigated ground strikes a buried line.",
        epilog="Lengths take a unit (0.3m, 30cm, 12in, 5ft6in); a bare number is in the document's unit. "
        "Days are written YYYY-MM-DD. " + ut.caution_text(10_000),
    )
    commands = top.add_subparsers(required=True, metavar="COMMAND")

    demo = commands.add_parser("demo", help="run the shipped example: print its table, write its plan and maps")
    demo.set_defaults(run=run_demo)
    demo.add_argument("--example", default="green", choices=ut.examples(), help="which one (default %(default)s)")
    demo.add_argument("--out", type=Path, default=Path("underturf-demo"), metavar="DIR", help="folder for the pictures")

    check = commands.add_parser("check", help="read a site document; list every fault, or say what it holds")
    check.set_defaults(run=run_check)
    check.add_argument("site", type=Path, metavar="SITE", help="document, .toml or .json")

    assess = commands.add_parser("assess", help="assess the digs of a site document")
    assess.set_defaults(run=run_assess)
    assess.add_argument(
        "--reach", default="1.5m", metavar="LENGTH", help="how far a better place is looked for (default %(default)s)"
    )
    assess.add_argument("--csv", type=Path, metavar="FILE", help="write the whole table too, .csv, lengths in metres")

    chart = commands.add_parser("map", help="write a map of strike chances as a picture")
    chart.set_defaults(run=run_map)
    chart.add_argument("--radius", default="0.3m", metavar="LENGTH", help="radius of the hole (default %(default)s)")
    chart.add_argument("--depth", default="0.4m", metavar="LENGTH", help="depth of the hole (default %(default)s)")
    chart.add_argument("--cell", default="0.1m", metavar="LENGTH", help="side of a cell (default %(default)s)")
    chart.add_argument("--dig", metavar="ID", help="map this dig of the site, moved, instead of a hole everywhere")
    chart.add_argument("--reach", default="1.5m", metavar="LENGTH", help="how far to move it (default %(default)s)")
    chart.add_argument(
        "--out",
        type=Path,
        default=Path("strike-map.png"),
        metavar="FILE",
        help="picture, .png, .pdf or .svg (default %(default)s)",
    )

    crew = commands.add_parser("sheet", help="write the sheet for the crew: map, spots, stakes, what to do")
    crew.set_defaults(run=run_sheet)
    crew.add_argument(
        "-o",
        "--out",
        type=Path,
        default=Path("sheet.html"),
        metavar="FILE",
        help="where to, .html, .pdf or .png (default %(default)s)",
    )
    crew.add_argument("--ticket", metavar="NUMBER", help="number of the one-call ticket (default: a blank line)")
    crew.add_argument(
        "--marks-date",
        metavar="DAY",
        help="day of the marks, YYYY-MM-DD (default: as in the document, or a blank line)",
    )
    crew.add_argument("--date", metavar="DAY", help="day of the sheet, YYYY-MM-DD (default: today)")
    crew.add_argument(
        "--probes",
        type=Path,
        metavar="CSV",
        help="plan of probes that write_probes wrote, or a table: x_m, y_m, radius_m, and depth_m if known",
    )
    crew.add_argument(
        "--least-chance",
        type=float,
        default=0.25,
        metavar="P",
        help="least chance of a likely line (default %(default)s)",
    )
    crew.add_argument("--step", default="2m", metavar="LENGTH", help="from stake to stake (default %(default)s)")
    crew.add_argument(
        "--near", default="3m", metavar="LENGTH", help="list stakes this near a spot (default %(default)s)"
    )
    crew.add_argument("--annex", action="store_true", help="list the other stakes too, on further pages")
    crew.add_argument(
        "--full-page-map", action="store_true", help="add a map on a page of its own, at a standard scale"
    )

    for command in (assess, chart, crew):
        command.add_argument(
            "--setback", default=SETBACK, metavar="NAME", help="setback of trees (default %(default)s)"
        )
        command.add_argument(
            "--setback-limit",
            type=float,
            default=SETBACK_LIMIT,
            metavar="P",
            help="greatest chance of a line within it at which a tree is moved to a place (default %(default)s)",
        )
    for command in (assess, chart, crew):
        command.add_argument("site", type=Path, metavar="SITE", help="document, .toml or .json")
    for command in (demo, assess, chart, crew):
        command.add_argument("--draws", type=int, default=2000, help="number of layouts (default %(default)s)")
        command.add_argument("--seed", type=int, default=7, help="where randomness begins (default %(default)s)")
        command.add_argument("--threads", type=int, default=None, help="worker threads (default: one per core)")
        command.add_argument(
            "--longest",
            type=int,
            default=16,
            metavar="TIMES",
            help="where zones are unknown: how many times their first length chains may grow to (default %(default)s)",
        )
        command.add_argument(
            "--effort",
            type=float,
            default=1.0,
            metavar="TIMES",
            help="how much work sampling may take: 1 is about a minute, whatever the machine (default %(default)s)",
        )
        command.add_argument(
            "--memory-limit-gb",
            type=float,
            default=None,
            metavar="GB",
            help="memory that a step may take (default: half of what is free)",
        )
        command.add_argument(
            "--accept-unconverged",
            action="store_true",
            help="where zones are unknown: give an answer that has not converged, marked as such",
        )
    return top


def run_demo(options: argparse.Namespace) -> None:
    """Run the shipped example."""
    path = ut.example(options.example)
    folder = options.out
    if folder.exists():
        writable(folder, "pictures")
    else:
        writable(next(parent for parent in folder.absolute().parents if parent.exists()), str(folder))
    print(f"Shipped example {path.name}; the place is invented.\n")
    layouts = sample(ut.read_site(path), options)
    print_assessment(layouts, options)
    options.out.mkdir(parents=True, exist_ok=True)
    written = [picture(layouts, options.out / "plan.png")]
    smap = layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.1, run=running(options))
    written.append(picture(smap, options.out / "map.png", digs=None))
    for dig, dig_map in zip(layouts.site.dig_ids, layouts.dig_maps(run=running(options)), strict=True):
        written.append(picture(dig_map, options.out / f"dig-{safe_name(dig)}.png"))
    print(f"\nPictures in {options.out.resolve()}:", *(f"  {path.name}" for path in written), sep="\n")


def run_check(options: argparse.Namespace) -> None:
    """Read a document and say what it holds."""
    site = ut.read_site(options.site)
    print(site)
    print_warnings(site.warnings)
    print("The document is in order.")


def run_assess(options: argparse.Namespace) -> None:
    """Assess the digs of a document."""
    site = ut.read_site(options.site)
    if not site.dig_ids:
        raise ut.DigError(f"{options.site.name} proposes no digs; add them under [[digs]]")
    reach_m = length(options.reach, "--reach", site.unit_m)
    if options.csv is not None:
        output(options.csv, (".csv",))
    assessment = print_assessment(sample(site, options), options, reach_m)
    if options.csv is not None:
        assessment.save(options.csv)
        print(f"\nTable in {options.csv.resolve()}")


def run_map(options: argparse.Namespace) -> None:
    """Write a map."""
    site = ut.read_site(options.site)
    radius_m, depth_m, cell_m, reach_m = (
        length(getattr(options, name), f"--{name}", site.unit_m) for name in ("radius", "depth", "cell", "reach")
    )
    output(options.out, PICTURES)
    if options.dig is not None:
        site._handle.dig(options.dig)  # an unknown name is told before the work
    layouts = sample(site, options)
    if options.dig is None:
        smap = layouts.strike_map(radius_m, depth_m, cell_m, run=running(options))
        picture(smap, options.out, digs=None)
    else:
        (smap,) = layouts.dig_maps([options.dig], reach_m, cell_m, rules=tree_rules(options), run=running(options))
        picture(smap, options.out)
    mark = "" if smap.converged else f"{NOT_CONVERGED}: "
    print(f"{mark}{smap.what}: map in {options.out.resolve()}")


def run_sheet(options: argparse.Namespace) -> None:
    """Write the sheet for the crew."""
    site = ut.read_site(options.site)
    step_m, near_m = (length(getattr(options, name), f"--{name}", site.unit_m) for name in ("step", "near"))
    output(options.out, SHEETS)
    marks_date, date = day(options.marks_date, "--marks-date"), day(options.date, "--date")
    probes = None if options.probes is None else ut.read_probes(options.probes)
    layouts = sample(site, options)
    path = layouts.crew_sheet(
        options.out,
        probes=probes,
        options=ut.SheetOptions(
            ticket=options.ticket,
            marks_date=marks_date,
            date=date,
            least_chance=options.least_chance,
            step_m=step_m,
            near_m=near_m,
            annex=options.annex,
            full_page_map=options.full_page_map,
            rules=tree_rules(options),
        ),
        run=running(options),
    )
    mark = "" if layouts.converged else f"{NOT_CONVERGED}: "
    print(f"{mark}Sheet in {path.resolve()}\n\n{ut.caution_text()}")


def sample(site: ut.Site, options: argparse.Namespace) -> ut.Layouts:
    """Sample as the options say, and print what the reader has to know."""
    layouts = ut.sample_layouts(
        site,
        options.draws,
        options.seed,
        accept_unconverged=options.accept_unconverged,
        longest=options.longest,
        effort=options.effort,
        run=running(options),
    )
    print_warnings(layouts.warnings)
    return layouts


def print_assessment(
    layouts: ut.Layouts, options: argparse.Namespace, reach_m: float = _core.DEFAULTS["reach_m"]
) -> ut.Assessment:
    """Print the assessment of the site's digs and return it."""
    assessment = layouts.assess(reach_m=reach_m, rules=tree_rules(options), run=running(options))
    print(assessment)
    return assessment


def tree_rules(options: argparse.Namespace) -> ut.TreeRules:
    """Return what trees ask of their places, as the command says or as shipped."""
    return ut.TreeRules(getattr(options, "setback", SETBACK), getattr(options, "setback_limit", SETBACK_LIMIT))


def running(options: argparse.Namespace) -> ut.Running:
    """Return how calls run; `main` holds them all to the memory allowed."""
    return ut.Running(threads=options.threads)


def print_warnings(warnings: Sequence[str]) -> None:
    """Print warnings, each on its line."""
    for warning in warnings:
        print(f"Note: {warning}")
    if warnings:
        print()


def picture(thing: ut.Layouts | ut.StrikeMap, path: Path, **options: object) -> Path:
    """Draw something and write it as a picture."""
    import matplotlib

    matplotlib.use("agg")
    from matplotlib import pyplot

    thing.plot(**options)  # type: ignore[arg-type]
    figure = pyplot.gcf()
    figure.savefig(path, dpi=150)
    pyplot.close(figure)
    return path


def safe_name(name: str) -> str:
    """Return a name that can stand in a file's name."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", name)


if __name__ == "__main__":
    sys.exit(main())
