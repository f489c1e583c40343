"""Laying out every piece: sheets and bands by a scheme, corner pieces and collars by the corners and pipes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from steamwright.buildup.catalog_model import BandItem, Catalog, SheetItem
from steamwright.covering.bound import material_bound
from steamwright.covering.clashes import refuse_clashes, refuse_folds, refuse_unmet
from steamwright.covering.collars import lay_collars
from steamwright.covering.corners import CornerRules, clusters, lay_corners, reach_needed_m
from steamwright.covering.draft import Draft, frozen
from steamwright.covering.fans import find_corners
from steamwright.covering.ground import Terrain
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.mending import mended
from steamwright.covering.model import Crowding, Piece, Scheme, SoFar, Stock
from steamwright.covering.pins import around, read_pins
from steamwright.covering.pricing import BandRules, Pricing, further_piece_m2
from steamwright.covering.scheme import simple_scheme
from steamwright.covering.search import Search
from steamwright.covering.setting import in_setting_order
from steamwright.covering.sheets import SHORTEST_STRIP_M, SheetRules
from steamwright.errors import ClashError, InputError
from steamwright.room.model import FacetKind, Solid
from steamwright.units import INCH_M, format_length

FAR_M = 1e6
EFFORT_A_RIVAL = 100
RIVAL_RATIO = 0.01
CORNER_REACH_M = 0.1016
UPC_FROM_CORNER_M = 0.1016
PAN_AND_DAM = frozenset({FacetKind.FLOOR, FacetKind.CURB_TOP, FacetKind.CURB_FACE})


@dataclass(frozen=True, slots=True)
class Materials:
    """The sheet and the band that a covering is cut from."""

    sheet: SheetItem
    bands: tuple[BandItem, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """Pieces in setting order, penetrations that have to move, the scheme they come from, whether its search was stopped.

    ``rivals`` are layouts that seemed hardly dearer; which is cheapest shows once all are cut.
    """

    pieces: tuple[Piece, ...]
    crowded: tuple[Crowding, ...]
    scheme: Scheme
    stopped: bool = False
    rivals: tuple[Layout, ...] = ()


def leg_needed_m(wishes: CoveringWishes, code: str, first: FacetKind, second: FacetKind) -> float:
    """How far a band or fold lies on either side of a joint: the planned lap, or what the code asks at pan and dam.

    Parameters
    ----------
    wishes : CoveringWishes
        Required lap and placing allowance.
    code : str
        Code family: "UPC", "IPC" or "IRC".
    first, second : FacetKind
        What meets in the joint.

    Returns
    -------
    leg_m : float
        Length of a leg, placing allowance included. [m]

    References
    ----------
    [UPC-408] 408.7: laps and folds reach 4 in from the corner at pan and dam
    """
    required = wishes.lap_required_m
    if code == "UPC" and {first, second} & PAN_AND_DAM:
        required = max(required, UPC_FROM_CORNER_M)
    return required + wishes.allowance_m


def choose_materials(wishes: CoveringWishes, catalog: Catalog, code: str) -> Materials:
    """Find sheet and bands in the catalog; the bands' legs take the planned lap and what the code asks.

    Parameters
    ----------
    wishes : CoveringWishes
        Membrane, laps, roll sizes.
    catalog : Catalog
        What can be ordered.
    code : str
        Code family.

    Returns
    -------
    materials : Materials
        Sheet and bands, narrow ones first.

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
        least = format_length(2 * lap_m + SHORTEST_STRIP_M)
        raise ClashError(f"a roll {format_length(wishes.roll_width_m)} wide is narrower than twice the planned lap of"
                         f" {format_length(lap_m)} (covering.lap_required and covering.allowance)", path="covering.roll_width",
                         hint=f"the narrowest that works is {least}: two laps and a strip between them")
    _refuse_short(wishes, lap_m)
    widest_leg_m = leg_needed_m(wishes, code, FacetKind.FLOOR, FacetKind.WALL)
    bands = tuple(b for b in catalog.bands_for(wishes.membrane) if b.width_m >= max(2 * lap_m, wishes.band_width_m) - 1e-9)
    if not bands or bands[-1].width_m < 2 * widest_leg_m - 1e-9:
        raise InputError(f"no band gives legs of {widest_leg_m * 1000:.1f} mm", path="covering.band_width",
                         hint="lower the allowance or add a wider band to the catalog")
    return Materials(sheet, bands)


def _refuse_short(wishes: CoveringWishes, lap_m: float) -> None:
    """No piece is laid that is hardly longer than its laps."""
    mark_m = INCH_M / 16
    least_m = math.ceil((2 * lap_m + SHORTEST_STRIP_M) / mark_m - 1e-6) * mark_m
    for key, value_m in (("longest", wishes.longest_m), ("longest_overhead", wishes.longest_overhead_m),
                         ("roll_length", wishes.roll_length_m), ("band_roll_length", wishes.band_roll_length_m)):
        if value_m < least_m - 1e-9:
            raise ClashError(f"{format_length(value_m)} is too short for pieces with a planned lap of {format_length(lap_m)} at each end",
                             path=f"covering.{key}",
                             hint=f"the shortest that works is {format_length(least_m)}: two laps and a strip between them")


