"""Facts of a plan, flat and in SI, for rules to judge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.buildup.faces import GROUP_OF_KIND
from steamwright.buildup.model import BuildUp
from steamwright.covering.boards.model import BUTT_FAULTS, NO_BOARDS, Boards
from steamwright.covering.model import Covering, Role
from steamwright.covering.places import in_units
from steamwright.plan import overhead, stacked, underfoot
from steamwright.plan.found import widest_bay_m
from steamwright.plan.job import Job
from steamwright.plan.laid import band_leg_m, corner_reach_m, is_at_pan, pan_joints, rim_position
from steamwright.plan.mends import CROWDED
from steamwright.room.flood import flood_over, flood_words
from steamwright.room.inputs import Penetration as SaidPenetration
from steamwright.room.model import CoveredBy, FacetKind, Solid
from steamwright.room.pan import PanReport
from steamwright.room.pan_advice import higher_curb
from steamwright.room.survey_model import SurveyReport
from steamwright.rules.engine import stated
from steamwright.rules.metric import sentence_in_metric
from steamwright.rules.rule import Fact, Facts, PlaceFacts, Value
from steamwright.units import INCH_M, System

TAPE_SD_M = 0.0015875
"""A tape on framing, 1/16 in; common practice, no source."""
FLOOR_MORTAR_M = 0.00238125
"""The least bed under a tile, 3/32 in (ANSI-A108.05 2.2.2)."""
_BARE = "left without a covering"


@dataclass(frozen=True, slots=True)
class Gathered:
    """Everything that facts are taken from."""

    job: Job
    survey: SurveyReport
    membrane: Solid
    finished: Solid
    pan: PanReport
    buildups: tuple[BuildUp, ...]
    covering: Covering
    boards: Boards

    @property
    def spread_m(self) -> float:
        """Two standard deviations of a length between two measured places. [m]"""
        return 2.0 * max([TAPE_SD_M, *(s.sd_m for s in self.survey.stations)])

    @property
    def doors(self) -> tuple[str, ...]:
        """Names of the doors."""
        return tuple(o.name for o in self.job.room.opening if o.kind == "door")

    @property
    def framed_doors(self) -> tuple[str, ...]:
        """Names of the doors that are openings of their own; the others are leaves of a glass wall."""
        surfaces = {f.surface for f in self.finished.facets if f.kind is FacetKind.OPENING}
        return tuple(d for d in self.doors if d in surfaces)

    def said(self, name: str) -> SaidPenetration | None:
        """What the job says about a penetration."""
        return next((p for p in self.job.room.penetration if p.name == name), None)


def gather_facts(job: Job, survey: SurveyReport, membrane: Solid, finished: Solid, pan: PanReport, buildups: Sequence[BuildUp],
                 covering: Covering, boards: Boards | None = None, alternatives: bool = False, mends: str = "") -> Facts:
    """Take from a plan every fact that the rules' vocabulary names.

    Parameters
    ----------
    job : Job
        What was said.
    survey : SurveyReport
        The adjusted survey.
    membrane : Solid
        The room on the membrane face.
    finished : Solid
        The room on the tile.
    pan : PanReport
        The pan.
    buildups : sequence of BuildUp
        All build-ups, with their facets.
    covering : Covering
        Pieces and proof.
    boards : Boards, optional
        Boards on their framing.
    alternatives : bool, optional
        Take the build-ups that are not built in place of those that are.
    mends : str, optional
        What would make a covering lap-tight that is not.

    Returns
    -------
    facts : Facts
        Facts of the room and of its places.

    References
    ----------
    own derivation
    """
    g = Gathered(job, survey, membrane, finished, pan, tuple(buildups), covering, boards or NO_BOARDS)
    high_m, drain_m = underfoot.finished_floor_m(finished, pan, job.tile.thickness_m + FLOOR_MORTAR_M)
    places = {
        "ceilings": _ceilings(g), "standing": _standing(g, high_m), "seats": _seats(g), "ledges": _ledges(g), "floors": _floors(g),
        "curbs": _curbs(g, drain_m), "buildups": _buildups(g, alternatives), "boarded": _boarded(g), "walls": _walls(g),
        "niches": _niches(g), "surfaces": _surfaces(g), "bands": _bands(g),
        "joints_pan": _joints_pan(g),
        "corner_pieces": _corner_pieces(g), "rims": _rims(g), "steam_outlets": _steam_outlets(g, high_m), "penetrations": _penetrations(g),
        "layers": tuple(_place(membrane.facet(c.facet).name, most=float(c.most)) for c in sorted(covering.layers, key=lambda c: -c.most)),
        "doors": _doors(g), "glazing": _glazing(g), "flatness": _flatness(g), "benches_access": _benches(g, high_m),
    }
    return Facts({**_room(g, high_m, drain_m), "lap_advice": Fact(mends or CROWDED)}, places)


def _place(where: str, **facts: Value | Fact) -> PlaceFacts:
    return PlaceFacts(where, {k: v if isinstance(v, Fact) else Fact(v) for k, v in facts.items()})


def _room(g: Gathered, high_m: float, drain_m: float) -> Mapping[str, Fact]:
    use, proof, size = g.job.use, g.covering.proof, underfoot.receptor(g.finished)
    failures = tuple(in_units(f, g.job.units) for f in proof.failures)
    kinds, floor = {p.kind for p in g.finished.penetrations}, underfoot.floor_membrane(g.membrane, g.buildups)
    top_m, threshold_m, seats_m = _wall_top_m(g), _threshold_m(g, high_m), _highest_m(g, FacetKind.BENCH_TOP)
    values: dict[str, Value] = {
        "use_kind": use.kind, "place": use.place, "code": use.code, "set_point_k": use.set_point_k,
        "survey_consistent": g.survey.consistent if g.survey.dof > 0 else None, "survey_dof": float(g.survey.dof),
        "suspect": _reading(g, g.survey.suspect), "advice": "; ".join(g.survey.advice),
        "lap_required_m": g.covering.lap_required_m, "lap_spare_m": g.covering.lap_planned_m - g.covering.lap_required_m,
        "least_lap_m": proof.least_lap_m, "least_lap_where": in_units(proof.where, g.job.units), "tight": proof.tight,
        "failures": failures if len(failures) <= 3 else (*failures[:2], f"and {len(failures) - 2} more places"),
        "receptor_m2": size.area_m2 if size else None, "receptor_narrow_m": size.narrow_m if size else None,
        "receptor_long_m": size.long_m if size else None, "receptor_circle_m": size.circle_m if size else None,
        "drain_diameter_m": g.job.room.pan.drain_diameter_m, "pan": g.pan.membrane, "pan_feasible": g.pan.feasible,
        "pan_sentence": _said(g.pan.sentence, g.job.units).removesuffix("."),
        "pan_advice": _said(g.pan.advice, g.job.units) or "Change the pitch or move the drain",
        "floor_buildup": floor[0], "floor_membrane": floor[1],
        "flood": flood_words(g.pan, g.job.units), "flood_over": flood_over(g.pan),
        "flood_line_m": g.pan.flood_line_over_drain_m,
        "curb_over_drain_m": g.pan.curb_over_drain_m, "flood_fix": _said(higher_curb(g.job.room.curb, g.pan), g.job.units),
        "has_steam_outlet": "steam_outlet" in kinds, "has_light": "light" in kinds,
        "has_valve": "valve" in kinds, "has_seat": seats_m is not None, "has_door": bool(g.doors) or bool(_ways(g)),
        "door_in_glass": not g.doors and bool(_ways(g)),
        "longest_m": _longest_m(g), "dcof": g.job.tile.floor_dcof, "lining_above_threshold_m": top_m - threshold_m,
        "lining_above_seats_m": None if seats_m is None else top_m - seats_m, "wall_cover_m": top_m - drain_m,
        "wall_covered_to_top": not any(_is_bare(f.reason) for f in g.membrane.facets if f.kind is FacetKind.WALL),
    }
    return {name: Fact(value) for name, value in values.items()}


def _reading(g: Gathered, reading_id: str | None) -> str:
    found = next((r for r in g.survey.readings if r.id == reading_id), None)
    return f"{found.kind} {found.of}" if found is not None else reading_id or ""


def _ways(g: Gathered) -> list[str]:
    return [o.name for o in g.job.room.opening if o.kind in ("door", "glass")] + [w.side for w in g.job.room.wall if w.kind == "glass"]


def _wall_top_m(g: Gathered) -> float:
    """Height up to which the lowest wall of the plan is covered; walls beside fixtures do not count."""
    sides = set(g.survey.wall_sides())
    tops = [float(f.frame.lift(f.outline_m)[:, 2].max()) for f in g.membrane.facets if f.kind is FacetKind.WALL and f.surface in sides]
    return min(tops, default=0.0)


def _highest_m(g: Gathered, kind: FacetKind) -> float | None:
    return max((float(f.frame.lift(f.outline_m)[:, 2].max()) for f in g.finished.facets if f.kind is kind), default=None)


def _threshold_m(g: Gathered, high_m: float) -> float:
    sills = [float(f.frame.lift(f.outline_m)[:, 2].max()) for f in g.finished.facets
             if f.kind is FacetKind.CURB_TOP or (f.kind is FacetKind.SILL and any(f.surface.startswith(d + " ") for d in g.doors))]
    return max([high_m, *sills])


def _longest_m(g: Gathered) -> float:
    spans = [float(np.ptp(np.asarray(f.outline_m), axis=0).max()) for f in g.finished.facets if f.covering_by is not CoveredBy.NONE]
    return max(spans, default=0.0)


def _is_bare(reason: str) -> bool:
    return reason.startswith(_BARE)


def _buildup_at(g: Gathered, buildup_id: str | None) -> BuildUp | None:
    return next((b for b in g.buildups if b.id == buildup_id), None)


def _ceilings(g: Gathered) -> tuple[PlaceFacts, ...]:
    found = []
    measured = g.job.room.ceiling.shape == "planes"
    for facet in overhead.ceilings(g.finished):
        fall = overhead.fall_of(facet, g.finished, g.framed_doors)
        run = float(np.ptp(np.asarray(facet.frame.lift(facet.outline_m))[:, :2], axis=0).max())
        buildup = _buildup_at(g, facet.buildup)
        found.append(_place(facet.name, slope_ratio=Fact(fall.slope_ratio, 2.0**0.5 * g.spread_m / run if measured else 0.0),
                            ends_over=fall.over, ends_on=fall.on, runs_behind=", ".join(fall.behind),
                            insulated=None if buildup is None else stacked.is_insulated(buildup)))
    return tuple(found)


def _standing(g: Gathered, high_m: float) -> tuple[PlaceFacts, ...]:
    floors = [f for f in g.finished.facets if f.kind is FacetKind.FLOOR]
    plan = overhead.standing_plan([overhead.plan_polygon(f) for f in floors])
    bonded = g.pan.membrane == "bonded"

    def floor_at_m(x: float, y: float) -> float:
        return max(overhead.height_at_m(f, x, y) for f in floors) if bonded and len(floors) == 1 else high_m

    least = overhead.headroom_m(plan, floor_at_m, overhead.ceilings(g.finished))
    return () if least is None else (_place(f"the floor, under {least[1]}", clear_m=Fact(least[0], g.spread_m)),)


def _seats(g: Gathered) -> tuple[PlaceFacts, ...]:
    found, over = [], overhead.ceilings(g.finished)
    for seat in g.finished.facets:
        if seat.kind is not FacetKind.BENCH_TOP:
            continue
        least = overhead.headroom_m(overhead.sitting_plan(seat), lambda x, y, s=seat: overhead.height_at_m(s, x, y), over)  # type: ignore[misc]
        if least is not None:
            found.append(_place(seat.name, clear_m=Fact(least[0], g.spread_m)))
    return tuple(found)


def _ledges(g: Gathered) -> tuple[PlaceFacts, ...]:
    floor = underfoot.floor_plan(g.finished)
    return tuple(_place(f.name, kind=kind, slope_ratio=overhead.slope_ratio(f), falls_in=underfoot.falls_in(f, floor))
                 for kind, f in underfoot.ledges(g.finished))


def _floors(g: Gathered) -> tuple[PlaceFacts, ...]:
    falls = (*g.pan.walls, *g.pan.corners)
    return tuple(_place(f"the floor from {f.start}", slope_ratio=f.slope) for f in falls if f.slope > overhead.LEVEL_RATIO)


def _curbs(g: Gathered, drain_m: float) -> tuple[PlaceFacts, ...]:
    top = _wall_top_m(g)
    found = []
    for f in g.finished.facets:
        if f.kind is FacetKind.CURB_TOP:
            z = f.frame.lift(f.outline_m)[:, 2]
            found.append(_place(f.name, above_drain_m=float(z.min()) - drain_m, below_sides_m=top - float(z.max())))
    return tuple(found)


def _buildups(g: Gathered, alternatives: bool) -> tuple[PlaceFacts, ...]:
    used = [b for b in g.buildups if (b.alternative_to is not None if alternatives else b.facets)]
    found = []
    for b in used:
        framed = b.framing_kind.endswith(("stud", "joist"))
        found.append(_place(
            b.name, covering=b.covering, membrane=next((x.material for x in b.layers if x.role == "membrane"), ""),
            wished_membrane=g.job.covering.membrane, permeance_kg_pa_s_m2=b.membrane_permeance_kg_pa_s_m2,
            procedure=b.membrane_procedure or None, retarder=stacked.retarder_behind(b), gypsum=stacked.gypsum_board(b),
            boards=tuple(x.name for x in stacked.steam_side(b) if x.role == "board"), unproven_boards=stacked.unproven_boards(b),
            membrane_in_front=stacked.membrane_in_front(b), framing=b.framing_kind, framed=framed,
            steel=b.framing_kind.startswith("steel"), spacing_m=b.framing_spacing_m,
            steel_m=None if b.steel_mil is None else b.steel_mil * stacked.MIL_M, mortar_m=stacked.thinnest_mortar_m(b)))
    return tuple(found)


def _boarded(g: Gathered) -> tuple[PlaceFacts, ...]:
    """Facets with boards: what is wrong with their butts, and boards that no screw holds though they should be screwed."""
    names = {f.id: f.name for f in g.membrane.facets}
    held = {f.board for f in g.boards.fasteners}
    bedded = {b for r in g.boards.remarks if r.kind == "bedded" for b in r.boards}
    found = []
    for facet in dict.fromkeys(b.facet for b in g.boards.pieces):
        butts = tuple(_said(r.sentence, g.job.units).partition(": ")[2] for r in g.boards.remarks
                      if r.facet == facet and r.kind in BUTT_FAULTS)
        loose = tuple(b.id for b in g.boards.of(facet) if b.id not in held and b.id not in bedded)
        found.append(_place(names.get(facet, facet), butts=butts, loose=loose))
    return tuple(found)


def _walls(g: Gathered) -> tuple[PlaceFacts, ...]:
    beyond = {w.side: w.beyond for w in g.job.room.wall}
    by_side: dict[str, str | None] = {}
    for f in g.finished.facets:
        if f.kind is FacetKind.WALL and f.surface in set(g.survey.wall_sides()):
            by_side.setdefault(f.surface, f.buildup)
    stacks = {side: _buildup_at(g, b) for side, b in by_side.items()}
    return tuple(_place(side, beyond=_known(beyond.get(side)), insulated=None if b is None else stacked.is_insulated(b),
                        insulation_m2k_w=None if b is None else stacked.insulation_m2k_w(b),
                        studs_apart_m=widest_bay_m(g.job.room, g.survey, side))
                 for side, b in stacks.items())


def _known(beyond: str | None) -> str | None:
    return None if beyond in (None, "unknown") else beyond


def _niches(g: Gathered) -> tuple[PlaceFacts, ...]:
    beyond = {frozenset(w.side.split("-")): w.beyond for w in g.job.room.wall}
    walls = {frozenset(f.surface.split("-")): _buildup_at(g, f.buildup) for f in g.finished.facets if f.kind is FacetKind.WALL}
    found = []
    for n in g.job.room.niche:
        wall = frozenset(n.wall.split("-"))
        stack = walls.get(wall)
        deep = stack.framing_depth_m if stack is not None and stack.framing_kind.endswith("stud") else None
        left = None if deep is None else max(0.0, deep - n.depth_m)
        words = "" if left is None else _left(left, g.job.units)
        found.append(_place(n.name, depth_m=n.depth_m, framing_m=deep, left_m=left, left=words,
                            outside=beyond.get(wall, "unknown") not in ("heated room", "steam room")))
    return tuple(found)


def _left(left_m: float, system: System) -> str:
    return f"{left_m * 1000:.0f} mm" if system == "metric" else f"{stated(left_m / INCH_M, 'in')} in"


def _said(sentence: str, system: System) -> str:
    """A sentence of a step in the units of the job: steps speak in the trade's."""
    return sentence_in_metric(in_units(sentence, system)) if system == "metric" else sentence


