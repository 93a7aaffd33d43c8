"""Trees to be planted: what is said of them, the hole that a root ball needs, setbacks and root zones as published.

Every number comes from a published table, named with the answer; between two rows it is interpolated linearly and
said so; outside a table there is no answer, but an error that names the table. Local codes decide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any, Literal, TypeAlias

import pandas as pd

from underturf import _core
from underturf._checks import Length, absent, as_written, length, number, word
from underturf.errors import ArgumentError, DigError

__all__ = [
    "TREE_COLUMNS",
    "RootBall",
    "Tree",
    "TreeLike",
    "combined_stem_m",
    "critical_root_zone_m",
    "root_ball",
    "root_protection_m",
    "setbacks",
]

#: Columns that hold a tree, by the parts of `Tree`.
TREE_COLUMNS = {
    "size": "tree_size",
    "vigour": "tree_vigour",
    "caliper_m": "tree_caliper_m",
    "container_gal": "tree_container_gal",
    "root_radius_m": "tree_root_radius_m",
    "setback": "tree_setback",
}

Size: TypeAlias = Literal["small", "medium", "large"]
Vigour: TypeAlias = Literal["aggressive", "ordinary", "small"]


@dataclass(frozen=True, slots=True)
class Tree:
    """A tree to be planted, for the ``tree`` of a dig.

    Parameters
    ----------
    size : {"small", "medium", "large"}
        At maturity. Small trees carry no root conflict, and most setbacks exempt them.
    vigour : {"aggressive", "ordinary", "small"}, optional
        Of the roots; ordinary if not given.
    caliper_m : float or str, optional
        Diameter of the stem as bought, 6 in above ground: metres, or a text with its unit (``"2 in"``).
    container_gal : float, optional
        Trade number of the container instead.
    root_radius_m : float or str, optional
        Radius of the root zone at maturity, likewise; from size and vigour if not given. NaN and None mean not given.
    setback : str, optional
        A name of `underturf.setbacks` that holds for this tree; the one that a method is asked for if not given.

    Raises
    ------
    DigError
        If a length is none. When used: words that are none of these, numbers that are not positive, or both caliper and
        container.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.Hole(3.0, 2.0, 0.6, 0.4, tree=ut.Tree("large", vigour="aggressive")).tree.size
    'large'
    >>> ut.Tree("small", caliper_m="2 in").caliper_m
    0.0508
    """

    size: Size
    vigour: Vigour | None = None
    caliper_m: float | None = None
    container_gal: float | None = None
    root_radius_m: float | None = None
    setback: str | None = None

    def __post_init__(self) -> None:
        for name in ("size", "vigour", "setback"):
            said = getattr(self, name)
            if not isinstance(said, str) and not (name != "size" and absent(said)):
                raise DigError(f"tree: {name} is {said!r}; it must be a text")
        for name in ("vigour", "caliper_m", "container_gal", "root_radius_m", "setback"):
            value = getattr(self, name)
            if absent(value):
                object.__setattr__(self, name, None)
            elif name.endswith("_m"):
                object.__setattr__(self, name, typed(length, value, name))
            elif name == "container_gal":
                object.__setattr__(self, name, typed(number, value, name))

    def _parts(self) -> tuple[str, str | None, float | None, float | None, float | None, str | None]:
        """Hand it to the engine."""
        return self.size, self.vigour, self.caliper_m, self.container_gal, self.root_radius_m, self.setback

    def _entry(self) -> str | dict[str, Any]:
        """Return it as documents write it, lengths in metres."""
        more = {
            "vigour": self.vigour,
            "caliper": self.caliper_m,
            "container": self.container_gal,
            "root_radius": self.root_radius_m,
            "setback": self.setback,
        }
        given = {key: value for key, value in more.items() if value is not None}
        return {"size": self.size, **given} if given else self.size


TreeLike: TypeAlias = Tree | Size | Mapping[str, Any] | None


def as_tree(tree: TreeLike) -> Tree | None:
    """Return a tree from its size, from a mapping with the names of `Tree`, or as it is.

    Examples
    --------
    >>> as_tree("large")
    Tree(size='large', vigour=None, caliper_m=None, container_gal=None, root_radius_m=None, setback=None)
    >>> as_tree({"size": "small", "height_m": 3})
    Traceback (most recent call last):
    underturf.errors.DigError: tree: unknown key 'height_m'; known here: size, vigour, caliper_m, ...
    """
    if isinstance(tree, Tree):
        return tree
    if absent(tree):
        return None
    if isinstance(tree, str):
        return Tree(" ".join(tree.split()))  # type: ignore[arg-type]  # its words are checked when it is used
    if isinstance(tree, Mapping):
        known = [field.name for field in fields(Tree)]
        for key in tree:
            if key not in known:
                hint = _core.spelling_hint(str(key), known)
                raise DigError(f"tree: unknown key {key!r}{hint}{'' if hint else ';'} known here: {', '.join(known)}")
        if absent(tree.get("size")):
            raise DigError(f"tree: its size is missing: {dict(tree)!r}")
        return Tree(**tree)
    raise DigError(f"tree is {tree!r}; use a size, a mapping or Tree")


def typed(check: Callable[[object, str], float], value: object, name: str) -> float:
    """Check a number of a tree; NaN and infinity are told with all other faults when the tree is used."""
    if isinstance(value, float):
        return float(value)
    try:
        return check(value, name)
    except ArgumentError as error:
        raise DigError(f"tree: {error}") from None


@dataclass(frozen=True, slots=True)
class RootBall:
    """A root ball and the hole for it. Made by `root_ball`.

    Attributes
    ----------
    caliper_in : float
        Stem diameter that the tables were entered with, inches.
    ball_diameter_m, ball_depth_m : float
        The ball, metres; its depth is the least that the standard allows.
    hole_width_m, hole_depth_m : float
        The hole, metres: the ball stands 1 to 2 in proud of the ground.
    interpolated : bool
        Whether a number lies between two rows of a table.
    source : str
        Where the numbers come from.
    """

    caliper_in: float
    ball_diameter_m: float
    ball_depth_m: float
    hole_width_m: float
    hole_depth_m: float
    interpolated: bool
    source: str


def root_ball(
    caliper_in: Length | None = None,
    container_gal: float | None = None,
    *,
    table: Literal["shade_tree", "florida"] | None = None,
    width_factor: float = 3.0,
) -> RootBall:
    """Tell how large a hole a tree needs, from the published tables of root balls.

    Parameters
    ----------
    caliper_in : float or str, optional
        Diameter of the stem 6 in above ground: inches, or a text with its unit (``"50 mm"``).
    container_gal : float, optional
        Trade number of its container instead ("gallons" of the trade): the thickest caliper it may hold counts.
    table : {"shade_tree", "florida"}, optional
        Table of ball diameters: ANSI Z60.1 shade trees (calipers of 2, 3, 4, 5 in read in copies, the others from memory), or
        Florida Grades and Standards. If not given: by caliper the first; by container the second, or the first for stems
        thinner than the second begins with.
    width_factor : float
        How many balls wide the hole is dug: 3 (CSU Extension GardenNotes 633) or 2 (New Mexico State University), or between.

    Returns
    -------
    RootBall

    Raises
    ------
    ArgumentError
        If not exactly one of caliper and container is given, or one lies outside a table: it names the table, and another
        that has a row for it.

    Examples
    --------
    >>> import underturf as ut
    >>> ball = ut.root_ball(caliper_in=2)
    >>> round(ball.ball_diameter_m, 3), round(ball.hole_width_m, 3), round(ball.hole_depth_m, 3)
    (0.61, 1.829, 0.352)
    >>> ut.root_ball(caliper_in=2.25).interpolated
    True
    >>> round(ut.root_ball(container_gal=3).ball_diameter_m, 4)  # a stem of 0.75 in: 14 in
    0.3556
    """
    caliper = None if absent(caliper_in) else caliper_inches(caliper_in)
    container = None if absent(container_gal) else number(container_gal, "container_gal")
    named = None if table is None else word(table, "table")
    return RootBall(**_core.root_ball(caliper, container, named, number(width_factor, "width_factor")))


def caliper_inches(caliper_in: object) -> float:
    """Return a caliper in inches."""
    found = length(caliper_in, "caliper_in")
    has_unit = isinstance(caliper_in, str) and _core.read_length(caliper_in)[1]
    return found / 0.0254 if has_unit else found


def setbacks() -> pd.DataFrame:
    """List the setbacks that can be selected by name: rows of municipal law as published.

    Returns
    -------
    DataFrame, index ``setback``
        ``<class>_m`` for each class of line (distance from the middle of the stem, metres; NaN: the row does not speak of
        it), ``meter_m``, ``exempts_small`` (whether trees that stay small are exempt), ``published``, ``source``. The first is
        the default. They are examples of what is law somewhere: the local code decides.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.setbacks()["potable_m"].round(2).to_dict()
    {'lateral_5ft': 1.52, 'lateral_10ft': 3.05, 'mains_25ft': 7.62, 'utility_3ft': 0.91, 'all_trees_5ft': 1.52, 'meters_6ft': nan}
    """
    rows = [
        {
            "setback": name,
            **{f"{of}_m": metres for of, metres in zip(_core.CLASSES, lines, strict=True)},
            "meter_m": meter,
            "exempts_small": exempts,
            "published": published,
            "source": source,
        }
        for name, lines, meter, exempts, published, source in _core.setbacks()
    ]
    table = pd.DataFrame(rows).set_index("setback")
    metres = [name for name in table.columns if name.endswith("_m")]
    return table.astype(dict.fromkeys(metres, "float64"))


def root_protection_m(stem_diameter_m: Length) -> float:
    """Radius of the root protection area of a standing tree, metres: 12 stem diameters, at most 15 m.

    Parameters
    ----------
    stem_diameter_m : float or str
        Diameter 1.5 m above ground: metres, or a text with its unit.

    Raises
    ------
    ArgumentError
        If it is not a positive finite number.

    References
    ----------
    BS 5837:2012, 4.6 and annex D, as quoted in tree reports.

    Examples
    --------
    >>> [round(root_protection_m(d), 3) for d in (0.3, 0.6, 1.5)]
    [3.6, 7.2, 15.0]
    """
    stem = length(stem_diameter_m, "stem_diameter_m")
    with as_written({"stem_diameter_m": stem_diameter_m}):
        return _core.root_protection(stem)


def combined_stem_m(stems_m: Iterable[Length]) -> float:
    """Diameter of the one stem that stands for the stems of a tree, metres: the root of the sum of their squares.

    Parameters
    ----------
    stems_m : iterable of float
        Diameters 1.5 m above ground, metres, of up to five stems: the rule that was read is one for two to five.

    Raises
    ------
    ArgumentError
        If there is no stem, there are more than five, or a diameter is not a positive finite number.

    References
    ----------
    BS 5837:2012, 4.6 and annex D, as quoted in tree reports.

    Examples
    --------
    >>> stem = combined_stem_m([0.2, 0.15, 0.1])
    >>> round(stem, 5), round(root_protection_m(stem), 3)
    (0.26926, 3.231)
    """
    given = {f"stems_m[{k}]": stem for k, stem in enumerate(stems_m)}
    stems = [length(stem, name) for name, stem in given.items()]
    with as_written(given):
        return _core.combined_stem(stems)


def critical_root_zone_m(stem_diameter_m: Length, feet_per_inch: float = 1.0) -> float:
    """Radius of the critical root zone of a standing tree, metres: so many feet an inch of stem, at least 6 ft.

    Parameters
    ----------
    stem_diameter_m : float or str
        Diameter at breast height: metres, or a text with its unit.
    feet_per_inch : float
        1 (Vancouver WA 20.170.100), 1.25 (NC State Extension) or 1.5 (Edina MN); the floor of 6 ft is that of the NC Urban
        Forest Council.

    Raises
    ------
    ArgumentError
        If a number is not positive and finite.

    Examples
    --------
    >>> [round(critical_root_zone_m(10 * 0.0254, rate) / 0.3048, 3) for rate in (1, 1.25, 1.5)]
    [10.0, 12.5, 15.0]
    """
    stem = length(stem_diameter_m, "stem_diameter_m")
    rate = number(feet_per_inch, "feet_per_inch")
    with as_written({"stem_diameter_m": stem_diameter_m}):
        return _core.critical_root_zone(stem, rate)
