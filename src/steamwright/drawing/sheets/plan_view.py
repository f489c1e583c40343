"""The plan: stations, readings with their adjusted values, openings, fixtures, drain, control lines."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, MultiPoint, Polygon

from steamwright.drawing.control import control_lines
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import single
from steamwright.drawing.facet_view import View, leader, rings
from steamwright.drawing.frame import COLUMN_MM, Page, choose_scale_around, open_page, reach_mm, scale_note
from steamwright.drawing.labels import around, padded, readable_turn_deg
from steamwright.drawing.leaves import doors_in, leaf_span_m
from steamwright.drawing.pens import BAND, CRIMSON, INK, PAPER, SHEET_A, SOFT, TEAL, WASH
from steamwright.drawing.scene import Arc, Sheet, Text
from steamwright.drawing.text import text_box, width_mm
from steamwright.geometry.frame import Floats
from steamwright.room.inputs import Niche, Opening
from steamwright.room.model import Facet, FacetKind
from steamwright.room.survey_model import ReadingFix
from steamwright.units import format_length, format_tape

OUTSIDE_MM = 31.0
ROUND_LEAF_MM = 4.0
STOP_MM = 1.6
SQUARE_M = 5e-3
CHAIN_MM, TOTAL_MM = -9.0, -19.0
FIXTURES = {FacetKind.BENCH_TOP: SHEET_A, FacetKind.CURB_TOP: BAND, FacetKind.HALF_WALL_TOP: BAND}


def plan_view(d: Digest, name: str, number: str) -> Sheet:
    """Draw the plan.

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
        Seen from above, the survey's reference face in heavy line, the membrane face in thin line.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "Plan and survey")
    stations = {s.id: (s.x_m, s.y_m) for s in d.plan.survey.stations}
    outline = Polygon(stations.values())
    doors = [p for f in d.plan.room.facets if f.kind is FacetKind.OPENING for p in (*_span(f), *_tip(d, f))]
    boxes = [(outline.bounds, OUTSIDE_MM), *((MultiPoint(doors).bounds, ROUND_LEAF_MM) for _ in doors[:1])]
    f = page.field
    k, label = choose_scale_around(d, boxes, f.width_mm, f.height_mm)
    x0, y0, x1, y1 = reach_mm(boxes, k)
    view = View((f.x0_mm + f.x1_mm) / 2 - (x0 + x1) / 2, (f.y0_mm + f.y1_mm) / 2 + (y0 + y1) / 2, k)
    page.sketch.area("ground", rings(view, outline), "outline", WASH)
    _membrane(page, view)
    _openings(page, view)
    _stations(page, view, stations, outline)
    _lengths(page, view, stations, outline)
    _drains(page, view)
    ways = [w for x in d.plan.room.penetrations if x.kind == "drain"
            for w in _ways_to_walls(d, d.facets[x.facet].frame.lift([x.center_m])[0][:2])]  # fmt: skip
    for wall, at, _ in ways:
        page.sketch.placer.keep_off(view.at(*wall), view.at(*at))
    _depths(page, view)
    _names(page, view)
    _ties(page, view, stations)
    for wall, at, far in ways:
        single(page.sketch, view.at(*wall), view.at(*at), 0.0, far, k, d.system, 3.5)
    scale_note(page, k, label)
    _column(page)
    return page.finish()


