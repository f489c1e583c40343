"""The snippets of the documentation, each put into the first example: they build, and say what they are there to say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from steamwright.drawing.digest import digest
from steamwright.drawing.scene import Arc
from steamwright.drawing.sheets.plan_view import plan_view
from steamwright.errors import GeometryError, InputError
from steamwright.plan.model import Plan
from steamwright.room.model import CoveredBy
from steamwright.rules.model import Verdict
from tests.built import planned, snippet, with_snippet

ROOT = Path(__file__).parents[2]
INCH_M = 0.0254


def test_all_snippets_build_tight_and_stand_in_the_reference() -> None:
    page = (ROOT / "docs" / "reference" / "job.md").read_text("utf-8")
    names = sorted(p.stem for p in (ROOT / "docs" / "snippets").glob("*.toml"))
    assert names == ["door-in-glass", "door-on-curb", "studs-as-found"]
    for name in names:
        plan = snippet(name)
        assert plan.covering.proof.tight, name
        assert not [f.sentence for f in plan.findings if f.verdict is Verdict.FAIL], name
        assert (ROOT / "docs" / "snippets" / f"{name}.toml").read_text("utf-8").rstrip() in page


@pytest.mark.parametrize(("name", "clear_in"), [("door-in-glass", 28.0), ("door-on-curb", 25.8)])
def test_a_door_is_judged_and_its_leaf_drawn(name: str, clear_in: float) -> None:
    plan = snippet(name)
    found = {f.rule: f for f in plan.findings if f.where == "door"}
    assert found["door.clear-width"].provided == pytest.approx(clear_in, abs=0.1)
    assert found["door.swing"].verdict is Verdict.PASS
    assert next(f for f in plan.findings if f.rule == "door.in-glass").verdict is Verdict.NOT_APPLICABLE
    (leaf,) = [i for layer in plan_view(digest(plan), "02-plan", "2").layers for i in layer.items if isinstance(i, Arc)]
    assert leaf.radius_mm > 5.0


def test_a_leaf_of_glass_leaves_the_room_as_it_is() -> None:
    job = with_snippet("door-in-glass")
    job["room"].pop("opening")
    plain, leafed = planned(job), snippet("door-in-glass")
    assert [f.name for f in plain.room.facets if f.covering_by is CoveredBy.NONE] == ["A-B glass"]
    assert leafed.covering.pieces == plain.covering.pieces


def test_a_leaf_outside_its_glass_and_a_door_without_setback_are_refused() -> None:
    job = with_snippet("door-in-glass")
    job["room"]["opening"][0]["from"] = "60 in"
    with pytest.raises(GeometryError, match="door"):
        planned(job)
    job = with_snippet("door-on-curb")
    del job["room"]["opening"][0]["setback"]
    with pytest.raises(GeometryError, match="no setback"):
        planned(job)


def studs(plan: Plan) -> list[float]:
    """Distances of the studs of B-C from station B. [in]"""
    wall = next(f for f in plan.framing.facets if f.surface == "B-C" and f.kind == "wall")
    b = next(s for s in plan.survey.stations if s.id == "B")
    xs = {round(abs((p.start_m[0] - b.x_m) * wall.frame.u[0] + (p.start_m[1] - b.y_m) * wall.frame.u[1]) / INCH_M, 2)
          for p in plan.boards.supports if p.kind == "stud" and p.facet == wall.id}
    return sorted(xs)


def test_studs_stand_where_a_person_found_them() -> None:
    assert studs(snippet("studs-as-found")) == pytest.approx([12.0, 28.0, 43.5], abs=0.02)
    job = with_snippet("studs-as-found")
    job["room"]["wall"][1]["studs"] = ["10 in"]
    assert studs(planned(job)) == pytest.approx([10.0, 26.0, 42.0], abs=0.02)
    job["room"]["wall"][1]["studs"] = ["70 in"]
    with pytest.raises(InputError, match="stud stands"):
        planned(job)


def bay(job: dict[str, Any], side: str, key: str, value: list[str]) -> tuple[Verdict, float]:
    walls = job["room"]["wall"]
    found = next((w for w in walls if w["side"] == side), None)
    if found is None:
        walls.append(found := {"side": side})
    found[key] = value
    ends = set(side.split("-"))
    finding = next(f for f in planned(job).findings if f.rule == "framing.as-found" and set(f.where.split("-")) == ends)
    return finding.verdict, float(str(finding.provided))


def as_found() -> dict[str, Any]:
    return with_snippet("studs-as-found")


def test_a_bay_too_wide_between_studs_as_found_is_a_finding_and_openings_are_no_bays() -> None:
    assert bay(as_found(), "B-C", "studs", ["12 in", "28 in", "43 1/2 in"]) == (Verdict.PASS, pytest.approx(16.0, abs=0.05))
    assert bay(as_found(), "B-C", "studs", ["12 in", "30 in", "43 1/2 in"]) == (Verdict.FAIL, pytest.approx(18.0, abs=0.05))
    studs = ["16 in", "64 in"]  # the niche takes 32 to 48 in: bays of 16, 16, 16 and what is left of 72 5/16 in
    assert bay(as_found(), "C-D", "studs", studs) == (Verdict.PASS, pytest.approx(16.0, abs=0.05))
    assert bay(as_found(), "D-C", "studs", ["16 in", "60 in"]) == (Verdict.FAIL, pytest.approx(60 - 72.3125 + 32, abs=0.1))
