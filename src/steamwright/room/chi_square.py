"""The chi-square distribution, as far as the global test of an adjustment needs it."""

from __future__ import annotations

import math
from functools import cache

_TERMS = 500
_TINY = 1e-300


def chi_square_cdf(chi2: float, dof: int) -> float:
    """Probability that a chi-square variable stays below a value.

    Parameters
    ----------
    chi2 : float
        Value, at least 0. [1]
    dof : int
        Degrees of freedom, at least 1. [count]

    Returns
    -------
    probability : float
        Between 0 and 1. [1]

    References
    ----------
    own derivation: the regularized lower incomplete gamma function P(dof/2, chi2/2), by its power series below
    a + 1 and by its continued fraction (modified Lentz) above.
    """
    a, x = dof / 2.0, chi2 / 2.0
    if x <= 0.0:
        return 0.0
    front = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x < a + 1.0:
        term = total = 1.0 / a
        for k in range(1, _TERMS):
            term *= x / (a + k)
            total += term
            if term < total * 1e-16:
                break
        return front * total
    b = x + 1.0 - a
    c, d = 1.0 / _TINY, 1.0 / b
    h = d
    for k in range(1, _TERMS):
        step = -k * (k - a)
        b += 2.0
        d = 1.0 / (step * d + b or _TINY)
        c = b + step / c or _TINY
        h *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return 1.0 - front * h


@cache  # every plan asks for the same few
def chi_square_quantile(probability: float, dof: int) -> float:
    """Value below which a chi-square variable stays with a given probability.

    Parameters
    ----------
    probability : float
        Between 0 and 1, both excluded. [1]
    dof : int
        Degrees of freedom, at least 1. [count]

    Returns
    -------
    chi2 : float
        The quantile. [1]

    Raises
    ------
    ValueError
        If the probability or the degrees of freedom are out of range.

    References
    ----------
    own derivation: bisection of ``chi_square_cdf``, whose bracket halves down to machine precision.

    Examples
    --------
    >>> round(chi_square_quantile(0.975, 1), 3)
    5.024
    """
    if not 0.0 < probability < 1.0 or dof < 1:
        raise ValueError("a quantile needs a probability between 0 and 1 and at least one degree of freedom")
    low, high = 0.0, float(dof)
    while chi_square_cdf(high, dof) < probability:
        high *= 2.0
    while high - low > 1e-13 * high:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if chi_square_cdf(middle, dof) < probability else (low, middle)
    return 0.5 * (low + high)
