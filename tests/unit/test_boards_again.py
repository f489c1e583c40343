"""Boards of a room whose readings have changed: direction and order of cutting are kept while that takes no more boards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from steamwright.covering.boards.model import Boards
from steamwright.covering.boards.offsets import Edge, offset_region
from steamwright.cutting.boards import BoardCutting, cut_boards
from steamwright.cutting.rolls import Blank
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.room.model import FacetKind
from tests.built import CATALOG, example

LONGER_M = 0.0015875


def planned() -> Plan:
    return example("home-alcove")


def longer(job: Job) -> Job:
    """The same job with its first wall found a little longer."""
    rows = list(job.survey.reading)
    k = next(k for k, r in enumerate(rows) if r.kind == "wall" and r.is_m is not None)
    rows[k] = rows[k].model_copy(update={"is_m": (rows[k].is_m or 0.0) + LONGER_M})
    return job.model_copy(update={"survey": job.survey.model_copy(update={"reading": tuple(rows)})})


def planned_again(boards: Boards) -> Boards:
    return build(longer(planned().job), CATALOG, before=replace(planned(), boards=boards)).boards


def test_a_direction_is_kept_even_where_the_other_is_as_good() -> None:
    boards = planned().boards
    assert planned_again(boards).course_axis == boards.course_axis
    plenty = replace(boards, course_axis={key: 1 - axis for key, axis in boards.course_axis.items()}, stock=boards.stock * 2)
    assert planned_again(plenty).course_axis == plenty.course_axis


def test_boards_are_cut_in_the_order_of_before_while_that_takes_no_more_of_them() -> None:
    boards = planned().boards
    turned = {name: replace(cutting, spots=cutting.spots[::-1]) for name, cutting in boards.cuttings.items()}
    for given_before in (boards.cuttings, turned):
        again = planned_again(replace(boards, cuttings=given_before))
        for name, cutting in again.cuttings.items():
            assert len(cutting.used_length_m) <= len(boards.cuttings[name].used_length_m)
            if len(given_before[name].used_length_m) >= len(packed(again, name, given_before)):
                assert [s.blank for s in cutting.spots] == [s.blank for s in given_before[name].spots]
    one_less = {name: replace(cutting, used_length_m=cutting.used_length_m[:-1]) for name, cutting in turned.items()}
    assert planned_again(replace(boards, cuttings=one_less)).cuttings == planned_again(replace(boards, cuttings={})).cuttings


def packed(boards: Boards, name: str, cuttings: Mapping[str, BoardCutting]) -> set[int]:
    """The boards that an order takes with the sizes of now."""
    size = {b.id: b.blank_m for b in boards.pieces}
    item = next(s for s in boards.stock if s.item == name)
    blanks = [Blank(s.blank, *size[s.blank], may_turn=True) for s in cuttings[name].spots]
    plenty = replace(cuttings[name], used_length_m=(0.0,) * 999)
    return {s.roll for s in cut_boards(blanks, item.length_m, item.width_m, before=plenty).spots}


def test_more_boards_than_before_means_laying_afresh() -> None:
    boards = planned().boards
    turned = replace(boards, course_axis={key: 1 - axis for key, axis in boards.course_axis.items()}, stock=boards.stock[:-1])
    assert planned_again(turned) == build(longer(planned().job), CATALOG).boards


@given(st.tuples(*[st.floats(0.0, 0.03)] * 4), st.floats(0.3, 3.0), st.floats(0.3, 3.0), st.floats(-0.008, 0.008), st.booleans())
def test_a_rectangle_is_drawn_in_by_what_each_side_loses(deduct: tuple[float, ...], width: float, height: float, lean: float,
                                                          split: bool) -> None:
    corners = [(0.0, 0.0), (width, 0.0), (width + lean * height, height), (lean * height, height)]
    edges = []
    for k, (p, q) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        stretches = ((p, middle), (middle, q)) if split else ((p, q),)
        edges += [Edge(a, b, FacetKind.WALL, 90.0, deduct[k]) for a, b in stretches]
    shape = shapely.Polygon(corners)
    # a side loses what lies within its deduction of the whole line that it lies on
    lost = [shapely.LineString([(p[0] - 9 * (q[0] - p[0]), p[1] - 9 * (q[1] - p[1])), (q[0] + 9 * (q[0] - p[0]), q[1] + 9 * (q[1] - p[1]))])
            .buffer(d, cap_style="flat") for p, q, d in zip(corners, corners[1:] + corners[:1], deduct, strict=True)]
    found = offset_region(shape, edges)
    assert found.symmetric_difference(shape.difference(shapely.union_all(lost))).area < 1e-9 + 1e-12 / (1 - abs(lean))


@pytest.mark.parametrize("deduct", [0.2, 0.3])
def test_nothing_is_left_of_a_rectangle_that_is_too_narrow(deduct: float) -> None:
    corners = [(0.0, 0.0), (2.0, 0.0), (2.0, 0.4), (0.0, 0.4)]
    edges = [Edge(p, q, FacetKind.WALL, 90.0, deduct) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)]
    assert offset_region(shapely.Polygon(corners), edges).is_empty


def test_a_side_with_two_deductions_keeps_its_step() -> None:
    corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    edges = [Edge((0.0, 0.0), (0.5, 0.0), FacetKind.WALL, 90.0, 0.1), Edge((0.5, 0.0), (1.0, 0.0), FacetKind.WALL, 90.0, 0.0),
             *(Edge(p, q, FacetKind.WALL, 90.0, 0.0) for p, q in zip(corners[1:], [*corners[2:], corners[0]], strict=True))]
    assert offset_region(shapely.Polygon(corners), edges).area == pytest.approx(0.95, abs=1e-6)
