"""The pieces of a covering: what lies on each blank and where it lies in the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property

import numpy as np
import shapely
from shapely import Polygon

from steamwright.cutting.inventory import StockRemnant
from steamwright.cutting.rolls import Cutting
from steamwright.geometry.frame import Floats, Point2, outlined

AS_CUT = " as cut"
UPRIGHT, LEVEL = "upright", "level"


class Role(StrEnum):
    """What a piece does."""

    SHEET = "sheet"
    BAND = "band"
    CORNER_PIECE = "corner_piece"
    COLLAR = "collar"


@dataclass(frozen=True, slots=True)
class Placing:
    """Carries a patch from its facet to its blank: ``blank = R(angle)·(±s, t) + (x, y)``, −s when flipped."""

    x_m: float
    y_m: float
    angle_deg: float
    flipped: bool = False

    def matrix(self) -> Floats:
        """The linear part; shape (2, 2)."""
        a = np.radians(self.angle_deg)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        return turn @ np.diag([-1.0, 1.0]) if self.flipped else turn

    def to_blank(self, points_m: Floats) -> Floats:
        """Facet coordinates to blank coordinates; shape (n, 2). [m]"""
        placed: Floats = np.atleast_2d(points_m) @ self.matrix().T + np.array([self.x_m, self.y_m])
        return placed

    def to_facet(self, points_m: Floats) -> Floats:
        """Blank coordinates to facet coordinates; shape (n, 2). [m]"""
        lying: Floats = (np.atleast_2d(points_m) - np.array([self.x_m, self.y_m])) @ self.matrix()
        return lying


@dataclass(frozen=True)  # without slots, to remember its polygon
class Patch:
    """The part of a piece that lies on one facet, in the facet's (s, t). [m]"""

    facet: str
    outline_m: tuple[Point2, ...]
    holes_m: tuple[tuple[Point2, ...], ...] = ()
    at: Placing | None = None

    @classmethod
    def of(cls, lying: Sequence[tuple[str, Polygon, Placing | None]]) -> tuple[Patch, ...]:
        """The patches that polygons make on their facets: outlines counter-clockwise, holes clockwise, no point twice."""
        shapes = shapely.orient_polygons(np.array([polygon for _, polygon, _ in lying], dtype=object))
        outer = shapely.get_exterior_ring(shapes)
        ends = np.cumsum(shapely.get_num_coordinates(outer)).tolist()
        points = list(map(tuple, shapely.get_coordinates(outer).tolist()))
        pierced = (shapely.get_num_interior_rings(shapes) > 0).tolist()
        found = []
        for k, (facet, _, at) in enumerate(lying):
            inner = shapely.get_rings(shapes[k])[1:] if pierced[k] else ()
            holes = tuple(tuple(map(tuple, shapely.get_coordinates(r).tolist()[:-1])) for r in inner)
            patch = cls(facet, tuple(points[ends[k - 1] if k else 0:ends[k] - 1]), holes, at)
            vars(patch)["polygon"] = shapes[k]
            found.append(patch)
        return tuple(found)

    @cached_property
    def polygon(self) -> Polygon:
        """The patch with its holes, in the facet's (s, t). [m]"""
        return outlined(self.outline_m, self.holes_m)


@dataclass(frozen=True, slots=True)
class Cut:
    """Where a blank is cut from: lower left corner on the stock; ``turned`` lays its length across the roll."""

    stock: str
    x_m: float
    y_m: float
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """One flat thing that is set into mortar. ``over`` names the pieces on which it lies.

    ``parting_m`` is a cut across the blank, after which two parts are set; the patches from ``second_at`` on are those of
    the second. A piece that is whole has none, and 0.
    """

    id: str
    role: Role
    item: str
    material: str
    patches: tuple[Patch, ...]
    blank_m: Point2 | None
    place_no: int = 0
    over: tuple[str, ...] = ()
    cut: Cut | None = None
    parting_m: tuple[Point2, ...] = ()
    second_at: int = 0

    def members(self) -> tuple[tuple[Patch, ...], ...]:
        """The patches of each part that is set; all patches together where the piece is whole."""
        return (self.patches[:self.second_at], self.patches[self.second_at:]) if self.second_at else (self.patches,)


def apart(pieces: Sequence[Piece]) -> list[Piece]:
    """List what is set: pieces, and in place of a parted one its two parts as pieces of their own.

    Parameters
    ----------
    pieces : sequence of Piece
        The pieces of a covering.

    Returns
    -------
    parts : list of Piece
        In the same order; a part has its piece's number with a letter after it, "S7a" under "S7b".

    References
    ----------
    own derivation
    """
    return [replace(p, id=f"{p.id}{letter}", patches=patches, second_at=0) if p.second_at else p
            for p in pieces for letter, patches in zip("ab", p.members(), strict=False)]


