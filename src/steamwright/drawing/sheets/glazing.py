"""A glass front, or the doors and panes of a wall, as a person in the room sees them: every size to finished faces."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import shapely
from shapely import LineString, Polygon

from steamwright.drawing.control import control_lines
from steamwright.drawing.digest import STANDING, Digest
from steamwright.drawing.dimension import Mark, Row, running, single
from steamwright.drawing.facet_view import View, parts, rings
from steamwright.drawing.frame import Page, choose_scale, notes_mm, open_page, scale_note
from steamwright.drawing.fronts import (
    AT_M,
    NEAR_M,
    TRUE_M,
    Front,
    Leaf,
    Pane,
    ends_of_covering,
    front_title,
    leaf_words,
    rough_words,
    side_m,
    trueness,
)
from steamwright.drawing.labels import padded
from steamwright.drawing.pens import BAND, INK, PAPER, SOFT, TEAL, WASH
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.text import text_box, width_mm
from steamwright.geometry.frame import Point2
from steamwright.plan.facts import FLOOR_MORTAR_M
from steamwright.plan.underfoot import finished_floor_m
from steamwright.room.model import FacetKind
from steamwright.units import format_length

SIDE_MM, OVER_MM, FOOT_MM = 56.0, 26.0, 42.0
CHAIN_MM, TOTAL_MM, HEIGHT_MM = -9.0, -19.0, 11.0
LEVEL_MM = 27.0
ALIKE_M = 3e-3
"""Ends nearer to one another are dimensioned as one. Common practice, no source."""
LEAST_M2 = 0.01
SIZES_MM = (5.0, 4.0, 3.2)
SHIFTS_MM = (0.0, 14.0, -14.0, 28.0, -28.0, 44.0, -44.0)


def glazing(d: Digest, front: Front, name: str, number: str) -> Sheet:
    """Draw a front.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    front : Front
        What stands open in one wall.
    name : str
        File name without suffix.
    number : str
        What the title block shows.

    Returns
    -------
    sheet : Sheet
        What glass and doors stand on, leaves with swing and hinge, and where the covering ends.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, f"{front_title(front)}, seen from inside")
    f, base = page.field, front.height_t(0.0)
    boxes = [p.framing.union(p.finished).bounds for p in front.panes]
    s0, s1 = min(b[0] for b in boxes), max(b[2] for b in boxes)
    t0, t1 = min(base, *(b[1] for b in boxes)), max(b[3] for b in boxes)
    k, label = choose_scale(d, s1 - s0, t1 - t0, f.width_mm - 2 * SIDE_MM, f.height_mm - OVER_MM - FOOT_MM)
    view = View((f.x0_mm + f.x1_mm) / 2 - k * (s0 + s1) / 2, (f.y0_mm + OVER_MM + f.y1_mm - FOOT_MM) / 2 + k * (t0 + t1) / 2, k)
    _ground(page, front, view)
    for pane in front.panes:
        _faces(page, front, pane, view)
    for leaf in (x for p in front.panes for x in p.leaves):
        _leaf(page, leaf, view)
    _levels(page, front, view)
    _widths(page, front, view)
    for pane in front.panes:
        _heights(page, front, pane, view)
    _names(page, front, view)
    _sides(page, front)
    scale_note(page, k, label)
    _column(page, front)
    return page.finish()


def _ground(page: Page, front: Front, view: View) -> None:
    """What the openings stand on, cut where they stand, and the line of the bare floor."""
    f, base = page.field, front.height_t(0.0)
    for u in front.under:
        (sa, ta), (sb, tb) = u.start_m, u.end_m
        if min(ta, tb) - base > ALIKE_M:
            ring = view.ring(((sa, base), (sb, base), (sb, tb), (sa, ta)))
            page.sketch.area("ground", (ring,), "edge", WASH, "solid")
    y = view.at(0.0, base)[1]
    page.sketch.line("ground", (f.x0_mm + 2.0, y), (f.x1_mm - 2.0, y), "tie")
    page.sketch.placer.keep_off((f.x0_mm, y), (f.x1_mm, y))
    page.sketch.write("labels", (f.x0_mm + 2.0, y + 5.0), "0, bare floor", 3.5, color=SOFT)


