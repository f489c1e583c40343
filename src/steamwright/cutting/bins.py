"""Rectangles from like sheets by three stages of edge-to-edge cuts, on as few sheets as can be found.

Shelves lie across the sheet, stacks stand side by side on a shelf, pieces lie on each other in a stack; what is narrower
than its stack is trimmed. From cuttings made by insertion one sheet less is tried again and again. All sizes are whole
numbers of one unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InfeasibleError

Ints = NDArray[np.int64]
_FIRST = 200
_HEAT = 0.1
_PARTS = 30
_NEVER = 1 << 40


@dataclass(frozen=True, slots=True)
class BinPiece:
    """A rectangle that is wanted once."""

    width: int
    height: int
    may_turn: bool = False


@dataclass(frozen=True, slots=True)
class BinSpot:
    """Where a piece lies: sheet from 0, from its side, from its end."""

    sheet: int
    x: int
    y: int
    turned: bool


@dataclass(frozen=True, slots=True)
class BinsCutting:
    """A spot for every piece, the sheets taken, and a bound that no packing is under with its method."""

    spots: tuple[BinSpot, ...]
    sheets: int
    lower_bound: int
    method: str
    tried: int

    @property
    def proven(self) -> bool:
        """Whether no cutting takes fewer sheets."""
        return self.sheets == self.lower_bound


def cut_bins(width: int, height: int, pieces: Sequence[BinPiece], tries: int = 300_000, seed: int = 1) -> BinsCutting:
    """Cut rectangles from as few sheets of one size as can be found.

    Parameters
    ----------
    width, height : int
        Size of a sheet; the first cuts go across its height (count of units).
    pieces : sequence of BinPiece
        What is needed.
    tries : int
        Most changes tried (count).
    seed : int
        Seed of the changes (count).

    Returns
    -------
    cutting : BinsCutting
        Pieces apart, inside their sheets, parted by three stages of cuts and trims.

    Raises
    ------
    InfeasibleError
        If a piece is larger than a sheet.

    References
    ----------
    own derivation
    """
    for k, p in enumerate(pieces):
        if not any(a <= width and b <= height for a, b in ((p.width, p.height), (p.height, p.width))[:1 + p.may_turn]):
            raise InfeasibleError(f"piece {k} of {p.width} × {p.height} fits no sheet of {width} × {height}", hint="choose a larger sheet")
    if not pieces:
        return BinsCutting((), 0, 0, "nothing is cut", 0)
    from steamwright.cutting.bin_kernels import first_cutting, refit

    w, h, turns = (np.array(v, dtype=np.int64) for v in zip(*((p.width, p.height, p.may_turn) for p in pieces), strict=True))
    bound, method = bins_bound(width, height, w, h, turns)
    place, sheets = first_cutting(width, height, w, h, turns, _FIRST, seed)
    tried, turn = 0, 0
    while sheets > bound and tried < tries:
        turn += 1
        trial = _emptiest_last(w, h, place)
        found, done = refit(width, height, w, h, turns, sheets - 1, trial, min(tries - tried, max(1, tries // 3)), _HEAT, seed + turn)
        tried += done
        if found:
            place, sheets = trial, sheets - 1
    return BinsCutting(_spots(w, h, _emptiest_last(w, h, place)), sheets, bound, method, tried)


def bins_bound(width: int, height: int, w: Ints, h: Ints, turns: Ints, enough: int | None = None) -> tuple[int, str]:
    """Sheets that any packing takes: shares of the area, or shares of both sides by dual-feasible functions.

    Parameters
    ----------
    width, height : int
        Size of a sheet (count of units).
    w, h : array of int, shape (n,)
        Sizes of the pieces (count of units).
    turns : array of int, shape (n,)
        Whether each may turn; one that may counts the way in which it weighs least (count).
    enough : int or None
        What a packing at hand takes: no bound is higher, and none is sought once one is as high (count).

    Returns
    -------
    sheets : int
        No packing takes fewer (count).
    method : str
        What proves it.

    References
    ----------
    own derivation: the product of two dual-feasible functions is one for rectangles
    """
    best, method = -(-int((w * h).sum()) // (width * height)), "area"
    if best == enough:
        return best, method
    may = turns.astype(bool)
    # One side that is too long rules a way of lying out.
    ways = ((w, h, (w <= width) & (h <= height)), (h, w, may & (h <= width) & (w <= height)))
    across = [(_shares(width, np.minimum(a, width), np.union1d(w, h)), _shares(height, np.minimum(b, height), np.union1d(w, h)))
              for a, b, _ in ways]
    other_wholes = np.array([whole for _, whole, _ in across[0][1]])
    heights = [np.array([s[2] for s in shares_b]) for _, shares_b in across]
    for f, (name, whole, _) in enumerate(across[0][0]):
        values = [np.where(open_, shares_a[f][2] * high, _NEVER)
                  for (shares_a, _), high, (_, _, open_) in zip(across, heights, ways, strict=True)]
        needs = -(-np.minimum(*values).sum(axis=1) // (whole * other_wholes))
        k = int(np.argmax(needs))
        if needs[k] > best:
            best, method = int(needs[k]), f"widths: {name}; heights: {across[0][1][k][0]}"
            if best == enough:
                break
    return best, method


def _shares(side: int, lengths: Ints, marks: Ints) -> list[tuple[str, int, Ints]]:
    """Dual-feasible functions of lengths: lengths whose sum is at most the side have values whose sum is at most the whole."""
    shares = [("as they are", side, lengths)]
    shares += [(f"under {k} dropped, over {side - k} whole", side,
                np.where(lengths > side - k, side, np.where((lengths >= k) & (lengths <= side - k), lengths, 0)))
               for k in sorted({int(m) for m in marks.tolist() if 2 * m <= side} | {(side + 1) // 2})]
    for k in range(1, _PARTS + 1):
        times = (k + 1) * lengths
        shares.append((f"rounded to parts of {k}", k * side, np.where(times % side == 0, lengths * k, times // side * side)))
    return shares


def _emptiest_last(w: Ints, h: Ints, place: Ints) -> Ints:
    """The same cutting with the sheets in the order of the area cut from them."""
    out = place.copy()
    on = place[3][place[2][place[0]]]
    area = np.bincount(on, weights=(w * h).astype(np.float64), minlength=len(w))
    rank = np.empty(len(w), dtype=np.int64)
    rank[np.argsort(-area, kind="stable")] = np.arange(len(w))
    out[3] = rank[place[3]]
    return out


def _spots(w: Ints, h: Ints, place: Ints) -> tuple[BinSpot, ...]:
    """Corners of all pieces: taller stacks first on a shelf, taller shelves first on a sheet, wider pieces first in a stack."""
    stacks: dict[int, list[int]] = {}
    for i in range(len(w)):
        stacks.setdefault(int(place[0, i]), []).append(i)
    wide, high = np.where(place[1], h, w), np.where(place[1], w, h)
    shelves: dict[int, list[int]] = {}
    for s in stacks:
        shelves.setdefault(int(place[2, s]), []).append(s)
    tall = {s: int(high[items].sum()) for s, items in stacks.items()}
    spots = [BinSpot(0, 0, 0, False)] * len(w)
    level: dict[int, int] = {}
    for f in sorted(shelves, key=lambda f: (-max(tall[s] for s in shelves[f]), f)):
        sheet, x = int(place[3, f]), 0
        for s in sorted(shelves[f], key=lambda s: (-tall[s], s)):
            y = level.get(sheet, 0)
            for i in sorted(stacks[s], key=lambda i: (-int(wide[i]), i)):
                spots[i] = BinSpot(sheet, x, y, bool(place[1, i]))
                y += int(high[i])
            x += int(wide[stacks[s]].max())
        level[sheet] = level.get(sheet, 0) + max(tall[s] for s in shelves[f])
    return tuple(spots)
