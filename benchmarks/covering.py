"""How near layouts come to their bound, and what they save: ``python benchmarks/covering.py [rooms] [effort]``.

Random rooms are laid out as a job does by default, by a longer search for the least material, and by the simple method:
every surface by itself and a band on every joint. Prints the spread of the gap to the proven bound, what the layouts save,
processor time, where the gaps come from, and for each room with a large one which part is largest. Fewer rooms than 200 are
taken evenly from them.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from steamwright.buildup.catalog import load_catalog
from steamwright.covering.cover import cover
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.room.model import CoveredBy

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

CATALOG = load_catalog()
LARGE_RATIO = 0.12
EFFORT = 500
ROOMS = 200
FIRST, FIRST_ASKED_S = "first: processor time of covering alone [s]", 0.5


@dataclass(frozen=True, slots=True)
class Losses:
    """Where a gap comes from, each over the bound: laps and legs past it, rectangles round slanted outlines, cutting."""

    laps: float
    rectangles: float
    cutting: float

    def figures(self) -> str:
        """The three parts."""
        return f"laps {self.laps:6.1%}  rectangles {self.rectangles:6.1%}  cutting {self.cutting:6.1%}"

    def words(self) -> str:
        """Say what is weak."""
        blanks = self.rectangles + self.cutting
        weak = "the layout: its blanks hold more than its pieces" if blanks > self.laps else "laps: the layout or the bound, not decided"
        return f"{self.figures()}  weak: {weak}"


def losses(plan: Plan) -> Losses:
    """Part the gap of a plan."""
    covering = plan.covering
    assert covering.bound is not None
    cut = [p for p in covering.pieces if p.blank_m is not None]
    lying = sum(q.polygon.area for p in cut for q in p.patches)
    blanks = sum(p.blank_m[0] * p.blank_m[1] for p in cut if p.blank_m is not None)
    lower, used = covering.bound.lower_m2, covering.bound.used_m2
    return Losses((lying - lower) / lower, (blanks - lying) / lower, (used - blanks) / lower)


def timed(job: dict[str, Any], **covering: Any) -> tuple[Plan, float]:
    """A plan and its processor time. [s]"""
    said = Job.model_validate({**job, "covering": covering}, context={"typed": True})
    start = time.process_time()
    plan = build(said, CATALOG)
    return plan, time.process_time() - start


def first_s(plan: Plan) -> float:
    """Processor time from the room to its first layout, cut and proven. [s]"""
    start = time.process_time()
    cover(plan.room, plan.job.covering.model_copy(update={"effort": 0}), CATALOG, plan.job.use.code)
    return time.process_time() - start


def spread(name: str, values: Sequence[float]) -> None:
    """One line of figures."""
    cuts = statistics.quantiles(values, n=20)
    mean, median = statistics.mean(values), statistics.median(values)
    print(f"{name:<44} mean {mean:7.3f}   5 % {cuts[0]:7.3f}   median {median:7.3f}   95 % {cuts[-1]:7.3f}")


def main() -> None:
    """Print all figures."""
    from tests.property.rooms import random_case

    rooms = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    effort = int(sys.argv[2]) if len(sys.argv) > 2 else EFFORT
    rows: dict[str, list[float]] = {}
    far: list[str] = []
    parts: dict[str, list[Losses]] = {"default": [], "long": []}
    open_ones: dict[str, int] = {}
    for seed in range(0, ROOMS, max(ROOMS // rooms, 1)):
        job = random_case(seed).job
        simple, _ = timed(job, joints="band")
        runs = {"first": timed(job, effort=0), "default": timed(job), "long": timed(job, effort=effort, layout="least material")}
        for name, plan in (("simple", simple), *((n, p) for n, (p, _) in runs.items())):
            open_ones[name] = open_ones.get(name, 0) + (not plan.covering.proof.tight)
        rows.setdefault(FIRST, []).append(first_s(runs["first"][0]))
        for name, (plan, spent_s) in runs.items():
            bound, mine, theirs = plan.covering.bound, plan.covering.account, simple.covering.account
            assert bound is not None
            area = sum(f.area_m2 for f in plan.room.facets if f.covering_by is CoveredBy.PIECES)
            for figure, value in (("processor time of the whole plan [s]", spent_s), ("gap to the bound", bound.gap_ratio),
                                  ("material over area", bound.used_m2 / area), ("bound over area", bound.lower_m2 / area),
                                  ("material saved", 1.0 - mine.material_m2 / theirs.material_m2),
                                  ("seams saved", 1.0 - mine.seam_m / theirs.seam_m), ("pieces saved", 1.0 - mine.pieces / theirs.pieces)):
                rows.setdefault(f"{name}: {figure}", []).append(value)
        for name, lost in parts.items():
            lost.append(losses(runs[name][0]))
        bound = runs["long"][0].covering.bound
        if bound is not None and bound.gap_ratio > LARGE_RATIO:
            far.append(f"room {seed:3d}  gap {bound.gap_ratio:6.1%}  {losses(runs['long'][0]).words()}")
    for name, values in rows.items():
        spread(name, values)
    for name, lost in parts.items():
        mean = Losses(*(statistics.mean(getattr(x, part) for x in lost) for part in ("laps", "rectangles", "cutting")))
        print(f"{name}: where the gap comes from, in the mean: {mean.figures()}")
    print("the default layout weighs minutes and seams beside material: of its gap, what the long one for the least material does not have"
          " is by choice or for want of effort")
    firsts = [rows[name] for name in (FIRST, "first: processor time of the whole plan [s]")]
    alone, whole = (f"{statistics.mean(v):.2f} s in the mean, {max(v):.2f} s at most" for v in firsts)
    under = sum(v <= FIRST_ASKED_S for v in firsts[0])
    print(f"first valid layout within {alone} of processor time, proof and cutting included, whole plan {whole};"
          f" {under} of {len(firsts[0])} within {FIRST_ASKED_S} s")
    print("layouts that are not lap-tight: " + ", ".join(f"{name} {count}" for name, count in open_ones.items()))
    print(f"rooms over {LARGE_RATIO:.0%} after the long search: {len(far)} of {len(rows['long: gap to the bound'])}")
    print("\n".join(far))


if __name__ == "__main__":
    main()
