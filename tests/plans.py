"""A small plan made by hand: a box of 1.2 x 0.9 x 2.1 m with a window and a pipe, for tests of what goes out.

It is laid out to show every kind of piece, not to be lap-tight.
"""

from __future__ import annotations

import math

from steamwright.buildup.model import BuildUp, Layer
from steamwright.covering.model import Bound, Covering, Cut, Patch, Piece, Placing, Proof, Role, Scheme, Stock
from steamwright.estimate.model import OrderLine
from steamwright.geometry.frame import Frame, Point2, Point3
from steamwright.plan.job import Job
from steamwright.plan.model import Hashes, Plan
from steamwright.room.model import CoveredBy, Face, Facet, FacetKind, Joint, JointKind, Penetration, Rim, Solid
from steamwright.room.pan import PanFall, PanHeight, PanReport
from steamwright.room.survey_model import FlatnessFix, ReadingFix, Shim, StationFix, SurveyReport, WallFix
from steamwright.rules.model import Finding, Verdict

SHEET = "sheet membrane 0.5 perm"
W, D, H = 1.2, 0.9, 2.1


def rectangle(a: float, b: float, x: float = 0.0, y: float = 0.0) -> tuple[Point2, ...]:
    """Corners of a rectangle of a x b at (x, y), counter-clockwise."""
    return ((x, y), (x + a, y), (x + a, y + b), (x, y + b))


def facet(
    fid: str,
    kind: FacetKind,
    name: str,
    frame: Frame,
    outline: tuple[Point2, ...],
    by: CoveredBy = CoveredBy.PIECES,
    holes: tuple[tuple[Point2, ...], ...] = (),
) -> Facet:
    """A facet whose area is reckoned from its rings."""

    def area(ring: tuple[Point2, ...]) -> float:
        return abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(ring, ring[1:] + ring[:1], strict=True))) / 2

    net = area(outline) - sum(area(h) for h in holes)
    reason = {CoveredBy.OTHER: "pan liner under the bed", CoveredBy.NONE: "glass"}.get(by, "")
    return Facet(fid, kind, name, frame, outline, holes, net, by, reason, name, "buildup-01" if by is CoveredBy.PIECES else None)


def box(face: Face = Face.MEMBRANE, grow: float = 0.0) -> Solid:
    """The room, with all its walls moved outward by ``grow``."""
    w, d, h = W + 2 * grow, D + 2 * grow, H + 2 * grow
    window = rectangle(0.4, 0.5, 0.4 + grow, 1.2 + grow)
    x, y, z, mx, my = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0)
    o = (-grow, -grow, -grow)
    far = (w - grow, d - grow, -grow)
    facets = (
        facet("facet-01", FacetKind.FLOOR, "floor", Frame(o, x, y), rectangle(w, d), CoveredBy.OTHER),
        facet("facet-02", FacetKind.CEILING, "ceiling", Frame((-grow, d - grow, h - grow), x, my), rectangle(w, d)),
        facet("facet-03", FacetKind.WALL, "A-B", Frame((w - grow, -grow, -grow), mx, z), rectangle(w, h), holes=(window[::-1],)),
        facet("facet-04", FacetKind.WALL, "B-C", Frame(far, my, z), rectangle(d, h)),
        facet("facet-05", FacetKind.WALL, "C-D", Frame((-grow, d - grow, -grow), x, z), rectangle(w, h)),
        facet("facet-06", FacetKind.WALL, "D-A", Frame(o, y, z), rectangle(d, h)),
        facet("facet-07", FacetKind.OPENING, "window", Frame((w - grow, -grow, -grow), mx, z), window, CoveredBy.NONE),
    )
    c: dict[str, Point3] = {f"{i}{j}{k}": (i * W, j * D, k * H) for i in (0, 1) for j in (0, 1) for k in (0, 1)}
    pairs = (
        ("facet-01", "facet-03", "000", "100"),
        ("facet-03", "facet-04", "100", "101"),
        ("facet-04", "facet-05", "110", "111"),
        ("facet-05", "facet-06", "010", "011"),
        ("facet-06", "facet-03", "000", "001"),
        ("facet-02", "facet-05", "011", "111"),
    )
    joints = tuple(Joint(f"joint-{n:02d}", (a, b), c[s], c[e], 90.0, JointKind.INSIDE) for n, (a, b, s, e) in enumerate(pairs, 1))
    lifted = [tuple(map(float, p)) for p in facets[2].frame.lift(window)]
    ends = zip(lifted, lifted[1:] + lifted[:1], strict=True)
    rims = tuple(
        Rim(f"rim-{n:02d}", "facet-03", "facet-07", (a[0], a[1], a[2]), (b[0], b[1], b[2]), "into the opening", 0.05, "silicone sealant")
        for n, (a, b) in enumerate(ends, 1)
    )
    pipe = Penetration("penetration-01", "facet-05", (0.6, 1.1), 0.034, "pipe", "shower arm")
    return Solid(face, facets, joints, rims, (pipe,), w * d * h)