def _faces(page: Page, front: Front, pane: Pane, view: View) -> None:
    """The layers between framing and finished faces, the line at which the covering comes to the opening, and the opening."""
    for poly in parts(shapely.difference(pane.framing, pane.finished), "Polygon"):
        page.sketch.area("pieces", rings(view, poly), "thin", BAND)
    for poly in parts(pane.finished, "Polygon"):
        page.sketch.area("pieces", rings(view, poly), None, PAPER, "glass" if front.glass else None)
        page.sketch.area("outline", rings(view, poly), "outline")
        for ring in rings(view, poly):
            page.sketch.placer.keep_off(*ring, ring[0])
    membrane = {f.id for f in page.digest.plan.room.facets if f.name == pane.facet.name and f.kind is FacetKind.OPENING}
    for r in (r for r in front.rims if r.opening in membrane):
        a, b = front.frame.drop([r.start_m, r.end_m])
        page.sketch.line("outline", view.at(*a), view.at(*b), "rim_thin")


def _leaf(page: Page, leaf: Leaf, view: View) -> None:
    """A leaf with the lines that meet at its hinge: full where it opens towards the reader, dashed where away."""
    page.sketch.area("edges", rings(view, leaf.polygon), "edge", PAPER)
    for ring in rings(view, leaf.polygon):
        page.sketch.placer.keep_off(*ring, ring[0])
    if leaf.said.hinge == "none" or leaf.said.swing == "none":
        return
    s0, t0, s1, t1 = leaf.polygon.bounds
    hinge, latch = (s0, s1) if leaf.said.hinge == "left" else (s1, s0)
    run = tuple(view.at(*p) for p in ((latch, t0), (hinge, (t0 + t1) / 2), (latch, t1)))
    page.sketch.path("edges", run, "thin" if leaf.said.swing == "in" else "hidden")
    page.sketch.placer.keep_off(*run)


def _levels(page: Page, front: Front, view: View) -> None:
    """The level line that is snapped on the walls, and from it, beside the front, the height of every corner."""
    height = _level_m(page, front)
    t = front.height_t(height)
    boxes = [p.finished.bounds for p in front.panes]
    left, right = view.at(min(b[0] for b in boxes), 0.0)[0] - LEVEL_MM, view.at(max(b[2] for b in boxes), 0.0)[0] + LEVEL_MM
    y, k = view.at(0.0, t)[1], view.scale_mm_per_m
    page.sketch.line("control", (left, y), (right, y), "control")
    page.sketch.placer.keep_off((left, y), (right, y))
    page.sketch.write("labels", (left + 2.0, y - 1.6), "level", 3.5, color=TEAL)
    for x, side, ends in ((left, -1, _corners(front, False)), (right, 1, _corners(front, True))):
        marks = [Mark(view.at(s, u)[1], view.at(s, u)[0], u - t) for s, u in ends]
        running(page.sketch, Row(True, x, side, y, page.field.y0_mm, page.field.y1_mm, k, page.digest.system, 4.0, signed=True), marks)


def _level_m(page: Page, front: Front) -> float:
    """Height of the level line on the walls beside the front, or on the one that it is cut into. [m]"""
    d, beside = page.digest, {r.facet for r in front.rims}
    walls = [f for f in d.main_facets() if f.kind in STANDING]
    near = [f for f in walls if f.id in beside or set(f.surface.split("-")) == set(front.wall.split("-"))]
    return max((control_lines(d, f).level_height_m for f in near or walls), default=0.0)


