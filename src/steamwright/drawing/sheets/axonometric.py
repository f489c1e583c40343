"""The room from outside and above, its near walls only in outline, with the bands on its joints."""

from __future__ import annotations

import math

import numpy as np

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import leader
from steamwright.drawing.frame import Field, Page, open_page
from steamwright.drawing.labels import around, upright_box
from steamwright.drawing.pens import PAPER
from steamwright.drawing.scene import Paper, Sheet, Text
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import text_box, wrap
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, Facet, FacetKind, Joint

RISE_DEG = 32.0
SHORT_MM = 18.0
TURNS_DEG = (35.0, 55.0, 125.0, 145.0, 215.0, 235.0, 305.0, 325.0)


class Axonometry:
    """A parallel projection that fits a room into a rectangle of the paper."""

    def __init__(self, d: Digest, field: Field) -> None:
        self.to_eye = max((_eye(t) for t in TURNS_DEG), key=lambda c: round(_merit(d, c), 6))
        c = self.to_eye
        self.right = np.array([-c[1], c[0], 0.0]) / math.hypot(c[0], c[1])
        self.up = np.cross(c, self.right)
        points = np.vstack([f.frame.lift(f.outline_m) for f in d.plan.room.facets])
        flat = np.stack([points @ self.right, points @ self.up], axis=1)
        low, high = flat.min(axis=0), flat.max(axis=0)
        self.k = float(min(field.width_mm / (high[0] - low[0]), field.height_mm / (high[1] - low[1])))
        mid = (low + high) / 2
        self.x0 = (field.x0_mm + field.x1_mm) / 2 - self.k * float(mid[0])
        self.y0 = (field.y0_mm + field.y1_mm) / 2 + self.k * float(mid[1])

    def at(self, point_m: Floats) -> Paper:
        """A point of the room on the paper. [mm]"""
        return (self.x0 + self.k * float(point_m @ self.right), self.y0 - self.k * float(point_m @ self.up))

    def ring(self, facet: Facet) -> tuple[tuple[Paper, ...], ...]:
        """A facet on the paper. [mm]"""
        return tuple(tuple(self.at(p) for p in facet.frame.lift(r)) for r in (facet.outline_m, *facet.holes_m))

    def faces_eye(self, facet: Facet) -> bool:
        """Whether the air side of a facet is seen."""
        return bool(facet.frame.normal @ self.to_eye > 1e-3)


def _eye(turn_deg: float) -> Floats:
    a, e = math.radians(turn_deg), math.radians(RISE_DEG)
    return np.array([math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), math.sin(e)])


def _merit(d: Digest, to_eye: Floats) -> float:
    """Good where benches and covered walls are seen and openings are near, hence only outlined."""
    total = 0.0
    for f in d.plan.room.facets:
        seen = float(f.frame.normal @ to_eye)
        if f.covering_by is CoveredBy.NONE:
            total -= 3.0 * f.area_m2 * seen
        elif f.kind in (FacetKind.BENCH_FACE, FacetKind.NICHE_BACK):
            total += 4.0 * f.area_m2 * seen
        elif f.kind is FacetKind.WALL:
            total += f.area_m2 * max(seen, 0.0)
    return total


