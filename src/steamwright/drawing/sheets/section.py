"""A section along the fall of the ceiling: slopes, heights, and headroom on the finished face."""

from __future__ import annotations

import itertools
import math

import numpy as np
import shapely
from shapely import LineString

from steamwright.drawing.bed import AT_WALL_M, CutBed, Segment, cut_bed, height_at
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import single, slope_text
from steamwright.drawing.facet_view import View, leader, parts
from steamwright.drawing.frame import Page, choose_scale, open_page, scale_note
from steamwright.drawing.labels import upright_box
from steamwright.drawing.pens import INK, PAPER, SOFT, TEAL, WASH
from steamwright.drawing.scene import Anchor, Measure, Sheet, Text
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, Facet, FacetKind, Solid
from steamwright.units import format_length, format_slope

ROUND_MM = 21.0
END_MM = 9.0
ABOVE_MM, BELOW_MM = 12.0, 32.0
UNDERFOOT = (FacetKind.FLOOR, FacetKind.BENCH_TOP, FacetKind.CURB_TOP, FacetKind.HALF_WALL_TOP)
OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)


def section(d: Digest, name: str, number: str) -> Sheet:
    """Draw the section.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    name : str
        File name without suffix.
    number : str
        What the title block shows.

    Returns
    -------
    sheet : Sheet
        The finished face in heavy line, the membrane face in thin line.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "Section along the ceiling's fall")
    finished = d.plan.finished
    way, through_m = cutting_plane(finished)
    bed = cut_bed(d, way, through_m)
    cut = _on_bed(d, slice_solid(finished, way, through_m), bed)
    membrane = slice_solid(d.plan.room, way, through_m)
    xs = [p[0] for _, seg in cut + membrane for p in seg]
    zs = [p[1] for _, seg in cut + membrane for p in seg]
    f = page.field
    k, label = choose_scale(d, max(xs) - min(xs), max(zs) - min(zs), f.width_mm - 2 * ROUND_MM, f.height_mm - ABOVE_MM - BELOW_MM)
    middle_mm = (f.y0_mm + ABOVE_MM + f.y1_mm - BELOW_MM) / 2
    view = View((f.x0_mm + f.x1_mm) / 2 - k * (min(xs) + max(xs)) / 2, middle_mm + k * (min(zs) + max(zs)) / 2, k)
    rooms = shapely.polygonize([LineString(s) for s in _noded([s for _, s in cut])])
    for poly in parts(rooms, "Polygon"):
        page.sketch.area("ground", tuple(view.ring(r.coords[:-1]) for r in (poly.exterior, *poly.interiors)), None, WASH)
    for facet, (a, b) in _off_bed(membrane, bed):
        page.sketch.line("edges", view.at(*a), view.at(*b), "thin" if facet.covering_by is not CoveredBy.NONE else "hair")
    for facet, (a, b) in cut:
        page.sketch.line("outline", view.at(*a), view.at(*b), "outline" if facet.covering_by is not CoveredBy.NONE else "glass")
        page.sketch.placer.keep_off(view.at(*a), view.at(*b))
    _bed(page, view, bed)
    _slopes(page, view, cut)
    _widths(page, view, cut)
    _seats(page, view, cut)
    _headroom(page, view, cut)
    _ends(page, view, cut)
    scale_note(page, k, label)
    page.heading("Reading the sheet")
    page.note("Heavy line: finished face (tile). Thin line: membrane face. All dimensions are to the finished face; heights outside the "
              "room are those at its walls.")
    if bed.top:
        page.note(_bed_words(d), bold=True)
    elif d.plan.pan.membrane == "liner":
        page.note("The floor line is the bare floor under the liner; the mortar bed on it is not known.", bold=True)
    page.note("Slopes are those of each ceiling surface straight down its fall, also where the section cuts it askew.")
    page.note(
        f"Ceilings of steam rooms fall at least {format_slope(1 / 6, d.system)}, so that condensate runs down and does not drip on people."
    )
    return page.finish()


def _on_bed(d: Digest, cut: list[tuple[Facet, Segment]], bed: CutBed) -> list[tuple[Facet, Segment]]:
    """What is cut of the finished room, its floor on the bed instead of under it, from wall to wall as far as that floor goes."""
    if bed.tile_m is None:
        return cut
    out = []
    for facet, seg in cut:
        (x0, _), (x1, _) = sorted(seg)
        if facet.kind is not FacetKind.FLOOR:
            out.append((facet, seg))
            continue
        stops = sorted({x0, x1, *(x for s in bed.top for x, _ in s if x0 < x < x1)})
        for a, b in itertools.pairwise(stops):
            za, zb = bed.tiled_m(a + AT_WALL_M), bed.tiled_m(b - AT_WALL_M)
            if za is not None and zb is not None:
                out.append((facet, ((a, za), (b, zb))))
    return out


def _off_bed(membrane: list[tuple[Facet, Segment]], bed: CutBed) -> list[tuple[Facet, Segment]]:
    """What is cut of the membrane face, without a floor over a liner, which has none."""
    return [(f, s) for f, s in membrane if bed.tile_m is None or f.kind is not FacetKind.FLOOR]


def _bed(page: Page, view: View, bed: CutBed) -> None:
    """The mortar of a pan's bed hatched down to the bare floor, a liner in it, and how thick it is at both ends and at its least."""
    if not bed.top:
        return
    k, system = view.scale_mm_per_m, page.digest.system
    for (a, b), (p, q) in zip(bed.top, bed.floor, strict=True):
        page.sketch.area("ground", (view.ring((a, b, q, p)),), None, PAPER)
        page.sketch.area("laps", (view.ring((a, b, q, p)),), None, None, "bed")
        page.sketch.line("edges", view.at(*a), view.at(*b), "edge")
        page.sketch.line("edges", view.at(*p), view.at(*q), "edge")
    for a, b in bed.liner:
        page.sketch.line("edges", view.at(*a), view.at(*b), "teal")
    ends = [(end[0], end[1], foot[1]) for top, bare in zip(bed.top, bed.floor, strict=True) for end, foot in zip(top, bare, strict=True)]
    left, right, low = ends[0], ends[-1], min(ends, key=lambda e: e[1] - e[2])
    for (x, z, foot), aside in ((left, 9.0), (right, -9.0), (low, 0.0)):
        if low in (left, right) and not aside:
            continue
        at = view.at(x, z)
        words = format_length(z - foot, system)
        anchor: Anchor = "start" if aside > 0 else "end" if aside < 0 else "middle"
        spots = [Text((at[0] + aside * 1.6, at[1] - up), f"bed {words}", 3.5, anchor, INK) for up in (8.0, 14.0, 20.0, 28.0)]
        placed = page.sketch.placer.put(spots, 0.8)
        if placed:
            leader(page.sketch, placed, (at[0] + aside * 0.4, at[1] + 0.5 * k * (z - foot)))
            page.sketch.plate("labels", placed, 0.6, PAPER)
            page.sketch.measure(Measure(words, z - foot, view.at(x, foot), view.at(x, z), k))


