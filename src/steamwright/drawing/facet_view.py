"""A facet with its pieces: what lies over what, where the laps are, where openings and pipes are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest, Lying
from steamwright.drawing.keep_out import SCREWED_LATER, keep_out
from steamwright.drawing.labels import around, upright_box
from steamwright.drawing.pens import BAND, CORNER, INK, PAPER, SHEET_A, SHEET_B, SOFT, WASH
from steamwright.drawing.scene import Paper, Text
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import Box, text_box
from steamwright.room.model import CoveredBy, Facet, FacetKind
from steamwright.units import format_length

PARALLEL, DEEP_M = 0.99, 0.6
"""A door stands back this far at most behind the wall that it is in. Common practice, no source."""
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
    """Draw the openings that lie in the plane of a facet or stand back behind it: crossed by two thin lines and named.

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
    for other, polygon in _openings_in(d, facet):
        s0, t0, s1, t1 = polygon.bounds
        sketch.area("ground", rings(view, polygon), "thin")
        sketch.line("ground", view.at(s0, t0), view.at(s1, t1), "hair")
        sketch.line("ground", view.at(s0, t1), view.at(s1, t0), "hair")
        x, y = view.at((s0 + s1) / 2, (t0 + t1) / 2)
        placed = sketch.placer.put([Text((x, y + k), other.name, 5.0, "middle", SOFT) for k in (2.5, -10.0, 15.0)], 1.0)
        if placed:
            sketch.plate("labels", placed, 1.2, PAPER)


def _openings_in(d: Digest, facet: Facet) -> Iterator[tuple[Facet, shapely.Polygon]]:
    """The openings that a facet ends at in its own plane, and those that stand back behind it, seen square to it in its (s, t). [m]"""
    ends_at = {r.opening for r in d.rims.get(facet.id, ())}
    normal, around = facet.frame.normal, facet.polygon.convex_hull
    for other in d.facets.values():
        if other.kind is not FacetKind.OPENING:
            continue
        corners = other.frame.lift(other.outline_m)
        behind = (facet.frame.lift([(0.0, 0.0)])[0] - corners) @ normal
        polygon = shapely.Polygon(facet.frame.drop(corners))
        in_plane = other.id in ends_at and float(abs(behind).max()) <= 5e-3
        back = float(other.frame.normal @ normal) > PARALLEL and float(behind.min()) > 5e-3 and float(behind.max()) < DEEP_M
        if in_plane or (back and around.intersection(polygon).area > 0.8 * polygon.area):
            yield other, polygon


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
