"""A hand-made alcove for the tests of the drawings: a sloped ceiling, a bench, a door, pipes, and pieces on all of it.

The pieces are laid by simple rules to show every kind of thing that a sheet can hold; they are not meant to be lap-tight.
"""

from __future__ import annotations

import numpy as np
from shapely import LineString, Point, Polygon, box
from shapely.geometry.polygon import orient

from steamwright.covering.model import Bound, Covering, Cut, Patch, Piece, Placing, Proof, Role, Scheme, Stock
from steamwright.geometry.frame import Frame, Point3
from steamwright.plan.job import Job
from steamwright.plan.model import Hashes, Plan
from steamwright.room.model import CoveredBy, Face, Facet, FacetKind, Joint, JointKind, Penetration, Rim, Solid
from steamwright.room.pan import PanFall, PanHeight, PanReport
from steamwright.room.survey_model import ReadingFix, StationFix, SurveyReport, WallFix
from steamwright.rules.model import Finding, Verdict

LAP_M = 0.0635
LONG, DEEP, LOW, BENCH_D, BENCH_H = 1.6, 1.1, 2.15, 0.4, 0.46
SHEET = "sheet membrane 0.5 perm"


def _frame(kind: FacetKind, ring: np.ndarray) -> Frame:
    normal = sum((np.cross(ring[i] - ring[0], ring[i + 1] - ring[0]) for i in range(1, len(ring) - 1)), np.zeros(3))
    normal = normal / np.linalg.norm(normal)
    u = np.array([1.0, 0.0, 0.0]) if abs(normal[2]) > 0.7 else np.cross([0.0, 0.0, 1.0], normal)
    u = u - (u @ normal) * normal
    u = u / np.linalg.norm(u)
    v = np.cross(normal, u)
    origin = ring[np.lexsort((np.round(ring @ u, 6), np.round(ring @ v, 6)))[0]]
    return Frame(tuple(map(float, origin)), tuple(map(float, u)), tuple(map(float, v)))


def _facet(n: int, kind: FacetKind, name: str, ring: list[Point3], by: CoveredBy, hole: list[Point3] | None = None) -> Facet:
    points = np.array(ring)
    frame = _frame(kind, points)
    poly = orient(Polygon(frame.drop(points), [frame.drop(hole)] if hole else []))
    reason = {CoveredBy.OTHER: "pan liner under the bed", CoveredBy.NONE: "glass door"}.get(by, "")
    outline = tuple((float(s), float(t)) for s, t in poly.exterior.coords[:-1])
    holes = tuple(tuple((float(s), float(t)) for s, t in r.coords[:-1]) for r in poly.interiors)
    return Facet(f"facet-{n:02d}", kind, name, frame, outline, holes, poly.area, by, reason, name, "b1" if by is CoveredBy.PIECES else None)


def ceiling_m(x: float) -> float:
    """Height of the ceiling, which rises 2 in/ft from wall D-A. [m]"""
    return LOW + x / 6


def facets() -> tuple[Facet, ...]:
    """All facets, openings included."""
    pieces, other, none = CoveredBy.PIECES, CoveredBy.OTHER, CoveredBy.NONE
    k, lg, d, b, h, hb = FacetKind, LONG, DEEP, BENCH_D, BENCH_H, BENCH_H + 0.01
    c0, c1 = ceiling_m(0), ceiling_m(lg)
    door: list[Point3] = [(0.8, 0, 0), (0.8, 0, 2.0), (1.5, 0, 2.0), (1.5, 0, 0)]
    ab: list[Point3] = [
        (0.8, 0, 0),
        (b, 0, 0),
        (b, 0, h),
        (0, 0, hb),
        (0, 0, c0),
        (lg, 0, c1),
        (lg, 0, 0),
        (1.5, 0, 0),
        (1.5, 0, 2.0),
        (0.8, 0, 2.0),
    ]
    rows = (
        (k.FLOOR, "floor", [(b, 0, 0), (0.8, 0, 0), (1.5, 0, 0), (lg, 0, 0), (lg, d, 0), (b, d, 0)], other),
        (k.WALL, "A-B", ab, pieces),
        (k.WALL, "B-C", [(lg, 0, 0), (lg, 0, c1), (lg, d, c1), (lg, d, 0)], pieces),
        (k.WALL, "C-D", [(lg, d, 0), (lg, d, c1), (0, d, c0), (0, d, hb), (b, d, h), (b, d, 0)], pieces),
        (k.WALL, "D-A", [(0, d, hb), (0, d, c0), (0, 0, c0), (0, 0, hb)], pieces),
        (k.CEILING, "ceiling", [(0, 0, c0), (0, d, c0), (lg, d, c1), (lg, 0, c1)], pieces),
        (k.BENCH_TOP, "bench top", [(0, 0, hb), (b, 0, h), (b, d, h), (0, d, hb)], pieces),
        (k.BENCH_FACE, "bench face", [(b, 0, h), (b, 0, 0), (b, d, 0), (b, d, h)], pieces),
        (k.OPENING, "door", door, none),
    )
    return tuple(_facet(n, kind, name, ring, by) for n, (kind, name, ring, by) in enumerate(rows, 1))


