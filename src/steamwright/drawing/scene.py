"""What a drawing is made of: seven primitives on paper, in layers, on a sheet.

Paper millimetres, x to the right, y down from the upper left corner. Nothing here knows a room or a file format.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Paper = tuple[float, float]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight stroke. ``pen`` names a pen of ``pens``."""

    start_mm: Paper
    end_mm: Paper
    pen: str


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open run of strokes."""

    points_mm: tuple[Paper, ...]
    pen: str


@dataclass(frozen=True, slots=True)
class Area:
    """A filled, hatched or outlined region; the first ring is its outline, the others are holes."""

    rings_mm: tuple[tuple[Paper, ...], ...]
    pen: str | None = None
    fill: str | None = None
    hatch: str | None = None


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle."""

    center_mm: Paper
    radius_mm: float
    pen: str | None = None
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, counter-clockwise as seen on the paper from ``start_deg`` to ``end_deg``."""

    center_mm: Paper
    radius_mm: float
    start_deg: float
    end_deg: float
    pen: str


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering. ``height_mm`` is the height of its capitals (ISO 3098), ``at_mm`` lies on the base line.

    ``turn_deg`` turns counter-clockwise about ``at_mm``.
    """

    at_mm: Paper
    content: str
    height_mm: float
    anchor: Anchor = "start"
    color: str = "#1d2429"
    bold: bool = False
    turn_deg: float = 0.0


Item = Line | Polyline | Area | Circle | Arc | Text


@dataclass(frozen=True, slots=True)
class Layer:
    """Items that belong together, drawn in order."""

    name: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Measure:
    """What a dimension says and between which points of the paper it says so, at ``scale_mm_per_m``."""

    content: str
    value_m: float
    start_mm: Paper
    end_mm: Paper
    scale_mm_per_m: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of paper. ``name`` is its file name without suffix, ``number`` what the title block shows.

    ``measures`` are the dimensions drawn on it, so that a reader can hold them against the geometry.
    """

    name: str
    number: str
    title: str
    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...]
    measures: tuple[Measure, ...] = ()

    def texts(self) -> tuple[Text, ...]:
        """All lettering of the sheet in drawing order."""
        return tuple(i for layer in self.layers for i in layer.items if isinstance(i, Text))
