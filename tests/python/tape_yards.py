"""Invented yards and the tape notes of them: as text, and as networks whose true places are known."""

from __future__ import annotations

import math

import numpy as np

from underturf.tapes.measurements import Fixed, Point, Tape
from underturf.tapes.network import Network

#: Corners of an invented house of 20 m by 15 m.
CORNERS = {"A": (0.0, 0.0), "B": (20.0, 0.0), "C": (20.0, 15.0), "D": (0.0, 15.0)}


def toml(points: str, fixed: str = '{name = "A", x = 0, y = 0}, {name = "B", x = 10, y = 0}', more: str = "") -> str:
    """Notes in metres."""
    head = f'format = "underturf-tapes/1"\nunits = "m"\n{more}\n'
    return f"{head}fixed = [{fixed}]\npoints = [{points}]\n"


def notes(places, tapes, fixed=CORNERS, sides=None):
    """Notes with a list of tapes (from, to, length)."""
    lines = ['format = "underturf-tapes/1"', 'units = "m"']
    lines += [f'[[fixed]]\nname = "{name}"\nx = {x!r}\ny = {y!r}' for name, (x, y) in fixed.items()]
    for name in places:
        side = f'\nbaseline = ["A", "B"]\nside = "{sides[name]}"' if sides and name in sides else ""
        lines.append(f'[[points]]\nname = "{name}"{side}')
    lines += [f'[[tapes]]\nfrom = "{a}"\nto = "{b}"\nlength = {long!r}' for a, b, long in tapes]
    return "\n".join(lines)


def yard(rng, heads=8, tapes_each=4, fixed=CORNERS):
    """Places of heads and the true lengths of tapes to each from fixed points and other heads."""
    places = {f"h{k}": tuple(map(float, rng.uniform([2, 2], [18, 13]))) for k in range(heads)}
    whole, tapes = {**fixed, **places}, []
    for k, name in enumerate(places):
        others = [*fixed, *list(places)[:k]]
        for other in rng.choice(others, min(tapes_each, len(others)), replace=False):
            tapes.append((str(other), name, math.dist(whole[str(other)], places[name])))
    return places, tapes


def network(places, tapes, sds, fixed_sd=0.0, fixed=CORNERS):
    """The network of these tapes, begun at the true places."""
    points = [Point(name, "", Fixed(x, y, fixed_sd)) for name, (x, y) in fixed.items()]
    points += [Point(name, "") for name in places]
    pulled = [Tape(a, b, long, float(sd), "") for (a, b, long), sd in zip(tapes, sds, strict=True)]
    return Network(points, pulled, {**fixed, **places}, None)


def noisy(network, rng, sds=None):
    """Give a network measured numbers: what is true at its first places and errors. Returns the errors in standard deviations."""
    true, _ = network.computed(network.start)
    errors = rng.normal(size=len(true))
    network.values = true + errors * (network.sds if sds is None else sds)
    return errors


def best_of(tests):
    """The greatest standardised residual."""
    return float(np.nanmax(np.abs(tests.standardised)))