def axonometric(d: Digest, name: str, number: str) -> Sheet:
    """Draw the axonometric.

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
        Hidden lines lightened; at every joint the number of the uppermost band or fold.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "The room and its joints")
    f = page.field
    view = Axonometry(d, Field(f.x0_mm + 34.0, f.y0_mm + 20.0, f.x1_mm - 34.0, f.y1_mm - 20.0))
    draw_room(page.sketch, d, view)
    missed = _number_joints(page, view)
    page.heading("Reading the sheet")
    page.note("Seen from outside and above. The near walls and the ceiling are only outlined in light lines. Heavy slate lines: joints.")
    page.note("The number at a joint is the piece that crosses it uppermost: B band, S a sheet that folds on.")
    page.heading("Short joints, joints on near walls")
    rows = [(" / ".join(d.names[x] for x in j.facets), _bands(d, j), f"{j.angle_deg:.0f}°") for j in missed]
    lines = [(line, *(rest if n == 0 else ("", ""))) for words, *rest in rows for n, line in enumerate(wrap(words, 2.4, 56.0))]
    written = page.table(lines, (0.0, 58.0, 84.0), 2.4)
    if written < len(lines):
        page.note("and others: see the sheets of the surfaces.", 2.4)
    return page.finish()


def _closing(d: Digest, pieces: tuple[str, ...]) -> list[str]:
    """Of the pieces that cross a joint: its bands, else the sheets that fold over it, else all."""
    for role in (Role.BAND, Role.SHEET):
        if chosen := [i for i in pieces if d.pieces[i].role is role]:
            return chosen
    return list(pieces)


def _bands(d: Digest, joint: Joint) -> str:
    """What closes a joint, in a few words."""
    pieces = d.crossing(joint)
    shown = _closing(d, pieces)
    if not shown and any(d.facets[x].covering_by is CoveredBy.OTHER for x in joint.facets):
        return "liner"
    return ", ".join(d.marks[i] for i in shown[:2]) + (" …" if len(shown) > 2 else "") or "none"


def draw_room(sketch: Sketch, d: Digest, view: Axonometry) -> None:
    """Draw the room, far facets first, then the outlines of the near ones.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    d : Digest
        The plan arranged for drawing.
    view : Axonometry
        The projection.

    References
    ----------
    own derivation
    """
    seen = [f for f in d.plan.room.facets if view.faces_eye(f)]
    seen.sort(key=lambda f: (float(f.frame.lift(f.outline_m).mean(axis=0) @ view.to_eye), f.id))
    for facet in seen:
        none = facet.covering_by is CoveredBy.NONE
        sketch.area("pieces", view.ring(facet), "thin", PAPER if none else _tint(facet, view), "glass" if none else None)
        for joint in d.joints.get(facet.id, ()):
            sketch.line("pieces", view.at(np.array(joint.start_m)), view.at(np.array(joint.end_m)), "joint")
    for facet in d.plan.room.facets:
        if not view.faces_eye(facet):
            for ring in view.ring(facet):
                sketch.path("edges", (*ring, ring[0]), "ghost")
    for joint in d.plan.room.joints:
        if sum(view.faces_eye(d.facets[x]) for x in joint.facets) == 1:
            sketch.line("edges", view.at(np.array(joint.start_m)), view.at(np.array(joint.end_m)), "joint")


def _tint(facet: Facet, view: Axonometry) -> str:
    """Pale teal, lighter the more the facet turns to the eye."""
    light = float(np.clip(facet.frame.normal @ view.to_eye, 0.0, 1.0))
    if facet.covering_by is CoveredBy.OTHER:
        return "#eceff0"
    low, high = (196, 222, 220), (234, 244, 243)
    return "#" + "".join(f"{round(a + (b - a) * light):02x}" for a, b in zip(low, high, strict=True))


def _number_joints(page: Page, view: Axonometry) -> list[Joint]:
    """Numbers at the joints that are seen; gives back the others."""
    d, f = page.digest, page.field
    limits = upright_box(f.x0_mm, f.y0_mm, f.x1_mm, f.y1_mm)
    missed = []
    for joint in d.plan.room.joints:
        pieces = d.crossing(joint)
        if not any(view.faces_eye(d.facets[x]) for x in joint.facets) or not pieces:
            missed.append(joint)
            continue
        bands = _closing(d, pieces)
        a, b = np.array(joint.start_m), np.array(joint.end_m)
        if math.dist(view.at(a), view.at(b)) < SHORT_MM:
            missed.append(joint)
            continue
        for share in (0.5, 0.35, 0.65):
            x, y = view.at(a + share * (b - a))
            placed = page.sketch.placer.put(_nearest(around(x, y, d.marks[bands[0]], 5.0, 4.5, bold=True), x, y), 1.0, limits)
            if placed:
                leader(page.sketch, placed, (x, y))
                page.sketch.plate("labels", placed, 0.7, PAPER)
                break
        else:
            missed.append(joint)
    return missed


def _nearest(texts: tuple[Text, ...], x: float, y: float) -> list[Text]:
    def away(t: Text) -> float:
        x0, y0, x1, y1 = text_box(t).bounds()
        return math.hypot((x0 + x1) / 2 - x, (y0 + y1) / 2 - y)

    return sorted(texts, key=away)
