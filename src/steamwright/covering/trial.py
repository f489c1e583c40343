"""A layout on trial: laid out and cut under some wishes, not yet proven."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import count, islice

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.account import account_of
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.layout import Layout, Materials, choose_materials, lay_out
from steamwright.covering.mirroring import mirrored_pieces, mirrored_solid, mirrored_wishes, runs_clockwise
from steamwright.covering.model import AS_CUT, Account, Covering, Cut, Piece, SoFar, Stock
from steamwright.covering.numbering import keep_numbers
from steamwright.covering.sharing import share_blanks
from steamwright.cutting.best_cut import best_cut
from steamwright.cutting.inventory import Inventory, StockRemnant, cut_from_stock
from steamwright.cutting.rolls import Blank, Cutting
from steamwright.errors import ClashError, InfeasibleError
from steamwright.room.model import Solid
from steamwright.units import format_length

LEAST_REST_M = 0.3
NEAR_M = 1e-9
CUTS_TRIED = 64
CUTS_AN_EFFORT = 4
"""How many ways of cutting the rolls are tried at last, for each layout that may be tried."""


@dataclass(frozen=True, slots=True)
class Trial:
    """Pieces with their cuts, the stock, what is left of it, and what all this takes."""

    layout: Layout
    pieces: tuple[Piece, ...]
    stock: tuple[Stock, ...]
    cuttings: tuple[Cutting, ...]
    left: tuple[StockRemnant, ...]
    account: Account

    def account_by(self, solid: Solid, wishes: CoveringWishes, leant: CoveringWishes) -> Account:
        """What it takes in a job's own weights, whatever the wishes were that its search was given."""
        return self.account if leant.weights == wishes.weights else account_of(solid, self.pieces, self.stock, wishes)


def attempt(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str, progress: Callable[[str], None] | None = None,
            before: Covering | None = None, stop: Callable[[], bool] | None = None, found: Callable[[SoFar], None] | None = None) -> Trial:
    """Lay out and cut; a room whose walls run clockwise is laid out as its mirror image, so that handedness costs nothing.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses.
    catalog : Catalog
        What can be ordered.
    code : str
        Code family.
    progress : callable, optional
        Told in words what is being done.
    before : Covering, optional
        A covering of the same surfaces, whose scheme and numbers are kept.
    stop : callable, optional
        Asked again and again; the search ends with its best so far when it says True.
    found : callable, optional
        Told in figures how good the best so far is, and the bound.

    Returns
    -------
    trial : Trial
        Pieces with their cuts.

    Raises
    ------
    InputError
        As `lay_out`.
    ClashError
        If a blank is larger than a roll.

    References
    ----------
    own derivation
    """
    asked = mirrored_wishes(solid, wishes) if runs_clockwise(solid) else None
    if asked is not None:
        earlier = None if before is None else replace(before, pieces=mirrored_pieces(solid, before.pieces))
        image = mirrored_solid(solid)
        try:
            trial = _attempt(image, asked, catalog, code, progress, earlier, stop, found)
        except ClashError:
            # places are told as they are in the room itself
            return _attempt(solid, wishes, catalog, code, progress, before, stop, found)
        pieces = mirrored_pieces(image, trial.pieces)
        return replace(trial, pieces=pieces, layout=replace(trial.layout, pieces=mirrored_pieces(image, trial.layout.pieces)))
    return _attempt(solid, wishes, catalog, code, progress, before, stop, found)


def _attempt(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str, progress: Callable[[str], None] | None,
             before: Covering | None, stop: Callable[[], bool] | None, found: Callable[[SoFar], None] | None) -> Trial:
    layout = lay_out(solid, wishes, catalog, code, progress, before.scheme if before is not None else None, stop, found)
    chosen = choose_materials(wishes, catalog, code)
    trials = []
    for one in (layout, *layout.rivals):
        shared = share_blanks(solid, one.pieces, wishes, before.pieces if before is not None else None)
        # what lay on one blank before stays there without a second thought
        for pieces in (one.pieces, shared) if before is None and shared != one.pieces else (shared,):
            if before is not None:
                pieces = keep_numbers(pieces, before.pieces, [w.id for w in wishes.piece])
            laid = replace(one, pieces=pieces, rivals=())
            cut = _cut(laid, wishes, chosen)
            trials.append(Trial(laid, *cut, account_of(solid, cut[0], cut[1], wishes)))
    best = min(trials, key=lambda t: t.account.usd)
    if before is not None or wishes.effort * CUTS_AN_EFFORT <= CUTS_TRIED:
        return best
    cut = _cut(best.layout, wishes, chosen, wishes.effort * CUTS_AN_EFFORT)
    return min(best, Trial(best.layout, *cut, account_of(solid, cut[0], cut[1], wishes)), key=lambda t: t.account.usd)


