"""Strips over walls with openings: number and least seam in both directions, against the exact values and a 0.05 in grid of offsets."""

from __future__ import annotations

import time

from cutting_sets import instances, table

from steamwright.cutting.strip_cover import cover_by_strips, fewest_strips_bound


def chord(rings: list[list[list[float]]], level: float) -> float:
    """Plain section of the region, for the grid that stands in for the simple method."""
    at = sorted(a + (level - b) / (d - b) * (c - a) for ring in rings for (a, b), (c, d) in zip(ring, ring[1:] + ring[:1], strict=True)
                if (b > level) != (d > level))
    return sum(at[k + 1] - at[k] for k in range(0, len(at), 2))


def main() -> None:
    exact = bounded = met = walls = 0
    ours_s = grid_s = 0.0
    ours_seam = grid_seam = edge_seam = 0.0
    for i in instances("strip_cover_derived"):
        w, o = i["roll_width"], i["overlap"]
        outline, holes = [tuple(p) for p in i["outline"]], [[tuple(p) for p in h] for h in i["holes"]]
        walls += 1
        fewest = []
        for name, best in i["directions"].items():
            start = time.perf_counter()
            cover = cover_by_strips(outline, holes, w, o, float(name))
            ours_s += time.perf_counter() - start
            same = cover.strips == best["n"] and abs(cover.seam_m - best["seam"]) <= 5.1e-5  # the set gives four decimals
            exact += same
            if not same:
                print(i["name"], name, "given", best, "found", cover)
            start = time.perf_counter()
            rings = [[list(p) if name == "0" else [p[1], -p[0]] for p in ring] for ring in (i["outline"], *i["holes"])]
            low = min(p[1] for p in rings[0])
            slack = cover.chains[0].slack_m
            grid = [sum(chord(rings, low - t * 0.05 + k * (w - o) + o / 2) for k in range(1, cover.strips))
                    for t in range(int(slack / 0.05) + 1)]
            grid_s += time.perf_counter() - start
            ours_seam, grid_seam, edge_seam = ours_seam + cover.seam_m, grid_seam + min(grid), edge_seam + best["seam_at_zero_offset"]
            fewest.append(cover.strips)
        bound = fewest_strips_bound(outline, holes, w)
        bounded += bound <= min(fewest)
        met += bound == min(fewest)
    table(("strip cover", "figure"), [
        ("walls", walls), ("directions exact, of", f"{exact} of {2 * walls}"), ("bound holds on", bounded), ("bound met on", met),
        ("mean time a direction, ms", 1e3 * ours_s / (2 * walls)), ("grid of 0.05 in, time over ours", grid_s / ours_s),
        ("grid's seam over ours", grid_seam / ours_seam), ("seam from the edge over ours", edge_seam / ours_seam)])  # fmt: skip


if __name__ == "__main__":
    main()
