"""Usable leftovers: ours and a plain assignment model for the same solver with eight workers, three solves each."""

from __future__ import annotations

import time
from typing import Any

from cutting_sets import instances, table
from ortools.sat.python import cp_model

from steamwright.cutting.leftovers import LengthDemand, cut_keeping_leftovers


def plain(i: dict[str, Any], limit_s: float = 20.0) -> tuple[list[int], bool]:
    """One variable for every piece and roll, objectives fixed one after the other, no ordering, no hints."""
    pieces = [length for length, count in i["items"] for _ in range(count)]
    rolls = [(r, False) for r in i["remnants"]] + [(r, True) for r in i["new_rolls"] for _ in pieces if r >= max(pieces)][:60]
    m = cp_model.CpModel()
    x = [[m.new_bool_var("") for _ in rolls] for _ in pieces]
    used, keep, scrap = [], [], []
    for row in x:
        m.add_exactly_one(row)
    for k, (length, _) in enumerate(rolls):
        u, q, s = m.new_bool_var(""), m.new_bool_var(""), m.new_int_var(0, i["leftover_min"] - 1, "")
        rest = m.new_int_var(0, length, "")
        m.add(sum(p * x[j][k] for j, p in enumerate(pieces)) + s + rest == length * u)
        m.add(rest >= i["leftover_min"] * q)
        m.add(rest <= length * q)
        m.add(s <= i["leftover_min"] * (1 - q))
        m.add(sum(x[j][k] for j in range(len(pieces))) >= u)
        used.append(u), keep.append(q), scrap.append(s)
    values, proven = [], True
    for goal in (sum(u * r for u, (r, new) in zip(used, rolls, strict=True) if new), sum(scrap), sum(keep)):
        m.minimize(goal)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 8, limit_s
        status = solver.solve(m)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return values, False
        proven &= status == cp_model.OPTIMAL
        values.append(round(solver.objective_value))
        m.add(goal <= values[-1])
    return values, proven


def main() -> None:
    rows: list[tuple[object, ...]] = []
    sums = {"ours": [0, 0, 0.0, 0.0], "plain model, 8 workers": [0, 0, 0.0, 0.0]}
    for i in instances("csul1d_derived"):
        start = time.perf_counter()
        found = cut_keeping_leftovers([LengthDemand(*d) for d in i["items"]], i["new_rolls"], i["remnants"], i["leftover_min"])
        ours = ([found.new_length, found.scrap, found.kept], all(found.proven), time.perf_counter() - start)
        start = time.perf_counter()
        peer = (*plain(i), time.perf_counter() - start)
        for name, (values, proven, spent) in zip(sums, (ours, (peer[0], peer[1], time.perf_counter() - start)), strict=True):
            s = sums[name]
            s[0] += values == i["best"]["value"]
            s[1] += proven
            s[2] += spent
            s[3] = max(s[3], spent)
            if values != i["best"]["value"] or not proven:
                rows.append((name, i["name"], f"{values} of {i['best']['value']}", "proven" if proven else "not proven", spent))
    table(("what", "instance", "value", "proof", "s"), rows)
    table(("leftovers", "exact of 38", "proven", "sum s", "longest s"), [(n, *s) for n, s in sums.items()])
    print(f"time of the plain model over ours: {sums['plain model, 8 workers'][2] / sums['ours'][2]:.2f}")


if __name__ == "__main__":
    main()
