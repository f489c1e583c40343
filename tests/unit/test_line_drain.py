"""A line drain: the one plane of the floor has to bring water to it from everywhere."""

from __future__ import annotations

import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.room.pan import PanReport

CATALOG = load_catalog()
LAYERS = [{"material": "porcelain tile"}, {"material": "modified dry-set mortar", "thickness": "1/8 in"},
          {"material": "sheet membrane 0.5 perm"}, {"material": "modified dry-set mortar", "thickness": "1/16 in"},
          {"material": "cement board 1/2 in"}]
SIDES = {"A-B": 84.0, "B-C": 36.0, "C-D": 24.0, "D-E": 24.0, "E-F": 60.0, "F-A": 60.0}
TIES = {"A-D": 69.9714, "B-D": 43.2666, "A-E": 84.8528, "B-F": 103.2279}


def pan_of(drain_wall: str) -> PanReport:
    """An ell of 84 by 60 in with a corner of 24 by 24 in taken out."""
    readings = [{"kind": "wall", "of": of, "is": f"{v} in"} for of, v in SIDES.items()]
    readings += [{"kind": "tie", "of": of, "is": f"{v} in"} for of, v in TIES.items()]
    job = {"name": "ell", "survey": {"stations": list("ABCDEF"), "turns": {"D": "right"}, "reading": readings},
           "room": {"ceiling": {"shape": "slope", "low_wall": "F-A", "height": "90 in", "pitch": "2 in/ft"},
                    "pan": {"drain": "line", "drain_wall": drain_wall}},
           "buildup": [{"name": "all", "on": ["walls", "ceiling"], "layers": LAYERS}]}
    return build(Job.model_validate(job, context={"typed": True}), CATALOG).pan


@pytest.mark.parametrize("wall", ["A-B", "F-A"])
def test_a_drain_that_the_whole_floor_falls_to_serves(wall: str) -> None:
    assert pan_of(wall).feasible


@pytest.mark.parametrize(("wall", "pond"), [("C-D", "F"), ("B-C", "E"), ("E-F", "C")])
def test_a_leg_that_falls_to_a_wall_without_a_drain_ponds_and_the_report_says_where(wall: str, pond: str) -> None:
    report = pan_of(wall)
    assert not report.feasible
    assert "Water stands at" in report.sentence
    assert pond in report.sentence.split(":")[0]
