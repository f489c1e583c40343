"""Where a person who looks at a facet has the neighbours, the door and up."""

from __future__ import annotations

import numpy as np

from steamwright.drawing.digest import STANDING, Digest
from steamwright.drawing.dimension import arrow
from steamwright.drawing.frame import Page
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
        An arrow and the word door; ``None`` where the room has no door facet.

    References
    ----------
    own derivation
    """
    doors = [f for f in d.plan.room.facets if f.kind is FacetKind.OPENING and "door" in (f.name + f.surface + f.reason).lower()]
    doors = doors or [f for f in d.plan.room.facets if f.covering_by is CoveredBy.NONE]
    if not doors:
        return None
    door = doors[0].frame.lift([doors[0].polygon.centroid.coords[0]])[0]
    floors = [f for f in d.plan.room.facets if f.kind is FacetKind.FLOOR] or [facet]
    stand = np.mean([f.frame.lift([f.polygon.centroid.coords[0]])[0] for f in floors], axis=0)
    way = door - stand
    side = float(way @ u)
    if facet.kind not in STANDING:  # who looks up at a ceiling has the door at one of its edges
        up = float(way @ np.array(facet.frame.v))
        return ("door towards the right →" if side > 0 else "← door towards the left") if abs(side) > abs(up) else (
            "↑ door towards the upper edge" if up > 0 else "↓ door towards the lower edge")  # fmt: skip
    here = facet.frame.lift([facet.polygon.centroid.coords[0]])[0]
    inside = abs(float((door - here) @ facet.frame.normal)) < IN_WALL_M
    if inside and facet.polygon.bounds[2] - facet.polygon.bounds[0] > abs(float((door - here) @ u)):
        return "door in this wall"
    behind = float(way @ facet.frame.normal)
    if behind > 1.5 * abs(side):
        return "↓ door behind you"
    return "door on your right →" if side > 0 else "← door on your left"
