"""Framing, boards and fasteners of a whole room."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from steamwright.buildup.catalog_model import BoardItem, Catalog
from steamwright.buildup.model import BuildUp, Layer
from steamwright.covering.boards.courses import Layout, Seam, Surroundings, corners_of, lay
from steamwright.covering.boards.fasteners import Row, is_overhead, screw_for, screw_zone, screws_of
from steamwright.covering.boards.footing import LEVEL, Plane
from steamwright.covering.boards.framing import Field, Member, blocking_members, edge_members, field_members
from steamwright.covering.boards.ground import NOT_CUT, Ground, grounds
from steamwright.covering.boards.model import Board, Boards, Fastener, Remark, StockBound, Support
from steamwright.covering.boards.practice import practice
from steamwright.covering.boards.sections import rings_of
from steamwright.covering.model import Cut, Patch, Piece, Placing, Role, Stock
from steamwright.cutting.boards import BoardCutting, cut_boards
from steamwright.cutting.rolls import Blank
from steamwright.errors import InputError
from steamwright.geometry.frame import Point2
from steamwright.geometry.outline import area_m2
from steamwright.room.model import FacetKind, Solid

_SAYS = {
    "at_corner": "a butt runs into a corner within 2 in: no better place was found",
    "not_staggered": "butts of neighbouring courses stand closer than one stud",
    "in_line": "a butt lies within 2 in of a seam of the sheets and in line with it: no better place was found",
}
_TOPS = (FacetKind.CURB_TOP, FacetKind.BENCH_TOP)
_EDGE_TURN = 1e-3


@dataclass(slots=True)
class _Draft:
    """What grows while the room is gone through."""

    supports: list[Support] = field(default_factory=list)
    boards: list[tuple[Ground, Layer, int, BoardItem, shapely.Polygon]] = field(default_factory=list)
    rows: dict[str, list[Row]] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)
    course_axis: dict[tuple[str, int, str], int] = field(default_factory=dict)


def lay_boards(framing: Solid, membrane: Solid, buildups: Sequence[BuildUp], catalog: Catalog, pieces: Sequence[Piece],
               stations: Mapping[str, Point2], dry_z_m: float | None, studs: Mapping[str, Sequence[float]] | None = None,
               before: Boards | None = None, slab: Plane = LEVEL) -> Boards:
    """Lay out framing, boards and screws of a room.

    Parameters
    ----------
    framing : Solid
        The room on the framing face.
    membrane : Solid
        The room on the membrane face, where the sheets are.
    buildups : sequence of BuildUp
        All build-ups of the job, in its order.
    catalog : Catalog
        Stock sizes and tags.
    pieces : sequence of Piece
        Pieces of the covering: butts keep out of line with their seams.
    stations : mapping of str to tuple of float
        Plan points of the stations. [m]
    dry_z_m : float or None
        Height under which no screw goes through a pan liner; ``None`` without one. [m]
    studs : mapping of str to sequence of float, optional
        By wall, the middles of studs as found, from the wall's first station; one alone starts the spacing. [m]
    before : Boards, optional
        The boards of this room before its readings changed: they keep their direction and the order in which
        they are cut, unless that takes more of them.
    slab : (float, float, float)
        What the framing stands on: height = a x + b y + c over the level datum.

    Returns
    -------
    boards : Boards
        Supports, boards cut from stock, fasteners and remarks.

    Raises
    ------
    InputError
        If a board has no framing to be fastened to, or no size in the catalog.

    References
    ----------
    specification-backer; ANSI-A108.11; common practice, no source
    """
    draft = _Draft()
    standing: dict[str, shapely.Polygon] = {}
    for ground in grounds(framing, buildups, stations, studs, slab):
        _refuse_unframed(ground)
        edges = edge_members(ground) if ground.framed else ()
        fields = field_members(ground, edges) if ground.framed else ()
        layers = _layers(draft, ground, fields, catalog, seams_on(ground, framing, membrane, pieces), before)
        why = "as found" if ground.said_a_m else "at its spacing"
        members = [*edges, *(Member(_upright(ground), (f.a_m, lo), (f.a_m, hi), why) for f in fields for lo, hi in f.spans_m)]
        if ground.framed:
            members += [*blocking_members(ground), *_under_butts(ground, layers)]
            standing |= {ground.facet.id: ground.standing} if ground.feet else {}
        _put_supports(draft, ground, members)
    cut, stock, waste, bounds, cuttings = _cut(draft, before.cuttings if before is not None else {})
    if before is not None and len(stock) > len(before.stock):
        return lay_boards(framing, membrane, buildups, catalog, pieces, stations, dry_z_m, studs, slab=slab)
    fasteners = _fasten(draft, cut, catalog, dry_z_m)
    return Boards(tuple(draft.supports), cut, stock, fasteners, tuple(draft.remarks), waste, bounds, draft.course_axis, cuttings, standing)


def _refuse_unframed(ground: Ground) -> None:
    if ground.boards and ground.buildup.framing_kind == "none" and ground.facet.kind is not FacetKind.FLOOR:
        raise InputError(f"{ground.boards[0][0].name} on {ground.facet.name} has no framing to be fastened to",
                         path=f"{ground.path}.framing.kind",
                         hint="say wood stud, steel stud, wood joist or steel joist; or concrete or masonry, on which it is bedded")


def _upright(ground: Ground) -> str:
    return "joist" if ground.facet.kind in (FacetKind.CEILING, FacetKind.SOFFIT) else "stud"


def _layers(draft: _Draft, ground: Ground, fields: tuple[Field, ...], catalog: Catalog, seams: tuple[Seam, ...],
            before: Boards | None) -> list[Layout]:
    """All board layers of a facet, innermost first."""
    out: list[Layout] = []
    corners = corners_of(ground)
    for n, (layer, _) in enumerate(ground.boards):
        item = catalog.board_for(layer.material)
        if item is None:
            raise InputError(f"the catalog knows no size of {layer.name!r}", path=f"{ground.path}.layers",
                             hint="add a row to the boards of your catalog")
        last = n == len(ground.boards) - 1
        below = tuple(out[-1].butts) if out else ()
        key = ground.facet.id, n + 1, item.item
        layout, axis = _best(Surroundings(ground, fields, corners, seams if last else (), below), item,
                             before.course_axis.get(key) if before else None)
        draft.course_axis[key] = axis
        draft.boards += [(ground, layer, n + 1, item, piece) for piece in _round_pipes(ground, layout.pieces)]
        for kind in ("at_corner", "not_staggered", "in_line"):
            wrong = [b for b in layout.butts if kind in b.faults]
            if wrong:
                draft.remarks.append(Remark(ground.facet.id, kind, f"{ground.facet.name}: {_SAYS[kind]} ({len(wrong)})"))
        out.append(layout)
    return out


def _best(around: Surroundings, item: BoardItem, kept_axis: int | None) -> tuple[Layout, int]:
    """Boards along or across the supports, as they lay or whichever takes less stock; overhead always across the joists."""
    if kept_axis is not None:
        return lay(around, item.length_m, item.width_m, kept_axis), kept_axis
    across = lay(around, item.length_m, item.width_m, 1)
    if len(across.pieces) <= 1 or (is_overhead(around.ground) and around.ground.framed):
        return across, 1
    along = lay(around, item.length_m, item.width_m, 0)
    return min(((across, 1), (along, 0)), key=lambda x: round(_stock_need(x[0], item), 6))


def _stock_need(layout: Layout, item: BoardItem) -> float:
    """Boards that a layout takes alone, the last in part; faults and pieces cost a little."""
    blanks = [Blank(f"{n:03d}", *_size(p.bounds), True) for n, p in enumerate(layout.pieces)]
    cutting = cut_boards(blanks, item.length_m, item.width_m, 1)
    used = len(cutting.used_length_m) - 1 + cutting.used_length_m[-1] / item.length_m if blanks else 0.0
    return used + 0.05 * layout.cost


def _size(bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    return bounds[2] - bounds[0], bounds[3] - bounds[1]


def _round_pipes(ground: Ground, pieces: Sequence[shapely.Polygon]) -> list[shapely.Polygon]:
    """Boards with their holes for pipes, low and left ones first."""
    clear = practice("lay", "pipe_clear_m")
    holes = [shapely.Point(c).buffer(p.diameter_m / 2 + clear, quad_segs=8) for p, c in ground.pipes if p.kind not in NOT_CUT]
    out = []
    for piece in pieces:
        through = [h for h in holes if h.intersects(piece)]
        cut = piece.difference(shapely.union_all(through)) if through else piece
        out += [g for g in ([cut] if cut.geom_type == "Polygon" else list(cut.geoms)) if g.area > 1e-5]
    return sorted(out, key=lambda g: (round(g.bounds[1], 4), round(g.bounds[0], 4)))


def _under_butts(ground: Ground, layers: Sequence[Layout]) -> list[Member]:
    """Blocking under butts across the supports, and a further support where a butt along them has none."""
    out: list[Member] = []
    seen: set[tuple[int, float, float]] = set()
    for butt in (b for layout in layers for b in layout.butts):
        key = (butt.axis, round(butt.at_m, 4), round(butt.low_m, 4))
        if key in seen or (butt.axis == 0 and "unsupported" not in butt.faults):
            continue
        seen.add(key)
        if butt.axis == 1:
            out.append(Member("blocking", (butt.low_m, butt.at_m), (butt.high_m, butt.at_m), "under a butt"))
        else:
            out.append(Member("backing", (butt.at_m, butt.low_m), (butt.at_m, butt.high_m), "under a butt"))
    return out


def _put_supports(draft: _Draft, ground: Ground, members: Sequence[Member]) -> None:
    for m in sorted(members, key=lambda m: abs(m.end_m[0] - m.start_m[0]) > abs(m.end_m[1] - m.start_m[1])):
        name = f"support-{len(draft.supports) + 1:03d}"
        ends = (ground.lift(m.start_m), ground.lift(m.end_m))
        draft.supports.append(Support(name, m.kind, ground.facet.id, *ends, ground.bearing_m, m.reason))
        length = math.dist(m.start_m, m.end_m)
        along = ((m.end_m[0] - m.start_m[0]) / length, (m.end_m[1] - m.start_m[1]) / length)
        draft.rows.setdefault(ground.facet.id, []).append(Row(name, m.start_m, along, length, ground.bearing_m / 2))


def _cut(draft: _Draft, before: Mapping[str, BoardCutting]) -> tuple[
        tuple[Board, ...], tuple[Stock, ...], float, tuple[StockBound, ...], dict[str, BoardCutting]]:
    """Cut all boards of one item together, so that offcuts of one wall serve another."""
    blanks: dict[str, list[Blank]] = {}
    items: dict[str, BoardItem] = {}
    for n, (ground, _, _, item, piece) in enumerate(draft.boards, 1):
        s, t = ground.turn(_size(piece.bounds))
        blanks.setdefault(item.item, []).append(Blank(f"P{n}", min(s, item.length_m) if s <= item.length_m + 1e-7 else s,
                                                      min(t, item.length_m) if t <= item.length_m + 1e-7 else t, True))
        items[item.item] = item
    spots: dict[str, Cut] = {}
    stock: list[Stock] = []
    bounds: list[StockBound] = []
    cuttings: dict[str, BoardCutting] = {}
    bought = 0.0
    for name in sorted(blanks):
        item = items[name]
        cutting = cuttings[name] = cut_boards(blanks[name], item.length_m, item.width_m, before=before.get(name))
        first = len(stock)
        stock += [Stock(f"stock-{first + k + 1:02d}", name, item.material, item.length_m, item.width_m, used)
                  for k, used in enumerate(cutting.used_length_m)]
        spots |= {s.blank: Cut(stock[first + s.roll].id, s.x_m, s.y_m, s.turned) for s in cutting.spots}
        bounds.append(StockBound(name, len(cutting.used_length_m), cutting.lower_bound, cutting.proven, cutting.method))
        bought += len(cutting.used_length_m) * item.length_m * item.width_m
    size = {b.id: (b.length_m, b.width_m) for rows in blanks.values() for b in rows}
    out = []
    for n, (ground, layer, level, item, piece) in enumerate(draft.boards, 1):
        name = f"P{n}"
        out.append(Board(name, item.item, layer.material, layer.thickness_m, level, _patch(ground, piece), size[name], spots[name]))
    needed = sum(a * b for a, b in size.values())
    return tuple(out), tuple(stock), 1.0 - needed / bought if bought else 0.0, tuple(bounds), cuttings


def _patch(ground: Ground, piece: shapely.Polygon) -> Patch:
    """A board in its facet's (s, t); its blank lies the same way."""
    ring, *holes = ([ground.turn(p) for p in r] for r in rings_of(piece))
    outline, *cut_outs = (tuple(r if (area_m2(r) > 0.0) == outer else r[::-1]) for r, outer in ((ring, True), *((h, False) for h in holes)))
    s0, t0 = ground.turn(piece.bounds[:2])
    return Patch(ground.facet.id, outline, tuple(cut_outs), Placing(-s0, -t0, 0.0))