def _corners(front: Front, right: bool) -> list[Point2]:
    """The corners of openings and leaves in the left or the right half, those of like height once."""
    boxes = [p.finished.bounds for p in front.panes]
    middle = (min(b[0] for b in boxes) + max(b[2] for b in boxes)) / 2
    rings_m = [q.exterior.coords[:-1] for p in front.panes for q in (p.finished, *(x.polygon for x in p.leaves))]
    out: list[Point2] = []
    for s, t in sorted((p for ring in rings_m for p in ring), key=lambda p: p[0], reverse=right):
        if (s > middle) is right and all(abs(t - o[1]) >= ALIKE_M for o in out):
            out.append((s, t))
    return out


def _say(page: Page, view: View, a: Point2, b: Point2, offs_mm: Sequence[float]) -> bool:
    """One dimension at the first place, and in the largest lettering, that has room between its ends or else beside them."""
    k, system = view.scale_mm_per_m, page.digest.system
    value = max(abs(b[0] - a[0]), abs(b[1] - a[1]))
    fit = [h for h in SIZES_MM if width_mm(format_length(value, system), h) < value * k - 2.6]
    return any(single(page.sketch, view.at(*a), view.at(*b), off, value, k, system, size)
               for size in (*fit, SIZES_MM[-1]) for off in offs_mm)


def _widths(page: Page, front: Front, view: View) -> None:
    """Under the front how wide everything is that it stands on and every leaf, and all of it; over it its width at the top."""
    base = front.height_t(0.0)
    ends = [s for u in front.under for s in (u.start_m[0], u.end_m[0])]
    ends += [s for p in front.panes for x in p.leaves for s in x.polygon.bounds[::2]]
    stops: list[float] = []
    for s in sorted(ends):
        if not stops or s - stops[-1] > ALIKE_M:
            stops.append(s)
    low = min(base, *(p.finished.bounds[1] for p in front.panes))
    # the narrowest first: their lettering has no other place than over them
    for a, b in sorted(itertools.pairwise(stops), key=lambda e: e[1] - e[0]) if len(stops) > 2 else ():
        _say(page, view, (a, low), (b, low), (CHAIN_MM,))
    if len(stops) > 1:
        _say(page, view, (stops[0], low), (stops[-1], low), (TOTAL_MM if len(stops) > 2 else CHAIN_MM,))
    for p in front.panes:
        t1 = p.finished.bounds[3]
        top = [s for s, t in p.finished.exterior.coords if t > _middle(p.finished)]
        _say(page, view, (min(top), t1), (max(top), t1), (-CHAIN_MM, -TOTAL_MM))


def _middle(polygon: Polygon) -> float:
    low, high = polygon.bounds[1], polygon.bounds[3]
    return float(low + high) / 2


def _rise(polygon: Polygon, s_m: float) -> tuple[float, float]:
    """From where to where an opening reaches over one of its places. [m]"""
    found = shapely.intersection(polygon, LineString([(s_m, -99.0), (s_m, 99.0)]))
    return float(found.bounds[1]), float(found.bounds[3])


def _heights(page: Page, front: Front, pane: Pane, view: View) -> None:
    """How high everything stands on the bare floor, and how high the opening is at its ends and over every step and leaf."""
    base = front.height_t(0.0)
    for right, off in ((False, HEIGHT_MM), (True, -HEIGHT_MM)):
        (s, low), (_, high) = side_m(pane.finished, right)
        _say(page, view, (s, low), (s, high), (off,))
        if low - base > ALIKE_M:
            _say(page, view, (s, base), (s, low), (off,))
    s0, _, s1, _ = pane.finished.bounds
    stands = [u for u in front.under if u.start_m[0] > s0 - NEAR_M and u.end_m[0] < s1 + NEAR_M]
    for a, b in itertools.pairwise(stands):
        _step(page, pane, view, a.end_m, b.start_m)
    for u in stands[1:-1]:
        s, t = (u.start_m[0] + u.end_m[0]) / 2, (u.start_m[1] + u.end_m[1]) / 2
        if t - base > ALIKE_M:
            _say(page, view, (s, base), (s, t), (0.0, 12.0, -12.0))
    for leaf in pane.leaves:
        _leaf_heights(page, pane, leaf, view)


