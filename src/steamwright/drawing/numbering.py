"""The numbers of pieces on a facet: on the sheets themselves, and round the facet for what is too narrow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest, Lying
from steamwright.drawing.facet_view import View, fill_of, parts
from steamwright.drawing.labels import padded, spread
from steamwright.drawing.pens import INK, PAPER
from steamwright.drawing.scene import Paper, Text
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import text_box, width_mm
from steamwright.geometry.frame import Floats
from steamwright.room.model import Facet

NUMBER_MM = 8.0
RANK_GAP_MM = 4.0
CLEAR_MM = 1.8
SPOTS_ACROSS = (0.5, 0.6, 0.4, 0.72, 0.28, 0.84, 0.16)
SPOTS_UP = (0.55, 0.62, 0.42, 0.74, 0.3, 0.82, 0.2, 0.88, 0.12, 0.93, 0.07)


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
        if not pieces or not _number(sketch, view, pieces[0], d.mark_of(lying.piece, lying.patch), fill_of(lying), height_mm):
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
        mark = d.mark_of(lying.piece, lying.patch)
        entry = (0.0, lying.polygon, f"({mark})") if seen is None or seen.area < 1e-5 else (seen.area, seen, mark)
        if mark not in best or entry[0] > best[mark][0]:
            best[mark] = entry
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
