"""Placing labels so that no two touch."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from steamwright.drawing.scene import Paper, Text
from steamwright.drawing.text import Box, text_box


def readable_turn_deg(turn_deg: float) -> float:
    """Turn lettering so that it reads from below or from the right.

    Parameters
    ----------
    turn_deg : float
        Direction of a line, counter-clockwise from the right. [deg]

    Returns
    -------
    turn_deg : float
        The same line's direction between −80 and 100. [deg]

    References
    ----------
    own derivation
    """
    return (turn_deg + 80.0) % 180.0 - 80.0


def upright_box(x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> Box:
    """A box from two corners.

    Parameters
    ----------
    x0_mm : float
        Left. [mm]
    y0_mm : float
        Top. [mm]
    x1_mm : float
        Right. [mm]
    y1_mm : float
        Bottom. [mm]

    Returns
    -------
    box : Box
        Its corners start at the upper left.

    References
    ----------
    own derivation
    """
    return Box(((x0_mm, y0_mm), (x1_mm, y0_mm), (x1_mm, y1_mm), (x0_mm, y1_mm)))


def padded(box: Box, pad_mm: float) -> Box:
    """A box grown on all sides along its own directions.

    Parameters
    ----------
    box : Box
        Any box.
    pad_mm : float
        How far each side moves out. [mm]

    Returns
    -------
    grown : Box
        Turned as the first one.

    References
    ----------
    own derivation
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = box.corners_mm
    w, h = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 or 1.0, ((dx - ax) ** 2 + (dy - ay) ** 2) ** 0.5 or 1.0
    ux, uy, vx, vy = pad_mm * (bx - ax) / w, pad_mm * (by - ay) / w, pad_mm * (dx - ax) / h, pad_mm * (dy - ay) / h
    return Box(((ax - ux - vx, ay - uy - vy), (bx + ux - vx, by + uy - vy), (cx + ux + vx, cy + uy + vy), (dx - ux + vx, dy - uy + vy)))


class Placer:
    """Knows which places of a sheet are taken."""

    def __init__(self) -> None:
        self._taken: list[tuple[tuple[float, float, float, float], Box]] = []
        self._strokes: list[tuple[tuple[float, float, float, float], Box]] = []

    def take(self, box: Box) -> None:
        """Mark a place as taken."""
        self._taken.append((box.bounds(), box))

    def keep_off(self, *points_mm: Paper) -> None:
        """Mark a run of strokes that lettering crosses only where it has no other place."""
        for a, b in itertools.pairwise(points_mm):
            length = math.dist(a, b)
            if length > 1e-6:
                nx, ny = 0.1 * (b[1] - a[1]) / length, 0.1 * (a[0] - b[0]) / length
                stroke = Box(((a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny), (b[0] - nx, b[1] - ny), (a[0] - nx, a[1] - ny)))
                self._strokes.append((stroke.bounds(), stroke))

    def is_free(self, box: Box) -> bool:
        """Whether a box touches nothing that is taken."""
        return not _touches(box, self._taken)

    def put(self, candidates: Iterable[Text], pad_mm: float = 0.8, inside: Box | None = None) -> Text | None:
        """Take the first candidate that is free and crosses no stroke, else the first that is free; ``None`` if none is."""
        limits = inside.bounds() if inside else None
        second: tuple[Text, Box] | None = None
        for text in candidates:
            box = padded(text_box(text), pad_mm)
            if limits:
                x0, y0, x1, y1 = box.bounds()
                if x0 < limits[0] or y0 < limits[1] or x1 > limits[2] or y1 > limits[3]:
                    continue
            if not self.is_free(box):
                continue
            if not _touches(box, self._strokes):
                self.take(box)
                return text
            second = second or (text, box)
        if second is None:
            return None
        self.take(second[1])
        return second[0]


def _touches(box: Box, others: Sequence[tuple[tuple[float, float, float, float], Box]]) -> bool:
    x0, y0, x1, y1 = box.bounds()
    return any(a < x1 and x0 < c and b < y1 and y0 < d and other.overlaps(box) for (a, b, c, d), other in others)


