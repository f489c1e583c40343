"""The warm-up of a room with many sizes of generator side by side, in steps of half a minute.

`steam_room` steps through the air explicitly and needs a few seconds a step. Here the air of the end of each step is
foreseen by one Newton step of its heat and vapor together with all panels, so that long steps stay stable.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InputError
from steamwright.physics.moist_air import (
    CP_AIR_J_KGK,
    CP_VAPOR_J_KGK,
    CP_WATER_J_KGK,
    GAS_CONSTANT_VAPOR_J_KGK,
    LATENT_HEAT_0C_J_KG,
    STANDARD_PRESSURE_PA,
    ZERO_CELSIUS_K,
)
from steamwright.physics.panels_under_air import steady_start_k
from steamwright.physics.steam_room import BOIL_C, Panel, Session, _Air, _Panels
from steamwright.physics.wet_panels import WetPanels
from steamwright.physics.wet_surface import tabled_saturation_pa

Floats = NDArray[np.float64]

# Above the set point by this much the generators are throttled: what lies there is not wanted, and must not boil. [K]
CAP_K = 20.0
HOTTEST_K = 351.0
_SLOPE_K, _OFFSET_K = 4000.0, 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Air of every generator at the start and after every step, shape (t + 1, g)."""

    time_s: Floats
    air_k: Floats
    humidity: Floats


def warm_up(panels: tuple[Panel, ...], volume_m3: float, power_w: Floats, stirring: Floats, session: Session, step_s: Floats,
            per_layer: int = 4) -> Course:
    """Warm a room at full power.

    Parameters
    ----------
    panels : tuple of Panel
        All surfaces that feel the steam.
    volume_m3 : float
        Air. [m3]
    power_w : ndarray, shape (g,)
        Electrical power of each generator. [W]
    stirring : ndarray, shape (g,)
        Factor on the transfer of still air for each. [1]
    session : Session
        Set point, ventilation and start; its people, doors, control and filling are left out: steam flows from the start.
    step_s : ndarray, shape (t,)
        Steps; few different lengths, each costs an inversion. [s]
    per_layer : int
        Cells in each layer. [1]

    Returns
    -------
    course : Course
        The air; only what lies under the set point by then is at full power.

    Raises
    ------
    InputError
        If a power, a step or the volume is not above zero.

    References
    ----------
    own derivation
    """
    if not (volume_m3 > 0.0 and (power_w > 0.0).all() and (step_s > 0.0).all() and panels):
        raise InputError("needs panels, air, power and steps", path="power_w")
    return _March(panels, volume_m3, power_w, stirring, session, step_s, per_layer).course(step_s)


