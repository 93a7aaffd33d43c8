"""What somebody wants to dig: shapes in metres on the site plane, x east and y north.

A dig is a footprint and a depth. Digging by hand or by machine changes the words of a verdict and what a strike
costs, never its probability.
"""

from __future__ import annotations

import abc
import copyreg
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal, Protocol, TypeAlias, runtime_checkable

import numpy as np
import numpy.typing as npt

from underturf import _core
from underturf._checks import absent, length
from underturf.errors import ArgumentError, DigError
from underturf.trees import Tree, TreeLike, as_tree

__all__ = ["Dig", "DigLike", "HoldsDigs", "Hole", "Method", "Pit", "PostHole", "Trench"]

Method: TypeAlias = Literal["hand", "machine"]
Points: TypeAlias = tuple[tuple[float, float], ...]


class Dig(abc.ABC):
    """A footprint and a depth. Use one of its kinds: `Hole`, `PostHole`, `Pit`, `Trench`.

    Examples
    --------
    >>> import underturf as ut
    >>> isinstance(ut.Hole(4.0, 3.0, 0.3, 0.4), ut.Dig)
    True
    """

    __slots__ = ()

    id: str | None

    @abc.abstractmethod
    def _bind(self, name: str) -> _core.Dig:
        """Hand it to the engine under that name."""

    @abc.abstractmethod
    def _entry(self) -> dict[str, Any]:
        """Return it as documents write it, in metres."""


@runtime_checkable
class HoldsDigs(Protocol):
    """Something that holds digs, such as `Spots`."""

    @property
    def digs(self) -> Iterable[Dig]:
        """The digs."""


DigLike: TypeAlias = Dig | str


@dataclass(frozen=True, slots=True)
class Hole(Dig):
    """A round hole.

    Parameters
    ----------
    x_m, y_m : float
        Its centre, metres east and north. Every length may be a text with its unit instead (``"14 ft 6 in"``, ``"30 cm"``); the
        hole keeps it in metres.
    radius_m : float
        Radius, metres.
    depth_m : float
        Depth, metres.
    id : str, optional
        Name in tables and plots; ``dig1``, ``dig2``, ... by place in the list if not given.
    method : {"hand", "machine"}
        Who digs.
    tree : str, mapping or Tree, optional
        The tree it is dug for: its size at maturity (``small``, ``medium``, ``large``), or `Tree`.

    Raises
    ------
    DigError
        If a length is none. When used: a number that is not finite, or a radius or depth that is not positive.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.Hole("10 ft", "6 ft 6 in", radius_m="1 ft", depth_m="18in").depth_m
    0.4572
    >>> ut.Hole(3.0, 2.0, radius_m=0.3, depth_m=0.5, id="tree")
    Hole(x_m=3.0, y_m=2.0, radius_m=0.3, depth_m=0.5, id='tree', method='hand', tree=None)
    """

    x_m: float
    y_m: float
    radius_m: float
    depth_m: float
    id: str | None = None
    method: Method = "hand"
    tree: TreeLike = None

    def __post_init__(self) -> None:
        settle(self, "x_m", "y_m", "radius_m", "depth_m")

    def _bind(self, name: str) -> _core.Dig:
        return _core.Dig.hole(self.x_m, self.y_m, self.radius_m, self.depth_m, name, self.method, parts(self.tree))

    def _entry(self) -> dict[str, Any]:
        place = {"x": self.x_m, "y": self.y_m, "radius": self.radius_m}
        return {"id": self.id, **place, "depth": self.depth_m, "method": self.method, "tree": entry(self.tree)}