def _step(page: Page, pane: Pane, view: View, a: Point2, b: Point2) -> None:
    """Where one thing under the glass ends and a higher one begins: the step, and the glass over it."""
    if abs(a[1] - b[1]) < ALIKE_M:
        return
    s, (low, high) = (a[0] + b[0]) / 2, sorted((a[1], b[1]))
    aside = 6.0 if a[1] < b[1] else -6.0  # the lower one has glass beside the step
    if any(min(abs(x - s) for x in leaf.polygon.bounds[::2]) < NEAR_M for leaf in pane.leaves):
        aside = -aside  # a leaf beside the step needs its place for its own height and for how it opens
    _say(page, view, (s, low), (s, high), (aside, 2.2 * aside))
    _say(page, view, (s, high), (s, _rise(pane.finished, s - AT_M)[1]), (aside, -aside, 2.2 * aside))


def _leaf_heights(page: Page, pane: Pane, leaf: Leaf, view: View) -> None:
    """How high a leaf is, and the glass over it; at both sides where they differ."""
    s0, _, s1, _ = leaf.polygon.bounds
    rows = [(s, *_rise(leaf.polygon, s + way * AT_M), _rise(pane.finished, s + way * AT_M)[1], way) for s, way in ((s0, 1.0), (s1, -1.0))]
    for n, (s, low, high, top, way) in enumerate(rows):
        beside = -9.0 * way
        own = abs(s - pane.finished.bounds[0 if way > 0 else 2]) < ALIKE_M and abs(top - high) < ALIKE_M
        if not own and (n == 0 or abs((high - low) - (rows[0][2] - rows[0][1])) >= TRUE_M):
            _say(page, view, (s, low), (s, high), (beside, 2.0 * beside))
        if top - high > ALIKE_M and (n == 0 or abs((top - high) - (rows[0][3] - rows[0][2])) >= TRUE_M):
            _say(page, view, (s, high), (s, top), (beside, 2.0 * beside))


def _names(page: Page, front: Front, view: View) -> None:
    """What is glass, what is a leaf and which way it opens, and what everything stands on."""
    base = front.height_t(0.0)
    for leaf in (x for p in front.panes for x in p.leaves):
        _write(page, view, leaf.polygon, leaf_words(leaf), 4.5, True)
    for pane in front.panes:
        rest = pane.finished
        for leaf in pane.leaves:
            s0, _, s1, t1 = leaf.polygon.bounds
            over = shapely.intersection(rest, shapely.box(s0, t1, s1, 99.0))
            rest = shapely.difference(rest, shapely.box(s0, -99.0, s1, 99.0))
            for part in (g for g in parts(over, "Polygon") if g.area > LEAST_M2):
                _write(page, view, part, ("transom, fixed",), 4.0)
        kind = next((o.kind for o in page.digest.plan.job.room.opening if o.name == pane.facet.surface), "glass")
        for part in (g for g in parts(rest, "Polygon") if g.area > LEAST_M2):
            _write(page, view, part, ("fixed glass" if front.glass and pane.leaves else kind,), 4.0)
    for u in front.under:
        (sa, ta), (sb, tb) = u.start_m, u.end_m
        if min(ta, tb) - base > ALIKE_M:
            _write(page, view, Polygon(((sa, base), (sb, base), (sb, tb), (sa, ta))), (u.name,), 4.0)