class _March:
    """One call of `warm_up`. Panels are the first axis of cells, generators their last; elsewhere generators come first."""

    def __init__(self, panels: tuple[Panel, ...], volume_m3: float, power_w: Floats, stirring: Floats, s: Session, step_s: Floats,
                 per_layer: int) -> None:
        self.s, self.power, self.volume = s, power_w, volume_m3
        self.air = _Air(volume_m3, len(power_w), s)
        self.wet = WetPanels(panels, stirring[:, None])
        self.area = np.array([p.area_m2 for p in panels])
        self.bodies = {float(dt): _Panels(panels, per_layer, float(dt)) for dt in np.unique(step_s)}
        some = next(iter(self.bodies.values()))
        self.cells = np.repeat(steady_start_k(panels, some, s.start_k)[:, :, None], len(power_w), axis=2)
        self.surface = self.cells[:, 0].T.copy()
        self.steam_j_kg = LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * BOIL_C
        self.make_j_kg = self.steam_j_kg - CP_WATER_J_KGK * (s.feed_k - ZERO_CELSIUS_K)

    def course(self, step_s: Floats) -> Course:
        n, g = len(step_s), len(self.power)
        air_k, humidity = np.empty((n + 1, g)), np.empty((n + 1, g))
        for k in range(n + 1):
            kelvin, pressure = self.air.c + ZERO_CELSIUS_K, self.air.pressure()
            full = tabled_saturation_pa(kelvin)
            air_k[k], humidity[k] = kelvin, np.minimum(pressure / full, 1.0)
            if k < n:
                self._step(float(step_s[k]), np.minimum(kelvin, HOTTEST_K), np.minimum(pressure, full), full)
        return Course(np.append(0.0, np.cumsum(step_s)), air_k, humidity)

    def _step(self, dt: float, kelvin: Floats, pressure: Floats, full: Floats) -> None:
        body = self.bodies[dt]
        flow = self.power / self.make_j_kg * np.clip((self.s.set_point_k + CAP_K - kelvin) / 2.0, 0.0, 1.0)
        got = self.wet.film(kelvin[:, None], pressure[:, None], self.surface)
        # Water by drive, and what a kelvin of the surface and a pascal of the air change of it.
        by_drive = got.water_kg_m2_s / np.maximum(got.drive, 1e-12)
        by_surface = by_drive * got.surface_pa * _SLOPE_K / ((self.surface - _OFFSET_K) ** 2 * (STANDARD_PRESSURE_PA - got.surface_pa))
        by_air = by_drive / (STANDARD_PRESSURE_PA - pressure)[:, None]
        slope = got.film_w_m2k + by_surface * LATENT_HEAT_0C_J_KG
        share = 1.0 / (1.0 + slope * body.lift)
        base = body.inverse @ (self.cells * (body.store / dt)[:, :, None] + body.back[:, :, None])
        at = base[:, 0].T
        heat = (got.heat_w_m2 + slope * (self.surface - at)) * share
        heat_k, heat_pa = got.film_w_m2k * share, by_air * LATENT_HEAT_0C_J_KG * share
        water = got.water_kg_m2_s - by_surface * (at + body.lift * heat - self.surface)
        fall = by_surface * body.lift
        water_k, water_pa = -fall * heat_k, by_air - fall * heat_pa
        rates = np.stack((heat, heat_k, heat_pa, water, water_k, water_pa)) @ self.area
        rise_k, rise_pa = self._foresee(dt, flow, kelvin, pressure, full, rates)
        heat = heat + heat_k * rise_k[:, None] + heat_pa * rise_pa[:, None]
        water = np.maximum(water + water_k * rise_k[:, None] + water_pa * rise_pa[:, None], 0.0)
        self.surface = np.clip(at + body.lift * heat, 253.2, HOTTEST_K)
        self.cells = base + body.inverse[:, :, :1] * heat.T[:, None, :]
        lost_kg, drained = water @ self.area, (water * (self.surface - ZERO_CELSIUS_K)) @ self.area * CP_WATER_J_KGK
        swapped = np.minimum(self.s.air_changes_1_h / 3600.0 * dt, 1.0) * np.full(len(flow), self.volume)
        self.air.take(flow * dt, lost_kg * dt, (flow * self.steam_j_kg - heat @ self.area - drained) * dt, swapped)

    def _foresee(self, dt: float, flow: Floats, kelvin: Floats, pressure: Floats, full: Floats, rates: Floats) -> tuple[Floats, Floats]:
        """Rise of the air's temperature and vapor pressure over the step: unsaturated, or along saturation with fog."""
        heat, heat_k, heat_pa, water, water_k, water_pa = rates
        changed = self.s.air_changes_1_h / 3600.0 * self.volume
        fresh_pa = self.air.fresh[1] * GAS_CONSTANT_VAPOR_J_KGK * self.s.around_k
        per_pa = self.volume / (GAS_CONSTANT_VAPOR_J_KGK * kelvin)
        # What is pushed out takes its share of the vapor along.
        pushed = np.maximum(flow - water, 0.0) * GAS_CONSTANT_VAPOR_J_KGK * kelvin / STANDARD_PRESSURE_PA
        out = (pushed * pressure + changed * (pressure - fresh_pa)) / (GAS_CONSTANT_VAPOR_J_KGK * kelvin)
        capacity = (self.air.dry * CP_AIR_J_KGK + self.air.vapor * CP_VAPOR_J_KGK) / dt
        sensible = heat - LATENT_HEAT_0C_J_KG * water
        warm = flow * CP_VAPOR_J_KGK * (BOIL_C + ZERO_CELSIUS_K - kelvin) - sensible - changed * 1200.0 * (kelvin - self.s.around_k)
        dry_pa = (flow - water - out) / (per_pa / dt + water_pa)
        dry_k = warm / (capacity + heat_k - LATENT_HEAT_0C_J_KG * water_k)
        slope = full * _SLOPE_K / (kelvin - _OFFSET_K) ** 2
        lack = np.maximum(full - pressure, 0.0)
        net = LATENT_HEAT_0C_J_KG * (flow - out - per_pa * lack / dt) + warm + sensible - heat - heat_pa * lack
        wet_k = net / (capacity + per_pa * slope * LATENT_HEAT_0C_J_KG / dt + heat_k + heat_pa * slope)
        foggy = pressure + dry_pa > full + slope * dry_k
        return np.where(foggy, wet_k, dry_k), np.where(foggy, lack + slope * wet_k, dry_pa)
