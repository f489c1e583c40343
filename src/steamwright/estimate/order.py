"""The order: every piece on exactly one line, packs rounded up, each line with its reason."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.boards.model import Boards
from steamwright.covering.model import Covering, Piece, Stock
from steamwright.errors import SolveError
from steamwright.estimate.inputs import ItemPrice, Prices
from steamwright.estimate.model import OrderLine
from steamwright.estimate.quantities import bead_length_m, bead_per_cartridge_m, mortar_need, movement_joints, quantity, sealed_rims
from steamwright.room.model import Solid
from steamwright.room.pan import PanReport
from steamwright.units import FOOT_M, INCH_M, System, format_area, format_length

NEED_DIGITS = 3
WASHER = " and washer"
SCREW = ", corrosion-resistant"
MORTAR, SEALANT, WASHERS, BED = "membrane mortar", "sealant", "washer 1 1/4 in", "pan bed mortar"


TRADE_UNITS = {"kg": ("lb", 0.45359237), "m": ("ft", FOOT_M), "L": ("ft³", 1000 * FOOT_M**3)}


def packs_for(need: float, pack: float) -> int:
    """Round a need up to whole packs.

    Parameters
    ----------
    need : float
        What is needed, 0 or more, in the unit of the line.
    pack : float
        What a pack holds, above 0, in the same unit.

    Returns
    -------
    packs : int
        The least number of packs that covers the need: packs · pack ≥ need and < need + pack.

    Raises
    ------
    ValueError
        If need or pack lies outside its range.

    References
    ----------
    own derivation

    Examples
    --------
    >>> packs_for(9.0, 4.0)
    3
    """
    if not (need >= 0 and pack > 0):
        raise ValueError(f"{need} in packs of {pack} cannot be bought")
    packs = math.ceil(need / pack)
    if packs > 0 and (packs - 1) * pack >= need:
        packs -= 1
    return packs if packs * pack >= need else packs + 1


def order_lines(
    covering: Covering, catalog: Catalog, prices: Prices, boards: Boards, solid: Solid, pan: PanReport, system: System = "metric"
) -> tuple[OrderLine, ...]:
    """Everything that has to be bought for a covering, in lines.

    Pieces cut from a roll stand on the line of that roll's item, ready-made corner pieces and collars on the line of
    their own item, boards on the line of their stock size; mortar, sealant, screws and washers follow without pieces.

    Parameters
    ----------
    covering : Covering
        The placed pieces and the stock that they are cut from.
    catalog : Catalog
        Names and packs of the items.
    prices : Prices
        What the person says about packs and prices.
    boards : Boards
        Boards with their stock and every screw.
    solid : Solid
        The room on the membrane face.
    pan : PanReport
        The floor.
    system : {"inch", "metric"}
        Pounds, feet and cubic feet, or SI.

    Returns
    -------
    lines : tuple of OrderLine
        Rolls, ready-made pieces, then what serves no single piece; each group by item id.

    Raises
    ------
    SolveError
        If a piece has a blank and no roll.

    References
    ----------
    own derivation
    """
    wanted = _roll_lines(covering, system) + _ready_made_lines(covering) + _mortar_line(covering, system)
    wanted += _sealant_line(solid, system) + _board_lines(boards, system) + _screw_lines(boards, system) + _bed_line(pan, system)
    known = _known(catalog)
    return tuple(_priced(_in_units(line, system), known, prices) for line in wanted)


def orderable(catalog: Catalog) -> tuple[str, ...]:
    """List what an order can have, screws aside, whose names hold their lengths.

    Parameters
    ----------
    catalog : Catalog
        What can be ordered.

    Returns
    -------
    items : tuple of str
        Ids of items.

    References
    ----------
    own derivation
    """
    return (*_known(catalog), MORTAR, SEALANT, WASHERS, BED)


def may_be_ordered(item: str, known: Sequence[str]) -> bool:
    """Tell whether an order can have an item.

    Parameters
    ----------
    item : str
        Id of an item.
    known : sequence of str
        From `orderable`.

    Returns
    -------
    may : bool
        True also for every screw.

    References
    ----------
    own derivation
    """
    return item in known or item.endswith(SCREW)


def _in_units(line: OrderLine, system: System) -> OrderLine:
    """The line as it is bought: by the pound, foot and cubic foot where the job is in inches."""
    unit, si = TRADE_UNITS.get(line.unit, (line.unit, 1.0)) if system == "inch" else (line.unit, 1.0)
    return replace(line, unit=unit, need=line.need / si, pack=line.pack / si)


def _known(catalog: Catalog) -> dict[str, tuple[str, float | None]]:
    known: dict[str, tuple[str, float | None]] = {m.id: (m.name, None) for m in catalog.materials.values()}
    for rows in (catalog.sheets, catalog.bands, catalog.corner_pieces, catalog.collars, catalog.boards):
        known |= {row.item: (row.name, row.pack) for row in rows}
    return known


def _priced(line: OrderLine, known: dict[str, tuple[str, float | None]], prices: Prices) -> OrderLine:
    name, pack = known.get(line.item, (line.name, None))
    said = prices.item.get(line.item, ItemPrice())
    pack = said.pack or pack or line.pack
    need = round(line.need, NEED_DIGITS)
    packs = packs_for(need, pack)
    usd = None if said.usd is None else round(packs * said.usd, 2)
    return OrderLine(line.item, name, need, line.unit, pack, packs, line.pieces, usd, line.reason)


def _bare(
    item: str, need: float, unit: str, reason: str, pack: float = 1.0, pieces: tuple[str, ...] = (), name: str = ""
) -> OrderLine:
    return OrderLine(item, name or item, need, unit, pack, 0, pieces, None, reason)


def _roll_lines(covering: Covering, system: System) -> list[OrderLine]:
    stock = {s.id: s for s in covering.stock}
    on: dict[str, list[Piece]] = {}
    for piece in covering.pieces:
        if piece.blank_m is None:
            continue
        if piece.cut is None or piece.cut.stock not in stock:
            raise SolveError(f"piece {piece.id} has a blank and no roll to cut it from", path=f"covering.pieces.{piece.id}")
        on.setdefault(stock[piece.cut.stock].item, []).append(piece)
    lines = []
    for item in sorted({s.item for s in covering.stock}):
        rolls = [s for s in covering.stock if s.item == item and not s.on_hand]
        held = {s.id for s in covering.stock if s.item == item and s.on_hand}
        pieces = on.get(item, [])
        there = [p for p in pieces if p.cut is not None and p.cut.stock in held]
        reason = _roll_reason(rolls, len(pieces) - len(there), system) if rolls else "nothing to buy"
        reason += f"; {len(there)} of the pieces cut from what is on hand" if there else ""
        lines.append(_bare(item, float(len(rolls)), "roll", reason, pieces=tuple(p.id for p in pieces)))
    return lines


def _roll_reason(rolls: list[Stock], pieces: int, system: System) -> str:
    used_m = sum(s.used_length_m for s in rolls)
    size = " or ".join(dict.fromkeys(f"{format_length(s.width_m, system)} x {format_length(s.length_m, system)}" for s in rolls))
    return f"{pieces} pieces cut from {len(rolls)} roll{'s' * (len(rolls) != 1)} of {size}; {format_length(used_m, system)} of length used"


def _ready_made_lines(covering: Covering) -> list[OrderLine]:
    by_item: dict[str, list[str]] = {}
    for piece in covering.pieces:
        if piece.blank_m is None:
            by_item.setdefault(piece.item, []).append(piece.id)
    return [_bare(item, float(len(ids)), "each", "one for each place", pieces=tuple(ids)) for item, ids in sorted(by_item.items())]


def _mortar_line(covering: Covering, system: System) -> list[OrderLine]:
    need = mortar_need(covering)
    reason = (
        f"{format_area(need.area_m2, system)} of pieces, laps counted twice, in a bed of {_thin(need.bed_m, system)}"
        f" (3/16 in V notch at 45°: depth x sin / 2); a bag gives {_volume(quantity('bag_wet_volume_m3'), system)} wet;"
        " common practice, no source. No primer is counted: none is common on these boards"
    )
    name = "mortar for the membrane, bag"
    return [_bare(MORTAR, need.mass_kg, "kg", reason, quantity("bag_mass_kg"), name=name)] if need.area_m2 > 0 else []


def _thin(length_m: float, system: System) -> str:
    return f"{length_m / INCH_M:.3f} in" if system == "inch" else f"{length_m * 1000:.2f} mm"


def _volume(volume_m3: float, system: System) -> str:
    return f"{volume_m3 / FOOT_M**3:.2f} ft³" if system == "inch" else f"{volume_m3 * 1000:.1f} L"


def _sealant_line(solid: Solid, system: System) -> list[OrderLine]:
    """Sealant at glass and frames, and in the movement joint of the tile at every inside corner."""
    rims, corners = sealed_rims(solid), movement_joints(solid)
    edges_m, corners_m = bead_length_m(rims), bead_length_m(corners)
    reason = (
        f"a 1/4 x 1/4 in bead: {format_length(edges_m, system)} along {len(rims)} edges at glass and frames,"
        f" {format_length(corners_m, system)} in {len(corners)} inside corners of the tile, where grout would crack; rings round pipes"
        f" are not counted. A cartridge of 18.2 in³ gives {format_length(bead_per_cartridge_m(), system)}"
    )
    name = "movement-joint sealant, cartridge"
    return [_bare(SEALANT, edges_m + corners_m, "m", reason, bead_per_cartridge_m(), name=name)] if rims or corners else []


def _board_lines(boards: Boards, system: System) -> list[OrderLine]:
    """Boards by stock size, each with the pieces that are cut from it."""
    lines = []
    for item in sorted({s.item for s in boards.stock}):
        stock = [s for s in boards.stock if s.item == item]
        pieces = [b for b in boards.pieces if b.item == item]
        need_m2, bought_m2 = sum(b.patch.polygon.area for b in pieces), sum(s.length_m * s.width_m for s in stock)
        size = f"{format_length(stock[0].width_m, system)} x {format_length(stock[0].length_m, system)}"
        reason = (f"{len(pieces)} pieces cut from {len(stock)} boards of {size}; {format_area(need_m2, system)} of"
                  f" {format_area(bought_m2, system)} serve, offcuts used again")  # fmt: skip
        lines.append(_bare(item, float(len(stock)), "each", reason, pieces=tuple(b.id for b in pieces)))
    return lines


def _screw_lines(boards: Boards, system: System) -> list[OrderLine]:
    """Screws by type and length, and a washer for each that takes one."""
    kinds = Counter((f.type.removesuffix(WASHER), round(f.length_m, 6)) for f in boards.fasteners)
    lines = []
    for (kind, length_m), count in sorted(kinds.items()):
        name = f"{kind}, {format_length(length_m, system)}{SCREW}"
        reason = f"{count} places on the drilling sheets; add a handful for those that strip"
        lines.append(_bare(name, float(count), "each", reason, quantity("screw_pack_count")))
    washers = sum(f.type.endswith(WASHER) for f in boards.fasteners)
    if washers:
        lines.append(_bare(WASHERS, float(washers), "each", "one under every screw of foam-core board",
                           quantity("washer_pack_count"), name="washer for foam-core board, at least 1-1/4 in"))  # fmt: skip
    return lines


def _bed_line(pan: PanReport, system: System) -> list[OrderLine]:
    litres = pan.bed_volume_m3 * 1000
    reason = (
        f"{_volume(pan.bed_volume_m3, system)} of bed over {format_area(pan.floor_area_m2, system)} of open floor,"
        f" {format_length(pan.bed_at_drain_m, system)} thick at the drain; a 60 lb bag gives"
        f" {_volume(quantity('bed_bag_l') / 1000, system)} (common practice, no source)"
    )
    return [_bare(BED, litres, "L", reason, quantity("bed_bag_l"), name="mortar for the pan's bed, bag")] if litres > 0 else []
