"""The pan sheet: heights round the wall, the drain, the flood line, and the weight of the water."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import LineString, MultiPoint, Polygon

from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import Mark, Row, arrow, running, slope_text
from steamwright.drawing.facet_view import View, leader
from steamwright.drawing.frame import HEADING_MM, Page, choose_scale, missing, notes_mm, open_page, scale_note
from steamwright.drawing.labels import around, outward_first, padded, readable_turn_deg, upright_box
from steamwright.drawing.pens import CRIMSON, INK, PAPER, SHEET_A, SOFT, WASH
from steamwright.drawing.scene import Paper, Sheet, Text
from steamwright.drawing.text import text_box
from steamwright.room.flood import flood_over, flood_words
from steamwright.room.model import FacetKind
from steamwright.room.pan import PanHeight
from steamwright.units import FOOT_M, format_length

ROUND_MM = 40.0
SIDE_MM = 62.0
POUND_KG = 0.45359237
LEVEL_M = 0.004
"""Corners within this of the lowest lie at the drain; a line drain's wall may be a little out of level. Common practice, no source."""
CHANNEL_M = 0.07
"""Width of a line drain's channel as drawn. Common practice, no source."""
SHORT_M = 0.6
"""On a shorter edge only its corners are lettered. Common practice, no source."""
ARROWS = 4
FAR_M = 50.0
HEIGHTS = ("Top of the bed over its lowest place, the flat at the drain, which is 0; all are upward. Strike them on the walls before "
           "the bed is placed. Tile and its mortar come on top. Distances run between membrane faces: board and membrane on, no tile.")
GALLON_M3 = 231 * 0.0254**3


