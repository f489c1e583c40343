"""Hour by hour over years: water in each layer, humidity where layers meet, mold, and whether it gets wetter each year."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from steamwright.buildup.catalog_model import Material
from steamwright.buildup.model import Layer as BuildLayer
from steamwright.errors import SteamwrightError
from steamwright.physics.heat_moisture import Balance, March
from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.physics.mold import LIMIT_INDEX, Class, mold_index
from steamwright.physics.vapor_monthly import MONTH_DAYS
from steamwright.vapor.climate import HOURS, Hours
from steamwright.vapor.hourly_wall import HOUR_S, Built, Question, beyond
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.material_functions import SPREAD
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import HEATED_HUMIDITY, HEATED_K

Floats = NDArray[np.float64]

BAND = (1.0, SPREAD, 1.0 / SPREAD)
WORDS = {1.0: "as stated", SPREAD: "more open", 1.0 / SPREAD: "tighter"}
DAMP, WET = 0.80, 0.95
# A wall that gains less than this in its last year is at its yearly balance. [kg/m2]
STEADY_KG_M2 = 0.02
VAPOR_FILM_INSIDE, VAPOR_FILM_OUTSIDE = 2.5e-8, 1.0e-7


class MissingPartError(SteamwrightError):
    """A part of the program that is installed apart is not there."""

    code = "missing_part"


@dataclass(frozen=True, slots=True)
class LayerWater:
    """Water of one layer: at the start, at the end of every year, and most of it in the last year. [kg/m²]"""

    layer: str
    start_kg_m2: float
    ends_kg_m2: tuple[float, ...]
    most_kg_m2: float


@dataclass(frozen=True, slots=True)
class Interface:
    """Where two layers meet behind the membrane, in the last year; the mold index is the highest of all years."""

    between: str
    mean_humidity: float
    highest_humidity: float
    hours_over_80: int
    hours_over_95: int
    mold_index: float
    sensitivity: str


@dataclass(frozen=True, slots=True)
class Hourly:
    """The hourly method for one build-up before one other side; ``functions`` says how estimated curves were taken.

    ``behind_by_month_kg_m2`` is all water behind the membrane at the end of every month, ``humidity_by_month`` the mean relative
    humidity of every month where it is most of the last year over 80 %. The verdict is ``fail`` where mold passes
    its limit or the wall gets wetter from year to year, ``marginal`` where the index passes 1.
    """

    buildup: str
    side: str
    retarder: bool
    functions: str
    years: int
    layers: tuple[LayerWater, ...]
    interfaces: tuple[Interface, ...]
    behind_by_year_kg_m2: tuple[float, ...]
    behind_by_month_kg_m2: tuple[float, ...]
    humidity_by_month: tuple[float, ...]
    last_gain_kg_m2: float
    steady: bool
    mold_index: float
    balance: Balance
    estimated: tuple[str, ...]
    notes: tuple[str, ...]
    verdict: Literal["pass", "marginal", "fail"]


def steam_week(use: SteamUse, years: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Course of the steam side over years: the air, what touches the wall, and its heat transfer.

    Parameters
    ----------
    use : SteamUse
        Sessions and set point.
    years : int
        How many years of 365 days.

    Returns
    -------
    time_s : ndarray, shape (t,)
        Times, not falling; equal times are jumps. [s]
    temperature_k : ndarray, shape (t,)
        Air. [K]
    humidity : ndarray, shape (t,)
        Relative humidity at the tile, wet for a while after each session.
    film_w_m2k : ndarray, shape (t,)
        Heat transfer, of condensing steam while it steams. [W/(m2 K)]

    References
    ----------
    common practice, no source
    """
    day = _day(use)
    rest = tuple((hour, HEATED_K, HEATED_HUMIDITY, practice("film.inside_w_m2k")) for hour in (0.0, 24.0))
    later = np.array((24.0, 0.0, 0.0, 0.0))
    rows = [np.array(day if d % 7 < use.days_a_week else rest) + d * later for d in range(365 * years)]
    table = np.concatenate(rows)
    return table[:, 0] * HOUR_S, table[:, 1], table[:, 2], table[:, 3]


def _day(use: SteamUse) -> tuple[tuple[float, float, float, float], ...]:
    """One day as (hour, kelvin, humidity, film); sessions follow one another without overlap up to the end of the last one."""
    idle, hot = practice("film.inside_w_m2k"), practice("film.steaming_w_m2k")
    warm, cool, wet = use.warm_up_min / 60.0, practice("session.cool_h"), practice("session.wet_h")
    count = 1 if use.kind == "continuous" else max(1, round(use.sessions_a_day))
    held = use.continuous_h if use.kind == "continuous" else use.session_min / 60.0
    held = max(min(held, (24.0 - 0.1) / count - warm - 0.5), 0.05)
    end = practice("session.last_ends_h")
    gap = min(max(warm + held + cool, 2.0), 23.5 / count)
    first = max(end - (count - 1) * gap - held - warm, 0.05)
    base = (HEATED_K, HEATED_HUMIDITY)
    rows = [(0.0, *base, idle)]
    for k in range(count):
        start = first + k * gap
        off = start + warm + held
        until = first + (k + 1) * gap if k + 1 < count else 24.0
        rows += [(start, *base, idle), (start, *base, hot), (start + warm, use.set_point_k, 1.0, hot), (off, use.set_point_k, 1.0, hot),
                 (off, use.set_point_k, 1.0, idle)]
        for after in sorted({min(cool, until - off), min(wet, until - off)}):
            t, h = min(after / cool, 1.0), min(after / wet, 1.0)
            rows.append((off + after, use.set_point_k + (HEATED_K - use.set_point_k) * t, 1.0 - (1.0 - HEATED_HUMIDITY) * h, idle))
    return (*rows, (24.0, *base, idle))


