"""Three-stage cuttings of like sheets, changed again and again: shelves across the sheet, stacks across a shelf, pieces in a stack."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.cutting.compiling import compiled

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

# Rows of the measures of what is filled.
STACK_W, STACK_H, STACK_N, SHELF_W, SHELF_H, SHELF_N, BIN_H, BIN_N = 0, 1, 2, 3, 4, 5, 6, 7
# Rows of what says where a piece is: stack of a piece and whether it is turned, shelf of a stack, bin of a shelf.
STACK_OF, TURNED, SHELF_OF, BIN_OF = 0, 1, 2, 3


@compiled
def _measure(w: Ints, h: Ints, place: Ints, filled: Ints) -> None:
    """Sizes of stacks, shelves and bins from where the pieces are."""
    n = len(w)
    filled[:, :] = 0
    for i in range(n):
        s = place[STACK_OF, i]
        if s >= 0:
            wide, high = (h[i], w[i]) if place[TURNED, i] else (w[i], h[i])
            filled[STACK_W, s] = max(filled[STACK_W, s], wide)
            filled[STACK_H, s] += high
            filled[STACK_N, s] += 1
    for s in range(n):
        if filled[STACK_N, s] > 0:
            f = place[SHELF_OF, s]
            filled[SHELF_W, f] += filled[STACK_W, s]
            filled[SHELF_H, f] = max(filled[SHELF_H, f], filled[STACK_H, s])
            filled[SHELF_N, f] += 1
    for f in range(n):
        if filled[SHELF_N, f] > 0:
            b = place[BIN_OF, f]
            filled[BIN_H, b] += filled[SHELF_H, f]
            filled[BIN_N, b] += 1


@compiled
def _insert(width: int, height: int, w: Ints, h: Ints, i: int, turns: Ints, bins: int, like: Floats, place: Ints, filled: Ints) -> bool:
    """Put a piece where it costs the least space: onto a stack, beside one, or on a shelf of its own."""
    n = len(w)
    above, beside, grown = like[0], like[1], like[2]
    best, kind, at, turn = 1e18, 0, -1, 0
    for t in range(2 if turns[i] and w[i] != h[i] else 1):
        wide, high = (h[i], w[i]) if t else (w[i], h[i])
        if wide > width or high > height:
            continue
        for s in range(n):
            if filled[STACK_N, s] == 0:
                continue
            f = place[SHELF_OF, s]
            dw = max(0, wide - filled[STACK_W, s])
            dh = max(0, filled[STACK_H, s] + high - filled[SHELF_H, f])
            if dw <= width - filled[SHELF_W, f] and dh <= height - filled[BIN_H, place[BIN_OF, f]]:
                cost = (filled[STACK_W, s] + dw - wide) * high + dw * filled[STACK_H, s] + grown * dh * (width - wide)
                cost *= 0.9 + 0.2 * np.random.random()  # noqa: NPY002
                if cost < best:
                    best, kind, at, turn = cost, 1, s, t
        for f in range(n):
            if filled[SHELF_N, f] == 0 or wide > width - filled[SHELF_W, f]:
                continue
            dh = max(0, high - filled[SHELF_H, f])
            if dh <= height - filled[BIN_H, place[BIN_OF, f]]:
                cost = above * (filled[SHELF_H, f] + dh - high) * wide + grown * dh * (width - wide)
                cost *= 0.9 + 0.2 * np.random.random()  # noqa: NPY002
                if cost < best:
                    best, kind, at, turn = cost, 2, f, t
        empty = False
        for b in range(bins):
            # Empty bins are all alike.
            if high > height - filled[BIN_H, b] or (empty and filled[BIN_N, b] == 0):
                continue
            cost = beside * (width - wide) * high + (like[3] * width * height if filled[BIN_N, b] == 0 else 0.0)
            cost *= 0.9 + 0.2 * np.random.random()  # noqa: NPY002
            empty = empty or filled[BIN_N, b] == 0
            if cost < best:
                best, kind, at, turn = cost, 3, b, t
    if kind == 0:
        return False
    _put(w, h, i, kind, at, turn, place, filled)
    return True


@compiled
def _put(w: Ints, h: Ints, i: int, kind: int, at: int, turn: int, place: Ints, filled: Ints) -> None:
    """Carry out an insertion and keep the sizes."""
    wide, high = (h[i], w[i]) if turn else (w[i], h[i])
    place[TURNED, i] = turn
    shelf = stack = 0
    if kind == 3:
        while filled[SHELF_N, shelf] > 0:
            shelf += 1
        place[BIN_OF, shelf] = at
        filled[BIN_N, at] += 1
    elif kind == 2:
        shelf = at
    if kind >= 2:
        while filled[STACK_N, stack] > 0:
            stack += 1
        place[SHELF_OF, stack] = shelf
        filled[SHELF_N, shelf] += 1
    else:
        stack = at
        shelf = place[SHELF_OF, stack]
    place[STACK_OF, i] = stack
    filled[STACK_N, stack] += 1
    dw = max(0, wide - filled[STACK_W, stack])
    filled[STACK_W, stack] += dw
    filled[SHELF_W, shelf] += dw
    filled[STACK_H, stack] += high
    dh = max(0, filled[STACK_H, stack] - filled[SHELF_H, shelf])
    filled[SHELF_H, shelf] += dh
    filled[BIN_H, place[BIN_OF, shelf]] += dh


@compiled
def _take_out(bins: int, place: Ints, filled: Ints) -> None:
    """Take pieces out: whole bins, shelves, stacks, or single pieces, of a few bins."""
    n = place.shape[1]
    kind = np.random.random()  # noqa: NPY002
    if kind < 0.15:
        for _ in range(1 + np.random.randint(max(2, n // 8))):  # noqa: NPY002
            place[STACK_OF, np.random.randint(n)] = -1  # noqa: NPY002
        return
    count = 1 + int(3 * np.random.random() * np.random.random())  # noqa: NPY002
    for _ in range(count):
        b = np.random.randint(bins)  # noqa: NPY002
        part = 1.0 if kind < 0.5 else 0.3 + 0.5 * np.random.random()  # noqa: NPY002
        for f in range(n):
            if filled[SHELF_N, f] == 0 or place[BIN_OF, f] != b:
                continue
            whole = kind >= 0.8 or np.random.random() < part  # noqa: NPY002
            for s in range(n):
                if filled[STACK_N, s] > 0 and place[SHELF_OF, s] == f and whole and (
                        kind < 0.8 or np.random.random() < part):  # noqa: NPY002
                    for i in range(n):
                        if place[STACK_OF, i] == s:
                            place[STACK_OF, i] = -1


@compiled
def _put_back(width: int, height: int, w: Ints, h: Ints, turns: Ints, bins: int, opening: float, place: Ints, filled: Ints,
              key: Floats) -> None:
    """Insert what is out, in an order of its own each time."""
    n = len(w)
    rule = np.random.randint(5)  # noqa: NPY002
    noise = 0.5 * np.random.random() ** 2  # noqa: NPY002
    like = np.array([0.2 + 0.8 * np.random.random(), 0.6 * np.random.random(), 0.2 + 0.8 * np.random.random(), opening])  # noqa: NPY002
    count = 0
    for i in range(n):
        key[i] = -1.0
        if place[STACK_OF, i] >= 0:
            continue
        count += 1
        if rule == 0:
            key[i] = w[i] * h[i]
        elif rule == 1:
            key[i] = h[i]
        elif rule == 2:
            key[i] = w[i]
        elif rule == 3:
            key[i] = max(w[i], h[i])
        else:
            key[i] = w[i] + h[i]
        key[i] *= 1.0 - noise * np.random.random()  # noqa: NPY002
    for _ in range(count):
        i = int(np.argmax(key))
        key[i] = -1.0
        _insert(width, height, w, h, i, turns, bins, like, place, filled)


@compiled
def _missing(weight: Floats, place: Ints) -> float:
    out = 0.0
    for i in range(len(weight)):
        if place[STACK_OF, i] < 0:
            out += weight[i]
    return out


@compiled
def first_cutting(width: int, height: int, w: Ints, h: Ints, turns: Ints, tries: int, seed: int) -> tuple[Ints, int]:
    """The fewest bins of several cuttings made by insertion alone.

    Parameters
    ----------
    width, height : int
        Size of a bin (count of units).
    w, h : array of int, shape (n,)
        Sizes of the pieces (count of units).
    turns : array of int, shape (n,)
        Whether each may turn (count).
    tries : int
        Cuttings made (count).
    seed : int
        Seed of their differences (count).

    Returns
    -------
    place : array of int, shape (4, n)
        Stack of each piece, whether it is turned, shelf of each stack, bin of each shelf (count).
    bins : int
        Bins used (count).

    References
    ----------
    own derivation
    """
    n = len(w)
    np.random.seed(seed)  # noqa: NPY002
    filled, key = np.zeros((8, n), dtype=np.int64), np.zeros(n)
    kept, fewest = np.zeros((4, n), dtype=np.int64), n + 1
    for _ in range(tries):
        place = np.zeros((4, n), dtype=np.int64)
        place[STACK_OF, :] = -1
        filled[:, :] = 0
        _put_back(width, height, w, h, turns, n, 100.0, place, filled, key)
        bins = 0
        for b in range(n):
            bins += 1 if filled[BIN_N, b] > 0 else 0
        if bins < fewest:
            fewest = bins
            kept[:, :] = place
    return kept, fewest


@compiled
def refit(width: int, height: int, w: Ints, h: Ints, turns: Ints, bins: int, place: Ints, tries: int, heat: float,
          seed: int) -> tuple[bool, int]:
    """Bring all pieces into a number of bins by taking some out and putting them back.

    What stays out weighs by its area and more the longer it has been out; worse cuttings are accepted now and then, less
    and less.

    Parameters
    ----------
    width, height : int
        Size of a bin (count of units).
    w, h : array of int, shape (n,)
        Sizes of the pieces (count of units).
    turns : array of int, shape (n,)
        Whether each may turn (count).
    bins : int
        Bins there are (count).
    place : array of int, shape (4, n)
        Where to begin; what is in other bins is taken out. Holds the cutting at the end, -1 as stack of what is out (count).
    tries : int
        Most changes tried (count).
    heat : float
        Part of a mean piece by which a cutting may be worse at the beginning (ratio).
    seed : int
        Seed of the changes (count).

    Returns
    -------
    found : bool
        Whether nothing is out.
    tried : int
        Changes tried (count).

    References
    ----------
    own derivation
    """
    n = len(w)
    np.random.seed(seed)  # noqa: NPY002
    filled, key = np.zeros((8, n), dtype=np.int64), np.zeros(n)
    weight = (w * h).astype(np.float64)
    mean = weight.mean()
    for i in range(n):
        if place[STACK_OF, i] >= 0 and place[BIN_OF, place[SHELF_OF, place[STACK_OF, i]]] >= bins:
            place[STACK_OF, i] = -1
    now = _missing(weight, place)
    kept = place.copy()
    for tried in range(tries):
        if now <= 0.0:
            return True, tried
        _measure(w, h, place, filled)
        _take_out(bins, place, filled)
        _measure(w, h, place, filled)
        _put_back(width, height, w, h, turns, bins, 0.0, place, filled, key)
        out = _missing(weight, place)
        if out <= now - np.log(1.0 - np.random.random()) * heat * mean * (1.0 - tried / tries):  # noqa: NPY002
            now = out
            kept[:, :] = place
        else:
            place[:, :] = kept
        if tried % 16 == 0:
            for i in range(n):
                if place[STACK_OF, i] < 0:
                    weight[i] += 0.02 * w[i] * h[i]
            now = _missing(weight, place)
    return now <= 0.0, tries
