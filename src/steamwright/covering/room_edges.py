"""What of a room has to be right before a covering can be judged on it: rims, their endings, edges, uncovered surfaces."""

from __future__ import annotations

import numpy as np

from steamwright.covering.places import place_on
from steamwright.covering.room_facts import ROOM_TOL_M, RoomFacts
from steamwright.covering.segments import pared
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
    return out + _loose_edges(facts)


def _rim_words(facts: RoomFacts, rim: Rim) -> str:
    """Name a rim and its middle."""
    facet = facts.surfaces[rim.facet].facet
    middle = facet.frame.drop([np.add(rim.start_m, rim.end_m) / 2.0])[0]
    return f"{rim.id} on {place_on(facet, (float(middle[0]), float(middle[1])))}"


def _loose_edges(facts: RoomFacts) -> list[str]:
    """Stretches of covered facets' edges along which they meet no covered facet and no opening."""
    number = {k: i for i, k in enumerate(facts.surfaces)}
    lines = [(number[k], rim) for k, s in facts.surfaces.items() for rim in s.rims]
    lines += [(number[side.facet], side.line_m) for joint in facts.joints for side in joint.sides]
    # what nobody covers needs neither
    bare = np.array([s.facet.covering_by is CoveredBy.NONE for s in facts.surfaces.values()])
    judged = ~bare[facts.edge_owner]
    owner = np.array([k for k, _ in lines], dtype=np.intp)
    edges, of = pared(np.array([x for _, x in lines]).reshape(-1, 2, 2), owner, facts.edges_m[judged], facts.edge_owner[judged], ROOM_TOL_M)
    length = np.hypot(*(edges[:, 1] - edges[:, 0]).T)
    surfaces = list(facts.surfaces.values())
    return [f"an edge is neither joint nor rim over {length[k]:.3f} m: {place_on(surfaces[of[k]].facet, tuple(edges[k].mean(axis=0)))}"
            for k in np.flatnonzero(length > 4 * ROOM_TOL_M)]