def _span(facet: Facet) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two farthest plan points of a standing facet."""
    p = facet.frame.lift(facet.outline_m)[:, :2]
    along = p - p[0]
    far = p[int(np.argmax((along**2).sum(axis=1)))]
    start = p[int(np.argmax(((p - far) ** 2).sum(axis=1)))]
    return (float(start[0]), float(start[1])), (float(far[0]), float(far[1]))


def _membrane(page: Page, view: View) -> None:
    sketch = page.sketch
    for facet in page.digest.plan.room.facets:
        if facet.kind in FIXTURES or (facet.kind is FacetKind.FLOOR):
            ring = view.ring(facet.frame.lift(facet.outline_m)[:, :2])
            sketch.placer.keep_off(*ring, ring[0])
            sketch.area("pieces", (ring,), "edge" if facet.kind in FIXTURES else "thin", FIXTURES.get(facet.kind, PAPER))
        elif facet.kind in (FacetKind.WALL, FacetKind.COLUMN, FacetKind.JAMB, FacetKind.NICHE_SIDE, FacetKind.NICHE_BACK):
            a, b = _span(facet)
            if math.dist(a, b) > 1e-3:
                sketch.line("edges", view.at(*a), view.at(*b), "thin")
                sketch.placer.keep_off(view.at(*a), view.at(*b))
        if facet.kind is FacetKind.WALL and abs(facet.frame.v[2]) > 0.5:
            c = control_lines(page.digest, facet)
            p = facet.frame.lift([(c.plumb_s_m, 0.0)])[0]
            n = facet.frame.normal
            x, y = view.at(float(p[0]), float(p[1]))
            sketch.line("control", (x - 3.5 * n[0], y + 3.5 * n[1]), (x + 3.5 * n[0], y - 3.5 * n[1]), "teal")


def _openings(page: Page, view: View) -> None:
    for facet in page.digest.plan.room.facets:
        if facet.kind is not FacetKind.OPENING:
            continue
        a, b = _span(facet)
        if math.dist(a, b) < 1e-3:
            continue
        page.sketch.line("outline", view.at(*a), view.at(*b), "gap")
        page.sketch.line("outline", view.at(*a), view.at(*b), "glass")
        page.sketch.placer.keep_off(view.at(*a), view.at(*b))
        for opening in _hinged(page.digest, facet):
            _swing(page, view, facet, opening)


def _leaf(d: Digest, facet: Facet, opening: Opening) -> tuple[Floats, Floats, Floats]:
    """Hinge, latch and the open leaf's tip in plan. Hinge left or right is as seen from inside, facing the door. [m]"""
    ends = facet.frame.lift([(s, 0.0) for s in leaf_span_m(d, facet, opening)])[:, :2]
    hinge, latch = (ends[0], ends[1]) if opening.hinge == "left" else (ends[1], ends[0])
    n = facet.frame.normal[:2] * (1.0 if opening.swing == "in" else -1.0)
    width = float(np.linalg.norm(latch - hinge))
    return hinge, latch, hinge + n * width


def _tip(d: Digest, facet: Facet) -> tuple[tuple[float, float], ...]:
    """The farthest point that a leaf reaches, so that its arc stays on the paper."""
    tips = [_leaf(d, facet, opening)[2] for opening in _hinged(d, facet)]
    return tuple((float(tip[0]), float(tip[1])) for tip in tips)


def _hinged(d: Digest, facet: Facet) -> list[Opening]:
    """The doors of which the job says how they swing."""
    return [o for o in doors_in(d, facet) if o.hinge != "none" and o.swing != "none"]


def _swing(page: Page, view: View, facet: Facet, opening: Opening) -> None:
    """The leaf and its arc."""
    hinge, latch, tip = _leaf(page.digest, facet, opening)
    width = float(np.linalg.norm(tip - hinge))
    h, t = view.at(*hinge), view.at(*tip)
    page.sketch.line("marks", h, t, "edge")
    start = math.degrees(math.atan2(*(latch - hinge)[::-1]))
    end = math.degrees(math.atan2(*(tip - hinge)[::-1]))
    if (end - start) % 360 > 180:
        start, end = end, start
    page.sketch.add("marks", Arc(h, width * view.scale_mm_per_m, start % 360, end % 360, "thin"))
    turns = np.radians(np.linspace(start, start + (end - start) % 360, 7))
    page.sketch.placer.keep_off(h, t, h, *(view.at(*(hinge + width * np.array((math.cos(a), math.sin(a))))) for a in turns))


def _stations(page: Page, view: View, stations: dict[str, tuple[float, float]], outline: Polygon) -> None:
    center = outline.representative_point()
    for sid, (x, y) in stations.items():
        px, py = view.at(x, y)
        page.sketch.circle("marks", (px, py), 1.3, "edge", PAPER)
        away = math.atan2(y - center.y, x - center.x)
        for reach in (8.0, 12.0, 18.0):
            cx, cy = px + reach * math.cos(away), py - reach * math.sin(away)
            if page.sketch.placer.put([Text((cx, cy + 3.0), sid, 6.0, "middle", TEAL, True)], 0.8):
                page.sketch.put("labels", Text((cx, cy + 3.0), sid, 6.0, "middle", TEAL, True))
                break


