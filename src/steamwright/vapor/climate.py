"""Outside air: twelve monthly means, and hours made of them by the published mean day."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import DataError, InputError
from steamwright.physics.moist_air import ZERO_CELSIUS_K, saturation_pressure_pa
from steamwright.physics.vapor_monthly import MONTH_DAYS
from steamwright.vapor.sun_rain import Sky

Floats = NDArray[np.float64]

HOURS = 8760
# Erbs, Klein and Beckman: the mean day about its mean, as cosines of 1 to 4 times the hour angle.
_ERBS = ((1.0, 0.4632, 3.805), (2.0, 0.0984, 0.360), (3.0, 0.0168, 0.822), (4.0, 0.0138, 3.513))


@dataclass(frozen=True, slots=True)
class Climate:
    """Monthly means of the outside air from January, with what they rest on."""

    name: str
    mean_k: tuple[float, ...]
    vapor_pa: tuple[float, ...]
    daily_range_k: tuple[float, ...]
    source: str
    how_known: str

    def __post_init__(self) -> None:
        for what, values in (("mean_k", self.mean_k), ("vapor_pa", self.vapor_pa), ("daily_range_k", self.daily_range_k)):
            if len(values) != 12 or not np.isfinite(values).all():
                raise InputError(f"twelve monthly values are needed, none missing; {len(values)} are given", path=f"climate.{what}")


@dataclass(frozen=True, slots=True, eq=False)
class Hours:
    """A year of outside air hour by hour: 8760 temperatures and vapor pressures, from the first hour of January.

    ``sky`` is sun, wind and rain where they are measured; monthly means have none.
    """

    name: str
    temperature_k: Floats
    vapor_pa: Floats
    source: str
    how_known: str
    sky: Sky | None = None


@cache
def climates() -> dict[str, Climate]:
    """The monthly means that ship with the program, by name.

    Returns
    -------
    climates : dict
        Generic names; every one rests on a typical year of one station.

    Raises
    ------
    DataError
        If a climate has not twelve months in order.

    References
    ----------
    TMY3
    """
    rows: dict[str, list[dict[str, str]]] = {}
    text = files(__package__).joinpath("data/climates.csv").read_text("utf-8")
    for row in csv.DictReader(text.splitlines()):
        rows.setdefault(row["climate"], []).append(row)
    found = {}
    for name, months in rows.items():
        if [r["month"] for r in months] != [str(m) for m in range(1, 13)]:
            raise DataError("has not twelve months in order", path=f"climates.csv: {name}")
        found[name] = Climate(name, tuple(float(r["mean_c"]) + ZERO_CELSIUS_K for r in months), tuple(float(r["vapor_pa"]) for r in months),
                              tuple(float(r["daily_range_k"]) for r in months), months[0]["source"], months[0]["how_known"])
    return found


def climate_named(name: str) -> Climate:
    """Find a shipped climate.

    Parameters
    ----------
    name : str
        Its name, such as ``cold humid``.

    Returns
    -------
    climate : Climate
        Monthly means.

    Raises
    ------
    InputError
        If there is none of that name.

    References
    ----------
    own derivation
    """
    known = climates()
    if name not in known:
        raise InputError(f"no climate is named {name!r}", path="use.climate", hint=f"one of: {', '.join(known)}")
    return known[name]


def mean_day(range_k: float) -> Floats:
    """Deviation of the 24 hours of a mean day from their mean.

    Parameters
    ----------
    range_k : float
        Mean daily range. [K]

    Returns
    -------
    deviation : ndarray, shape (24,)
        In kelvin, for the hours that end at 1 to 24 o'clock; sums to zero, highest at 15 o'clock.

    References
    ----------
    Erbs-1983

    Examples
    --------
    >>> [round(float(v), 3) for v in mean_day(10.0)[[0, 14]]]
    [-2.743, 5.245]
    """
    angle = 2.0 * np.pi * np.arange(24) / 24.0
    return np.asarray(range_k * sum(a * np.cos(n * angle - p) for n, a, p in _ERBS))


def hours_of(climate: Climate) -> Hours:
    """Turn monthly means into the hours of a year.

    Monthly means are joined without jumps from mid-month to mid-month and shifted so that each month keeps its mean; the
    mean day of the month lies on top. Vapor pressure keeps its monthly mean through the day and is held at saturation.

    Parameters
    ----------
    climate : Climate
        Monthly means and daily ranges.

    Returns
    -------
    hours : Hours
        A year without weather fronts: extremes are milder than in a measured year.

    References
    ----------
    Erbs-1983 for the mean day; common practice, no source for joining the months and for constant vapor pressure
    """
    month = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
    day = np.concatenate([np.tile(mean_day(climate.daily_range_k[m]), MONTH_DAYS[m]) for m in range(12)])
    kelvin = _smooth(np.array(climate.mean_k), month) + day
    vapor = _smooth(np.array(climate.vapor_pa), month)
    return Hours(climate.name, kelvin, np.minimum(vapor, saturation_pressure_pa(kelvin)), climate.source, climate.how_known)


def _smooth(means: Floats, month: NDArray[np.int64]) -> Floats:
    """Straight lines between mid-months whose monthly means are those given."""
    starts = np.concatenate(([0.0], np.cumsum(np.array(MONTH_DAYS) * 24.0)))
    middle = 0.5 * (starts[1:] + starts[:-1])
    at = np.concatenate((middle[-1:] - HOURS, middle, middle[:1] + HOURS))
    knots, hour = means.copy(), np.arange(HOURS) + 0.5
    line = means
    for _ in range(30):  # lift each knot by what its month lacks
        line = np.interp(hour, at, np.concatenate((knots[-1:], knots, knots[:1])))
        knots += means - np.bincount(month, line, 12) / np.bincount(month, minlength=12)
    return np.asarray(line)