def _surfaces(g: Gathered) -> tuple[PlaceFacts, ...]:
    return tuple(_place(f.name, covered_by="nothing" if _is_bare(f.reason) else f.reason or "pieces of membrane", reason=f.reason)
                 for f in g.membrane.facets if f.kind in GROUP_OF_KIND)


def _bands(g: Gathered) -> tuple[PlaceFacts, ...]:
    legs = [(p.id, band_leg_m(p, g.membrane)) for p in g.covering.pieces if p.role is Role.BAND]
    return tuple(_place(name, leg_m=leg) for name, leg in legs)


def _joints_pan(g: Gathered) -> tuple[PlaceFacts, ...]:
    """Only one code family asks for them, and they take a while to find."""
    legs = pan_joints(g.covering.pieces, g.membrane) if g.job.use.code == "UPC" else ()
    return tuple(_place(joint, leg_m=leg) for joint, leg in legs if leg < np.inf)


def _corner_pieces(g: Gathered) -> tuple[PlaceFacts, ...]:
    reach = [(p.id, corner_reach_m(p, g.membrane)) for p in g.covering.pieces
             if p.role is Role.CORNER_PIECE and is_at_pan(p, g.membrane)]
    return tuple(_place(name, reach_m=r) for name, r in reach)


def _rims(g: Gathered) -> tuple[PlaceFacts, ...]:
    return tuple(_place(f"{g.membrane.facet(r.facet).name} at {g.membrane.facet(r.opening).name}", position=rim_position(r, g.membrane),
                        ending=r.ending or None, reach_m=r.reach_m if r.ending else None, sealed_by=r.sealed_by or None)
                 for r in g.membrane.rims)