def _by_line(page: Page) -> dict[frozenset[str], list[ReadingFix]]:
    out: dict[frozenset[str], list[ReadingFix]] = {}
    for r in page.digest.plan.survey.readings:
        if r.kind in ("wall", "diagonal", "tie"):
            out.setdefault(frozenset(r.of.split("-")), []).append(r)
    return out


def _lengths(page: Page, view: View, stations: dict[str, tuple[float, float]], outline: Polygon) -> None:
    """Adjusted lengths of the walls, outside, and next to the wall where its openings and niches begin and end."""
    ids = list(stations)
    ccw = outline.exterior.is_ccw
    suspects = {key for key, rows in _by_line(page).items() if any(r.suspect for r in rows)}
    for i, j in zip(ids, ids[1:] + ids[:1], strict=True):
        a, b = (stations[i], stations[j]) if ccw else (stations[j], stations[i])
        length = math.dist(a, b)
        prefix = "suspect " if frozenset((i, j)) in suspects else ""
        k, system = view.scale_mm_per_m, page.digest.system
        breaks = _breaks(page.digest, i, j, length)
        stops = breaks if ccw else [length - s for s in reversed(breaks)]
        for low, high in itertools.pairwise(stops) if len(stops) > 2 else ():
            p, q = (((1 - s / length) * a[0] + s / length * b[0], (1 - s / length) * a[1] + s / length * b[1]) for s in (low, high))
            single(page.sketch, view.at(*p), view.at(*q), CHAIN_MM, high - low, k, system, 3.5)
        for off, height in ((TOTAL_MM, 5.0), (CHAIN_MM, 3.5), (-TOTAL_MM, 3.5)):
            if single(page.sketch, view.at(*a), view.at(*b), off, length, k, system, height, prefix):
                break


def _breaks(d: Digest, i: str, j: str, length_m: float) -> list[float]:
    """Both ends of a wall and of what is cut into it, from its first station. [m]"""
    out = [0.0, length_m]
    recesses: tuple[Opening | Niche, ...] = (*d.plan.job.room.opening, *d.plan.job.room.niche)
    for thing in recesses:
        if {i, j} == set(thing.wall.split("-")):
            ends = (thing.from_m, thing.from_m + thing.width_m)
            out.extend(ends if thing.wall.split("-")[0] == i else (length_m - e for e in ends))
    out.sort()
    return [out[0], *(b for a, b in itertools.pairwise(out) if b - a > 2e-3)]


def _depths(page: Page, view: View) -> None:
    """How deep and how long benches, curbs and half walls are, on the survey's face: across and along their longest side."""
    for facet in page.digest.plan.framing.facets:
        if facet.kind not in FIXTURES:
            continue
        flat = Polygon(facet.frame.lift(facet.outline_m)[:, :2])
        a, b = max(itertools.pairwise(flat.exterior.coords), key=lambda e: math.dist(*e))
        along = np.subtract(b, a) / math.dist(a, b)
        inward = along[::-1] * (-1, 1) * (1.0 if flat.exterior.is_ccw else -1.0)
        deepest = _across(page, view, flat, [np.add(a, q * np.subtract(b, a)) for q in (0.2, 0.8, 0.12, 0.88, 0.35, 0.65)], 9 * inward)
        rows = [np.add(a, q * deepest * inward) for q in (0.3, 0.7, 0.5, 0.85, 0.15)]
        lengths = [LineString([r - 9 * along, r + 9 * along]).intersection(flat).length for r in rows]
        if max(lengths) - min(lengths) < SQUARE_M:  # where benches meet in a mitre, no length says what to build
            _across(page, view, flat, rows, 9 * along)


def _across(page: Page, view: View, flat: Polygon, feet: Sequence[Floats], way: Floats) -> float:
    """One dimension of a fixture through the first foot that has room for it; says how large it is. [m]"""
    cuts = [c for foot in feet if (c := LineString([foot - way, foot + way]).intersection(flat)).geom_type == "LineString"]
    most = max((c.length for c in cuts), default=0.0)
    for cut in cuts:
        p, q = (view.at(*c) for c in (cut.coords[0], cut.coords[-1]))
        if cut.length > most - 2e-3 and single(page.sketch, p, q, 0.0, cut.length, view.scale_mm_per_m, page.digest.system, 3.5):
            page.sketch.placer.keep_off(p, q)
            break
    return most


