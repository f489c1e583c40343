"""Several sheet sizes in two stages: cost over the bound, against the published values of two peers on the same bounds."""

from __future__ import annotations

import time
from typing import Any

from cutting_sets import flag, instances, table

from steamwright.cutting.sheets import Sheet, SheetPiece, SheetsCutting, cut_sheets


def valid(i: dict[str, Any], found: SheetsCutting) -> bool:
    """Checked from outside: strips inside the sheet, pieces inside their strips, demand met, cost added up."""
    cut = [0] * len(i["items"])
    for p in found.patterns:
        width, height, _ = i["bins"][p.sheet]
        y = 0
        for s in p.strips:
            if s.y < y:
                return False
            y, x = s.y + s.height, 0
            for q in s.pieces:
                w, h, _ = i["items"][q.piece]
                w, h = (h, w) if q.turned else (w, h)
                if q.x < x or h > s.height or (q.turned and not i["rotation"]):
                    return False
                x = q.x + w
                cut[q.piece] += p.times
            if x > width:
                return False
        if y > height:
            return False
    return all(n >= d for n, (_, _, d) in zip(cut, i["items"], strict=True)) and found.cost == sum(
        p.times * i["bins"][p.sheet][2] for p in found.patterns)


def main(dives: int, nodes: int) -> None:
    rows: list[tuple[object, ...]] = []
    gaps: dict[str, list[list[float]]] = {"oriented": [], "turned": []}
    for i in instances("csp2d_variable_sheets"):
        start = time.process_time()
        found = cut_sheets([Sheet(*b) for b in i["bins"]], [SheetPiece(w, h, d, i["rotation"]) for w, h, d in i["items"]], dives, nodes)
        spent = time.process_time() - start
        bound = i["best"]["lower_bound"]
        known = (i["published"]["furini2012"][0], i["published"]["cintra2008"][0], i["best"]["value"])
        of = [100.0 * (v / bound - 1.0) for v in (found.cost, *known)]
        gaps["turned" if i["rotation"] else "oriented"].append([*of, spent])
        rows.append((i["name"], found.cost, found.lower_bound, f"{bound:.0f}", *of, "yes" if valid(i, found) else "NO", found.work, spent))
    table(("instance", "cost", "bound", "given bound", "gap %", "Furini 2012", "Cintra 2008", "best known", "valid", "work", "s"), rows)
    table(("gap to the given bound, mean %", "ours", "Furini 2012", "Cintra 2008", "best known", "mean s"),
          [(name, *(sum(g[k] for g in of) / len(of) for k in range(5))) for name, of in gaps.items()])


if __name__ == "__main__":
    main(int(flag("dives", 12)), int(flag("nodes", 3000)))
