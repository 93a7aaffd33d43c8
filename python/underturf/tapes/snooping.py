"""Whether tapes agree with each other, and which of them is a blunder.

The global test compares the weighted sum of squares with its chi-square distribution. Data snooping (W. Baarda, A testing
procedure for use in geodetic networks, 1968, from memory) divides each residual by its own standard deviation. The critical value
is that of a normal variable for a chance of 0.05 over all measurements together, shared out equally (Bonferroni). A measurement
is named only where the data single it out: it must be 19 times as likely to be the one blunder as all others together. Where one
tape is to spare every measurement is as likely as any other, and none is named.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underturf.tapes.quantiles import chi_square_tail, normal_quantile, normal_tail

__all__ = ["ALPHA", "Tests", "run_tests", "weak_directions"]

#: Chance of a false alarm of each of the two tests, over all measurements together.
ALPHA = 0.05

#: How likely the named measurement is to be the blunder, given that there is one.
SINGLED_OUT = 0.95

#: A measurement with less redundancy than this is not checked by any other.
LEAST_REDUNDANCY = 1e-6

#: A standard deviation in metres that means that nothing holds a point; tapes of a site fix places to centimetres.
LOOSE_M = 1e3

_Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Tests:
    """What the tests found.

    Attributes
    ----------
    dof : int
        Measurements to spare: degrees of freedom.
    chi_square, p_value : float
        Weighted sum of squares, and the chance of a greater one; NaN where nothing is to spare.
    redundancy : array, shape (observations,)
        How much of an error in each measurement shows in its own residual, 0 to 1.
    standardised : array, shape (observations,)
        Residuals divided by their own standard deviation; NaN where nothing checks the measurement.
    critical : float
        Least absolute value of a standardised residual that is called a blunder.
    blunder : int or None
        The measurement that is singled out.
    blunder_p : float
        Chance of so great a standardised residual anywhere, were there no blunder; NaN where nothing is to spare.
    suspects : tuple of int
        Measurements one of which is wrong, the likeliest first; empty where no standardised residual is too great.
    """

    dof: int
    chi_square: float
    p_value: float
    redundancy: _Floats
    standardised: _Floats
    critical: float
    blunder: int | None
    blunder_p: float
    suspects: tuple[int, ...]


def run_tests(weighted: _Floats, residuals: _Floats) -> Tests:
    """Test an adjustment.

    Parameters
    ----------
    weighted : array, shape (observations, unknowns)
        Derivatives divided by standard deviations; of full rank.
    residuals : array, shape (observations,)
        Residuals divided by the standard deviations of the measurements.

    Examples
    --------
    >>> mean = run_tests(np.ones((5, 1)), np.array([0.2, -0.3, 8.0, -3.9, -4.0]))
    >>> mean.dof, mean.blunder, mean.redundancy.round(2).tolist()
    (4, 2, [0.8, 0.8, 0.8, 0.8, 0.8])
    >>> run_tests(np.ones((2, 1)), np.array([5.0, -5.0])).blunder is None
    True
    """
    count, unknowns = weighted.shape
    dof = count - unknowns
    q = np.linalg.qr(weighted)[0]
    redundancy = np.clip(1 - np.einsum("ij,ij->i", q, q), 0.0, 1.0)
    checked = redundancy > LEAST_REDUNDANCY
    standardised = np.full(count, np.nan)
    standardised[checked] = residuals[checked] / np.sqrt(redundancy[checked])
    chi_square = float(residuals @ residuals)
    tested = int(checked.sum())
    if dof == 0 or tested == 0:
        nan = float("nan")
        return Tests(dof, nan, nan, redundancy, standardised, nan, None, nan, ())
    p_value = chi_square_tail(chi_square, dof)
    critical = normal_quantile(ALPHA / tested)
    sizes = np.where(checked, np.abs(standardised), 0.0)
    greatest = float(sizes.max())
    blunder_p = min(1.0, tested * normal_tail(greatest))
    suspects: tuple[int, ...] = ()
    named: int | None = None
    if greatest > critical:
        suspects = likely_blunders(sizes, checked)
        named = suspects[0] if len(suspects) == 1 else None
    return Tests(dof, chi_square, p_value, redundancy, standardised, critical, named, blunder_p, suspects)


def likely_blunders(sizes: _Floats, checked: npt.NDArray[np.bool_]) -> tuple[int, ...]:
    """Return the fewest measurements that hold the one blunder with 95 %, the likeliest first.

    Without a measurement the sum of squares falls by the square of its standardised residual: the more, the likelier a blunder.

    Examples
    --------
    >>> likely_blunders(np.array([1.0, 6.0, 3.0]), np.array([True, True, True]))
    (1,)
    >>> likely_blunders(np.array([4.0, 4.0, 0.5]), np.array([True, True, True]))
    (0, 1)
    """
    weights = np.where(checked, np.exp((sizes**2 - sizes.max() ** 2) / 2), 0.0)
    shares = weights / weights.sum()
    order = np.argsort(-shares, kind="stable")
    enough = int(np.searchsorted(np.cumsum(shares[order]), SINGLED_OUT)) + 1
    return tuple(int(k) for k in order[:enough])


def weak_directions(weighted: _Floats) -> _Floats:
    """Return, for each unknown, how much of it nothing holds: 0 where all is held, up to 1.

    Examples
    --------
    >>> weak_directions(np.array([[1.0, 0.0], [2.0, 0.0]])).tolist()
    [0.0, 1.0]
    """
    unknowns = weighted.shape[1]
    if unknowns == 0:
        return np.zeros(0)
    _, sizes, turned = np.linalg.svd(weighted, full_matrices=True)
    sizes = np.concatenate([sizes, np.zeros(unknowns - len(sizes))])
    loose = np.abs(turned[sizes < 1 / LOOSE_M])
    return np.asarray(loose.max(axis=0)) if len(loose) else np.zeros(unknowns)
