"""Maps of chances: one hole everywhere, or one dig moved about."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from underturf import _core
from underturf._checks import Length, lengths
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.errors import ArgumentError, must_be, none_such
from underturf.maps import Moved, Shift, StrikeMap
from underturf.options import Running, TreeRules, Weights, tree_rules, weight_list
from underturf.report import length_text

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["dig_maps", "strike_map"]


def strike_map(
    layouts: Layouts,
    radius_m: Length = 0.3,
    depth_m: Length = 0.4,
    cell_m: Length = 0.1,
    classes: str | Iterable[str] | None = None,
    *,
    run: Running | None = None,
) -> StrikeMap:
    """Chance of a strike for one round hole, centred at each cell of a grid over the site.

    Parameters
    ----------
    radius_m, depth_m : float or str
        The hole: metres, or a text with its unit (``"2 ft"``, ``"14 ft 6 in"``, ``"30 cm"``). So are all lengths.
    cell_m : float or str
        Side of a cell.
    classes : str or iterable of str, optional
        Classes to count; all assessed ones and unmapped lines if not given.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    StrikeMap
        Arrays of shape (rows, cols), row 0 at the north; NaN outside the boundary.

    Raises
    ------
    MemoryLimitError
        If so many cells or places would pass the memory allowed; says how many fit.
    ArgumentError
        If a length is not positive, the grid too large, or a class unknown or not assessed.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> layouts.strike_map(radius_m="2 ft", depth_m=0.4, cell_m=0.5)
    <StrikeMap 34 x 39 cells of 0.5 m: round hole, radius 0.61 m, depth 0.40 m>
    >>> layouts.strike_map(classes="electric")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    underturf.errors.ArgumentError: electric is not assessed here; assessed are lateral, mainline, ...
    """
    radius_m, depth_m, cell_m = lengths(radius_m=radius_m, depth_m=depth_m, cell_m=cell_m)
    names = None if classes is None else counted(layouts, classes)
    with working(run, "mapping") as work:
        core = layouts._handle.strike_map(radius_m, depth_m, cell_m, names, *work)
    radius, depth = (length_text(length, layouts._site.units) for length in (radius_m, depth_m))
    what = f"round hole, radius {radius}, depth {depth}"
    return StrikeMap._wrap(core, layouts, what, classes=layouts.assessed if names is None else tuple(names))


def dig_maps(
    layouts: Layouts,
    digs: Digs = None,
    reach_m: Length = _core.DEFAULTS["reach_m"],
    cell_m: Length = _core.DEFAULTS["shift_cell_m"],
    weights: Weights = None,
    *,
    rules: TreeRules | None = None,
    run: Running | None = None,
) -> list[StrikeMap]:
    """For each dig: its chance when the same shape is moved, by up to a reach.

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        As in `strike_probability`.
    reach_m : float
        Greatest shift, metres.
    cell_m : float
        Step of the shift, metres.
    weights : mapping of str to float, optional
        As in `assess`.
    rules : TreeRules, optional
        As in `assess`.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    list of StrikeMap
        One a dig, in order. Its cells are where the dig's own middle would come to lie; ``shift`` is the place that `assess`
        names, ``no_better`` whether the dig should go elsewhere and has nowhere to go within reach.

    Raises
    ------
    DigError, ArgumentError
        As in `strike_probability` and `strike_map`.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> (crabapple,) = layouts.dig_maps("crabapple", reach_m=1.0)
    >>> crabapple.shift is not None, crabapple.what
    (True, 'crabapple, moved')
    """
    reach_m, cell_m = lengths(reach_m=reach_m, cell_m=cell_m)
    bound = bind_digs(digs, layouts._site)
    given, (row, limit) = weight_list(weights), tree_rules(rules)
    turned = layouts.site._handle.y_azimuth_deg
    with working(run, "moving digs") as work:
        found = layouts._handle.dig_maps(bound, reach_m, cell_m, given, (row, limit), *work)
    return [
        StrikeMap._wrap(
            core,
            layouts,
            f"{dig.id}, moved",
            classes=layouts.assessed,
            of=Moved(dig, None if shift is None else Shift(*shift, y_azimuth_deg=turned), no_better, limit),
        )
        for dig, (core, shift, no_better) in zip(bound, found, strict=True)
    ]


def counted(layouts: Layouts, classes: str | Iterable[str]) -> list[str]:
    """Check names of classes to count: a class without evidence would count as nothing."""
    if not isinstance(classes, Iterable):
        raise must_be("classes", classes, "names of classes, or None for all that are assessed")
    names = [classes] if isinstance(classes, str) else list(classes)
    for name in names:
        if name not in _core.CLASSES:
            hint = _core.spelling_hint(str(name), _core.CLASSES)
            raise none_such("class", name, _core.CLASSES, hint)
        if name not in layouts.assessed:
            raise ArgumentError(f"{name} is not assessed here; assessed are {', '.join(layouts.assessed)}")
    return names
