"""Carpet pieces and stairs from a roll on the open set: ours, and a plain no-overlap model for the same solver, in one run.

``cutting_shapes.py [--sets=DIR] [--work=120] [--limit=30] [--first=10]``: our work in the solver's own measure, the peer's seconds,
how many instances. Times are those of the processor, of all threads together, and by the clock. The figure asked for, more than half
proven, names no time; the work is chosen so that an instance takes at most about 180 s by the clock on two free cores, the limit under
which the authors of the set gave their own share.
"""

from __future__ import annotations

import sys
import time
from typing import Any

from cutting_sets import flag, instances, table
from ortools.sat.python import cp_model

from steamwright.cutting.roll_shapes import RollRun, RollShape, ShapeRect
from steamwright.cutting.shape_cutting import ShapesCutting, cut_shapes


def ways_of(piece: dict[str, Any]) -> list[tuple[tuple[int, int, int, int], ...]]:
    """Rectangles of a piece, for each way in which it may lie: along, across, length, width."""
    return [tuple((r["os_x"][o - 1], r["os_y"][o - 1], *((r["len"], r["wid"]) if o % 2 else (r["wid"], r["len"]))) for r in piece["rects"])
            for o in piece["orientations"]]


def runs_of(i: dict[str, Any]) -> list[RollRun]:
    return [RollRun(s["len"] // s["steps"], s["wid"], s["steps"], s["min_steps"], s["max_breaks"] + 1) for s in i["stairs"]]


def plain(i: dict[str, Any], limit_s: float) -> tuple[int, int]:
    """Length and bound: optional rectangles for every way, one no-overlap constraint, eight workers."""
    m, width = cp_model.CpModel(), i["roll_width"]
    most = sum(max(p["len"], p["wid"]) for p in i["pieces"]) + sum(s["len"] for s in i["stairs"])
    length = m.new_int_var(0, most, "")
    along, across = [], []

    def box(x: Any, y: Any, size: Any, wide: int, lies: Any) -> None:
        end = m.new_int_var(0, most, "")
        along.append(m.new_optional_interval_var(x, size, end, lies, ""))
        across.append(m.new_optional_fixed_size_interval_var(y, wide, lies, ""))
        m.add(end <= length).only_enforce_if(lies)
        m.add(y + wide <= width).only_enforce_if(lies)

    for p in i["pieces"]:
        ways = ways_of(p)
        chosen = [m.new_bool_var("") for _ in ways]
        m.add_exactly_one(chosen)
        x, y = m.new_int_var(0, most, ""), m.new_int_var(0, width, "")
        for way, lies in zip(ways, chosen, strict=True):
            for a, b, long, wide in way:
                box(x + a, y + b, long, wide, lies)
    for run in runs_of(i):
        steps = []
        for _ in range(run.most_parts):
            n, lies = m.new_int_var(0, run.steps, ""), m.new_bool_var("")
            m.add(n >= run.least_steps).only_enforce_if(lies)
            m.add(n == 0).only_enforce_if(~lies)
            box(m.new_int_var(0, most, ""), m.new_int_var(0, width, ""), n * run.step, run.width, lies)
            steps.append(n)
        m.add(sum(steps) == run.steps)
    m.add_no_overlap_2d(along, across)
    m.minimize(length)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 8, limit_s
    found = solver.solve(m) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (round(solver.objective_value) if found else 0), round(solver.best_objective_bound)


def fault(i: dict[str, Any], found: ShapesCutting) -> str:
    """Checked from outside: inside, apart, runs whole."""
    rects = [(p.x + a, p.y + b, long, wide) for piece, p in zip(i["pieces"], found.places, strict=True)
             for a, b, long, wide in ways_of(piece)[p.way]]
    owners = [k for k, piece in enumerate(i["pieces"]) for _ in piece["rects"]]
    for k, run in enumerate(runs_of(i)):
        mine = [q for q in found.parts if q.run == k]
        if sum(q.steps for q in mine) != run.steps or len(mine) > run.most_parts or any(q.steps < run.least_steps for q in mine):
            return "a stair is parted wrong"
        rects += [(q.x, q.y, q.steps * run.step, run.width) for q in mine]
        owners += [-1 - len(owners) - n for n in range(len(mine))]
    if any(min(x, y) < 0 or x + a > found.length or y + b > i["roll_width"] for x, y, a, b in rects):
        return "sticks out"
    for k, (x, y, a, b) in enumerate(rects):
        if any(owners[k] != owners[j] and x < u + c and u < x + a and y < v + d and v < y + b for j, (u, v, c, d) in enumerate(rects[:k])):
            return "overlap"
    return ""


def main(work: float, limit_s: float, first: int) -> None:
    rows: list[tuple[object, ...]] = []
    for i in instances("carpet_rolls")[:first]:
        start, clock = time.process_time(), time.monotonic()
        shapes = [RollShape(tuple(tuple(ShapeRect(*r) for r in way) for way in ways_of(p))) for p in i["pieces"]]
        found = cut_shapes(i["roll_width"], shapes, runs_of(i), work)
        took, waited = time.process_time() - start, time.monotonic() - clock
        wrong = fault(i, found)
        if wrong:
            sys.exit(f"{i['name']}: {wrong}")
        start = time.process_time()
        peer, bound = plain(i, limit_s) if limit_s else (0, 0)
        gap = 100.0 * (found.length / found.lower_bound - 1.0)
        rows.append((i["name"], found.length, found.lower_bound, gap, found.proven, peer, bound, i["best"]["value"],
                     i["best"]["lower_bound"], took, waited, time.process_time() - start))
        print(*rows[-1], flush=True)
    table(("roll", "ours", "bound", "gap %", "proven", "plain model", "its bound", "given best", "given bound", "s",
           "by the clock", "its s"), rows)
    n = len(rows)
    given = [100.0 * (i["best"]["value"] / i["best"]["lower_bound"] - 1.0) for i in instances("carpet_rolls")[:first]]
    print(f"proven {sum(r[4] is True for r in rows)} of {n}, plain model {sum(r[5] == r[6] for r in rows)}; mean gap "
          f"{sum(float(str(r[3])) for r in rows) / n:.2f} %, given {sum(given) / n:.2f} %")


if __name__ == "__main__":
    main(float(flag("work", 120)), float(flag("limit", 30)), int(flag("first", 10)))
