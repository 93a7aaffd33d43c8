"""Buried metal as tables: the lines that flags, paint and known ends tell of, and on which of them each flag stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from underturf.methods.tables import about, table_of
from underturf.results.metal_lines import MetalLines

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["flags", "metal_lines", "numbers_of_lines"]

#: Classes to fear for life, the worst first. Metal that nobody can name counts as the worst until its owner has named it.
DANGEROUS = ("gas", "unknown", "electric")

#: All classes of metal, in the order of a table: those to fear, what is always under pressure, the rest.
ORDER = (*DANGEROUS, "mainline", "potable", "reclaimed", "communication", "sewer", "control_wire")

#: A class with less of the probability does not name its line. Design: one that is as likely wrong as right is no name.
SETTLED = 0.5

#: A line is dangerous as well where the classes to fear have this much of the probability together. Design: a chance of gas
#: is not averaged away.
FEARED = 0.1


class Found(NamedTuple):
    """What is told of metal, by the numbers that lines have in tables."""

    lines: pd.DataFrame
    courses: pd.DataFrame
    crossings: pd.DataFrame
    flags: pd.DataFrame
    failures: tuple[str, ...]


def metal_lines(layouts: Layouts) -> MetalLines:
    """Tell which lines of buried metal there are by flags, marks, services and finds: where each runs and what it carries.

    Lines are matched from draw to draw by what lies on them. A line that is in fewer draws than one in twenty is not told.

    Returns
    -------
    MetalLines
        Iterated over, it gives a `MetalLine` each. Its ``table()`` has one row a line, index ``line`` (from 1): dangerous lines
        first, then those under pressure. Columns: ``probability`` (that it is there), ``class`` (the likeliest), ``p_<class>``
        (given that the line is there), ``treat_as`` (the likeliest class, or ``unknown``, the worst, where none has half of the
        probability), ``dangerous`` (to be feared as gas or power: treated as gas, electric or unknown, or these three have a
        tenth of the probability), ``told_by`` (number of flags; marks, services and probes by their number in the document,
        from 1), ``leads_to`` (fixtures by id, with their chance), ``flags`` (number on it), ``half_width_m`` (of doubt, to
        the side, the greatest between the first and the last of what tells of it), ``cover_m``, ``cover_low_m``,
        ``cover_high_m`` (ground above its top: median and the band that holds nine tenths), ``converged``. Lengths are
        metres. Empty where nothing on the site tells of metal.

    Notes
    -----
    The lines are those of the drawn layout whose pairs of flags agree best with all draws (least Binder loss; Binder,
    Biometrika 65 (1978) 31-38). Widths of doubt are counted over draws.

    Examples
    --------
    >>> import underturf as ut
    >>> lines = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7).metal_lines()
    >>> lines.table()[["class", "told_by", "dangerous"]].to_dict("records")
    [{'class': 'gas', 'told_by': 'mark 1', 'dangerous': True}]
    >>> len(ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7).metal_lines())
    0
    """
    found = found_metal(layouts)
    table = table_of(layouts, {str(name): column for name, column in found.lines.items()}, None)
    table["converged"] &= not found.failures
    table.index = pd.RangeIndex(1, len(table) + 1, name="line")
    return MetalLines(
        **about(layouts, table),
        failures=found.failures,
        notes=notes_of(found),
        _courses=found.courses,
        _crossings=found.crossings,
    )


def flags(layouts: Layouts) -> pd.DataFrame:
    """Tell of each detector flag which line it is most likely on, and the chance that it is stray.

    Returns
    -------
    DataFrame
        One row a flag of the document, in its order, index ``flag`` (from 0, as in ``flags[0]``): ``x_m``, ``y_m`` (metres),
        ``written`` (the line's name in the document, None if there is none), ``line`` (its number in `metal_lines`, from 1; NA
        if it is most likely stray), ``probability`` (of that line, or of being stray), ``p_stray``, ``converged``. Empty where
        the site has no flags.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.Site.from_dict({
    ...     "format": "underturf-site/2",
    ...     "units": "m",
    ...     "boundary": [[0, 0], [12, 0], [12, 8], [0, 8]],
    ...     "heads": [{"id": "a", "x": 1, "y": 1, "zone": "1"}, {"id": "b", "x": 6, "y": 1, "zone": "1"}],
    ...     "flags": [{"x": 1.5 * k, "y": 4.0, "line": "iron"} for k in range(7)] + [{"x": 10.0, "y": 7.5}],
    ... })
    >>> flags = ut.sample_layouts(site, draws=200, seed=7).flags()
    >>> flags["line"].tolist()[:7]
    [1, 1, 1, 1, 1, 1, 1]
    >>> bool(flags["p_stray"].iloc[-1] > flags["p_stray"].iloc[3])
    True
    """
    found = found_metal(layouts)
    table = table_of(layouts, {str(name): column for name, column in found.flags.items()}, None)
    table["converged"] &= not found.failures
    table.index = pd.RangeIndex(len(table), name="flag")
    return table


def found_metal(layouts: Layouts) -> Found:
    """Return what the engine tells of metal, with lines numbered from 1, dangerous ones first."""
    told: dict[str, Any] = layouts._handle.metal()
    lines = lines_of(told["lines"], pd.DataFrame(told["stations"]))
    order = in_order(lines)
    number = numbers_in(order)
    return Found(
        lines.iloc[order].reset_index(drop=True),
        renumbered(told["stations"], number, "line"),
        renumbered(told["crossings"], number, "line", "crosses"),
        flags_of(told["flags"], number),
        tuple(told["failures"]),
    )


def lines_of(columns: dict[str, Any], stations: pd.DataFrame) -> pd.DataFrame:
    """Return the table of lines in the order of the engine."""
    table = pd.DataFrame(columns).astype(dict.fromkeys(("class", "told_by", "leads_to"), "object"))
    settled = table[[f"p_{name}" for name in ORDER]].max(axis=1) >= SETTLED
    table["treat_as"] = table["class"].where(settled, "unknown").astype("object")
    feared = table[[f"p_{name}" for name in DANGEROUS]].sum(axis=1) >= FEARED
    table["dangerous"] = table["treat_as"].isin(DANGEROUS) | feared
    widths = stations[stations["between"]].groupby("line")["half_width_m"].max()
    table["half_width_m"] = widths.reindex(range(len(table))).to_numpy(float)
    chances = [name for name in table if str(name).startswith("p_")]
    first = ["probability", "class", "treat_as", "dangerous", *chances, "told_by", "leads_to", "flags"]
    return table[[*first, "half_width_m", "cover_m", "cover_low_m", "cover_high_m"]]


def numbers_of_lines(layouts: Layouts) -> Any:
    """Return the number in tables of each line as the engine counts them."""
    told: dict[str, Any] = layouts._handle.metal()
    return numbers_in(in_order(lines_of(told["lines"], pd.DataFrame(told["stations"]))))


def numbers_in(order: list[int]) -> Any:
    """Return the number of each line, from 1, from the lines in the order of a table."""
    number = np.empty(len(order), dtype=np.int64)
    number[order] = np.arange(1, len(order) + 1)
    return number


def in_order(lines: pd.DataFrame) -> list[int]:
    """Return the places of lines: dangerous ones first, by class, and then the likeliest to be there."""
    rank = {name: max(k - 1, 0) for k, name in enumerate(ORDER)}  # unknown metal counts as gas does
    keys = [
        (not dangerous, rank[of], -probability)
        for dangerous, of, probability in zip(lines["dangerous"], lines["treat_as"], lines["probability"], strict=True)
    ]
    return sorted(range(len(keys)), key=keys.__getitem__)


def renumbered(columns: dict[str, Any], number: Any, *names: str) -> pd.DataFrame:
    """Return a table whose lines have their numbers, in the order of these."""
    table = pd.DataFrame(columns)
    for name in names:
        table[name] = number[table[name].to_numpy(np.int64)]
    return table.sort_values("line", kind="stable").reset_index(drop=True)


def flags_of(columns: dict[str, Any], number: Any) -> pd.DataFrame:
    """Return the table of flags with the numbers of lines, NA where a flag is most likely stray."""
    lines = [None if line is None else int(number[line]) for line in columns["line"]]
    written = pd.Series(list(columns["written"]), dtype="object")
    return pd.DataFrame({**columns, "written": written, "line": pd.array(lines, dtype="Int64")})


def notes_of(found: Found) -> tuple[str, ...]:
    """Return what a reader of the lines has to know."""
    if not len(found.lines):
        return (
            "Nothing on this site tells of metal: no flag, mark, service or find of a utility. It may lie here all the same.",
        )
    notes = []
    if found.failures:
        more = f" (and {len(found.failures) - 1} more)" if len(found.failures) > 1 else ""
        notes.append(f"The chains over metal do not agree: {found.failures[0]}{more}.")
    unnamed = [str(k + 1) for k, of in enumerate(found.lines["treat_as"]) if of == "unknown"]
    if unnamed:
        lines = f"Line{'' if len(unnamed) == 1 else 's'} {', '.join(unnamed)}"
        notes.append(f"{lines}: no class is settled. Treat each as gas or electric until its owner has named it.")
    notes.append("A line that nobody flagged, marked or knows the ends of is not in this list.")
    return tuple(notes)