def _edges(f: Facet) -> list[tuple[np.ndarray, np.ndarray]]:
    p = f.frame.lift(f.outline_m)
    return list(zip(p, np.roll(p, -1, axis=0), strict=True))


def _shared(f: Facet, g: Facet) -> list[tuple[np.ndarray, np.ndarray]]:
    out = []
    for a, b in _edges(f):
        way = (b - a) / np.linalg.norm(b - a)
        for p, q in _edges(g):
            off = max(np.linalg.norm(np.cross(way, p - a)), np.linalg.norm(np.cross(way, q - a)))
            lo, hi = max(0.0, min((p - a) @ way, (q - a) @ way)), min(np.linalg.norm(b - a), max((p - a) @ way, (q - a) @ way))
            if off < 1e-6 and hi - lo > 1e-3:
                out.append((a + lo * way, a + hi * way))
    return out


def _xyz(p: np.ndarray) -> Point3:
    return (float(p[0]), float(p[1]), float(p[2]))


def solid() -> Solid:
    """The closed room."""
    fs = facets()
    joints, rims = [], []
    for i, f in enumerate(fs):
        for g in fs[i + 1 :]:
            for a, b in _shared(f, g):
                if CoveredBy.NONE in (f.covering_by, g.covering_by):
                    f2, g2 = (f, g) if g.covering_by is CoveredBy.NONE else (g, f)
                    rims.append(Rim(f"rim-{len(rims) + 1:02d}", f2.id, g2.id, _xyz(a), _xyz(b), "past the jamb", 0.076, "sealant"))
                    continue
                inner = f.frame.lift([f.polygon.representative_point().coords[0]])[0]
                inside = (inner - a) @ g.frame.normal > 0
                cosine = float(np.clip(-(f.frame.normal @ g.frame.normal), -1, 1))
                angle = np.degrees(np.arccos(cosine)) if inside else 360 - np.degrees(np.arccos(cosine))
                kind = JointKind.INSIDE if inside else JointKind.OUTSIDE
                joints.append(Joint(f"joint-{len(joints) + 1:02d}", (f.id, g.id), _xyz(a), _xyz(b), float(angle), kind))
    rows = (
        ("facet-04", (0.35, 1.15), 0.11, "valve", "mixing valve"),
        ("facet-04", (0.35, 2.0), 0.022, "pipe", "shower arm"),
        ("facet-04", (0.95, 0.3), 0.022, "steam_outlet", "steam outlet"),
        ("facet-03", (0.5, 1.5), 0.025, "sensor", "temperature sensor"),
        ("facet-06", (0.8, 0.55), 0.1, "light", "light"),
        ("facet-01", (0.6, 0.55), 0.1016, "drain", "drain"),
        ("facet-03", (0.2, 1.0), 0.008, "bar", "grab bar screw"),
    )
    pens = tuple(Penetration(f"penetration-{n:02d}", f, c, dia, kind, name) for n, (f, c, dia, kind, name) in enumerate(rows, 1))
    mean_top = (ceiling_m(0) + ceiling_m(LONG)) / 2
    volume = LONG * DEEP * mean_top - BENCH_D * DEEP * (BENCH_H + 0.005)
    return Solid(Face.MEMBRANE, fs, tuple(joints), tuple(rims), pens, volume)


def _patch(f: Facet, poly: Polygon, at: Placing | None) -> Patch:
    poly = orient(poly)
    holes = tuple(tuple(r.coords[:-1]) for r in poly.interiors)
    return Patch(f.id, tuple((float(s), float(t)) for s, t in poly.exterior.coords[:-1]), holes, at)


