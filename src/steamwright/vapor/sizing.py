"""How large a generator warms a room in the wanted time: both ends of the band, all sizes side by side in one march."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.moist_air import CP_WATER_J_KGK, ZERO_CELSIUS_K
from steamwright.physics.steam_room import BAND_K, BOIL_C, Panel, Session
from steamwright.physics.warm_up import Course, warm_up
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import HEATED_HUMIDITY, HEATED_K

Floats = NDArray[np.float64]

CELLS = 4
SIZES, STEPS = 9, 20
SMALLEST_W_M3, LARGEST_W_M3 = 150.0, 20_000.0
# Surfaces held at the set point would take so much; the film lets through a fifth of it or more. [1]
LEAST_SHARE, MOST_SHARE = 0.2, 1.1


@dataclass(frozen=True, slots=True, eq=False)
class Sizing:
    """Least power for the wanted warm-up, whether it is enough, and the course of the air on the way. [W, K]"""

    power_w: float
    reached: bool
    air_k: Floats
    humidity: Floats


def session_of(use: SteamUse, power_w: float, stirring: float = 1.0) -> Session:
    """The session as the heat balance takes it; what doors let out is reckoned beside it.

    Parameters
    ----------
    use : SteamUse
        What the job says.
    power_w : float
        Generator, for the water that it boils up first. [W]
    stirring : float
        Factor on the transfer of still air. [1]

    Returns
    -------
    session : Session
        Warm-up, session and what follows, times from switching on; people come when the room is warm.

    References
    ----------
    own derivation
    """
    warm, held = use.warm_up_min * 60.0, use.session_min * 60.0
    return Session(use.set_point_k, warm + held, use.air_changes_1_h, off_s=warm + held, after_air_changes_1_h=use.after_air_changes_1_h,
                   start_k=HEATED_K, start_humidity=HEATED_HUMIDITY, around_k=HEATED_K, around_humidity=HEATED_HUMIDITY,
                   people=use.people, people_from_s=warm, people_until_s=warm + held,
                   fill_kg=practice("generator.fill_kg_per_kw") * power_w / 1e3, feed_k=practice("generator.feed_k"), stirring=stirring)


def sizings(panels: tuple[Panel, ...], volume_m3: float, use: SteamUse, stirring: tuple[float, ...], steps: int) -> tuple[Sizing, ...]:
    """Least power that warms the room in the wanted time.

    Parameters
    ----------
    panels : tuple of Panel
        Surfaces.
    volume_m3 : float
        Air. [m3]
    use : SteamUse
        Set point and warm-up.
    stirring : tuple of float
        Factors on the transfer of still air, one for each answer. [1]
    steps : int
        Steps of the course that is wanted.

    Returns
    -------
    sizings : tuple of Sizing
        Power and the air in the middle of every step of the warm-up.

    References
    ----------
    own derivation
    """
    want, low, high = use.warm_up_min * 60.0, SMALLEST_W_M3 * volume_m3, LARGEST_W_M3 * volume_m3
    # What is boiled up first grows with the power, so that the delay is the same for all.
    boil_s = practice("generator.fill_kg_per_kw") * 1e-3 * CP_WATER_J_KGK * (BOIL_C + ZERO_CELSIUS_K - practice("generator.feed_k"))
    if want - boil_s < 10.0:
        idle = np.full(steps, HEATED_K)
        return tuple(Sizing(high, False, idle, np.full(steps, HEATED_HUMIDITY)) for _ in stirring)
    most = _held_w(panels, want - boil_s, use.set_point_k - HEATED_K)
    ranges = [(min(max(LEAST_SHARE * most, low), 0.2 * high), min(max(MOST_SHARE * most, 5.0 * low), high))] * len(stirring)
    found: dict[int, Sizing] = {}
    target, at = use.set_point_k - BAND_K, (np.arange(steps) + 0.5) / steps * want - boil_s
    while len(found) < len(stirring):
        open_ = [k for k in range(len(stirring)) if k not in found]
        sizes = [np.geomspace(*ranges[k], SIZES) for k in open_]
        course = warm_up(panels, volume_m3, np.concatenate(sizes), np.repeat([stirring[k] for k in open_], SIZES),
                         replace(session_of(use, 0.0), people=0), np.full(STEPS, (want - boil_s) / STEPS), CELLS)
        for i, k in enumerate(open_):
            mine = slice(i * SIZES, (i + 1) * SIZES)
            end = course.air_k[-1, mine]
            if end[-1] < target and ranges[k][1] < high:
                ranges[k] = (float(sizes[i][-2]), min(float(sizes[i][-1]) * 5.0, high))
            elif end[0] > target and ranges[k][0] > low:
                ranges[k] = (max(float(sizes[i][0]) / 5.0, low), float(sizes[i][1]))
            else:
                found[k] = _read(course, mine, sizes[i], target, at)
    return tuple(found[k] for k in range(len(stirring)))


def _held_w(panels: tuple[Panel, ...], time_s: float, rise_k: float) -> float:
    """Mean heat into all panels if their surfaces were at the set point from the start, as deep as the warmth has come. [W]"""
    total = 0.0
    for p in panels:
        left = 2.0 * (time_s / np.pi) ** 0.5
        for d, k, c in zip(p.thickness_m, p.conductivity_w_mk, p.heat_j_m3k, strict=True):
            slow = d * (c / k) ** 0.5
            total += p.area_m2 * d * c * min(left / slow, 1.0)
            left = max(left - slow, 0.0)
    return total * rise_k / time_s


def _read(course: Course, mine: slice, sizes: Floats, target: float, at: Floats) -> Sizing:
    """Power at which the room is just warm at the end, by a cubic through the four sizes round it; its course of the air likewise."""
    air, wet, end = course.air_k[:, mine], course.humidity[:, mine], course.air_k[-1, mine]
    over = np.flatnonzero(end >= target)
    if not len(over) or over[0] == 0:
        k = 0 if len(over) else SIZES - 1
        weights, nodes, power = np.ones(1), np.array([k]), float(sizes[k])
    else:
        first = min(max(int(over[0]) - 2, 0), SIZES - 4)
        nodes, logs = np.arange(first, first + 4), np.log(sizes)
        power = float(np.exp(_lagrange(end[nodes], target) @ logs[nodes]))
        power = min(max(power, float(sizes[over[0] - 1])), float(sizes[over[0]]))
        weights = _lagrange(logs[nodes], float(np.log(power)))
    times = np.concatenate(([-1e9], course.time_s))

    def read(rows: Floats) -> Floats:
        mixed = rows[:, nodes] @ weights
        return np.asarray(np.interp(at, times, np.append(mixed[0], mixed)))

    return Sizing(power, bool(len(over)), read(air), np.clip(read(wet), 0.0, 1.0))


def _lagrange(nodes: Floats, at: float) -> Floats:
    """Weights of values at nodes in the polynomial through them."""
    return np.array([np.prod((at - np.delete(nodes, j)) / (nodes[j] - np.delete(nodes, j))) for j in range(len(nodes))])
