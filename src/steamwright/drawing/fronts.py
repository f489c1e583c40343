"""What stands open in a wall: glass over the whole of it, or doors, windows and panes, on its finished, membrane and framing faces."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass

import shapely
from shapely import Polygon

from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import parts
from steamwright.drawing.leaves import GLASS, doors_in, leaf_span_m
from steamwright.geometry.frame import Floats, Frame, Point2
from steamwright.room.ceiling import lowest_floor_m
from steamwright.room.inputs import Opening
from steamwright.room.model import CoveredBy, Facet, FacetKind, Rim, Solid
from steamwright.units import INCH_M, System, format_length

AT_M = 1e-4
NEAR_M = 0.02
"""A side of an opening leans by less than this, and a fiftieth of its width. Common practice, no source."""
TRUE_M = INCH_M / 32.0
ABOVE_M = 1e-3
"""So far over an edge lies glass, if it stands on that edge."""


@dataclass(frozen=True, slots=True)
class Leaf:
    """A door and what of its opening it takes, in the front's (s, t). [m]"""

    said: Opening
    polygon: Polygon


@dataclass(frozen=True, slots=True)
class Under:
    """What an opening stands on, and that edge from left to right in the front's (s, t). [m]"""

    name: str
    start_m: Point2
    end_m: Point2


@dataclass(frozen=True, slots=True)
class Pane:
    """One opening of a front on its finished, membrane and framing faces, in the front's (s, t). [m]"""

    facet: Facet
    finished: Polygon
    membrane: Polygon
    framing: Polygon
    leaves: tuple[Leaf, ...]


@dataclass(frozen=True, slots=True)
class Front:
    """All openings of one wall that lie side by side. ``frame`` is that of the largest: s to the right of one who looks from inside.

    ``under`` is what they stand on, from left to right on the finished face; ``rims`` is where the covering ends at them.
    """

    wall: str
    glass: bool
    frame: Frame
    panes: tuple[Pane, ...]
    under: tuple[Under, ...]
    rims: tuple[Rim, ...]

    def height_t(self, z_m: float) -> float:
        """Where a height over the level datum lies. [m]"""
        return (z_m - self.frame.origin_m[2]) / self.frame.v[2]


def fronts(d: Digest) -> tuple[Front, ...]:
    """Find the openings of all walls.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    fronts : tuple of Front
        In the order of the facets; the chords of a curved wall are fronts of their own.

    References
    ----------
    own derivation
    """
    found: dict[tuple[str, float], list[Facet]] = defaultdict(list)
    for f in d.plan.finished.facets:
        if f.kind is FacetKind.OPENING:
            found[_wall_of(d, f), round(math.atan2(f.frame.normal[1], f.frame.normal[0]), 3)].append(f)
    return tuple(_front(d, wall, facets) for (wall, _), facets in found.items())


def _wall_of(d: Digest, facet: Facet) -> str:
    said = next((o.wall for o in d.plan.job.room.opening if o.name in (facet.surface, facet.name)), "")
    wall = facet.surface.removesuffix(GLASS) if facet.surface.endswith(GLASS) else said
    return next((s for s in d.plan.survey.wall_sides() if set(s.split("-")) == set(wall.split("-"))), wall)


def _front(d: Digest, wall: str, facets: list[Facet]) -> Front:
    frame = max(facets, key=lambda f: f.area_m2).frame
    panes = tuple(_pane(d, f, frame) for f in facets)
    membrane = {f.id for f in d.plan.room.facets if f.name in {p.facet.name for p in panes} and f.kind is FacetKind.OPENING}
    rims = tuple(r for r in d.plan.room.rims if r.opening in membrane)
    return Front(wall, facets[0].surface.endswith(GLASS), frame, panes, _under(d.plan.finished, frame, panes), rims)