class _Layer:
    """Lays pieces and gives them numbers and places on the stock."""

    def __init__(self, room: Solid) -> None:
        self.room, self.pieces, self.roll_m, self.band_m = room, [], 0.0, 0.0

    def add(self, role: Role, item: str, patches: list[Patch], blank: tuple[float, float] | None) -> None:
        n = len(self.pieces) + 1
        letter = {"sheet": "S", "band": "B", "corner_piece": "K", "collar": "C"}[role.value]
        mine = {p.facet: p.polygon for p in patches}
        over = tuple(
            q.id for q in self.pieces if any(r.facet in mine and mine[r.facet].intersection(r.polygon).area > 1e-6 for r in q.patches)
        )
        cut = None
        if blank:
            if role is Role.BAND:
                cut, self.band_m = Cut("roll-2", self.band_m, 0.0), self.band_m + blank[0]
            else:
                cut, self.roll_m = Cut("roll-1", self.roll_m, 0.0), self.roll_m + blank[0]
        self.pieces.append(Piece(f"{letter}{n:03d}", role, item, SHEET, tuple(patches), blank, n, over, cut))

    def sheets(self, f: Facet) -> None:
        pens = [Point(p.center_m).buffer(p.diameter_m / 2) for p in self.room.penetrations if p.facet == f.id]
        s0, _, s1, _ = f.polygon.bounds
        x = s0
        while x < s1 - 0.01:
            x1 = min(x + 1.0, s1)
            poly = f.polygon.intersection(box(x, -9, x1, 9))
            for hole in pens:
                poly = poly.difference(hole)
            parts = [poly] if poly.geom_type == "Polygon" else list(poly.geoms)
            for part in parts:
                a0, b0, a1, b1 = part.bounds
                self.add(Role.SHEET, "sheet", [_patch(f, part, Placing(-b0, a1, -90.0))], (b1 - b0, a1 - a0))
            x = x1 - LAP_M if x1 < s1 else s1

    def band(self, j: Joint) -> None:
        patches = []
        a, b = np.array(j.start_m), np.array(j.end_m)
        for fid in j.facets:
            f = self.room.facet(fid)
            if f.covering_by is not CoveredBy.PIECES:
                continue
            strip = LineString(f.frame.drop([a, b])).buffer(LAP_M, cap_style="flat").intersection(f.polygon)
            part = strip if strip.geom_type == "Polygon" else max(strip.geoms, key=lambda g: g.area)
            patches.append(_patch(f, part, Placing(0.0, 0.0, 0.0)))
        if patches:
            self.add(Role.BAND, "band 5 in", patches, (float(np.linalg.norm(b - a)), 2 * LAP_M))

    def corner(self, point: np.ndarray, template: bool) -> None:
        patches = []
        for f in self.room.facets:
            if f.covering_by is CoveredBy.PIECES and abs((point - np.array(f.frame.origin_m)) @ f.frame.normal) < 1e-6:
                c = f.frame.drop([point])[0]
                part = box(c[0] - 0.09, c[1] - 0.09, c[0] + 0.09, c[1] + 0.09).intersection(f.polygon)
                if part.area > 1e-4 and part.geom_type == "Polygon":
                    patches.append((f, part, c))
        if len(patches) >= 3:
            at = [Placing(0.09 - float(c[0]), 0.09 - float(c[1]), 0.0) if template else None for _, _, c in patches]
            self.add(
                Role.CORNER_PIECE,
                "corner cut and folded" if template else "corner inside 90",
                [_patch(f, part, p) for (f, part, _), p in zip(patches, at, strict=True)],
                (0.18, 0.18) if template else None,
            )


def covering(room: Solid) -> Covering:
    """Sheets, collars, bands and corner pieces on all covered facets."""
    lay = _Layer(room)
    for f in room.facets:
        if f.covering_by is CoveredBy.PIECES:
            lay.sheets(f)
    for p in room.penetrations:
        f = room.facet(p.facet)
        if f.covering_by is CoveredBy.PIECES:
            r = 0.03 + p.diameter_m / 2 + LAP_M
            ring = box(p.center_m[0] - r, p.center_m[1] - r, p.center_m[0] + r, p.center_m[1] + r)
            lay.add(Role.COLLAR, "collar", [_patch(f, ring.difference(Point(p.center_m).buffer(p.diameter_m / 2)), None)], None)
    for j in room.joints:
        lay.band(j)
    points = np.unique(np.round(np.vstack([f.frame.lift(f.outline_m) for f in room.facets]), 6), axis=0)
    for n, point in enumerate(points):
        lay.corner(point, template=n % 4 == 0)
    stock = (Stock("roll-1", "sheet", SHEET, 30.0, 1.0, lay.roll_m), Stock("roll-2", "band 5 in", SHEET, 30.0, 2 * LAP_M, lay.band_m))
    proof = Proof(False, 0.0421, "wall C-D near (0.4, 1.1) m", ("wall C-D: bare near (0.40, 1.10) m",))
    return Covering(0.0508, LAP_M, tuple(lay.pieces), stock, proof, Bound(9.0, 11.2, 0.244, False, "areas"), (), (), (), Scheme((), ()), "")