def _bed_words(d: Digest) -> str:
    report = d.plan.pan
    drain, wall = (format_length(v, d.system) for v in (report.bed_at_drain_m, report.bed_at_perimeter_m))
    mortar = f"Fine hatch: mortar from the bare floor to the top of the bed, {drain} at the drain and up to {wall} at the walls. "
    if report.membrane == "bonded":
        return mortar + "The membrane is bonded on it."
    return mortar + "Teal line in it: the liner, on a pre-slope that begins at the drain. Heights over the floor are to its tile, planned."


def _noded(segments: list[Segment]) -> list[list[tuple[float, float]]]:
    union = shapely.unary_union([LineString([(round(x, 5), round(y, 5)) for x, y in s]) for s in segments])
    return [[(float(x), float(y)) for x, y in g.coords] for g in parts(union, "LineString")]


def cutting_plane(solid: Solid) -> tuple[Floats, Floats]:
    """Choose where to cut: through the middle of the room, along the fall of the largest sloped ceiling facet.

    Parameters
    ----------
    solid : Solid
        A closed room.

    Returns
    -------
    plane : tuple of ndarray, shapes (3,) and (3,)
        Level unit direction of the section, pointing downhill or along x where the ceiling is flat, and a point on it. [m]

    References
    ----------
    own derivation
    """
    over = [f for f in solid.facets if f.kind is FacetKind.CEILING and f.frame.normal[2] < -1e-6]
    sloped = [f for f in over if math.hypot(*f.frame.normal[:2]) > 1e-3]
    corners = np.vstack([f.frame.lift(f.outline_m) for f in solid.facets])
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    floors = [f for f in solid.facets if f.kind is FacetKind.FLOOR]
    if floors:
        main = max(floors, key=lambda f: f.area_m2)
        middle = main.frame.lift([main.polygon.representative_point().coords[0]])[0]
    if not sloped:
        return np.array([1.0, 0.0, 0.0]), middle
    n = max(sloped, key=lambda f: f.area_m2).frame.normal
    way = np.array([-n[0], -n[1], 0.0])
    return way / np.linalg.norm(way), middle