def covering() -> Covering:
    """One piece of every role, on two rolls."""
    sheet = Piece(
        "S1",
        Role.SHEET,
        "sheet 0.5 perm",
        SHEET,
        (Patch("facet-04", rectangle(0.9, 2.1), (), Placing(0.0, 0.9, -90.0)),),
        (2.1, 0.9),
        1,
        (),
        Cut("roll-1", 0.0, 0.0),
    )
    band = Piece(
        "B1",
        Role.BAND,
        "band 5 in 0.5 perm",
        SHEET,
        (
            Patch("facet-04", rectangle(0.0635, 2.1), (), Placing(2.1, 0.0635, 90.0)),
            Patch("facet-05", rectangle(0.0635, 2.1, 1.1365), (), Placing(2.1, -1.1365, 90.0)),
        ),
        (2.1, 0.127),
        2,
        ("S1",),
        Cut("roll-2", 0.0, 0.0),
    )
    corner = Piece(
        "K1",
        Role.CORNER_PIECE,
        "corner inside 90",
        "formed membrane 0.5 perm",
        (
            Patch("facet-04", rectangle(0.1, 0.1, 0.0, 2.0)),
            Patch("facet-05", rectangle(0.1, 0.1, 1.1, 2.0)),
            Patch("facet-02", rectangle(0.1, 0.1, 1.1)),
        ),
        None,
        3,
        ("B1", "S1"),
    )
    ring = tuple((0.6 + 0.02 * math.cos(a), 1.1 - 0.02 * math.sin(a)) for a in (i * math.pi / 4 for i in range(8)))
    collar = Piece(
        "C1",
        Role.COLLAR,
        "collar pipe 1",
        "formed membrane 0.5 perm",
        (Patch("facet-05", rectangle(0.2, 0.2, 0.5, 1.0), (ring,)),),
        None,
        4,
    )
    stock = (Stock("roll-1", "sheet 0.5 perm", SHEET, 30.0, 1.0, 2.1), Stock("roll-2", "band 5 in 0.5 perm", SHEET, 30.0, 0.127, 2.1))
    proof = Proof(False, None, "A-B near (0.3, 0.4) m", ("A-B: bare near (0.3, 0.4) m", "joint-02: no piece crosses it"))
    bound = Bound(2.0, 2.3667, 0.18335, False, "areas")
    return Covering(0.0508, 0.0635, (sheet, band, corner, collar), stock, proof, bound, (), (), (), Scheme((), ()), "")


def survey() -> SurveyReport:
    """An adjusted survey of four walls and two diagonals, one of them misread."""
    d = math.hypot(W, D)
    rows = (
        ("wall", "A-B", W),
        ("wall", "B-C", D),
        ("wall", "C-D", W),
        ("wall", "D-A", D),
        ("diagonal", "A-C", d),
        ("diagonal", "B-D", d + 0.05),
    )
    readings = tuple(
        ReadingFix(f"reading-{n:02d}", kind, of, Face.FRAMING, m, m - 0.001, -0.001, 0.0016, -0.6 if n < 6 else -4.2, 0.17, n == 6)
        for n, (kind, of, m) in enumerate(rows, 1)
    )
    stations = tuple(StationFix(i, x, y, 0.001) for i, x, y in (("A", 0.0, 0.0), ("B", W, 0.0), ("C", W, D), ("D", 0.0, D)))
    walls = tuple(WallFix(s, 0.001, 0.001, 0.001, 0.0, False, 0.0) for s in ("A-B", "B-C", "C-D", "D-A"))
    return SurveyReport(
        Face.FRAMING,
        stations,
        readings,
        walls,
        (),
        (),
        (),
        1,
        17.6,
        0.0,
        3.84,
        False,
        "reading-06",
        ("measure the diagonal B-D again",),
        (FlatnessFix("reading-05", "A-B", 0.004, 0.0016, 0.6096, False),),
        (Shim("A-B", "middle", 0.003),),
    )


def buildup() -> BuildUp:
    """Tile, membrane and board on studs."""
    rows = (
        ("glazed tile 3/8 in", "glazed tile", "tile", 0.0095, 2.9e-12, "memory"),
        (SHEET, SHEET, "membrane", 0.0005, 2.86e-11, "practice"),
        ("cement board 1/2 in", "cement board, 1/2 in", "board", 0.0127, None, "quoted"),
    )
    layers = tuple(
        Layer(m, n, r, t, 0.25, t / 0.25, 1150.0, p, "E96, procedure E" if p else "", "common practice, no source", h)
        for m, n, r, t, p, h in rows
    )
    on = tuple(f"facet-{n:02d}" for n in range(2, 7))
    return BuildUp(
        "buildup-01",
        "tiled wall",
        ("walls", "ceiling"),
        "sheet membrane",
        layers,
        "wood stud",
        0.4064,
        0.0889,
        None,
        None,
        on,
        2.6e-12,
        2.86e-11,
        "E",
        0.09,
        26.1,
        0.0127,
        0.0,
        0.0132,
    )


