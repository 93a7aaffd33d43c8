"""Which head is on which zone, as far as the draws know: chances, heads that go together, and the likeliest grouping.

Valves that no document names and that share a box cannot be told apart: which of them is "valve 1" changes from draw to
draw. What does not depend on their names is which heads share one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from underturf.methods.tables import marked

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["likely_groups", "same_zone_chances", "zone_chances"]


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
    chances = layouts._handle.zone_chances()
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
    heads = pd.Index(layouts._handle.heads, name="head")
    return pd.DataFrame(layouts._handle.same_zone_chances(), index=heads, columns=heads.rename("with"))


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
    groups, probability = layouts._handle.likely_groups()
    heads = pd.Index(layouts._handle.heads, name="head")
    return marked(
        layouts, pd.DataFrame({"group": np.array(groups, dtype=object), "probability": probability}, index=heads)
    )
