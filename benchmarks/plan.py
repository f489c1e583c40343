"""How long a plan takes: ``python benchmarks/plan.py``.

Prints the figures for the first example as a whole process and warm, for a room of sixty facets, for a plan after a late
reading, and peak memory. Times are this machine's; beside each stands its ratio to a plain peer in the same run (importing
shapely and numpy, or building the room's solid alone). What layouts save is in ``benchmarks/covering.py``.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from steamwright.buildup.catalog import load_catalog
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.jobfile import read_job
from steamwright.plan.model import Plan
from steamwright.room.inputs import Niche

ROOT = Path(__file__).resolve().parent.parent
EXAMPLE = ROOT / "examples" / "home-alcove.toml"
sys.path.insert(0, str(ROOT))

CATALOG = load_catalog()


def best_of(run: Callable[[], object], times: int = 5) -> float:
    """Shortest of several runs. [s]"""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        spent.append(time.perf_counter() - start)
    return min(spent)


def whole_process() -> None:
    """The command from nothing to all files, and its peak memory."""
    def command() -> None:
        with tempfile.TemporaryDirectory() as out:
            call = [sys.executable, "-c", "from steamwright.cli.main import app; app()", "plan", str(EXAMPLE), "--out", out]
            subprocess.run(call, check=False, capture_output=True)

    peer = best_of(lambda: subprocess.run([sys.executable, "-c", "import numpy, shapely, pydantic"], check=True), 3)
    ours = best_of(command, 3)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"whole process, first example      {ours:6.2f} s   {ours / peer:5.1f} x importing numpy, shapely and pydantic   "
          f"peak {peak:.0f} MB")


def warm(name: str, job: Job) -> Plan:
    """A warm plan beside the survey alone."""
    plan = build(job, CATALOG)
    spent = best_of(lambda: build(job, CATALOG))
    facets, pieces = len(plan.room.facets), len(plan.covering.pieces)
    print(f"{name:<33} {spent:6.2f} s   {facets} facets, {pieces} pieces, tight {plan.covering.proof.tight}")
    return plan


def late_reading(job: Job, before: Plan) -> None:
    """One wall found 1/16 in longer."""
    readings = list(job.survey.reading)
    first = next(k for k, r in enumerate(readings) if r.kind == "wall" and r.is_m is not None)
    longer = readings[first].model_copy(update={"is_m": (readings[first].is_m or 0.0) + 0.0015875})
    readings[first] = longer
    after = job.model_copy(update={"survey": job.survey.model_copy(update={"reading": tuple(readings)})})
    spent = best_of(lambda: build(after, CATALOG, before=before))
    fresh = best_of(lambda: build(after, CATALOG), 3)
    print(f"after a late reading              {spent * 1000:6.0f} ms  {fresh / spent:5.1f} x faster than planning afresh")


def sixty_facets() -> Job:
    """The commercial example with eight niches more."""
    job = read_job((ROOT / "examples" / "commercial-tiers.toml").read_text())
    inch = 0.0254
    rows = [Niche(name=f"niche {wall} {k}", wall=wall, from_m=at * inch, bottom_m=56 * inch, width_m=14 * inch, height_m=12 * inch,
                  depth_m=3.5 * inch, sill_slope=1 / 48)
            for wall, places in (("B-C", (26, 80)), ("C-D", (26, 64, 90, 126)), ("D-A", (26, 84))) for k, at in enumerate(places)]
    first = job.buildup[0]
    buildup = (first.model_copy(update={"on": (*first.on, "niches")}), *job.buildup[1:])
    return job.model_copy(update={"buildup": buildup, "room": job.room.model_copy(update={"niche": tuple(rows)})})


def main() -> None:
    """Print all figures."""
    whole_process()
    job = read_job(EXAMPLE.read_text())
    plan = warm("plan.build, first example, warm", job)
    late_reading(job, plan)
    warm("plan.build, sixty facets, warm", sixty_facets())


if __name__ == "__main__":
    main()
