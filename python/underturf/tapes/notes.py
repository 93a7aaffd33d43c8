"""Tape notes as Python holds them: read from a file or a text, solved, and left without one measurement."""

from __future__ import annotations

import dataclasses
import os
import tomllib
from dataclasses import dataclass

from underturf._checks import as_path, document_text
from underturf.errors import ArgumentError, DocumentSyntaxError, must_end
from underturf.tapes.document import read_document
from underturf.tapes.measurements import Measurement, Point
from underturf.tapes.solution import TapeSolution
from underturf.tapes.solving import Problem, solve

__all__ = ["TapeNotes", "read_tapes"]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class TapeNotes:
    """A sheet of tape notes. Read one with `read_tapes` or `from_toml`.

    Attributes
    ----------
    name, units : str
        Name of the notes, and their unit of length.
    points : tuple of Point
        All points, those with known coordinates among them.
    measurements : tuple of Tape or Offset
        What was measured, in metres.

    Examples
    --------
    >>> import underturf as ut
    >>> notes = ut.TapeNotes.from_toml('''
    ... format = "underturf-tapes/1"
    ... units = "ft"
    ... baseline = ["A", "B"]
    ... tapes = [{from = "A", to = "B", length = "40 ft"}]
    ... points = [{name = "h1", tapes = {A = "24 ft", B = "32 ft"}, side = "left"}]
    ... ''')
    >>> notes
    <TapeNotes: 3 points, 3 measurements, in ft>
    >>> h1 = notes.solve()["h1"]
    >>> round(h1.x_m / 0.3048, 3), round(h1.y_m / 0.3048, 3)
    (14.4, 19.2)
    """

    _problem: Problem

    @classmethod
    def from_toml(cls, text: str, name: str = "tape notes") -> TapeNotes:
        """Read tape notes from TOML text; the name stands in messages.

        Raises
        ------
        DocumentSyntaxError
            If the text is no TOML.
        ArgumentError
            With every fault of the notes and its place.

        Examples
        --------
        >>> import underturf as ut
        >>> ut.TapeNotes.from_toml('format = "underturf-tapes/1"', "yard")
        Traceback (most recent call last):
        underturf.errors.ArgumentError: yard: 2 faults in the tape notes
          units: is missing; write 'm' or 'ft'
          fixed: nothing is fixed; give two points their x and y, or name two points as baseline and tape between them
        """
        try:
            document = tomllib.loads(document_text(text))
        except tomllib.TOMLDecodeError as error:
            raise DocumentSyntaxError(f"{name}: not valid TOML: {error}") from None
        return cls(read_document(document, name))

    @property
    def name(self) -> str:
        """Name of the notes."""
        return self._problem.name

    @property
    def units(self) -> str:
        """Unit of length of the notes: ``"m"`` or ``"ft"``."""
        return self._problem.unit[1]

    @property
    def points(self) -> tuple[Point, ...]:
        """All points of the notes."""
        return self._problem.points

    @property
    def measurements(self) -> tuple[Measurement, ...]:
        """What was measured."""
        return self._problem.measurements

    def solve(self) -> TapeSolution:
        """Work out the places that agree best with all measurements, and test the measurements.

        Least squares with the standard deviations of the notes. A blunder is named where the other measurements single it out.

        Raises
        ------
        ArgumentError
            With every point that the measurements do not fix: nothing or too little was measured, the tapes do not meet, or
            they cross twice and nothing tells the side.

        Examples
        --------
        >>> import underturf as ut
        >>> notes = ut.TapeNotes.from_toml('''
        ... format = "underturf-tapes/1"
        ... units = "m"
        ... fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 4, y = 0}]
        ... points = [{name = "h1", tapes = {A = 3, B = 5}}]
        ... ''')
        >>> notes.solve()
        Traceback (most recent call last):
        underturf.errors.ArgumentError: tape notes: 1 fault in the tapes
          h1 (points[0]): the tapes cross twice, at x 0.00, y 3.00 m and at x 0.00, y -3.00 m; say on which side ...
        """
        return solve(self._problem)

    def without(self, place: str) -> TapeNotes:
        """Return the notes without one measurement, named by its place.

        Raises
        ------
        ArgumentError
            If nothing was measured there.

        Examples
        --------
        >>> import underturf as ut
        >>> notes = ut.TapeNotes.from_toml('''
        ... format = "underturf-tapes/1"
        ... units = "m"
        ... fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 4, y = 0}, {name = "C", x = 9, y = 9}]
        ... points = [{name = "h1", tapes = {A = 3, B = 5, C = 11}}]
        ... ''')
        >>> len(notes.without("points[0].tapes.C").measurements)
        2
        """
        problem = self._problem
        whole = place.removesuffix(".along").removesuffix(".offset")
        kept = tuple(of for of in problem.measurements if of.place != whole)
        if len(kept) == len(problem.measurements):
            known = ", ".join(dict.fromkeys(of.place for of in problem.measurements))
            raise ArgumentError(f"nothing was measured at {place!r}; there are {known}")
        return TapeNotes(dataclasses.replace(problem, measurements=kept))

    def __repr__(self) -> str:
        name = "" if self.name == "tape notes" else f" {self.name}"
        return f"<TapeNotes{name}: {len(self.points)} points, {len(self.measurements)} measurements, in {self.units}>"


def read_tapes(path: str | os.PathLike[str]) -> TapeNotes:
    r"""Read tape notes from a file whose name ends in ``.toml``.

    Parameters
    ----------
    path : str or path
        A text file of the format ``underturf-tapes/1``; see "Measure a site with two tapes".

    Returns
    -------
    TapeNotes

    Raises
    ------
    OSError
        If the file cannot be read.
    DocumentSyntaxError
        If it is no TOML or no text in UTF-8.
    ArgumentError
        If its name ends in anything else; or with every fault of the notes and its place.

    Examples
    --------
    >>> import tempfile, pathlib, underturf as ut
    >>> text = '''
    ... format = "underturf-tapes/1"
    ... units = "m"
    ... fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 4, y = 0}]
    ... points = [{name = "h1", tapes = {A = 3, B = 5}, side = "right", kind = "rotor"}]
    ... '''
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     written = pathlib.Path(folder, "yard.toml").write_text(text)
    ...     solution = ut.read_tapes(f"{folder}/yard.toml").solve()
    >>> round(solution["h1"].y_m, 3)
    -3.0
    """
    path = as_path(path)
    if path.suffix.lower() != ".toml":
        raise must_end(path, ".toml")
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise DocumentSyntaxError(f"{path.name} is not UTF-8 text: {error.reason} at byte {error.start}") from None
    return TapeNotes.from_toml(text, path.name)
