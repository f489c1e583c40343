"""Stock lengths: ours on the open sets, with first and best fit and a plain pattern program with a restricted master as peers.

The restricted master is what is usually written: patterns priced by a plain knapsack, one whole-number solve over those
found, 20 s for all of it. ``cutting_lengths.py [--sets=DIR] [--every=1] [--alone] [family ...]`` runs some families only, ``--alone``
leaves the restricted master out. Times are those of the processor, since other programs may share it.
"""

from __future__ import annotations

import sys
import time
from typing import Any

import highspy
import numpy as np
from cutting_sets import flag, instances, table, words

from steamwright.cutting.leftovers import LengthDemand
from steamwright.cutting.lengths import LengthsCutting, cut_lengths, fit

FAMILIES = ("csp1d_falkenauer", "csp1d_scholl", "csp1d_schwerin", "csp1d_random")


def knapsack(capacity: int, w: list[int], d: list[int], v: list[float]) -> list[int]:
    """Bounded knapsack by one table for each piece, in NumPy."""
    best, tables = np.zeros(capacity + 1), []
    for length, count, value in zip(w, d, v, strict=True):
        taken = np.zeros(capacity + 1, dtype=np.int64)
        base = best
        for k in range(1, min(count, capacity // length) + 1):
            moved = np.full(capacity + 1, -1.0)
            moved[k * length:] = base[: capacity + 1 - k * length] + k * value
            better = moved > best + 1e-12
            best, taken = np.where(better, moved, best), np.where(better, k, taken)
        tables.append(taken)
    left, pattern = capacity, []
    for length, taken in zip(reversed(w), reversed(tables), strict=True):
        pattern.append(int(taken[left]))
        left -= pattern[-1] * length
    return pattern[::-1]


def restricted_master(capacity: int, items: list[list[int]], upper: int, limit_s: float = 20.0) -> tuple[int, int]:
    """Stocks and bound of column generation and one solve over the columns found."""
    start = time.process_time()
    w, d = [i[0] for i in items], [i[1] for i in items]
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("threads", 1)
    for count in d:
        h.addRow(count, highspy.kHighsInf, 0, [], [])
    for k in range(len(w)):
        h.addCol(1.0, 0.0, highspy.kHighsInf, 1, [k], [min(d[k], capacity // w[k])])
    bound, columns = 0, [[min(d[k], capacity // w[k]) if j == k else 0 for j in range(len(w))] for k in range(len(w))]
    while time.process_time() - start < limit_s:
        h.run()
        pattern = knapsack(capacity, w, d, list(h.getSolution().row_dual))
        if sum(p * v for p, v in zip(pattern, h.getSolution().row_dual, strict=True)) < 1.0 + 1e-7:
            bound = int(np.ceil(h.getInfo().objective_function_value - 1e-6))
            break
        columns.append(pattern)
        at = [k for k, p in enumerate(pattern) if p]
        h.addCol(1.0, 0.0, highspy.kHighsInf, len(at), at, [pattern[k] for k in at])
    # Rounding: patterns in order of use as far as what is left wants them, the rest by first fit.
    left, taken, uses = np.array(d), 0, list(h.getSolution().col_value)
    for k in sorted(range(len(uses)), key=lambda k: -uses[k]):
        while uses[k] > 1e-6 and (np.array(columns[k]) <= left).all():
            left, taken, uses[k] = left - columns[k], taken + 1, uses[k] - 1.0
    upper = min(upper, taken + len(fit(capacity, np.array(w), left, False)))
    if upper <= bound:
        return upper, bound
    for k in range(h.getNumCol()):
        h.changeColIntegrality(k, highspy.HighsVarType.kInteger)
    h.setOptionValue("time_limit", max(1.0, limit_s - (time.process_time() - start)))
    h.run()
    value = h.getInfo().objective_function_value
    return min(upper, round(value) if value < 1e9 else upper), bound


def valid(i: dict[str, Any], found: LengthsCutting) -> bool:
    """Checked from outside: every pattern fits and what is cut is at least what is wanted."""
    cut: dict[int, int] = {}
    for p in found.patterns:
        if sum(p.pieces) > i["capacity"]:
            return False
        for piece in p.pieces:
            cut[piece] = cut.get(piece, 0) + p.times
    return all(cut.get(length, 0) >= count for length, count in i["items"]) and found.stocks == sum(p.times for p in found.patterns)


def main(families: list[str], every: int, alone: bool) -> None:
    rows: list[tuple[object, ...]] = []
    for family in families or FAMILIES:
        s = dict.fromkeys(("n", "proven", "valid", "ours", "fit", "peer", "peer proven"), 0)
        longest = total = peer_s = 0.0
        for i in instances(family)[::every]:
            start = time.process_time()
            found = cut_lengths(i["capacity"], [LengthDemand(*d) for d in i["items"]])
            spent = time.process_time() - start
            w, d = (np.array([item[k] for item in i["items"]]) for k in (0, 1))
            simple = min(len(fit(i["capacity"], w, d, tight)) for tight in (False, True))
            start = time.process_time()
            peer, bound = (simple, 0) if alone else restricted_master(i["capacity"], i["items"], simple)
            peer_s += time.process_time() - start
            for key, add in zip(s, (1, found.proven, valid(i, found), found.stocks, simple, peer, peer <= bound), strict=True):
                s[key] += add
            longest, total = max(longest, spent), total + spent
            if not found.proven or found.stocks > i["best"]["value"] or found.lower_bound > i["best"]["value"] or spent > 20.0:
                print(i["name"], found.stocks, "bound", found.lower_bound, "given", i["best"], f"{spent:.1f} s", flush=True)
        rows.append((family, *s.values(), total / s["n"], longest, peer_s / s["n"]))
    table(("family", "n", "proven", "valid", "stocks", "first/best fit", "restricted master", "its proven",
           "mean s", "longest s", "its mean s"), rows)  # fmt: skip


if __name__ == "__main__":
    main(words(), int(flag("every", 1)), "--alone" in sys.argv)