def _steam_outlets(g: Gathered, high_m: float) -> tuple[PlaceFacts, ...]:
    found = []
    seats = [f for f in g.finished.facets if f.kind is FacetKind.BENCH_TOP]
    for p in g.finished.penetrations:
        if p.kind != "steam_outlet":
            continue
        said, at = g.said(p.name), g.finished.facet(p.facet).frame.lift([p.center_m])[0]
        away = [overhead.distance_m(f, at) for f in seats]
        seal = None if said is None or said.seal_f is None else (said.seal_f + 459.67) * 5.0 / 9.0
        found.append(_place(p.name, sleeve=(said.sleeve or "") if said else "", seal_k=seal, above_floor_m=float(at[2]) - high_m,
                            from_seat_m=min(away, default=None)))
    return tuple(found)


def _penetrations(g: Gathered) -> tuple[PlaceFacts, ...]:
    crowded = {c.penetration: _said(c.sentence, g.job.units) for c in g.covering.crowded}
    return tuple(_place(p.name, crowding=crowded.get(p.id, "")) for p in g.membrane.penetrations)


def _doors(g: Gathered) -> tuple[PlaceFacts, ...]:
    found = []
    for said in g.job.room.opening:
        if said.kind == "door":
            facet = next((f for f in g.finished.facets if f.kind is FacetKind.OPENING and f.surface == said.name), None)
            width = said.width_m if facet is None else float(np.ptp(np.asarray(facet.outline_m)[:, 0]))
            found.append(_place(said.name, clear_m=Fact(width, g.spread_m), swing=None if said.swing == "none" else said.swing))
    return tuple(found)