@dataclass(frozen=True, slots=True)
class PostHole(Dig):
    """A round hole for a post, given by its diameter as augers are.

    Parameters
    ----------
    x_m, y_m : float
        Its centre, metres east and north.
    diameter_m : float
        Diameter, metres.
    depth_m : float
        Depth, metres.
    id : str, optional
        Name in tables and plots.
    method : {"hand", "machine"}
        Who digs.
    tree : str, mapping or Tree, optional
        The tree it is dug for: its size at maturity (``small``, ``medium``, ``large``), or `Tree`.

    Raises
    ------
    DigError
        When used: a number that is not finite, or a diameter or depth that is not positive.

    Examples
    --------
    >>> import underturf as ut
    >>> post = ut.PostHole(4.0, 3.0, diameter_m="12 in", depth_m=0.6)
    >>> post.diameter_m
    0.3048
    """

    x_m: float
    y_m: float
    diameter_m: float
    depth_m: float
    id: str | None = None
    method: Method = "hand"
    tree: TreeLike = None

    def __post_init__(self) -> None:
        settle(self, "x_m", "y_m", "diameter_m", "depth_m")

    def _bind(self, name: str) -> _core.Dig:
        return _core.Dig.hole(
            self.x_m, self.y_m, self.diameter_m / 2, self.depth_m, name, self.method, parts(self.tree)
        )

    def _entry(self) -> dict[str, Any]:
        place = {"x": self.x_m, "y": self.y_m, "radius": self.diameter_m / 2}
        return {"id": self.id, **place, "depth": self.depth_m, "method": self.method, "tree": entry(self.tree)}


@dataclass(frozen=True, slots=True)
class Pit(Dig):
    """A pit of any outline.

    Parameters
    ----------
    outline_m : array_like, shape (n, 2)
        Corners in order, metres east and north; not closed, n >= 3, no crossing.
    depth_m : float
        Depth, metres.
    id : str, optional
        Name in tables and plots.
    method : {"hand", "machine"}
        Who digs.
    tree : str, mapping or Tree, optional
        The tree it is dug for: its size at maturity (``small``, ``medium``, ``large``), or `Tree`.

    Raises
    ------
    DigError
        If the outline is no (n, 2) array; when used: a crossing or empty outline, a depth that is not positive.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.Pit([[0, 0], [1, 0], [1, 2]], depth_m=0.6).outline_m
    ((0.0, 0.0), (1.0, 0.0), (1.0, 2.0))
    """

    outline_m: Points
    depth_m: float
    id: str | None = None
    method: Method = "hand"
    tree: TreeLike = None

    def __post_init__(self) -> None:
        settle(self, "depth_m")
        object.__setattr__(self, "outline_m", as_points(self.outline_m, "outline_m"))

    def _bind(self, name: str) -> _core.Dig:
        return _core.Dig.pit(as_array(self.outline_m), self.depth_m, name, self.method, parts(self.tree))

    def _entry(self) -> dict[str, Any]:
        place = {"outline": self.outline_m}
        return {"id": self.id, **place, "depth": self.depth_m, "method": self.method, "tree": entry(self.tree)}


@dataclass(frozen=True, slots=True)
class Trench(Dig):
    """A trench along a line.

    Parameters
    ----------
    path_m : array_like, shape (n, 2)
        The middle of the trench, metres east and north; n >= 2.
    width_m : float
        Width, metres.
    depth_m : float
        Depth, metres.
    id : str, optional
        Name in tables and plots.
    method : {"hand", "machine"}
        Who digs.
    tree : str, mapping or Tree, optional
        The tree it is dug for: its size at maturity (``small``, ``medium``, ``large``), or `Tree`.

    Raises
    ------
    DigError
        If the path is no (n, 2) array; when used: a path without length, a width or depth that is not positive.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.Trench([[0, 0], [4, 0]], width_m=0.2, depth_m=0.4).path_m
    ((0.0, 0.0), (4.0, 0.0))
    """

    path_m: Points
    width_m: float
    depth_m: float
    id: str | None = None
    method: Method = "hand"
    tree: TreeLike = None

    def __post_init__(self) -> None:
        settle(self, "width_m", "depth_m")
        object.__setattr__(self, "path_m", as_points(self.path_m, "path_m"))

    def _bind(self, name: str) -> _core.Dig:
        return _core.Dig.trench(as_array(self.path_m), self.width_m, self.depth_m, name, self.method, parts(self.tree))

    def _entry(self) -> dict[str, Any]:
        place = {"path": self.path_m, "width": self.width_m}
        return {"id": self.id, **place, "depth": self.depth_m, "method": self.method, "tree": entry(self.tree)}