def slice_solid(solid: Solid, way: Floats, through_m: Floats) -> list[tuple[Facet, Segment]]:
    """Cut the facets of a room with an upright plane.

    Parameters
    ----------
    solid : Solid
        A closed room.
    way : ndarray, shape (3,)
        Level unit direction of the plane.
    through_m : ndarray, shape (3,)
        A point on it. [m]

    Returns
    -------
    segments : list of (Facet, segment)
        Each with its two ends as (distance along the direction, height). [m]

    References
    ----------
    own derivation
    """
    across = np.array([-way[1], way[0], 0.0])
    out: list[tuple[Facet, Segment]] = []
    for facet in solid.facets:
        frame = facet.frame
        a, b = float(across @ np.array(frame.u)), float(across @ np.array(frame.v))
        c = float(across @ (through_m - np.array(frame.origin_m)))
        length = math.hypot(a, b)
        if length < 1e-9:
            continue
        foot = (a * c / length**2, b * c / length**2)
        line = LineString([(foot[0] - 99 * b / length, foot[1] + 99 * a / length), (foot[0] + 99 * b / length, foot[1] - 99 * a / length)])
        for piece in parts(shapely.intersection(facet.polygon, line), "LineString"):
            p = frame.lift([piece.coords[0], piece.coords[-1]])
            flat = [(float((q - through_m) @ way), float(q[2])) for q in p]
            if math.dist(*flat) > 1e-4:
                out.append((facet, (flat[0], flat[1])))
    return out


def _slopes(page: Page, view: View, cut: list[tuple[Facet, Segment]]) -> None:
    """Slope of every ceiling stretch, written over it outside the room."""
    for facet, (p, q) in cut:
        if facet.kind not in OVERHEAD or facet.frame.normal[2] > -1e-6:
            continue
        (x0, z0), (x1, z1) = sorted((p, q))
        if x1 - x0 < 0.15:
            continue
        a, b = view.at(x0, z0), view.at(x1, z1)
        turn = math.degrees(math.atan2(a[1] - b[1], b[0] - a[0]))
        t = math.radians(turn)
        n = facet.frame.normal
        content = slope_text(float(math.hypot(n[0], n[1]) / abs(n[2])), page.digest.system)
        mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        texts = [
            Text((mx - off * math.sin(t), my - off * math.cos(t)), content, 5.0, "middle", TEAL, True, turn) for off in (4.0, 11.0, 18.0)
        ]
        placed = page.sketch.placer.put(texts, 0.8)
        if placed:
            page.sketch.put("labels", placed)


def _headroom(page: Page, view: View, cut: list[tuple[Facet, Segment]]) -> None:
    """Clear heights: at the walls of both ends, outside them; at every break of the ceiling and over the middle of every seat, inside."""
    lows = [s for f, s in cut if f.frame.normal[2] > 0.5]
    highs = [s for f, s in cut if f.frame.normal[2] < -0.3]
    x_all = [p[0] for _, s in cut for p in s]
    # A niche or a jamb may stand out farther than the wall that the floor ends at.
    feet = [p[0] for f, s in cut if f.kind in UNDERFOOT for p in s] or x_all
    ends = min(feet), max(feet)
    k, span, inset = view.scale_mm_per_m, ends[1] - ends[0], 11.0 / view.scale_mm_per_m

    def clear(x: float) -> tuple[float, float] | None:
        low = max((z for s in lows if (z := height_at(s, x)) is not None), default=None)
        high = min((z for s in highs if (z := height_at(s, x)) is not None), default=None)
        return None if low is None or high is None or high - low < 0.05 else (low, high)

    for x, inward, out in ((ends[0], 1.0, ends[0] - min(x_all)), (ends[1], -1.0, max(x_all) - ends[1])):
        found = clear(x + inward * AT_WALL_M)
        if found:
            single(page.sketch, view.at(x, found[0]), view.at(x, found[1]), inward * (END_MM + k * out), found[1] - found[0], k,
                   page.digest.system)
            page.sketch.placer.keep_off(*((view.at(x, z)[0] - inward * (END_MM + k * out), view.at(x, z)[1]) for z in found))
    wanted = [p[0] for s in highs for p in s]
    wanted += [(s[0][0] + s[1][0]) / 2 for f, s in cut if f.kind is FacetKind.BENCH_TOP]
    done: list[float] = []
    for x in sorted(wanted):
        found = clear(x)
        if found is None or not ends[0] + inset < x < ends[1] - inset or any(abs(x - o) < 0.09 * span for o in done):
            continue
        low, high = found
        height_mm = 5.0 if (high - low) * k > 40.0 else 3.5
        if single(page.sketch, view.at(x, low), view.at(x, high), 0.0, high - low, k, page.digest.system, height_mm):
            page.sketch.placer.keep_off(view.at(x, low), view.at(x, high))
            done.append(x)


