"""A kept plan taken up again: its room from the job, its pieces from plan.json."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from steamwright.buildup.catalog_model import Catalog
from steamwright.buildup.faces import Faces
from steamwright.buildup.stack import build_stacks
from steamwright.covering.alternatives import Laid
from steamwright.covering.model import Account, Patch, Piece, Placing, Role
from steamwright.geometry.frame import Point2
from steamwright.plan.job import Job
from steamwright.room.model import Face, FacetKind, Solid
from steamwright.room.solid import build_solid
from steamwright.room.survey import adjust


def membrane_room(job: Job, catalog: Catalog) -> Solid:
    """Build the room on its membrane face, and nothing else.

    Parameters
    ----------
    job : Job
        What a person says about one room.
    catalog : Catalog
        What it can be built with.

    Returns
    -------
    room : Solid
        The same as in the plan of this job.

    Raises
    ------
    InputError
        If the job describes no possible room.

    References
    ----------
    own derivation
    """
    faces = Faces(build_stacks(job.buildup, catalog), liner_pan=job.room.pan.membrane == "liner")
    survey = adjust(job.survey, lambda side, face: faces.depth_m(side, FacetKind.WALL, face), job.tile.longest_edge_m)
    face = Face.MEMBRANE
    return build_solid(survey, job.room, lambda surface, kind: faces.depth_m(surface, kind, face), face, faces.covering, faces.depth_m)


def pieces_of(document: bytes) -> tuple[Piece, ...]:
    """Read the pieces of a covering.

    Parameters
    ----------
    document : bytes
        plan.json.

    Returns
    -------
    pieces : tuple of Piece
        As they lie, to the digits of the file; where they are cut from is left out.

    References
    ----------
    own derivation
    """
    return tuple(_piece(said) for said in json.loads(document)["covering"]["pieces"])


def laid_in(document: bytes) -> Laid:
    """Read a covering as it is compared with other layouts.

    Parameters
    ----------
    document : bytes
        plan.json.

    Returns
    -------
    laid : Laid
        Its pieces, what they take, and what the proof says.

    References
    ----------
    own derivation
    """
    said = json.loads(document)["covering"]
    proof = said["proof"]
    return Laid(tuple(_piece(p) for p in said["pieces"]), Account(**said["account"]), proof["tight"], proof["least_lap_m"])


def _piece(said: Mapping[str, Any]) -> Piece:
    blank = said["blank_m"]
    return Piece(said["id"], Role(said["role"]), said["item"], said["material"], tuple(_patch(p) for p in said["patches"]),
                 None if blank is None else (blank[0], blank[1]), said["place_no"], tuple(said["over"]),
                 parting_m=_ring(said.get("parting_m", ())), second_at=said.get("second_at", 0))


def _patch(said: Mapping[str, Any]) -> Patch:
    at = said["at"]
    return Patch(said["facet"], _ring(said["outline_m"]), tuple(_ring(r) for r in said["holes_m"]), None if at is None else Placing(**at))


def _ring(points: Sequence[Sequence[float]]) -> tuple[Point2, ...]:
    return tuple((s, t) for s, t in points)