def lay_out(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str = "IRC", progress: Callable[[str], None] | None = None,
            start: Scheme | None = None, stop: Callable[[], bool] | None = None, found: Callable[[SoFar], None] | None = None) -> Layout:
    """Lay out every piece of a covering. It does not judge itself: that is what ``proof`` is for.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        Laps, folds, directions, forbidden seams. ``joints = "best"`` searches for a cheap scheme; "band" and "fold" lay
        every facet by itself, and where a fold has no room a band closes the joint.
    catalog : Catalog
        Sheets, bands, ready-made pieces.
    code : str, optional
        Code family, which may ask for longer legs at pan and dam.
    progress : callable, optional
        Told in words what is being laid out.
    start : Scheme, optional
        A scheme of the same surfaces to keep to.
    stop : callable, optional
        Asked again and again; the search ends with its best so far when it says True.
    found : callable, optional
        Told in figures how good the best so far is, and the bound.

    Returns
    -------
    layout : Layout
        Pieces with place numbers and laps, and penetrations that have to move.

    Raises
    ------
    InputError
        As `choose_materials`, `read_pins`, `refuse_clashes`, `refuse_folds` and `refuse_unmet`.

    References
    ----------
    own derivation
    """
    tell = progress or (lambda _: None)
    lap_m = wishes.lap_required_m + wishes.allowance_m
    chosen = choose_materials(wishes, catalog, code)
    terrain = Terrain(solid, lap_m, lambda first, second: leg_needed_m(wishes, code, first, second))
    tell("collars")
    collars, crowded = _collars(terrain, lap_m, catalog)
    tell("corners")
    corner_rules = CornerRules(lap_m, CORNER_REACH_M, wishes.roll_width_m, chosen.sheet.item, chosen.sheet.material, catalog.corner_pieces)
    groups = clusters(find_corners(terrain), lap_m)
    laid = list(zip(groups, lay_corners(terrain, groups, corner_rules), strict=True))
    corners = [d for _, drafts in laid for d in drafts]
    # where bands or sheets alone close a corner, nothing makes good what a leg leaves open beside it
    terrain.reaches_m = {c.point_m: max(reach_needed_m(c, lap_m), CORNER_REACH_M) for group, drafts in laid if drafts for c in group}
    tell("sheets and bands")
    rules = SheetRules(lap_m, wishes.roll_width_m, wishes.roll_length_m, chosen.sheet.item, chosen.sheet.material, frozenset(),
                       wishes.seam_clear_m, further_piece_m2(wishes))
    band = BandRules(chosen.bands, min(wishes.band_roll_length_m, wishes.longest_m))
    pins = read_pins(terrain, wishes)
    refuse_clashes(terrain, wishes, pins)
    fixed = around([*collars, *corners], pins, lap_m)
    pricing = Pricing(terrain, wishes, rules, band, fixed, pins)
    searched = wishes.joints == "best"
    lower_m2 = _lower_m2(solid, fixed, wishes) if (progress or found) and start is None else None
    search = Search(pricing, wishes.effort, tell, start, stop, lower_m2, found)
    scheme = search.run() if searched else mended(pricing, simple_scheme(terrain, wishes), wishes)
    refuse_folds(terrain, wishes, scheme)
    refuse_unmet(terrain, wishes, [(c, pricing.sheets(c, scheme).drafts) for c in scheme.fields], pins)
    spent = [p.id for p in wishes.piece if p.short_m and p.answer == "again"]

    def laid_by(one: Scheme, rivals: tuple[Layout, ...] = ()) -> Layout:
        pieces = in_setting_order(terrain, [*pricing.drafts(one), *fixed, *(p.draft for p in pins.pieces)], spent)
        return Layout(pieces, tuple(crowded), one, search.stopped, rivals)

    near = pricing.nearest(scheme, wishes.effort // EFFORT_A_RIVAL, RIVAL_RATIO) if searched and start is None else []
    return laid_by(scheme, tuple(laid_by(one) for one in near))


def _lower_m2(solid: Solid, fixed: list[Draft], wishes: CoveringWishes) -> float:
    """What any layout takes at least, known before the search: it depends on the ready-made pieces alone."""
    return material_bound(solid, frozen(fixed, [""] * len(fixed)), (Stock("", "", "", FAR_M, 1.0, FAR_M),), wishes).lower_m2


def _collars(terrain: Terrain, lap_m: float, catalog: Catalog) -> tuple[list[Draft], list[Crowding]]:
    collars: list[Draft] = []
    crowded: list[Crowding] = []
    for ground in terrain.grounds.values():
        if ground.by_pieces and ground.holes:
            made, near = lay_collars(terrain, ground, lap_m, catalog.collars)
            collars, crowded = collars + made, crowded + near
    return collars, crowded
