"""The same room seen in a mirror: one whose walls run clockwise is laid out as its image, so that both cost the same."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from steamwright.covering.inputs import CoveringWishes, NoSeam, PiecePin, PinnedPatch, PinnedPlace, SeamPin
from steamwright.covering.model import Patch, Piece, Placing
from steamwright.geometry.frame import Frame, Point2, Point3
from steamwright.room.model import Facet, FacetKind, Joint, Rim, Solid

LIES_RATIO = 0.5

Stretch = TypeVar("Stretch", Joint, Rim)


def runs_clockwise(solid: Solid) -> bool:
    """Tell whether the walls follow one another clockwise as seen from above.

    Parameters
    ----------
    solid : Solid
        A room.

    Returns
    -------
    clockwise : bool
        True for exactly one of a room and its mirror image, where its walls close a plan at all.

    References
    ----------
    own derivation
    """
    upright = [f for f in solid.facets if f.kind in (FacetKind.WALL, FacetKind.OPENING)]
    feet = [f.frame.lift(np.array(f.outline_m).mean(axis=0))[0] for f in upright]
    turns = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(feet, [*feet[1:], *feet[:1]], strict=True))
    return bool(turns < 0.0)


def mirrored_solid(solid: Solid) -> Solid:
    """Mirror a room across a wall's line; surfaces keep their names and the order in which they stand.

    Parameters
    ----------
    solid : Solid
        A room.

    Returns
    -------
    image : Solid
        What the readings of the mirrored room would have given.

    References
    ----------
    own derivation
    """
    facets = {f.id: f for f in solid.facets}
    return replace(solid, facets=tuple(_facet(f) for f in solid.facets), joints=tuple(_stretch(j) for j in solid.joints),
                   rims=tuple(_stretch(r) for r in solid.rims),
                   penetrations=tuple(replace(p, center_m=_points(facets[p.facet], [p.center_m])[0]) for p in solid.penetrations))


def mirrored_wishes(solid: Solid, wishes: CoveringWishes) -> CoveringWishes | None:
    """Say for a room's mirror image what a person says about the room.

    Parameters
    ----------
    solid : Solid
        The room of which the wishes speak.
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    wishes : CoveringWishes or None
        None where a zone is measured across sheets that may lie either way, which has no image.

    References
    ----------
    own derivation
    """
    if any(z.measured == "across" for z in wishes.no_seam):
        return None
    return wishes.model_copy(update={"seam": tuple(s for seam in wishes.seam for s in _seam(solid, seam)),
                                     "no_seam": tuple(z for zone in wishes.no_seam for z in _zone(solid, zone)),
                                     "piece": tuple(_pin(solid, p) for p in wishes.piece)})


def mirrored_pieces(solid: Solid, pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """Mirror pieces with their blanks, which lie on their rolls as before.

    Parameters
    ----------
    solid : Solid
        The room on which the pieces lie.
    pieces : iterable of Piece
        Pieces.

    Returns
    -------
    images : tuple of Piece
        The same pieces in the room's mirror image.

    References
    ----------
    own derivation
    """
    facets = {f.id: f for f in solid.facets}
    out = []
    for p in pieces:
        width_m = 0.0 if p.blank_m is None else p.blank_m[1]
        # pieces of an earlier room may lie where nothing is any more
        patches = tuple(_patch(facets[q.facet], q, width_m) if q.facet in facets else q for q in p.patches)
        out.append(replace(p, patches=patches, parting_m=tuple((x, width_m - y) for x, y in p.parting_m)))
    return tuple(out)


def _lies(facet: Facet) -> bool:
    """True for floors, ceilings and tops, whose ``u`` the mirror leaves as it is."""
    return abs(float(facet.frame.normal[2])) > LIES_RATIO


def _size_m(facet: Facet) -> float:
    """How far the facet's own coordinates run along the axis that the mirror turns about."""
    on_axis = [p[int(_lies(facet))] for p in facet.outline_m]
    return min(on_axis) + max(on_axis)


def _points(facet: Facet, points_m: Sequence[Point2]) -> tuple[Point2, ...]:
    size = _size_m(facet)
    return tuple((s, size - t) for s, t in points_m) if _lies(facet) else tuple((size - s, t) for s, t in points_m)


