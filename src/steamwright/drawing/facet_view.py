"""A facet with its pieces: what lies over what, where the laps are, and the numbers on them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest, Lying
from steamwright.drawing.keep_out import SCREWED_LATER, keep_out
from steamwright.drawing.labels import around, padded, spread, upright_box
from steamwright.drawing.pens import BAND, CORNER, INK, PAPER, SHEET_A, SHEET_B, SOFT, WASH
from steamwright.drawing.scene import Paper, Text
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import Box, text_box, width_mm
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, Facet
from steamwright.units import format_length

NUMBER_MM = 8.0
RANK_GAP_MM = 4.0
CLEAR_MM = 1.8
SPOTS_ACROSS = (0.5, 0.6, 0.4, 0.72, 0.28, 0.84, 0.16)
SPOTS_UP = (0.55, 0.62, 0.42, 0.74, 0.3, 0.82, 0.2, 0.88, 0.12, 0.93, 0.07)
LAP_HATCH = {Role.SHEET: "lap", Role.BAND: "band_lap", Role.CORNER_PIECE: "corner_lap", Role.COLLAR: "corner_lap"}


@dataclass(frozen=True, slots=True)
class View:
    """Carries a facet's (s, t) in metres to the paper: s to the right, t up."""

    x_mm: float
    y_mm: float
    scale_mm_per_m: float

    def at(self, s_m: float, t_m: float) -> Paper:
        """One point. [mm]"""
        return (self.x_mm + s_m * self.scale_mm_per_m, self.y_mm - t_m * self.scale_mm_per_m)

    def ring(self, coords: object) -> tuple[Paper, ...]:
        """A ring or run of points. [mm]"""
        return tuple(self.at(c[0], c[1]) for c in coords)  # type: ignore[attr-defined]


def parts(geometry: shapely.Geometry, kind: str) -> Iterator[shapely.Geometry]:
    """Simple parts of a geometry.

    Parameters
    ----------
    geometry : Geometry
        Any geometry.
    kind : str
        "Polygon" or "LineString".

    Returns
    -------
    parts : iterator of Geometry
        Only those of that kind, empty ones left out.

    References
    ----------
    own derivation
    """
    for g in getattr(geometry, "geoms", (geometry,)):
        if g.geom_type == kind and not g.is_empty:
            yield g
        elif hasattr(g, "geoms"):
            yield from parts(g, kind)


def rings(view: View, polygon: shapely.Polygon) -> tuple[tuple[Paper, ...], ...]:
    """A polygon's rings on the paper.

    Parameters
    ----------
    view : View
        Where the facet lies on the paper.
    polygon : Polygon
        In the facet's (s, t). [m]

    Returns
    -------
    rings_mm : tuple of tuple of float
        Outline first. [mm]

    References
    ----------
    own derivation
    """
    return tuple(view.ring(r.coords[:-1]) for r in (polygon.exterior, *polygon.interiors))


def fill_of(lying: Lying) -> str:
    """The tone of a patch.

    Parameters
    ----------
    lying : Lying
        A patch on its facet.

    Returns
    -------
    color : str
        Two teals for sheets, slate for bands, a darker slate for corner pieces and collars.

    References
    ----------
    own derivation
    """
    if lying.piece.role is Role.SHEET:
        return SHEET_B if lying.tone else SHEET_A
    return BAND if lying.piece.role is Role.BAND else CORNER


def draw_facet(sketch: Sketch, d: Digest, facet: Facet, view: View) -> None:
    """Draw a facet's pieces, laps, edges and outline, without lettering.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What is drawn.
    view : View
        Where it lies on the paper.

    References
    ----------
    own derivation
    """
    ground = rings(view, facet.polygon)
    if facet.covering_by is CoveredBy.OTHER:
        sketch.area("ground", ground, None, WASH, "other")
    for lying in d.lying(facet.id):
        for poly in parts(lying.visible, "Polygon"):
            sketch.area("pieces", rings(view, poly), "edge", fill_of(lying))
        for poly in parts(lying.lap, "Polygon"):
            if poly.area > 1e-5:
                sketch.area("laps", rings(view, poly), None, None, LAP_HATCH[lying.piece.role])
        for line in parts(lying.hidden, "LineString"):
            if line.length > 2e-3:
                sketch.path("edges", view.ring(line.coords), "hidden")
    sketch.area("outline", ground, "outline")
    for rim in d.rims.get(facet.id, ()):
        a, b = facet.frame.drop([rim.start_m, rim.end_m])
        sketch.line("outline", view.at(*a), view.at(*b), "rim")


