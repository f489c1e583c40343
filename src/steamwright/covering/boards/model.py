"""What carries a covering: supports, boards and fasteners, all on the framing face."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shapely import Polygon

from steamwright.covering.model import Cut, Patch, Stock
from steamwright.cutting.boards import BoardCutting
from steamwright.geometry.frame import Point2, Point3

BUTT_FAULTS = ("at_corner", "not_staggered")
"""Kinds of remarks on butts that the supports left no better place for."""


@dataclass(frozen=True, slots=True)
class Support:
    """A stretch of framing behind a facet, along its middle. ``kind`` is stud, joist, plate, ledger, backing, frame or blocking.

    ``bearing_m`` is how wide its face is; ``reason`` says what it is there for.
    """

    id: str
    kind: str
    facet: str
    start_m: Point3
    end_m: Point3
    bearing_m: float
    reason: str


@dataclass(frozen=True, slots=True)
class Board:
    """One board as it is cut: a rectangle, perhaps cut round openings, niches and pipes. ``layer`` counts from the framing."""

    id: str
    item: str
    material: str
    thickness_m: float
    layer: int
    patch: Patch
    blank_m: Point2
    cut: Cut

    @property
    def facet(self) -> str:
        """The facet that it lies on."""
        return self.patch.facet


@dataclass(frozen=True, slots=True)
class Fastener:
    """One screw, or screw and washer, at a point of a facet's framing face; ``length_m`` is the length to buy."""

    id: str
    facet: str
    at_m: Point2
    support: str
    board: str
    length_m: float
    type: str


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about the boards of a facet that a person has to know. ``kind`` is in_line, not_staggered or at_corner
    (butts), bedded (``boards`` take no screws) or pan (a top is screwed through)."""

    facet: str
    kind: str
    sentence: str
    boards: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StockBound:
    """How many boards of an item are cut, and how few could do at least, whatever the order and the cuts."""

    item: str
    boards: int
    lower: int
    proven_optimal: bool
    method: str


@dataclass(frozen=True, slots=True)
class Boards:
    """All framing, boards, the stock that they are cut from, and their fasteners.

    ``course_axis`` says by facet, layer and item along which axis courses follow each other: 0 with the supports, 1 across;
    ``cuttings`` by item how its boards are cut; ``standing`` by facet whose framing stands on the slab, in its (s, t), the facet
    run down to there. [m]
    """

    supports: tuple[Support, ...] = ()
    pieces: tuple[Board, ...] = ()
    stock: tuple[Stock, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    remarks: tuple[Remark, ...] = ()
    waste_ratio: float = 0.0
    bounds: tuple[StockBound, ...] = ()
    course_axis: Mapping[tuple[str, int, str], int] = field(default_factory=dict)
    cuttings: Mapping[str, BoardCutting] = field(default_factory=dict)
    standing: Mapping[str, Polygon] = field(default_factory=dict)

    def of(self, facet_id: str) -> tuple[Board, ...]:
        """The boards of one facet."""
        return tuple(b for b in self.pieces if b.facet == facet_id)


NO_BOARDS = Boards()
"""A room without boards."""
