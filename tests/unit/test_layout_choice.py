"""What wishes cost, which other layouts there are, and a search that may be stopped at any time."""

from __future__ import annotations

import json
import re

import pytest

from steamwright.covering.alternatives import DIFFERS_RATIO, find_layouts
from steamwright.covering.model import SoFar
from steamwright.plan.build import build
from steamwright.plan.document import layouts_document, plan_json
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.plan.reread import laid_in
from steamwright.plan.summary import plan_summary
from tests import built
from tests.built import CATALOG
from tests.unit.test_placing import box


def job_of(**covering: object) -> Job:
    return built.job_of(box(covering=covering))


def planned(**covering: object) -> Plan:
    return built.planned(box(covering=covering))


def test_a_wish_costs_what_the_layout_without_it_saves() -> None:
    plain = planned()
    wished = planned(joints="best", fold=[{"from": "A-B", "onto": "B-C", "by": "band"}])
    (cost,) = wished.covering.wish_costs
    assert cost.path == "covering.fold[0]"
    mine, other = wished.covering.account, plain.covering.account
    assert mine.usd > other.usd
    assert cost.cost == mine.less(other)
    assert plain.covering.wish_costs == ()
    assert plan_summary(wished)["wishes"][0]["usd"] == pytest.approx(cost.cost.usd, abs=0.01)
    assert json.loads(plan_json(wished))["covering"]["wish_costs"][0]["cost"]["usd"] == pytest.approx(cost.cost.usd, abs=1e-6)


def test_the_account_adds_up() -> None:
    plan = planned()
    taken, weights = plan.covering.account, plan.job.covering.weights
    assert taken.material_m2 == pytest.approx(sum(s.used_length_m * s.width_m for s in plan.covering.stock))
    assert taken.usd == pytest.approx(taken.material_m2 * weights.membrane_usd_m2 + taken.minutes / 60 * weights.wage_usd_h)
    assert taken.pieces == sum(len(p.members()) for p in plan.covering.pieces if p.blank_m is not None)
    lapped = sum(p.patches[0].polygon.area for p in plan.covering.pieces)
    assert 0.0 < taken.seam_m * plan.covering.lap_planned_m < lapped


def test_alternatives_differ_are_tight_and_come_when_they_are_chosen() -> None:
    plan = build(job_of(), CATALOG, alternatives=True)
    found = plan.covering.alternatives
    assert 2 <= len(found) <= 3
    assert sum(a.chosen for a in found) == 1
    assert all(a.tight for a in found)
    assert [a.account.usd for a in found] == sorted(a.account.usd for a in found)
    assert all(a.differs_ratio >= DIFFERS_RATIO for a in found[1:])
    other = next(a for a in found if not a.chosen)
    taken = planned(**other.choose)
    assert taken.covering.account == other.account
    assert taken.covering.proof.tight


def test_a_search_stopped_at_once_gives_a_tight_plan_that_says_so() -> None:
    plan = build(job_of(), CATALOG, stop=lambda: True)
    assert plan.stopped_early
    assert plan.covering.proof.tight
    assert json.loads(plan_json(plan))["stopped_early"] is True
    ended = build(job_of(), CATALOG, stop=lambda: False)
    assert not ended.stopped_early
    assert plan_json(ended) == plan_json(planned())
    assert ended.covering.account.usd < plan.covering.account.usd


def test_the_search_tells_its_best_and_what_is_least() -> None:
    told: list[str] = []
    plan = build(job_of(effort=60), CATALOG, progress=told.append)
    found = [re.fullmatch(r"layout at (\d+) usd, ([\d.]+) m² of roll; no layout takes less than ([\d.]+) m²", t) for t in told]
    rows = [(float(m[1]), float(m[2]), float(m[3])) for m in found if m]
    assert len(rows) > 3
    assert [usd for usd, _, _ in rows] == sorted((usd for usd, _, _ in rows), reverse=True)
    assert all(used >= lower for _, used, lower in rows)
    assert plan.covering.bound is not None
    assert rows[-1][2] == pytest.approx(plan.covering.bound.lower_m2, abs=0.06)


def test_a_seam_pinned_in_the_mirror_costs_the_same_but_for_the_order_of_the_search() -> None:
    width_m = 60 * 0.0254
    one, other = (planned(seam=[{"on": "C-D", "along": f"{at:.6f} m"}]) for at in (0.6, width_m - 0.6))
    assert one.covering.account.usd == pytest.approx(other.covering.account.usd, rel=0.015)
    assert one.covering.account.material_m2 == pytest.approx(other.covering.account.material_m2, rel=0.015)


def test_a_longer_search_finds_a_cheaper_layout_and_a_plan_can_be_made_from_each() -> None:
    job = job_of()
    plan = planned(effort=0)
    heard: list[SoFar] = []
    found = find_layouts(plan.room, job.covering, CATALOG, "IRC", laid_in(plan_json(plan)), 2, found=heard.append)
    (own,) = (a for a, covering in found if covering is None)
    assert own.chosen
    assert own.account.usd == pytest.approx(plan.covering.account.usd)
    assert found[0][0].name == "searched 2 times as long"
    assert found[0][0].account.usd < own.account.usd
    assert heard[-1].lower_m2 is not None
    assert all(h.lower_m2 == heard[-1].lower_m2 and h.used_m2 > h.lower_m2 for h in heard)
    assert len(found) >= 2
    for alternative, covering in found:
        if covering is not None:
            taken = build(job_of(**alternative.choose), CATALOG, before=plan, layout=covering)
            assert covering.account == alternative.account
            assert taken.covering.account.usd == pytest.approx(covering.account.usd)
            assert [(p.id, len(p.patches)) for p in taken.covering.pieces] == [(p.id, len(p.patches)) for p in covering.pieces]
            assert taken.covering.proof.tight
    rows = layouts_document(found, [str(k) for k in range(len(found))])
    assert [row["pieces"] is None for row in rows] == [a.chosen for a, _ in found]


def test_a_search_that_is_stopped_keeps_its_best_and_tries_no_other_way() -> None:
    job, told = job_of(), list[str]()
    plan = planned()
    stops = iter([False] * 40)
    found = find_layouts(plan.room, job.covering, CATALOG, "IRC", laid_in(plan_json(plan)), 50, told.append,
                         stop=lambda: next(stops, True))
    assert told == ["searched 50 times as long", "proof"]
    assert [a.chosen for a, _ in found][-1] is True
    assert all(a.account.usd < plan.covering.account.usd for a, c in found if c is not None)


def test_a_fresh_layout_that_is_no_cheaper_is_none() -> None:
    job = job_of()
    plan = planned()
    found = find_layouts(plan.room, job.covering, CATALOG, "IRC", laid_in(plan_json(plan)))
    assert all(a.choose or a.chosen for a, _ in found)
    assert sum(a.chosen for a, _ in found) == 1
