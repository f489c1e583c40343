"""A plan arranged for drawing: short marks, what lies on every facet and in which order, control lines."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import shapely
from shapely import Polygon

from steamwright.covering.boards.model import Board
from steamwright.covering.model import Patch, Piece, Role
from steamwright.drawing.lay_lines import LayLine, lay_lines
from steamwright.drawing.scene import Paper
from steamwright.room.model import CoveredBy, Facet, FacetKind, Joint, Penetration, Rim
from steamwright.units import System

if TYPE_CHECKING:
    from steamwright.plan.model import Plan

TABLOID_MM: Paper = (431.8, 279.4)
A3_MM: Paper = (420.0, 297.0)
LETTER = {Role.SHEET: "S", Role.BAND: "B", Role.CORNER_PIECE: "K", Role.COLLAR: "C"}
STANDING = (FacetKind.WALL, FacetKind.COLUMN)
OVERHEAD = (FacetKind.CEILING,)


@dataclass(frozen=True, slots=True)
class Lying:
    """One patch on a facet, with what is to be seen of it. Geometry in the facet's (s, t). [m]

    ``lap`` is where it is the uppermost of two or more pieces; ``hidden`` those of its edges that others cover.
    """

    piece: Piece
    patch: Patch
    polygon: Polygon
    visible: shapely.Geometry
    lap: shapely.Geometry
    hidden: shapely.Geometry
    tone: int


@dataclass(frozen=True, slots=True)
class Digest:
    """The plan and its look-up tables. ``marks`` are the short piece numbers that drawings show."""

    plan: Plan
    system: System
    paper_mm: Paper
    facets: dict[str, Facet]
    pieces: dict[str, Piece]
    marks: dict[str, str]
    patches: dict[str, tuple[tuple[Piece, Patch], ...]]
    joints: dict[str, tuple[Joint, ...]]
    rims: dict[str, tuple[Rim, ...]]
    penetrations: dict[str, tuple[Penetration, ...]]
    names: dict[str, str]
    _lying: dict[str, tuple[Lying, ...]] = field(default_factory=dict)
    _lay_lines: dict[str, tuple[LayLine, ...]] = field(default_factory=dict)

    def lying(self, facet_id: str) -> tuple[Lying, ...]:
        """The patches on a facet, lowest first; worked out once."""
        if facet_id not in self._lying:
            self._lying[facet_id] = _layers(self, facet_id)
        return self._lying[facet_id]

    def lay_lines(self, facet_id: str) -> tuple[LayLine, ...]:
        """The lay lines of a facet; worked out once."""
        if facet_id not in self._lay_lines:
            self._lay_lines[facet_id] = lay_lines(self.facets[facet_id], self.patches.get(facet_id, ()))
        return self._lay_lines[facet_id]

    def mark_of(self, piece: Piece, patch: Patch) -> str:
        """The number on a patch: of a parted blank it ends in the letter of the part."""
        part = next((letter for letter, own in zip("ab", piece.members(), strict=False) if any(q is patch for q in own)), "")
        return f"{self.marks[piece.id]}{part if piece.second_at else ''}"

    def mark_on(self, piece: Piece, facet_id: str) -> str:
        """The number of a piece as it stands on a facet: with the letter of its part where only one of two lies there."""
        found = {self.mark_of(piece, q) for q in piece.patches if q.facet == facet_id}
        return found.pop() if len(found) == 1 else self.marks[piece.id]

    def surfaces(self, piece: Piece, most: int = 99) -> str:
        """The names of the surfaces that a piece lies on, for the parts of a parted blank one by one."""
        each = [list(dict.fromkeys(self.names[q.facet] for q in patches)) for patches in piece.members()]
        words = [" + ".join(names[:most]) + (" …" if len(names) > most else "") for names in each]
        return words[0] if len(words) == 1 else "; ".join(f"{self.marks[piece.id]}{k} {w}" for k, w in zip("ab", words, strict=True))

    def main_facets(self) -> tuple[Facet, ...]:
        """Facets that get a sheet of their own: walls, columns and ceilings made tight by pieces or otherwise."""
        chosen = [f for f in self.plan.room.facets if f.covering_by is not CoveredBy.NONE and _stands_alone(f)]
        return tuple(sorted(chosen, key=lambda f: f.kind in OVERHEAD))

    def small_facets(self) -> tuple[Facet, ...]:
        """The other facets on which pieces lie: benches, niches, curbs, jambs and narrow strips."""
        main = {f.id for f in self.main_facets()}
        return tuple(f for f in self.plan.room.facets if f.id not in main and f.id in self.patches)

    def neighbour(self, joint: Joint, facet_id: str) -> Facet:
        """The facet on the other side of a joint."""
        return self.facets[joint.facets[1] if joint.facets[0] == facet_id else joint.facets[0]]

    def crossing(self, joint: Joint) -> tuple[str, ...]:
        """Pieces that lie on both facets of a joint and meet along at least 20 mm of it, uppermost first."""
        sides = [{(p.id, self.mark_of(p, patch)): patch for p, patch in self.patches.get(f, ())} for f in joint.facets]
        frame = self.facets[joint.facets[0]].frame
        line = shapely.LineString(frame.drop([joint.start_m, joint.end_m]))
        found = []
        for part in sides[0].keys() & sides[1].keys():
            near = shapely.intersection(shapely.buffer(line, 1e-3, cap_style="flat"), sides[0][part].polygon)
            if near.area > 0.5e-3 * min(0.02, 0.5 * line.length):
                found.append(part[0])
        return tuple(sorted(set(found), key=lambda i: (-self.pieces[i].place_no, i)))


def _stands_alone(facet: Facet) -> bool:
    s0, t0, s1, t1 = facet.polygon.bounds
    return facet.kind in (*STANDING, *OVERHEAD) and min(s1 - s0, t1 - t0) > 0.2


def digest(plan: Plan) -> Digest:
    """Arrange a plan for drawing.

    Parameters
    ----------
    plan : Plan
        Everything derived from one job.

    Returns
    -------
    digest : Digest
        Look-up tables; nothing of them is stored in the plan.

    References
    ----------
    own derivation
    """
    room = plan.room
    patches: dict[str, list[tuple[Piece, Patch]]] = defaultdict(list)
    for piece in plan.covering.pieces:
        for patch in piece.patches:
            patches[patch.facet].append((piece, patch))
    joints: dict[str, list[Joint]] = defaultdict(list)
    for joint in room.joints:
        for f in joint.facets:
            joints[f].append(joint)
    rims: dict[str, list[Rim]] = defaultdict(list)
    for rim in room.rims:
        rims[rim.facet].append(rim)
    penetrations: dict[str, list[Penetration]] = defaultdict(list)
    for p in room.penetrations:
        penetrations[p.facet].append(p)
    inch = plan.job.units == "inch"
    return Digest(
        plan,
        plan.job.units,
        TABLOID_MM if inch else A3_MM,
        {f.id: f for f in room.facets},
        {p.id: p for p in plan.covering.pieces},
        piece_marks(plan.covering.pieces) | {b.id: board_mark(b) for b in plan.boards.pieces},
        {k: tuple(v) for k, v in patches.items()},
        {k: tuple(v) for k, v in joints.items()},
        {k: tuple(v) for k, v in rims.items()},
        {k: tuple(v) for k, v in penetrations.items()},
        _facet_names(room.facets),
    )


def piece_marks(pieces: tuple[Piece, ...]) -> dict[str, str]:
    """Short marks of pieces: a letter for the role and the number of the id.

    Parameters
    ----------
    pieces : tuple of Piece
        All pieces of a plan.

    Returns
    -------
    marks : dict of str to str
        Mark by piece id, such as ``S3``; an id without a number, or one whose mark would stand twice, is its own mark.

    References
    ----------
    own derivation
    """
    marks: dict[str, str] = {}
    for p in pieces:
        number = re.search(r"(\d+)\s*$", p.id)
        marks[p.id] = f"{LETTER[p.role]}{int(number[1])}" if number else p.id
    twice = {m for m in marks.values() if list(marks.values()).count(m) > 1} if len(set(marks.values())) < len(marks) else set()
    return {i: i if m in twice else m for i, m in marks.items()}


def board_mark(board: Board) -> str:
    """The short number of a board on drawings.

    Parameters
    ----------
    board : Board
        A board.

    Returns
    -------
    mark : str
        Its id: P and a number.

    References
    ----------
    own derivation
    """
    return board.id


def _facet_names(facets: tuple[Facet, ...]) -> dict[str, str]:
    """Readable names, made distinct where several facets share one."""
    counts: dict[str, int] = defaultdict(int)
    for f in facets:
        counts[f.name] += 1
    seen: dict[str, int] = defaultdict(int)
    names = {}
    for f in facets:
        seen[f.name] += 1
        base = f"wall {f.name}" if f.kind is FacetKind.WALL and "-" in f.name and "wall" not in f.name.lower() else f.name
        names[f.id] = base if counts[f.name] == 1 else f"{base} ({seen[f.name]})"
    return names


def _order(entries: tuple[tuple[Piece, Patch], ...]) -> list[tuple[Piece, Patch]]:
    """Lowest first: what lies over comes later; where nothing is said, the setting order decides."""
    left = sorted(entries, key=lambda e: (e[0].place_no, e[0].id))
    done: list[tuple[Piece, Patch]] = []
    while left:
        here = {p.id for p, _ in left}
        ready = next((e for e in left if not here.intersection(e[0].over).difference({e[0].id})), left[0])
        left.remove(ready)
        done.append(ready)
    return done


def _layers(d: Digest, facet_id: str) -> tuple[Lying, ...]:
    ordered = _order(d.patches.get(facet_id, ()))
    polygons = [patch.polygon for _, patch in ordered]
    empty = Polygon()
    above: list[shapely.Geometry] = []
    covered: shapely.Geometry = empty
    for poly in reversed(polygons):
        above.append(covered)
        covered = shapely.union(covered, poly)
    above.reverse()
    below: shapely.Geometry = empty
    tones = _tones(d, ordered)
    out = []
    for (piece, patch), poly, over in zip(ordered, polygons, above, strict=True):
        visible = shapely.difference(poly, over)
        lap = shapely.intersection(visible, below)
        hidden = shapely.intersection(poly.boundary, shapely.buffer(over, -2e-4, join_style="mitre")) if not over.is_empty else empty
        out.append(Lying(piece, patch, poly, visible, lap, hidden, tones[piece.id]))
        below = shapely.union(below, poly)
    return tuple(out)


def _tones(d: Digest, ordered: list[tuple[Piece, Patch]]) -> dict[str, int]:
    """Alternate the two tones of sheets from left to right, then from below upward."""
    sheets = [(patch.polygon, p.id) for p, patch in ordered if p.role is Role.SHEET]
    most = max((g.area for g, _ in sheets), default=0.0)
    large = {i: g.centroid for g, i in sheets if g.area > 0.2 * most}
    order = sorted(large, key=lambda i: (round(large[i].x, 2), round(large[i].y, 2)))
    tones = {p.id: 1 for p, _ in ordered}
    tones.update({i: n % 2 for n, i in enumerate(order)})
    return tones