def _pane(d: Digest, facet: Facet, frame: Frame) -> Pane:
    def on(solid: Solid) -> Polygon:
        same = next((f for f in solid.facets if f.name == facet.name and f.kind is FacetKind.OPENING), facet)
        return _seen(same, frame)

    whole = _seen(facet, frame)
    leaves = []
    for o in doors_in(d, facet):
        polygon = whole
        if facet.surface.endswith(GLASS):
            shift = float(frame.drop([facet.frame.origin_m])[0][0])
            s0, s1 = (s + shift for s in leaf_span_m(d, facet, o))
            low, high = (((z + lowest_floor_m(d.plan.survey)) - frame.origin_m[2]) / frame.v[2] for z in (o.bottom_m, o.top_m))
            reach = shapely.box(s0, low if "bottom_m" in o.model_fields_set else whole.bounds[1], s1, high)
            polygon = max(parts(shapely.intersection(whole, reach), "Polygon"), key=lambda p: p.area, default=Polygon())
        if not polygon.is_empty:
            leaves.append(Leaf(o, polygon))
    return Pane(facet, whole, on(d.plan.room), on(d.plan.framing), tuple(leaves))


def _seen(facet: Facet, frame: Frame) -> Polygon:
    rings: list[Floats] = [frame.drop(facet.frame.lift(r)) for r in (facet.outline_m, *facet.holes_m)]
    return shapely.geometry.polygon.orient(Polygon(rings[0], rings[1:]))


def _under(finished: Solid, frame: Frame, panes: tuple[Pane, ...]) -> tuple[Under, ...]:
    """The edges that glass or a leaf stands on; stretches of one thing that go on in one another are one."""
    ids = {p.facet.id for p in panes}
    whole = shapely.union_all([p.finished for p in panes])
    found: list[Under] = []
    for r in finished.rims:
        (sa, ta), (sb, tb) = frame.drop([r.start_m, r.end_m])
        over = shapely.Point((sa + sb) / 2, (ta + tb) / 2 + ABOVE_M)
        if r.opening not in ids or abs(sb - sa) <= abs(tb - ta) or not whole.contains(over):
            continue
        a, b = sorted(((float(sa), float(ta)), (float(sb), float(tb))))
        found.append(Under(finished.facet(r.facet).surface.removesuffix(" top"), a, b))
    out: list[Under] = []
    for u in sorted(found, key=lambda u: u.start_m):
        if out and out[-1].name == u.name and math.dist(out[-1].end_m, u.start_m) < ABOVE_M:
            u = Under(u.name, out.pop().start_m, u.end_m)
        out.append(u)
    return tuple(out)


def front_title(front: Front) -> str:
    """What a front is called.

    Parameters
    ----------
    front : Front
        A front.

    Returns
    -------
    title : str
        Such as ``Glass front A-B`` or ``Door in wall A-B``.

    References
    ----------
    own derivation
    """
    if front.glass:
        return f"Glass front {front.wall}"
    names = " and ".join(dict.fromkeys(p.facet.surface for p in front.panes))
    return f"{names[:1].upper()}{names[1:]} in wall {front.wall}"


def leaf_words(leaf: Leaf) -> tuple[str, ...]:
    """What is written on a leaf.

    Parameters
    ----------
    leaf : Leaf
        A door.

    Returns
    -------
    lines : tuple of str
        Its name, which way it opens, and at which side of one who looks from inside its hinges are, as far as the job says.

    References
    ----------
    own derivation
    """
    swing = {"out": "opens out", "in": "opens in", "none": "swing not said"}[leaf.said.swing]
    hinge = {"left": "hinges left", "right": "hinges right", "none": "hinges not said"}[leaf.said.hinge]
    return leaf.said.name, swing, hinge


