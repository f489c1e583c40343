"""plan.json: the one file that outside checkers read."""

from __future__ import annotations

import json
from collections.abc import Sequence

from steamwright.covering.boards.model import Board, Boards
from steamwright.covering.model import Alternative, Covering, Patch, Piece
from steamwright.estimate.model import OrderLine
from steamwright.plan.model import Plan
from steamwright.plan.plain import Json, plain, rounded
from steamwright.room.model import CoveredBy, Facet, Solid
from steamwright.vapor.steam_model import SteamLoad

FORMAT = "steamwright-plan"
VERSION = 1


def plan_json(plan: Plan) -> bytes:
    """Write a plan as the bytes of plan.json: SI, sorted keys, UTF-8, a line for every row of its lists.

    Parameters
    ----------
    plan : Plan
        Everything derived from one job.

    Returns
    -------
    document : bytes
        The same plan gives the same bytes. ``docs/reference/plan.schema.json`` describes them.

    Raises
    ------
    ValueError
        If the plan holds a number that is not finite.

    References
    ----------
    own derivation
    """
    return (_lines(plan_document(plan), 3) + "\n").encode()


# Two plans are compared line by line; to break lines below the rows as well would take the slow encoder.
_ENCODE = json.JSONEncoder(sort_keys=True, ensure_ascii=False, allow_nan=False).encode


def _lines(value: Json, depth: int, indent: str = "") -> str:
    """JSON with a line for every item of the outer levels."""
    if depth == 0 or not isinstance(value, (dict, list)) or not value:
        return _ENCODE(value)
    inner = indent + " "
    if isinstance(value, dict):
        begin, end = "{}"
        rows = [f"{_ENCODE(k)}: {_lines(value[k], depth - 1, inner)}" for k in sorted(value)]
    else:
        begin, end = "[]"
        rows = [_ENCODE(v) for v in value]
    return f"{begin}\n{inner}" + f",\n{inner}".join(rows) + f"\n{indent}{end}"