def hourly(questions: Sequence[Question], use: SteamUse, materials: Mapping[str, Material], outside: Hours, years: int = 2,
           workers: int = 2) -> tuple[Hourly, ...]:  # fmt: skip
    """March walls through years of use and weather.

    Parameters
    ----------
    questions : sequence of Question
        Walls.
    use : SteamUse
        Sessions and set point.
    materials : mapping
        The catalog's materials.
    outside : Hours
        Outside air of a year, repeated.
    years : int
        How many years.
    workers : int
        Threads; results do not depend on it.

    Returns
    -------
    results : tuple of Hourly
        In the order of the questions.

    Raises
    ------
    MissingPartError
        If the compiler of the hourly method is not installed.
    DataError
        If a material has no functions.
    NotConvergedError
        If a march fails; says time, cell and state.

    References
    ----------
    EN-15026
    """
    from steamwright.physics.heat_moisture import Settings, march_many, side

    compile_march()
    built = [Built(q, materials, use.leak_m3_h_m2) for q in questions]
    t, air, humid, film = steam_week(use, years)
    steam = side(t, air, humid * saturation_pressure_pa(air), film, VAPOR_FILM_INSIDE, contact=True)
    end_s = years * HOURS * HOUR_S
    records = np.arange(1, years * HOURS + 1) * HOUR_S
    rights, said = [], []
    for q in questions:
        far = beyond(q, outside, years)
        vapor = VAPOR_FILM_OUTSIDE if q.side.name.startswith("outdoors") else VAPOR_FILM_INSIDE
        rights.append(side(far.time_s, far.temperature_k, far.vapor_pa, q.side.film_w_m2k, vapor, far.rain_kg_m2_s, far.sun_w_m2))
        said.append(far.said)
    # Against a fifth of this tolerance the water of every layer changes by less than a hundredth.
    marches = march_many([b.wall for b in built], [steam] * len(built), rights, [end_s], Settings(tolerance=2e-3), records,
                         [b.probes_m for b in built], workers)
    return tuple(_result(q, b, m, years, text) for q, b, m, text in zip(questions, built, marches, said, strict=True))


def compile_march(tell: Callable[[str], None] | None = None, clock: Callable[[], float] | None = None) -> None:
    """Have the march of the hourly method ready, and say so where it has to be compiled first.

    Parameters
    ----------
    tell : callable, optional
        Told before it compiles, and after it how long it took.
    clock : callable, optional
        Seconds.

    Raises
    ------
    MissingPartError
        If the compiler is not installed.

    References
    ----------
    own derivation
    """
    from steamwright.physics.heat_moisture import prepare

    begin = clock() if clock else 0.0
    try:
        compiled = prepare(tell)
    except ImportError as wrong:
        raise MissingPartError("the hourly method needs a compiler that is not installed", path="numba",
                               hint="pip install 'steamwright[physics]', or leave the hourly part out: --years 0") from wrong
    if compiled and tell and clock:
        tell(f"compiled in {clock() - begin:.0f} s; later runs load it")


def sensitivity_of(layer: BuildLayer) -> Class:
    """Class of a material for mold.

    Parameters
    ----------
    layer : Layer
        The layer.

    Returns
    -------
    sensitivity : str
        Wood and what is faced with paper are sensitive; minerals, wool and foam are medium resistant.

    References
    ----------
    ASHRAE-160 clause 6.1 and addendum e
    """
    return "sensitive" if {"wood", "gypsum-core"} & set(layer.tags) else "medium_resistant"


def _result(q: Question, b: Built, m: March, years: int, said: str) -> Hourly:
    year = slice(-HOURS, None)
    ends = [HOURS * (y + 1) - 1 for y in range(years)]
    water = m.layer_water_kg_m2
    layers = tuple(LayerWater(layer.name, float(water[0, k]), tuple(float(water[e, k]) for e in ends), float(water[year, k].max()))
                   for k, layer in enumerate(b.layers))
    faces = []
    for k, (between, layer) in enumerate(b.probes):
        h, kind = m.probe_humidity[:, k], sensitivity_of(layer)
        last = h[year]
        index = mold_index(m.probe_temperature_k[:, k], np.clip(h, 0.0, 1.0), kind)
        faces.append(Interface(between, float(last.mean()), float(last.max()), int((last > DAMP).sum()), int((last > WET).sum()),
                               float(index.max()), kind))
    behind = tuple(sum(layer.ends_kg_m2[y] for layer in layers[b.first_behind:]) for y in range(years))
    months = np.concatenate([np.cumsum(MONTH_DAYS) * 24 + y * HOURS for y in range(years)])
    by_month = water[months - 1, b.first_behind:].sum(axis=1)
    worst = max(range(len(faces)), key=lambda k: (faces[k].hours_over_80, faces[k].mean_humidity))
    humid = np.add.reduceat(m.probe_humidity[:, worst], np.append(0, months[:-1])) / np.diff(np.append(0, months))
    gain = behind[-1] - (behind[-2] if years > 1 else sum(layer.start_kg_m2 for layer in layers[b.first_behind:]))
    mold, steady = max(f.mold_index for f in faces), gain < STEADY_KG_M2
    verdict: Literal["pass", "marginal", "fail"] = "fail" if mold >= LIMIT_INDEX or not steady else "marginal" if mold >= 1.0 else "pass"
    return Hourly(q.buildup.id, q.side.name, q.retarder, WORDS[q.spread], years, layers, tuple(faces), behind,
                  tuple(by_month.tolist()), tuple(humid.tolist()), gain, steady, mold, m.balance, b.estimated,
                  tuple(x for x in (said, *b.streams) if x), verdict)
