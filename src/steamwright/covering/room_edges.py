"""What of a room has to be right before a covering can be judged on it: rims, their endings, edges, uncovered surfaces."""

from __future__ import annotations

import numpy as np

from steamwright.covering.places import place_on
from steamwright.covering.room_facts import ROOM_TOL_M, RoomFacts, Surface
from steamwright.covering.segments import merged, missing, near_parts
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, FacetKind, Rim, Solid

MUST_BE_TIGHT = frozenset({
    FacetKind.FLOOR, FacetKind.WALL, FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.COLUMN, FacetKind.BENCH_TOP, FacetKind.BENCH_FACE,
    FacetKind.NICHE_SIDE, FacetKind.NICHE_BACK})


def room_faults(solid: Solid, facts: RoomFacts) -> list[str]:
    """Find what makes a room one that no covering can make tight.

    Parameters
    ----------
    solid : Solid
        The room.
    facts : RoomFacts
        What is known of it.

    Returns
    -------
    faults : list of str
        Rims without an opening or without an ending, edges that are neither joint nor rim, surfaces that nothing makes tight.

    References
    ----------
    own derivation
    """
    out = [f"rim declared where there is no opening: {_rim_words(facts, rim)}: {why}" for rim, why in facts.dishonest]
    out += [f"rim without an ending: {_rim_words(facts, rim)}; say how the covering ends there and what seals it"
            for rim in solid.rims if not rim.ending.strip()]
    out += [f"{f.name}: nothing makes it tight; a {f.kind.value.replace('_', ' ')} has to be covered"
            for f in solid.facets if f.covering_by is CoveredBy.NONE and f.kind in MUST_BE_TIGHT]
    if all(f.covering_by is not CoveredBy.PIECES for f in solid.facets):
        out.append("no surface of the room is covered by pieces")
    lines: dict[str, list[Floats]] = {k: list(s.rims) for k, s in facts.surfaces.items()}
    for joint in facts.joints:
        for side in joint.sides:
            lines[side.facet].append(side.line_m)
    for k, s in facts.surfaces.items():
        if s.facet.covering_by is not CoveredBy.NONE:
            out += _loose_edges(s, lines[k])
    return out


def _rim_words(facts: RoomFacts, rim: Rim) -> str:
    facet = facts.surfaces[rim.facet].facet
    middle = facet.frame.drop([np.add(rim.start_m, rim.end_m) / 2.0])[0]
    return f"{rim.id} on {place_on(facet, (float(middle[0]), float(middle[1])))}"


def _loose_edges(surface: Surface, lines: list[Floats]) -> list[str]:
    """Stretches of a facet's edges along which it meets no covered facet and no opening."""
    run = surface.edges[:, 1] - surface.edges[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    if lines:
        first, last = near_parts(np.array(lines)[None], surface.edges[:, None], ROOM_TOL_M)
    else:
        first = last = np.zeros((len(length), 0))
    out = []
    for k, edge in enumerate(surface.edges):
        on = last[k] > first[k]
        spans = [(float(a * length[k]), float(b * length[k])) for a, b in zip(first[k][on], last[k][on], strict=True)]
        for low, high in missing(merged(spans), float(length[k])):
            if high - low > 4 * ROOM_TOL_M:
                s, t = edge[0] + run[k] / length[k] * (low + high) / 2.0
                out.append(f"an edge is neither joint nor rim over {high - low:.3f} m: {place_on(surface.facet, (float(s), float(t)))}")
    return out