@dataclass(frozen=True, slots=True)
class Stock:
    """One roll or sheet of which blanks are cut. ``item`` is its order item; what is ``on_hand`` need not be bought."""

    id: str
    item: str
    material: str
    length_m: float
    width_m: float
    used_length_m: float
    on_hand: bool = False


def is_one_piece(stock: Stock) -> bool:
    """Tell a piece that is cut already, which stands as its own stock, from a roll or remnant that is still to be cut.

    Parameters
    ----------
    stock : Stock
        A stock of a covering.

    Returns
    -------
    is_one : bool
        True where nothing is left to cut.

    References
    ----------
    own derivation
    """
    return stock.on_hand and stock.id.endswith(AS_CUT)


@dataclass(frozen=True, slots=True)
class Proof:
    """The verdict of the shrink test. ``where`` names the place of the least lap."""

    tight: bool
    least_lap_m: float | None
    where: str
    failures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bound:
    """A proven lower bound on the material, and how near the layout is."""

    lower_m2: float
    used_m2: float
    gap_ratio: float
    proven_optimal: bool
    method: str


@dataclass(frozen=True, slots=True)
class Strips:
    """How strips lie on a field: along ``u`` or ``v`` of its first facet, from which side, and how wide the first is.

    ``first_ratio`` is the first strip's share of the widest that fits; the others are as wide as roll and folds
    allow, or no wider than the first where they are ``all_narrow``. ``by_shape`` cuts them across where they get narrower.
    """

    direction: str
    from_high: bool = False
    first_ratio: float = 1.0
    by_shape: bool = False
    all_narrow: bool = False


@dataclass(frozen=True, slots=True)
class FieldChoice:
    """Facets developed about joints from a root, and the strips over them."""

    root: str
    inner: tuple[str, ...]
    strips: Strips


@dataclass(frozen=True, slots=True)
class Scheme:
    """All fields of a covering; ``folds`` are (joint, facet whose sheets turn over it), every other joint takes a band."""

    fields: tuple[FieldChoice, ...]
    folds: tuple[tuple[str, str], ...]

    def with_fold(self, joint: str, facet: str | None) -> Scheme:
        """The same with one joint closed by the sheets of a facet, or by a band."""
        others = [f for f in self.folds if f[0] != joint]
        return replace(self, folds=tuple(sorted(others + ([(joint, facet)] if facet is not None else []))))

    def inner_joints(self) -> frozenset[str]:
        """Joints over which sheets run on."""
        return frozenset(j for f in self.fields for j in f.inner)


@dataclass(frozen=True, slots=True)
class LayerCount:
    """The most layers that lie on one another on a facet, and where, in the facet's (s, t). [m]"""

    facet: str
    most: int
    at_m: Point2


@dataclass(frozen=True, slots=True)
class Crowding:
    """A penetration whose collar cannot be made tight where it is, and how far it would have to move."""

    penetration: str
    move_m: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Account:
    """What a layout takes, or the difference between two. ``pieces`` counts those cut from rolls."""

    material_m2: float
    seam_m: float
    minutes: float
    pieces: int
    usd: float

    def less(self, other: Account) -> Account:
        """What this one takes more than another."""
        return Account(self.material_m2 - other.material_m2, self.seam_m - other.seam_m, self.minutes - other.minutes,
                       self.pieces - other.pieces, self.usd - other.usd)


NOTHING = Account(0.0, 0.0, 0.0, 0, 0.0)


@dataclass(frozen=True, slots=True)
class WishCost:
    """What a wish costs: the layout with it against the best found for the same job without it."""

    path: str
    says: str
    cost: Account


@dataclass(frozen=True, slots=True)
class SoFar:
    """Where a search is: roll that its best so far takes, before it is cut, and what no layout takes less than, where that is known."""

    used_m2: float
    lower_m2: float | None


@dataclass(frozen=True, slots=True)
class Alternative:
    """A layout of the same job: what it takes, its proof, the share of the surface on which it differs from the first one.

    ``choose`` is what the job's table of the covering has to say to get it, by key.
    """

    name: str
    choose: dict[str, str]
    account: Account
    tight: bool
    least_lap_m: float | None
    differs_ratio: float
    chosen: bool


@dataclass(frozen=True, slots=True)
class Covering:
    """All pieces, the stock they are cut from, the proof, and what a person has to know about them.

    ``scheme`` is how sheets and bands were chosen and ``ground_key`` names the facets and joints that it speaks of: a
    later plan of the same surfaces can start from it. ``left`` is what is on hand after cutting.
    """

    lap_required_m: float
    lap_planned_m: float
    pieces: tuple[Piece, ...]
    stock: tuple[Stock, ...]
    proof: Proof
    bound: Bound | None
    layers: tuple[LayerCount, ...]
    crowded: tuple[Crowding, ...]
    cuttings: tuple[Cutting, ...]
    scheme: Scheme
    ground_key: str
    account: Account = NOTHING
    left: tuple[StockRemnant, ...] = ()
    stopped_early: bool = False
    wish_costs: tuple[WishCost, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
