"""Coupled transient heat and moisture in one dimension: a wall, the air on both sides, and what happens within.

Finite volumes with water and heat themselves as unknowns; the error of every step is estimated and held, and the
balances of mass and energy are closed and reported with every run.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError, NotConvergedError
from steamwright.physics.moist_air import ZERO_CELSIUS_K
from steamwright.physics.porous import Porous
from steamwright.physics.wall import Layer, Wall

Floats = NDArray[np.float64]

COLDEST_C, STEP_K, TEMPERATURES = -60.0, 0.05, 4000
OPEN_VAPOR_KG_PA_S_M2 = 1e9
OPEN_HEAT_W_M2K = 1e9


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """What one surface feels. All arrays have the shape of ``time_s``, which rises; two equal times are a jump.

    ``heat_transfer_w_m2k`` and ``vapor_transfer_kg_pa_s_m2`` are of the air film; ``sun_w_m2`` is absorbed radiation,
    loss to the sky being negative; ``rain_kg_m2s`` is offered to the surface, which takes what it can.
    ``contact`` holds the surface at the humidity of the air with liquid contact, as benchmarks do.
    """

    time_s: Floats
    temperature_k: Floats
    vapor_pressure_pa: Floats
    heat_transfer_w_m2k: Floats
    vapor_transfer_kg_pa_s_m2: Floats
    rain_kg_m2s: Floats
    sun_w_m2: Floats
    contact: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Settings:
    """How exactly to march, and the constants of water.

    ``tolerance`` is the allowed error of a step, relative in water content (with ``content_floor_kg_m3`` added) and as a
    share of ``temperature_scale_k``. ``saturation_pa`` replaces the saturation curve at the 4000 table temperatures.
    """

    tolerance: float = 1e-3
    content_floor_kg_m3: float = 1.0
    temperature_scale_k: float = 10.0
    latent_heat_j_kg: float = 2.501e6
    vapor_heat_j_kgk: float = 1860.0
    water_heat_j_kgk: float = 4186.0
    vapor_growth_exponent: float = 0.0
    liquid_viscosity: bool = False
    saturation_pa: Floats | None = None
    first_step_s: float = 1.0
    least_step_s: float = 1e-7
    longest_step_s: float = 1e9
    most_steps: int = 50_000_000


@dataclass(frozen=True, slots=True)
class Balance:
    """What entered, what is stored, and what is left over, per wall area. Water [kg/m2], heat [J/m2]."""

    water_left_kg_m2: float
    water_right_kg_m2: float
    water_exchanged_kg_m2: float
    water_stored_kg_m2: float
    water_residual_kg_m2: float
    heat_left_j_m2: float
    heat_right_j_m2: float
    heat_exchanged_j_m2: float
    heat_stored_j_m2: float
    heat_residual_j_m2: float


@dataclass(frozen=True, slots=True, eq=False)
class March:
    """Result of one wall. Profiles at ``profile_time_s``; probes and layers at ``time_s``.

    ``probe_humidity`` and ``probe_temperature_k`` have shape (times, probes); ``layer_water_kg_m2`` (times, layers).
    """

    position_m: Floats
    profile_time_s: Floats
    content_kg_m3: Floats
    temperature_k: Floats
    time_s: Floats
    probe_humidity: Floats
    probe_temperature_k: Floats
    layer_water_kg_m2: Floats
    balance: Balance
    steps: int
    refused_steps: int
    mean_step_error: float


def side(
    time_s: ArrayLike,
    temperature_k: ArrayLike,
    vapor_pressure_pa: ArrayLike,
    heat_transfer_w_m2k: ArrayLike = OPEN_HEAT_W_M2K,
    vapor_transfer_kg_pa_s_m2: ArrayLike = OPEN_VAPOR_KG_PA_S_M2,
    rain_kg_m2s: ArrayLike = 0.0,
    sun_w_m2: ArrayLike = 0.0,
    contact: bool = False,
) -> Side:
    """Check the climate of one side and bring its arrays to one shape.

    Parameters
    ----------
    time_s : array_like, shape (t,)
        Times, not falling. [s]
    temperature_k : array_like, shape (t,) or ()
        Air. [K]
    vapor_pressure_pa : array_like, shape (t,) or ()
        Air. [Pa]
    heat_transfer_w_m2k : array_like, shape (t,) or ()
        Film, without limit by default. [W/(m2 K)]
    vapor_transfer_kg_pa_s_m2 : array_like, shape (t,) or ()
        Film, without limit by default. [kg/(Pa s m2)]
    rain_kg_m2s : array_like, shape (t,) or ()
        Rain on the surface. [kg/(m2 s)]
    sun_w_m2 : array_like, shape (t,) or ()
        Radiation absorbed. [W/m2]
    contact : bool
        Surface held at the humidity of the air, liquid included.

    Returns
    -------
    side : Side
        Ready for `march`.

    Raises
    ------
    InputError
        If times fall or a value is missing or cannot be.

    References
    ----------
    en-15026 clause 6
    """
    t = np.atleast_1d(np.asarray(time_s, float))
    if len(t) < 2 or (np.diff(t) < 0).any():
        raise InputError("needs at least two times that do not fall", path="time_s")
    values = {
        "temperature_k": temperature_k, "vapor_pressure_pa": vapor_pressure_pa, "heat_transfer_w_m2k": heat_transfer_w_m2k,
        "vapor_transfer_kg_pa_s_m2": vapor_transfer_kg_pa_s_m2, "rain_kg_m2s": rain_kg_m2s, "sun_w_m2": sun_w_m2,
    }  # fmt: skip
    full: dict[str, Floats] = {}
    for name, value in values.items():
        try:
            column = np.broadcast_to(np.asarray(value, float), t.shape)
        except ValueError:
            raise InputError(f"has {np.size(value)} values for {len(t)} times", path=name) from None
        if not np.isfinite(column).all():
            hour = float(t[~np.isfinite(column)][0]) / 3600.0
            raise InputError(f"is missing at {hour:g} h", path=name, hint="fill the gap before the run")
        if name not in ("sun_w_m2", "temperature_k") and (column < 0).any():
            raise InputError("is negative", path=name)
        full[name] = column
    if (full["temperature_k"] < 200.0).any() or (full["temperature_k"] > 400.0).any():
        raise InputError("air must be between 200 and 400 K", path="temperature_k", hint="were Celsius given for kelvin?")
    return Side(t, **full, contact=contact)


def table_temperatures_k() -> Floats:
    """Temperatures at which `Settings.saturation_pa` is wanted.

    Returns
    -------
    temperature_k : ndarray, shape (4000,)
        From -60 C in steps of 0.05 K. [K]

    References
    ----------
    own derivation
    """
    return ZERO_CELSIUS_K + COLDEST_C + STEP_K * np.arange(TEMPERATURES, dtype=np.float64)


def march(
    wall: Wall,
    left: Side,
    right: Side,
    profile_time_s: ArrayLike,
    settings: Settings | None = None,
    record_time_s: ArrayLike = (),
    probes_m: ArrayLike = (),
) -> March:
    """Carry a wall through the climate of its two sides.

    Parameters
    ----------
    wall : Wall
        Layers, films, streams of air and the start.
    left : Side
        Climate of the left surface.
    right : Side
        Climate of the right surface.
    profile_time_s : array_like, shape (o,)
        Times at which whole profiles are kept, from the start of the climate; the last of all times ends the run. [s]
    settings : Settings, optional
        Tolerance and constants.
    record_time_s : array_like, shape (r,)
        More times, at which probes and layer sums are kept. [s]
    probes_m : array_like, shape (p,)
        Places whose cells are probed, from the left surface. [m]

    Returns
    -------
    march : March
        Profiles, probes, layer sums, balances and step counts.

    Raises
    ------
    InputError
        If a time lies outside the climate.
    NotConvergedError
        If the step shrinks below the least; says time, cell and state.
    SolveError
        If the balance of water or heat does not close.

    References
    ----------
    en-15026; sandu-1997 RODAS3; own derivation for the join of materials
    """
    from steamwright.physics.heat_moisture_assembly import assemble, finish

    work = assemble(wall, left, right, profile_time_s, settings or Settings(), record_time_s, probes_m)
    status = work.run()
    if status:
        raise _failure(work.kept.counts, work.state, status)
    return finish(work)


def _failure(counts: Floats, state: Floats, status: int) -> NotConvergedError:
    cell = int(counts[3])
    what = "the step shrank to nothing" if status == 1 else "too many steps"
    return NotConvergedError(
        f"{what} at {counts[2] / 3600.0:.4f} h in cell {cell}: {state[cell, 0]:.6g} kg/m3 of water, {state[cell, 1]:.6g} J/m3 of heat",
        path=f"cell[{cell}]", hint="loosen the tolerance, smooth the climate, or cut the layer finer at this cell",
    )  # fmt: skip


def prepare(tell: Callable[[str], None] | None = None) -> bool:
    """Have the march compiled before it is needed, and say so when it takes time.

    Parameters
    ----------
    tell : callable, optional
        Given one sentence, only when nothing is kept from an earlier run.

    Returns
    -------
    compiled : bool
        Whether it was compiled now, which takes half a minute, and not loaded, which takes a fraction of a second.

    References
    ----------
    own derivation
    """
    from steamwright.physics.compiled import cache_folder

    fresh = not any(cache_folder().rglob("*march*.nbc"))
    if fresh and tell:
        tell("compiling the hourly heat and moisture march; this happens once and takes about half a minute")
    plain = Porous(np.array([0.0, 0.5, 1.0]), np.array([0.0, 1.0, 2.0]), np.zeros(3), np.full(3, 1e-12), np.ones(3), 1e6)
    air = side([0.0, 1.0], 293.15, 1000.0, 8.0, 1e-8)
    march(Wall((Layer(plain, (0.01,) * 4),)), air, air, [1.0])
    return fresh


def march_many(
    walls: Sequence[Wall],
    lefts: Sequence[Side],
    rights: Sequence[Side],
    profile_time_s: ArrayLike,
    settings: Settings | None = None,
    record_time_s: ArrayLike = (),
    probes_m: Sequence[ArrayLike] = (),
    workers: int = 1,
) -> tuple[March, ...]:
    """March several walls side by side; the results do not depend on how many workers there are.

    Parameters
    ----------
    walls : sequence of Wall
        Walls.
    lefts : sequence of Side
        Left climate of each.
    rights : sequence of Side
        Right climate of each.
    profile_time_s : array_like, shape (o,)
        As in `march`. [s]
    settings : Settings, optional
        As in `march`.
    record_time_s : array_like, shape (r,)
        As in `march`. [s]
    probes_m : sequence of array_like
        Probes of each wall, or empty. [m]
    workers : int
        Threads. [1]

    Returns
    -------
    marches : tuple of March
        In the order of the walls.

    Raises
    ------
    InputError
        If the sequences differ in length.

    References
    ----------
    own derivation
    """
    if not len(walls) == len(lefts) == len(rights) or (probes_m and len(probes_m) != len(walls)):
        raise InputError("walls, climates and probes must be as many", path="walls")
    places = probes_m or [()] * len(walls)

    def one(k: int) -> March:
        return march(walls[k], lefts[k], rights[k], profile_time_s, settings, record_time_s, places[k])

    if workers <= 1 or len(walls) < 2:
        return tuple(one(k) for k in range(len(walls)))
    with ThreadPoolExecutor(workers) as pool:
        return tuple(pool.map(one, range(len(walls))))