def spread(wanted_mm: Sequence[float], sizes_mm: Sequence[float], low_mm: float, high_mm: float, gap_mm: float) -> tuple[float, ...]:
    """Move labels along a line as little as possible so that they do not touch.

    Parameters
    ----------
    wanted_mm : sequence of float
        Where the middle of each label would best stand, rising. [mm]
    sizes_mm : sequence of float
        Size of each label along the line. [mm]
    low_mm : float
        Where the line begins. [mm]
    high_mm : float
        Where it ends; labels run over it only if they do not fit at all. [mm]
    gap_mm : float
        Least distance between neighbours. [mm]

    Returns
    -------
    middles_mm : tuple of float
        Middles in the same order: least squares of the moves (pool of adjacent violators). [mm]

    References
    ----------
    own derivation
    """
    if not wanted_mm:
        return ()
    offsets, at = [], 0.0
    for n, size in enumerate(sizes_mm):
        at += size / 2 if n == 0 else sizes_mm[n - 1] / 2 + gap_mm + size / 2
        offsets.append(at)
    total = offsets[-1] + sizes_mm[-1] / 2
    blocks: list[tuple[float, int]] = []
    for x, offset in zip(wanted_mm, offsets, strict=True):
        mean, count = x - offset, 1
        while blocks and blocks[-1][0] > mean:
            other, many = blocks.pop()
            mean, count = (mean * count + other * many) / (count + many), count + many
        blocks.append((mean, count))
    top = max(low_mm, high_mm - total)
    starts = [min(max(mean, low_mm), top) for mean, count in blocks for _ in range(count)]
    return tuple(s + o for s, o in zip(starts, offsets, strict=True))


def outward_first(texts: Iterable[Text], x_mm: float, y_mm: float, center_x_mm: float, center_y_mm: float) -> list[Text]:
    """Sort candidates round a point so that those away from a centre come first, near before far.

    Parameters
    ----------
    texts : iterable of Text
        Candidates.
    x_mm : float
        The point. [mm]
    y_mm : float
        The point. [mm]
    center_x_mm : float
        The centre. [mm]
    center_y_mm : float
        The centre. [mm]

    Returns
    -------
    texts : list of Text
        The same candidates.

    References
    ----------
    own derivation
    """
    cx, cy = center_x_mm - x_mm, center_y_mm - y_mm

    def cost(text: Text) -> tuple[bool, float]:
        x0, y0, x1, y1 = text_box(text).bounds()
        px, py = (x0 + x1) / 2 - x_mm, (y0 + y1) / 2 - y_mm
        away = math.hypot(px, py)
        return px * cx + py * cy > -0.3 * away * math.hypot(cx, cy), away

    return sorted(texts, key=cost)


def around(x_mm: float, y_mm: float, content: str, height_mm: float, reach_mm: float, **look: object) -> tuple[Text, ...]:
    """Candidate places for a label round a point, nearest and most readable first.

    Parameters
    ----------
    x_mm : float
        The point. [mm]
    y_mm : float
        The point. [mm]
    content : str
        The lettering.
    height_mm : float
        Height of its capitals. [mm]
    reach_mm : float
        Distance of the nearest candidates; farther ones stand two, three and four times as far off. [mm]
    **look
        ``color`` and ``bold`` of the lettering.

    Returns
    -------
    candidates : tuple of Text
        Right, left, above, below and the diagonals, ring by ring.

    References
    ----------
    own derivation
    """
    out = []
    for ring in (1.0, 2.0, 3.0, 4.5, 6.5):
        d = reach_mm * ring
        for ix, iy in ((1, 0), (-1, 0), (0, -1), (0, 1), (0.75, -0.75), (-0.75, -0.75), (0.75, 0.75), (-0.75, 0.75)):
            anchor = "start" if ix > 0 else "end" if ix < 0 else "middle"
            base = y_mm + iy * d + (height_mm / 2 if iy == 0 else 0.0 if iy < 0 else height_mm)
            out.append(Text((x_mm + ix * d, base), content, height_mm, anchor, **look))  # type: ignore[arg-type]
    return tuple(out)
