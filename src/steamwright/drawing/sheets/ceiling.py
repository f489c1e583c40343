"""The ceiling as a person sees it who looks up: held overhead, the sheet matches the room."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import MultiPoint

from steamwright.drawing.control import left_corner
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import Mark, Row, arrow, running, slope_text
from steamwright.drawing.facet_view import View, leader
from steamwright.drawing.frame import Page, choose_scale, missing, open_page, scale_note
from steamwright.drawing.labels import around, outward_first, padded, readable_turn_deg, upright_box
from steamwright.drawing.pens import INK, PAPER, SHEET_A, SHEET_B, SOFT, TEAL
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.text import text_box
from steamwright.room.model import Facet, FacetKind
from steamwright.units import format_length

ROUND_MM = 44.0
SIDE_MM = 64.0
ALIKE = 0.999
ASKEW_DEG = 3.0
"""A room out of square by less is drawn along its ceiling. Common practice, no source."""
LOOK_UP = (FacetKind.CEILING, FacetKind.SOFFIT)


def ceiling(d: Digest, name: str, number: str) -> Sheet:
    """Draw the ceiling mirrored, as it is seen from below.

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
        Fall arrows with slopes, heights at every break, centres of lights and pipes, measured level.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "Falls and heights of the ceiling, seen looking up")
    facets = [f for f in d.plan.room.facets if f.kind in LOOK_UP and f.frame.normal[2] < -1e-6]
    if not facets:
        missing(page, "This room has no ceiling.")
        return page.finish()
    points = np.vstack([f.frame.lift(f.outline_m) for f in facets])
    turn = _turn(facets)
    flat = points[:, :2] * (1.0, -1.0) @ turn
    s0, t0, s1, t1 = MultiPoint(flat).bounds
    f = page.field
    k, label = choose_scale(d, s1 - s0, t1 - t0, f.width_mm - 2 * SIDE_MM, f.height_mm - 2 * ROUND_MM)
    view = View((f.x0_mm + f.x1_mm) / 2 - k * (s0 + s1) / 2, (f.y0_mm + f.y1_mm) / 2 + k * (t0 + t1) / 2, k)
    for n, facet in enumerate(facets):
        ring = view.ring(_mirrored(facet, facet.outline_m, turn))
        page.sketch.area("pieces", (ring,), "outline", SHEET_B if n % 2 else SHEET_A)
    # the ceiling's own sheet may be turned against the plan
    alike = len(facets) == 1 and _level_u(facets[0]) @ turn[:, 0] > ALIKE
    zero = (left_corner(flat, False)[0] if alike else s0, t1)
    _centers(page, view, facets, zero, turn)
    _wall_names(page, view, turn)
    for facet in facets:
        _fall(page, view, facet, turn)
    _heights(page, view, points, flat)
    scale_note(page, k, label)
    page.heading("Reading the sheet")
    page.note("Mirror image of the plan. Hold it overhead with the walls where they are: it matches the room.")
    page.note("Arrows point downhill. Heights are above 0, on the membrane face: 0 is the bare floor under the pan, at the mean of its "
              "readings from the level line.")
    left = "the left end of its lower edge, as on its own sheet," if alike else "the outermost points at the left"
    page.note(f"Centres are measured level on the membrane face, from {left} and above; the ceiling's own sheet measures along its slope.")
    page.heading("Ceiling surfaces")
    rows = [(d.names[x.id], slope_text(_slope(x), d.system)) for x in facets]
    page.table(rows, (0.0, 55.0), 3.0)
    return page.finish()


def _turn(facets: Sequence[Facet]) -> np.ndarray:
    """What turns the mirrored plan onto the axes of the largest ceiling, if it lies off by a little: its own sheet has them, too."""
    u = _level_u(max(facets, key=lambda f: f.area_m2))
    off = math.atan2(u[1], u[0])
    off -= round(off / (math.pi / 2)) * math.pi / 2
    if abs(off) > math.radians(ASKEW_DEG):
        off = 0.0
    return np.array([[math.cos(off), -math.sin(off)], [math.sin(off), math.cos(off)]])


def _level_u(facet: Facet) -> np.ndarray:
    """Where right is on a facet's own sheet, in the mirrored plan; of unit length, or nothing on an upright one."""
    u = np.array([facet.frame.u[0], -facet.frame.u[1]])
    return u / max(float(np.hypot(*u)), 1e-9)


def _mirrored(facet: Facet, points: object, turn: np.ndarray) -> np.ndarray:
    """Plan points with y turned over: what is left and right as one looks up."""
    flat: np.ndarray = facet.frame.lift(points)[:, :2] * (1.0, -1.0) @ turn  # type: ignore[arg-type]
    return flat


def _slope(facet: Facet) -> float:
    n = facet.frame.normal
    return float(math.hypot(n[0], n[1]) / abs(n[2]))


