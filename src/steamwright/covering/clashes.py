"""Wishes that cannot all be met: which clashes with which, and the nearest that works."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString

from steamwright.covering.draft import Draft
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.inputs import CoveringWishes, NoSeam
from steamwright.covering.model import UPRIGHT, FieldChoice, Role, Scheme
from steamwright.covering.pins import Pins, SeamLine
from steamwright.covering.scheme import asked_way
from steamwright.errors import ClashError
from steamwright.geometry.frame import Floats
from steamwright.units import format_length

NARROWEST_M = 0.15
LEVEL_RATIO = 0.02
EDGE_M = 1e-4
CLEAR_M = 1e-3
PART = re.compile(r" (\d+|\(\d+\))$")


@dataclass(frozen=True, slots=True)
class Barred:
    """A stretch across a seam in which its middle may not lie, and why."""

    low_m: float
    high_m: float
    words: str


def refuse_clashes(terrain: Terrain, wishes: CoveringWishes, pins: Pins) -> None:
    """Refuse pinned seams that rules, zones, pinned pieces or other pinned seams leave no room for.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        What a person chooses.
    pins : Pins
        The same, in the room.

    Raises
    ------
    ClashError
        For the first such seam, with the nearest place that is free of all of them; before that for a direction or a zone on
        a part of a surface that the surface does not have, and for a zone beyond the end of its surface.

    References
    ----------
    own derivation
    """
    _refuse_missing_parts(terrain, wishes)
    _refuse_zones_beyond(terrain, wishes)
    for line in pins.lines:
        if line.wish is None:
            continue
        ground = terrain.grounds[line.facet]
        axis = 0 if wishes.seam[line.wish].along_m is not None else 1
        at, low = line.ends_m[0][axis], ground.polygon.bounds[axis]
        barred = _barred(terrain, ground, wishes, pins, line, axis)
        hit = [b for b in barred if b.low_m + EDGE_M < at < b.high_m - EDGE_M]
        if not hit:
            continue
        key = "along" if axis == 0 else "up"
        free = _nearest_free(barred, at)
        nearest = "no place on this surface is free of all that bars it" if free is None else \
            f"the nearest that works is {format_length(free - low)}: {key} = \"{free - low:.4f} m\""
        raise ClashError(f"a seam {format_length(at - low)} {key} on {ground.facet.name} {hit[0].words}",
                         path=f"covering.seam[{line.wish}]", hint=nearest)


def _refuse_missing_parts(terrain: Terrain, wishes: CoveringWishes) -> None:
    """Refuse “floor 9” on a floor of five facets: unmet, the wish would be left out in silence."""
    facets = [g.facet for g in terrain.grounds.values()]
    said = [(f"covering.direction[{k}].on", d.on) for k, d in enumerate(wishes.direction)]
    said += [(f"covering.no_seam[{k}].on", z.on) for k, z in enumerate(wishes.no_seam)]
    for path, name in said:
        parts = [f.name for f in facets if f.surface == PART.sub("", name)]
        if parts and not any(f.called(name) for f in facets):
            raise ClashError(f"there is no {name}", path=path, hint=f"name one of: {', '.join(parts)}")


def _refuse_zones_beyond(terrain: Terrain, wishes: CoveringWishes) -> None:
    """Refuse a zone that begins where its surface has ended: it would keep no seam out of anything."""
    for k, zone in enumerate(wishes.no_seam):
        boxes = np.array([g.polygon.bounds for g in terrain.grounds.values() if g.by_pieces and g.facet.called(zone.on)]).reshape(-1, 4)
        if not len(boxes):
            continue
        wide, high = (boxes[:, 2:] - boxes[:, :2]).max(axis=0).tolist()
        ends_m, edge = {"along": (wide, "its left edge"), "up": (high, "its lower edge")}.get(
            zone.measured, (max(wide, high), "its left or lower edge, across the sheets"))
        if zone.from_m > ends_m - CLEAR_M:
            raise ClashError(f"the zone on {zone.on} begins {format_length(zone.from_m)} from {edge}, and the surface ends at"
                             f" {format_length(ends_m)}", path=f"covering.no_seam[{k}].from",
                             hint=f"measure from {edge}, or take the zone out")


def _nearest_free(barred: Sequence[Barred], at: float) -> float | None:
    ends = [e for b in barred for e in (b.low_m, b.high_m) if np.isfinite(e)]
    free = [e for e in ends if not any(b.low_m + EDGE_M < e < b.high_m - EDGE_M for b in barred)]
    return min(free, key=lambda e: (abs(e - at), e), default=None)


def _barred(terrain: Terrain, ground: Ground, wishes: CoveringWishes, pins: Pins, line: SeamLine, axis: int) -> list[Barred]:
    half, lap = terrain.lap_m / 2, terrain.lap_m
    low, high = ground.polygon.bounds[axis], ground.polygon.bounds[axis + 2]
    edge = NARROWEST_M - half
    out = [Barred(-np.inf, low + edge, f"leaves a sheet narrower than {format_length(NARROWEST_M)} at the edge"),
           Barred(high - edge, np.inf, f"leaves a sheet narrower than {format_length(NARROWEST_M)} at the edge")]
    for joint in ground.joints:
        ends = terrain.line(ground.facet.id, joint)[:, axis]
        if abs(ends[1] - ends[0]) < wishes.seam_clear_m / 4:
            reach = wishes.seam_clear_m + half
            other = terrain.grounds[terrain.far_side(joint, ground.facet.id)].facet.name
            words = f"lies nearer than {format_length(wishes.seam_clear_m)} (covering.seam_clear) to the corner with {other}"
            out.append(Barred(float(ends.min()) - reach, float(ends.max()) + reach, words))
    for pipe, _ in ground.holes:
        reach = pipe.diameter_m / 2 + lap + half
        at = pipe.center_m[axis]
        out.append(Barred(at - reach, at + reach, f"runs under the flange of the collar at “{pipe.name}”"))
    for k, zone in enumerate(wishes.no_seam):
        if ground.facet.called(zone.on) and zone.measured in ("across", ("along", "up")[axis]):
            words = f"lies in the zone that covering.no_seam[{k}] keeps free of seams"
            out.append(Barred(low + zone.from_m - half, low + zone.to_m + half, words))
    for other_line in pins.lines:
        if other_line.wish is not None and line.wish is not None and other_line.wish < line.wish and other_line.facet == line.facet:
            at, gap = other_line.ends_m[0][axis], max(NARROWEST_M - lap, lap + CLEAR_M)
            words = f"leaves a sheet narrower than {format_length(NARROWEST_M)} beside the seam of covering.seam[{other_line.wish}]"
            out.append(Barred(at - gap, at + gap, words))
    return out + _under_pieces(ground, pins, axis, half)


def _under_pieces(ground: Ground, pins: Pins, axis: int, half_m: float) -> list[Barred]:
    """A pinned sheet that lies from edge to edge of the facet lets no seam run through it."""
    out = []
    low, high = ground.polygon.bounds[1 - axis], ground.polygon.bounds[3 - axis]
    for pinned in pins.pieces:
        shape = pinned.body.get(ground.facet.id)
        if pinned.draft.role is not Role.SHEET or shape is None or shape.is_empty:
            continue
        box = shape.bounds
        if box[3 - axis] - box[1 - axis] > (high - low) / 2:
            inset = half_m + 2 * CLEAR_M
            words = f"runs through piece {pinned.draft.name}, which is cut or set already"
            out.append(Barred(box[axis] + inset, box[axis + 2] - inset, words))
    return out


def in_zone(terrain: Terrain, zone: NoSeam, choice: FieldChoice, drafts: Sequence[Draft]) -> list[float]:
    """Find where seams of a field lie in a zone that is to be free of them.

    Parameters
    ----------
    terrain : Terrain
        The room.
    zone : NoSeam
        The zone; it speaks of the field's first facet.
    choice : FieldChoice
        The field.
    drafts : sequence of Draft
        Its strips.

    Returns
    -------
    edges_m : list of float
        Edges of sheets, measured as the zone is, in order. [m]

    References
    ----------
    own derivation
    """
    ground = terrain.grounds[choice.root]
    if not ground.facet.called(zone.on):
        return []
    axis = _axis(zone, choice)
    edges = _seam_edges(ground, drafts, axis) - ground.polygon.bounds[axis]
    return sorted(float(e) for e in edges if zone.from_m + CLEAR_M < e < zone.to_m - CLEAR_M)


def refuse_folds(terrain: Terrain, wishes: CoveringWishes, scheme: Scheme) -> None:
    """Refuse wishes for folds and bands between surfaces that do not meet, or that no joint of theirs has room for.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        What a person chooses.
    scheme : Scheme
        The layout that was found; where a leg has no room it closes the joint in another way.

    Raises
    ------
    ClashError
        With the way that works.

    References
    ----------
    own derivation
    """
    closed = dict(scheme.folds)
    for k, wish in enumerate(wishes.fold):
        joints = [j.id for j in terrain.joints.values() if asked_way(terrain, j, wish) is not None]
        if not joints:
            raise ClashError(f"{wish.from_surface} and {wish.onto} do not meet, so no joint of theirs can be closed by a {wish.by}",
                             path=f"covering.fold[{k}]", hint="name two surfaces that share a joint")
        ways = [(closed.get(j) or "", asked_way(terrain, terrain.joints[j], wish)) for j in joints]
        if not any(way == asked for way, asked in ways):
            turning = {terrain.grounds[way].facet.surface if way else "" for way, _ in ways}
            way = "by = \"band\"" if "" in turning else f"sheets of {min(turning)} folded over"
            raise ClashError(f"the joint of {wish.from_surface} and {wish.onto} cannot be closed by a {wish.by} as asked and be lap-tight:"
                             " a leg has no room there", path=f"covering.fold[{k}]", hint=f"the nearest that works is {way}")


def refuse_unmet(terrain: Terrain, wishes: CoveringWishes, fields: Sequence[tuple[FieldChoice, Sequence[Draft]]], pins: Pins) -> None:
    """Refuse a layout with a seam in a forbidden zone, or without one that is pinned.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        What a person chooses.
    fields : sequence of (FieldChoice, sequence of Draft)
        The layout: every field and its strips.
    pins : Pins
        What is pinned.

    Raises
    ------
    ClashError
        With the widest zone that this layout keeps free.

    References
    ----------
    own derivation
    """
    for k, zone in enumerate(wishes.no_seam):
        for choice, drafts in fields:
            inside = in_zone(terrain, zone, choice, drafts)
            if inside:
                raise _zone_clash(terrain, wishes, k, inside)
    every = [d for _, drafts in fields for d in drafts] + [p.draft for p in pins.pieces]
    for line in pins.lines:
        if line.wish is None:
            continue
        ground, axis = terrain.grounds[line.facet], 0 if wishes.seam[line.wish].along_m is not None else 1
        found = _seam_edges(ground, every, axis)
        half = terrain.lap_m / 2
        if not all(np.any(np.abs(found - e) < CLEAR_M) for e in (line.ends_m[0][axis] - half, line.ends_m[0][axis] + half)):
            raise ClashError(f"no layout found has the seam on {ground.facet.name}: what else is said of it leaves no room",
                             path=f"covering.seam[{line.wish}]", hint="take out the direction, fold or pinned piece that is in its way")


def _zone_clash(terrain: Terrain, wishes: CoveringWishes, number: int, inside: list[float]) -> ClashError:
    zone, lap, roll = wishes.no_seam[number], terrain.lap_m, wishes.roll_width_m
    stops = [zone.from_m, *inside, zone.to_m]
    start, end = max(pairwise(stops), key=lambda s: (round(s[1] - s[0], 6), -s[0]))
    what = f"no layout found keeps seams out of {zone.on} from {format_length(zone.from_m)} to {format_length(zone.to_m)}"
    if zone.to_m - zone.from_m > roll - 2 * lap:
        free = format_length(roll - 2 * lap)
        what += f": between its laps of {format_length(lap)} a sheet of {format_length(roll)} covers {free} without a seam"
    else:
        what += ", since corners, pipes and pinned pieces there leave the seams no other place"
    return ClashError(what, path=f"covering.no_seam[{number}]",
                      hint=f"the nearest that works is from {format_length(start)} to {format_length(end)}:"
                      f" from = \"{start:.4f} m\", to = \"{end:.4f} m\"")


def _axis(zone: NoSeam, choice: FieldChoice) -> int:
    if zone.measured != "across":
        return 0 if zone.measured == "along" else 1
    return 0 if choice.strips.direction == UPRIGHT else 1


def _seam_edges(ground: Ground, drafts: Sequence[Draft], axis: int) -> Floats:
    """Where edges of sheets run straight across the facet, away from its own edges."""
    found = []
    rim = ground.polygon.boundary
    for draft in drafts:
        for part in draft.parts:
            if draft.role is not Role.SHEET or part.facet != ground.facet.id:
                continue
            for ring in shapely.get_rings(part.polygon):
                points = shapely.get_coordinates(ring)
                for a, b in pairwise(points):
                    run, off = abs(b[1 - axis] - a[1 - axis]), abs(b[axis] - a[axis])
                    if run > 2 * CLEAR_M and off < LEVEL_RATIO * run and not LineString([a, b]).centroid.dwithin(rim, 2 * CLEAR_M):
                        found.append(float(a[axis] + b[axis]) / 2)
    return np.array(found)
