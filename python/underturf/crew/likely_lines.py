"""Likely lines as arrays, a line each: the stations of its table once, for all maps that draw them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf.directions import on_plan

__all__ = ["LikelyLine", "lines_of"]

Array = npt.NDArray[np.float64]

#: Stations further apart than this many of their spans are not joined.
JOINED = 1.6


@dataclass(frozen=True, eq=False)
class LikelyLine:
    """A likely line, metres.

    Attributes
    ----------
    number : int
        Its number, which labels carry.
    of, zone : str
        Its class, and its zone as the document names it.
    at : ndarray, shape (stations, 2)
        Its stations.
    half : ndarray, shape (stations, 2)
        Half of what each station stands for, along the line.
    span, half_width : ndarray, shape (stations,)
        What each station stands for; half of the band of doubt.
    """

    number: int
    of: str
    zone: str
    at: Array
    half: Array
    span: Array
    half_width: Array

    @property
    def start(self) -> Array:
        """Where the label of the line points to: just before its first station, which has a stake and a number of its own."""
        back: Array = 0.5 * self.half[0]
        if len(self.at) > 1:
            back = back * np.sign(back @ (self.at[1] - self.at[0]))
        found: Array = self.at[0] - back
        return found

    @property
    def course(self) -> Array:
        """The line through the stations to its two ends; broken where stations do not follow each other."""
        at, half = self.at, self.half
        if len(at) == 1:
            return np.vstack([at - half, at + half])
        first = half[0] * np.sign(half[0] @ (at[1] - at[0]) or 1.0)
        last = half[-1] * np.sign(half[-1] @ (at[-1] - at[-2]) or 1.0)
        apart = np.hypot(*np.diff(at, axis=0).T) > JOINED * 0.5 * (self.span[1:] + self.span[:-1])
        whole = np.vstack([at[:1] - first, at, at[-1:] + last])
        return np.insert(whole, np.flatnonzero(apart) + 2, np.nan, axis=0)

    @property
    def bands(self) -> Array:
        """The corners of the band at each station."""
        norm = np.maximum(np.hypot(*self.half.T)[:, None], 1e-12)
        wide = self.half_width[:, None] * np.column_stack([-self.half[:, 1], self.half[:, 0]]) / norm
        at, half = self.at, self.half
        return np.stack([at - half - wide, at + half - wide, at + half + wide, at - half + wide], axis=1)


def lines_of(table: pd.DataFrame, y_azimuth_deg: float) -> tuple[LikelyLine, ...]:
    """Return the lines of a table of stations, in its order.

    Examples
    --------
    >>> station = {"line": 1, "class": "lateral", "zone": "zone 2", "half_width_m": 0.2, "span_m": 1.0, "azimuth_deg": 90.0}
    >>> table = pd.DataFrame([{**station, "x_m": x, "y_m": 0.0} for x in (1.0, 2.0, 5.0)])
    >>> (line,) = lines_of(table, 0.0)
    >>> line.zone, line.course[:, 0].tolist()
    ('2', [0.5, 1.0, 2.0, nan, 5.0, 5.5])
    """
    number, span = table["line"].to_numpy(), table["span_m"].to_numpy(float)
    at, half_width = table[["x_m", "y_m"]].to_numpy(float), table["half_width_m"].to_numpy(float)
    half = 0.5 * span[:, None] * on_plan(table["azimuth_deg"].to_numpy(float), y_azimuth_deg)
    classes, zones = table["class"].astype(str).tolist(), table["zone"].astype(str).tolist()
    found = []
    for line in dict.fromkeys(number.tolist()):
        here = np.flatnonzero(number == line)
        of, zone = classes[here[0]], zones[here[0]].removeprefix("zone ")
        found.append(LikelyLine(line, of, zone, at[here], half[here], span[here], half_width[here]))
    return tuple(found)
