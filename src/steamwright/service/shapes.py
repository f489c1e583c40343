"""Plan shapes to begin with, at a usual size; every length is typed over by what the tape says."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.units import FOOT_M


@dataclass(frozen=True, slots=True)
class Shape:
    """A plan to begin with; corners counter-clockwise, the first at the origin, the first wall along x. [m]"""

    id: str
    name: str
    points_m: tuple[tuple[float, float], ...]


# Corners in feet: sizes that are common on site, no source.
_FEET: tuple[tuple[str, str, tuple[tuple[float, float], ...]], ...] = (
    ("rectangle", "Rectangle", ((0, 0), (6, 0), (6, 4), (0, 4))),
    ("l-left", "L, recess on the left", ((0, 0), (7, 0), (7, 6), (3, 6), (3, 3), (0, 3))),
    ("l-right", "L, recess on the right", ((0, 0), (7, 0), (7, 3), (4, 3), (4, 6), (0, 6))),
    ("cut-corner", "One corner cut off", ((0, 0), (5, 0), (5, 3), (3, 5), (0, 5))),
    ("notched", "Rectangle with a chase in one corner", ((0, 0), (6, 0), (6, 3), (5, 3), (5, 4), (0, 4))),
    ("bay", "Rectangle with a bay", ((0, 0), (6, 0), (6, 4), (4.5, 5.5), (1.5, 5.5), (0, 4))),
    ("t", "T", ((2, 0), (6, 0), (6, 3), (8, 3), (8, 6), (0, 6), (0, 3), (2, 3))),
    ("u", "U", ((0, 0), (8, 0), (8, 6), (6, 6), (6, 3), (2, 3), (2, 6), (0, 6))),
    ("octagon", "Octagon", ((0, 0), (3, 0), (5.1213, 2.1213), (5.1213, 5.1213), (3, 7.2426), (0, 7.2426), (-2.1213, 5.1213),
                            (-2.1213, 2.1213))),
)  # fmt: skip


def shapes() -> tuple[Shape, ...]:
    """All shapes to begin with.

    Returns
    -------
    shapes : tuple of Shape
        The simplest first.

    References
    ----------
    common practice, no source
    """
    return tuple(Shape(id, name, tuple((round((x - p[0][0]) * FOOT_M, 4), round((y - p[0][1]) * FOOT_M, 4)) for x, y in p))
                 for id, name, p in _FEET)
