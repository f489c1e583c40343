"""Doors: where a leaf stands in its opening or in its glass wall."""

from __future__ import annotations

from steamwright.drawing.digest import Digest
from steamwright.room.inputs import Opening
from steamwright.room.model import Facet

GLASS = " glass"
"""What the name of a glass wall's surface ends in."""


def doors_in(d: Digest, facet: Facet) -> list[Opening]:
    """The doors in an opening or in a glass wall.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        An opening on any face.

    Returns
    -------
    doors : list of Opening
        As the job says them.

    References
    ----------
    own derivation
    """
    side = set(facet.surface.removesuffix(GLASS).split("-")) if facet.surface.endswith(GLASS) else None
    return [o for o in d.plan.job.room.opening
            if o.kind == "door" and (o.name in (facet.surface, facet.name) or side == set(o.wall.split("-")))]


def leaf_span_m(d: Digest, facet: Facet, opening: Opening) -> tuple[float, float]:
    """From where to where along its opening a leaf reaches.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        The opening, or the glass wall that the leaf is a part of.
    opening : Opening
        The door as the job says it.

    Returns
    -------
    span_m : (float, float)
        In the facet's frame, the left end as seen from inside first. [m]

    References
    ----------
    own derivation
    """
    s0, _, s1, _ = facet.polygon.bounds
    if opening.name in (facet.surface, facet.name):
        return s0, s1
    at = {s.id: (s.x_m, s.y_m, 0.0) for s in d.plan.survey.stations}  # a leaf of a glass wall is measured from the station
    a, b = (float(x) for x in facet.frame.drop([at[n] for n in opening.wall.split("-")])[:, 0])
    way = 1.0 if b > a else -1.0
    left, right = sorted((a + way * opening.from_m, a + way * (opening.from_m + opening.width_m)))
    return left, right
