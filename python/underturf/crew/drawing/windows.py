"""Which parts of a site need a map of their own: where labels would stand too close together to be read on the whole map.

Least readable spacing: a number of a stake or head with its blank is a quarter of an inch wide in letters of 8.5 points. A label
has a place beside its point as long as not more than two others stand within that distance. Where more than a tenth of
all labels have no such place, groups of spots and probes are drawn at the first standard scale at which they have. Spots that
lie close together share a window; windows that lie apart do not become one of mostly empty ground.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underturf.crew.drawing.scales import Scale, details
from underturf.crew.drawing.view import STRIP, View, Window, limits

if TYPE_CHECKING:
    from underturf.crew.plan import Plan

__all__ = ["DETAIL_STRIP", "crowded", "window_view", "windows_of"]

Boxes = npt.NDArray[np.float64]

#: Inches within which not more than so many others are named, and the share of labels that may be closer.
SPACING, OTHERS, SHARE = 0.25, 2, 0.1

#: Ground shown about a spot, metres, as far as stakes are listed there; about a stake far from all spots.
ABOUT_M, ABOUT_STAKE_M = 3.0, 1.0

#: Two windows become one if that wastes no more than this share of their ground.
WASTE = 1.3

#: Inches: greatest and least side of a drawn window; height of the strip of its scale bar.
MOST, LEAST, DETAIL_STRIP = (6.55, 8.0), (2.4, 1.6), 0.36


def crowded(points: npt.ArrayLike, per_inch: float) -> bool:
    """Tell whether labels of points cannot be read on a map with so many units to an inch.

    Examples
    --------
    >>> row = [(float(k), 0.0) for k in range(20)]
    >>> crowded(row, 2.0), crowded(row, 10.0)
    (False, True)
    """
    at = np.asarray(points, float).reshape(-1, 2)
    if len(at) <= OTHERS + 1:
        return False
    reach = SPACING * per_inch
    near = np.array([int((np.hypot(*(at - point).T) < reach).sum()) - 1 for point in at])
    return bool((near > OTHERS).mean() > SHARE)


def labelled(plan: Plan) -> Boxes:
    """Return what a crew looks for by its label near spots: spots, probes, listed stakes, heads; in the document's unit."""
    scale = 1 / plan.site.unit_m
    digs = [*plan.digs, *(probe.dig for probe in plan.probes)]
    points = [dig.points_m.mean(axis=0) * scale for dig in digs]
    points += [np.array([stake.x_m, stake.y_m]) * scale for stake in plan.listed]
    points += [np.array([head["x"], head["y"]], float) for head in plan.document.get("heads", [])]
    return np.array(points).reshape(-1, 2)


def windows_of(plan: Plan, per_inch: float) -> tuple[tuple[Window, ...], Scale | None]:
    """Return the windows of detail maps and their scale; none where the whole map is readable.

    Parameters
    ----------
    plan : Plan
        What the sheet tells.
    per_inch : float
        Units of the document to an inch of the whole map.
    """
    seeds = seeds_of(plan)
    points = labelled(plan)
    if len(seeds):
        points = points[np.any([holds(box, points) for box in seeds], axis=0)]
    if not len(seeds) or not crowded(points, per_inch):
        return (), None
    larger = details(plan.units, per_inch)
    if not larger:
        return (), None
    scale = next((scale for scale in larger if not crowded(points, scale.per_inch)), larger[-1])
    x, y = limits(plan)
    whole = np.array([[x[0], y[0]], [x[1], y[1]]])
    boxes = joined(np.clip(seeds, whole[0], whole[1]), whole, scale.per_inch)
    if len(boxes) == 1 and (boxes[0] == whole).all():
        return (Window("The whole site", x, y, whole=True),), scale
    named = tuple(
        Window(f"Detail {k + 1}", (float(low[0]), float(high[0])), (float(low[1]), float(high[1])))
        for k, (low, high) in enumerate(boxes)
    )
    return named, scale


def holds(box: Boxes, points: Boxes) -> npt.NDArray[np.bool_]:
    """Tell which points a box holds."""
    inside: npt.NDArray[np.bool_] = ((points >= box[0]) & (points <= box[1])).all(axis=1)
    return inside


def seeds_of(plan: Plan) -> Boxes:
    """Return a box of ground about each spot and probe, and about each listed stake that lies in none of these."""
    scale = 1 / plan.site.unit_m
    about = min(plan.options.near_m, ABOUT_M)
    boxes = []
    for dig in (*plan.digs, *(probe.dig for probe in plan.probes)):
        reach = dig.half_width_m + about
        boxes.append(np.array([dig.points_m.min(axis=0) - reach, dig.points_m.max(axis=0) + reach]) * scale)
    seeds = list(boxes)
    for stake in plan.listed:
        at = np.array([[stake.x_m, stake.y_m]]) * scale
        if not any(holds(box, at)[0] for box in boxes):
            seeds.append(np.concatenate([at - ABOUT_STAKE_M * scale, at + ABOUT_STAKE_M * scale]))
    return np.array(seeds).reshape(-1, 2, 2)


def joined(boxes: Boxes, whole: Boxes, per_inch: float) -> Boxes:
    """Join boxes that lie together until no two can be, the least waste first; each fits on a page and is not too small."""
    most = np.array(MOST) * per_inch
    # The whole site on one page is easier to read than most of it in windows.
    if np.all(whole[1] - whole[0] <= most) and area(boxes).sum() > 0.5 * area(whole[None])[0]:
        return whole[None]
    least = np.minimum(np.array(LEAST) * per_inch, whole[1] - whole[0])
    middle, half = boxes.mean(axis=1), np.maximum(boxes[:, 1] - boxes[:, 0], least) / 2
    boxes = np.stack([middle - half, middle + half], axis=1)
    while len(boxes) > 1:
        low = np.minimum(boxes[:, None, 0], boxes[None, :, 0])
        high = np.maximum(boxes[:, None, 1], boxes[None, :, 1])
        sides, own = high - low, area(boxes)
        waste = sides.prod(axis=2) / (own[:, None] + own[None])
        waste[(sides > most).any(axis=2)] = np.inf
        np.fill_diagonal(waste, np.inf)
        a, b = np.unravel_index(int(np.argmin(waste)), waste.shape)
        if waste[a, b] > WASTE:
            break
        one = np.stack([low[a, b], high[a, b]])
        # The first of the two keeps its place: details are numbered as spots are.
        boxes[min(a, b)] = one
        boxes = np.delete(boxes, max(a, b), axis=0)
    # Drawn in to the site where that leaves them large enough.
    shift = np.maximum(whole[0] - boxes[:, 0], 0) - np.maximum(boxes[:, 1] - whole[1], 0)
    return boxes + shift[:, None]


def area(boxes: Boxes) -> npt.NDArray[np.float64]:
    """Return the area of each box."""
    found: npt.NDArray[np.float64] = (boxes[:, 1] - boxes[:, 0]).prod(axis=1)
    return found


def window_view(window: Window, per_inch: float) -> View:
    """Return the view of a window, with the strip of the scale bar below it; the whole site has one already."""
    if window.whole:
        return View(window.x, window.y, STRIP * max(window.x[1] - window.x[0], window.y[1] - window.y[0]))
    strip = DETAIL_STRIP * per_inch
    return View(window.x, (window.y[0] - strip, window.y[1]), strip)
