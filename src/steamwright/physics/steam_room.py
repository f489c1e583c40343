"""Warm-up, hold and cool-down of a steam room: layered walls, well mixed air, a generator with its control.

Air is one volume at constant pressure; steam above saturation turns to fog; surfaces condense by `wet_surface`.
Several generators run through the same room at a time, because sizing needs them all. Not included: stratification,
radiation of fog, evaporation of what has condensed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError
from steamwright.physics.moist_air import (
    CP_AIR_J_KGK,
    CP_VAPOR_J_KGK,
    CP_WATER_J_KGK,
    GAS_CONSTANT_AIR_J_KGK,
    GAS_CONSTANT_VAPOR_J_KGK,
    LATENT_HEAT_0C_J_KG,
    STANDARD_PRESSURE_PA,
    ZERO_CELSIUS_K,
    density_kg_m3,
)
from steamwright.physics.wet_surface import condensation, tabled_saturation_pa

Floats = NDArray[np.float64]

BOIL_C = 100.0
BAND_K = 0.25
DOOR_DISCHARGE = 0.6
GRAVITY_M_S2 = 9.80665
SKIN_M2, SKIN_K, SKIN_HEIGHT_M = 1.8, 311.15, 1.5


@dataclass(frozen=True, slots=True)
class Panel:
    """A surface of the room with the layers behind it, room side first; no film at the back lets no heat out there."""

    area_m2: float
    lie: str
    length_m: float
    thickness_m: tuple[float, ...]
    conductivity_w_mk: tuple[float, ...]
    heat_j_m3k: tuple[float, ...]
    back_k: float
    back_w_m2k: float


@dataclass(frozen=True, slots=True)
class Session:
    """One use of the room. Times in seconds from switching on; a door opening is (start, length)."""

    set_point_k: float
    length_s: float
    air_changes_1_h: float
    off_s: float = float("inf")
    after_air_changes_1_h: float = 0.0
    start_k: float = 293.15
    start_humidity: float = 0.5
    around_k: float = 293.15
    around_humidity: float = 0.5
    people: int = 0
    people_from_s: float = 0.0
    people_until_s: float = float("inf")
    door_width_m: float = 0.7
    door_height_m: float = 2.0
    doors_s: tuple[tuple[float, float], ...] = ()
    fill_kg: float = 3.0
    feed_k: float = 288.15
    stirring: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Steaming:
    """What happened, for g generators, p panels, at t times.

    Arrays: ``time_s`` (t,), ``air_k`` and ``humidity`` (t, g), ``surface_k`` and ``condensing_kg_m2_s`` (t, g, p);
    sums at the end: per generator (g,), per panel (g, p). ``hit_s`` is infinite where the set point was not reached.
    """

    power_w: Floats
    time_s: Floats
    air_k: Floats
    humidity: Floats
    surface_k: Floats
    condensing_kg_m2_s: Floats
    hit_s: Floats
    steam_kg: Floats
    electricity_j: Floats
    panel_j: Floats
    through_j: Floats
    ventilated_j: Floats
    air_store_j: Floats
    people_j: Floats
    condensate_kg: Floats
    fog_kg: Floats
    hold_w: Floats
    residual: Floats


@lru_cache(maxsize=512)
def _body(thickness_m: tuple[float, ...], conductivity_w_mk: tuple[float, ...], heat_j_m3k: tuple[float, ...], back_w_m2k: float,
          per_layer: int, step_s: float) -> tuple[Floats, Floats, float, float]:
    """One panel in cells: its inverted step, what its cells store, half of its first cell, the way out at its back.

    Remembered: rooms of one job differ in their areas, while their build-ups stay.
    """
    d = np.repeat(np.array(thickness_m) / per_layer, per_layer)
    k, c = np.repeat(conductivity_w_mk, per_layer), np.repeat(heat_j_m3k, per_layer)
    r = 0.5 * d / k
    g = 1.0 / (r[:-1] + r[1:])
    back_g = 1.0 / (float(r[-1]) + 1.0 / back_w_m2k) if back_w_m2k > 0.0 else 0.0
    a = np.diag(c * d / step_s) + np.diag(np.append(g, back_g)) - np.diag(g, 1) - np.diag(g, -1)
    a[1:, 1:] += np.diag(g)
    inverse = np.asarray(np.linalg.inv(a), np.float64)
    return inverse, c * d, float(r[0]), back_g


class _Panels:
    """Panels cut into cells and their implicit step inverted once."""

    def __init__(self, panels: tuple[Panel, ...], per_layer: int, step_s: float) -> None:
        most = per_layer * max(len(p.thickness_m) for p in panels)
        count = len(panels)
        self.inverse, self.store, self.back = np.zeros((count, most, most)), np.zeros((count, most)), np.zeros((count, most))
        self.half = np.zeros(count)
        self.back_g, self.last = np.zeros(count), np.zeros(count, np.int64)
        for i, p in enumerate(panels):
            inverse, store, half, back_g = _body(p.thickness_m, p.conductivity_w_mk, p.heat_j_m3k, p.back_w_m2k, per_layer, step_s)
            n = len(store)
            self.inverse[i, :n, :n], self.store[i, :n] = inverse, store
            self.back_g[i], self.back[i, n - 1], self.half[i], self.last[i] = back_g, back_g * p.back_k, half, n - 1
        self.step_s = step_s
        self.lift = self.inverse[:, 0, 0] + self.half  # surface warming for a flux


def _checked(panels: tuple[Panel, ...], volume_m3: float, power_w: ArrayLike) -> Floats:
    if not volume_m3 > 0.0 or not panels:
        raise InputError("needs a volume of air and at least one panel", path="room")
    for i, p in enumerate(panels):
        if not p.area_m2 > 0.0 or not p.thickness_m or min(*p.thickness_m, *p.conductivity_w_mk, *p.heat_j_m3k) <= 0.0:
            raise InputError("an area, thickness, conductivity or heat capacity is not positive", path=f"panels[{i}]")
        if not len(p.thickness_m) == len(p.conductivity_w_mk) == len(p.heat_j_m3k):
            raise InputError("layers need one value each", path=f"panels[{i}]")
    power = np.atleast_1d(np.asarray(power_w, float))
    if not (power > 0.0).all():
        raise InputError("a generator needs power", path="power_w")
    return power


def door_flow_m3_s(width_m: float, height_m: float, inside_kg_m3: ArrayLike, outside_kg_m3: ArrayLike) -> Floats:
    """Air that changes places through an open door, driven by the difference of densities.

    Parameters
    ----------
    width_m : float
        Width. [m]
    height_m : float
        Height. [m]
    inside_kg_m3 : array_like
        Density inside. [kg/m3]
    outside_kg_m3 : array_like
        Density outside. [kg/m3]

    Returns
    -------
    flow : ndarray
        Volume a second each way, in cubic metres.

    References
    ----------
    Brown-1962
    """
    a, b = np.asarray(inside_kg_m3, float), np.asarray(outside_kg_m3, float)
    return np.asarray(DOOR_DISCHARGE / 3.0 * width_m * height_m**1.5 * np.sqrt(GRAVITY_M_S2 * np.abs(a - b) / (0.5 * (a + b))))


class _Air:
    """Air of the room for every generator: dry air [kg], vapor [kg], temperature [C]."""

    def __init__(self, volume_m3: float, count: int, s: Session) -> None:
        self.volume = volume_m3
        self.c = np.full(count, s.start_k - ZERO_CELSIUS_K)
        p_v = s.start_humidity * float(tabled_saturation_pa(s.start_k))
        self.dry = np.full(count, (STANDARD_PRESSURE_PA - p_v) * volume_m3 / (GAS_CONSTANT_AIR_J_KGK * s.start_k))
        self.vapor = np.full(count, p_v * volume_m3 / (GAS_CONSTANT_VAPOR_J_KGK * s.start_k))
        around = s.around_humidity * float(tabled_saturation_pa(s.around_k))
        self.fresh = np.array([(STANDARD_PRESSURE_PA - around) / (GAS_CONSTANT_AIR_J_KGK * s.around_k),
                               around / (GAS_CONSTANT_VAPOR_J_KGK * s.around_k)])  # fmt: skip
        c = s.around_k - ZERO_CELSIUS_K
        self.fresh_j_m3 = self.fresh[0] * CP_AIR_J_KGK * c + self.fresh[1] * (LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * c)
        self.fresh_kg_m3 = float(self.fresh.sum())

    def heat(self) -> Floats:
        """Enthalpy [J]."""
        return np.asarray(self.dry * CP_AIR_J_KGK * self.c + self.vapor * (LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * self.c))

    def pressure(self) -> Floats:
        """Vapor pressure [Pa]."""
        return np.asarray(self.vapor * GAS_CONSTANT_VAPOR_J_KGK * (self.c + ZERO_CELSIUS_K) / self.volume)

    def take(self, steam: Floats, lost: Floats, heat: Floats, swapped_m3: Floats) -> tuple[Floats, Floats]:
        """Carry the air over a step; returns heat that left with air and fog that fell out."""
        before = self.heat()
        share = np.minimum(swapped_m3 / self.volume, 1.0)
        swap_j = share * before - swapped_m3 * self.fresh_j_m3
        total = before - swap_j + heat
        self.dry += swapped_m3 * self.fresh[0] - share * self.dry
        self.vapor += swapped_m3 * self.fresh[1] - share * self.vapor + steam - lost
        fog = np.zeros_like(total)
        self._warm(total, fog)
        for _ in range(4):  # Newton on the fog that leaves the air just saturated
            kelvin = self.c + ZERO_CELSIUS_K
            most = tabled_saturation_pa(kelvin) * self.volume / (GAS_CONSTANT_VAPOR_J_KGK * kelvin)
            over = self.vapor - fog - most
            if (np.where(fog > 0.0, np.abs(over), over) <= 1e-9).all():
                break
            capacity = self.dry * CP_AIR_J_KGK + self.vapor * CP_VAPOR_J_KGK
            slope = 1.0 + most * (4000.0 / (kelvin - 40.0) ** 2) * LATENT_HEAT_0C_J_KG / capacity
            fog = np.maximum(fog + over / slope, 0.0)
            self._warm(total, fog)
        self.vapor = self.vapor - fog
        return swap_j + self._breathe(), fog

    def _warm(self, total: Floats, fog: Floats) -> None:
        air = self.vapor - fog
        self.c = (total - air * LATENT_HEAT_0C_J_KG) / (self.dry * CP_AIR_J_KGK + air * CP_VAPOR_J_KGK + fog * CP_WATER_J_KGK)

    def _breathe(self) -> Floats:
        """Push the excess of volume out, or suck the missing volume in; returns the heat that left."""
        kelvin = self.c + ZERO_CELSIUS_K
        ratio = (self.dry * GAS_CONSTANT_AIR_J_KGK + self.vapor * GAS_CONSTANT_VAPOR_J_KGK) * kelvin / (STANDARD_PRESSURE_PA * self.volume)
        out = np.maximum(1.0 - 1.0 / ratio, 0.0)
        come = np.maximum(1.0 - ratio, 0.0) * self.volume
        before = self.heat()
        self.dry = self.dry * (1.0 - out) + come * self.fresh[0]
        self.vapor = self.vapor * (1.0 - out) + come * self.fresh[1]
        total = before * (1.0 - out) + come * self.fresh_j_m3
        self._warm(total, np.zeros_like(total))
        return np.asarray(before - total)


def steam(
    panels: tuple[Panel, ...], volume_m3: float, power_w: ArrayLike, session: Session, step_s: float = 4.0, per_layer: int = 12
) -> Steaming:
    """Run a session of the room with one or several sizes of generator.

    Parameters
    ----------
    panels : tuple of Panel
        All surfaces that feel the steam.
    volume_m3 : float
        Air inside the finished surfaces. [m3]
    power_w : array_like, shape (g,)
        Electrical power of each generator. [W]
    session : Session
        Set point, length, ventilation, doors, people.
    step_s : float
        Step of time, up to 5. [s]
    per_layer : int
        Cells in each layer. [1]

    Returns
    -------
    steaming : Steaming
        Histories and sums; ``residual`` is what the energy balance misses, relative to the heat of the steam.

    Raises
    ------
    InputError
        If the room, a panel or a power cannot be.

    References
    ----------
    own derivation
    """
    power = _checked(panels, volume_m3, power_w)
    return _Run(panels, volume_m3, power, session, step_s, per_layer).steaming()


class _Run:
    """One call of `steam`."""

    def __init__(self, panels: tuple[Panel, ...], volume_m3: float, power: Floats, s: Session, step_s: float, per_layer: int) -> None:
        self.p, self.s, self.dt, self.power = _Panels(panels, per_layer, step_s), s, step_s, power
        self.air = _Air(volume_m3, len(power), s)
        self.area = np.array([p.area_m2 for p in panels])
        self.lies, self.lengths = np.array([p.lie for p in panels]), np.array([p.length_m for p in panels])
        steady = np.array([(p.back_k if p.back_w_m2k > 0.0 else s.start_k) for p in panels])
        self.cells = self._start(panels, steady)
        self.surface = self.cells[:, :, 0].copy()
        self.boil_s = s.fill_kg * CP_WATER_J_KGK * (BOIL_C + ZERO_CELSIUS_K - s.feed_k) / power
        self.steam_j_kg = LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * BOIL_C
        self.make_j_kg = self.steam_j_kg - CP_WATER_J_KGK * (s.feed_k - ZERO_CELSIUS_K)

    def _start(self, panels: tuple[Panel, ...], back_k: Floats) -> Floats:
        """Steady profile between the room before the session and what is behind."""
        cells = np.empty((len(self.power), len(panels), self.p.store.shape[1]))
        for i, p in enumerate(panels):
            n = self.p.last[i] + 1
            r = np.repeat(np.array(p.thickness_m) / np.array(p.conductivity_w_mk), n // len(p.thickness_m)) / (n // len(p.thickness_m))
            rest = 1.0 / p.back_w_m2k if p.back_w_m2k > 0.0 else np.inf
            depth = 0.125 + np.cumsum(r) - 0.5 * r
            cells[:, i, :n] = self.s.start_k + (back_k[i] - self.s.start_k) * depth / (0.125 + r.sum() + rest)
            cells[:, i, n:] = back_k[i]
        return cells

    def _walls(self) -> tuple[Floats, Floats, Floats]:
        """Step all panels: heat into them [W/m2], water to them [kg/(m2 s)], enthalpy from the air [W/m2]."""
        kelvin = np.maximum(self.air.c + ZERO_CELSIUS_K, 274.0)
        humid = np.minimum(self.air.pressure() / tabled_saturation_pa(kelvin), 1.0)
        got = condensation(kelvin[:, None], humid[:, None], self.surface, self.lengths, self.lies, self.s.stirring)
        # Where water condenses, warming the surface by a kelvin takes its share of the vapor's drive away.
        p_s = tabled_saturation_pa(self.surface)
        rise = p_s * 4000.0 / (self.surface - 40.0) ** 2
        drive = np.log((STANDARD_PRESSURE_PA - p_s) / (STANDARD_PRESSURE_PA - self.air.pressure()[:, None]))
        per_k = np.where(got.water_kg_m2_s > 0.0, got.water_kg_m2_s / np.maximum(drive, 1e-9) * rise / (STANDARD_PRESSURE_PA - p_s), 0.0)
        slope = got.film_w_m2k + per_k * LATENT_HEAT_0C_J_KG
        base = np.einsum("pij,gpj->gpi", self.p.inverse, self.cells * (self.p.store / self.dt) + self.p.back)
        q = (got.heat_w_m2 + slope * (self.surface - base[:, :, 0])) / (1.0 + slope * self.p.lift)
        surface = base[:, :, 0] + self.p.lift * q
        water = np.maximum(got.water_kg_m2_s - per_k * (surface - self.surface), 0.0)
        self.cells = base + self.p.inverse[:, :, 0] * q[:, :, None]
        self.surface = surface
        return q, water, q + water * CP_WATER_J_KGK * (surface - ZERO_CELSIUS_K)

    def _people(self, time_s: float) -> tuple[Floats, Floats]:
        if self.s.people == 0 or not self.s.people_from_s <= time_s < self.s.people_until_s:
            return np.zeros(len(self.power)), np.zeros(len(self.power))
        kelvin = self.air.c + ZERO_CELSIUS_K
        humid = np.minimum(self.air.pressure() / tabled_saturation_pa(kelvin), 1.0)
        got = condensation(kelvin, humid, SKIN_K, SKIN_HEIGHT_M, "wall", self.s.stirring)
        return got.from_air_w_m2 * SKIN_M2 * self.s.people, got.water_kg_m2_s * SKIN_M2 * self.s.people

    def _swapped(self, time_s: float) -> Floats:
        s = self.s
        changes = s.air_changes_1_h if time_s < s.off_s else s.after_air_changes_1_h
        swapped = np.full(len(self.power), changes * self.air.volume / 3600.0 * self.dt)
        for start, length in s.doors_s:
            open_s = min(max(start + length - time_s, 0.0), self.dt) - min(max(start - time_s, 0.0), self.dt)
            if open_s > 0.0:
                inside = density_kg_m3(self.air.c + ZERO_CELSIUS_K, self.air.pressure())
                swapped = swapped + open_s * door_flow_m3_s(s.door_width_m, s.door_height_m, inside, self.air.fresh_kg_m3)
        return np.asarray(np.minimum(swapped, self.air.volume))

    def _level(self, kelvin: Floats, before_k: Floats, level: Floats) -> Floats:
        """Share of full power, from full below the band to none above it, as the control will see it at the end of the step."""
        most = tabled_saturation_pa(kelvin) * self.air.volume / (GAS_CONSTANT_VAPOR_J_KGK * kelvin)
        capacity = self.air.dry * CP_AIR_J_KGK + most * (4000.0 / (kelvin - 40.0) ** 2) * LATENT_HEAT_0C_J_KG
        push_k = self.power * self.dt / capacity
        drift_k = kelvin - before_k - level * push_k
        return np.asarray(np.clip((self.s.set_point_k + BAND_K - kelvin - drift_k) / (2.0 * BAND_K + push_k), 0.0, 1.0))

    def steaming(self) -> Steaming:
        """Run to the end and gather."""
        s, n, g, p = self.s, round(self.s.length_s / self.dt), len(self.power), len(self.area)
        air_k, humid, surf, rate = np.empty((n + 1, g)), np.empty((n + 1, g)), np.empty((n + 1, g, p)), np.zeros((n + 1, g, p))
        zero, hit = np.zeros(g), np.full(g, np.inf)
        made, used, fog, left, people, hold = (zero.copy() for _ in range(6))
        panel, through, condensate, start = np.zeros((g, p)), np.zeros((g, p)), np.zeros((g, p)), self.air.heat()
        fog_j, water_j, level = zero.copy(), zero.copy(), zero.copy()
        for k in range(n + 1):
            t = k * self.dt
            kelvin = self.air.c + ZERO_CELSIUS_K
            air_k[k], surf[k] = kelvin, self.surface
            humid[k] = self.air.pressure() / tabled_saturation_pa(kelvin)
            new = (kelvin >= s.set_point_k - BAND_K) & ~np.isfinite(hit)
            hit[new] = t if k == 0 else t - self.dt * ((kelvin - s.set_point_k + BAND_K) / (kelvin - air_k[k - 1] + 1e-30))[new]
            if k == n:
                break
            level = self._level(kelvin, air_k[max(k - 1, 0)], level) if t < s.off_s else zero
            boiled = np.clip((t + self.dt - self.boil_s) / self.dt, 0.0, 1.0)
            flow = self.power / self.make_j_kg * level * boiled
            used += self.power * self.dt * np.where(boiled < 1.0, 1.0 - boiled + boiled * level, level) * (t < s.off_s)
            q, water, taken = self._walls()
            skin_w, skin_kg = self._people(t)
            wall_w, wall_kg = (taken * self.area).sum(axis=1), (water * self.area).sum(axis=1)
            out_j, fell = self.air.take(flow * self.dt, (wall_kg + skin_kg) * self.dt,
                                        (flow * self.steam_j_kg - wall_w - skin_w) * self.dt, self._swapped(t))  # fmt: skip
            rate[k + 1] = water
            made += flow * self.dt
            fog += fell
            fog_j += fell * CP_WATER_J_KGK * self.air.c
            left += out_j
            people += skin_w * self.dt
            panel += q * self.area * self.dt
            water_j += ((taken - q) * self.area).sum(axis=1) * self.dt
            back = np.take_along_axis(self.cells, self.p.last[None, :, None], axis=2)[:, :, 0]
            through += (self.p.back_g * back - self.p.back[np.arange(p), self.p.last]) * self.area * self.dt
            condensate += water * self.area * self.dt
            if t >= s.length_s - 300.0:
                hold += self.power * level * boiled * self.dt / 300.0
        stored = self.air.heat() - start
        miss = made * self.steam_j_kg - panel.sum(axis=1) - water_j - left - people - fog_j - stored
        return Steaming(self.power, np.linspace(0.0, n * self.dt, n + 1), air_k, humid, surf, rate, hit, made, used, panel, through,
                        left, stored, people, condensate, fog, hold, miss / np.maximum(made * self.steam_j_kg, 1.0))  # fmt: skip
