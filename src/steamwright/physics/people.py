"""People in steam: how warm the core gets, and how long hot surfaces may be touched. Cautions, not medical advice.

No heat-stress standard reaches saturated air above 31 C, so a balance of core and skin with steam condensing on the
skin stands in for them. Against the one measurement that could be read it is good to about half a degree.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import OutOfRangeError
from steamwright.physics.moist_air import ZERO_CELSIUS_K
from steamwright.physics.wet_surface import condensation

Floats = NDArray[np.float64]

NOTICE_CORE_K = 311.15
MOST_MINUTES = 15.0
NOTICE_MINUTES = 10.0
_HEAT_J_KGK = 3490.0


@dataclass(frozen=True, slots=True, eq=False)
class Exposure:
    """Core and skin minute by minute, and minutes until the core reaches the notice value (infinite if it does not)."""

    minute: Floats
    core_k: Floats
    skin_k: Floats
    minutes_to_notice: float


def steam_exposure(
    air_k: float, humidity: float = 1.0, minutes: float = 45.0, stirring: float = 1.0, mass_kg: float = 75.0, skin_m2: float = 1.8,
    metabolism_w: float = 105.0, start_core_k: float = 310.15, start_skin_k: float = 308.15, step_s: float = 5.0,
) -> Exposure:  # fmt: skip
    """Warming of a resting adult in steam.

    Parameters
    ----------
    air_k : float
        Air, 35 to 55 C. [K]
    humidity : float
        Relative humidity of the air, 0.5 to 1. [1]
    minutes : float
        How long.
    stirring : float
        Factor on the still-air transfer to the skin; 1 still, 2 stirred by the jet. [1]
    mass_kg : float
        Body. [kg]
    skin_m2 : float
        Skin. [m2]
    metabolism_w : float
        Heat made at rest. [W]
    start_core_k : float
        Core at the start. [K]
    start_skin_k : float
        Skin at the start. [K]
    step_s : float
        Step of time. [s]

    Returns
    -------
    exposure : Exposure
        Temperatures and the time to 38.0 C in the core.

    Raises
    ------
    OutOfRangeError
        If the air is outside the range.

    References
    ----------
    Gagge-1986; own derivation for condensing skin; compared with steam-sauna-1976
    """
    if not 308.15 <= air_k <= 328.15 or not 0.5 <= humidity <= 1.0:
        raise OutOfRangeError("the balance holds for 35 to 55 C and 50 to 100 % humidity", path="air_k")
    core, skin, skin_share = start_core_k, start_skin_k, 0.15
    flow_w_k = (5.28 + 1.163 * 90.0) * skin_m2  # skin blood flow wide open
    n = round(minutes * 60.0 / step_s)
    cores, skins = np.empty(n + 1), np.empty(n + 1)
    cores[0], skins[0] = core, skin
    for k in range(n):
        got = condensation(air_k, humidity, skin, 1.5, "wall", stirring)
        inward = flow_w_k * (core - skin)
        core += step_s * (metabolism_w - inward) / ((1.0 - skin_share) * mass_kg * _HEAT_J_KGK)
        skin += step_s * (float(got.heat_w_m2) * skin_m2 + inward) / (skin_share * mass_kg * _HEAT_J_KGK)
        cores[k + 1], skins[k + 1] = core, skin
    over = np.flatnonzero(cores >= NOTICE_CORE_K)
    when = float("inf")
    if len(over) and over[0] > 0:
        i = over[0]
        when = (i - (cores[i] - NOTICE_CORE_K) / (cores[i] - cores[i - 1])) * step_s / 60.0
    return Exposure(np.linspace(0.0, n * step_s / 60.0, n + 1), cores, skins, when)


def session_limit_minutes(exposure: Exposure) -> float:
    """Longest session to recommend: to 38.0 C in the core, and never over a quarter of an hour.

    Parameters
    ----------
    exposure : Exposure
        From `steam_exposure`.

    Returns
    -------
    minutes : float
        Limit.

    References
    ----------
    steam-sauna-1976; common practice, no source for the quarter of an hour
    """
    return min(MOST_MINUTES, exposure.minutes_to_notice)


def burn_seconds(surface_k: ArrayLike, safe: bool = True) -> Floats:
    """Seconds of contact until skin burns, for surfaces that give heat as freely as water.

    Parameters
    ----------
    surface_k : array_like
        Skin contact temperature, 43 to 70 C. [K]
    safe : bool
        The line under which no burn was seen, rather than the middle of the data.

    Returns
    -------
    seconds : ndarray
        Time of contact.

    Raises
    ------
    OutOfRangeError
        If a temperature is outside the data.

    References
    ----------
    Moritz-1947

    Examples
    --------
    >>> round(float(burn_seconds(333.15, safe=False)), 2)
    1.7
    """
    t = np.asarray(surface_k, float) - ZERO_CELSIUS_K
    if not ((t >= 43.0) & (t <= 70.0)).all():
        raise OutOfRangeError("the data reach from 43 to 70 C", path="surface_k")
    return np.exp((113.4 if safe else 116.4) - 28.3 * np.log(t))


# Hot water on skin: temperature [F] and the time printed to a serious burn [s], "over" in the first row, "under" at 140 F.
SCALD_F: tuple[tuple[float, float], ...] = ((120.0, 300.0), (125.0, 90.0), (130.0, 30.0), (135.0, 10.0), (140.0, 5.0), (150.0, 1.5))
_LONG_CONTACT_K = 316.15


def scald_seconds(water_k: float) -> float:
    """Time to a serious burn from hot water, by the printed row at or next above its temperature.

    Parameters
    ----------
    water_k : float
        Water, up to 150 F, 338.7 K. [K]

    Returns
    -------
    seconds : float
        The shorter end where a range is printed; infinite under 43 C, the limit for hours of contact.

    Raises
    ------
    OutOfRangeError
        If the water is hotter than the last row.

    References
    ----------
    hospital-scald; ISO-13732-1 for the lower end

    Examples
    --------
    >>> scald_seconds(333.15)
    5.0
    """
    if water_k < _LONG_CONTACT_K:
        return float("inf")
    for row_f, seconds in SCALD_F:
        if water_k <= (row_f - 32.0) / 1.8 + ZERO_CELSIUS_K + 1e-6:
            return seconds
    raise OutOfRangeError("the printed times end at 150 F", path="water_k", hint="over it skin burns in about a second")


@dataclass(frozen=True, slots=True)
class HeatIndex:
    """A standard index of heat stress: air and vapor pressure that it was made for, and least air speed."""

    name: str
    coldest_k: float
    hottest_k: float
    most_vapor_pa: float
    least_speed_m_s: float


HEAT_INDICES = (
    HeatIndex("predicted heat strain", 288.15, 323.15, 4500.0, 0.0),
    HeatIndex("universal thermal climate index", 223.15, 323.15, 5000.0, 0.5),
)


def indices_that_reach(air_k: float, vapor_pa: float, speed_m_s: float = 0.1) -> tuple[str, ...]:
    """Standard indices of heat stress whose range holds an air; in steam none does.

    Parameters
    ----------
    air_k : float
        Air. [K]
    vapor_pa : float
        Vapor pressure. [Pa]
    speed_m_s : float
        Air speed. [m/s]

    Returns
    -------
    names : tuple of str
        Those that may be used; the others give numbers without meaning.

    References
    ----------
    ISO-7933 annex A; UTCI-2012
    """
    return tuple(
        i.name for i in HEAT_INDICES
        if i.coldest_k <= air_k <= i.hottest_k and vapor_pa <= i.most_vapor_pa and speed_m_s >= i.least_speed_m_s
    )  # fmt: skip


# Touch limits of surfaces by length of contact, as adopted from the burn thresholds of ISO 13732-1: metal, plastic. [C]
TOUCH_LIMIT_C: tuple[tuple[float, float, float], ...] = ((1.0, 70.0, 94.0), (10.0, 60.0, 77.0), (60.0, 51.0, 60.0), (600.0, 48.0, 48.0))


def touch_limit_k(contact_s: float, metal: bool) -> float:
    """Highest temperature of a surface that may be touched for a time.

    Parameters
    ----------
    contact_s : float
        Length of contact, up to 10 minutes. [s]
    metal : bool
        Bare metal rather than plastic.

    Returns
    -------
    temperature_k : float
        Limit; not for contact of a tenth of the skin or of the head, as on a bench. [K]

    Raises
    ------
    OutOfRangeError
        If the contact is longer than 10 minutes.

    References
    ----------
    IEC-62368-1; ISO-13732-1
    """
    for longest, bare, plastic in TOUCH_LIMIT_C:
        if contact_s <= longest:
            return (bare if metal else plastic) + ZERO_CELSIUS_K
    raise OutOfRangeError("no limit is given for contact over 10 minutes; 43 C is the one for hours", path="contact_s")
