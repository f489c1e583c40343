"""The plan and every facet, developed flat, as DXF at full size with layers and true dimensions."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from steamwright.covering.model import Role
from steamwright.drawing.control import control_lines
from steamwright.drawing.digest import Digest, Lying
from steamwright.drawing.labels import readable_turn_deg
from steamwright.geometry.frame import Point2
from steamwright.room.model import CoveredBy, Facet, FacetKind
from steamwright.units import INCH_M, format_length

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

GAP_M = 1.2
LAYERS = (
    ("PLAN-STATIONS", 7, "CONTINUOUS"),
    ("PLAN-ROOM", 8, "CONTINUOUS"),
    ("PLAN-READINGS", 4, "DASHED"),
    ("FACETS", 7, "CONTINUOUS"),
    ("SHEETS", 4, "CONTINUOUS"),
    ("BANDS", 5, "CONTINUOUS"),
    ("CORNER-PIECES", 6, "CONTINUOUS"),
    ("COLLARS", 6, "CONTINUOUS"),
    ("COVERED-EDGES", 8, "DASHED"),
    ("PENETRATIONS", 1, "CONTINUOUS"),
    ("CONTROL", 3, "CENTER"),
    ("NUMBERS", 7, "CONTINUOUS"),
    ("DIMENSIONS", 8, "CONTINUOUS"),
)
ROLE_LAYER = {Role.SHEET: "SHEETS", Role.BAND: "BANDS", Role.CORNER_PIECE: "CORNER-PIECES", Role.COLLAR: "COLLARS"}
STYLE = "STEAMWRIGHT"


class _Pen:
    """Draws in drawing units (inches or millimetres) from metres, shifted to a place on the model space."""

    def __init__(self, space: Modelspace, inch: bool) -> None:
        self.space, self.k, self.inch = space, 1 / INCH_M if inch else 1000.0, inch
        self.x_m = self.y_m = 0.0

    def at(self, p: Iterable[float]) -> tuple[float, float]:
        s, t = tuple(p)[:2]
        return ((s + self.x_m) * self.k, (t + self.y_m) * self.k)

    def ring(self, layer: str, points: Iterable[Point2]) -> None:
        self.space.add_lwpolyline([self.at(p) for p in points], close=True, dxfattribs={"layer": layer})

    def line(self, layer: str, a: Iterable[float], b: Iterable[float]) -> None:
        self.space.add_line(self.at(a), self.at(b), dxfattribs={"layer": layer})

    def circle(self, layer: str, center: Iterable[float], radius_m: float) -> None:
        self.space.add_circle(self.at(center), radius_m * self.k, dxfattribs={"layer": layer})

    def text(self, layer: str, p: Iterable[float], content: str, height_m: float = 0.05) -> None:
        from ezdxf.enums import TextEntityAlignment

        text = self.space.add_text(content, height=height_m * self.k, dxfattribs={"layer": layer})
        text.set_placement(self.at(p), align=TextEntityAlignment.MIDDLE_CENTER)

    def dimension(self, a: Point2, b: Point2, base: Point2, angle_deg: float | None = None) -> None:
        """A true linear dimension; the shown text is the tape's, the measurement stays the geometry's."""
        angle = readable_turn_deg(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))) if angle_deg is None else angle_deg
        way = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        length = abs((b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1])
        if length < 1e-4:
            return
        shown = format_length(length, "inch" if self.inch else "metric")
        made = self.space.add_linear_dim(base=self.at(base), p1=self.at(a), p2=self.at(b), angle=angle, text=shown, dimstyle=STYLE,
                                         dxfattribs={"layer": "DIMENSIONS"})  # fmt: skip
        made.render()
        made.dimension.dxf.text = "<>"


def dxf(d: Digest) -> bytes:
    """Write a plan as DXF.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    document : bytes
        DXF R2010, inches or millimetres by the job, 1 : 1 in model space: the plan first, every facet developed flat
        below it, seen from the air; the same plan gives the same bytes.

    References
    ----------
    own derivation
    """
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    inch = d.system == "inch"
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no clock in the file
    try:
        doc = new("R2010", setup=["linetypes"], units=1 if inch else 4)
        _styles(doc, inch)
        pen = _Pen(doc.modelspace(), inch)
        _plan(pen, d)
        _facets(pen, d)
        for name in sorted(doc.entitydb.dxf_types_in_use()):
            doc.classes.add_class(name)  # left to itself, the library lists them in the order of a set
        stream = io.StringIO()
        doc.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode()


def _styles(doc: Drawing, inch: bool) -> None:
    for name, color, linetype in LAYERS:
        doc.layers.add(name, color=color, linetype=linetype)
    unit = 1 / 25.4 if inch else 1.0
    lengths_mm = {"dimtxt": 40.0, "dimasz": 25.0, "dimexe": 12.0, "dimexo": 12.0, "dimgap": 8.0}
    attributes: dict[str, Any] = {name: value * unit for name, value in lengths_mm.items()}
    attributes |= {"dimtad": 1, "dimlunit": 4 if inch else 2, "dimdec": 4 if inch else 0, "dimfrac": 2, "dimzin": 0}
    attributes |= {"dimtih": 0, "dimtoh": 0, "dimblk": "", "dimscale": 1.0}
    doc.dimstyles.new(STYLE, dxfattribs=attributes)
    doc.header["$INSUNITS"] = 1 if inch else 4
    doc.header["$MEASUREMENT"] = 0 if inch else 1
    doc.header["$LTSCALE"] = 25.0 * unit


def _plan(pen: _Pen, d: Digest) -> None:
    stations = [(s.id, (s.x_m, s.y_m)) for s in d.plan.survey.stations]
    points = [p for _, p in stations]
    pen.ring("PLAN-STATIONS", points)
    signed = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1], strict=True))
    for (name, a), (_, b) in zip(stations, stations[1:] + stations[:1], strict=True):
        pen.circle("PLAN-STATIONS", a, 0.015)
        pen.text("NUMBERS", (a[0] - 0.08, a[1] - 0.08), name, 0.06)
        length = math.dist(a, b) or 1.0
        nx, ny = (b[1] - a[1]) / length, -(b[0] - a[0]) / length
        out = 0.25 if signed > 0 else -0.25
        pen.dimension(a, b, (a[0] + nx * out, a[1] + ny * out))
    at = dict(stations)
    for r in d.plan.survey.readings:
        ends = r.of.split("-")
        if r.kind in ("diagonal", "tie") and len(ends) == 2 and all(e in at for e in ends):
            pen.line("PLAN-READINGS", at[ends[0]], at[ends[1]])
    for facet in d.plan.room.facets:
        corners = facet.frame.lift(facet.outline_m)[:, :2]
        if abs(facet.frame.normal[2]) > 0.5 and facet.kind not in (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD):
            pen.ring("PLAN-ROOM", [(float(x), float(y)) for x, y in corners])
    for p in d.plan.room.penetrations:
        if p.kind == "drain":
            pen.circle("PENETRATIONS", d.facets[p.facet].frame.lift([p.center_m])[0], p.diameter_m / 2)


def _facets(pen: _Pen, d: Digest) -> None:
    """All covered facets in rows below the plan, each with its own lower left corner as origin of the row."""
    low = min(s.y_m for s in d.plan.survey.stations) - GAP_M
    x, row_top, row_low = 0.0, low, low
    for facet in d.plan.room.facets:
        if facet.covering_by is CoveredBy.NONE:
            continue
        s0, t0, s1, t1 = facet.polygon.bounds
        if x > 12.0:
            x, row_top = 0.0, row_low - GAP_M
        pen.x_m, pen.y_m = x - s0, row_top - t1
        _facet(pen, d, facet)
        x += s1 - s0 + GAP_M
        row_low = min(row_low, row_top - (t1 - t0))
    pen.x_m = pen.y_m = 0.0


def _facet(pen: _Pen, d: Digest, facet: Facet) -> None:
    s0, t0, s1, t1 = facet.polygon.bounds
    pen.ring("FACETS", facet.outline_m)
    for hole in facet.holes_m:
        pen.ring("FACETS", hole)
    pen.text("NUMBERS", ((s0 + s1) / 2, t1 + 0.45), d.names[facet.id], 0.06)
    for lying in d.lying(facet.id):
        _patch(pen, d, lying)
    for p in d.penetrations.get(facet.id, ()):
        pen.circle("PENETRATIONS", p.center_m, p.diameter_m / 2)
    c = control_lines(d, facet)
    pen.line("CONTROL", (c.plumb_s_m, t0 - 0.05), (c.plumb_s_m, t1 + 0.05))
    pen.line("CONTROL", (s0 - 0.05, c.level_t_m), (s1 + 0.05, c.level_t_m))
    pen.dimension((s0, t0), (s1, t0), (s0, t0 - 0.36), 0.0)
    pen.dimension((s0, t0), (s0, t1), (s0 - 0.2, t0), 90.0)
    seen: set[int] = set()
    for n, line in enumerate(x for x in d.lay_lines(facet.id) if x.upright):
        for end, base in ((line.start_m, t0 - 0.12 - 0.08 * (n % 3)), (line.end_m, t1 + 0.12 + 0.08 * (n % 3))):
            key = round(end[0] * 1000) * 2 + (base > t0)
            if key not in seen:
                seen.add(key)
                pen.dimension((c.plumb_s_m, end[1]), end, (end[0], base), 0.0)


def _patch(pen: _Pen, d: Digest, lying: Lying) -> None:
    layer = ROLE_LAYER[lying.piece.role]
    pen.ring(layer, lying.patch.outline_m)
    for hole in lying.patch.holes_m:
        pen.ring(layer, hole)
    spot = lying.visible.representative_point() if not lying.visible.is_empty else lying.polygon.representative_point()
    pen.text("NUMBERS", (spot.x, spot.y), d.mark_of(lying.piece, lying.patch), 0.06 if lying.piece.role is Role.SHEET else 0.025)
