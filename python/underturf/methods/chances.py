"""Chances of digs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf import _core
from underturf._checks import word
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.methods.tables import table_of
from underturf.options import Running

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["Form", "strike_probability", "strikes"]

Form: TypeAlias = Literal["auto", "general", "determinant"]


def strike_probability(
    layouts: Layouts,
    digs: Digs = None,
    *,
    form: Form = "auto",
    run: Running | None = None,
) -> npt.NDArray[np.float64]:
    """Chance that each dig strikes a line of an assessed class or an unknown one.

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        Shapes or names of digs of the site, a result that holds digs (`Spots`, `Ranking`, `Assessment`, `ProbePlan`), or a table
        with ``x_m``, ``y_m``, ``radius_m``, ``depth_m`` (`Site.digs`); the site's own if not given.
    form : {"auto", "general", "determinant"}
        How to compute: by averaging over draws, or by determinants where the model factors over runs.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    ndarray, shape (n,), float64
        One chance a dig, in the order given; never 0, never 1. An array cannot carry a mark: look at ``converged``
        of these layouts, or use `strikes`.

    Raises
    ------
    DigError
        If a dig has no size or its name is unknown.
    ArgumentError
        If the form is unknown or does not apply: the determinant form needs zones that are known or settled.
    ConvergenceError
        If chains over unknown zones do not tell a chance closely enough (an error above 0.01 and above a tenth of it).

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> layouts.strike_probability([]).shape
    (0,)
    >>> narrow, wide = layouts.strike_probability([ut.Hole(4, 3, 0.2, 0.4), ut.Hole(4, 3, 0.8, 0.4)])
    >>> bool(narrow <= wide)
    True
    """
    p: npt.NDArray[np.float64] = strike_columns(layouts, digs, form, run)["p_strike"]
    return p


def strikes(
    layouts: Layouts,
    digs: Digs = None,
    *,
    form: Form = "auto",
    run: Running | None = None,
) -> pd.DataFrame:
    """Chances of digs with their Monte Carlo error, by class.

    Parameters
    ----------
    digs, form, run
        As in `strike_probability`.

    Returns
    -------
    DataFrame, one row a dig, index ``dig``
        ``p_strike`` (assessed classes and unmapped lines only), ``mcse`` (Monte Carlo standard error), ``p_upper95``
        (one-sided 95 % bound), for each class ``p_<class>`` and ``mcse_<class>`` (NaN: not assessed), ``form``
        (the form that made the row) and ``converged`` (false: do not rely on the row).

    Raises
    ------
    DigError, ArgumentError
        As in `strike_probability`.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> table = layouts.strikes("maple")
    >>> table.index.tolist(), bool(table["p_strike"].iloc[0] < table["p_upper95"].iloc[0])
    (['maple'], True)
    >>> len(layouts.strikes([]))
    0
    """
    return table_of(layouts, strike_columns(layouts, digs, form, run))


def strike_columns(layouts: Layouts, digs: Digs, form: Form, run: Running | None) -> dict[str, Any]:
    bound, way = bind_digs(digs, layouts._site), word(form, "form", _core.WORDS["form"])
    with working(run, "computing strikes") as work:
        return layouts._handle.strike(bound, way, *work)