def findings() -> tuple[Finding, ...]:
    """One finding of every verdict."""
    base = {"source": "TCNA-HANDBOOK", "clause": "SR614", "how_known": "quoted", "level": "required"}
    return (
        Finding(
            "MEM-20",
            Verdict.FAIL,
            0.0,
            2.0,
            ">=",
            "in/ft",
            -2.0,
            where="ceiling",
            sentence="The ceiling is flat: 0 in/ft where 2 in/ft is the least.",
            fix="Slope it at least 2 in/ft so that condensate runs to a wall and does not drip on people.",
            **base,
        ),
        Finding(
            "MEM-03", Verdict.PASS, 0.5, 0.5, "<=", "perm", 0.0, where="tiled wall", sentence="The membrane has 0.5 perm.", fix="", **base
        ),
        Finding(
            "SAF-09",
            Verdict.MANUAL,
            None,
            None,
            "",
            "",
            None,
            where="generator",
            sentence="A licensed electrician wires the generator.",
            fix="",
            **base,
        ),
        Finding(
            "INS-01",
            Verdict.MARGINAL,
            0.25,
            0.25,
            "<=",
            "in",
            0.0,
            where="A-B",
            sentence="The gap of 1/4 in is as large as the limit.",
            fix="",
            **base,
        ),
        Finding(
            "PLB-01",
            Verdict.MISSING_INPUT,
            None,
            1.0,
            ">=",
            "in",
            None,
            where="curb",
            sentence="No curb height is given.",
            fix="Give it.",
            **base,
        ),
        Finding(
            "ADA-01",
            Verdict.NOT_APPLICABLE,
            None,
            None,
            "",
            "",
            None,
            where="room",
            sentence="A home is not a public place.",
            fix="",
            **base,
        ),
    )


def order() -> tuple[OrderLine, ...]:
    """An order with and without prices."""
    return (
        OrderLine("band 5 in 0.5 perm", "band of sheet membrane 0.5 perm, 5 in x 30 m", 1.0, "roll", 1.0, 1, ("B1",), 60.0, "1 piece"),
        OrderLine("sheet 0.5 perm", "sheet membrane 0.5 perm, roll 1.0 m x 30 m", 1.0, "roll", 1.0, 1, ("S1",), 400.0, "1 piece"),
        OrderLine("collar pipe 1", "pipe collar, 7/8 to 1-3/4 in", 1.0, "each", 1.0, 1, ("C1",), None, "one for each place"),
        OrderLine("corner inside 90", "inside corner piece, 90 deg", 1.0, "each", 2.0, 1, ("K1",), 9.5, "one for each place"),
        OrderLine("membrane mortar", "mortar for the membrane, bag", 5.5, "kg", 22.68, 1, (), 30.0, "2.24 m² in a bed of 1.68 mm"),
    )


def job() -> Job:
    """The job behind the plan."""
    walls = [{"kind": "wall", "of": of, "is": v} for of, v in (("A-B", "1.2 m"), ("B-C", "0.9 m"), ("C-D", "1.2 m"), ("D-A", "0.9 m"))]
    return Job.model_validate(
        {
            "name": "Box",
            "note": "Invented data for a test.",
            "survey": {"stations": ["A", "B", "C", "D"], "reading": [*walls, {"kind": "diagonal", "of": "A-C", "is": "1.5 m"}]},
            "room": {"ceiling": {"shape": "flat", "height": "2.1 m"}},
            "buildup": [{"name": "tiled wall", "on": ["walls", "ceiling"], "layers": [{"material": SHEET}]}],
        }
    )


def pan() -> PanReport:
    """A liner under a bed that falls to the middle of the floor."""
    walls = tuple(PanFall(s, d / 2, 1 / 48) for s, d in (("A-B", D), ("B-C", W), ("C-D", D), ("D-A", W)))
    corners = tuple(PanFall(s, math.hypot(W, D) / 2, 1 / 60) for s in "ABCD")
    heights = tuple(PanHeight(s, x, y, 0.0125, 0.0506) for s, x, y in (("A", 0.0, 0.0), ("B", W, 0.0), ("C", W, D), ("D", 0.0, D)))
    return PanReport(
        "liner",
        "point",
        "level",
        (W / 2, D / 2),
        walls,
        corners,
        heights,
        0.0125,
        1 / 60,
        1 / 48,
        0.0381,
        0.0506,
        0.05,
        W * D,
        0.08,
        0.06,
        60.0,
        False,
        "The corners fall less than 1/4 in/ft: pitch the bed from the walls.",
        ((0.6, 0.45),),
    )


def plan() -> Plan:
    """The whole hand-made plan."""
    return Plan(
        job(),
        Hashes("a" * 64, "b" * 64, "c" * 64),
        survey(),
        box(),
        box(Face.FRAMING, 0.0132),
        box(Face.TILE, -0.012),
        pan(),
        (buildup(),),
        covering(),
        order(),
        findings(),
    )
