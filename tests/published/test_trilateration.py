"""Adjustments of distances against printed and independently computed numbers."""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.geometry.frame import Floats
from steamwright.room.approximate import circle_plans
from steamwright.room.inputs import Survey
from steamwright.room.least_squares import assess, best_fit, fit
from steamwright.room.network import Network
from steamwright.room.survey import adjust
from steamwright.room.turning import turn_angles_deg
from steamwright.units import FOOT_M, INCH_M

# Ghilani, Adjustment Computations, example 14.2: control A, B, C and distances to U, in feet.
CONTROL_FT = ((865.40, 4527.15), (2432.55, 2047.25), (2865.22, 27.15))
READ_FT = (6049.00, 4736.83, 5446.49)


def trilateration() -> Network:
    """U measured from three control points, all distances weighted alike (1 ft)."""
    n = 3
    return Network(np.arange(n), np.full(n, 3), np.array(READ_FT) * FOOT_M, np.full(n, FOOT_M), np.zeros(n, dtype=np.int64),
                   np.zeros((1, 4)), np.array([True, True, True, False]))


def start(x_ft: float, y_ft: float) -> Floats:
    """First coordinates with U somewhere."""
    return np.array([*CONTROL_FT, (x_ft, y_ft)]) * FOOT_M


def test_unweighted_solution_residuals_and_precision() -> None:
    net = trilateration()
    found = best_fit(net, circle_plans(net, (0, 0, 0, 0), start(0.0, 0.0)))
    told = assess(net, found.points_m)
    assert found.points_m[3] / FOOT_M == pytest.approx((6861.317, 3727.819), abs=6e-4)
    # residuals as adjusted less measured
    assert told.residual_m / FOOT_M == pytest.approx((-0.037, 0.077, -0.047), abs=6e-4)
    assert told.dof == 1
    assert told.sd_unit_ratio == pytest.approx(0.0977, abs=6e-5)
    sd_ft = told.sd_unit_ratio * np.sqrt(np.diag(told.cofactor)) / FOOT_M
    assert sd_ft == pytest.approx((0.078, 0.154), abs=6e-4)


def test_bad_start_runs_into_the_mirror_and_several_starts_do_not() -> None:
    net = trilateration()
    false = fit(net, start(500.0, 500.0))
    assert false.points_m[3] / FOOT_M == pytest.approx((-2237.9, -367.6), abs=0.06)
    assert assess(net, false.points_m).sd_unit_ratio == pytest.approx(665.8, abs=0.06)
    starts = (start(500.0, 500.0), *circle_plans(net, (0, 0, 0, 0), start(500.0, 500.0)))
    true = best_fit(net, starts)
    assert true.points_m[3] / FOOT_M == pytest.approx((6861.317, 3727.819), abs=6e-4)
    assert assess(net, true.points_m).sd_unit_ratio < 0.1


# Independently computed: a room of four sides and two diagonals, 1/16 in each.
ROOM_IN = {"A-B": 60.25, "B-C": 42.4375, "C-D": 60.4375, "D-A": 42.3125, "A-C": 73.5, "B-D": 73.9375}


def test_room_of_four_sides_and_two_diagonals() -> None:
    survey = Survey.model_validate({
        "stations": ["A", "B", "C", "D"],
        "reading": [{"kind": "wall" if k < 4 else "diagonal", "of": of, "is": f"{inches} in"}
                    for k, (of, inches) in enumerate(ROOM_IN.items())],
    })
    report = adjust(survey, {})
    b, c, d = (np.array((s.x_m, s.y_m)) / INCH_M for s in report.stations[1:])
    assert b == pytest.approx((60.2431, 0.0), abs=6e-5)
    assert c == pytest.approx((60.0251, 42.4321), abs=6e-5)
    assert d == pytest.approx((-0.4054, 42.3057), abs=6e-5)
    assert (report.stations[0].x_m, report.stations[0].y_m) == (0.0, 0.0)
    assert report.dof == 1
    assert report.chi2 == pytest.approx(0.073, abs=6e-4)
    corners = 180.0 - turn_angles_deg(np.array([(s.x_m, s.y_m) for s in report.stations]))
    assert corners == pytest.approx((90.549, 89.706, 90.175, 89.571), abs=6e-4)
    assert report.consistent
    assert report.suspect is None
