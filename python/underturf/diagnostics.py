"""Convergence diagnostics of draws by several Markov chains, and their hand-over to other tools.

Scalars follow Vehtari, Gelman, Simpson, Carpenter and Buerkner (Bayesian Analysis 16 (2021) 667-718): rank-normalised
split R-hat, effective sizes for bulk and tails, Monte Carlo standard errors. They equal the package arviz-stats to 1e-8.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf import _core
from underturf._extras import needs
from underturf.errors import ArgumentError, at

if TYPE_CHECKING:
    import xarray

__all__ = ["summary", "to_datatree"]

#: Columns of `summary`, in order.
COLUMNS = ("mean", "sd", "mcse_mean", "mcse_sd", "ess_bulk", "ess_tail", "ess_mean", "r_hat")


def summary(chains_by_name: Mapping[str, npt.ArrayLike]) -> pd.DataFrame:
    """Diagnose scalars.

    Parameters
    ----------
    chains_by_name : mapping of str to array_like, shape (chains, draws)
        Draws of each scalar; at least four draws a chain, all finite. R-hat needs two chains. A name with a unit
        (``total_length_m``) keeps it as the row's label.

    Returns
    -------
    DataFrame
        One row a scalar, in the order given. ``mean``, ``sd``, ``mcse_mean`` and ``mcse_sd`` are in the scalar's own unit;
        ``ess_bulk``, ``ess_tail`` and ``ess_mean`` count draws; ``r_hat`` has no unit. Where all draws are equal, ``r_hat``
        and ``mcse_sd`` are NaN, and effective sizes are the number of draws by convention alone.

    Raises
    ------
    ArgumentError
        For draws that are no numbers, not finite, not of two dimensions or fewer than four a chain; it names the
        scalar.

    References
    ----------
    Vehtari, Gelman, Simpson, Carpenter and Buerkner (2021), Bayesian Analysis 16, 667-718. The 5 % and 95 % quantiles are
    the tails. Gates in use there: ``r_hat`` below 1.01, ``ess_bulk`` and ``ess_tail`` above 400.

    Examples
    --------
    >>> import numpy as np
    >>> from underturf.diagnostics import summary
    >>> table = summary({"length_m": np.random.default_rng(1).normal(60.0, 2.0, (4, 500))})
    >>> bool(table.loc["length_m", "r_hat"] < 1.01), bool(table.loc["length_m", "ess_bulk"] > 400)
    (True, True)
    """
    rows = {name: row_of(name, draws) for name, draws in chains_by_name.items()}
    return pd.DataFrame.from_dict(rows, orient="index", columns=list(COLUMNS), dtype=float)


def row_of(name: str, draws: npt.ArrayLike) -> list[float]:
    """Diagnose one scalar; the numbers stand in the order of `COLUMNS`."""
    chains = numbers(name, draws)
    if chains.ndim != 2:
        raise ArgumentError(f"{name} has shape {chains.shape}; draws of a scalar have shape (chains, draws)")
    try:
        found = _core.diagnose(chains)
    except ArgumentError as error:
        raise at(name, error) from None
    found |= {"mean": float(chains.mean()), "sd": float(chains.std(ddof=1))}
    return [found[column] for column in COLUMNS]


def numbers(name: str, draws: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return draws as aligned floats; complex numbers and words are refused."""
    array = np.asarray(draws)
    if array.dtype.kind not in "biuf":
        raise ArgumentError(f"{name} holds {array.dtype}; draws must be real numbers")
    return np.require(array, np.float64, ["ALIGNED", "C_CONTIGUOUS"])


def to_datatree(
    groups: Mapping[str, Mapping[str, npt.ArrayLike]], attributes: Mapping[str, object] | None = None
) -> xarray.DataTree:
    """Hand draws over to ArviZ and other tools that read labelled arrays.

    Parameters
    ----------
    groups : mapping of str to mapping of str to array_like, shape (chains, draws, ...)
        Variables of each group. Usual names of groups are ``posterior`` and ``sample_stats``. All variables of a group
        have the same number of chains and draws. Units belong in the names.
    attributes : mapping of str to object, optional
        What else is worth keeping (seed, version, settings); set on the root and on every group.

    Returns
    -------
    xarray.DataTree
        One child a group, with dimensions ``chain`` and ``draw`` numbered from 0; further dimensions of a variable ``x`` are
        named ``x_dim_0`` and so on, as ArviZ names them.

    Raises
    ------
    ArgumentError
        For no group, a group without variables, a variable without chains and draws, or with others than the rest of
        its group.
    ImportError
        If xarray is not installed (``pip install underturf[diagnostics]``).

    References
    ----------
    InferenceData schema specification of ArviZ: groups, ``chain`` and ``draw``.

    Examples
    --------
    >>> import numpy as np
    >>> from underturf.diagnostics import to_datatree
    >>> tree = to_datatree({"posterior": {"length_m": np.zeros((4, 10))}}, {"seed": 7})
    >>> dict(tree["posterior"].sizes), tree.attrs["seed"]
    ({'chain': 4, 'draw': 10}, 7)
    """
    needs("an xarray tree", "xarray")
    import xarray

    if not groups:
        raise ArgumentError("there is no group; at least one is needed, usually 'posterior'")
    attrs = dict(attributes or {})
    children = {
        f"/{group}": xarray.Dataset(
            labelled(group, variables),
            coords={axis: np.arange(count) for axis, count in sizes(group, variables).items()},
            attrs=attrs,
        )
        for group, variables in groups.items()
    }
    return xarray.DataTree.from_dict({"/": xarray.Dataset(attrs=attrs), **children})


def labelled(group: str, variables: Mapping[str, npt.ArrayLike]) -> dict[str, tuple[tuple[str, ...], npt.NDArray[Any]]]:
    """Name the dimensions of each variable."""
    arrays = {name: np.asarray(draws) for name, draws in variables.items()}
    expected = tuple(sizes(group, variables).values())
    for name, array in arrays.items():
        if array.shape[:2] != expected:
            raise ArgumentError(f"{group}.{name} has shape {array.shape}; its group has (chains, draws) = {expected}")
    return {
        name: (("chain", "draw", *(f"{name}_dim_{axis}" for axis in range(array.ndim - 2))), array)
        for name, array in arrays.items()
    }


def sizes(group: str, variables: Mapping[str, npt.ArrayLike]) -> dict[str, int]:
    """Return the numbers of chains and draws of a group: those of its first variable."""
    if not variables:
        raise ArgumentError(f"the group {group} has no variable; at least one is needed")
    name, draws = next(iter(variables.items()))
    shape = np.shape(draws)
    if len(shape) < 2:
        raise ArgumentError(f"{group}.{name} has shape {shape}; the first two dimensions are chains and draws")
    return {"chain": shape[0], "draw": shape[1]}