def draw_openings(sketch: Sketch, d: Digest, facet: Facet, view: View) -> None:
    """Draw the openings that lie in the plane of a facet: crossed by two thin lines and named.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What is drawn.
    view : View
        Where it lies on the paper.

    References
    ----------
    own derivation
    """
    for opening in dict.fromkeys(r.opening for r in d.rims.get(facet.id, ())):
        other = d.facets[opening]
        corners = other.frame.lift(other.outline_m)
        if float(abs((corners - facet.frame.lift([(0.0, 0.0)])[0]) @ facet.frame.normal).max()) > 5e-3:
            continue
        polygon = shapely.Polygon(facet.frame.drop(corners))
        s0, t0, s1, t1 = polygon.bounds
        sketch.area("ground", rings(view, polygon), "thin")
        sketch.line("ground", view.at(s0, t0), view.at(s1, t1), "hair")
        sketch.line("ground", view.at(s0, t1), view.at(s1, t0), "hair")
        x, y = view.at((s0 + s1) / 2, (t0 + t1) / 2)
        placed = sketch.placer.put([Text((x, y + k), other.name, 5.0, "middle", SOFT) for k in (2.5, -10.0, 15.0)], 1.0)
        if placed:
            sketch.plate("labels", placed, 1.2, PAPER)


def number_sheets(sketch: Sketch, d: Digest, facet: Facet, view: View, height_mm: float = NUMBER_MM) -> tuple[Lying, ...]:
    """Write the numbers of the sheets on them, where most of each is to be seen.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What is drawn.
    view : View
        Where it lies on the paper.
    height_mm : float
        Height of the numbers. [mm]

    Returns
    -------
    left : tuple of Lying
        Sheets of which too little is to be seen for a number: they need a leader.

    References
    ----------
    own derivation
    """
    left = []
    for lying in d.lying(facet.id):
        if lying.piece.role is not Role.SHEET:
            continue
        field = shapely.difference(lying.visible, lying.lap)
        pieces = sorted(parts(field, "Polygon"), key=lambda p: -p.area) or list(parts(lying.visible, "Polygon"))
        if not pieces or not _number(sketch, view, pieces[0], d.marks[lying.piece.id], fill_of(lying), height_mm):
            left.append(lying)
    return tuple(left)


def _number(sketch: Sketch, view: View, polygon: shapely.Polygon, mark: str, fill: str, height_mm: float) -> bool:
    """Try the places of a grid, all at once against the region, then one by one against what is lettered already."""
    shapely.prepare(polygon)
    k, spots = view.scale_mm_per_m, _spots(polygon)
    for height in (height_mm, height_mm * 0.8):
        half_w, half_h = (width_mm(mark, height, True) / 2 + CLEAR_MM) / k, (height / 2 + CLEAR_MM) / k
        boxes = shapely.box(spots[:, 0] - half_w, spots[:, 1] - half_h, spots[:, 0] + half_w, spots[:, 1] + half_h)
        for s, t in spots[shapely.contains_properly(polygon, boxes)]:
            x, y = view.at(float(s), float(t))
            placed = sketch.placer.put((Text((x, y + height / 2), mark, height, "middle", INK, True),), 1.0)
            if placed:
                sketch.plate("labels", placed, 0.8, fill)
                return True
    return False


def _spots(polygon: shapely.Polygon) -> Floats:
    """A grid of places on a region, its middle first; shape (n, 2). [m]"""
    s0, t0, s1, t1 = polygon.bounds
    p = polygon.representative_point()
    grid = np.array([(a, b) for b in SPOTS_UP for a in SPOTS_ACROSS])
    return np.vstack([(s0, t0) + grid * (s1 - s0, t1 - t0), [(p.x, p.y)]])


@dataclass(frozen=True, slots=True)
class Ring:
    """The four strips round a facet in which the numbers of narrow pieces stand. [mm]

    ``x0_mm`` to ``y1_mm`` bound the facet; ``limits`` bounds the lettering along the strips.
    """

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float
    limits: tuple[float, float, float, float]
    height_mm: float = NUMBER_MM