def _fall(page: Page, view: View, facet: Facet, turned: np.ndarray) -> None:
    """An arrow downhill through the middle of the facet with its slope beside it."""
    n = facet.frame.normal
    slope = _slope(facet)
    c = facet.polygon.representative_point() if not facet.polygon.contains(facet.polygon.centroid) else facet.polygon.centroid
    (mx, my) = view.at(*_mirrored(facet, [(c.x, c.y)], turned)[0])
    if slope < 1e-4:
        texts = [Text((mx, my + 2.5), "level", 5.0, "middle", INK), *around(mx, my, "level", 5.0, 4.0)]
        placed = page.sketch.placer.put(texts, 1.0)
        if placed:
            page.sketch.put("labels", placed)
        return
    dx, dy = (np.array([-n[0], n[1]]) / math.hypot(n[0], n[1]) @ turned).tolist()
    way = math.degrees(math.atan2(dy, dx))
    turn = readable_turn_deg(way)
    t = math.radians(turn)
    content = slope_text(slope, page.digest.system)
    places = [(mx + p * dx + q * dy, my - p * dy + q * dx) for q in (0.0, 16.0, -16.0, 30.0, -30.0) for p in (0.0, 14.0, -14.0)]
    texts = [Text((x - 2.5 * math.sin(t), y - 2.5 * math.cos(t)), content, 5.0, "middle", TEAL, True, turn) for x, y in places]
    for (x, y), text in zip(places, texts, strict=True):
        under = padded(text_box(text), 3.0)
        if page.sketch.placer.is_free(under):
            page.sketch.placer.take(under)
            a, b = (x - 14.0 * dx, y + 14.0 * dy), (x + 14.0 * dx, y - 14.0 * dy)
            page.sketch.line("marks", a, b, "teal")
            page.sketch.add("marks", arrow(b, way, 5.0))
            page.sketch.put("labels", text)
            return


def _heights(page: Page, view: View, points: np.ndarray, flat: np.ndarray) -> None:
    """The height at every corner of the ceiling, outward of it where there is room."""
    seen: set[tuple[int, int, int]] = set()
    c = flat.mean(axis=0)
    for (x, y), z in zip(flat.tolist(), points[:, 2].tolist(), strict=True):
        key = (round(x * 500), round(y * 500), round(z * 500))
        if key in seen:
            continue
        seen.add(key)
        px, py = view.at(x, y)
        cx, cy = view.at(float(c[0]), float(c[1]))
        content = format_length(z, page.digest.system)
        texts = outward_first(around(px, py, content, 5.0, 5.0, bold=True), px, py, cx, cy)
        placed = page.sketch.placer.put(texts, 0.9)
        page.sketch.circle("marks", (px, py), 0.9, None, INK)
        if placed:
            leader(page.sketch, placed, (px, py))
            page.sketch.plate("labels", placed, 0.7, PAPER)


def _wall_names(page: Page, view: View, turned: np.ndarray) -> None:
    """The sides of the plan, outside the ceiling, so that the sheet can be turned the right way."""
    survey = page.digest.plan.survey
    stations = [(float(x), float(y)) for x, y in np.array([(p.x_m, -p.y_m) for p in survey.stations]) @ turned]
    middle = np.mean(stations, axis=0)
    for side, a, b in zip(survey.wall_sides(), stations, stations[1:] + stations[:1], strict=True):
        along = np.array(b) - np.array(a)
        out = np.array([along[1], -along[0]]) / (float(np.linalg.norm(along)) or 1.0)
        if out @ ((np.array(a) + np.array(b)) / 2 - middle) < 0:
            out = -out
        x, y = view.at((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        turn = readable_turn_deg(math.degrees(math.atan2(along[1], along[0])))
        t = math.radians(turn)
        texts = [Text((x + o * out[0] + 2.0 * math.sin(t), y - o * out[1] + 2.0 * math.cos(t)), side, 4.0, "middle", SOFT, turn_deg=turn)
                 for o in (8.0, 12.0, 17.0, 24.0)]  # fmt: skip
        placed = page.sketch.placer.put(texts, 0.8)
        if placed:
            page.sketch.put("labels", placed)


def _centers(page: Page, view: View, facets: list[Facet], zero: tuple[float, float], turned: np.ndarray) -> None:
    """Lights, pipes and what else goes through the ceiling, measured from its left corner and the upper side of the sheet."""
    d, k = page.digest, view.scale_mm_per_m
    s0, t1 = zero
    _, t0, s1, _ = MultiPoint(np.vstack([_mirrored(f, f.outline_m, turned) for f in facets])).bounds
    (left, bottom), (right, top) = view.at(s0, t0), view.at(s1, t1)
    across, down = [], []
    f = page.field
    for facet in facets:
        for p in d.penetrations.get(facet.id, ()):
            s, t = map(float, _mirrored(facet, [p.center_m], turned)[0])
            x, y = view.at(s, t)
            r = max(1.2, p.diameter_m / 2 * k)
            page.sketch.circle("marks", (x, y), r, "edge", PAPER)
            page.sketch.placer.take(upright_box(x - r, y - r, x + r, y + r))
            across.append(Mark(x, y, s - s0, "center"))
            down.append(Mark(y, x, t1 - t, "center"))
            placed = page.sketch.placer.put(around(x, y, p.name or p.kind, 3.5, r + 3.0), 0.8)
            if placed:
                page.sketch.plate("labels", placed, 0.8, PAPER)
    running(page.sketch, Row(False, bottom + 26.0, 1, left, f.x0_mm, f.x1_mm, k, d.system), across)
    running(page.sketch, Row(True, right + 26.0, 1, top, f.y0_mm, f.y1_mm, k, d.system), down)