def _ring(facet: Facet, ring_m: Sequence[Point2]) -> tuple[Point2, ...]:
    """Run through the other way round, from its lower left."""
    ring = _points(facet, ring_m)[::-1]
    first = min(range(len(ring)), key=lambda k: (round(ring[k][1], 6), round(ring[k][0], 6)))
    return ring[first:] + ring[:first]


def _seen(place: ArrayLike) -> Point3:
    x, y, z = np.asarray(place, float).tolist()
    return x, -y, z


def _facet(facet: Facet) -> Facet:
    f, axis = facet.frame, int(_lies(facet))
    corner = f.lift([(0.0, _size_m(facet))] if axis else [(_size_m(facet), 0.0)])[0]
    u, v = _seen(f.u), _seen(f.v)
    back = v if axis else u
    turned: Point3 = (-back[0], -back[1], -back[2])
    frame = Frame(_seen(corner), *((u, turned) if axis else (turned, v)))
    return replace(facet, frame=frame, outline_m=_ring(facet, facet.outline_m), holes_m=tuple(_ring(facet, h) for h in facet.holes_m))


def _stretch(stretch: Stretch) -> Stretch:
    """The facets' outlines run the other way round in the mirror, and so do their edges."""
    return replace(stretch, start_m=_seen(stretch.end_m), end_m=_seen(stretch.start_m))


def _place(facet: Facet, at: Placing, blank_width_m: float) -> Placing:
    """On a blank that is mirrored about its length, the patch keeps the side that faces the room."""
    corner = (0.0, _size_m(facet)) if _lies(facet) else (_size_m(facet), 0.0)
    x, y = at.to_blank(np.array([corner]))[0].tolist()
    turned = -at.angle_deg if _lies(facet) else 180.0 - at.angle_deg
    return Placing(x, blank_width_m - y, (turned + 180.0) % 360.0 - 180.0, at.flipped)


def _patch(facet: Facet, patch: Patch, blank_width_m: float) -> Patch:
    at = None if patch.at is None else _place(facet, patch.at, blank_width_m)
    return Patch(patch.facet, _ring(facet, patch.outline_m), tuple(_ring(facet, h) for h in patch.holes_m), at)


def _named(solid: Solid, name: str) -> list[Facet]:
    """One facet by its own name, or all of a surface."""
    return [f for f in solid.facets if f.name == name] or [f for f in solid.facets if f.surface == name]


def _seam(solid: Solid, seam: SeamPin) -> list[SeamPin]:
    """Facets of one surface are not equally wide: every one gets a seam of its own. A name that means nothing is kept."""
    rows = []
    for facet in _named(solid, seam.on):
        along_m, up_m = seam.along_m, seam.up_m
        if up_m is not None and _lies(facet):
            up_m = _size_m(facet) - up_m
        elif along_m is not None and not _lies(facet):
            along_m = _size_m(facet) - along_m
        rows.append(seam.model_copy(update={"on": facet.name, "along_m": along_m, "up_m": up_m}))
    return rows or [seam]


def _zone(solid: Solid, zone: NoSeam) -> list[NoSeam]:
    rows = []
    for facet in _named(solid, zone.on):
        ends = zone.from_m, zone.to_m
        if (zone.measured == "up") == _lies(facet):
            ends = _size_m(facet) - zone.to_m, _size_m(facet) - zone.from_m
        rows.append(zone.model_copy(update={"on": facet.name, "from_m": ends[0], "to_m": ends[1]}))
    return rows or [zone]


def _pin(solid: Solid, pin: PiecePin) -> PiecePin:
    width_m = 0.0 if pin.blank_m is None else pin.blank_m[1]
    facets = {f.name: f for f in solid.facets}
    patches = tuple(_pinned_patch(facets[q.on], q, width_m) if q.on in facets else q for q in pin.patch)
    return pin.model_copy(update={"patch": patches, "parting_m": tuple((x, width_m - y) for x, y in pin.parting_m)})


def _pinned_patch(facet: Facet, patch: PinnedPatch, blank_width_m: float) -> PinnedPatch:
    at = None
    if patch.at is not None:
        lain = _place(facet, Placing(patch.at.x_m, patch.at.y_m, patch.at.angle_deg, patch.at.flipped), blank_width_m)
        at = PinnedPlace(x_m=lain.x_m, y_m=lain.y_m, angle_deg=lain.angle_deg, flipped=lain.flipped)
    return patch.model_copy(update={"outline_m": _ring(facet, patch.outline_m), "holes_m": tuple(_ring(facet, h) for h in patch.holes_m),
                                    "at": at})