def number_round(sketch: Sketch, d: Digest, view: View, ring: Ring, pieces: tuple[Lying, ...]) -> tuple[float, float]:
    """Write the numbers of narrow pieces round the facet, each with a leader to its piece.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    view : View
        Where the facet lies on the paper.
    ring : Ring
        Where the numbers stand.
    pieces : tuple of Lying
        What is to be numbered.

    Returns
    -------
    depths_mm : (float, float)
        How far the numbers reach out at the left and at the right. [mm]

    References
    ----------
    own derivation
    """
    sides: dict[str, list[tuple[Paper, str]]] = {"left": [], "right": [], "top": [], "bottom": []}
    best: dict[str, tuple[float, shapely.Polygon, str]] = {}
    for lying in pieces:
        seen = max(parts(lying.visible, "Polygon"), key=lambda p: p.area, default=None)
        mark = d.marks[lying.piece.id]
        entry = (0.0, lying.polygon, f"({mark})") if seen is None or seen.area < 1e-5 else (seen.area, seen, mark)
        if lying.piece.id not in best or entry[0] > best[lying.piece.id][0]:
            best[lying.piece.id] = entry
    for _, shape, mark in best.values():
        foot = view.at(*_foot(shape))
        sides[_side(shape, foot, ring)].append((foot, mark))
    for side in ("top", "bottom"):
        _relieve(ring, sides, side)
    depths = {side: _strip(sketch, ring, side, entries) for side, entries in sides.items()}
    return depths["left"], depths["right"]


def _relieve(ring: Ring, sides: dict[str, list[tuple[Paper, str]]], side: str) -> None:
    """Move numbers from a full upper or lower strip to the nearer side, outermost first."""
    entries = sides[side]
    entries.sort(key=lambda e: e[0][0])
    room = ring.limits[2] - ring.limits[0]
    while len(entries) > 1 and _needed(entries, max(4.0, 0.7 * ring.height_mm), 0.7 * RANK_GAP_MM, False) > room:
        left, right = entries[0][0][0] - ring.x0_mm, ring.x1_mm - entries[-1][0][0]
        sides["left" if left <= right else "right"].append(entries.pop(0 if left <= right else -1))


def _foot(polygon: shapely.Polygon) -> tuple[float, float]:
    """The point of a narrow region that its leader ends on: near its middle."""
    c = polygon.centroid
    if not polygon.contains(c):
        c = polygon.representative_point()
    return float(c.x), float(c.y)


def _side(polygon: shapely.Polygon, foot: Paper, ring: Ring) -> str:
    s0, t0, s1, t1 = polygon.bounds
    lying_long = s1 - s0 > 2.0 * (t1 - t0)
    x, y = foot
    if lying_long and min(y - ring.y0_mm, ring.y1_mm - y) < 0.25 * (ring.y1_mm - ring.y0_mm):
        return "top" if y - ring.y0_mm < ring.y1_mm - y else "bottom"
    return "left" if x - ring.x0_mm < ring.x1_mm - x else "right"


def _strip(sketch: Sketch, ring: Ring, side: str, entries: list[tuple[Paper, str]]) -> float:
    """Letter one side of the ring, in two or more ranks where one does not hold all numbers; says how far it reaches out."""
    if not entries:
        return 0.0
    upright = side in ("left", "right")
    axis = 1 if upright else 0
    entries.sort(key=lambda e: e[0][axis])
    lo, hi = (ring.limits[1], ring.limits[3]) if upright else (ring.limits[0], ring.limits[2])
    h, gap = ring.height_mm, RANK_GAP_MM
    if _needed(entries, h, gap, upright) > hi - lo:
        h, gap = max(4.0, 0.7 * h), 0.7 * gap
    heights = [_height(mark, h) for _, mark in entries]
    ranks = max(1, math.ceil(_needed(entries, h, gap, upright) / (hi - lo)))
    depth = max((width_mm(m, k, True) for (_, m), k in zip(entries, heights, strict=True)), default=0.0) + 3.0 if upright else h + 3.0
    for rank in range(ranks):
        mine = list(zip(entries, heights, strict=True))[rank::ranks]
        sizes = [k if upright else width_mm(mark, k, True) for (_, mark), k in mine]
        middles = spread([e[0][axis] for e, _ in mine], sizes, lo, hi, gap)
        for ((foot, mark), k), middle in zip(mine, middles, strict=True):
            _letter(sketch, ring, side, foot, mark, middle, k, rank * depth)
    return 7.0 + ranks * depth


def _height(mark: str, height_mm: float) -> float:
    """Numbers of wholly covered pieces, in brackets, are smaller."""
    return 0.75 * height_mm if mark.startswith("(") else height_mm


def _needed(entries: list[tuple[Paper, str]], height_mm: float, gap_mm: float, upright: bool) -> float:
    heights = [_height(mark, height_mm) for _, mark in entries]
    return sum((h if upright else width_mm(mark, h, True)) + gap_mm for (_, mark), h in zip(entries, heights, strict=True))


