"""Named predicates that rules may ask; each takes fact values and answers yes, no, or unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from steamwright.rules.rule import Value

Predicate = Callable[..., bool | None]


def falls_clear(ends_over: Value) -> bool | None:
    """A ceiling's water leaves it over nothing that people use.

    Parameters
    ----------
    ends_over : tuple of str or None
        What lies under the edges from which it drips.

    Returns
    -------
    clear : bool or None
        ``None`` where it is unknown.

    References
    ----------
    own derivation
    """
    return None if ends_over is None else ends_over == ()


def receptor_fits(area_m2: Value, narrow_m: Value) -> bool | None:
    """A receptor is 900 in² and 30 in both ways, or 1300 in² and 25 in one way.

    Parameters
    ----------
    area_m2 : float or None
        Finished area of the receptor. [m2]
    narrow_m : float or None
        Its least clear dimension. [m]

    Returns
    -------
    fits : bool or None
        ``None`` where a value is unknown.

    References
    ----------
    IRC-P2708 P2708.1
    """
    if not isinstance(area_m2, float) or not isinstance(narrow_m, float):
        return None
    inch, slack = 0.0254, 1e-6
    area, narrow = area_m2 / inch**2 * (1 + slack), narrow_m / inch * (1 + slack)
    return (area >= 900.0 and narrow >= 30.0) or (area >= 1300.0 and narrow >= 25.0)


def receptor_fits_circle(area_m2: Value, circle_m: Value, narrow_m: Value, long_m: Value) -> bool | None:
    """A receptor is 1024 in² and takes a 30 in circle, or is 30 by 60 in.

    Parameters
    ----------
    area_m2 : float or None
        Finished area of the receptor. [m2]
    circle_m : float or None
        Diameter of the largest circle on its floor. [m]
    narrow_m : float or None
        Its least clear dimension. [m]
    long_m : float or None
        Its clear dimension across that. [m]

    Returns
    -------
    fits : bool or None
        ``None`` where a value is unknown.

    References
    ----------
    UPC-408 408.7
    """
    values = (area_m2, circle_m, narrow_m, long_m)
    if not all(isinstance(v, float) for v in values):
        return None
    inch, slack = 0.0254, 1e-6
    area, circle, narrow, long = (float(v) * (1 + slack) for v in values)  # type: ignore[arg-type]
    return (area >= 1024.0 * inch**2 and circle >= 30.0 * inch) or (narrow >= 30.0 * inch and long >= 60.0 * inch)


PREDICATES: Mapping[str, Predicate] = MappingProxyType(
    {f.__name__: f for f in (falls_clear, receptor_fits, receptor_fits_circle)})
