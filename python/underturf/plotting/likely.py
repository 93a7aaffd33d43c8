"""Looks of lines that nobody has seen, by class: likely lines on the sheet's map, and sampled ones on a plan.

Mainline, potable, reclaimed line and wire lie side by side near the source. Colour does not part them in a copy, so a mainline
is one solid line, a potable line two thin ones, a reclaimed line two broken ones, and a wire is dotted.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from underturf.plotting import style

__all__ = ["CLASSES", "ClassLook", "look_of", "sampled_look"]


class ClassLook(NamedTuple):
    """How a likely line looks that is no lateral: widths of core and casing on either side, points; dashes; whether hollow."""

    core: float
    casing: float
    dashes: tuple[float, ...] = ()
    hollow: bool = False

    @property
    def wide(self) -> float:
        """The whole width, points."""
        return self.core + 2 * self.casing

    @property
    def linestyle(self) -> Any:
        """The dashes as matplotlib takes them."""
        return (0, self.dashes) if self.dashes else "solid"


#: Looks of classes; known lines stay the stronger. Others look as a mainline does.
CLASSES: dict[str, ClassLook] = {
    "mainline": ClassLook(1.0, 0.3),
    "potable": ClassLook(1.2, 0.6, hollow=True),
    "reclaimed": ClassLook(1.2, 0.6, (5.0, 1.6), hollow=True),
    "control_wire": ClassLook(0.9, 0.3, (1.4, 1.8)),
    "unknown": ClassLook(0.9, 0.3, (8.0, 2.0, 1.2, 2.0)),
}

#: Sizes of a sampled line beside a likely one: there are several to each line of the ground.
SAMPLED = 0.8


def look_of(name: str) -> dict[str, Any]:
    """Return how a likely line of a class that is no lateral is stroked: with a casing, or hollow."""
    from matplotlib.patheffects import Normal, Stroke

    look = CLASSES.get(name, CLASSES["mainline"])
    effects = hollow(look, name, 1.0) if look.hollow else [Stroke(linewidth=look.wide, foreground=style.INK), Normal()]
    return {"linewidth": look.core, "linestyle": look.linestyle, "path_effects": effects}


def sampled_look(name: str) -> dict[str, Any]:
    """Return how a sampled line of such a class is stroked: the same without a casing, thin and half seen through."""
    look = CLASSES.get(name, CLASSES["mainline"])
    stroke = {"color": style.INK, "linewidth": SAMPLED * look.core, "linestyle": look.linestyle, "alpha": 0.55}
    if look.hollow:
        return {**stroke, "path_effects": hollow(look, name, SAMPLED)}
    return stroke


def hollow(look: ClassLook, name: str, size: float) -> list[Any]:
    """Return what draws a hollow line: its rims in the colour of its class, its core in that of paper."""
    from matplotlib.patheffects import Stroke

    return [
        Stroke(linewidth=size * look.wide, foreground=style.MARK_COLOURS[name]),
        Stroke(linewidth=size * look.core, foreground=style.PAPER),
    ]