def _letter(sketch: Sketch, ring: Ring, side: str, foot: Paper, mark: str, middle_mm: float, h: float, off_mm: float) -> None:
    if side in ("left", "right"):
        x = ring.x0_mm - 7.0 - off_mm if side == "left" else ring.x1_mm + 7.0 + off_mm
        text = Text((x, middle_mm + h / 2), mark, h, "end" if side == "left" else "start", INK, True)
        start: Paper = (x + (1.2 if side == "left" else -1.2), middle_mm)
    else:
        y = ring.y0_mm - 4.5 - off_mm if side == "top" else ring.y1_mm + 4.5 + h + off_mm
        text = Text((middle_mm, y), mark, h, "middle", INK, True)
        start = (middle_mm, y + 1.2 if side == "top" else y - h - 1.2)
    sketch.placer.take(padded(text_box(text), 0.6))
    sketch.plate("labels", text, 0.8, PAPER)
    sketch.line("marks", start, foot, "leader")
    sketch.circle("marks", foot, 0.7, None, INK)


def leader(sketch: Sketch, text: Text, foot_mm: Paper) -> None:
    """A leader from lettering to a point, with a dot at its end.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    text : Text
        The lettering, already placed.
    foot_mm : tuple of float
        Where the leader ends. [mm]

    References
    ----------
    own derivation
    """
    x0, y0, x1, y1 = text_box(text).bounds()
    start = (min(max(foot_mm[0], x0), x1), min(max(foot_mm[1], y0), y1))
    sketch.line("marks", start, foot_mm, "leader")
    sketch.circle("marks", foot_mm, 0.7, None, INK)


def draw_keep_out(sketch: Sketch, d: Digest, facet: Facet, view: View) -> None:
    """Draw where no screw may be driven later: dotted round pipes, dotted and cross-hatched along the floor.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What is drawn.
    view : View
        Where it lies on the paper.

    References
    ----------
    own derivation
    """
    for zone, hatch in zip(keep_out(d, facet), (None, "keep_out"), strict=True):
        for poly in parts(zone, "Polygon"):
            sketch.area("edges", rings(view, poly), "keep_out", None, hatch)


def draw_penetrations(sketch: Sketch, d: Digest, facet: Facet, view: View) -> None:
    """Draw holes with their centre crosses and keep-out zones, and take their places.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What is drawn.
    view : View
        Where it lies on the paper.

    References
    ----------
    own derivation
    """
    for p in d.penetrations.get(facet.id, ()):
        x, y = view.at(*p.center_m)
        r = max(0.8, p.diameter_m / 2 * view.scale_mm_per_m)
        later = p.kind in SCREWED_LATER
        sketch.circle("marks", (x, y), r, "edge", PAPER)
        arm = r + 2.2
        turn = (((-0.7, -0.7), (0.7, 0.7)), ((-0.7, 0.7), (0.7, -0.7))) if later else (((-1, 0), (1, 0)), ((0, -1), (0, 1)))
        for (ax, ay), (bx, by) in turn:
            sketch.line("marks", (x + ax * arm, y + ay * arm), (x + bx * arm, y + by * arm), "edge" if later else "center")
        sketch.placer.take(upright_box(x - r - 0.5, y - r - 0.5, x + r + 0.5, y + r + 0.5))


def name_penetrations(sketch: Sketch, d: Digest, facet: Facet, view: View, limits: Box, height_mm: float = 3.5) -> None:
    """Write name and hole size beside every penetration.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What is drawn.
    view : View
        Where it lies on the paper.
    limits : Box
        Where labels may stand.
    height_mm : float
        Height of the capitals. [mm]

    References
    ----------
    own derivation
    """
    for p in d.penetrations.get(facet.id, ()):
        x, y = view.at(*p.center_m)
        r = max(0.8, p.diameter_m / 2 * view.scale_mm_per_m)
        content = f"{p.name or p.kind.replace('_', ' ')} ⌀ {format_length(p.diameter_m, d.system)}"
        placed = sketch.placer.put(around(x, y, content, height_mm, r + 3.0, color=INK), 0.9, limits)
        if placed is None:
            placed = sketch.placer.put(around(x, y, content, height_mm, r + 30.0, color=INK), 0.9, limits)
        if placed:
            leader(sketch, placed, (x, y))
            sketch.plate("labels", placed, 0.9, PAPER)
