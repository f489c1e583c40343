"""Line widths, line types, hatches and colours.

Widths follow the series of ISO 128-2 (ratio √2), line types its numbers. Everything is told apart without colour by
weight, line type or hatch; colour only helps.
"""

from __future__ import annotations

from dataclasses import dataclass

PAPER = "#ffffff"
INK = "#1d2429"
SOFT = "#5d6a72"
FAINT = "#c3cbcf"
WASH = "#f1f4f4"
TEAL = "#0b5f66"
SHEET_A = "#e6f2f1"
SHEET_B = "#cfe5e3"
SLATE = "#5b6b7b"
BAND = "#c2cad3"
CORNER = "#a3afbb"
CRIMSON = "#a8123a"


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn. ``dash_mm`` is empty for line type 01 (continuous)."""

    name: str
    width_mm: float
    color: str = INK
    dash_mm: tuple[float, ...] = ()
    round_ends: bool = False


@dataclass(frozen=True, slots=True)
class Hatch:
    """Parallel lines: their angle against the horizontal, distance and pen; ``crossed`` adds a second set."""

    name: str
    angle_deg: float
    spacing_mm: float
    width_mm: float
    color: str = INK
    crossed: bool = False


def _dashed(width_mm: float) -> tuple[float, ...]:
    """Line type 02 of ISO 128-2: dash of 12 widths, gap of 3."""
    return (12 * width_mm, 3 * width_mm)


def _chain(width_mm: float) -> tuple[float, ...]:
    """Line type 04 of ISO 128-2: long dash of 24 widths, gap 3, dot, gap 3; the dot is drawn at least 0.3 mm long."""
    return (24 * width_mm, 3 * width_mm, max(0.5 * width_mm, 0.3), 3 * width_mm)


PENS: dict[str, Pen] = {
    p.name: p
    for p in (
        Pen("outline", 0.7),
        Pen("cut", 1.0),
        Pen("edge", 0.35),
        Pen("gap", 1.4, PAPER),
        Pen("glass", 0.35, TEAL),
        Pen("hidden", 0.25, INK, _dashed(0.18)),
        Pen("thin", 0.18),
        Pen("hair", 0.13, SOFT),
        Pen("rule", 0.18, FAINT),
        Pen("ghost", 0.25, FAINT),
        Pen("beyond", 0.25, SOFT),
        Pen("dimension", 0.25),
        Pen("extension", 0.18, SOFT),
        Pen("leader", 0.25, INK),
        Pen("control", 0.5, TEAL, _chain(0.35)),
        Pen("rim", 1.0, TEAL, (5.0, 1.2, 0.6, 1.2)),
        Pen("rim_thin", 0.35, TEAL, (3.0, 0.8, 0.4, 0.8)),
        Pen("center", 0.18, INK, _chain(0.18)),
        Pen("tie", 0.25, SOFT, _dashed(0.25)),
        Pen("keep_out", 0.35, INK, (0.4, 1.1)),
        Pen("teal", 0.5, TEAL),
        Pen("teal_thin", 0.25, TEAL),
        Pen("joint", 0.7, SLATE, (), True),
        Pen("fail", 0.7, CRIMSON),
        Pen("fail_thin", 0.35, CRIMSON),
        Pen("fold", 0.35, TEAL, _chain(0.25)),
        Pen("scissors", 0.5),
        Pen("frame", 0.5),
        Pen("box", 0.35),
    )
}

HATCHES: dict[str, Hatch] = {
    h.name: h
    for h in (
        Hatch("lap", 45.0, 1.8, 0.18, TEAL),
        Hatch("band_lap", 135.0, 1.5, 0.13, SLATE),
        Hatch("corner_lap", 45.0, 1.4, 0.13, SLATE, crossed=True),
        Hatch("keep_out", 45.0, 2.6, 0.13, INK, crossed=True),
        Hatch("other", 0.0, 1.6, 0.13, SOFT),
        Hatch("glass", 60.0, 4.0, 0.13, SOFT),
        Hatch("solid", 45.0, 2.4, 0.18, SOFT),
        Hatch("water", 0.0, 2.2, 0.18, TEAL),
        Hatch("bed", 135.0, 1.8, 0.13, SOFT),
        Hatch("fail", 135.0, 1.2, 0.25, CRIMSON),
    )
}
