"""Strip packing on the open sets: ours, and 28 settings of a packing library with a search on the height, in one run.

``cutting_strips.py [--sets=DIR] [--looks=2] [--every=1] [family ...]``; looks in thousand millions, one about 2 to 4 ns of one
core. Times are those of the processor, since other programs may share it.
"""

from __future__ import annotations

import sys
import time

import rectpack
from cutting_sets import flag, instances, table, words

from steamwright.cutting.strip_packing import StripRect, pack_strip

ALGORITHMS = [rectpack.MaxRectsBl, rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.MaxRectsBlsf, rectpack.SkylineBl,
              rectpack.SkylineMwf, rectpack.SkylineBlWm]  # fmt: skip
ORDERS = [rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI]


def fits(width: int, height: int, rects: list[tuple[int, int]], algorithm: type, order: object) -> bool:
    packer = rectpack.newPacker(rotation=False, pack_algo=algorithm, sort_algo=order)
    packer.add_bin(width, height)
    for w, h in rects:
        packer.add_rect(w, h)
    packer.pack()
    return sum(len(b) for b in packer) == len(rects)


def library(width: int, rects: list[tuple[int, int]], low: int, high: int) -> int:
    """Least height at which one of the settings packs everything, by halving."""
    best = high
    for algorithm in ALGORITHMS:
        for order in ORDERS:
            if best - 1 < low or not fits(width, best - 1, rects, algorithm, order):
                continue
            under, over = low - 1, best - 1
            while over - under > 1:
                middle = (under + over) // 2
                under, over = (under, middle) if fits(width, middle, rects, algorithm, order) else (middle, over)
            best = over
    return best


def main(looks: float, every: int, families: list[str]) -> None:
    rows: list[tuple[object, ...]] = []
    for family in families:
        gaps, peers, exact, spent, theirs, n = 0.0, 0.0, 0, 0.0, 0.0, 0
        for i in instances(family)[::every]:
            rects = [(w, h) for w, h, d in i["items"] for _ in range(d)]
            start = time.process_time()
            found = pack_strip(i["width"], [StripRect(*r) for r in rects], looks)
            took = time.process_time() - start
            cells = sorted((p.y, p.x, r) for p, r in zip(found.places, rects, strict=True))
            for k, (y, x, (w, h)) in enumerate(cells):
                if x < 0 or y < 0 or x + w > i["width"] or y + h > found.height or any(
                        v < y + h and y < v + b and u < x + w and x < u + a for v, u, (a, b) in cells[k + 1:]):
                    sys.exit(f"{i['name']}: two rectangles overlap or one sticks out")
            start = time.process_time()
            peer = library(i["width"], rects, i["area_lb"], 2 * i["best"]["value"]) if len(rects) < 400 else 0
            theirs += time.process_time() - start
            best = i["best"]["value"]
            n, spent, exact = n + 1, spent + took, exact + (found.height == best)
            gaps, peers = gaps + found.height / best - 1.0, peers + (peer / best - 1.0 if peer else float("nan"))
            print(f"{i['name']:8} {found.height} of {best}, library {peer}, bound {found.lower_bound}, {took:.1f} s", flush=True)
        rows.append((family, n, exact, 100.0 * gaps / n, 100.0 * peers / n, spent / n, theirs / n))
    table(("family", "n", "optimal", "mean gap %", "library's %", "mean s", "its mean s"), rows)


if __name__ == "__main__":
    main(1e9 * float(flag("looks", 2.0)), int(flag("every", 1)), words() or ["strip_C", "strip_T", "strip_BKW"])
