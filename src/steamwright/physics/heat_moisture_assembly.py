"""From a wall and its climate to the arrays of the compiled march, and back from them to results."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError, SolveError
from steamwright.physics.heat_moisture import (
    OPEN_HEAT_W_M2K,
    OPEN_VAPOR_KG_PA_S_M2,
    TEMPERATURES,
    Balance,
    March,
    Settings,
    Side,
    table_temperatures_k,
)
from steamwright.physics.heat_moisture_kernel import CELL_ROWS, CLIMATE_COLUMNS, Grid
from steamwright.physics.heat_moisture_march import Kept
from steamwright.physics.heat_moisture_march import march as compiled_march
from steamwright.physics.heat_moisture_stages import Bench, Course
from steamwright.physics.moist_air import ZERO_CELSIUS_K, saturation_pressure_pa
from steamwright.physics.porous import Porous, table_of
from steamwright.physics.wall import Film, Wall

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

JOIN_POINTS = 2048
JOIN_DECADES = 14.0
BALANCE_SHARE = 1e-6


@dataclass(slots=True, eq=False)
class Work:
    """Arrays of one run."""

    state: Floats
    start: Floats
    grid: Grid
    course: Course
    kept: Kept
    bench: Bench
    profile_time: Floats
    record_time: Floats
    order: Ints

    def run(self) -> int:
        """March; compiles on the first call of all.

        Returns
        -------
        status : int
            0 when done.

        References
        ----------
        own derivation
        """
        return compiled_march(self.state, self.grid, self.course, self.kept, self.bench)


def _join_table(left: Porous, right: Porous, half_left: float, half_right: float) -> tuple[Floats, tuple[float, float]]:
    """Share of the left side in the sum of scaled potentials, for all suctions that both sides can have in common."""
    humidity = np.union1d(left.humidity, right.humidity)
    a, b = left.potential_at(humidity) / half_left, right.potential_at(humidity) / half_right
    total = a + b
    keep = np.concatenate(([True], np.diff(np.maximum.accumulate(total)) > 0)) & (total > 0)
    if keep.sum() < 2:
        return np.zeros(JOIN_POINTS), (0.0, 1.0)
    logs, share = np.log(total[keep]), (a / np.where(total > 0, total, 1.0))[keep]
    low = max(float(logs[0]), float(logs[-1]) - JOIN_DECADES * np.log(10.0))
    points = np.linspace(low, float(logs[-1]), JOIN_POINTS)
    return np.interp(points, logs, share), (low, (JOIN_POINTS - 1) / (float(logs[-1]) - low))


def _climate(side: Side, knots: Floats, surface: Porous, warm: Floats) -> Floats:
    """Values of a side at the knots; at a jump the first knot of a time takes the value before, the last the value after."""
    columns = [
        side.temperature_k - ZERO_CELSIUS_K, side.vapor_pressure_pa, np.minimum(side.heat_transfer_w_m2k, OPEN_HEAT_W_M2K),
        np.minimum(side.vapor_transfer_kg_pa_s_m2, OPEN_VAPOR_KG_PA_S_M2), side.rain_kg_m2s, side.sun_w_m2,
    ]  # fmt: skip
    if side.contact:
        saturation = np.interp(side.temperature_k, table_temperatures_k(), warm[:, 0])
        columns.append(surface.potential_at(np.minimum(side.vapor_pressure_pa / saturation, 1.0)))
    else:
        columns.append(np.zeros(len(side.time_s)))
    values = np.stack(columns, axis=1)
    out = np.empty((len(knots), values.shape[1]))
    before = np.searchsorted(side.time_s, knots, side="left")
    after = np.searchsorted(side.time_s, knots, side="right") - 1
    for q in range(values.shape[1]):
        out[:, q] = np.interp(knots, side.time_s, values[:, q])
    exact = before <= after
    first = np.concatenate(([True], np.diff(knots) > 0))
    lead = exact & first
    out[lead] = values[before[lead]]
    trail = exact & np.concatenate((np.diff(knots) > 0, [True])) & ~first
    out[trail] = values[after[trail]]
    out[0] = values[after[0]] if exact[0] else out[0]
    return out


def _knots(left: Side, right: Side, out: Floats) -> Floats:
    begin, end = max(left.time_s[0], right.time_s[0]), min(left.time_s[-1], right.time_s[-1])
    if len(out) == 0 or out[0] < begin or out[-1] > end:
        raise InputError(
            f"a result is wanted outside the climate, which runs from {begin / 3600:g} to {end / 3600:g} h", path="profile_time_s"
        )
    end = out[-1]
    single = np.unique(np.concatenate((left.time_s, right.time_s, out, [begin])))
    single = single[(single >= begin) & (single <= end)]
    jumps = np.concatenate([s.time_s[1:][np.diff(s.time_s) == 0] for s in (left, right)])
    jumps = np.unique(jumps[(jumps > begin) & (jumps < end)])
    return np.sort(np.concatenate((single, jumps)))


def _warm(settings: Settings) -> Floats:
    t = table_temperatures_k()
    warm = np.ones((TEMPERATURES, 3))
    warm[:, 0] = saturation_pressure_pa(t) if settings.saturation_pa is None else settings.saturation_pa
    warm[:, 1] = (t / 296.15) ** -settings.vapor_growth_exponent
    if settings.liquid_viscosity:  # Vogel's form for water, 2 % good from 0 to 60 C; 1 at 20 C
        warm[:, 2] = 10.0 ** (247.8 / (293.15 - 140.0) - 247.8 / np.maximum(t - 140.0, 60.0))
    return warm


def _faces(wall: Wall, half: Floats, layer: Ints) -> tuple[Ints, Floats, Floats, Floats, Floats]:
    n = len(half)
    kind, vapor, heat = np.zeros(n + 1, np.int64), np.zeros(n + 1), np.zeros(n + 1)
    joins, spans = [np.zeros(JOIN_POINTS)], [(0.0, 1.0)]
    films = wall.films or (Film(),) * (len(wall.layers) + 1)
    vapor[0], heat[0] = films[0].vapor_resistance_pa_s_m2_kg, films[0].heat_resistance_m2k_w
    vapor[n], heat[n] = films[-1].vapor_resistance_pa_s_m2_kg, films[-1].heat_resistance_m2k_w
    for j in np.flatnonzero(np.diff(layer)) + 1:
        film, a, b = films[layer[j]], wall.layers[layer[j - 1]].porous, wall.layers[layer[j]].porous
        vapor[j], heat[j] = film.vapor_resistance_pa_s_m2_kg, film.heat_resistance_m2k_w
        if film.vapor_resistance_pa_s_m2_kg > 0.0 or not film.passes_liquid:
            kind[j] = -1
        elif a is not b:
            if a.potential_kg_m_s[-1] == 0.0 or b.potential_kg_m_s[-1] == 0.0:
                kind[j] = -1
                continue
            share, span = _join_table(a, b, float(half[j - 1]), float(half[j]))
            joins.append(share)
            spans.append(span)
            kind[j] = len(joins)
    return kind, vapor, heat, np.array(joins), np.array(spans)


def assemble(
    wall: Wall, left: Side, right: Side, profile_time_s: ArrayLike, settings: Settings, record_time_s: ArrayLike, probes_m: ArrayLike
) -> Work:
    """Lay out all arrays of a run.

    Parameters
    ----------
    wall : Wall
        Wall.
    left : Side
        Left climate.
    right : Side
        Right climate.
    profile_time_s : array_like, shape (o,)
        Times of profiles. [s]
    settings : Settings
        Tolerance and constants.
    record_time_s : array_like, shape (r,)
        Times of records. [s]
    probes_m : array_like, shape (p,)
        Probed places. [m]

    Returns
    -------
    work : Work
        Ready to run.

    Raises
    ------
    InputError
        If a time or place lies outside.

    References
    ----------
    own derivation
    """
    dx = np.concatenate([np.asarray(part.cells_m, float) for part in wall.layers])
    layer = np.repeat(np.arange(len(wall.layers)), [len(part.cells_m) for part in wall.layers])
    kinds: list[Porous] = []
    for part in wall.layers:
        if not any(part.porous is p for p in kinds):
            kinds.append(part.porous)
    of_layer = np.array([next(k for k, p in enumerate(kinds) if p is part.porous) for part in wall.layers])
    sampled = [table_of(p) for p in kinds]
    content = np.array([p.start_content_kg_m3 if p.start_content_kg_m3 is not None else float(p.porous.content_at(p.start_humidity))
                        for p in wall.layers])[layer]  # fmt: skip
    capacity = np.array([p.porous.heat_capacity_j_m3k for p in wall.layers])[layer]
    heat = (capacity + settings.water_heat_j_kgk * content) * (wall.start_temperature_k - ZERO_CELSIUS_K)
    state = np.stack((content, heat), axis=1)
    profile, record = np.atleast_1d(np.asarray(profile_time_s, float)), np.atleast_1d(np.asarray(record_time_s, float))
    out = np.unique(np.concatenate((profile, record)))
    knots = _knots(left, right, out)
    slot, order = _slots(knots, profile, out)
    edges = np.cumsum(dx)
    places = np.atleast_1d(np.asarray(probes_m, float))
    if places.size and (places.min() < 0.0 or places.max() > edges[-1] * (1.0 + 1e-9)):
        raise InputError("a probe lies outside the wall", path="probes_m")
    probe = np.minimum(np.searchsorted(edges, places - 1e-12), len(dx) - 1).astype(np.int64)
    ex = wall.exchanges
    ends = [np.flatnonzero(layer == e.layer) for e in ex]
    where = [c[min(int(e.at * len(c)), len(c) - 1)] for e, c in zip(ex, ends, strict=True)]
    kind, vapor, resist, joins, spans = _faces(wall, 0.5 * dx, layer)
    warm = _warm(settings)
    n, n_out, n_profile = len(dx), len(out), len(np.unique(profile))
    grid = Grid(
        half_m=0.5 * dx, capacity_j_m3k=capacity, material=of_layer[layer].astype(np.int64), kind=kind, vapor_pa_s_m2_kg=vapor,
        heat_m2k_w=resist, tables=np.stack([s[0] for s in sampled]), stretches=np.stack([s[1] for s in sampled]), warm=warm,
        joins=joins, spans=spans, contact=np.array([left.contact, right.contact], np.int64),
        exchange_cell=np.array(where, np.int64), exchange_side=np.array([e.side for e in ex], np.int64),
        exchange_flow_m3_s_m2=np.array([e.flow_m3_s_m2 for e in ex], float), latent_j_kg=float(settings.latent_heat_j_kg),
        vapor_heat_j_kgk=float(settings.vapor_heat_j_kgk), water_heat_j_kgk=float(settings.water_heat_j_kgk),
    )  # fmt: skip
    air_left, air_right = (_climate(x, knots, p.porous, warm) for x, p in ((left, wall.layers[0]), (right, wall.layers[-1])))
    changes = (np.diff(air_left, axis=0) != 0).any(axis=1) | (np.diff(air_right, axis=0) != 0).any(axis=1)
    course = Course(
        knots_s=knots, left=air_left, right=air_right, moving=np.append(changes, False).astype(np.int64), slot=slot, probe=probe,
        layer=layer.astype(np.int64), tolerance=float(settings.tolerance), content_floor_kg_m3=float(settings.content_floor_kg_m3),
        temperature_scale_k=float(settings.temperature_scale_k), first_step_s=float(settings.first_step_s),
        least_step_s=float(settings.least_step_s), longest_step_s=float(settings.longest_step_s), most_steps=float(settings.most_steps),
    )  # fmt: skip
    kept = Kept(np.empty((n_profile, n)), np.empty((n_profile, n)), np.empty((n_out, len(probe), 2)),
                np.zeros((n_out, len(wall.layers))), np.zeros((2, 3)), np.zeros(8))  # fmt: skip
    return Work(state, state.copy(), grid, course, kept, _bench(n, grid.exchange_cell), np.unique(profile), out, order)


def _bench(n: int, exchange_cell: Ints) -> Bench:
    streams = 2 + len(exchange_cell)
    pair, four, flows = (n, 2), (n, 4), (streams, 6)
    return Bench(
        c=np.zeros((CELL_ROWS, n)), c2=np.zeros((CELL_ROWS, n)), f=np.zeros(pair), g=np.zeros(pair), z=np.zeros(pair),
        k1=np.zeros(pair), k2=np.zeros(pair), k3=np.zeros(pair), sub=np.zeros(four), dia=np.zeros(four), sup=np.zeros(four),
        inverse=np.zeros(four), down=np.zeros(four), up=np.zeros(four),
        where=np.concatenate(([0, n - 1], exchange_cell)).astype(np.int64), e=np.zeros(flows), e2=np.zeros(flows),
        et=np.zeros(flows), sums=np.zeros((4, streams, 2)), air=np.zeros((2, CLIMATE_COLUMNS)), air2=np.zeros((2, CLIMATE_COLUMNS)),
    )  # fmt: skip


def _slots(knots: Floats, profile: Floats, out: Floats) -> tuple[Ints, Ints]:
    """Profiles take the first slots, so that only they need whole rows; `order` brings records back into time."""
    whole = np.isin(out, profile)
    rank = np.empty(len(out), np.int64)
    rank[whole] = np.arange(whole.sum())
    rank[~whole] = whole.sum() + np.arange((~whole).sum())
    slot = np.full(len(knots), -1, np.int64)
    slot[np.searchsorted(knots, out, side="left")] = rank
    return slot, rank


def _closed(balance: Balance, water: list[float], heat: list[float]) -> None:
    """Refuse a run whose balances do not close: its numbers look whole and are not."""
    passed_kg = sum(abs(v) for v in water) + abs(balance.water_stored_kg_m2) + 1e-6
    passed_j = sum(abs(v) for v in heat) + abs(balance.heat_stored_j_m2) + 1.0
    if abs(balance.water_residual_kg_m2) > BALANCE_SHARE * passed_kg or abs(balance.heat_residual_j_m2) > BALANCE_SHARE * passed_j:
        raise SolveError(
            f"{balance.water_residual_kg_m2:.3g} kg/m2 of water and {balance.heat_residual_j_m2:.3g} J/m2 of heat are not accounted for",
            path="balance", hint="look for a liquid conductivity beyond all measure near saturation",
        )  # fmt: skip


def finish(work: Work) -> March:
    """Gather the results of a run.

    Parameters
    ----------
    work : Work
        After `Work.run`.

    Returns
    -------
    march : March
        Results in order of time.

    Raises
    ------
    SolveError
        If the balance of water or heat does not close.

    References
    ----------
    own derivation
    """
    dx, kept = 2.0 * work.grid.half_m, work.kept
    stored = ((work.state - work.start) * dx[:, None]).sum(axis=0)
    water, heat = ([float(v) for v in row] for row in kept.balance)
    balance = Balance(water[0], water[1], water[2], float(stored[0]), float(stored[0]) - sum(water),
                      heat[0], heat[1], heat[2], float(stored[1]), float(stored[1]) - sum(heat))  # fmt: skip
    _closed(balance, water, heat)
    steps = int(kept.counts[0])
    return March(
        position_m=np.cumsum(dx) - 0.5 * dx, profile_time_s=work.profile_time, content_kg_m3=kept.content_kg_m3,
        temperature_k=kept.temperature_c + ZERO_CELSIUS_K, time_s=work.record_time, probe_humidity=kept.probes[work.order, :, 0],
        probe_temperature_k=kept.probes[work.order, :, 1] + ZERO_CELSIUS_K, layer_water_kg_m2=kept.layer_kg_m2[work.order],
        balance=balance, steps=steps, refused_steps=int(kept.counts[1]), mean_step_error=float(kept.counts[5]) / max(steps, 1),
    )  # fmt: skip
