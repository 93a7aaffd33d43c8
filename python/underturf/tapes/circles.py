"""Circles of tapes: where they cross, by how much they miss each other, and the places of least squares between them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from underturf.tapes.measurements import Place

__all__ = ["SAME_M", "Circle", "Misfit", "crossings", "minima", "nearest_miss", "settle"]

#: Circles that miss each other by at most this many standard deviations touch.
TOUCH = 4.0

#: Two places closer than this are one.
SAME_M = 0.01

Misfit: TypeAlias = Callable[[Place], float]


@dataclass(frozen=True, slots=True)
class Circle:
    """All places at one length of tape from a point."""

    middle: Place
    radius: float
    sd: float


def crossings(a: Circle, b: Circle) -> list[Place]:
    """Return where two circles cross or touch; none where they miss each other by more than tapes err.

    Examples
    --------
    >>> crossings(Circle((0, 0), 3, 0.01), Circle((4, 0), 5, 0.01))
    [(0.0, 3.0), (0.0, -3.0)]
    >>> crossings(Circle((0, 0), 3, 0.01), Circle((4, 0), 0.99, 0.01))
    [(3.0..., 0.0)]
    >>> crossings(Circle((0, 0), 1, 0.01), Circle((4, 0), 1, 0.01))
    []
    """
    apart_m, gap = math.dist(a.middle, b.middle), missing(a, b)
    if apart_m < SAME_M or gap > TOUCH * math.hypot(a.sd, b.sd):
        return []
    ux, uy = (b.middle[0] - a.middle[0]) / apart_m, (b.middle[1] - a.middle[1]) / apart_m
    along = (apart_m**2 + a.radius**2 - b.radius**2) / (2 * apart_m)
    off = math.sqrt(max(0.0, a.radius**2 - along**2))
    foot = (a.middle[0] + along * ux, a.middle[1] + along * uy)
    if off < SAME_M:
        return [foot]
    return [(foot[0] - off * uy, foot[1] + off * ux), (foot[0] + off * uy, foot[1] - off * ux)]


def missing(a: Circle, b: Circle) -> float:
    """Return by how much two circles miss each other; zero or less where they cross."""
    apart_m = math.dist(a.middle, b.middle)
    return max(apart_m - a.radius - b.radius, abs(a.radius - b.radius) - apart_m)


def nearest_miss(pairs: Sequence[tuple[Circle, Circle]]) -> tuple[int, float]:
    """Return the pair of circles that miss each other by least, and by how much."""
    gaps = [missing(a, b) for a, b in pairs]
    pair = min(range(len(gaps)), key=gaps.__getitem__)
    return pair, gaps[pair]


def minima(tried: Sequence[Place], circles: Sequence[Circle], misfit: Misfit) -> list[tuple[Place, float]]:
    """Return the distinct places of least squares near those tried, best first; each with the least misfit met on the way.

    Crossings that lead to one place of least squares are one choice: a blunder spreads crossings, not sides.
    """
    found: list[tuple[Place, Place, float]] = []
    for place in tried:
        bottom = settle(place, circles)
        near, least = (place, misfit(place)) if misfit(place) < misfit(bottom) else (bottom, misfit(bottom))
        twin = next((k for k, (other, _, _) in enumerate(found) if math.dist(other, bottom) < SAME_M), None)
        if twin is None:
            found.append((bottom, near, least))
        elif least < found[twin][2]:
            found[twin] = (found[twin][0], near, least)
    return sorted(((near, least) for _, near, least in found), key=lambda of: of[1])


def settle(place: Place, circles: Sequence[Circle]) -> Place:
    """Return the place of least weighted squares near one, by damped Gauss-Newton steps; the place itself without circles."""
    if not circles:
        return place
    middles, radii = np.array([of.middle for of in circles]), np.array([of.radius for of in circles])
    sds = np.array([of.sd for of in circles])
    at, damping = np.array(place, dtype=float), 1e-6
    ways = at - middles
    long = np.maximum(np.hypot(*ways.T), 1e-9)
    misfit = (radii - long) / sds
    for _ in range(100):
        rows = ways / long[:, None] / sds[:, None]
        normal = rows.T @ rows
        step = np.linalg.solve(normal + damping * np.trace(normal) * np.eye(2), rows.T @ misfit)
        ways = at + step - middles
        longer = np.maximum(np.hypot(*ways.T), 1e-9)
        tried = (radii - longer) / sds
        if tried @ tried <= misfit @ misfit:
            at, long, misfit, damping = at + step, longer, tried, max(damping / 10, 1e-9)
        else:
            ways, damping = at - middles, damping * 10
        if np.abs(step).max() < 1e-7:
            break
    return float(at[0]), float(at[1])
