"""What the page to look at stores, since it answers without us."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from underturf._checks import Length, at_least, length, number
from underturf.errors import ArgumentError, must_be
from underturf.options.checks import length_or_none, settle

__all__ = ["ExploreOptions"]

#: Holes whose maps are stored when nothing is said, metres, round in the units of the document: from a post to a tree,
#: from a stake to a footing. Design.
RADII_M = {"m": (0.15, 0.3, 0.45, 0.6), "ft": (0.1524, 0.3048, 0.4572, 0.6096)}
DEPTHS_M = {"m": (0.3, 0.45, 0.6, 0.9), "ft": (0.3048, 0.4572, 0.6096, 0.9144)}

#: Most maps of one page, and most layouts that it shows one by one. Design.
MOST_MAPS, MOST_DRAWS = 64, 500


@dataclass(frozen=True, slots=True, kw_only=True)
class ExploreOptions:
    """What the page to look at stores; see `Layouts.explore`.

    Parameters
    ----------
    radii_m, depths_m : float, str, or iterable of these, optional
        Radii and depths of the holes whose maps are stored, metres: one map each pair, 64 at most. If not given, radii
        of 0.15, 0.3, 0.45 and 0.6 m and depths of 0.3, 0.45, 0.6 and 0.9 m, or of 0.5, 1, 1.5 and 2 ft and of 1, 1.5, 2
        and 3 ft for documents in feet.
    cell_m : float or str, optional
        Side of a cell of these maps, metres; the finest of a list of round sizes that keeps the file below ``size_mb`` if not
        given.
    draws : int
        Layouts that can be looked at one by one, evenly spaced among all; 0 to 500.
    size_mb : float
        Size of the file that maps are fitted to, megabytes (1e6 bytes).

    Raises
    ------
    ArgumentError
        If a value is no length or out of range, or there are too many maps.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.ExploreOptions(radii_m="1 ft", depths_m=("18 in", 0.9)).depths_m
    (0.4572, 0.9)
    """

    radii_m: Length | Iterable[Length] | None = None
    depths_m: Length | Iterable[Length] | None = None
    cell_m: Length | None = None
    draws: int = 40
    size_mb: float = 6.0

    def __post_init__(self) -> None:
        radii, depths = each_length(self.radii_m, "radii_m"), each_length(self.depths_m, "depths_m")
        several = len(radii or RADII_M["m"]), len(depths or DEPTHS_M["m"])
        if several[0] * several[1] > MOST_MAPS:
            maps = several[0] * several[1]
            raise ArgumentError(
                f"{several[0]} radii and {several[1]} depths make {maps} maps; {MOST_MAPS} are the most"
            )
        draws = at_least(0, self.draws, "draws")
        if draws > MOST_DRAWS:
            raise must_be("draws", draws, f"in 0 to {MOST_DRAWS}")
        size_mb, cell_m = number(self.size_mb, "size_mb"), length_or_none(self.cell_m, "cell_m")
        if not 0.5 <= size_mb <= 100:
            raise must_be("size_mb", self.size_mb, "in 0.5 to 100")
        if cell_m is not None and not 0 < cell_m < float("inf"):
            raise must_be("cell_m", self.cell_m, "above 0 m and finite")
        settle(self, radii_m=radii, depths_m=depths, draws=draws, size_mb=size_mb, cell_m=cell_m)

    def holes_m(self, units: str) -> tuple[tuple[float, float], ...]:
        """Return radius and depth of each map, for a document in these units.

        Examples
        --------
        >>> import underturf as ut
        >>> ut.ExploreOptions(depths_m=0.5).holes_m("ft")
        ((0.1524, 0.5), (0.3048, 0.5), (0.4572, 0.5), (0.6096, 0.5))
        """
        radii = each_length(self.radii_m, "radii_m") or RADII_M[units]
        depths = each_length(self.depths_m, "depths_m") or DEPTHS_M[units]
        return tuple((radius, depth) for depth in depths for radius in radii)


def each_length(given: Length | Iterable[Length] | None, name: str) -> tuple[float, ...] | None:
    """Return lengths in ascending order, each once, all above nought; None where none are given.

    Examples
    --------
    >>> each_length(["1 ft", 0.15, 0.3048], "radii_m")
    (0.15, 0.3048)
    """
    if given is None:
        return None
    several = given if isinstance(given, Iterable) and not isinstance(given, str) else [given]
    found = sorted({length(value, name) for value in several})
    if not found:
        raise must_be(name, given, "one length at least")
    for value in found:
        if not 0 < value < float("inf"):
            raise must_be(name, value, "above 0 m and finite")
    return tuple(found)
