"""What all results have in common: site, table, convergence, and the ways to show, keep and compare them."""

from __future__ import annotations

import abc
import dataclasses
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, Generic, TypeVar

import pandas as pd

from underturf import _core
from underturf._page import page, text_page
from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.errors import ArgumentError, at
from underturf.methods.exports import export as export_it
from underturf.results.codec import canonical, decoded, encoded
from underturf.results.files import read_fields, write_fields
from underturf.site import Site

__all__ = ["Result", "by_class", "plain_row", "records"]

Row = TypeVar("Row", covariant=True)
Plain = TypeVar("Plain")
Self = TypeVar("Self", bound="Result[Any]")


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class Result(abc.ABC, Generic[Row]):
    """An answer of `Layouts`; use one of its kinds.

    Attributes
    ----------
    site : Site
        The site it holds for.
    draws, seed : int
        Number of layouts it rests on, and where their randomness began.
    converged : bool
        Whether it can be relied on, as ``Layouts.converged`` says.
    not_assessed : tuple of str
        Classes of line for which the document holds no evidence: they have no part in any probability.
    """

    site: Site
    draws: int
    seed: int
    converged: bool
    not_assessed: tuple[str, ...]
    _table: pd.DataFrame

    #: Name and version of its files.
    FORMAT: ClassVar[str] = ""
    #: What its rows are called.
    ROWS: ClassVar[str] = "rows"
    #: Columns that a notebook shows.
    SHOWN: ClassVar[tuple[str, ...]] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "_table", canonical(self._table))
        names, rows = [dig.id for dig in getattr(self, "digs", ())], self._names()
        if hasattr(self, "digs") and names != rows:
            raise ArgumentError(
                f"its digs are {', '.join(map(str, names))}, the rows of its table are {', '.join(rows)}"
            )

    def _names(self) -> list[str]:
        """Return the names of the rows."""
        return [str(name) for name in self._table.get("id", self._table.index)]

    @property
    def cautions(self) -> tuple[str, ...]:
        """The cautions that every output for a digger carries."""
        return CAUTIONS

    def table(self) -> pd.DataFrame:
        """Return the result as a table of its own; changing it changes nothing here. Its ``attrs`` hold the cautions alone.

        Examples
        --------
        >>> import underturf as ut
        >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
        >>> layouts.rank().table().index.name
        'dig'
        """
        table = self._table.copy()
        table.attrs["cautions"] = list(CAUTIONS)
        return table

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Write the result to a file, with the version of its format and the cautions.

        Parameters
        ----------
        path : str or path
            A name that ends in ``.json``, or in ``.csv`` for a table that people can read below comments that hold the rest.
            `load` reads either.

        Returns
        -------
        Path
            The file written.

        Raises
        ------
        ArgumentError
            If the name ends in anything else.
        OSError
            If the file cannot be written.

        Examples
        --------
        >>> import tempfile, underturf as ut
        >>> ranking = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7).rank()
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     ut.Ranking.load(ranking.save(f"{folder}/ranking.csv")) == ranking
        True
        """
        return write_fields(path, self.FORMAT, self._fields())

    export = export_it

    @classmethod
    def load(cls: type[Self], path: str | os.PathLike[str]) -> Self:
        """Read a result that `save` wrote: it equals the one that was written, bit for bit.

        Raises
        ------
        ArgumentError
            If the file holds another kind of result, is of another version, or is broken.
        OSError
            If the file cannot be read.

        Examples
        --------
        >>> import tempfile
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
        >>> ranking = layouts.rank()
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     ranking.save(f"{folder}/ranking.json") and ut.Ranking.load(f"{folder}/ranking.json") == ranking
        True
        """
        fields = read_fields(path, cls.FORMAT)
        try:
            return cls(**{key: decoded(value) for key, value in fields.items()})
        except (ValueError, KeyError, TypeError) as error:
            raise at(path, f"the file is broken: {error}") from None

    def _fields(self) -> dict[str, Any]:
        """Return every field as JSON can hold it."""
        return {field.name: encoded(getattr(self, field.name)) for field in dataclasses.fields(self)}

    @abc.abstractmethod
    def _row(self, name: Any, cells: Mapping[str, Any]) -> Row:
        """Return a row by its name and cells, in which what is not known is None."""

    def _rows(self) -> Iterator[Row]:
        for name, cells in zip(self._table.index, records(self._table), strict=True):
            yield self._row(name, cells)

    def __iter__(self) -> Iterator[Row]:
        return self._rows()

    def __len__(self) -> int:
        return len(self._table)

    def __getitem__(self, key: int | str) -> Row:
        rows, names = list(self._rows()), self._names()
        if isinstance(key, str):
            if key not in names:
                hint = _core.spelling_hint(key, names)
                raise KeyError(f"there is no {key!r}; there are {', '.join(names)}{hint}")
            return rows[names.index(key)]
        return rows[key]

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and isinstance(other, Result) and self._fields() == other._fields()

    def __hash__(self) -> int:
        return hash((type(self), self.seed, self.draws, len(self)))

    def __repr__(self) -> str:
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        rows = self.ROWS.removesuffix("s") if len(self) == 1 else self.ROWS
        return f"<{type(self).__name__}: {mark}{len(self)} {rows}, {self.draws} draws, seed {self.seed}>"

    def _notes(self) -> tuple[str, ...]:
        """Return sentences that stand below the table."""
        return ()

    def _shown(self) -> tuple[str, pd.DataFrame, list[str], bool]:
        """Return what a person is shown: title, table, notes, and whether it can be relied on."""
        shown = self._table[[name for name in self.SHOWN if name in self._table]] if self.SHOWN else self._table
        unsaid = ", ".join(name.replace("_", " ") for name in self.not_assessed)
        missing = (f"Not assessed, and may lie here all the same: {unsaid}.",) if unsaid else ()
        return repr(self), shown, [*self._notes(), *missing], self.converged

    def _repr_html_(self) -> str:
        return page(*self._shown())

    def __str__(self) -> str:
        return text_page(*self._shown())


def records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table; what is not known is None, lists are tuples.

    Examples
    --------
    >>> records(pd.DataFrame({"p": [0.5, float("nan")], "of": [["a"], []]}))
    [{'p': 0.5, 'of': ('a',)}, {'p': None, 'of': ()}]
    """
    columns = {str(name): [plain(cell) for cell in table[name].tolist()] for name in table.columns}
    return [{name: cells[k] for name, cells in columns.items()} for k in range(len(table))]


def plain(cell: Any) -> Any:
    """Return a cell: None where nothing is known, a tuple for a list."""
    if isinstance(cell, list):
        return tuple(cell)
    return None if cell is pd.NA or cell != cell else cell


def plain_row(kind: type[Plain], name: Any, cells: Mapping[str, Any]) -> Plain:
    """Return a row of a kind whose first field is its name and whose others are cells."""
    first, *others = (field.name for field in dataclasses.fields(kind))  # type: ignore[arg-type]
    return kind(**{first: name}, **{key: cells[key] for key in others})


def by_class(cells: Mapping[str, Any]) -> dict[str, float]:
    """Return the probability of each assessed class."""
    return {name: cells[f"p_{name}"] for name in _core.CLASSES if cells.get(f"p_{name}") is not None}