def pan(d: Digest, name: str, number: str) -> Sheet:
    """Draw the pan.

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
        Seen from above.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "Pan")
    report = d.plan.pan
    floors = [x for x in d.plan.room.facets if x.kind is FacetKind.FLOOR]
    if not floors:
        missing(page, "This room has no floor of its own.")
        return page.finish()
    rings = [x.frame.lift(x.outline_m)[:, :2] for x in floors]
    points = [(float(p[0]), float(p[1])) for r in rings for p in r]
    s0, t0, s1, t1 = MultiPoint(points).bounds
    f = page.field
    k, label = choose_scale(d, s1 - s0, t1 - t0, f.width_mm - 2 * SIDE_MM, f.height_mm - 2 * ROUND_MM - 46.0)
    view = View((f.x0_mm + f.x1_mm) / 2 - k * (s0 + s1) / 2, (f.y0_mm + f.y1_mm - 46.0) / 2 + k * (t0 + t1) / 2, k)
    for ring in rings:
        page.sketch.area("pieces", (view.ring(ring),), "edge", WASH if report.membrane == "liner" else SHEET_A)
    if report.drain == "point":
        _drain(page, view, (s0, t0, s1, t1))
    for ring in rings:
        page.sketch.placer.keep_off(*view.ring(ring), view.at(*ring[0]))
    for a, b, _ in _ways(page, view) if report.drain == "point" else ():
        page.sketch.placer.keep_off(a, b)
    _heights(page, view)
    if report.drain == "line":
        _line_drain(page, view, Polygon(rings[0]) if len(rings) == 1 else None)
    else:
        _falls(page, view)
    _weights(page)
    scale_note(page, k, label)
    _column(page)
    return page.finish()


def _drain(page: Page, view: View, bounds: tuple[float, float, float, float]) -> None:
    """The drain with its distances from the left and the lower side of the floor."""
    d, report = page.digest, page.digest.plan.pan
    if report.drain_m is None:
        return
    s, t = report.drain_m
    x, y = view.at(s, t)
    diameter = next((p.diameter_m for p in d.plan.room.penetrations if p.kind == "drain"), 0.1)
    r = max(2.0, diameter / 2 * view.scale_mm_per_m)
    page.sketch.circle("marks", (x, y), r, "edge", PAPER)
    page.sketch.circle("marks", (x, y), r * 0.55, "thin", None)
    s0, t0, s1, t1 = bounds
    (left, bottom), (right, _) = view.at(s0, t0), view.at(s1, t1)
    f, k = page.field, view.scale_mm_per_m
    running(page.sketch, Row(False, bottom + 22.0, 1, left, f.x0_mm, f.x1_mm, k, d.system), [Mark(x, y, s - s0, "center")])
    running(page.sketch, Row(True, right + 24.0, 1, bottom, f.y0_mm, f.y1_mm, k, d.system), [Mark(y, x, t - t0, "center")])


def _line_drain(page: Page, view: View, floor: Polygon | None) -> None:
    """The channel along the low edge of the floor, and parallel arrows down the one plane that falls to it."""
    report = page.digest.plan.pan
    corners = [(h.x_m, h.y_m, h.over_drain_m) for h in report.heights[::2]]
    if len(corners) < 3:
        return
    spots = np.asarray(corners)
    a, b, _ = np.linalg.lstsq(np.column_stack([spots[:, :2], np.ones(len(spots))]), spots[:, 2], rcond=None)[0]
    size = math.hypot(a, b)
    if size < 1e-6:
        return
    down = (-a / size, -b / size)
    low = float(spots[:, 2].min())
    ends = [p for p in corners if p[2] - low < LEVEL_M]
    along = sorted(ends, key=lambda p: p[0] * down[1] - p[1] * down[0])
    if len(along) > 1:
        p, q = along[0], along[-1]
        dx, dy = CHANNEL_M * down[0], CHANNEL_M * down[1]
        ring = view.ring(np.asarray([p[:2], q[:2], (q[0] - dx, q[1] - dy), (p[0] - dx, p[1] - dy)]))
        page.sketch.area("marks", (ring,), "edge", PAPER, "lap")
        (xa, ya), (xb, yb) = view.at(p[0] - 2 * dx, p[1] - 2 * dy), view.at(q[0] - 2 * dx, q[1] - 2 * dy)
        turn = readable_turn_deg(math.degrees(math.atan2(ya - yb, xb - xa)))
        label = Text(((xa + xb) / 2, (ya + yb) / 2 + 2.0), "line drain", 4.0, "middle", INK, True, turn)
        page.sketch.placer.take(padded(text_box(label), 0.6))
        page.sketch.put("labels", label)
    shape = floor if floor is not None else Polygon(spots[:, :2])
    side = (-down[1], down[0])
    across = [p[0] * side[0] + p[1] * side[1] for p in corners]
    step = (max(across) - min(across)) / ARROWS
    for n in range(ARROWS):
        o = min(across) + (n + 0.5) * step
        ray = LineString([(o * side[0] + far * down[0], o * side[1] + far * down[1]) for far in (-FAR_M, FAR_M)]).intersection(shape)
        runs = [g for g in getattr(ray, "geoms", [ray]) if g.length > 0.3]
        for run in runs[:1]:
            (x0, y0), (x1, y1) = run.coords[0], run.coords[-1]
            _fall(page, view.at(x0 + 0.25 * (x1 - x0), y0 + 0.25 * (y1 - y0)), view.at(x0 + 0.75 * (x1 - x0), y0 + 0.75 * (y1 - y0)), size)


def _falls(page: Page, view: View) -> None:
    """Arrows from the corners to the drain with the slope on each."""
    for a, b, slope in _ways(page, view):
        _fall(page, a, b, slope)


def _ways(page: Page, view: View) -> list[tuple[Paper, Paper, float]]:
    """Where the arrows from the corners to the drain run, and the slope there."""
    report = page.digest.plan.pan
    if report.drain_m is None:
        return []
    x1, y1 = view.at(*report.drain_m)
    out = []
    for fall, corner in zip(report.corners, report.heights[::2], strict=False):
        x0, y0 = view.at(corner.x_m, corner.y_m)
        if fall.distance_m >= 0.05 and math.hypot(x1 - x0, y1 - y0) >= 30.0:
            out.append(((x0 + 0.3 * (x1 - x0), y0 + 0.3 * (y1 - y0)), (x0 + 0.72 * (x1 - x0), y0 + 0.72 * (y1 - y0)), fall.slope))
    return out


def _fall(page: Page, a: tuple[float, float], b: tuple[float, float], slope: float) -> None:
    """One arrow down the floor with its slope."""
    page.sketch.line("marks", a, b, "teal_thin")
    way = math.degrees(math.atan2(a[1] - b[1], b[0] - a[0]))
    page.sketch.add("marks", arrow(b, way, 4.0))
    turn = readable_turn_deg(way)
    t = math.radians(turn)
    mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    texts = [Text((mx - o * math.sin(t), my - o * math.cos(t)), slope_text(slope, page.digest.system), 4.0, "middle", INK, turn_deg=turn)
             for o in (1.8, -5.8)]  # fmt: skip
    placed = page.sketch.placer.put(texts, 0.6)
    if placed:
        page.sketch.put("labels", placed)


def _heights(page: Page, view: View) -> None:
    """Height over the drain at every place round the wall that the report names."""
    d, report = page.digest, page.digest.plan.pan
    if not report.heights:
        return
    cx = sum(h.x_m for h in report.heights) / len(report.heights)
    cy = sum(h.y_m for h in report.heights) / len(report.heights)
    mx, my = view.at(cx, cy)
    f = page.field
    limits = upright_box(f.x0_mm, f.y0_mm, f.x1_mm, f.y1_mm)
    stations = {s.id for s in d.plan.survey.stations}
    short = {i for i in range(1, len(report.heights), 2) if _apart_m(report.heights, i) < SHORT_M}
    for i, h in enumerate(report.heights):
        if i in short:
            continue
        x, y = view.at(h.x_m, h.y_m)
        page.sketch.circle("marks", (x, y), 0.9, None, INK)
        name = f"{h.at} " if h.at in stations else ""
        content = name + format_length(h.over_drain_m, d.system)
        placed = page.sketch.placer.put(outward_first(around(x, y, content, 5.0, 5.0, bold=True), x, y, mx, my), 0.9, limits)
        if placed:
            leader(page.sketch, placed, (x, y))
            page.sketch.plate("labels", placed, 0.7, PAPER)


def _apart_m(heights: Sequence[PanHeight], i: int) -> float:
    """Length of the edge whose middle a height is."""
    a, b = heights[i - 1], heights[(i + 1) % len(heights)]
    return math.hypot(b.x_m - a.x_m, b.y_m - a.y_m)


def _weights(page: Page) -> None:
    """Flood line, water and weight in large lettering under the plan."""
    d, f, report = page.digest, page.field, page.digest.plan.pan
    inch = d.system == "inch"
    figures = (
        (f"flood line over {flood_over(report)}", format_length(report.flood_line_over_drain_m, d.system)),
        ("water to the flood line", f"{report.flood_volume_m3 / GALLON_M3:.1f} gal" if inch else f"{report.flood_volume_m3 * 1000:.0f} L"),
        ("weight of that water", f"{report.flood_mass_kg / POUND_KG:.0f} lb" if inch else f"{report.flood_mass_kg:.0f} kg"),
        ("mortar, bed and pre-slope" if report.membrane == "liner" else "mortar in the bed",
         f"{report.bed_volume_m3 / FOOT_M**3:.2f} ft³" if inch else f"{report.bed_volume_m3 * 1000:.0f} L"),
    )
    step = f.width_mm / len(figures)
    for n, (what, value) in enumerate(figures):
        x, y = f.x0_mm + n * step, f.y1_mm - 9.0
        page.sketch.line("frame", (x, y - 15.0), (x + step - 8.0, y - 15.0), "teal")
        page.sketch.write("labels", (x, y - 4.0), value, 7.0, bold=True)
        page.sketch.write("labels", (x, y + 4.5), what, 3.5, color=SOFT)


def _column(page: Page) -> None:
    d, report = page.digest, page.digest.plan.pan
    mended = [f"To mend it: {report.advice}."] if report.advice else []
    told, flood = _told(d), _flood(d)
    rows = [(w.start, format_length(w.distance_m, d.system), slope_text(w.slope, d.system)) for w in report.walls]
    # the more walls, the smaller the notes: none is left out
    notes, room_mm = [*told, report.sentence, *mended, HEIGHTS, *flood], page.room_mm() - 4 * HEADING_MM - 5.0 * len(rows)
    height = next((h for h in (3.0, 2.8, 2.6, 2.4) if notes_mm(notes, h) < room_mm), 2.2)
    page.heading("The pan")
    for note in told:
        page.note(note, height)
    page.note(report.sentence, height, bold=not report.feasible, color=INK if report.feasible else CRIMSON)
    for note in mended:
        page.note(note, height, bold=True)
    page.heading("Heights")
    page.note(HEIGHTS, height)
    page.heading("Slopes, measured to the drain")
    page.table(rows, (0.0, 43.0, 70.0), 2.7)
    page.heading("Flood test")
    for note in flood:
        page.note(note, height)


def _told(d: Digest) -> list[str]:
    """What lies where, and how thick."""
    report = d.plan.pan
    drain, wall, rise = (format_length(v, d.system) for v in (report.bed_at_drain_m, report.bed_at_perimeter_m, report.fall_m))
    if report.membrane == "bonded":
        return ["The membrane is bonded on the sloped bed; the tile goes on the membrane.",
                f"Bed at the drain {drain}, at its thickest {wall}; it rises {rise}."]
    return ["A liner of others lies in this bed, on a sloped bed of its own (pre-slope), 1/4 in/ft to the weep holes: a liner laid flat "
            "holds water. Drawn is the top of the bed on the liner; its thickness is that from the bare floor, pre-slope too.",
            f"Bed at the drain, over the weep holes, {drain}, at its thickest {wall}; it rises {rise}."]


def _flood(d: Digest) -> list[str]:
    """The test with water: until when, how high, and what it does not prove."""
    where = "the liner before boards and bed go over it, the drain plugged under its weep holes" if d.plan.pan.membrane == "liner" else \
        "the bonded membrane before tile, the drain plugged"
    return [f"Have the structure checked for this weight before filling. Flood {where}: fill {flood_words(d.plan.pan, d.system)}.",
            "Water in the pan proves the pan; nothing proves the walls."]
