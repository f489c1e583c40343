"""Dimensions: running from one control line, and single ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from steamwright.drawing.labels import padded, readable_turn_deg, spread
from steamwright.drawing.pens import INK, PAPER
from steamwright.drawing.scene import Area, Measure, Paper, Text
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import text_box, width_mm
from steamwright.units import System, format_length, format_slope

DIMENSION_MM = 5.0
APART_MM = 6.0


@dataclass(frozen=True, slots=True)
class Mark:
    """A point to be dimensioned: where it lies along the row, where its extension line starts, and how far it is."""

    at_mm: float
    foot_mm: float
    value_m: float
    pen: str = "extension"


@dataclass(frozen=True, slots=True)
class Row:
    """A running dimension (ISO 129-1): all values from one origin, read along one line.

    ``upright`` rows run up the paper. ``line_mm`` is where the row lies, ``side`` (+1, −1) where its lettering stands:
    towards larger or smaller paper coordinates. ``low_mm`` and ``high_mm`` bound the lettering. A ``signed`` row says with
    an arrow to which side of its origin a value runs.
    """

    upright: bool
    line_mm: float
    side: int
    origin_mm: float
    low_mm: float
    high_mm: float
    scale_mm_per_m: float
    system: System
    height_mm: float = DIMENSION_MM
    signed: bool = False


def arrow(tip_mm: Paper, direction_deg: float, length_mm: float = 3.0) -> Area:
    """A slim closed arrow head (ISO 129-1, 15°).

    Parameters
    ----------
    tip_mm : tuple of float
        Its point. [mm]
    direction_deg : float
        Where it points, counter-clockwise from the right as seen on paper. [deg]
    length_mm : float
        Its length. [mm]

    Returns
    -------
    head : Area
        Filled.

    References
    ----------
    own derivation
    """
    points = [tip_mm]
    for turn in (180 - 7.5, 180 + 7.5):
        a = math.radians(direction_deg + turn)
        points.append((tip_mm[0] + length_mm * math.cos(a), tip_mm[1] - length_mm * math.sin(a)))
    return Area((tuple(points),), None, INK)


def running(sketch: Sketch, row: Row, marks: Sequence[Mark], line_mm: tuple[float, float] | None = None) -> None:
    """Draw a running dimension: an origin ring, a tick at every mark, and its value beside, moved apart where crowded.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    row : Row
        Where the row lies and how it reads.
    marks : sequence of Mark
        What is dimensioned; those with the same printed place are drawn once.
    line_mm : tuple of float or None
        Ends of the line where its origin lies off this sheet. [mm]

    References
    ----------
    own derivation
    """
    kept: dict[tuple[str, int], Mark] = {}
    for m in sorted(marks, key=lambda m: m.at_mm):
        if abs(m.value_m) < 5e-4:
            continue
        kept.setdefault((format_length(m.value_m, row.system), round(m.at_mm * 2)), m)
    shown = list(kept.values())
    if not shown:
        return
    widths = [width_mm(_signed(m.value_m, row, True), row.height_mm) for m in shown]
    flat = row.upright or sum(widths) + APART_MM * len(widths) <= row.high_mm - row.low_mm
    texts = [_signed(m.value_m, row, flat) for m in shown]
    if (row.upright or not flat) and len(shown) * (row.height_mm * 1.25 + 1.6) > row.high_mm - row.low_mm:
        row = replace(row, height_mm=max(2.5, ((row.high_mm - row.low_mm) / len(shown) - 1.6) / 1.25))
    sizes = [row.height_mm * 1.25] * len(texts) if row.upright or not flat else widths
    middles = spread([m.at_mm for m in shown], sizes, row.low_mm, row.high_mm, 1.6 if row.upright or not flat else APART_MM)
    ends = [row.origin_mm, *(m.at_mm for m in shown)]
    low, high = line_mm or (min(ends), max(ends))
    sketch.line("dimensions", _at(row, low, 0), _at(row, high, 0), "dimension")
    if low - 1e-6 <= row.origin_mm <= high + 1e-6:
        sketch.circle("dimensions", _at(row, row.origin_mm, 0), 1.1, "dimension", PAPER)
    for mark, text, middle in zip(shown, texts, middles, strict=True):
        _draw_mark(sketch, row, mark, text, middle, flat)


def _signed(value_m: float, row: Row, flat: bool) -> str:
    """The value; on a row with its zero in between, with an arrow that says on which side of it: level ones only to the left of it."""
    text = format_length(abs(value_m), row.system)
    if not row.signed or (value_m > 0 and not row.upright):
        return text
    # turned lettering takes its arrow along, so that one up the line of writing points to the left of the paper
    return f"{'↑' if value_m > 0 or not (row.upright or flat) else '↓' if row.upright else '←'} {text}"


def row_depth_mm(values_m: Sequence[float], room_mm: float, system: System, height_mm: float = DIMENSION_MM, signed: bool = False) -> float:
    """How much paper a level running dimension takes beside its line: little where its lettering fits level.

    Parameters
    ----------
    values_m : sequence of float
        What it says. [m]
    room_mm : float
        Room along the line. [mm]
    system : {"inch", "metric"}
        How it is printed.
    height_mm : float
        Height of the capitals. [mm]
    signed : bool
        Whether values to the left of zero have an arrow before them.

    Returns
    -------
    depth_mm : float
        From the line to the far edge of the lettering; 0 without values. [mm]

    References
    ----------
    own derivation
    """
    said = dict.fromkeys(("← " if signed and v < 0 else "") + format_length(abs(v), system) for v in values_m if abs(v) >= 5e-4)
    widths = [width_mm(t, height_mm) for t in said]
    if not widths:
        return 0.0
    flat = sum(widths) + APART_MM * len(values_m) <= room_mm
    return 5.0 + (height_mm if flat else max(widths)) + 3.0


def slope_text(slope: float, system: System) -> str:
    """Print a slope, to 1/16 in/ft where it is one.

    Parameters
    ----------
    slope : float
        Rise over run.
    system : {"inch", "metric"}
        Inches per foot, or per cent.

    Returns
    -------
    text : str
        Such as ``1/4 in/ft``; otherwise two decimals.

    References
    ----------
    own derivation
    """
    marks = slope * 192.0
    return format_slope(round(marks) / 192.0 if system == "inch" and abs(marks - round(marks)) < 0.06 else slope, system)


def _at(row: Row, along_mm: float, off_mm: float) -> Paper:
    """A point of the row: along it, and off it towards its lettering."""
    across = row.line_mm + row.side * off_mm
    return (across, along_mm) if row.upright else (along_mm, across)


def _draw_mark(sketch: Sketch, row: Row, mark: Mark, content: str, middle_mm: float, flat: bool) -> None:
    back = (mark.foot_mm - row.line_mm) * row.side
    sketch.line("dimensions", _at(row, mark.at_mm, back + (1.0 if back < 0 else -1.0)), _at(row, mark.at_mm, 0), mark.pen)
    toward = (90.0 if mark.at_mm < row.origin_mm else -90.0) if row.upright else (0.0 if mark.at_mm > row.origin_mm else 180.0)
    sketch.add("dimensions", arrow(_at(row, mark.at_mm, 0), toward))
    knee, start = 1.2, 3.4
    sketch.path("dimensions", (_at(row, mark.at_mm, 0), _at(row, mark.at_mm, knee), _at(row, middle_mm, start)), "extension")
    if row.upright:
        anchor = "start" if row.side > 0 else "end"
        x, y = _at(row, middle_mm + row.height_mm / 2, start + 1.0)
        text = Text((x, y), content, row.height_mm, anchor)  # type: ignore[arg-type]
    elif flat:
        y = row.line_mm + (start + 1.0 + row.height_mm if row.side > 0 else -start - 1.0)
        text = Text((middle_mm, y), content, row.height_mm, "middle")
    else:
        at = (middle_mm + row.height_mm / 2, row.line_mm + row.side * (start + 1.0))
        text = Text(at, content, row.height_mm, "end" if row.side > 0 else "start", turn_deg=90.0)
    sketch.placer.take(padded(text_box(text), 0.6))
    sketch.plate("labels", text, 0.5, PAPER)
    said = content.lstrip("↑↓← ")
    sketch.measure(Measure(said, abs(mark.value_m), _at(row, row.origin_mm, 0), _at(row, mark.at_mm, 0), row.scale_mm_per_m))


def single(
    sketch: Sketch, start_mm: Paper, end_mm: Paper, off_mm: float, value_m: float, scale_mm_per_m: float, system: System,
    height_mm: float = DIMENSION_MM, prefix: str = "",
) -> Text | None:  # fmt: skip
    """Draw one dimension parallel to its two points, its value over the line.

    Parameters
    ----------
    sketch : Sketch
        The sheet.
    start_mm : tuple of float
        First point. [mm]
    end_mm : tuple of float
        Second point. [mm]
    off_mm : float
        How far the dimension line lies off, to the left of the way from start to end as seen on paper. [mm]
    value_m : float
        What it says. [m]
    scale_mm_per_m : float
        Paper per room. [mm/m]
    system : {"inch", "metric"}
        How it is printed.
    height_mm : float
        Height of the capitals. [mm]
    prefix : str
        Lettering before the value.

    Returns
    -------
    text : Text or None
        The lettering that was placed; ``None`` where there was no room for it, and then nothing is drawn.

    References
    ----------
    own derivation
    """
    (x0, y0), (x1, y1) = start_mm, end_mm
    length = math.hypot(x1 - x0, y1 - y0)
    if length < 1e-6:
        return None
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    nx, ny = uy, -ux
    a, b = (x0 + nx * off_mm, y0 + ny * off_mm), (x1 + nx * off_mm, y1 + ny * off_mm)
    content = prefix + format_length(value_m, system)
    text = sketch.placer.put(_beside(a, b, content, height_mm))
    if text is None:
        return None
    sign = 1.0 if off_mm >= 0 else -1.0
    for foot, end in ((start_mm, a), (end_mm, b)):
        if abs(off_mm) > 2.0:
            sketch.line("dimensions", (foot[0] + nx * sign, foot[1] + ny * sign), (end[0] + nx * sign, end[1] + ny * sign), "extension")
    sketch.line("dimensions", a, b, "dimension")
    way = math.degrees(math.atan2(-uy, ux))
    if length > 7.0:
        sketch.add("dimensions", arrow(a, way + 180.0), arrow(b, way))
    else:
        sketch.add("dimensions", arrow(a, way), arrow(b, way + 180.0))
    sketch.put("labels", text)
    sketch.measure(Measure(content.removeprefix(prefix), value_m, a, b, scale_mm_per_m))
    return text


def _beside(a: Paper, b: Paper, content: str, height_mm: float) -> list[Text]:
    """Candidate places for the value of a single dimension, turned with it so that it reads from below or the right."""
    turn = readable_turn_deg(math.degrees(math.atan2(a[1] - b[1], b[0] - a[0])))
    t = math.radians(turn)
    ux, uy, vx, vy = math.cos(t), -math.sin(t), -math.sin(t), -math.cos(t)
    w, length = width_mm(content, height_mm), math.hypot(b[0] - a[0], b[1] - a[1])
    mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    out: list[Text] = []
    for off in (1.3, -1.3 - height_mm, 2.6 + height_mm, -2.6 - 2 * height_mm):
        shifts = [0.0, length * 0.2, -length * 0.2] if w < length - 7.0 else [0.0, (length + w) / 2 + 3.0, -(length + w) / 2 - 3.0]
        out.extend(Text((mx + ux * s + vx * off, my + uy * s + vy * off), content, height_mm, "middle", turn_deg=turn) for s in shifts)
    return out