def ends_of_covering(d: Digest, front: Front) -> tuple[tuple[str, str], ...]:
    """Where the covering ends at a front, and how: surfaces with the same ending in one row.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    front : Front
        The front.

    Returns
    -------
    rows : tuple of (str, str)
        Surfaces, and what happens there.

    References
    ----------
    own derivation
    """
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for r in front.rims:
        if d.facets[r.facet].covering_by is CoveredBy.OTHER:
            words = d.facets[r.facet].reason or "made tight by others"
        elif not r.ending:
            words = "no ending is said: say one before anything is set"
        else:
            words = f"{r.ending}, {format_length(r.reach_m, d.system)} past that edge" + (f"; {r.sealed_by}" if r.sealed_by else "")
        found[words][d.names[r.facet]] = None
    return tuple((", ".join(names), words) for words, names in found.items())


def trueness(front: Front, system: System) -> tuple[tuple[str, str], ...]:
    """How far the sides of openings are from plumb and their upper and lower edges from level, as planned from the survey.

    Parameters
    ----------
    front : Front
        The front.
    system : {"inch", "metric"}
        How lengths are printed.

    Returns
    -------
    rows : tuple of (str, str)
        What, and how true it is; of an opening with four corners its diagonals, too.

    References
    ----------
    own derivation
    """
    rows: list[tuple[str, str]] = []
    true: dict[str, list[str]] = {"plumb": [], "level": []}

    def told(what: str, value_m: float, fine: str, more: str, less: str) -> None:
        if abs(value_m) < TRUE_M:
            true[fine].append(what)
        else:
            rows.append((what, f"{format_length(abs(value_m), system)} {more if value_m > 0 else less}"))

    for p in front.panes:
        name = "" if len(front.panes) == 1 else f"{p.facet.name}, "
        left, right = side_m(p.finished, False), side_m(p.finished, True)
        for side, (low, high) in (("left side", left), ("right side", right)):
            told(name + side, high[0] - low[0], "plumb", "to the right at its top", "to the left at its top")
        told(f"{name}upper edge", right[1][1] - left[1][1], "level", "higher at the right", "lower at the right")
        if len(shapely.simplify(p.finished, AT_M).exterior.coords) == 5:
            across = (format_length(math.dist(a, b), system) for a, b in ((left[0], right[1]), (left[1], right[0])))
            rows.append((f"{name}diagonals", " and ".join(across)))
    for u in front.under:
        told(u.name, u.end_m[1] - u.start_m[1], "level", "higher at the right", "lower at the right")
    return (*rows, *((word, ", ".join(what)) for word, what in true.items() if what))


def rough_words(d: Digest, pane: Pane) -> str:
    """Say how large an opening is in the framing, and how deep its finished jambs are.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    pane : Pane
        An opening of a framed wall.

    Returns
    -------
    words : str
        One sentence.

    References
    ----------
    own derivation
    """
    s0, t0, s1, t1 = pane.framing.bounds
    wide, tall = (format_length(v, d.system) for v in (s1 - s0, t1 - t0))
    deep = [f.polygon.bounds[2] - f.polygon.bounds[0] for f in d.plan.finished.facets
            if f.kind is FacetKind.JAMB and f.surface.startswith(f"{pane.facet.surface} ")]
    return f"{pane.facet.name}: {wide} × {tall} in the framing" + (
        f"; tiled jambs {format_length(max(deep), d.system)} deep." if deep else ".")  # fmt: skip


def side_m(polygon: Polygon, right: bool) -> tuple[Point2, Point2]:
    """Find the corners of an opening at one of its sides, which may lean.

    Parameters
    ----------
    polygon : Polygon
        The opening. [m]
    right : bool
        Which side.

    Returns
    -------
    corners_m : (Point2, Point2)
        The lower and the upper one. [m]

    References
    ----------
    own derivation
    """
    s0, _, s1, _ = polygon.bounds
    end = s1 if right else s0
    near = sorted((t, s) for s, t in polygon.exterior.coords if abs(s - end) < NEAR_M + NEAR_M * (s1 - s0))
    return near[0][::-1], near[-1][::-1]