def _cut(layout: Layout, wishes: CoveringWishes, chosen: Materials, tried: int = CUTS_TRIED) -> tuple[
        tuple[Piece, ...], tuple[Stock, ...], tuple[Cutting, ...], tuple[StockRemnant, ...]]:
    """Sheets and folded corner pieces from remnants and wide rolls, bands from the narrow ones; what is cut already is its own stock."""
    sheet = chosen.sheet
    rolls = ((sheet.item, sheet.material, wishes.roll_width_m, wishes.roll_length_m, "R"),
             *((b.item, b.material, b.width_m, wishes.band_roll_length_m, f"Q{k}-") for k, b in enumerate(chosen.bands, start=1)))
    pinned = {w.id for w in wishes.piece if not (w.short_m and w.answer == "again")}
    cut_before = [(p, p.blank_m) for p in layout.pieces if p.id in pinned and p.blank_m is not None]
    cuts = {p.id: Cut(p.id + AS_CUT, 0.0, 0.0) for p, _ in cut_before}
    stock = [Stock(p.id + AS_CUT, p.item, p.material, length, width, length, on_hand=True) for p, (length, width) in cut_before]
    cuttings: list[Cutting] = []
    on_hand = held(wishes)
    left = on_hand
    kept = {r.id for r in on_hand.remnants} | {s.id for s in stock}
    for item, material, width, length, letter in rolls:
        blanks = [Blank(p.id, p.blank_m[0], p.blank_m[1], may_turn=True) for p in layout.pieces
                  if p.blank_m is not None and p.item == item and p.id not in pinned]
        if not blanks:
            continue
        from_hand = letter == "R" and any(r.material == material for r in on_hand.remnants)
        try:
            found = cut_from_stock(blanks, material, on_hand, width, length, LEAST_REST_M) if from_hand else None
            cutting = best_cut(blanks, width, length, LEAST_REST_M, tried).cutting if found is None else found.rolls.cutting
        except InfeasibleError as wrong:
            raise _too_large(blanks, width, length, letter) from wrong
        if found is not None:
            left = found.after
            drawn = {s.remnant for s in found.drawn}
            stock += [Stock(r.id, item, material, r.length_m, r.width_m, r.length_m, on_hand=True)
                      for r in on_hand.remnants if r.id in drawn]
            cuts |= {s.blank: Cut(s.remnant, s.x_m, s.y_m, s.turned) for s in found.drawn}
        cuttings.append(cutting)
        # a remnant on hand may be called like a roll
        free = (name for k in count(1) if (name := f"{letter}{k}") not in kept)
        names = list(islice(free, len(cutting.used_length_m)))
        if letter == "R" and not from_hand:
            left = replace(left, remnants=(*left.remnants, *_rests(cutting, material, names)))
        if letter == "R":
            ends = [StockRemnant(f"{n} end", material, length - u, width, f"end of roll {n}")
                    for n, u in zip(names, cutting.used_length_m, strict=True) if length - u >= LEAST_REST_M]
            left = replace(left, remnants=(*left.remnants, *ends))
        stock += [Stock(n, item, material, length, width, u) for n, u in zip(names, cutting.used_length_m, strict=True)]
        cuts |= {s.blank: Cut(names[s.roll], s.x_m, s.y_m, s.turned) for s in cutting.spots}
    return tuple(replace(p, cut=cuts.get(p.id)) for p in layout.pieces), tuple(stock), tuple(cuttings), left.remnants


def _too_large(blanks: Sequence[Blank], width_m: float, length_m: float, letter: str) -> ClashError:
    """Which piece no roll holds, with the roll that would."""
    long_m, wide_m = (max(f(b.length_m, b.width_m) for b in blanks) for f in (max, min))
    key = "band_roll_length" if letter != "R" else "roll_width" if wide_m > width_m + NEAR_M else "roll_length"
    return ClashError(f"a piece of {format_length(long_m)} by {format_length(wide_m)} does not fit a roll of {format_length(length_m)} by "
                      f"{format_length(width_m)}", path=f"covering.{key}",
                      hint=f"give a roll of at least {format_length(long_m)} by {format_length(wide_m)}")


def held(wishes: CoveringWishes) -> Inventory:
    """Gather what is on hand: the listed remnants, and pieces that were cut too short and are cut again.

    Parameters
    ----------
    wishes : CoveringWishes
        What a person says.

    Returns
    -------
    on_hand : Inventory
        Rectangles that blanks may be cut from.

    Raises
    ------
    InputError
        If a remnant is listed twice.

    References
    ----------
    own derivation
    """
    listed = [StockRemnant(r.id, r.material, r.length_m, r.width_m, r.origin) for r in wishes.remnant]
    short = [StockRemnant(f"{p.id} short", p.material, p.blank_m[0] - p.short_m, p.blank_m[1], f"piece {p.id}, cut too short")
             for p in wishes.piece if p.short_m and p.answer == "again" and p.blank_m is not None and p.blank_m[0] > p.short_m]
    return Inventory((*listed, *short), len(listed))


def _rests(cutting: Cutting, material: str, names: Sequence[str]) -> list[StockRemnant]:
    return [StockRemnant(f"{names[r.roll]} rest {k}", material, r.length_m, r.width_m, f"roll {names[r.roll]}")
            for k, r in enumerate(cutting.remnants, start=1)]
