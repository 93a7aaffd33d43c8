"""Whether sampled layouts can be relied on: convergence checks of chains over unknown zones, and how the chains ran.

Where zones are known or settled by station tests draws are independent and there is nothing to diagnose. Elsewhere chains
over the ways to assign heads to zones are run, and their convergence is checked before an answer is given.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, cast

import pandas as pd

from underturf._extras import needs
from underturf.diagnostics import to_datatree as labelled_chains
from underturf.methods.tables import marked

if TYPE_CHECKING:
    import xarray

    from underturf.layouts import Layouts

__all__ = ["RunInfo", "diagnostics", "proposals", "run_info", "to_datatree"]

#: Columns of `diagnostics` with their types, in order.
DIAGNOSTICS = {
    "quantity": "object",
    "kind": "object",
    "mean": "float64",
    "mcse": "float64",
    "r_hat": "float64",
    "ess_bulk": "float64",
    "ess_tail": "float64",
    "passed": "bool",
}

#: Columns of `proposals` with their types, in order.
PROPOSALS = {"proposal": "object", "tried": "int64", "accepted_share": "float64", "converged": "bool"}


class RunInfo(TypedDict, total=False):
    """How chains ran; see `Layouts.run_info`."""

    chains: int
    states_per_chain: int
    sweeps: int
    betas: list[float]
    barrier: float | None
    round_trips: int
    zoning_ess: float | None
    tree_ess: float | None
    efficiency: float
    failures: list[str]


def diagnostics(layouts: Layouts) -> pd.DataFrame:
    """Diagnose every quantity that the chains were watched by.

    Returns
    -------
    DataFrame
        One row a quantity: ``quantity``, ``kind`` ("scalar" or "probability"), ``mean`` and ``mcse`` (its Monte Carlo
        standard error) in the quantity's own unit, ``r_hat``, ``ess_bulk``, ``ess_tail`` (draws), ``passed`` (every check:
        ``r_hat`` below 1.01, both sizes above 400, and the error of a chance at most 0.01 or a tenth of it). NaN
        where all draws are equal. No rows where draws are independent.

    References
    ----------
    Vehtari, Gelman, Simpson, Carpenter and Buerkner (2021), Bayesian Analysis 16, 667-718.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> layouts.independent, len(layouts.diagnostics())
    (True, 0)
    """
    convergence = layouts._handle.convergence()
    found = {} if convergence is None else convergence["diagnostics"]
    return pd.DataFrame(found, columns=list(DIAGNOSTICS)).astype(DIAGNOSTICS)


def proposals(layouts: Layouts) -> pd.DataFrame:
    """Count the proposals of the chains over zones, by kind, where these follow the site's own model.

    Returns
    -------
    DataFrame
        ``proposal``, ``tried`` (all chains together; a proposal that would have changed nothing was tried and not accepted),
        ``accepted_share`` (NaN for a kind never tried), ``converged`` (false: the chains did not converge). No
        rows where draws are independent.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("unlabelled"))
    >>> proposals = ut.sample_layouts(site, draws=100, seed=7).proposals()
    >>> list(proposals)
    ['proposal', 'tried', 'accepted_share', 'converged']
    """
    convergence = layouts._handle.convergence()
    if convergence is None:
        return pd.DataFrame(columns=list(PROPOSALS)).astype(PROPOSALS)
    table = pd.DataFrame(convergence["moves"]).astype({"tried": "int64"}).rename(columns={"move": "proposal"})
    table["accepted_share"] = table.pop("made") / table["tried"].where(table["tried"] > 0)
    return marked(layouts, table)[list(PROPOSALS)].astype(PROPOSALS)


def run_info(layouts: Layouts) -> RunInfo:
    """Tell how the chains ran; see `Layouts.run_info`."""
    convergence = layouts._handle.convergence()
    if convergence is None:
        return {}
    chains, kept = convergence["chains"][0].shape
    names = ("sweeps", "betas", "barrier", "round_trips", "zoning_ess", "tree_ess", "efficiency", "failures")
    found = {"chains": chains, "states_per_chain": kept} | {name: convergence[name] for name in names}
    return cast("RunInfo", found)


def to_datatree(layouts: Layouts) -> xarray.DataTree:
    """Hand the draws over to ArviZ and other tools that read labelled arrays.

    Returns
    -------
    xarray.DataTree
        Group ``posterior`` with one variable a quantity of `diagnostics`, dimensions ``chain`` and ``draw``, named
        as there with ``/`` written ``|``. Where draws are independent they are one chain, of the length of laterals and the
        strike chance of every dig of the site. Where there are chains, group ``proposals`` has ``tried`` and
        ``accepted_share`` of `proposals`, dimension ``proposal``: all chains together, so they are no ``sample_stats``.
        Attributes tell seed, convergence and run.

    Raises
    ------
    ImportError
        If xarray is not installed (``pip install underturf[diagnostics]``).

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> tree = ut.sample_layouts(site, draws=50, seed=7).to_datatree()
    >>> list(tree["posterior"].data_vars)[:2], dict(tree["posterior"].sizes)
    (['length of laterals, m', 'strike chance of maple'], {'chain': 1, 'draw': 50})
    """
    needs("an xarray tree", "xarray")
    import xarray

    quantities = layouts._handle.quantities()
    chains = {name.replace("/", "|"): values for name, (_, values) in quantities.items()}
    run = {name: value for name, value in run_info(layouts).items() if value is not None}
    # Numbers for truth values: netCDF knows no others.
    about = {"source": "underturf", "seed": str(layouts._handle.seed), "converged": int(layouts.converged)}
    tree = labelled_chains({"posterior": chains}, about | run)
    if not layouts.independent:
        tried = layouts.proposals().set_index("proposal")[["tried", "accepted_share"]]
        tree["proposals"] = xarray.DataTree(tried.to_xarray().assign_attrs(about | run))
    return tree
