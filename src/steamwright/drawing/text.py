"""How wide lettering is, so that labels can be placed before anything is drawn."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from steamwright.drawing.scene import Sheet, Text
from steamwright.errors import DataError

CAP_EM = 0.729
DESCENT_EM = 0.236
UNKNOWN_EM = 0.9
FONT = "DejaVu Sans, Verdana, sans-serif"
_LOW = frozenset("gjpqy,;Q()[]{}|/_§")
_UNIT = r"(?:in/ft|in|ft²|ft³|ft|gal|lb|mm|cm|m²|m³|m|kg|L|l|°F|°C|perm|%)(?![\w/])"
# A blank at which a line may end: not within a length, nor between a number and its unit.
_BREAK = re.compile(rf"\s+(?!(?<=\d\s)\d+/\d)(?!(?<=\d'\s)\d)(?!(?<=\d\s){_UNIT})")


@lru_cache(maxsize=1)
def _widths() -> tuple[dict[str, float], dict[str, float]]:
    """Advance widths by letter, regular and bold. [em]"""
    regular: dict[str, float] = {}
    bold: dict[str, float] = {}
    table = files("steamwright.drawing").joinpath("data/letter_widths.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(table.splitlines()):
        letter = chr(int(row["code_point"], 16))
        regular[letter], bold[letter] = float(row["regular_em"]), float(row["bold_em"])
        if not (0.2 < regular[letter] < 1.4 and 0.2 < bold[letter] < 1.4):
            raise DataError(f"letter {letter!r} has an impossible width", path="letter_widths.csv", hint="0.2 to 1.4 em")
    return regular, bold


@lru_cache(maxsize=4096)
def width_mm(content: str, height_mm: float, bold: bool = False) -> float:
    """Measure a line of lettering.

    Parameters
    ----------
    content : str
        The lettering.
    height_mm : float
        Height of its capitals. [mm]
    bold : bool
        Whether it is bold.

    Returns
    -------
    width_mm : float
        Sum of advance widths without kerning, which only makes lines shorter. [mm]

    References
    ----------
    own derivation
    """
    width_em = _widths()[1 if bold else 0].get
    return sum([width_em(c, UNKNOWN_EM) for c in content]) * height_mm / CAP_EM


def wrap(content: str, height_mm: float, room_mm: float, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines that fit.

    Parameters
    ----------
    content : str
        Words parted by blanks; a length, or another number with its unit, stays on one line that holds it.
    height_mm : float
        Height of the capitals. [mm]
    room_mm : float
        Greatest width of a line; a longer word is broken inside. [mm]
    bold : bool
        Whether it is bold.

    Returns
    -------
    lines : tuple of str
        At least one line.

    References
    ----------
    own derivation
    """
    lines, line = [], ""
    words = _BREAK.split(content.strip())
    for word in (part for w in words for part in ([w] if width_mm(w, height_mm, bold) <= room_mm else w.split())):
        trial = f"{line} {word}" if line else word
        if width_mm(trial, height_mm, bold) <= room_mm:
            line = trial
            continue
        if line:
            lines.append(line)
        while width_mm(word, height_mm, bold) > room_mm and len(word) > 1:
            cut = max(n for n in range(1, len(word)) if n == 1 or width_mm(word[:n], height_mm, bold) <= room_mm)
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    return (*lines, line) if line or not lines else tuple(lines)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on paper that may be turned: its four corners. [mm]"""

    corners_mm: tuple[tuple[float, float], ...]

    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest upright rectangle around it: x0, y0, x1, y1. [mm]"""
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self.corners_mm
        return min(ax, bx, cx, dx), min(ay, by, cy, dy), max(ax, bx, cx, dx), max(ay, by, cy, dy)

    def overlaps(self, other: Box, slack_mm: float = 0.0) -> bool:
        """Whether two boxes share more than ``slack_mm`` in every direction (separating axes)."""
        for a, b in (*_axes(self), *_axes(other)):
            mine = [a * x + b * y for x, y in self.corners_mm]
            theirs = [a * x + b * y for x, y in other.corners_mm]
            if min(max(mine), max(theirs)) - max(min(mine), min(theirs)) <= slack_mm:
                return False
        return True


def _axes(box: Box) -> tuple[tuple[float, float], tuple[float, float]]:
    (x0, y0), (x1, y1) = box.corners_mm[0], box.corners_mm[1]
    length = math.hypot(x1 - x0, y1 - y0) or 1.0
    a, b = (x1 - x0) / length, (y1 - y0) / length
    return (a, b), (-b, a)


def text_box(text: Text) -> Box:
    """Where a line of lettering lies on the paper.

    Parameters
    ----------
    text : Text
        The lettering.

    Returns
    -------
    box : Box
        From the base line, or the descenders where there are any, to the top of the capitals.

    References
    ----------
    own derivation
    """
    w = width_mm(text.content, text.height_mm, text.bold)
    left = {"start": 0.0, "middle": -w / 2, "end": -w}[text.anchor]
    right, high = left + w, -text.height_mm
    low = DESCENT_EM / CAP_EM * text.height_mm if _LOW.intersection(text.content) else 0.0
    x, y = text.at_mm
    if text.turn_deg == 0.0:  # nearly all lettering, and sheets try thousands of places
        return Box(((x + left, y + low), (x + right, y + low), (x + right, y + high), (x + left, y + high)))
    a = math.radians(text.turn_deg)
    c, s = math.cos(a), math.sin(a)
    return Box(tuple((x + u * c + v * s, y - u * s + v * c) for u, v in ((left, low), (right, low), (right, high), (left, high))))


def overlapping(sheet: Sheet, slack_mm: float = 0.05) -> tuple[tuple[str, str], ...]:
    """Find lettering that lies on other lettering or off the paper.

    Parameters
    ----------
    sheet : Sheet
        A finished sheet.
    slack_mm : float
        Overlap that does not count. [mm]

    Returns
    -------
    pairs : tuple of (str, str)
        The contents of each two that overlap; the second is "edge of the paper" for one that runs off it.

    References
    ----------
    own derivation
    """
    texts = sheet.texts()
    boxes = [text_box(t) for t in texts]
    bounds = [b.bounds() for b in boxes]
    order = sorted(range(len(texts)), key=lambda i: bounds[i][0])
    found = []
    for n, i in enumerate(order):
        x0, y0, x1, y1 = bounds[i]
        if x0 < 0 or y0 < 0 or x1 > sheet.width_mm or y1 > sheet.height_mm:
            found.append((texts[i].content, "edge of the paper"))
        for j in order[n + 1 :]:
            if bounds[j][0] >= x1:
                break
            if bounds[j][1] < y1 and y0 < bounds[j][3] and boxes[i].overlaps(boxes[j], slack_mm):
                found.append((texts[i].content, texts[j].content))
    return tuple(found)
