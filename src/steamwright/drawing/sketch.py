"""Collects what is drawn on one sheet, layer by layer, until the sheet is finished."""

from __future__ import annotations

from steamwright.drawing.labels import Placer, padded
from steamwright.drawing.pens import INK
from steamwright.drawing.scene import Anchor, Area, Circle, Item, Layer, Line, Measure, Paper, Polyline, Sheet, Text
from steamwright.drawing.text import text_box

LAYERS = ("ground", "pieces", "laps", "edges", "outline", "control", "dimensions", "marks", "labels", "frame")


class Sketch:
    """The growing content of one sheet. Layers lie over each other in the order of ``LAYERS``."""

    def __init__(self) -> None:
        self._layers: dict[str, list[Item]] = {name: [] for name in LAYERS}
        self._measures: list[Measure] = []
        self.placer = Placer()

    def add(self, layer: str, *items: Item) -> None:
        """Draw items on a layer."""
        self._layers[layer].extend(items)

    def line(self, layer: str, start_mm: Paper, end_mm: Paper, pen: str) -> None:
        """Draw a stroke."""
        self._layers[layer].append(Line(start_mm, end_mm, pen))

    def path(self, layer: str, points_mm: tuple[Paper, ...], pen: str) -> None:
        """Draw a run of strokes."""
        self._layers[layer].append(Polyline(points_mm, pen))

    def area(
        self, layer: str, rings_mm: tuple[tuple[Paper, ...], ...], pen: str | None = None, fill: str | None = None, hatch: str | None = None
    ) -> None:
        """Draw a region."""
        self._layers[layer].append(Area(rings_mm, pen, fill, hatch))

    def rect(self, layer: str, x_mm: float, y_mm: float, w_mm: float, h_mm: float, pen: str | None = None, fill: str | None = None) -> None:
        """Draw an upright rectangle from its upper left corner."""
        ring = ((x_mm, y_mm), (x_mm + w_mm, y_mm), (x_mm + w_mm, y_mm + h_mm), (x_mm, y_mm + h_mm))
        self.area(layer, (ring,), pen, fill)

    def circle(self, layer: str, center_mm: Paper, radius_mm: float, pen: str | None = None, fill: str | None = None) -> None:
        """Draw a circle."""
        self._layers[layer].append(Circle(center_mm, radius_mm, pen, fill))

    def write(
        self,
        layer: str,
        at_mm: Paper,
        content: str,
        height_mm: float,
        anchor: Anchor = "start",
        color: str = INK,
        bold: bool = False,
        turn_deg: float = 0.0,
    ) -> Text:
        """Draw a line of lettering and mark its place as taken."""
        text = Text(at_mm, content, height_mm, anchor, color, bold, turn_deg)
        self.put(layer, text)
        self.placer.take(padded(text_box(text), 0.6))
        return text

    def put(self, layer: str, text: Text) -> None:
        """Draw lettering whose place is taken already."""
        self._layers[layer].append(text)

    def plate(self, layer: str, text: Text, pad_mm: float, fill: str, pen: str | None = None) -> None:
        """Draw lettering on a plate that hides what lies under it; its place is taken already."""
        box = padded(text_box(text), pad_mm)
        self._layers[layer].append(Area((box.corners_mm,), pen, fill))
        self._layers[layer].append(text)

    def measure(self, measure: Measure) -> None:
        """Remember what a dimension says."""
        self._measures.append(measure)

    def finish(self, name: str, number: str, title: str, width_mm: float, height_mm: float) -> Sheet:
        """The finished sheet."""
        layers = tuple(Layer(n, tuple(items)) for n, items in self._layers.items() if items)
        return Sheet(name, number, title, width_mm, height_mm, layers, tuple(self._measures))
