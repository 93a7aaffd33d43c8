"""Which head is on which zone, as far as the draws know: chances, heads that go together, and the likeliest grouping.

Valves that no document names and that share a box cannot be told apart: which of them is "valve 1" changes from draw to
draw. What does not depend on their names is which heads share one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf.methods.tables import marked

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["likely_groups", "same_zone_chances", "zone_chances"]

Floats: TypeAlias = npt.NDArray[np.float64]
Zonings: TypeAlias = npt.NDArray[np.int64]


def zone_chances(layouts: Layouts) -> pd.DataFrame:
    """Chance of each head to be on each zone.

    Returns
    -------
    DataFrame, one row a head, index ``head``
        One column a zone, by name, each row summing to 1, and ``likely_zone``, the likeliest. Where zones are settled
        the shares are those of the zonings that draws came from: 1 and 0 if that is one. Last, ``converged`` (false: do
        not rely on the row).

    Notes
    -----
    Valves without a name in one box are exchangeable: their columns only say that the head is on one of them, whichever,
    and ``likely_zone`` among them means nothing. Then use `same_zone_chances` or `likely_groups`;
    `Layouts.exchangeable_zones` lists them.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> layouts.zone_chances().loc["h13"].to_dict()
    {'1': 0.0, '2': 1.0, '3': 0.0, 'likely_zone': '2', 'converged': True}
    """
    names = layouts._handle.zone_names
    zone_of, shares = layouts._handle.zonings()
    chances = np.zeros((len(layouts._handle.heads), len(names)))
    for zone in range(len(names)):
        chances[:, zone] = shares @ (zone_of == zone)
    chances /= chances.sum(axis=1, keepdims=True)  # shares sum to one but for rounding
    table = pd.DataFrame(chances, index=pd.Index(layouts._handle.heads, name="head"), columns=names)
    table["likely_zone"] = np.array(names, dtype=object)[chances.argmax(axis=1)] if names else []
    return marked(layouts, table)


def same_zone_chances(layouts: Layouts) -> pd.DataFrame:
    """Chance of each two heads to be on one zone, whichever that is.

    Returns
    -------
    DataFrame, shape (heads, heads)
        Symmetric, 1 on the diagonal; ids of heads on both axes. A square has no room for a mark: look at
        ``converged`` of these layouts.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> together = ut.sample_layouts(site, draws=50, seed=7).same_zone_chances()
    >>> float(together.loc["h01", "h02"]), float(together.loc["h01", "h13"])
    (1.0, 0.0)
    """
    zone_of, shares = layouts._handle.zonings()
    heads = pd.Index(layouts._handle.heads, name="head")
    return pd.DataFrame(together(zone_of, shares), index=heads, columns=heads.rename("with"))


def likely_groups(layouts: Layouts) -> pd.DataFrame:
    """Group heads into zones as the draws on the whole do: one whole zoning, and how sure each head is in it.

    Of all zonings drawn, it is the one whose pairs of heads on one zone come nearest to `same_zone_chances` (least
    squares, the loss of Binder). Letters tell valves without a name apart; which of them is which valve is
    open.

    Returns
    -------
    DataFrame, one row a head, index ``head``
        ``group`` (the zone's name, or the box and a letter); ``probability``: of a named zone, that the head is on it; of
        a nameless one, that it shares its zone with another head of the group (mean over these; for a head
        alone, that it is alone); ``converged`` (false: do not rely on the row).

    References
    ----------
    Binder (1978), Biometrika 65, 31-38; Dahl (2006), Model-based clustering for expression data via a Dirichlet
    process mixture model, in Bayesian Inference for Gene Expression and Proteomics, 201-218.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> groups = ut.sample_layouts(site, draws=50, seed=7).likely_groups()
    >>> groups.loc["h13"].to_dict()
    {'group': '2', 'probability': 1.0, 'converged': True}
    """
    names = layouts._handle.zone_names
    zone_of, shares = layouts._handle.zonings()
    nearest = nearest_zoning(zone_of, shares)
    chosen, groups = zone_of[nearest], np.array(layouts._handle.group_names(nearest), dtype=object)
    nameless = {name for alike in layouts._handle.exchangeable_zones for name in alike}
    chance = [
        shared_with_group(head, chosen, zone_of, shares)
        if names[zone] in nameless
        else float(shares @ (zone_of[:, head] == zone))
        for head, zone in enumerate(chosen)
    ]
    heads = pd.Index(layouts._handle.heads, name="head")
    return marked(layouts, pd.DataFrame({"group": groups, "probability": np.clip(chance, 0.0, 1.0)}, index=heads))


def together(zone_of: Zonings, shares: Floats) -> Floats:
    """Chance of each two heads to be on one zone, from zonings of shape (zonings, heads) with their shares.

    Examples
    --------
    >>> together(np.array([[0, 0, 1], [0, 1, 1]]), np.array([0.25, 0.75])).tolist()
    [[1.0, 0.25, 0.0], [0.25, 1.0, 0.75], [0.0, 0.75, 1.0]]
    """
    heads = zone_of.shape[1]
    found = np.zeros((heads, heads))
    for zone in np.unique(zone_of):
        on = (zone_of == zone).astype(float)
        found += on.T @ (shares[:, None] * on)
    found = np.clip((found + found.T) / 2, 0.0, 1.0)  # sums in another order differ in their last digit
    np.fill_diagonal(found, 1.0)
    return found


def nearest_zoning(zone_of: Zonings, shares: Floats) -> int:
    """Index of the zoning whose pairs on one zone come nearest, by squares, to the chances of being together.

    Examples
    --------
    >>> nearest_zoning(np.array([[0, 1, 1], [0, 0, 1], [1, 1, 0], [0, 0, 0]]), np.full(4, 0.25))
    1
    """
    # (s - p)^2 = s (1 - 2 p) + p^2 for s = 0 or 1, and the last part is the same for all.
    cost = 1.0 - 2.0 * together(zone_of, shares)
    loss = np.zeros(len(zone_of))
    for zone in np.unique(zone_of):
        on = (zone_of == zone).astype(float)
        loss += ((on @ cost) * on).sum(axis=1)
    return int(np.argmin(loss.round(9)))  # rounded, so that of equals the first is taken on every machine


def shared_with_group(head: int, chosen: npt.NDArray[np.int64], zone_of: Zonings, shares: Floats) -> float:
    """Chance of a head to share its zone with another of its group, mean over these; of one alone, to be alone."""
    same = zone_of == zone_of[:, [head]]
    others = chosen == chosen[head]
    others[head] = False
    if not others.any():
        return float(shares @ (same.sum(axis=1) == 1))
    return float((shares @ same[:, others]).mean())
