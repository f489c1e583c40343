"""What is told where a covering is not lap-tight: the smallest change that has been tried and mends it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.mends import CROWDED, mend
from steamwright.plan.model import Plan
from tests.built import CATALOG, job_of
from tests.unit.test_placing import box, planned

SKEW = [(0.0, 0.0), (84.5, 1.3), (82.2, 61.4), (-1.1, 59.2)]
BENCH = {"name": "bench", "wall": "C-D", "from": "1 in", "to": "60 in", "depth": "18 in", "height": "18 in", "slope": "1/4 in/ft"}
PLACE = "bench top, 3/8\" along and 1' 2 7/16\" across from its first corner (s 0.013 m, t 0.367 m)"


def skew(**room: Any) -> dict[str, Any]:
    """A room whose walls stand askew, as they do."""
    job = box(room=room)
    for row in job["survey"]["reading"]:
        a, b = ("ABCD".index(name) for name in row["of"].split("-"))
        row["is"] = f"{round(math.dist(SKEW[a], SKEW[b]) * 16)}/16 in"
    return job


def fix(plan: Plan) -> str:
    return next(f.fix for f in plan.findings if f.rule == "covering.lap-tight")


def asked(job: dict[str, Any], failures: list[str], is_tight: Callable[[Job], bool]) -> str:
    plan = planned({**job, "covering": {"effort": 0}})
    return mend(plan.job, plan.room, failures, lambda _: 83.3 * 0.0254, is_tight)


def test_a_bench_in_the_way_of_a_leaning_wall_is_told_where_to_end() -> None:
    """Between its end and the wall a wedge is left that nothing laps; run on to the wall, the room is closed."""
    plan = planned(skew(bench=[BENCH]))
    assert not plan.covering.proof.tight
    assert fix(plan) == "Run bench on to the wall at C: that has been tried, and the covering is lap-tight then."
    assert planned(skew(bench=[{**BENCH, "from": "0 in"}])).covering.proof.tight


def test_nothing_is_tried_where_the_covering_is_lap_tight() -> None:
    plan = planned(box())
    assert plan.mends == fix(plan) == ""


def test_whoever_wants_no_more_of_it_is_heard_before_each_try() -> None:
    class StoppedError(Exception):
        pass

    def tell(words: str) -> None:
        if words == "what would mend it":
            raise StoppedError

    with pytest.raises(StoppedError):
        build(job_of({**skew(bench=[BENCH]), "covering": {"effort": 0}}), CATALOG, tell)


def test_the_smallest_change_that_mends_is_told() -> None:
    job = skew(bench=[BENCH])
    said = asked(job, [f"lap short, 1.0 mm of 50.8 mm: {PLACE}; pieces S5, S8"], lambda j: j.room.bench[0].from_m > 0.07)
    assert said.startswith("End bench 3\" short of the wall at C:")
    assert asked({**job, "units": "metric"}, [f"bare: {PLACE}"], lambda j: j.room.bench[0].from_m > 0.07).startswith("End bench 76 mm")


def test_where_nothing_mends_what_stands_there_is_named() -> None:
    tried: list[Job] = []

    def never(job: Job) -> bool:
        tried.append(job)
        return False
    niche = {"name": "niche", "wall": "A-B", "from": "20 in", "bottom": "44 in", "width": "14 in", "height": "14 in", "depth": "3 1/2 in"}
    said = asked(skew(bench=[BENCH], niche=[niche]), [f"piece K2: no fold between x and y, near {PLACE}"], never)
    assert said.endswith("what stands at those places: bench.")
    assert tried
    assert all(j.room.niche[0].from_m == pytest.approx(20 * 0.0254) for j in tried)
    assert asked(box(), ["no surface of the room is covered by pieces"], never) == CROWDED


def test_a_wish_is_left_out_before_anything_is_moved() -> None:
    job = skew(bench=[BENCH])
    job["covering"] = {"direction": [{"on": "C-D", "sheets": "level"}], "effort": 0}
    plan = planned(job)
    said = mend(plan.job, plan.room, [f"bare: {PLACE}"], lambda _: 2.0, lambda j: not j.covering.direction)
    assert said.startswith("Take out the wish “sheets of C-D level”")


def test_a_drain_moves_before_a_post_does() -> None:
    post = {"name": "post", "at": ["40 in", "40 in"], "size": ["6 in", "6 in"]}
    pan = {"membrane": "bonded", "flat": "8 in", "drain_at": ["40 in", "24 in"]}
    job = skew(column=[post], pan=pan)
    room = planned({**job, "covering": {"effort": 0}}).room
    name = next(f.name for f in room.facets if f.kind.value == "floor" and any(abs(s) + abs(t) > 0 for s, t in f.outline_m))
    side = next(f for f in room.facets if f.name == "post side 1")
    foot = min(side.outline_m, key=lambda p: side.frame.lift([p])[0][2])
    failures = [f"bare: {name}, 1\" along and 1\" across from its first corner (s 0.100 m, t 0.100 m)",
                f"bare: post side 1, 1\" right and 1\" up from its lower left corner (s {foot[0]:.3f} m, t {foot[1]:.3f} m)"]
    assert asked(job, failures, lambda _: True).startswith("Move the drain 1\" in the direction from A to B")
    assert asked(job, failures, lambda j: j.room.column[0].at != (1.016, 1.016)).startswith("Move post 1\"")
