"""What holds for the survey of any room."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from steamwright.geometry.frame import Floats
from steamwright.room.inputs import Survey
from steamwright.room.network import offset_corners
from steamwright.room.shape import settled
from steamwright.room.survey import adjust
from steamwright.room.survey_model import SurveyReport
from steamwright.room.turning import crossings, turn_angles_deg
from steamwright.units import INCH_M
from tests.surveys import NAMES, all_turns, survey_of

QUICK = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])


@st.composite
def plans(draw: st.DrawFn, least: int = 3, most: int = 9) -> Floats:
    """Simple polygons, many with reflex corners, walked either way round."""
    n = draw(st.integers(least, most))
    swings = draw(st.lists(st.floats(-0.3, 0.3), min_size=n, max_size=n))
    radii = draw(st.lists(st.floats(1.0, 2.5), min_size=n, max_size=n))
    angle = 2.0 * math.pi * (np.arange(n) + np.array(swings)) / n
    points = np.array(radii)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    assume(float(np.abs(turn_angles_deg(points)).min()) > 8.0 and not crossings(points))
    flipped: bool = draw(st.booleans())
    return points * np.array([1.0, -1.0]) if flipped else points


def braced(count: int) -> list[tuple[int, int]]:
    """Ties from the first two stations and the middle one to all others: every station is held three times."""
    pairs = {(min(a, b), max(a, b)) for a in (0, 1, count // 2) for b in range(count) if a != b}
    return sorted(p for p in pairs if p[1] - p[0] not in (1, count - 1))


def plan_of(report: SurveyReport) -> Floats:
    return np.array([(s.x_m, s.y_m) for s in report.stations])


@QUICK
@given(plans())
def test_exact_readings_come_back(points: Floats) -> None:
    report = adjust(survey_of(points, braced(len(points)), turns=all_turns(points)), {})
    assert np.abs(plan_of(report) - settled(points)).max() < 1e-7
    assert max(abs(r.residual_m) for r in report.readings) < 1e-8
    assert report.consistent
    assert report.suspect is None
    assert abs(sum(r.redundancy for r in report.readings) - report.dof) < 1e-6


@QUICK
@given(plans(least=4))
def test_mirrored_readings_give_the_mirrored_room(points: Floats) -> None:
    ties = braced(len(points))
    other = {"left": "right", "right": "left"}
    turns = all_turns(points)
    one = adjust(survey_of(points, ties, off_m={0: 0.002}, turns=turns), {})
    two = adjust(survey_of(points, ties, off_m={0: 0.002}, turns={s: other[t] for s, t in turns.items()}), {})
    assert np.abs(plan_of(one) * np.array([1.0, -1.0]) - plan_of(two)).max() < 1e-7
    assert abs(one.chi2 - two.chi2) < 1e-6 * max(one.chi2, 1.0)


def all_ties(count: int) -> list[tuple[int, int]]:
    """Ties between all stations that are not neighbours."""
    return [(a, b) for a in range(count) for b in range(a + 1, count) if b - a not in (1, count - 1)]


@QUICK
@given(plans(least=5), st.data())
def test_misread_inch_is_named_or_doubted_and_no_other_is_named(points: Floats, data: st.DataObject) -> None:
    """All distances were read once: most misreadings can be told, some hang together with another reading."""
    n = len(points)
    k = data.draw(st.integers(0, n * (n - 1) // 2 - 1))
    off = data.draw(st.sampled_from([INCH_M, -INCH_M]))
    report = adjust(survey_of(points, all_ties(n), off_m={k: off}, turns=all_turns(points)), {})
    reading = report.readings[k]
    assume(max(abs(r.standardized) for r in report.readings) > 3.0)
    if reading.redundancy > 0.5:
        assert report.suspect == reading.id
    if report.suspect is None:
        assert reading.of.replace("-", " to ") in report.advice[0]
        assert "Measure" in report.advice[0]
    else:
        assert report.suspect == reading.id
        assert f"measure {reading.of.replace('-', ' to ')} again" in report.advice[0]


@QUICK
@given(plans(most=6), st.data())
def test_misread_inch_is_named_where_all_was_read_three_times(points: Floats, data: st.DataObject) -> None:
    n = len(points)
    pairs = [(k, (k + 1) % n) for k in range(n)] + all_ties(n)
    k = data.draw(st.integers(0, 3 * len(pairs) - 1))
    off = data.draw(st.sampled_from([INCH_M, -INCH_M]))
    report = adjust(survey_of(points, pairs[n:] + pairs + pairs, off_m={k: off}, turns=all_turns(points)), {})
    assert not report.consistent
    assert report.suspect == report.readings[k].id


@QUICK
@given(plans(least=4, most=4), st.integers(0, 5), st.sampled_from([INCH_M, -INCH_M]))
def test_one_redundancy_names_a_reading_that_decides(points: Floats, k: int, off: float) -> None:
    report = adjust(survey_of(points, [(0, 2), (1, 3)], off_m={k: off}, turns=all_turns(points)), {})
    assume(max(abs(r.standardized) for r in report.readings) > 3.0)
    assert report.suspect is None
    name = report.advice[0].split("Measure ")[1].split(" once more")[0]
    i = next(i for i, r in enumerate(report.readings) if r.of.replace("-", " to ") == name)
    # had the advised reading been the wrong one, taking it again would show it
    a, b = (NAMES.index(s) for s in report.readings[i].of.split("-"))
    again = adjust(survey_of(points, [(0, 2), (1, 3), (a, b)], off_m={i: off}, turns=all_turns(points)), {})
    assert again.suspect == report.readings[i].id


@QUICK
@given(plans(least=4), st.randoms(use_true_random=False))
def test_order_of_readings_does_not_matter(points: Floats, random: object) -> None:
    survey = survey_of(points, braced(len(points)), off_m={0: 0.003, 2: -0.002}, turns=all_turns(points))
    rows = list(survey.reading)
    shuffle: Callable[[list[object]], None] = random.shuffle  # type: ignore[attr-defined]
    shuffle(rows)  # type: ignore[arg-type]
    other = Survey(stations=survey.stations, turns=survey.turns, reading=tuple(rows))
    assert np.abs(plan_of(adjust(survey, {})) - plan_of(adjust(other, {}))).max() < 1e-7


@QUICK
@given(plans(least=4), st.data())
def test_readings_on_tile_find_the_framing(points: Floats, data: st.DataObject) -> None:
    n = len(points)
    depths = np.array(data.draw(st.lists(st.floats(0.01, 0.05), min_size=n, max_size=n)))
    sign = 1.0 if turn_angles_deg(points).sum() > 0 else -1.0
    corners = offset_corners(points, depths[None, :], sign)[0].real
    sides = [f"{NAMES[k]}-{NAMES[(k + 1) % n]}" for k in range(n)]
    survey = survey_of(corners, braced(n), turns=all_turns(points), face="tile")
    report = adjust(survey, {(side, face): d for side, d in zip(sides, depths.tolist(), strict=True) for face in {survey.face}})
    assert np.abs(plan_of(report) - settled(points)).max() < 1e-6