def _fasten(draft: _Draft, cut: Sequence[Board], catalog: Catalog, dry_z_m: float | None) -> tuple[Fastener, ...]:
    """All screws; boards that take none, and tops that are screwed through, are remarked on."""
    out: list[Fastener] = []
    told: dict[tuple[str, str, str], list[str]] = {}
    for board, (ground, layer, _, _, piece) in zip(cut, draft.boards, strict=True):
        facet, dry_b_m = ground.facet, _dry_b(ground, dry_z_m)
        sentence = _unfastened(ground)
        if not sentence and dry_b_m is not None and piece.bounds[3] - practice("screw", "edge_m") <= dry_b_m:
            sentence = "stands below 1 in over the flood line, where no screw goes through the liner: boards are bedded"
        if sentence or facet.kind in _TOPS:
            words = sentence or "screwed through its top, since the membrane goes over every screw"
            told.setdefault((facet.id, "bedded" if sentence else "pan", f"{facet.name}: {words}"), []).append(board.id)
        if not sentence:
            out += _screwed(draft, board, ground, layer, piece, catalog, dry_b_m, len(out))
    draft.remarks += [Remark(*key, tuple(boards)) for key, boards in told.items()]
    return tuple(out)


def _screwed(draft: _Draft, board: Board, ground: Ground, layer: Layer, piece: shapely.Polygon, catalog: Catalog, dry_b_m: float | None,
             before: int) -> list[Fastener]:
    """The screws of one board, numbered on from those before."""
    behind = {x.material: d for x, d in ground.boards}[layer.material]
    screw = screw_for(catalog.materials[layer.material].tags, layer.thickness_m + behind, is_overhead(ground),
                      ground.buildup.framing_kind, ground.buildup.steel_mil)
    places = screws_of(piece, screw_zone(ground, piece, dry_b_m), draft.rows.get(ground.facet.id, ()), screw.spacing_m)
    return [Fastener(f"screw-{n:04d}", ground.facet.id, ground.turn(p), support, board.id, screw.length_m, screw.type)
            for n, (support, p) in enumerate(places, before + 1)]