def plan_document(plan: Plan) -> dict[str, Json]:
    """Lay a plan out as plain JSON values under the names of the contract.

    Parameters
    ----------
    plan : Plan
        Everything derived from one job.

    Returns
    -------
    document : dict
        The content of plan.json; lengths in metres, areas in square metres, permeance in kg/(Pa s m²).

    Raises
    ------
    ValueError
        If the plan holds a number that is not finite.

    References
    ----------
    own derivation
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "job": plain(plan.job),
        "hashes": plain(plan.hashes),
        "stopped_early": plan.stopped_early,
        "survey": plain(plan.survey),
        "room": _room(plan.room) | {"other_faces": [_other_face(s) for s in (plan.framing, plan.finished)]},
        "pan": plain(plan.pan),
        "buildups": plain(plan.buildups),
        "covering": _covering(plan.covering),
        "boards": _boards(plan.boards, plan.framing),
        "vapor": plain(plan.vapor),
        "steam": _steam(plan.steam),
        "estimate": {"order": [_order_line(line) for line in plan.order]},
        "findings": plain(plan.findings),
    } | ({"comparison": plain(plan.comparison)} if plan.comparison is not None else {})


def laid_json(room: Solid, pieces: Sequence[Piece]) -> bytes:
    """Write a room and its pieces as they lie in it, before anything is said about them, under the names of plan.json.

    Parameters
    ----------
    room : Solid
        The room on its membrane face.
    pieces : sequence of Piece
        What lies in it.

    Returns
    -------
    document : bytes
        ``room`` without its other faces, and ``pieces``. [m]

    Raises
    ------
    ValueError
        If they hold a number that is not finite.

    References
    ----------
    own derivation
    """
    return _ENCODE({"room": _room(room), "pieces": [_piece(p) for p in pieces]}).encode()


def layouts_document(layouts: Sequence[tuple[Alternative, Covering | None]], ids: Sequence[str]) -> list[dict[str, Json]]:
    """Lay found layouts out as plain JSON values, under the names of plan.json.

    Parameters
    ----------
    layouts : sequence of (Alternative, Covering or None)
        As `find_layouts` gives them.
    ids : sequence of str
        What to call each; empty where it is the plan's own.

    Returns
    -------
    rows : list of dict
        Each alternative with proof and pieces; those are null for the plan's own layout, which plan.json has. [m]

    Raises
    ------
    ValueError
        If a layout holds a number that is not finite.

    References
    ----------
    own derivation
    """
    return [dict(plain(a)) | {
        "id": name,
        "proof": None if c is None else plain(c.proof),
        "pieces": None if c is None else [_piece(p) for p in c.pieces],
    } for (a, c), name in zip(layouts, ids, strict=True)]


def _room(solid: Solid) -> dict[str, Json]:
    covered = [f.area_m2 for f in solid.facets if f.covering_by is CoveredBy.PIECES]
    return {
        "face": solid.face.value,
        "volume_m3": rounded(solid.volume_m3),
        "covered_area_m2": rounded(sum(covered)),
        "facets": [_facet(f) for f in solid.facets],
        "joints": plain(solid.joints),
        "rims": plain(solid.rims),
        "penetrations": plain(solid.penetrations),
    }


def _facet(facet: Facet) -> dict[str, Json]:
    frame = facet.frame
    return {
        "id": facet.id,
        "kind": facet.kind.value,
        "name": facet.name,
        "origin_m": plain(frame.origin_m, "origin_m"),
        "u": plain(frame.u, "u"),
        "v": plain(frame.v, "v"),
        "outline_m": plain(facet.outline_m, "outline_m"),
        "holes_m": plain(facet.holes_m, "holes_m"),
        "area_m2": rounded(facet.area_m2),
        "covering_by": facet.covering_by.value,
        "reason": facet.reason,
        "surface": facet.surface,
        "buildup": facet.buildup,
    }


def _other_face(solid: Solid) -> dict[str, Json]:
    areas = [{"id": f.id, "area_m2": rounded(f.area_m2)} for f in solid.facets]
    return {"face": solid.face.value, "volume_m3": rounded(solid.volume_m3), "facets": areas}


def _covering(covering: Covering) -> dict[str, Json]:
    return {
        "lap_required_m": rounded(covering.lap_required_m, "lap_required_m"),
        "lap_planned_m": rounded(covering.lap_planned_m, "lap_planned_m"),
        "pieces": [_piece(p) for p in covering.pieces],
        "stock": plain(covering.stock),
        "proof": plain(covering.proof),
        "bound": plain(covering.bound),
        "layers": plain(covering.layers),
        "crowded": plain(covering.crowded),
        "cuttings": plain(covering.cuttings),
        "account": plain(covering.account),
        "left": plain(covering.left),
        "wish_costs": plain(covering.wish_costs),
        "alternatives": plain(covering.alternatives),
    }


def _boards(boards: Boards, framing: Solid) -> dict[str, Json]:
    """Boards lie in the frames of the framing face, which stand beside them."""
    used = {s.facet for s in boards.supports} | {b.facet for b in boards.pieces}
    return {
        "face": framing.face.value,
        "facets": [_facet(f) for f in framing.facets if f.id in used],
        "supports": plain(boards.supports),
        "pieces": [_board(b) for b in boards.pieces],
        "stock": plain(boards.stock),
        "fasteners": plain(boards.fasteners),
        "remarks": plain(boards.remarks),
        "waste_ratio": rounded(boards.waste_ratio),
        "bounds": plain(boards.bounds),
    }


def _steam(load: SteamLoad | None) -> Json:
    """With the load while the room is held by what takes it, which is what the contract names."""
    if load is None:
        return None
    held = {row.label: plain(row.hold_w) for row in load.loads}
    return dict(plain(load)) | {"load_w": held}


def _board(board: Board) -> dict[str, Json]:
    return {
        "id": board.id,
        "role": "board",
        "item": board.item,
        "material": board.material,
        "thickness_m": rounded(board.thickness_m, "thickness_m"),
        "layer": board.layer,
        "patches": [_patch(board.patch)],
        "blank_m": plain(board.blank_m, "blank_m"),
        "cut": plain(board.cut),
    }


def _piece(piece: Piece) -> dict[str, Json]:
    return {
        "id": piece.id,
        "role": piece.role.value,
        "item": piece.item,
        "material": piece.material,
        "place_no": piece.place_no,
        "over": list(piece.over),
        "patches": [_patch(p) for p in piece.patches],
        "blank_m": plain(piece.blank_m, "blank_m"),
        "cut": plain(piece.cut),
        "parting_m": plain(piece.parting_m, "parting_m"),
        "second_at": piece.second_at,
    }


def _patch(patch: Patch) -> dict[str, Json]:
    return {
        "facet": patch.facet,
        "outline_m": plain(patch.outline_m, "outline_m"),
        "holes_m": plain(patch.holes_m, "holes_m"),
        "at": plain(patch.at),
    }


def _order_line(line: OrderLine) -> dict[str, Json]:
    return dict(plain(line))
