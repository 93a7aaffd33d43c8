"""What comes of tape notes: places with their errors, residuals, and what the tests say of the tapes."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import pandas as pd

from underturf._page import page
from underturf.cautions import caution_text
from underturf.crew.lengths import tape_text, width_text

__all__ = ["Attribute", "TapeBlunder", "TapePoint", "TapeSolution"]

#: What a key of a point holds.
Attribute: TypeAlias = "bool | int | float | str | list[Attribute] | dict[str, Attribute]"

#: A point whose error in its worst direction is greater than this is called poorly fixed. Design.
POOR_M = 0.15

#: Width of a report, characters.
WIDTH = 90


@dataclass(frozen=True, slots=True)
class TapePoint:
    """A point that tapes have fixed.

    Attributes
    ----------
    name : str
        Its name in the notes.
    x_m, y_m : float
        Place, metres.
    sd_x_m, sd_y_m, correlation : float
        Standard deviations of x and y, metres, and the correlation of their errors.
    attributes : mapping of str to object
        Keys for a site document: as written, numbers that are lengths as texts with their unit.
    place : str
        Where it stands in the notes.
    fixed : bool
        Whether its coordinates were given.

    Examples
    --------
    >>> import underturf as ut
    >>> point = ut.TapePoint("h1", 3.0, 4.0, 0.03, 0.04, 0.5, {"kind": "spray"}, "points[0]", False)
    >>> round(point.sd_m, 4), round(point.worst_sd_m, 4)
    (0.0354, 0.0441)
    """

    name: str
    x_m: float
    y_m: float
    sd_x_m: float
    sd_y_m: float
    correlation: float
    attributes: Mapping[str, Attribute]
    place: str
    fixed: bool

    def entry(self, sd: bool = False) -> dict[str, Attribute]:
        """Return the point as an entry of a site document: ``id``, ``x`` and ``y`` to the millimetre, and its keys but ``code``.

        Parameters
        ----------
        sd : bool
            Whether to add ``sd``, which heads and flags have.

        Examples
        --------
        >>> import underturf as ut
        >>> point = ut.TapePoint("h1", 3.0, 4.0, 0.03, 0.04, 0.5, {"code": "SH", "kind": "spray"}, "points[0]", False)
        >>> point.entry(sd=True)
        {'id': 'h1', 'x': '3.000 m', 'y': '4.000 m', 'sd': '0.035 m', 'kind': 'spray'}
        """
        place: dict[str, Attribute] = {"id": self.name, "x": f"{self.x_m:.3f} m", "y": f"{self.y_m:.3f} m"}
        error: dict[str, Attribute] = {"sd": f"{max(self.sd_m, 0.001):.3f} m"} if sd else {}
        return {**place, **error, **{key: value for key, value in self.attributes.items() if key != "code"}}

    @property
    def sd_m(self) -> float:
        """One standard deviation for x and y, as site documents hold it: the root mean square of both."""
        return math.sqrt((self.sd_x_m**2 + self.sd_y_m**2) / 2)

    @property
    def worst_sd_m(self) -> float:
        """Standard deviation in the direction in which it is greatest: half the longer axis of the error ellipse."""
        half = (self.sd_x_m**2 + self.sd_y_m**2) / 2
        both = self.correlation * self.sd_x_m * self.sd_y_m
        return math.sqrt(half + math.hypot((self.sd_x_m**2 - self.sd_y_m**2) / 2, both))


@dataclass(frozen=True, slots=True)
class TapeBlunder:
    """The measurement that the others prove wrong.

    Attributes
    ----------
    measurement, place : str
        What was measured, and where it stands in the notes.
    measured_m, others_say_m : float
        What was noted, and what the other measurements make of it.
    statistic, p_value : float
        Its standardised residual, and the chance of so great a one among all measurements, were none a blunder.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.TapeBlunder("tape A to h1", "points[0].tapes.A", 4.0, 5.0, 12.0, 1e-9).measurement
    'tape A to h1'
    """

    measurement: str
    place: str
    measured_m: float
    others_say_m: float
    statistic: float
    p_value: float


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class TapeSolution:
    """Places worked out from tape notes. Made by `TapeNotes.solve`.

    Attributes
    ----------
    name, units : str
        Name of the notes, and their unit of length.
    points : tuple of TapePoint
        All points, in the order of the notes.
    dof : int
        Measurements to spare: degrees of freedom.
    sigma0 : float or None
        Root of the weighted sum of squares by ``dof``: about 1 where the tapes err as much as was stated. None where nothing
        is to spare.
    p_value : float or None
        Chance of a greater sum of squares, were there no blunder and the standard deviations right.
    critical : float or None
        Least absolute standardised residual that is called a blunder: 0.05 over all measurements together.
    blunder : TapeBlunder or None
        The measurement that is proven wrong, if the others single one out.
    suspects : tuple of str
        Measurements one of which is wrong where it cannot be told which; the likeliest first.

    Examples
    --------
    >>> import underturf as ut
    >>> notes = ut.TapeNotes.from_toml('''
    ... format = "underturf-tapes/1"
    ... units = "m"
    ... fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 4, y = 0}]
    ... points = [{name = "h1", tapes = {A = 3, B = 5}, side = "left", kind = "spray"}]
    ... ''')
    >>> solution = notes.solve()
    >>> h1 = solution["h1"]
    >>> round(h1.x_m, 6) + 0.0, round(h1.y_m, 6), h1.attributes
    (0.0, 3.0, {'kind': 'spray'})
    >>> solution.dof, solution.blunder, solution.residuals.verdict.tolist()
    (0, None, ['cannot be told: no tape to spare', 'cannot be told: no tape to spare'])
    """

    name: str
    units: str
    points: tuple[TapePoint, ...]
    dof: int
    sigma0: float | None
    p_value: float | None
    critical: float | None
    blunder: TapeBlunder | None
    suspects: tuple[str, ...]
    _residuals: pd.DataFrame

    @property
    def residuals(self) -> pd.DataFrame:
        """One row a measurement: what, ``from``, ``to``, lengths in metres, how it fits, a verdict, and its place in the notes.

        ``residual_m`` is adjusted less measured; ``standardised`` is divided by its own standard deviation; ``redundancy`` is the
        share of an error in this measurement that shows in its residual.
        """
        return self._residuals.copy()

    @property
    def agrees(self) -> bool:
        """Whether no test fails; True too where nothing is to spare, and nothing could be tested."""
        return self.blunder is None and not self.suspects and (self.p_value is None or self.p_value >= 0.05)

    def table(self) -> pd.DataFrame:
        """Return the points as a table, lengths in metres.

        Examples
        --------
        >>> import underturf as ut
        >>> text = '''
        ... format = "underturf-tapes/1"
        ... units = "m"
        ... fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 4, y = 0}]
        ... points = [{name = "h1", baseline = ["A", "B"], along = 1, offset = 2, side = "right"}]
        ... '''
        >>> ut.TapeNotes.from_toml(text).solve().table()[["name", "x_m", "y_m"]].round(3)
          name  x_m  y_m
        0    A  0.0  0.0
        1    B  4.0  0.0
        2   h1  1.0 -2.0
        """
        columns = ["name", "x_m", "y_m", "sd_x_m", "sd_y_m", "correlation", "sd_m", "fixed", "place"]
        return pd.DataFrame([[getattr(point, name) for name in columns] for point in self.points], columns=columns)

    def report(self) -> str:
        """Return what a person must know of the notes, in their unit, as text.

        Examples
        --------
        >>> import underturf as ut
        >>> text = '''
        ... format = "underturf-tapes/1"
        ... units = "m"
        ... fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 4, y = 0}]
        ... points = [{name = "h1", tapes = {A = 3, B = 5}, side = "left"}]
        ... '''
        >>> print(ut.TapeNotes.from_toml(text, "yard").solve().report())
        yard: 3 points, 2 measurements, 0 to spare
        No tape is to spare: a mistake in the notes would not show.
        Not checked by any other measurement: h1.
        name    x    y error in the worst direction
           A 0.00 0.00  0.00                   0.00
           B 4.00 0.00  0.00                   0.00
          h1 0.00 3.00  0.04                   0.04
        Lengths in m; errors are standard deviations, rounded up.
        Call the local one-call centre ... decide.
        """
        head = f"{self.name}: {len(self.points)} points, {len(self._residuals)} measurements, {self.dof} to spare"
        rows = {
            "name": [point.name for point in self.points],
            "x": [tape_text(point.x_m, self.units) for point in self.points],
            "y": [tape_text(point.y_m, self.units) for point in self.points],
            "error": [width_text(point.sd_m, self.units) for point in self.points],
            "in the worst direction": [width_text(point.worst_sd_m, self.units) for point in self.points],
        }
        table = pd.DataFrame(rows).to_string(index=False)
        unit = "feet and inches" if self.units == "ft" else "m"
        foot = f"Lengths in {unit}; errors are standard deviations, rounded up."
        said = [textwrap.fill(sentence, WIDTH) for sentence in self._sentences()]
        return "\n".join([head, *said, table, foot, caution_text(WIDTH)])

    def _sentences(self) -> list[str]:
        """Say what the tests found and which points are poorly fixed or not checked."""
        said = [self._agreement()]
        if self.blunder is not None:
            of = self.blunder
            said.append(
                f"Blunder: {of.measurement} ({of.place}) is noted as {tape_text(of.measured_m, self.units)}; the others make it "
                f"{tape_text(of.others_say_m, self.units)}. Test statistic {of.statistic:.1f}, critical {self.critical:.1f}, "
                f"p = {of.p_value:.2g}. Read that tape again, mend the notes and solve them again."
            )
        elif self.suspects:
            said.append(
                f"One of these is wrong, and it cannot be told which: {'; '.join(self.suspects)}. Tape one more distance to the "
                "same point, or read these again."
            )
        unchecked = self._unchecked()
        if unchecked:
            said.append(f"Not checked by any other measurement: {', '.join(unchecked)}.")
        poor = [point.name for point in self.points if point.worst_sd_m > POOR_M]
        if poor:
            said.append(
                f"Poorly fixed, since tapes run nearly along one line: {', '.join(poor)}. Tape from another point too."
            )
        return said

    def _agreement(self) -> str:
        if self.sigma0 is None or self.p_value is None:
            return "No tape is to spare: a mistake in the notes would not show."
        found = f"errors are {self.sigma0:.2f} times those stated (p = {self.p_value:.2g})"
        if self.agrees:
            return f"The measurements agree: {found}."
        more = (
            ""
            if self.blunder or self.suspects
            else (
                " No single measurement stands out: the standard deviations are too small, or several measurements are wrong."
            )
        )
        return f"The measurements do not agree: {found}. The errors below are too small until that is mended.{more}"

    def _unchecked(self) -> list[str]:
        """Return the points none of whose measurements another one checks."""
        rows = self._residuals
        ends = [
            {*([start] if what == "tape" else []), end}
            for what, start, end in zip(rows.what, rows["from"], rows.to, strict=True)
        ]
        return [
            point.name
            for point in self.points
            if point.worst_sd_m > 0
            and all(size != size for size, of in zip(rows.standardised, ends, strict=True) if point.name in of)
        ]

    def __getitem__(self, name: str) -> TapePoint:
        for point in self.points:
            if point.name == name:
                return point
        raise KeyError(f"there is no point {name!r}; there are {', '.join(point.name for point in self.points)}")

    def __repr__(self) -> str:
        state = "" if self.agrees else ", which do not agree"
        return f"<TapeSolution {self.name}: {len(self.points)} points from {len(self._residuals)} measurements{state}>"

    def __str__(self) -> str:
        return self.report()

    def _repr_html_(self) -> str:
        return page(repr(self), self.table(), self._sentences())