def survey(suspect: bool = True) -> SurveyReport:
    long_m, deep_m = LONG + 0.03, DEEP + 0.03
    at = {"A": (-0.015, -0.015), "B": (long_m - 0.015, -0.015), "C": (long_m - 0.015, deep_m - 0.015), "D": (-0.015, deep_m - 0.015)}
    pairs = (("wall", "A-B"), ("wall", "B-C"), ("wall", "C-D"), ("wall", "D-A"), ("diagonal", "A-C"), ("diagonal", "B-D"))
    readings = []
    for n, (kind, of) in enumerate(pairs, 1):
        length = float(np.hypot(*np.subtract(*[at[i] for i in of.split("-")])))
        off = 0.019 if n == 6 and suspect else 0.0008 * (-1) ** n
        readings.append(
            ReadingFix(
                f"reading-{n:02d}", kind, of, Face.FRAMING, length + off, length, -off, 0.0016, -off / 0.0016, 0.3, n == 6 and suspect
            )
        )
    walls = tuple(WallFix(side, 0.0, 0.0, 0.0, 0.0, False, 0.0) for _, side in pairs[:4])
    stations = tuple(StationFix(i, x, y, 0.001) for i, (x, y) in at.items())
    return SurveyReport(
        Face.FRAMING,
        stations,
        tuple(readings),
        walls,
        (),
        (),
        (),
        1,
        8.4,
        0.0,
        3.84,
        not suspect,
        "reading-06" if suspect else None,
        ("Measure the diagonal B-D again.",),
        (),
        (),
    )


def _pan() -> PanReport:
    corners = (("A", BENCH_D, 0.0), ("B", LONG, 0.0), ("C", LONG, DEEP), ("D", BENCH_D, DEEP))
    drain = (1.0, 0.55)
    falls = tuple(PanFall(n, float(np.hypot(x - drain[0], y - drain[1])), 1 / 48) for n, x, y in corners)
    heights = tuple(PanHeight(n, x, y, 0.0171, 0.055) for n, x, y in corners)
    walls = (PanFall("A-B", 0.55, 0.031), PanFall("B-C", 0.6, 0.0285), PanFall("C-D", 0.55, 0.031))
    return PanReport(
        "liner",
        "point",
        "level",
        drain,
        walls,
        falls,
        heights,
        0.0171,
        1 / 48,
        0.031,
        0.0381,
        0.0552,
        0.06,
        1.32,
        0.068,
        0.0792,
        79.1,
        True,
        "Every fall lies between 1/4 and 1/2 in/ft.",
        ((1.0, 0.55),),
    )


def _finding(n: int, verdict: Verdict) -> Finding:
    return Finding(
        f"RULE-{n:02d}",
        verdict,
        1.5,
        2.0,
        ">=",
        "in/ft",
        -0.5,
        "SR614",
        "2024",
        "memory" if n % 2 else "text",
        "required",
        "ceiling",
        "The ceiling falls 1 1/2 in/ft where at least 2 in/ft is asked for, so that condensate drips on the bench.",
        "Raise the high side by 3 in or move the low side.",
    )


def plan(units: str = "inch", failing: int = 3) -> Plan:
    """The whole plan of the alcove."""
    door = {
        "name": "door",
        "kind": "door",
        "wall": "A-B",
        "from": "31.5 in",
        "width": "27.5 in",
        "top": "78.75 in",
        "setback": "1 in",
        "swing": "out",
        "hinge": "left",
    }
    job = Job.model_validate(
        {
            "name": "Alcove with bench",
            "note": "Invented data.",
            "units": units,
            "survey": {"stations": ["A", "B", "C", "D"], "reading": [{"kind": "wall", "of": "A-B", "is": "64 in"}]},
            "room": {"ceiling": {"shape": "flat", "height": "90 in"}, "opening": [door]},
            "buildup": [{"name": "wall", "on": ["walls"], "layers": [{"material": "cement board 1/2 in"}]}],
        }
    )
    room = solid()
    findings = tuple(_finding(n, Verdict.FAIL) for n in range(failing)) + tuple(_finding(n + 40, Verdict.MANUAL) for n in range(6))
    findings += tuple(_finding(n + 60, Verdict.PASS) for n in range(20))
    hashes = Hashes("0" * 64, "1" * 64, "2" * 64)
    return Plan(job, hashes, survey(), room, room, room, _pan(), (), covering(room), (), findings)
