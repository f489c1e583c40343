"""Remnants on hand: a job draws from them before new roll is used, and leaves its own.

A remnant keeps its id for life and an id is never given twice: what is left of a remnant that is cut gets new ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from steamwright.cutting.best_cut import BoundedCutting, best_cut
from steamwright.cutting.rolls import NEAR_M, Blank
from steamwright.cutting.stretches import Layout, Lying, Rest, Split, lay
from steamwright.errors import InputError


@dataclass(frozen=True, slots=True)
class StockRemnant:
    """A rectangle on hand; ``material`` must be that of the blanks, the length lies along the roll it came from."""

    id: str
    material: str
    length_m: float
    width_m: float
    origin: str = ""


@dataclass(frozen=True, slots=True)
class Inventory:
    """What is on hand, and how many ids have been given."""

    remnants: tuple[StockRemnant, ...] = ()
    given: int = 0

    def __post_init__(self) -> None:
        ids = [r.id for r in self.remnants]
        if len(set(ids)) < len(ids):
            raise InputError(f"remnant {next(i for i in ids if ids.count(i) > 1)} is listed twice", path="remnants",
                             hint="give every remnant its own id")


@dataclass(frozen=True, slots=True)
class RemnantSpot:
    """Where a blank lies on a remnant: from its end, from its edge."""

    blank: str
    remnant: str
    x_m: float
    y_m: float
    turned: bool


@dataclass(frozen=True, slots=True)
class StockCutting:
    """Blanks on remnants, the others on new rolls, and what is on hand afterwards."""

    drawn: tuple[RemnantSpot, ...]
    rolls: BoundedCutting
    after: Inventory
    saved_length_m: float


def cut_from_stock(blanks: Sequence[Blank], material: str, on_hand: Inventory, roll_width_m: float, roll_length_m: float,
                   least_remnant_m: float = 0.3, work: int = 400) -> StockCutting:
    """Cut from remnants what saves new roll, the rest from new rolls.

    Remnants are filled from the smallest up. One whose blanks would cost no new roll anyway, since they fit beside others
    there, is left alone.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed, each with its own id.
    material : str
        Only remnants of this material are drawn.
    on_hand : Inventory
        What there is.
    roll_width_m, roll_length_m : float
        Size of a new roll. [m]
    least_remnant_m : float
        Shortest side of a remnant that is worth keeping. [m]
    work : int
        Most layouts tried for the new rolls (count).

    Returns
    -------
    cutting : StockCutting
        Every blank once; never more new roll than without remnants. New remnants of rolls and of cut remnants are in
        ``after``, the unused end of a roll is not: it is still a roll.

    Raises
    ------
    InfeasibleError
        If a blank fits neither a remnant nor a roll.

    References
    ----------
    own derivation
    """
    open_ = sorted((r for r in on_hand.remnants if r.material == material), key=lambda r: (r.length_m * r.width_m, r.id))
    left = list(blanks)
    chosen: list[tuple[StockRemnant, Layout, tuple[Blank, ...]]] = []
    for remnant in open_:
        layout, taken = _filled(left, remnant)
        if taken:
            chosen.append((remnant, layout, taken))
            left = [b for b in left if b not in taken]
    without = _length(blanks, roll_width_m, roll_length_m, least_remnant_m, work)
    now = _length(left, roll_width_m, roll_length_m, least_remnant_m, work)
    # The largest first: a large remnant is worth most when it is kept.
    for entry in reversed(tuple(chosen)):
        back = [b for b in blanks if b in left or b in entry[2]]
        again = _length(back, roll_width_m, roll_length_m, least_remnant_m, work)
        if again is not None and (now is None or again <= now):
            chosen.remove(entry)
            left, now = back, again
    if without is not None and (now is None or now > without):
        chosen, left, now = [], list(blanks), without
    rolls = best_cut(left, roll_width_m, roll_length_m, least_remnant_m, work)
    drawn = tuple(RemnantSpot(taken[p.number].id, r.id, p.x_m, p.y_m, p.turned) for r, layout, taken in chosen for p in layout.laid)
    saved = without[1] - sum(rolls.cutting.used_length_m) if without is not None else 0.0
    return StockCutting(drawn, rolls, _after(on_hand, chosen, rolls, material, least_remnant_m), saved)


def _length(blanks: Sequence[Blank], width: float, length: float, least: float, work: int) -> tuple[int, float] | None:
    """Rolls and length needed, or nothing where a blank fits only a remnant."""
    if any(not _fits(b, length, width) for b in blanks):
        return None
    cutting = best_cut(blanks, width, length, least, work).cutting
    return len(cutting.used_length_m), round(sum(cutting.used_length_m), 9)


def _fits(b: Blank, length: float, width: float) -> bool:
    return (b.length_m <= length + NEAR_M and b.width_m <= width + NEAR_M) or (
        b.may_turn and b.width_m <= length + NEAR_M and b.length_m <= width + NEAR_M)


def _filled(blanks: Sequence[Blank], remnant: StockRemnant) -> tuple[Layout, tuple[Blank, ...]]:
    """As much area as several orders bring onto one remnant; numbers of the layout count the blanks taken."""
    ground = (Rest(0, 0.0, 0.0, remnant.length_m, remnant.width_m),)
    lying = [Lying(k, b.length_m, b.width_m, False, b.may_turn) for k, b in enumerate(blanks)
             if _fits(b, remnant.length_m, remnant.width_m)]
    best: tuple[float, Layout] = (0.0, Layout((), (), ()))
    for key in (lambda b: -b.length_m * b.width_m, lambda b: -b.length_m, lambda b: -b.width_m):
        for split in Split:
            layout = lay(sorted(lying, key=lambda b, k=key: (k(b), b.number)), remnant.width_m, split, ground, False)  # type: ignore[misc]
            area = sum(blanks[n].length_m * blanks[n].width_m for n, *_ in layout.rows)
            if area > best[0] + NEAR_M:
                best = (area, layout)
    renumbered = tuple((k, *row[1:]) for k, row in enumerate(best[1].rows))
    return replace(best[1], rows=renumbered), tuple(blanks[n] for n, *_ in best[1].rows)


def _after(on_hand: Inventory, chosen: Sequence[tuple[StockRemnant, Layout, tuple[Blank, ...]]], rolls: BoundedCutting, material: str,
           least: float) -> Inventory:
    cut = {r.id for r, _, _ in chosen}
    kept = [r for r in on_hand.remnants if r.id not in cut]
    used = {r.id for r in on_hand.remnants}
    given = on_hand.given
    fresh = [(r.length_m, r.width_m, remnant.id) for remnant, layout, _ in chosen for r in layout.rests]
    fresh += [(r.length_m, r.width_m, f"roll {r.roll + 1}") for r in rolls.cutting.remnants]
    for length, width, origin in fresh:
        if min(length, width) >= least:
            given += 1
            while f"M{given}" in used:
                given += 1
            kept.append(StockRemnant(f"M{given}", material, length, width, origin))
    return Inventory(tuple(kept), given)