def _glazing(g: Gathered) -> tuple[PlaceFacts, ...]:
    panes = [f for f in g.finished.facets if f.kind is FacetKind.OPENING]
    return tuple(_place(f.name, bottom_m=float(f.frame.lift(f.outline_m)[:, 2].min())) for f in panes)


def _flatness(g: Gathered) -> tuple[PlaceFacts, ...]:
    return tuple(_place(f"{f.of}, reading {f.reading}", gap_m=f.gap_m, allowed_m=f.allowed_m, longest_edge_m=g.job.tile.longest_edge_m)
                 for f in g.survey.flatness)


def _benches(g: Gathered, high_m: float) -> tuple[PlaceFacts, ...]:
    found = []
    for b in g.job.room.bench:
        top = next((f for f in g.finished.facets if f.kind is FacetKind.BENCH_TOP and f.name.startswith(b.name)), None)
        if top is not None:
            ring = np.asarray(overhead.plan_polygon(top).minimum_rotated_rectangle.exterior.coords)
            sides = sorted(float(s) for s in np.hypot(*np.diff(ring[:3], axis=0).T))
            high = float(top.frame.lift(top.outline_m)[:, 2].max())
            found.append(_place(b.name, height_m=high - high_m, depth_m=sides[0], length_m=sides[1]))
    return tuple(found)