def _unfastened(ground: Ground) -> str:
    """Why a facet's boards take no screws; empty where they do."""
    if ground.facet.kind is FacetKind.FLOOR:
        return "no screws in the pan: boards are bedded"
    if not ground.framed:
        return f"boards are bedded on {ground.buildup.framing_kind}, without screws"
    roles = [layer.role for layer in ground.buildup.layers]
    over = ground.buildup.covering == "sheet membrane" and "membrane" in roles and roles.index("membrane") < roles.index("board")
    return "" if over or ground.facet.kind not in _TOPS else "no screws in a top that no membrane goes over: boards are bedded"


def _dry_b(ground: Ground, dry_z_m: float | None) -> float | None:
    """The height under which no screw stands, as b of an upright facet."""
    rise = ground.facet.frame.v[2]
    return None if dry_z_m is None or rise < 0.5 or ground.swapped else (dry_z_m - ground.facet.frame.origin_m[2]) / rise


def seams_on(ground: Ground, framing: Solid, membrane: Solid, pieces: Sequence[Piece]) -> tuple[Seam, ...]:
    """Edges of sheets over a facet that run along or across its supports.

    Parameters
    ----------
    ground : Ground
        The facet on the framing face.
    framing : Solid
        The room on the framing face.
    membrane : Solid
        The room on the membrane face.
    pieces : sequence of Piece
        Pieces of the covering.

    Returns
    -------
    seams : tuple of Seam
        Those off the facet's own edges.

    References
    ----------
    own derivation
    """
    other = next((f for f in membrane.facets if f.id == ground.facet.id and f.surface == ground.facet.surface), None)
    if other is None:
        return ()
    clear = practice("lay", "clear_m")
    bounds = ground.whole.bounds
    outlines = [x.outline_m for p in pieces if p.role is Role.SHEET for x in p.patches if x.facet == other.id]
    if not outlines:
        return ()
    flat = ground.facet.frame.drop(other.frame.lift(np.concatenate(outlines)))
    points = (flat[:, ::-1] if ground.swapped else flat).tolist()
    out, first = [], 0
    for outline in outlines:
        ring = points[first:first + len(outline)]
        first += len(outline)
        for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
            for axis in (0, 1):
                if abs(q[axis] - p[axis]) < _EDGE_TURN * abs(q[1 - axis] - p[1 - axis]):
                    at = (p[axis] + q[axis]) / 2
                    if bounds[axis] + clear < at < bounds[axis + 2] - clear:
                        out.append(Seam(axis, at, *sorted((p[1 - axis], q[1 - axis]))))
    return tuple(out)
