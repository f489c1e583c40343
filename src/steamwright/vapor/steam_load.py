"""The steam load: generator, water and condensate from the real surfaces, beside the trade's rule of thumb."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.moist_air import (
    CP_VAPOR_J_KGK,
    CP_WATER_J_KGK,
    LATENT_HEAT_0C_J_KG,
    ZERO_CELSIUS_K,
    density_kg_m3,
    enthalpy_j_kg,
    humidity_ratio,
    saturation_pressure_pa,
    vapor_density_kg_m3,
)
from steamwright.physics.panels_under_air import under_air
from steamwright.physics.steam_room import SKIN_HEIGHT_M, SKIN_K, SKIN_M2, Panel, door_flow_m3_s
from steamwright.physics.steam_size import STIRRING_BAND, next_room_hours, rule_of_thumb_w
from steamwright.physics.wet_surface import condensation
from steamwright.room.inputs import Opening
from steamwright.room.model import FacetKind
from steamwright.vapor.case import Case, Group, groups_of
from steamwright.vapor.ceiling_water import ceiling_water
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.panels import panels_of
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import COOL, HEATED_HUMIDITY, HEATED_K
from steamwright.vapor.sizing import CELLS, sizings
from steamwright.vapor.steam_model import Band, Load, Moment, NextRoom, SteamLoad, Supply

Floats = NDArray[np.float64]

WARM_STEP_MIN, HELD_STEP_MIN = 1.0, 2.0
FEWEST, MOST = 8, 60
BOIL_K = ZERO_CELSIUS_K + 100.0
STEAM_J_KG = LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * 100.0
MAKE_J_KG = STEAM_J_KG - CP_WATER_J_KGK * (practice("generator.feed_k") - ZERO_CELSIUS_K)
COMMON_LEAF_M = (0.7, 2.0)
# Standard ratings of overcurrent devices. [A]
DEVICES = (15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0)
_RULE_NOTE = ("the trade's rule, common practice, no source: a kilowatt a cubic metre with additions; the area of the surfaces, not"
              " the volume, drives the heat")
_RUNS = {"ceiling": "down the slope to the walls, then to the pan", "wall": "down to the pan and its drain", "floor": "to the drain"}


@dataclass(frozen=True, slots=True, eq=False)
class _End:
    """One end of the band: power, and by panel sums over the warm-up and over the session. [W, J, kg, K]"""

    power_w: float
    reached: bool
    warm_n: int
    warm_j: Floats
    held_j: Floats
    warm_kg: Floats
    held_kg: Floats
    held_air_j: Floats
    surface_k: Floats
    air_k: Floats
    warmest_k: Floats
    coldest_k: Floats


@dataclass(frozen=True, slots=True)
class _Doors:
    """Vapor out at one opening and heat out at all; vapor that the whole room holds above that of the house."""

    opening_kg: float
    heat_j: float
    room_kg: float


def steam_load(case: Case) -> SteamLoad:
    """Reckon one session of a room: warm-up, hold and cool-down.

    Parameters
    ----------
    case : Case
        The room.

    Returns
    -------
    load : SteamLoad
        Every number for still air and for air stirred by the jet; the truth lies between.

    Raises
    ------
    InputError
        If the climate is unknown.

    References
    ----------
    own derivation; NEC-210 for the continuous load; common practice, no source for the rule of thumb
    """
    groups = groups_of(case)
    panels = panels_of(case, groups)
    volume = case.finished.volume_m3
    door = next((o for o in case.said.opening if o.kind == "door"), None)
    ends = _ends(panels, volume, case.use)
    reached, held_s = all(e.reached for e in ends), case.use.session_min * 60.0
    around, doors = _around(case.use, volume, door), _doors(case.use, volume, door)
    steam_kg_h = [(e.held_air_j.sum() / held_s + around.session_w[k]) / STEAM_J_KG * 3600.0 for k, e in enumerate(ends)]
    power = [kg / 3600.0 * MAKE_J_KG for kg in steam_kg_h]
    flush = 1.0 + practice("generator.flush_share")
    warm_w = [e.power_w * case.use.warm_up_min * 60.0 for e in ends]
    return SteamLoad(
        air_volume_m3=volume, set_point_k=case.use.set_point_k, warm_up_s=case.use.warm_up_min * 60.0, session_s=held_s,
        generator_w=_band([e.power_w for e in ends]) if reached else None, hold_w=_band(power),
        loads=_loads(groups, ends, case.use, around, power if reached else None), water_kg_h=_band([kg * flush for kg in steam_kg_h]),
        condensate_kg_h=_band([e.held_kg.sum() / held_s * 3600.0 for e in ends]),
        session_water_kg=_band([(w / MAKE_J_KG + kg * held_s / 3600.0) * flush for w, kg in zip(warm_w, steam_kg_h, strict=True)]),
        session_electricity_j=_band([w + p * held_s for w, p in zip(warm_w, power, strict=True)]),
        rule_of_thumb_w=rule_of_thumb_w(volume, _additions(case, groups)), rule_of_thumb_note=_RULE_NOTE,
        supply=_supply(ends[-1].power_w) if reached else None, next_room=_next_room(case, volume, doors),
        ceiling=ceiling_water(case.finished, groups, tuple((ends[-1].held_kg / held_s * 3600.0).tolist())),
        history=_history(case.use, ends[-1]), assumptions=_assumptions(case, groups))


def _band(values: list[float]) -> Band:
    return Band(float(values[0]), float(values[1]))


def _ends(panels: tuple[Panel, ...], volume_m3: float, use: SteamUse) -> tuple[_End, ...]:
    """Both ends of the band, their panels marched side by side: through the warm-up, then at the set point."""
    warm_n = min(max(FEWEST, round(use.warm_up_min / WARM_STEP_MIN)), MOST)
    held_n = min(max(FEWEST, round(use.session_min / HELD_STEP_MIN)), MOST)
    warm_s, held_s = use.warm_up_min * 60.0 / warm_n, use.session_min * 60.0 / held_n
    sized = sizings(panels, volume_m3, use, STIRRING_BAND, warm_n)
    step = np.concatenate((np.full(warm_n, warm_s), np.full(held_n, held_s)))
    n = len(panels)
    air = np.concatenate([np.repeat(np.append(s.air_k, np.full(held_n, use.set_point_k))[:, None], n, axis=1) for s in sized], axis=1)
    wet = np.concatenate([np.repeat(np.append(s.humidity, np.ones(held_n))[:, None], n, axis=1) for s in sized], axis=1)
    got = under_air(panels * len(sized), air, wet, step, np.repeat(STIRRING_BAND, n), HEATED_K, CELLS)
    area, found = np.array([p.area_m2 for p in panels]), []
    for k, s in enumerate(sized):
        mine = slice(k * n, (k + 1) * n)
        j, kg, taken = (rows[:, mine] * step[:, None] * area for rows in (got.heat_w_m2, got.water_kg_m2_s, got.from_air_w_m2))
        surfaces = got.surface_k[:, mine]
        found.append(_End(s.power_w, s.reached, warm_n, j[:warm_n].sum(0), j[warm_n:].sum(0), kg[:warm_n].sum(0), kg[warm_n:].sum(0),
                          taken[warm_n:].sum(0), surfaces[-1], air[:, k * n], surfaces.max(axis=1), surfaces.min(axis=1)))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Around:
    """Heat of the air that changes, of doors and of people, by end of the band, while the room is held; of its air once. [W, J]"""

    change_w: float
    doors_w: float
    people_w: tuple[float, ...]
    air_j: float

    @property
    def session_w(self) -> tuple[float, ...]:
        """All of it. [W]"""
        return tuple(self.change_w + self.doors_w + p for p in self.people_w)


def _around(use: SteamUse, volume: float, door: Opening | None) -> _Around:
    full = float(saturation_pressure_pa(use.set_point_k))
    more = _heat_j_m3(use.set_point_k, full) - _heat_j_m3(HEATED_K, HEATED_HUMIDITY * float(saturation_pressure_pa(HEATED_K)))
    doors = _doors(use, volume, door)
    skin = condensation(use.set_point_k, 1.0, SKIN_K, SKIN_HEIGHT_M, "wall", np.array(STIRRING_BAND)).from_air_w_m2 * SKIN_M2 * use.people
    change_w, doors_w = use.air_changes_1_h / 3600.0 * volume * more, doors.heat_j / (use.session_min * 60.0)
    return _Around(change_w, doors_w, tuple(skin.tolist()), volume * more)


def _doors(use: SteamUse, volume: float, door: Opening | None) -> _Doors:
    """Openings empty no more than the room; what comes in is at the state of the house."""
    full = float(saturation_pressure_pa(use.set_point_k))
    around = HEATED_HUMIDITY * float(saturation_pressure_pa(HEATED_K))
    width, height = COMMON_LEAF_M if door is None else (door.width_m, max(door.top_m - door.bottom_m, 0.5))
    flow = float(door_flow_m3_s(width, height, density_kg_m3(use.set_point_k, full), density_kg_m3(HEATED_K, around)))
    swapped = min(flow * use.door_open_s, volume)
    vapor = float(vapor_density_kg_m3(use.set_point_k, full)) - float(vapor_density_kg_m3(HEATED_K, around))
    heat = _heat_j_m3(use.set_point_k, full) - _heat_j_m3(HEATED_K, around)
    return _Doors(swapped * vapor, use.door_openings * swapped * heat, volume * vapor)


def _heat_j_m3(kelvin: float, vapor_pa: float) -> float:
    ratio = float(humidity_ratio(vapor_pa))
    return float(density_kg_m3(kelvin, vapor_pa)) / (1.0 + ratio) * float(enthalpy_j_kg(kelvin, ratio))


def _loads(groups: tuple[Group, ...], ends: tuple[_End, ...], use: SteamUse, around: _Around,
           power: list[float] | None) -> tuple[Load, ...]:
    """By surface and cause; with the power that holds the room the last row makes up the sums, and is left out without it."""
    warm_s, held_s = use.warm_up_min * 60.0, use.session_min * 60.0
    loads = [
        Load(g.label, g.area_m2, _band([e.warm_j[i] / warm_s for e in ends]), _band([e.held_j[i] / held_s for e in ends]),
             _band([e.warm_kg[i] for e in ends]), _band([e.held_kg[i] / held_s * 3600.0 for e in ends]),
             _band([e.surface_k[i] for e in ends]), _RUNS[g.lie])
        for i, g in enumerate(groups)
    ]  # fmt: skip

    def other(label: str, warm_w: tuple[float, ...], held_w: tuple[float, ...]) -> Load:
        none = Band(0.0, 0.0)
        return Load(label, 0.0, _band(list(warm_w)), _band(list(held_w)), none, none, None, "")

    nothing, change = (0.0, 0.0), (around.change_w,) * 2
    loads += [other("air that changes", (0.5 * around.change_w,) * 2, change), other("door openings", nothing, (around.doors_w,) * 2),
              other("air of the room", (around.air_j / warm_s,) * 2, nothing),
              other("people, steam condensing on them", nothing, around.people_w)]
    if power is not None:
        warm, held = ([sum(ends_w) for ends_w in zip(*((b.still, b.stirred) for b in bands), strict=True)]
                      for bands in ([x.warm_up_w for x in loads], [x.hold_w for x in loads]))
        rest = tuple(e.power_w - w for e, w in zip(ends, warm, strict=True))
        loads.append(other("water brought to the boil, and warm water to the drain", rest,
                           tuple(p - h for p, h in zip(power, held, strict=True))))
    return tuple(loads)


def _additions(case: Case, groups: tuple[Group, ...]) -> tuple[float, ...]:
    massive = {b.id for b in case.buildups if b.framing_kind in ("concrete", "masonry")}
    uprights = [g for g in groups if g.lie == "wall"]
    found = []
    if any(g.buildup in massive for g in uprights):
        found.append(practice("rule.masonry"))
    cold = {f.surface for f in case.finished.facets for g in uprights
            if f.id in g.facets and f.kind is FacetKind.WALL and (g.beyond in COOL or g.beyond.startswith("outdoors"))}
    found += [practice("rule.outside_wall")] * len(cold)
    glass = sum(g.area_m2 for g in groups if g.glass)
    if glass > 0.25 * sum(g.area_m2 for g in uprights):
        found.append(practice("rule.glass"))
    heights = [float(z) for f in case.finished.facets for z in f.frame.lift(f.outline_m)[:, 2]]
    if max(heights) - min(heights) > 2.44:
        found.append(practice("rule.high"))
    return tuple(found)


def _supply(power: float) -> Supply:
    volts = practice("electric.volts_v")
    amps = power / volts
    planned = practice("electric.continuous_ratio") * amps
    device = next((d for d in DEVICES if d >= planned), None)
    return Supply(volts, amps, planned, device,
                  "information for the licensed electrician, single phase, for the upper end of the band; the name plate of the unit that"
                  " is bought, the listing's instructions, the local code and the permit decide")


def _next_room(case: Case, volume: float, doors: _Doors) -> NextRoom:
    use, limit = case.use, practice("next_room.limit")
    session = doors.opening_kg * use.door_openings + doors.room_kg
    hours = next_room_hours(session, use.next_room_m3, use.next_room_exhaust_m3_h, HEATED_K, practice("next_room.before"), HEATED_HUMIDITY,
                            limit)
    return NextRoom(doors.opening_kg, session, hours if np.isfinite(hours) else None, limit,
                    f"a next room of {use.next_room_m3:g} m³ with {use.next_room_exhaust_m3_h:g} m³/h of exhaust, without what"
                    f" its walls take up, with all vapor of the {volume:.1f} m³ let out at once; water on the tile comes on top")


def _history(use: SteamUse, end: _End) -> tuple[Moment, ...]:
    minutes = np.concatenate((np.linspace(0.0, use.warm_up_min, end.warm_n + 1)[1:],
                              use.warm_up_min + np.linspace(0.0, use.session_min, len(end.air_k) - end.warm_n + 1)[1:]))
    rows = zip(minutes, end.air_k, end.warmest_k, end.coldest_k, strict=True)
    return tuple(Moment(float(m), float(a), float(w), float(c)) for m, a, w, c in rows)


def _assumptions(case: Case, groups: tuple[Group, ...]) -> tuple[str, ...]:
    found = [f"coldest month of the climate {case.use.climate!r}; the house at 20 °C and 50 %"]
    if any(g.beyond == "unknown" and not g.glass for g in groups):
        found.append("a side that the job leaves unknown is taken as the colder end: outdoors, attic or ground")
    if any(g.glass for g in groups):
        found.append(f"glass and doors of {practice('glass.thickness_m') * 1e3:.0f} mm")
    if any(g.buildup is None and not g.glass for g in groups):
        found.append(f"floor of tile on {practice('floor.bed_m') * 1e3:.0f} mm of mortar over its liner")
    found.append("one well mixed volume of air: in fact it is cooler at the floor than at the ceiling")
    return tuple(found)
