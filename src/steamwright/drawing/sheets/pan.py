"""The pan sheet: heights round the wall, the drain, the flood line, and the weight of the water."""

from __future__ import annotations

import math

from shapely import MultiPoint

from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import Mark, Row, arrow, running, slope_text
from steamwright.drawing.facet_view import View, leader
from steamwright.drawing.frame import Page, choose_scale, missing, open_page, scale_note
from steamwright.drawing.labels import around, outward_first, readable_turn_deg, upright_box
from steamwright.drawing.pens import INK, PAPER, SHEET_A, SOFT, WASH
from steamwright.drawing.scene import Sheet, Text
from steamwright.room.model import FacetKind
from steamwright.units import FOOT_M, format_length

ROUND_MM = 40.0
SIDE_MM = 62.0
POUND_KG = 0.45359237
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
    _drain(page, view, (s0, t0, s1, t1))
    _falls(page, view)
    _heights(page, view)
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


def _falls(page: Page, view: View) -> None:
    """Arrows from the corners to the drain with the slope on each."""
    report, d = page.digest.plan.pan, page.digest
    if report.drain_m is None:
        return
    x1, y1 = view.at(*report.drain_m)
    stations = {s.id: (s.x_m, s.y_m) for s in d.plan.survey.stations}
    corners = {h.at: (h.x_m, h.y_m) for h in report.heights}
    for fall in report.corners:
        place = corners.get(fall.start) or stations.get(fall.start)
        if place is None or fall.distance_m < 0.05:
            continue
        x0, y0 = view.at(*place)
        length = math.hypot(x1 - x0, y1 - y0)
        if length < 30.0:
            continue
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        a, b = (x0 + 0.3 * length * ux, y0 + 0.3 * length * uy), (x0 + 0.72 * length * ux, y0 + 0.72 * length * uy)
        page.sketch.line("marks", a, b, "teal_thin")
        way = math.degrees(math.atan2(-uy, ux))
        page.sketch.add("marks", arrow(b, way, 4.0))
        turn = readable_turn_deg(way)
        t = math.radians(turn)
        mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        texts = [Text((mx - o * math.sin(t), my - o * math.cos(t)), slope_text(fall.slope, d.system), 4.0, "middle", INK, turn_deg=turn)
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
    for h in report.heights:
        x, y = view.at(h.x_m, h.y_m)
        page.sketch.circle("marks", (x, y), 0.9, None, INK)
        name = f"{h.at} " if h.at in stations else ""
        content = name + format_length(h.over_drain_m, d.system)
        placed = page.sketch.placer.put(outward_first(around(x, y, content, 5.0, 5.0, bold=True), x, y, mx, my), 0.9, limits)
        if placed:
            leader(page.sketch, placed, (x, y))
            page.sketch.plate("labels", placed, 0.7, PAPER)


def _weights(page: Page) -> None:
    """Flood line, water and weight in large lettering under the plan."""
    d, f, report = page.digest, page.field, page.digest.plan.pan
    inch = d.system == "inch"
    figures = (
        ("flood line over the drain", format_length(report.flood_line_over_drain_m, d.system)),
        ("water to the flood line", f"{report.flood_volume_m3 / GALLON_M3:.1f} gal" if inch else f"{report.flood_volume_m3 * 1000:.0f} L"),
        ("weight of that water", f"{report.flood_mass_kg / POUND_KG:.0f} lb" if inch else f"{report.flood_mass_kg:.0f} kg"),
        ("mortar bed", f"{report.bed_volume_m3 / FOOT_M**3:.2f} ft³" if inch else f"{report.bed_volume_m3 * 1000:.0f} L"),
    )
    step = f.width_mm / len(figures)
    for n, (what, value) in enumerate(figures):
        x, y = f.x0_mm + n * step, f.y1_mm - 9.0
        page.sketch.line("frame", (x, y - 15.0), (x + step - 8.0, y - 15.0), "teal")
        page.sketch.write("labels", (x, y - 4.0), value, 7.0, bold=True)
        page.sketch.write("labels", (x, y + 4.5), what, 3.5, color=SOFT)


def _column(page: Page) -> None:
    d, report = page.digest, page.digest.plan.pan
    page.heading("The pan")
    page.note({"liner": "Liner under the bed: made tight by the liner, not by the pieces of this plan.",
               "bonded": "Bonded membrane on the sloped bed."}.get(report.membrane, report.membrane))  # fmt: skip
    page.note(f"Bed at the drain {format_length(report.bed_at_drain_m, d.system)}, at the wall "
              f"{format_length(report.bed_at_perimeter_m, d.system)}; fall {format_length(report.fall_m, d.system)}.")  # fmt: skip
    page.note(f"Slope from {slope_text(report.slope_least, d.system)} to {slope_text(report.slope_most, d.system)}.")
    page.note(report.sentence, 3.0, bold=not report.feasible)
    page.heading("Slopes to the walls")
    rows = [(w.start, format_length(w.distance_m, d.system), slope_text(w.slope, d.system)) for w in report.walls]
    page.table(rows, (0.0, 34.0, 62.0), 2.9)
    if page.room_mm() > 40.0:
        page.heading("Flood test")
        page.note("Heights are above the drain's flat. Have the structure checked for this weight before filling.")
        page.note("Water in the pan proves the pan; nothing proves the walls.")