def _ties(page: Page, view: View, stations: dict[str, tuple[float, float]]) -> None:
    """Diagonals and ties with their adjusted values, suspects in crimson and named so."""
    ids = list(stations)
    walls = {frozenset(p) for p in zip(ids, ids[1:] + ids[:1], strict=True)}
    lines = sorted(_by_line(page).items(), key=lambda e: not any(r.suspect for r in e[1]))
    for key, rows in lines:
        if key in walls or len(key) != 2 or not key <= stations.keys():
            continue
        i, j = sorted(key)
        a, b = view.at(*stations[i]), view.at(*stations[j])
        bad = any(r.suspect for r in rows)
        page.sketch.line("edges", a, b, "fail_thin" if bad else "tie")
        turn = readable_turn_deg(math.degrees(math.atan2(a[1] - b[1], b[0] - a[0])))
        content = format_length(math.dist(stations[i], stations[j]), page.digest.system) + (" suspect" if bad else "")
        spots = [(a[0] + q * (b[0] - a[0]), a[1] + q * (b[1] - a[1])) for q in (0.3, 0.7, 0.4, 0.6, 0.22, 0.78, 0.5)]
        lift = math.radians(turn)
        color = CRIMSON if bad else INK
        # large lettering goes before what is clear of every line
        sizes = ([Text((x + h / 2 * math.sin(lift), y + h / 2 * math.cos(lift)), content, h, "middle", color, turn_deg=turn)
                  for x, y in spots] for h in (5.0, 3.5))  # fmt: skip
        placed = next((p for texts in sizes if (p := page.sketch.placer.put(texts, 1.0))), None)
        if placed:
            page.sketch.plate("labels", placed, 0.8, PAPER)


def _drains(page: Page, view: View) -> None:
    d = page.digest
    for p in d.plan.room.penetrations:
        facet = d.facets[p.facet]
        if p.kind != "drain":
            continue
        x, y = view.at(*map(float, facet.frame.lift([p.center_m])[0][:2]))
        r = max(1.5, p.diameter_m / 2 * view.scale_mm_per_m)
        page.sketch.circle("marks", (x, y), r, "edge", PAPER)
        for ax, ay in ((1, 0), (0, 1)):
            page.sketch.line("marks", (x - ax * (r + 2), y - ay * (r + 2)), (x + ax * (r + 2), y + ay * (r + 2)), "center")
        placed = page.sketch.placer.put(around(x, y, p.name or "drain", 4.0, r + 4.0), 0.8)
        if placed:
            leader(page.sketch, placed, (x, y))
            page.sketch.plate("labels", placed, 0.8, PAPER)


def _ways_to_walls(d: Digest, at_m: Floats) -> list[tuple[tuple[float, float], tuple[float, float], float]]:
    """From the walls to the left of a drain and below it on the paper to the drain, on the survey's face, and how far that is. [m]"""
    room = Polygon([(s.x_m, s.y_m) for s in d.plan.survey.stations])
    out = []
    for way in (np.array([-1.0, 0.0]), np.array([0.0, -1.0])):
        hits = room.exterior.intersection(LineString([at_m, at_m + 99 * way]))
        if not hits.is_empty:
            x, y = min(shapely.get_coordinates(hits).tolist(), key=lambda p: math.dist(p, at_m))
            out.append(((x, y), (float(at_m[0]), float(at_m[1])), math.dist((x, y), at_m)))
    return out


def _names(page: Page, view: View) -> None:
    """Names of openings beside them, of fixtures inside them or, where they are too small for that, beside them with a leader."""
    for facet in page.digest.plan.room.facets:
        if facet.kind is FacetKind.OPENING:
            placed = page.sketch.placer.put(_beside(view, facet), 0.6)
            if placed:
                page.sketch.plate("labels", placed, 0.6, PAPER)
        elif facet.kind in FIXTURES:
            placed = page.sketch.placer.put(_within(view, facet), 0.4)
            if placed:
                page.sketch.put("labels", placed)
                continue
            x, y = view.at(*Polygon(facet.frame.lift(facet.outline_m)[:, :2]).representative_point().coords[0])
            aside = page.sketch.placer.put(around(x, y, facet.name, 3.5, 9.0, color=SOFT), 0.6)
            if aside:
                leader(page.sketch, aside, (x, y))
                page.sketch.plate("labels", aside, 0.6, PAPER)


