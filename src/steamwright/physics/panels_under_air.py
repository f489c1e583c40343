"""Panels under air whose course is given: what they take up, and what condenses on them, in long steps.

The march of `steam_room` has to follow the air and its generator second by second. Once the air is known, such as while
it is held at its set point, the panels alone can be carried on in steps of a minute.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError
from steamwright.physics.moist_air import CP_WATER_J_KGK, LATENT_HEAT_0C_J_KG, STANDARD_PRESSURE_PA, ZERO_CELSIUS_K
from steamwright.physics.steam_room import Panel, _Panels
from steamwright.physics.wet_panels import WetPanels
from steamwright.physics.wet_surface import tabled_saturation_pa

Floats = NDArray[np.float64]

START_FILM_M2K_W = 0.125
NEWTON = 2


@dataclass(frozen=True, slots=True, eq=False)
class Uptake:
    """By time and panel, shape (t, p): heat into the panels, enthalpy from the air, water, surfaces at the end of each step."""

    time_s: Floats
    heat_w_m2: Floats
    from_air_w_m2: Floats
    water_kg_m2_s: Floats
    surface_k: Floats
    through_w_m2: Floats
    stored_j_m2: Floats


def under_air(
    panels: tuple[Panel, ...], air_k: ArrayLike, humidity: ArrayLike, step_s: ArrayLike, stirring: ArrayLike = 1.0, start_k: float = 293.15,
    per_layer: int = 4,
) -> Uptake:  # fmt: skip
    """Carry panels through a given course of the air.

    Parameters
    ----------
    panels : tuple of Panel
        Surfaces; they start from a steady state between the room before and what is behind them.
    air_k : array_like, shape (t,) or (t, p)
        Air in the middle of every step, -20 to 80 C, for all panels or before each. [K]
    humidity : array_like, shape (t,) or (t, p)
        Its relative humidity. [1]
    step_s : array_like, shape () or (t,)
        Length of every step; few different ones, each costs an inversion. [s]
    stirring : array_like, shape () or (p,)
        Factor on the transfer of still air. [1]
    start_k : float
        Room before. [K]
    per_layer : int
        Cells in each layer. [1]

    Returns
    -------
    uptake : Uptake
        Course of every panel.

    Raises
    ------
    InputError
        If there is no panel or the air is not given for the same times.

    References
    ----------
    own derivation
    """
    air, humid = np.atleast_1d(np.asarray(air_k, float)), np.atleast_1d(np.asarray(humidity, float))
    stirred, steps = np.asarray(stirring, float), np.broadcast_to(np.asarray(step_s, float), air.shape[:1])
    if not panels or air.shape != humid.shape or not (steps > 0.0).all():
        raise InputError("needs panels, and air and humidity for the same steps", path="panels")
    bodies = {float(dt): _Panels(panels, per_layer, float(dt)) for dt in np.unique(steps)}
    body = bodies[float(steps[0])]
    cells = steady_start_k(panels, body, start_k)
    surface = cells[:, 0].copy()
    films = WetPanels(panels, stirred)
    rows = np.zeros((5, len(air), len(panels)))
    before = (cells * body.store).sum(axis=1)
    at = np.arange(len(panels)), body.last
    pressure = np.minimum(humid, 1.0) * tabled_saturation_pa(air)
    for k, (kelvin, pascal) in enumerate(zip(air, pressure, strict=True)):
        body = bodies[float(steps[k])]
        base = (body.inverse @ (cells * (body.store / body.step_s) + body.back)[:, :, None])[:, :, 0]
        surface, q, water, taken = _step(kelvin, pascal, surface, base[:, 0], body.lift, films)
        cells = base + body.inverse[:, :, 0] * q[:, None]
        rows[:, k] = q, taken, water, surface, body.back_g * cells[at] - body.back[at]
    stored = (cells * body.store).sum(axis=1) - before
    return Uptake(np.cumsum(steps), rows[0], rows[1], rows[2], rows[3], rows[4], stored)


def steady_start_k(panels: tuple[Panel, ...], body: _Panels, start_k: float) -> Floats:
    """Temperatures of all cells in the steady state before the room is used.

    Parameters
    ----------
    panels : tuple of Panel
        Surfaces; those without a film at the back are as warm as the room.
    body : _Panels
        Their cells.
    start_k : float
        Room before. [K]

    Returns
    -------
    cells_k : ndarray, shape (p, n)
        Temperatures. [K]

    References
    ----------
    ISO-6946 for the film inside
    """
    cells = np.full(body.store.shape, start_k)
    for i, p in enumerate(panels):
        if p.back_w_m2k <= 0.0:
            continue
        n = int(body.last[i]) + 1
        each = n // len(p.thickness_m)
        r = np.repeat(np.array(p.thickness_m) / np.array(p.conductivity_w_mk), each) / each
        depth = START_FILM_M2K_W + np.cumsum(r) - 0.5 * r
        cells[i, :n] = start_k + (p.back_k - start_k) * depth / (START_FILM_M2K_W + r.sum() + 1.0 / p.back_w_m2k)
        cells[i, n:] = p.back_k
    return cells


def _step(kelvin: Floats, pascal: Floats, surface: Floats, base: Floats, lift: Floats, films: WetPanels) -> tuple[Floats, ...]:
    """Newton on the surface: what the film brings there is what the body can take. Surfaces, heat, water, enthalpy from the air."""
    for _ in range(NEWTON):
        got = films.film(kelvin, pascal, surface)
        gap = np.maximum(pascal - got.surface_pa, 1e-9)
        rise = got.surface_pa * 4000.0 / (surface - 40.0) ** 2
        # The film itself slackens as the surface warms: heat goes with the drive to about the power 4/3.
        less = 4.0 / 3.0 * got.water_kg_m2_s * rise / gap * np.clip(gap / (STANDARD_PRESSURE_PA - got.surface_pa) + 1.0, 1.0, 2.0)
        slope = 4.0 / 3.0 * got.film_w_m2k + less * LATENT_HEAT_0C_J_KG
        warmer = (base + lift * got.heat_w_m2 - surface) / (1.0 + lift * slope)
        surface = np.clip(surface + warmer, 253.2, 353.1)
    q = (surface - base) / lift
    water = np.maximum(got.water_kg_m2_s - less * warmer, 0.0)
    return surface, q, water, q + water * (CP_WATER_J_KGK * (surface - ZERO_CELSIUS_K))