def _ends(page: Page, view: View, cut: list[tuple[Facet, Segment]]) -> None:
    """Level datum line, and what stands at the left and right."""
    f, sketch = page.field, page.sketch
    xs = [view.at(*p)[0] for _, s in cut for p in s]
    y = view.at(0.0, 0.0)[1]
    for x0, x1 in ((f.x0_mm + 2.0, min(xs)), (max(xs), f.x1_mm - 2.0)):
        sketch.line("ground", (x0, y), (x1, y), "tie")
    sketch.write("labels", (f.x0_mm + 2.0, y - 2.0), "0, bare floor", 3.5, color=SOFT)
    walls = [(seg, x) for x, seg in cut if x.kind in (FacetKind.WALL, FacetKind.OPENING) and abs(x.frame.normal[2]) < 0.5]
    if not walls:
        return
    left = min(walls, key=lambda w: (min(w[0][0][0], w[0][1][0]), -abs(w[0][0][1] - w[0][1][1])))
    right = max(walls, key=lambda w: (max(w[0][0][0], w[0][1][0]), abs(w[0][0][1] - w[0][1][1])))
    for (seg, facet), x, way in ((left, min(xs), -1.0), (right, max(xs), 1.0)):
        middle = view.at(0.0, (seg[0][1] + seg[1][1]) / 2)[1]
        spots = [Text((x + way * off, middle + up), _name(page.digest, facet), 4.5, "end" if way < 0 else "start", SOFT)
                 for off in (6.0, 14.0, 18.0) for up in (0.0, -20.0, 20.0, -40.0, 40.0)]  # fmt: skip
        spots += [Text((x + way * off + 2.2, middle + up), _name(page.digest, facet), 4.5, "middle", SOFT, turn_deg=90.0)
                  for off in (8.0, 17.5) for up in (0.0, -30.0, 30.0)]  # fmt: skip
        placed = sketch.placer.put(spots, 1.0, upright_box(f.x0_mm, f.y0_mm, f.x1_mm, f.y1_mm))
        if placed:
            sketch.put("labels", placed)


def _name(d: Digest, facet: Facet) -> str:
    """The facet's name; finished and membrane solids share ids where they have the same facets."""
    return d.names.get(facet.id, facet.name) if d.facets.get(facet.id, facet).name == facet.name else facet.name


def _widths(page: Page, view: View, cut: list[tuple[Facet, Segment]]) -> None:
    """Below the room: how deep every seat is and how wide the floor between, then the whole."""
    k, system = view.scale_mm_per_m, page.digest.system
    low = min(z for _, s in cut for _, z in s)
    upright = [s[0][0] for f, s in cut if abs(s[0][0] - s[1][0]) < 0.02 and f.kind not in (FacetKind.NICHE_BACK, FacetKind.NICHE_SIDE)]
    stops: list[float] = []
    for x in sorted(upright):
        if not stops or x - stops[-1] > 0.03:
            stops.append(x)
    below = view.at(0.0, min(low, 0.0))[1] - view.at(0.0, low)[1]
    if len(stops) > 2:
        for a, b in itertools.pairwise(stops):
            single(page.sketch, view.at(a, low), view.at(b, low), -9.0 - below, b - a, k, system, 5.0 if (b - a) * k > 40.0 else 3.5)
    if len(stops) > 1:
        off = (-21.0 if len(stops) > 2 else -12.0) - below
        single(page.sketch, view.at(stops[0], low), view.at(stops[-1], low), off, stops[-1] - stops[0], k, system)


def _seats(page: Page, view: View, cut: list[tuple[Facet, Segment]]) -> None:
    """Heights of seats over the floor, written in the void below them."""
    floors = [p for f, s in cut if f.kind is FacetKind.FLOOR for p in s]
    if not floors:
        return
    for facet, (a, b) in cut:
        high, x = (a[1] + b[1]) / 2, (a[0] + b[0]) / 2
        if facet.kind is FacetKind.BENCH_TOP:
            front = max(a, b, key=lambda p: min(abs(p[0] - o[0]) for f, s in cut if f.kind is FacetKind.WALL for o in s))
            low = min(floors, key=lambda p: abs(p[0] - front[0]))[1]
            if high - low < 0.05:
                continue
            k, rise = view.scale_mm_per_m, front[1] - low
            single(page.sketch, view.at(x, low), view.at(x, front[1]), 0.0, rise, k, page.digest.system,
                   5.0 if rise * k > 42.0 else 3.5 if rise * k > 28.0 else 2.8)