def _beside(view: View, facet: Facet) -> list[Text]:
    """Places for the name of an opening: along it, outside before inside."""
    a, b = (np.array(view.at(*p)) for p in _span(facet))
    n = facet.frame.normal
    turn = readable_turn_deg(math.degrees(math.atan2(n[0], -n[1])))
    lift = 2.0 * np.array((math.sin(math.radians(turn)), math.cos(math.radians(turn))))
    spots = [(away, q) for away in (-7.5, 6.0, -25.0) for q in (0.5, 0.25, 0.75)]
    feet = [a + q * (b - a) + away * np.array((n[0], -n[1])) + lift for away, q in spots]
    return [Text((float(x), float(y)), facet.name, 4.0, "middle", SOFT, turn_deg=turn) for x, y in feet]


def _within(view: View, facet: Facet) -> list[Text]:
    """Places for the name of a fixture wholly inside it: along its longest side, level or upright, the largest lettering first."""
    flat = Polygon(view.ring(facet.frame.lift(facet.outline_m)[:, :2]))
    middle = flat.centroid if flat.contains(flat.centroid) else shapely.maximum_inscribed_circle(flat, 0.5).centroid
    a, b = max(itertools.pairwise(flat.exterior.coords), key=lambda e: math.dist(*e))
    along = readable_turn_deg(math.degrees(math.atan2(a[1] - b[1], b[0] - a[0])))
    deep, r = flat.area / math.dist(a, b), math.radians(along)
    steps = [(p * math.dist(a, b), q * deep) for p in (0.0, 0.25, -0.25, 0.4, -0.4) for q in (0.0, 0.2, -0.2, 0.3, -0.3)]
    out = []
    for size in (4.0, 3.2, 2.6):
        for turn in dict.fromkeys((along, 0.0, 90.0)):
            t = math.radians(turn)
            for p, q in steps:
                x = middle.x + p * math.cos(r) - q * math.sin(r) + size / 2 * math.sin(t)
                y = middle.y - p * math.sin(r) - q * math.cos(r) + size / 2 * math.cos(t)
                text = Text((x, y), facet.name, size, "middle", SOFT, turn_deg=turn)
                if flat.contains(Polygon(padded(text_box(text), 0.4).corners_mm)):
                    out.append(text)
    return out


def _stops(rows: Sequence[Sequence[str]], height_mm: float) -> tuple[list[float], float]:
    """Where the columns of a table begin, each as wide as what it holds, and how wide all are. [mm]"""
    ends = list(itertools.accumulate(max(width_mm(row[k], height_mm) for row in rows) + STOP_MM for k in range(len(rows[0]))))
    return [0.0, *ends[:-1]], ends[-1] - STOP_MM


def _column(page: Page) -> None:
    survey, system = page.digest.plan.survey, page.digest.system
    page.heading("Readings")
    rows = [("reading", "read", "adjusted", "off by")]
    for r in survey.readings:
        off = format_tape(r.residual_m, 32) if system == "inch" else f"{r.residual_m * 1000:+.1f} mm"
        what = r.of if "-" in r.of else f"{r.kind} {r.of}"
        rows.append(
            (f"{what} suspect" if r.suspect else what, format_length(r.measured_m, system), format_length(r.adjusted_m, system), off)
        )
    keep = 52.0
    stops, wide = _stops(rows, 2.7)
    height = 2.7 if page.room_mm() - keep > len(rows) * 5.2 and wide <= COLUMN_MM else 2.3
    if height < 2.7:
        stops, _ = _stops(rows, height)
    page.foot_mm -= keep
    written = page.table(rows, stops, height)
    page.foot_mm += keep
    if written < len(rows):
        page.note(f"and {len(rows) - written} more readings in the plan file.", 2.5)
    page.heading("Fit")
    verdict = "consistent" if survey.consistent else "not consistent"
    page.note(f"{survey.dof} redundant, chi-square {survey.chi2:.2f} (limit {survey.chi2_high:.2f}): the readings are {verdict}.", 2.8)
    for line in survey.advice[:2]:
        if page.room_mm() > 16.0:
            page.note(line, 2.8, bold=True)
    if page.room_mm() > 14.0:
        page.note("Short teal strokes: plumb control lines. Lengths drawn are adjusted, on the survey's face.", 2.5)