def settle(dig: Hole | PostHole | Pit | Trench, *names: str) -> None:
    """Read what was typed: lengths with a unit, the tree, a name that is a number or says nothing."""
    for name in names:
        object.__setattr__(dig, name, as_length(getattr(dig, name), name))
    object.__setattr__(dig, "tree", as_tree(dig.tree))
    object.__setattr__(dig, "id", as_name(dig.id))
    if absent(dig.method):
        object.__setattr__(dig, "method", "hand")
    elif not isinstance(dig.method, str):
        raise DigError(f"method is {dig.method!r}; it must be 'hand' or 'machine'")


def as_length(value: object, name: str) -> float:
    """Return a length of a dig in metres. NaN and infinity stay: they are told with all other faults when the dig is used."""
    if isinstance(value, float):
        return float(value)
    try:
        return length(value, name)
    except ArgumentError as error:
        raise DigError(str(error)) from None


def as_name(name: object) -> str | None:
    """Return the name of a dig as documents keep it.

    Examples
    --------
    >>> as_name(" rose "), as_name(3.0), as_name(float("nan"))
    ('rose', '3', None)
    """
    if absent(name):
        return None
    if isinstance(name, float) and name.is_integer():
        name = int(name)
    return " ".join(str(name).split())


def bound(dig: Hole | Pit | Trench, name: str) -> _core.Dig:
    """Hand a dig that was pickled to the engine again."""
    return dig._bind(name)


#: Maps of one dig hold it as the engine has it.
copyreg.pickle(_core.Dig, lambda dig: (bound, (from_core(dig), dig.id)))


def from_core(dig: _core.Dig) -> Hole | Pit | Trench:
    """Return a dig of the engine as its kind, as it was drawn; a post hole is a hole."""
    dig = dig.drawn or dig
    tree = None if dig.tree is None else Tree(*dig.tree)
    points, depth_m, width_m = as_points(dig.points_m, "points_m"), dig.depth_m, 2 * dig.half_width_m
    if dig.kind == "hole":
        return Hole(*points[0], dig.half_width_m, depth_m, id=dig.id, method=dig.method, tree=tree)
    if dig.kind == "trench":
        return Trench(points, width_m, depth_m, id=dig.id, method=dig.method, tree=tree)
    return Pit(points, depth_m, id=dig.id, method=dig.method, tree=tree)


def parts(tree: TreeLike) -> tuple[str, str | None, float | None, float | None, float | None, str | None] | None:
    """Hand a dig's tree to the engine."""
    found = as_tree(tree)
    return None if found is None else found._parts()


def entry(tree: TreeLike) -> str | dict[str, Any] | None:
    """Return a dig's tree as documents write it, in metres."""
    found = as_tree(tree)
    return None if found is None else found._entry()


def as_array(points: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return C-ordered, aligned float64 numbers: the engine reads no other (arrays from other processes may be misaligned)."""
    return np.require(points, np.float64, ["C", "ALIGNED"])


def as_points(points: npt.ArrayLike, name: str) -> Points:
    """Return points as tuples, so that a dig can be compared, hashed and pickled."""
    try:
        array = as_array(points)
    except (TypeError, ValueError) as error:
        texts = as_texts(points, name)
        if texts is None:
            raise DigError(f"{name} must be an array of numbers of shape (n, 2): {error}") from None
        array = texts
    if array.ndim != 2 or array.shape[1] != 2:
        raise DigError(f"{name} has shape {array.shape}; it must be (n, 2)")
    return tuple((x, y) for x, y in array.tolist())


def as_texts(points: object, name: str) -> npt.NDArray[np.float64] | None:
    """Return points that are given as texts with a unit; None where they are none."""
    rows = (
        [list(point) if isinstance(point, list | tuple) else None for point in points]
        if isinstance(points, list | tuple)
        else []
    )
    if not rows or any(row is None or len(row) != 2 for row in rows):
        return None
    return np.array(
        [[as_length(item, f"{name}[{k}]") for item in row] for k, row in enumerate(rows) if row is not None]
    )
