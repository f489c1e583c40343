"""Random rooms stay lap-tight round pieces that are cut, set or short."""

from __future__ import annotations

from random import Random

import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.covering.cover import cover
from steamwright.covering.proof import prove
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.pinning import piece_pin
from tests.property.rooms import random_case

CATALOG = load_catalog()


@pytest.mark.parametrize("seed", [1, 6, 14])
def test_a_room_is_tight_round_pinned_pieces_and_not_without_them(seed: int) -> None:
    job = Job.model_validate(random_case(seed).job, context={"typed": True})
    plan = build(job, CATALOG)
    rng = Random(seed)
    chosen = rng.sample([p for p in plan.covering.pieces if p.blank_m], 3)
    pins = [piece_pin(plan, p.id) for p in chosen]
    blank_m = pins[0].blank_m or (0.0, 0.0)
    short = pins[0].model_copy(update={"short_m": min(0.1, blank_m[0] / 3), "short_at": rng.choice(["start", "end"])})
    lap_m = job.covering.lap_required_m + job.covering.allowance_m
    for rows, before in (((pins[0],), plan.covering), (tuple(pins), None), ((short,), plan.covering)):
        after = cover(plan.room, job.covering.model_copy(update={"piece": rows}), CATALOG, job.use.code, before=before)
        assert after.proof.tight, after.proof.failures
        assert (after.proof.least_lap_m or 0.0) >= min(plan.covering.proof.least_lap_m or 0.0, lap_m) - 2e-4
        assert len({p.id for p in after.pieces}) == len(after.pieces)
        # one small piece may lie where others still lap; three that are gone leave a hole
        if len(rows) > 1:
            rest = [p for p in after.pieces if p.id not in {row.id for row in rows}]
            assert not prove(plan.room, rest, job.covering.lap_required_m, lap_m).tight
