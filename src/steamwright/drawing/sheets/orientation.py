"""Where a person who looks at a facet has the neighbours, the door and up."""

from __future__ import annotations

import numpy as np

from steamwright.drawing.digest import STANDING, Digest
from steamwright.drawing.dimension import arrow
from steamwright.drawing.frame import Page
from steamwright.drawing.leaves import doors_in, leaf_span_m
from steamwright.drawing.pens import SOFT, TEAL
from steamwright.room.model import CoveredBy, Facet, FacetKind

IN_WALL_M = 0.25


def orientation(page: Page, facet: Facet) -> None:
    """Write below a facet what is at its left and right and the way to the door, and beside it which way is up.

    Parameters
    ----------
    page : Page
        The sheet.
    facet : Facet
        What is drawn on it.

    References
    ----------
    own derivation
    """
    d, f, sketch = page.digest, page.field, page.sketch
    y = f.y1_mm - 1.0
    u = np.array(facet.frame.u)
    sides: dict[str, str] = {}
    s0, _, s1, _ = facet.polygon.bounds
    for joint in d.joints.get(facet.id, ()):
        a, b = facet.frame.drop([joint.start_m, joint.end_m])
        if abs(b[0] - a[0]) > abs(b[1] - a[1]):
            continue
        other = d.neighbour(joint, facet.id)
        if other.kind is FacetKind.WALL:
            middle = (a[0] + b[0]) / 2
            sides.setdefault("left" if middle < (s0 + s1) / 2 else "right", d.names[other.id])
    if "left" in sides:
        sketch.write("frame", (f.x0_mm + 2.0, y), f"← {sides['left']}", 5.0, "start", SOFT)
    if "right" in sides:
        sketch.write("frame", (f.x1_mm - 2.0, y), f"{sides['right']} →", 5.0, "end", SOFT)
    door = door_direction(d, facet, u)
    if door:
        sketch.write("frame", ((f.x0_mm + f.x1_mm) / 2, y), door, 5.0, "middle", TEAL, True)
    x_up = f.x0_mm + 6.0
    if facet.kind in STANDING:
        sketch.line("frame", (x_up, f.y0_mm + 20.0), (x_up, f.y0_mm + 4.0), "teal")
        sketch.add("frame", arrow((x_up, f.y0_mm + 1.0), 90.0, 5.0))
        sketch.write("frame", (x_up + 3.0, f.y0_mm + 13.0), "up", 5.0, color=TEAL, bold=True)


def door_direction(d: Digest, facet: Facet, u: np.ndarray) -> str | None:
    """Say where the door is for a person in the middle of the floor who looks at a facet.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        What the person looks at.
    u : ndarray, shape (3,)
        The facet's direction to the right.

    Returns
    -------
    words : str or None
        An arrow and the word door, or glass front where the job names no door; ``None`` in a room without an opening.

    References
    ----------
    own derivation
    """
    door, word = _way_in(d)
    if door is None:
        return None
    floors = [f for f in d.plan.room.facets if f.kind is FacetKind.FLOOR] or [facet]
    stand = np.mean([f.frame.lift([f.polygon.centroid.coords[0]])[0] for f in floors], axis=0)
    way = door - stand
    side = float(way @ u)
    if facet.kind not in STANDING:  # who looks up at a ceiling has the door at one of its edges
        up = float(way @ np.array(facet.frame.v))
        return (f"{word} towards the right →" if side > 0 else f"← {word} towards the left") if abs(side) > abs(up) else (
            f"↑ {word} towards the upper edge" if up > 0 else f"↓ {word} towards the lower edge")  # fmt: skip
    here = facet.frame.lift([facet.polygon.centroid.coords[0]])[0]
    behind_m = abs(float((door - here) @ facet.frame.normal))
    if behind_m < IN_WALL_M and facet.polygon.bounds[2] - facet.polygon.bounds[0] > 2.0 * abs(float((door - here) @ u)):
        return f"{word} in this wall" if facet.surface in d.plan.survey.wall_sides() else f"{word} over this wall"
    behind = float(way @ facet.frame.normal)
    if behind > 1.5 * abs(side):
        return f"↓ {word} behind you"
    return f"{word} on your right →" if side > 0 else f"← {word} on your left"


def _way_in(d: Digest) -> tuple[np.ndarray | None, str]:
    """The middle of the door, be it an opening or a leaf of glass, or else that of the glass front, and what to call it. [m]"""
    openings = [f for f in d.plan.room.facets if f.kind is FacetKind.OPENING]
    for f in openings:
        for o in doors_in(d, f):
            s0, s1 = leaf_span_m(d, f, o)
            middle: np.ndarray = f.frame.lift([((s0 + s1) / 2, f.polygon.centroid.y)])[0]
            return middle, "door"
    bare = openings or [f for f in d.plan.room.facets if f.covering_by is CoveredBy.NONE]
    return (bare[0].frame.lift([bare[0].polygon.centroid.coords[0]])[0], "glass front") if bare else (None, "")
