"""What the catalog knows: materials for build-ups, and the ready-made things that a covering is ordered from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class LayerRole(StrEnum):
    """What a material does in a build-up."""

    TILE = "tile"
    MORTAR = "mortar"
    BED = "bed"
    MEMBRANE = "membrane"
    BOARD = "board"
    RETARDER = "retarder"
    INSULATION = "insulation"
    CAVITY = "cavity"
    STRUCTURE = "structure"
    FRAMING = "framing"
    LINING = "lining"
    FINISH = "finish"


@dataclass(frozen=True, slots=True)
class Datum:
    """A number with its source: ``where`` in it, and how the source is known (text, abstract, quoted, memory, practice)."""

    value: float
    source: str
    where: str
    how_known: str


@dataclass(frozen=True, slots=True)
class Vapor:
    """How a material resists vapor.

    ``form`` is "permeance" (of the material at its thickness, kg Pa-1 s-1 m-2), "mu" (resistance factor, with its
    wet-cup value in ``wet``), "sd" (diffusion-equivalent air thickness of the whole layer, m) or "air".
    ``procedure`` names the cup test.
    """

    form: str
    value: float
    wet: float | None
    procedure: str
    source: str
    where: str
    how_known: str


@dataclass(frozen=True, slots=True)
class Material:
    """One catalog row. Where ``vapor`` is ``None`` the catalog knows no resistance that may be relied on.

    ``like`` names a material of the shipped catalog whose sorption and liquid transport stand for this one's.
    """

    id: str
    name: str
    role: LayerRole
    thickness_m: float | None
    thickness_range_m: tuple[float, float]
    conductivity_w_mk: Datum | None
    resistance_m2k_w: Datum | None
    density_kg_m3: Datum
    heat_capacity_j_kgk: Datum | None
    vapor: Vapor | None
    tags: tuple[str, ...]
    note: str
    like: str = ""


@dataclass(frozen=True, slots=True)
class SheetItem:
    """A roll of sheet membrane to order. ``pack`` counts rolls."""

    item: str
    name: str
    material: str
    roll_length_m: float
    roll_width_m: float
    pack: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class BandItem:
    """A roll of band to order; it is folded along its middle. ``pack`` counts rolls."""

    item: str
    name: str
    material: str
    width_m: float
    roll_length_m: float
    pack: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class CornerPieceItem:
    """A ready-made corner piece for three facets.

    ``kind`` is "inside" (all joints inside), "outside" (all outside), "saddle" (mixed: inside and outside joints meet)
    or "any" (an elastic piece that is formed in place). Every joint angle through the air, in the room, must lie between
    ``angle_min_deg`` and ``angle_max_deg``; outside angles are given as 360° less the angle through the air, so that a
    true corner of a box is 90° on either side. ``reach_m`` is how far it lies on each facet from the corner point.
    """

    item: str
    name: str
    material: str
    kind: str
    angle_min_deg: float
    angle_max_deg: float
    reach_m: float
    formed: bool
    pack: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class CollarItem:
    """A ready-made collar whose sleeve holds what goes through.

    It serves holes through the membrane with a diameter from ``diameter_min_m`` to ``diameter_max_m``; ``flange_m`` is
    the least width of the flange from the edge of the hole to its outer edge. ``kinds`` are the penetration kinds that
    it is meant for. One flange carries up to ``sleeves`` sleeves. ``seal_k`` is the temperature that its sleeve seal
    stands without limit of time.
    """

    item: str
    name: str
    material: str
    kinds: tuple[str, ...]
    diameter_min_m: float
    diameter_max_m: float
    flange_m: float
    sleeves: float
    seal_k: float
    pack: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class BoardItem:
    """A board to order, by its stock size. ``pack`` counts boards."""

    item: str
    name: str
    material: str
    length_m: float
    width_m: float
    pack: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Catalog:
    """Everything that can be built with and ordered; ``digest`` is the content hash of its data."""

    materials: Mapping[str, Material]
    sheets: tuple[SheetItem, ...]
    bands: tuple[BandItem, ...]
    corner_pieces: tuple[CornerPieceItem, ...]
    collars: tuple[CollarItem, ...]
    boards: tuple[BoardItem, ...]
    digest: str

    def sheet_for(self, material: str) -> SheetItem | None:
        """Find the sheet that is ordered for a membrane material.

        Parameters
        ----------
        material : str
            Catalog id of the membrane.

        Returns
        -------
        sheet : SheetItem or None
            The first sheet row of that material.

        References
        ----------
        own derivation
        """
        return next((s for s in self.sheets if s.material == material), None)

    def board_for(self, material: str) -> BoardItem | None:
        """Find the stock board of a material.

        Parameters
        ----------
        material : str
            Catalog id of the board.

        Returns
        -------
        board : BoardItem or None
            The last row of that material, so that a user's own size stands before the program's.

        References
        ----------
        own derivation
        """
        return next((b for b in reversed(self.boards) if b.material == material), None)

    def bands_for(self, material: str) -> tuple[BandItem, ...]:
        """Find the bands of a membrane material, narrow ones first.

        Parameters
        ----------
        material : str
            Catalog id of the membrane.

        Returns
        -------
        bands : tuple of BandItem
            All band rows of that material.

        References
        ----------
        own derivation
        """
        return tuple(sorted((b for b in self.bands if b.material == material), key=lambda b: (b.width_m, b.item)))

    def collar_for(self, diameter_m: float, kind: str) -> CollarItem | None:
        """Find the collar for a hole: the one with the narrowest range that is meant for its kind.

        Parameters
        ----------
        diameter_m : float
            Diameter of the hole through the membrane. [m]
        kind : str
            Kind of the penetration, such as ``pipe``.

        Returns
        -------
        collar : CollarItem or None
            ``None`` where no ready-made collar fits.

        References
        ----------
        own derivation
        """
        fitting = [c for c in self.collars if kind in c.kinds and c.diameter_min_m - 1e-9 <= diameter_m <= c.diameter_max_m + 1e-9]
        return min(fitting, key=lambda c: (c.diameter_max_m - c.diameter_min_m, c.item), default=None)
