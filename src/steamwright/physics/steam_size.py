"""How large a generator, how it compares with the trade's rule, and what the steam does to the next room."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InfeasibleError, InputError
from steamwright.physics.moist_air import GAS_CONSTANT_VAPOR_J_KGK, saturation_pressure_pa
from steamwright.physics.steam_room import Panel, Session, steam

Floats = NDArray[np.float64]

RULE_W_M3 = 1000.0
STIRRING_BAND = (1.0, 2.0)


@dataclass(frozen=True, slots=True)
class Size:
    """Power that reaches the set point in the wanted time: in still air, and stirred by the jet."""

    still_w: float
    stirred_w: float


def power_for_w(panels: tuple[Panel, ...], volume_m3: float, session: Session, warm_up_s: float) -> float:
    """Least power that brings the air to the set point in a time.

    Parameters
    ----------
    panels : tuple of Panel
        All surfaces that feel the steam.
    volume_m3 : float
        Air. [m3]
    session : Session
        Set point, ventilation, start; its length does not matter.
    warm_up_s : float
        Wanted time from switching on, the boiling-up included. [s]

    Returns
    -------
    power_w : float
        Electrical power. [W]

    Raises
    ------
    InputError
        If the time is not above zero.
    InfeasibleError
        If even 40 kW per cubic metre does not do it.

    References
    ----------
    own derivation
    """
    if not warm_up_s > 0.0:
        raise InputError("a warm-up takes some time", path="warm_up_s")
    short = replace(session, length_s=1.25 * warm_up_s + 60.0, people=0, doors_s=())
    low, high = 200.0 * volume_m3, 40_000.0 * volume_m3
    for _ in range(3):
        power = np.geomspace(low, high, 10)
        hit = steam(panels, volume_m3, power, short).hit_s
        fast = np.flatnonzero(hit <= warm_up_s)
        if not len(fast):
            raise InfeasibleError("no generator of a sensible size warms this room in that time", path="warm_up_s", hint="allow more time")
        i = int(fast[0])
        if i == 0:
            return float(power[0])
        low, high = float(power[i - 1]), float(power[i])
    a, b = hit[i - 1], hit[i]
    share = (warm_up_s - a) / (b - a) if np.isfinite(a) else 1.0
    return float(power[i - 1] + share * (power[i] - power[i - 1]))


def size(panels: tuple[Panel, ...], volume_m3: float, session: Session, warm_up_s: float) -> Size:
    """Power for a warm-up time as a band: published data on condensing reach from the still analogy to twice it.

    Parameters
    ----------
    panels : tuple of Panel
        All surfaces that feel the steam.
    volume_m3 : float
        Air. [m3]
    session : Session
        Set point, ventilation, start.
    warm_up_s : float
        Wanted time. [s]

    Returns
    -------
    size : Size
        Both ends of the band.

    Raises
    ------
    InputError
        If the time is not above zero.
    InfeasibleError
        If no sensible power does it.

    References
    ----------
    own derivation
    """
    ends = [power_for_w(panels, volume_m3, replace(session, stirring=k), warm_up_s) for k in STIRRING_BAND]
    return Size(ends[0], ends[1])


def rule_of_thumb_w(volume_m3: float, additions: tuple[float, ...] = ()) -> float:
    """The trade's rule: a kilowatt a cubic metre, with additions for heavy walls, glass, outside walls and height.

    Parameters
    ----------
    volume_m3 : float
        Air. [m3]
    additions : tuple of float
        Shares to add, such as 0.1 for an outside wall. [1]

    Returns
    -------
    power_w : float
        To stand beside the computed size, not to replace it: area, not volume, drives the heat. [W]

    References
    ----------
    common practice, no source
    """
    return volume_m3 * RULE_W_M3 * (1.0 + sum(additions))


def next_room_hours(
    vapor_kg: float, volume_m3: float, exhaust_m3_h: float, room_k: float = 293.15, before: float = 0.5, supply: float = 0.5,
    limit: float = 0.6,
) -> float:  # fmt: skip
    """Hours until the room outside the steam room is back under a humidity.

    Parameters
    ----------
    vapor_kg : float
        Vapor thrown into it. [kg]
    volume_m3 : float
        Its air, well mixed. [m3]
    exhaust_m3_h : float
        Its exhaust. [m3/h]
    room_k : float
        Its temperature. [K]
    before : float
        Relative humidity before. [1]
    supply : float
        Relative humidity, at room temperature, of the air that replaces what is exhausted. [1]
    limit : float
        Humidity to come back under. [1]

    Returns
    -------
    hours : float
        Without what walls and towels take up and give back; infinite if the supply is too humid. [h]

    Raises
    ------
    InputError
        If the volume or the exhaust is not above zero.

    References
    ----------
    own derivation
    """
    if not volume_m3 > 0.0 or not exhaust_m3_h > 0.0:
        raise InputError("the next room needs air and exhaust", path="exhaust_m3_h")
    full = float(saturation_pressure_pa(room_k)) / (GAS_CONSTANT_VAPOR_J_KGK * room_k)
    peak = before * full + vapor_kg / volume_m3
    if peak <= limit * full:
        return 0.0
    if supply >= limit:
        return float("inf")
    return float(volume_m3 / exhaust_m3_h * np.log((min(peak, 5.0 * full) - supply * full) / ((limit - supply) * full)))
