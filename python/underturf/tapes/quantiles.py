"""Tails of the distributions that tests of tapes need, exactly, without a library of statistics."""

from __future__ import annotations

import math
from statistics import NormalDist

__all__ = ["chi_square_tail", "normal_quantile", "normal_tail"]


def chi_square_tail(value: float, dof: int) -> float:
    """Return the chance that a chi-square variable is above a value.

    With a whole number of degrees of freedom the incomplete gamma function is a finite sum (Abramowitz and Stegun, 26.4.4 and
    26.4.5, from memory; tested against another library).

    Examples
    --------
    >>> round(chi_square_tail(3.841459, 1), 6), round(chi_square_tail(9.487729, 4), 6), chi_square_tail(0.0, 3)
    (0.05, 0.05, 1.0)
    """
    half = value / 2
    if half <= 0:
        return 1.0
    odd = dof % 2
    first = 0.5 if odd else 0.0
    terms = [math.exp(k * math.log(half) - half - math.lgamma(k + 1)) for k in (first + j for j in range(dof // 2))]
    return min(1.0, (math.erfc(math.sqrt(half)) if odd else 0.0) + math.fsum(terms))


def normal_tail(value: float) -> float:
    """Return the chance that a standard normal variable lies further from zero than a value.

    Examples
    --------
    >>> round(normal_tail(-1.959964), 6)
    0.05
    """
    return math.erfc(abs(value) / math.sqrt(2))


def normal_quantile(tail: float) -> float:
    """Return the value further from zero than which a standard normal variable lies with that chance.

    Examples
    --------
    >>> round(normal_quantile(0.05), 6), round(normal_quantile(0.05 / 10), 4)
    (1.959964, 2.807)
    """
    return NormalDist().inv_cdf(1 - tail / 2)
