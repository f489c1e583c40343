"""The examples: each can be planned, is lap-tight, fails only where it says so, and keeps the contract of plan.json."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from steamwright.covering.places import mm
from steamwright.plan.build import build
from steamwright.plan.document import plan_json
from steamwright.plan.jobfile import read_job
from steamwright.rules.model import Verdict
from tests.built import CATALOG, example

ROOT = Path(__file__).parents[2]
NAMES = ("commercial-tiers", "half-wall-crowded", "home-alcove", "octagon-hip", "rafter-slope", "remodel-curbless")
HONEST_FAILS = {"remodel-curbless": {"survey.consistent", "survey.suspect"}}

FLAGS = {"layers.three"}
"""A practice without a source: where four sheets meet in a corner the crew feathers the bed."""


def test_these_are_the_examples():
    assert sorted(p.stem for p in (ROOT / "examples").glob("*.toml")) == list(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_it_says_what_it_shows_and_that_it_is_invented(name):
    text = (ROOT / "examples" / f"{name}.toml").read_text("utf-8")
    comment = text.split("\n\n")[0].splitlines()
    assert len(comment) >= 3
    assert all(line.startswith("# ") for line in comment)
    assert read_job(text).note.startswith("Invented data")


@pytest.mark.parametrize("name", NAMES)
def test_it_is_lap_tight_with_its_allowance(name):
    covering = example(name).covering
    assert covering.proof.tight, covering.proof.failures
    assert covering.proof.least_lap_m >= covering.lap_required_m
    assert not covering.crowded
    assert covering.proof.where.startswith(f"lap of {mm(covering.proof.least_lap_m)}: ")  # a place, not a complaint


@pytest.mark.parametrize("name", NAMES)
def test_it_fails_only_where_it_says_so(name):
    failed = {f.rule for f in example(name).findings if f.verdict is Verdict.FAIL}
    assert failed - FLAGS == HONEST_FAILS.get(name, set())


@pytest.mark.parametrize("name", NAMES)
def test_its_plan_keeps_the_contract(name):
    schema = json.loads((ROOT / "docs/reference/plan.schema.json").read_text("utf-8"))
    document = json.loads(plan_json(example(name)))
    assert [e.message for e in jsonschema.Draft202012Validator(schema).iter_errors(document)] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_stands_on_one_order_line_and_the_packs_cover_the_need(name):
    plan = example(name)
    listed = sorted(p for line in plan.order for p in line.pieces)
    assert listed == sorted([*(p.id for p in plan.covering.pieces), *(b.id for b in plan.boards.pieces)])
    for line in plan.order:
        assert line.need <= line.packs * line.pack < line.need + line.pack


@pytest.mark.parametrize("name", NAMES)
def test_no_facet_is_a_sliver_and_no_pipe_stands_in_a_corner(name):
    room = example(name).room
    facets = {f.id: f for f in room.facets}
    for facet in facets.values():
        if facet.covering_by == "pieces":
            assert not facet.polygon.buffer(-0.0762 / 2 + 1e-3).is_empty, f"{facet.name} is narrower than 3 in"
    for pipe in room.penetrations:
        from shapely import Point
        outline = facets[pipe.facet].polygon.boundary
        assert outline.distance(Point(pipe.center_m)) - pipe.diameter_m / 2 >= 0.0889 - 1e-9, pipe.name


def test_the_misread_tape_is_singled_out():
    survey = example("remodel-curbless").survey
    suspects = [r.of for r in survey.readings if r.suspect]
    assert suspects == ["B-F"]
    assert not survey.consistent
    assert any("B to F" in a for a in survey.advice)


def test_the_other_surveys_agree_with_themselves():
    for name in NAMES[:-1]:
        assert example(name).survey.consistent


def test_the_same_job_gives_the_same_bytes():
    job = (ROOT / "examples/rafter-slope.toml").read_text("utf-8")
    assert plan_json(build(read_job(job), CATALOG)) == plan_json(example("rafter-slope"))
