"""Framing laid out from the room: field supports at their spacing, and a support along every edge of every facet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from steamwright.covering.boards.footing import TOPS, stands
from steamwright.covering.boards.ground import BENCH, FLAT_DEG, LYING, NOT_CUT, RECESS, Ground
from steamwright.covering.boards.offsets import Edge
from steamwright.covering.boards.sections import Rings, less, rings_of, section
from steamwright.geometry.frame import Point2
from steamwright.room.model import FacetKind

_SHORTEST_M = 0.0381
_LEVEL_SLOPE = 0.02


@dataclass(frozen=True, slots=True)
class Member:
    """The middle of a support in a ground's (a, b). [m]"""

    kind: str
    start_m: Point2
    end_m: Point2
    reason: str


@dataclass(frozen=True, slots=True)
class Field:
    """A field support at ``a_m`` and the stretches of b along which it stands. [m]"""

    a_m: float
    spans_m: tuple[tuple[float, float], ...]


def edge_members(ground: Ground) -> tuple[Member, ...]:
    """Supports along the edges of a facet: plates, ledgers, backing, frames round openings, niches and benches.

    Parameters
    ----------
    ground : Ground
        A framed facet.

    Returns
    -------
    members : tuple of Member
        Their middles half a bearing inside the edge, so that their faces end flush with it; plates lie on the slab, and what
        runs up stands on them.

    References
    ----------
    common practice, no source
    """
    runs: list[tuple[str, str, Edge]] = []
    for e in ground.edges:
        if e.other is FacetKind.FLOOR and stands(ground.facet, e):
            continue
        kind, reason = _kind(ground, e)
        if runs and runs[-1][0] == kind and _goes_on(runs[-1][2], e):
            last = runs.pop()[2]
            e = Edge(last.start_m, e.end_m, e.other, e.angle_deg, e.deduct_m)
        runs.append((kind, reason, e))
    half_m = ground.bearing_m / 2
    found = [m for kind, reason, e in runs if (m := _inside(kind, reason, e, half_m)) is not None]
    feet = [m for p, q in ground.feet if (m := _inside("plate", "on the slab", Edge(p, q, None, 180.0, 0.0), half_m)) is not None]
    return (*(_run_down(ground, m) for m in found), *feet, *_over_the_bed(ground))


def _run_down(ground: Ground, m: Member) -> Member:
    """A member that runs up from the lower edge of a facet, made to stand on the slab."""
    if not _is_upright(m) or not ground.feet:
        return m
    low, high = sorted((m.start_m, m.end_m), key=lambda p: p[1])
    at, middle = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
    here, run = (next((lo for lo, hi in section(rings_of(g), at) if lo <= middle <= hi), None) for g in (ground.whole, ground.standing))
    if here is None or run is None or run > low[1] - _SHORTEST_M / 2 or abs(here - low[1]) > ground.bearing_m:
        return m
    foot = (high[0] + (low[0] - high[0]) * (high[1] - run) / (high[1] - low[1]), run)
    return Member(m.kind, foot if m.start_m is low else m.start_m, foot if m.end_m is low else m.end_m, m.reason)


def _is_upright(m: Member) -> bool:
    return abs(m.end_m[0] - m.start_m[0]) < 0.1 * abs(m.end_m[1] - m.start_m[1])


def _over_the_bed(ground: Ground) -> list[Member]:
    """Level blocking for lower edges of boards that stand on a bed, over the plate."""
    out, rings = [], rings_of(ground.standing)
    for e in ground.edges:
        if e.other is FacetKind.FLOOR and stands(ground.facet, e) and e.end_m[0] - e.start_m[0] > _SHORTEST_M:
            edge, at = max(e.start_m[1], e.end_m[1]), (e.start_m[0] + e.end_m[0]) / 2
            slab, top = next(((lo, hi) for lo, hi in section(rings, at) if lo < edge < hi), (edge, edge))
            if edge - slab > ground.bearing_m / 2 and top - edge > 2 * ground.bearing_m:
                b = edge + ground.bearing_m / 2
                out.append(Member("blocking", (e.start_m[0], b), (e.end_m[0], b), "over the pan's bed"))
    return out


def _goes_on(a: Edge, b: Edge) -> bool:
    if math.dist(a.end_m, b.start_m) > 1e-4:
        return False
    u, w = (a.end_m[0] - a.start_m[0], a.end_m[1] - a.start_m[1]), (b.end_m[0] - b.start_m[0], b.end_m[1] - b.start_m[1])
    return abs(u[0] * w[1] - u[1] * w[0]) < 1e-3 * math.hypot(*u) * math.hypot(*w)


