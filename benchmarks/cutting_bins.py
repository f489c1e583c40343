"""Rectangles from like sheets on the open set: ours, and 48 settings of the guillotine packers of a library, in one run.

``cutting_bins.py [--sets=DIR] [--every=1] [--tries=600000] [oriented] [turned] [alone]``; ``alone`` leaves the library out.
Times are those of the processor, since other programs may share it.
"""

from __future__ import annotations

import sys
import time
from typing import Any

import rectpack
from cutting_sets import flag, instances, table, words

from steamwright.cutting.bins import BinPiece, BinsCutting, cut_bins

ALGORITHMS = [getattr(rectpack, f"Guillotine{fit}{split}") for fit in ("Bssf", "Baf") for split in
              ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas")]  # fmt: skip
ORDERS = [rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI]
VARIANTS = {"oriented": "OG3", "turned": "RG3"}


def library(i: dict[str, Any], turned: bool) -> int:
    """Fewest bins of all settings."""
    best = 10**6
    for algorithm in ALGORITHMS:
        for order in ORDERS:
            packer = rectpack.newPacker(rotation=turned, pack_algo=algorithm, sort_algo=order, bin_algo=rectpack.PackingBin.BBF)
            packer.add_bin(*i["bin"], count=float("inf"))
            for w, h, count in i["items"]:
                for _ in range(count):
                    packer.add_rect(w, h)
            packer.pack()
            best = min(best, len(packer))
    return best


def fault(i: dict[str, Any], found: BinsCutting, turned: bool) -> str:
    """Checked from outside: inside, apart, and parted by cuts across, cuts up, cuts across and a trim."""
    width, height = i["bin"]
    sizes = [(w, h) for w, h, count in i["items"] for _ in range(count)]
    rects: dict[int, list[tuple[int, int, int, int]]] = {}
    for (w, h), s in zip(sizes, found.spots, strict=True):
        w, h = (h, w) if s.turned else (w, h)
        if (s.turned and not turned) or min(s.x, s.y) < 0 or s.x + w > width or s.y + h > height:
            return "sticks out or is turned"
        rects.setdefault(s.sheet, []).append((s.x, s.y, w, h))
    if len(rects) != found.sheets:
        return "sheets counted wrong"
    for on in rects.values():
        if any(a[0] < b[0] + b[2] and b[0] < a[0] + a[2] and a[1] < b[1] + b[3] and b[1] < a[1] + a[3]
               for k, a in enumerate(on) for b in on[:k]):
            return "overlap"
        if any(len(parted(stack, 1)) != len(stack) for shelf in parted(on, 1) for stack in parted(shelf, 0)):
            return "not in three stages"
    return ""


def parted(rects: list[tuple[int, int, int, int]], axis: int) -> list[list[tuple[int, int, int, int]]]:
    """Groups that through cuts across an axis part."""
    groups: list[list[tuple[int, int, int, int]]] = []
    end = 0
    for r in sorted(rects, key=lambda r: r[axis]):
        if not groups or r[axis] >= end:
            groups.append([])
        groups[-1].append(r)
        end = max(end, r[axis] + r[axis + 2])
    return groups


def main(variants: list[str], every: int, tries: int) -> None:
    rows: list[tuple[object, ...]] = []
    for variant in variants:
        turned, n, equal, proven, spent, longest, theirs = variant == "turned", 0, 0, 0, 0.0, 0.0, 0.0
        ours = known = peer = 0
        for i in instances("bin2d_classes")[::every]:
            start = time.process_time()
            found = cut_bins(*i["bin"], [BinPiece(w, h, turned) for w, h, count in i["items"] for _ in range(count)], tries)
            took = time.process_time() - start
            wrong = fault(i, found, turned)
            if wrong:
                sys.exit(f"{i['name']}: {wrong}")
            start = time.process_time()
            their = library(i, turned) if "alone" not in words() else 0
            theirs += time.process_time() - start
            best = i["best_variants"][VARIANTS[variant]]
            n, ours, known, peer = n + 1, ours + found.sheets, known + best, peer + their
            equal, proven, spent, longest = equal + (found.sheets <= best), proven + found.proven, spent + took, max(longest, took)
            if found.sheets != best or found.lower_bound > best:
                print(f"{i['name']} {found.sheets}, best known {best}, bound {found.lower_bound}, library {their}, {took:.1f} s",
                      flush=True)
        rows.append((variant, n, ours, known, 100.0 * (ours / known - 1.0), equal, proven, 100.0 * (peer / known - 1.0), spent / n,
                     longest, theirs / n))
    table(("three stages", "n", "sheets", "best known", "over it %", "equal", "proven", "library over it %", "mean s", "longest s",
           "its mean s"), rows)  # fmt: skip


if __name__ == "__main__":
    main([w for w in words() if w in VARIANTS] or list(VARIANTS), int(flag("every", 1)), int(flag("tries", 600_000)))