def _write(page: Page, view: View, shape: Polygon, lines: Sequence[str], height_mm: float, bold: bool = False) -> None:
    """Lines in a shape, one under another, the first bold; upright where it is narrow, and smaller where it is small."""
    k, placer = view.scale_mm_per_m, page.sketch.placer
    x, y = view.at(*shape.representative_point().coords[0])
    s0, t0, s1, t1 = shape.bounds
    tries: list[tuple[Text, ...]] = []
    for h in (height_mm, 3.2, 2.6):
        steps = [(n - (len(lines) - 1) / 2) * h * 1.7 + h / 2 for n in range(len(lines))]
        long, deep = max(width_mm(line, h, bold) for line in lines) + 1.0, len(lines) * h * 1.7
        for along, across, turn in (((s1 - s0) * k, (t1 - t0) * k, 0.0), ((t1 - t0) * k, (s1 - s0) * k, 90.0)):
            for off in SHIFTS_MM if long < along else ():
                if off == 0.0 or 2 * abs(off) + (long if turn else deep) < (along if turn else across):
                    at = [(x + step, y + off) if turn else (x, y + off + step) for step in steps]
                    tries.append(tuple(Text(p, line, h, "middle", INK, bold and n == 0, turn)
                                       for n, (p, line) in enumerate(zip(at, lines, strict=True))))
    best = next((texts for texts in tries if all(placer.is_free(padded(text_box(x), 0.8)) for x in texts)), ())
    for text in best:
        placer.take(padded(text_box(text), 0.8))
        page.sketch.plate("labels", text, 0.6, PAPER)


def _sides(page: Page, front: Front) -> None:
    """Which walls a glass front has at its left and right."""
    f, d = page.field, page.digest
    ends: list[tuple[float, str]] = []
    for r in front.rims:
        (sa, ta), (sb, tb) = front.frame.drop([r.start_m, r.end_m])
        if d.facets[r.facet].kind is FacetKind.WALL and abs(tb - ta) > abs(sb - sa):
            ends.append((float(sa + sb) / 2, d.names[r.facet]))
    if front.glass and len(ends) > 1:
        page.sketch.write("frame", (f.x0_mm + 2.0, f.y1_mm - 1.0), f"← {min(ends)[1]}", 5.0, "start", SOFT)
        page.sketch.write("frame", (f.x1_mm - 2.0, f.y1_mm - 1.0), f"{max(ends)[1]} →", 5.0, "end", SOFT)


def _column(page: Page, front: Front) -> None:
    d = page.digest
    page.heading("Before glass is ordered")
    page.note("Glass is measured after tile: every size here is planned. Tape or template each one again on the finished tile "
              "(common practice, no source).", bold=True)
    page.note("These are openings, not sizes of glass: gaps, frame, hinges and the joints of panes are the glazier's.", 2.8)
    if front.glass and not any(p.leaves for p in front.panes):
        page.note(f"The job names no door in this glass, so none is drawn. Give it as an opening of kind door in wall {front.wall}.", 2.8,
                  bold=True)
    page.heading("Where the covering ends")
    for names, words in ends_of_covering(d, front):
        page.note(f"{names}: {words}.", 2.8)
    if not front.glass:
        page.heading("Rough opening")
        for pane in front.panes:
            page.note(rough_words(d, pane), 2.8)
    page.heading("Plumb and level, as surveyed")
    page.table(trueness(front, d.system), (0.0, 34.0), 2.8)
    page.heading("Reading the sheet")
    tile_m = d.plan.job.tile.thickness_m + FLOOR_MORTAR_M
    high = format_length(finished_floor_m(d.plan.finished, d.plan.pan, tile_m)[0], d.system)
    notes = [f"Level: {format_length(_level_m(page, front), d.system)} above 0, the bare floor. The tiled floor lies up to {high} above 0.",
             "Heavy line: finished faces, tile on; all sizes are to them. Grey: from tile to framing. Teal chain line: membrane face, to "
             "which the covering comes. Hatched: cut at the glass."]  # fmt: skip
    if any(x.said.hinge != "none" and x.said.swing != "none" for p in front.panes for x in p.leaves):
        notes.append("The lines on a leaf meet at its hinges: dashed where it opens away from you.")
    height = next((h for h in (2.8, 2.5) if notes_mm(notes, h) < page.room_mm()), 2.2)
    for note in notes:
        page.note(note, height)
