"""The simple layout: flat sheets on every facet, bands or folds over every joint, corner pieces, collars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from steamwright.buildup.catalog_model import BandItem, Catalog, SheetItem
from steamwright.covering.bands import lay_band
from steamwright.covering.collars import lay_collars
from steamwright.covering.corners import CornerRules, lay_corner
from steamwright.covering.draft import Draft
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import Crowding, Piece
from steamwright.covering.setting import in_setting_order
from steamwright.covering.fields import develop
from steamwright.covering.sheets import LEVEL, UPRIGHT, SheetRules, Strips, lay_strips
from steamwright.errors import InputError
from steamwright.room.model import FacetKind, Joint, Solid

CORNER_REACH_M = 0.1016
PIECE_COST_M2 = 0.02


@dataclass(frozen=True, slots=True)
class Materials:
    """The sheet and the band that a covering is cut from."""

    sheet: SheetItem
    band: BandItem


@dataclass(frozen=True, slots=True)
class Layout:
    """Pieces in setting order, and penetrations that have to move."""

    pieces: tuple[Piece, ...]
    crowded: tuple[Crowding, ...]


def choose_materials(wishes: CoveringWishes, catalog: Catalog) -> Materials:
    """Find sheet and band in the catalog; the band's legs take the planned lap.

    Parameters
    ----------
    wishes : CoveringWishes
        Membrane, laps, roll sizes.
    catalog : Catalog
        What can be ordered.

    Returns
    -------
    materials : Materials
        Sheet and band.

    Raises
    ------
    InputError
        If the membrane is not in the catalog, the roll is narrower than twice the lap, or no band is wide enough.

    References
    ----------
    common practice, no source
    """
    lap_m = wishes.lap_required_m + wishes.allowance_m
    sheet = catalog.sheet_for(wishes.membrane)
    if sheet is None:
        known = ", ".join(sorted({s.material for s in catalog.sheets}))
        raise InputError(f"no sheet of {wishes.membrane!r} can be ordered", path="covering.membrane", hint=f"choose one of: {known}")
    if wishes.roll_width_m < 2 * lap_m:
        raise InputError(f"a roll {wishes.roll_width_m * 1000:.0f} mm wide is narrower than twice the planned lap of {lap_m * 1000:.1f} mm",
                         path="covering.roll_width", hint="choose a wider roll")
    bands = [b for b in catalog.bands_for(wishes.membrane) if b.width_m >= max(2 * lap_m, wishes.band_width_m) - 1e-9]
    if not bands:
        raise InputError(f"no band gives legs of {lap_m * 1000:.1f} mm", path="covering.band_width", hint="lower the allowance or add a wider band")
    return Materials(sheet, bands[0])


def lay_out(solid: Solid, wishes: CoveringWishes, catalog: Catalog, progress: Callable[[str], None] | None = None) -> Layout:
    """Lay out every piece of a covering. It does not judge itself: that is what ``proof`` is for.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        Laps, folds, directions, forbidden seams.
    catalog : Catalog
        Sheets, bands, ready-made pieces.
    progress : callable, optional
        Told in words what is being laid out.

    Returns
    -------
    layout : Layout
        Pieces with place numbers and laps, and penetrations that have to move.

    Raises
    ------
    InputError
        As `choose_materials`.

    References
    ----------
    common practice, no source
    """
    tell = progress or (lambda _: None)
    lap_m = wishes.lap_required_m + wishes.allowance_m
    chosen = choose_materials(wishes, catalog)
    terrain = Terrain(solid)
    folds = _folds(terrain, wishes)
    rules = SheetRules(lap_m, wishes.roll_width_m, wishes.roll_length_m, chosen.sheet.item, chosen.sheet.material, folds)
    tell("sheets")
    sheets: list[Draft] = []
    for ground in terrain.grounds.values():
        if ground.by_pieces:
            sheets += _cheapest(terrain, ground, rules, wishes)
    tell("collars")
    collars: list[Draft] = []
    crowded: list[Crowding] = []
    for ground in terrain.grounds.values():
        if ground.by_pieces and ground.holes:
            made, near = lay_collars(terrain, ground, lap_m, catalog.collars)
            collars, crowded = collars + made, crowded + near
    tell("bands")
    folded = {joint for joint, _ in folds}
    bands: list[Draft] = []
    for joint in solid.joints:
        if joint.id not in folded:
            bands += lay_band(terrain, joint, chosen.band.width_m / 2, lap_m, wishes.band_roll_length_m, chosen.band.item, chosen.band.material)
    tell("corners")
    corner_rules = CornerRules(lap_m, CORNER_REACH_M, chosen.sheet.item, chosen.sheet.material, catalog.corner_pieces)
    corners = [d for c in terrain.corners() if (d := lay_corner(terrain, c, corner_rules)) is not None]
    return Layout(in_setting_order(terrain, [*sheets, *collars, *bands, *corners]), tuple(crowded))


def _cheapest(terrain: Terrain, ground: Ground, rules: SheetRules, wishes: CoveringWishes) -> list[Draft]:
    """Strips over one facet, the cheapest of the allowed directions and of both starting sides."""
    field = develop(terrain, ground.facet.id, ())
    assert field is not None
    best: tuple[tuple[float, float, bool, bool], list[Draft]] | None = None
    for direction in _directions(ground, wishes):
        for from_high in (False, True):
            drafts = lay_strips(terrain, field, rules, Strips(direction, from_high), _no_seam(ground, wishes))
            area = sum(a * b for a, b in (d.size_m() for d in drafts))
            cost = (round(area + PIECE_COST_M2 * len(drafts), 6), float(len(drafts)), direction != UPRIGHT, from_high)
            if best is None or cost < best[0]:
                best = cost, drafts
    assert best is not None
    return best[1]


def _folds(terrain: Terrain, wishes: CoveringWishes) -> frozenset[tuple[str, str]]:
    """(joint, facet whose sheets turn over it) by the person's wishes; a later wish overrules an earlier one."""
    chosen: dict[str, str] = {}
    for joint in terrain.solid.joints:
        turning = _default_fold(terrain, joint) if wishes.joints == "fold" else None
        for wish in wishes.fold:
            for mine, other in (joint.facets, joint.facets[::-1]):
                if wish.from_surface == terrain.grounds[mine].facet.surface and wish.onto == terrain.grounds[other].facet.surface:
                    turning = mine if wish.by == "fold" else None
        if turning is not None and terrain.grounds[turning].by_pieces:
            chosen[joint.id] = turning
    return frozenset(chosen.items())


def _default_fold(terrain: Terrain, joint: Joint) -> str | None:
    """Sheets turn from the wall onto floor and ceiling, and from the smaller surface onto the larger elsewhere."""
    a, b = (terrain.grounds[f] for f in joint.facets)
    if not (a.by_pieces or b.by_pieces):
        return None
    if not (a.by_pieces and b.by_pieces):
        return a.facet.id if a.by_pieces else b.facet.id
    level = (FacetKind.FLOOR, FacetKind.CEILING)
    if (a.facet.kind in level) != (b.facet.kind in level):
        return b.facet.id if a.facet.kind in level else a.facet.id
    return min((a, b), key=lambda g: (round(g.facet.area_m2, 6), g.facet.id)).facet.id


def _directions(ground: Ground, wishes: CoveringWishes) -> tuple[str, ...]:
    said = [w.sheets for w in wishes.direction if w.on == ground.facet.surface]
    return (said[-1],) if said else (UPRIGHT, LEVEL)


def _no_seam(ground: Ground, wishes: CoveringWishes) -> tuple[tuple[float, float], ...]:
    """Forbidden stretches across the strips, from the surface's lower left."""
    return tuple((w.from_m, w.to_m) for w in wishes.no_seam if w.on == ground.facet.surface)
