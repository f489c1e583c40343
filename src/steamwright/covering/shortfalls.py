"""What the shrink test finds, in sentences that a person can act on: which surface, where on it, what is wrong, how much is there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from steamwright.covering.least_lap import Limit
from steamwright.covering.lying import pipe_words
from steamwright.covering.model import Piece
from steamwright.covering.places import mm, place_on
from steamwright.covering.room_facts import JointSide, RoomFacts
from steamwright.covering.segments import Indices
from steamwright.covering.shrink import GAP_M2, Shrink
from steamwright.covering.spans import Span
from steamwright.room.model import CoveredBy, FacetKind

PLACES_A_FACET = 6
"""A surface that fails in more places than these is told about in its largest ones."""
SHORTEST_M = 1e-3


class Shortfalls:
    """Words for everything that fails at one lap."""

    def __init__(self, facts: RoomFacts, pieces: Sequence[Piece], shrink: Shrink, held: set[str], lap_m: float) -> None:
        self.facts, self.pieces, self.shrink, self.held, self.lap_m = facts, pieces, shrink, held, lap_m

    def all(self) -> list[str]:
        """Every failing place at the lap, facets first, then joints."""
        out = [s for facet in self.shrink.covered for s in self.of_facet(facet)]
        bare = self.shrink.bare(self.shrink.joints, self.lap_m)
        for j in self.shrink.joints:
            out += self._of_crossing(j, bare.get(j, []))
            out += self._of_legs(j)
        return out

    def of_limit(self, limit: Limit) -> str:
        """The place that limits the lap; the lap of this judgement is one step more than what passes."""
        if limit.facet is not None:
            gap = self.shrink.gap(limit.facet, self.lap_m)
            parts = [] if gap is None else sorted(shapely.get_parts(gap), key=lambda g: (-round(g.area, 9), g.bounds))
            found = [self._part(limit.facet, g, limit.lap_m) for g in parts[:1]]
        elif limit.joint is not None:
            j = limit.joint
            found = self._of_crossing(j, self.shrink.bare([j], self.lap_m).get(j, []), limit.lap_m)
            found += self._of_legs(j, limit.lap_m)
        else:
            found = []
        return found[0] if found else ""

    def of_facet(self, facet: str) -> list[str]:
        """What is bare or short on one facet."""
        gap = self.shrink.gap(facet, self.lap_m)
        if gap is None:
            return []
        surface = self.facts.surfaces[facet].facet
        on = self.shrink.on[facet]
        if not len(on):
            return [f"uncovered {'pan' if surface.kind is FacetKind.FLOOR else surface.kind.value.replace('_', ' ')}: "
                    f"no piece lies on {surface.name}"]
        parts = sorted(shapely.get_parts(gap), key=lambda g: (-round(g.area, 9), g.bounds))
        parts = [g for g in parts if g.area > GAP_M2 / 10]
        told = [words for g in parts if (words := self._part(facet, g))]
        more = len(told) - PLACES_A_FACET
        return told[:PLACES_A_FACET] + ([f"{surface.name}: and in {more} smaller places"] if more > 0 else [])

    def _part(self, facet: str, gap: BaseGeometry, lap_m: float | None = None) -> str:
        """One bare or short place of a facet; where its lap is known it need not be looked for."""
        s = self.facts.surfaces[facet]
        for pipe, circle in s.pipes:
            if pipe.id not in self.held and circle.distance(gap) < 2e-3 and gap.distance(Point(pipe.center_m)) < pipe.diameter_m / 2 + 3e-3:
                return f"no collar holds {pipe_words(s, pipe)}"
        on = self.shrink.on[facet]
        empty = gap.difference(shapely.union_all(self.shrink.ground[on]))
        if empty.area > GAP_M2:
            at = empty.representative_point()
            return f"bare: {place_on(s.facet, (at.x, at.y))}; no piece lies there, {empty.area * 1e4:.1f} cm²"
        at = gap.representative_point()
        near = on[shapely.intersects(self.shrink.ground[on], gap)]
        names = _listed([self.pieces[i].id for i in self.shrink.piece[near[shapely.intersects(self.shrink.ground[near], at)]]])
        if lap_m is not None:
            return f"lap of {mm(lap_m)}: {place_on(s.facet, (at.x, at.y))}; {names}"
        here = self._lap_of(gap, near)
        what = "butt, no lap" if here < 1e-3 else f"lap short, {mm(here)} of {mm(self.lap_m)}"
        return f"{what}: {place_on(s.facet, (at.x, at.y))}; {names}"

    def _lap_of(self, gap: BaseGeometry, near: Indices) -> float:
        """The lap that is there: the largest for which what is left still covers the gap. [m]"""
        low, high = 0.0, self.lap_m
        while high - low > 5e-5:
            middle = (low + high) / 2.0
            rest = gap.difference(shapely.union_all(self.shrink.left_at(near, np.full(len(near), gap), middle)))
            self.shrink.forget(middle)
            low, high = (low, middle) if rest.area > GAP_M2 / 10 else (middle, high)
        return low

    def _between(self, joint: int) -> str:
        a, b = self.facts.joints[joint].joint.facets
        return f"{self.facts.name(a)} and {self.facts.name(b)}"

    def _of_crossing(self, joint: int, stretches: list[Span], lap_m: float | None = None) -> list[str]:
        """Stretches of a joint that nothing crosses, or where what crosses it has the least lap."""
        line = self.facts.joints[joint]
        side = min(line.sides, key=lambda s: self.facts.surfaces[s.facet].facet.covering_by is not CoveredBy.PIECES)
        surface = self.facts.surfaces[side.facet].facet
        run = (side.line_m[1] - side.line_m[0]) / line.length_m
        out = []
        raw = self.shrink.bare([joint], 0.0).get(joint, []) if stretches else []
        for low, high in stretches:
            if high - low < SHORTEST_M:
                continue
            s, t = side.line_m[0] + run * (low + high) / 2.0
            place = place_on(surface, (float(s), float(t)))
            if lap_m is not None:
                out.append(f"lap of {mm(lap_m)}: the joint between {self._between(joint)}, {place}")
                continue
            if any(min(high, b) - max(low, a) > SHORTEST_M for a, b in raw):
                what = f"nothing crosses the joint between {self._between(joint)}"
            else:
                what = f"no piece crosses the joint between {self._between(joint)} with a lap of {mm(self.lap_m)}"
            out.append(f"{what} over {mm(high - low)}: {place}")
        return out

    def _of_legs(self, joint: int, lap_m: float | None = None) -> list[str]:
        """Legs over a joint on somebody else's membrane that are short, or the least."""
        sides = self.shrink.legs(joint)
        return [self._leg(joint, side, gap, lap_m) for side, gap in zip(sides, self.shrink.leg_gaps(sides, self.lap_m), strict=True)
                if gap is not None]

    def _leg(self, joint: int, side: JointSide, gap: BaseGeometry, lap_m: float | None) -> str:
        """A leg on somebody else's membrane."""
        surface = self.facts.surfaces[side.facet].facet
        at = gap.representative_point()
        if lap_m is not None:
            return f"lap of {mm(lap_m)}: the joint between {self._between(joint)}, {place_on(surface, (at.x, at.y))}"
        return f"leg on the membrane of {surface.name} short of {mm(self.lap_m)}, from the joint between {self._between(joint)}: " \
               f"{place_on(surface, (at.x, at.y))}"


def _listed(names: list[str]) -> str:
    """Piece numbers as words."""
    unique = list(dict.fromkeys(names))
    return f"piece{'s' if len(unique) > 1 else ''} {', '.join(unique)}"
