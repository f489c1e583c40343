"""How much roll is needed at least, whatever the cuts: area, widths that do not fit side by side, and mixtures of both."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from steamwright.cutting.rolls import Blank

_SAFE_M = 1e-6


@dataclass(frozen=True, slots=True)
class RollBound:
    """No cutting uses less length or fewer rolls; ``method`` says what proves the length."""

    length_m: float
    rolls: int
    method: str


def roll_bound(blanks: Sequence[Blank], roll_width_m: float, roll_length_m: float) -> RollBound:
    """Least used length and least number of rolls that any cutting needs, guillotine or not.

    A dual-feasible function gives every width a share of the roll's width such that no set that fits side by side has
    more than one: widths over ``W - k`` count as the whole roll, those under ``k`` as nothing, the rest as they are; or
    multiples of the width are rounded down. The shares times the lengths are a length of roll. A blank that may turn
    counts with the smaller of its two.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed.
    roll_width_m, roll_length_m : float
        Size of a roll. [m]

    Returns
    -------
    bound : RollBound
        Length and rolls, each by the best of the functions tried.

    References
    ----------
    own derivation
    """
    if not blanks:
        return RollBound(0.0, 0, "nothing is needed")
    lies = [_ways(b, roll_width_m, roll_length_m) for b in blanks]
    best, method = max(min(long for long, _ in ways) for ways in lies), "longest blank"
    rolls = 1
    widths, lengths = {w for ways in lies for _, w in ways}, {s for ways in lies for s, _ in ways}
    for name, across in _functions(roll_width_m, widths):
        share = {w: across(w) for w in widths}
        length = sum(min(long * share[w] for long, w in ways) for ways in lies)
        if length > best + _SAFE_M:
            best, method = length, name
    shares_along = [{s: along(s) for s in lengths} for _, along in _functions(roll_length_m, lengths, 4)]
    for _, across in _functions(roll_width_m, widths, 4):
        share = {w: across(w) for w in widths}
        for part in shares_along:
            need = sum(min(part[long] * share[w] for long, w in ways) for ways in lies)
            rolls = max(rolls, math.ceil(need - 1e-6))
    return RollBound(best, max(rolls, math.ceil(best / roll_length_m - 1e-6)), method)


def _ways(b: Blank, width: float, length: float) -> list[tuple[float, float]]:
    """Length along and width across, of the ways that fit the roll; as given if none does."""
    both = [(b.length_m, b.width_m), (b.width_m, b.length_m)] if b.may_turn else [(b.length_m, b.width_m)]
    return [w for w in both if w[0] <= length + _SAFE_M and w[1] <= width + _SAFE_M] or both[:1]


class _Share:
    """Share of the whole by one dual-feasible function; lengths within a micron of a step count as below it."""

    def __init__(self, whole: float, cut: float = 0.0, parts: int = 0) -> None:
        self.whole, self.cut, self.parts = whole, cut, parts

    def __call__(self, size: float) -> float:
        if self.parts:
            times = (self.parts + 1) * min(1.0, (size - _SAFE_M) / self.whole)
            return max(0.0, math.floor(times)) / self.parts if times < self.parts + 1 - 1e-9 else 1.0
        if size > self.whole - self.cut + _SAFE_M:
            return 1.0
        return size / self.whole if size >= self.cut else 0.0


def _functions(whole: float, sizes: Iterable[float], few: int = 0) -> list[tuple[str, _Share]]:
    cuts = sorted({round(s, 6) for s in sizes if 0.0 < s <= 0.5 * whole} | {0.5 * whole})
    if few and len(cuts) > few:
        cuts = [cuts[round(k * (len(cuts) - 1) / (few - 1))] for k in range(few)]
    found = [("area", _Share(whole))]
    found += [(f"widths over {whole - k:.3f} m as whole, under {k:.3f} m as nothing", _Share(whole, cut=k)) for k in cuts]
    found += [(f"widths rounded down to parts of {k}", _Share(whole, parts=k)) for k in range(1, 4 if few else 9)]
    return found