def _inside(kind: str, reason: str, e: Edge, half_m: float) -> Member | None:
    length = math.dist(e.start_m, e.end_m)
    if length < _SHORTEST_M:
        return None
    n = (-(e.end_m[1] - e.start_m[1]) / length * half_m, (e.end_m[0] - e.start_m[0]) / length * half_m)
    return Member(kind, (e.start_m[0] + n[0], e.start_m[1] + n[1]), (e.end_m[0] + n[0], e.end_m[1] + n[1]), reason)


def _kind(ground: Ground, e: Edge) -> tuple[str, str]:
    """What stands along an edge, and what for."""
    da, db = abs(e.end_m[0] - e.start_m[0]), abs(e.end_m[1] - e.start_m[1])
    lying = ground.facet.kind in LYING
    if e.other in RECESS or (e.other is None and lying is False):
        return "frame", "round an opening or niche"
    if e.other in BENCH:
        return "frame", "at a bench"
    if e.other in TOPS and stands(ground.facet, e):
        return "frame", "at a curb or half wall"
    if abs(e.angle_deg - 180.0) < FLAT_DEG:
        return "backing", "where two facets meet nearly flat"
    if lying:
        return ("ledger", "at the wall") if e.angle_deg < 180.0 else ("backing", "at an outside corner")
    if db > da:
        return ("backing", "inside corner") if e.angle_deg < 180.0 else ("stud", "outside corner")
    if e.other is FacetKind.CEILING and db > _LEVEL_SLOPE * da:
        return "backing", "raked wall top"
    return "plate", "at the ceiling" if e.other in (FacetKind.CEILING, FacetKind.SOFFIT) else "at a top"


def field_members(ground: Ground, edges: Sequence[Member]) -> tuple[Field, ...]:
    """Studs or joists as found, else at their spacing from the wall's first corner, less where an edge support stands anyhow.

    Parameters
    ----------
    ground : Ground
        A framed facet.
    edges : sequence of Member
        Its supports along edges.

    Returns
    -------
    fields : tuple of Field
        From low to high a.

    References
    ----------
    common practice, no source
    """
    rings: Rings = rings_of(ground.standing)
    a0, _, a1, _ = ground.whole.bounds
    upright = [m for m in edges if _is_upright(m)]
    step, width = ground.spacing_m, ground.bearing_m
    k = math.ceil((a0 - ground.first_a_m) / step - 1e-9)
    count = max(0, math.ceil((a1 - ground.first_a_m) / step - 1e-9) - k)
    out = []
    for a in [x for x in ground.said_a_m if a0 < x < a1] if ground.said_a_m else [ground.first_a_m + (k + n) * step for n in range(count)]:
        near = [tuple(sorted((m.start_m[1], m.end_m[1]))) for m in upright if abs((m.start_m[0] + m.end_m[0]) / 2 - a) < width]
        spans = less(section(rings, a), [(lo - width, hi + width) for lo, hi in near], _SHORTEST_M)
        if spans:
            out.append(Field(a, tuple(spans)))
    return tuple(out)


def blocking_members(ground: Ground) -> tuple[Member, ...]:
    """Blocking for what is screwed on later: hinges, clamps, bars, planned screws.

    Parameters
    ----------
    ground : Ground
        A framed facet.

    Returns
    -------
    members : tuple of Member
        One row for each height, a bay to either side of what it carries.

    References
    ----------
    ADA-2010; common practice, no source
    """
    rings = rings_of(ground.whole)
    rows: list[Member] = []
    for p, (a, b) in sorted(((p, at) for p, at in ground.pipes if p.kind in NOT_CUT), key=lambda x: (x[1][1], x[1][0])):
        if any(abs(m.start_m[1] - b) < ground.bearing_m / 2 and m.start_m[0] <= a <= m.end_m[0] for m in rows):
            continue
        for lo, hi in section(rings, b, axis=1):
            if lo <= a <= hi:
                span = (max(lo, a - ground.spacing_m), min(hi, a + ground.spacing_m))
                rows.append(Member("blocking", (span[0], b), (span[1], b), f"for {p.name or p.kind.replace('_', ' ')}"))
    return tuple(rows)
