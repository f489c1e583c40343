"""From readings to stations: the one call that adjusts a survey."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from steamwright.errors import Mistake, SurveyError
from steamwright.geometry.frame import Floats
from steamwright.room.blunder import Judgement, judge
from steamwright.room.chi_square import chi_square_quantile
from steamwright.room.flatness import flatness
from steamwright.room.heights import heights
from steamwright.room.inputs import Survey
from steamwright.room.least_squares import Assessment, assess
from steamwright.room.model import Face
from steamwright.room.network import area_sign, offset_corners
from steamwright.room.plumb import plumb_lines, wall_fixes
from steamwright.room.possible import check_held, check_triangles
from steamwright.room.shape import ABSURD, find_plan
from steamwright.room.survey_model import Advice, ReadingFix, StationFix, SurveyReport
from steamwright.room.taping import (
    REFERENCE_FACES,
    DepthOf,
    LengthReading,
    depth_function,
    length_readings,
    network_of,
    raise_mistakes,
    reading_id,
    wall_of,
)
from steamwright.units import System, format_length


def adjust(survey: Survey, depth_m: DepthOf | Mapping[tuple[str, Face], float], tile_edge_m: float = 0.3048, height_m: float = 2.4,
           system: System = "inch") -> SurveyReport:
    """Find the stations that fit all readings best, and tell how well the readings fit.

    Parameters
    ----------
    survey : Survey
        What was said.
    depth_m : callable or mapping
        From a wall's name ("A-B", in the order of the stations; "floor" and "ceiling" for heights) and a face to the
        thickness between the reference face and that face; asked only for board, membrane and tile. [m]
    tile_edge_m : float
        Longest edge of the tile, for flatness. [m]
    height_m : float
        Height of the walls, where the upper plumb offsets were read. [m]
    system : {"inch", "metric"}
        How the advice prints lengths.

    Returns
    -------
    report : SurveyReport
        Stations in the order of the job, the first at the origin, the second on the x axis; counter-clockwise or
        clockwise as the person walked. Standard deviations are those of the free network (minimum norm), from the
        readings' own standard deviations. ``consistent`` means that chi2 stays below the upper limit of the two-sided
        95 % test; below the lower limit it fits better than a tape can, which the advice mentions.

    Raises
    ------
    SurveyError, JobError
        Readings that cannot be of one room; each with its place and what to measure.

    References
    ----------
    Ghilani-2017, example 14.2 (trilateration); Baarda-1968 (redundancy, standardized residuals)
    """
    depth_of = depth_function(depth_m)
    readings = length_readings(survey)
    lines = plumb_lines(survey, height_m)
    network = network_of(survey, readings, depth_of)
    check_held(survey, network)
    check_triangles(survey, readings, network, system)
    points = find_plan(survey, network, system).points_m
    found = assess(network, points)
    if found.rank < 2 * network.points - network.defect:
        check_held(survey, network, points)
        raise SurveyError("the readings hold the plan too weakly to find every station", path="survey.reading",
                          hint="measure one more tie to a station that stands in line with its neighbours")
    _refuse_absurd(readings, found, system)
    low, high = ((chi_square_quantile(0.025, found.dof), chi_square_quantile(0.975, found.dof)) if found.dof > 0 else (0.0, 0.0))
    judgement = judge(survey, readings, network, found, points, high, system)
    levels = heights(survey, depth_of)
    told = (*judgement.advice, *_too_good(found, low), *levels.advice)
    flat, shims = flatness(survey, lines, tile_edge_m)
    fixes = _reading_fixes(readings, found, judgement)
    return SurveyReport(
        face=survey.face if survey.face in REFERENCE_FACES else Face.FRAMING,
        stations=tuple(StationFix(s, float(points[k, 0]), float(points[k, 1]), float(found.sd_m[k]))
                       for k, s in enumerate(survey.stations)),
        readings=tuple(sorted(fixes + levels.readings, key=lambda f: (len(f.id), f.id))),
        walls=wall_fixes(survey, lines, height_m),
        floor_m=levels.floor_m, ceiling_m=levels.ceiling_m,
        offsets=_offsets(survey, points, depth_of, system),
        dof=found.dof, chi2=found.chi2, chi2_low=low, chi2_high=high,
        consistent=found.dof <= 0 or found.chi2 <= high,
        suspect=None if judgement.suspect is None else readings[judgement.suspect].id,
        advice=tuple(a.sentence for a in told), measure=tuple(a for a in told if a.of),
        flatness=flat, shims=shims)


def _refuse_absurd(readings: tuple[LengthReading, ...], found: Assessment, system: System) -> None:
    """Refuse a best solution that no misread sixteenth explains, such as a false minimum or readings of two rooms."""
    if found.sd_unit_ratio <= ABSURD:
        return
    order = np.argsort(-np.abs(found.standardized), kind="stable")[:3]
    names = ", ".join(readings[i].of for i in order)
    worst = format_length(float(np.abs(found.residual_m).max()), system)
    raise SurveyError(f"the readings cannot be of one room: even the plan that fits best misses one by {worst}; {names} clash most",
                      path=readings[int(order[0])].path, hint=f"measure {names} again, and check the turns and the order of the stations")


def _too_good(found: Assessment, low: float) -> tuple[Advice, ...]:
    """A note where readings fit better than anybody can measure; one check reading alone says little."""
    if found.dof < 3 or found.chi2 >= low:
        return ()
    return (Advice("The readings fit better than a tape can measure: were some of them calculated?"),)


def _reading_fixes(readings: tuple[LengthReading, ...], found: Assessment, judgement: Judgement) -> tuple[ReadingFix, ...]:
    """Readings after the adjustment."""
    return tuple(ReadingFix(r.id, r.kind, r.of, r.face, r.measured_m, float(found.predicted_m[i]), float(found.residual_m[i]), r.sd_m,
                            float(found.standardized[i]), float(found.redundancy[i]), i == judgement.suspect)
                 for i, r in enumerate(readings))


def _offsets(survey: Survey, points_m: Floats, depth_of: DepthOf, system: System) -> tuple[tuple[str, str, float], ...]:
    """Distances along walls from their first station in order, on the reference face."""
    ids, n = survey.stations, len(survey.stations)
    sides = [f"{a}-{b}" for a, b in zip(ids, ids[1:] + ids[:1], strict=True)]
    out, mistakes = [], []
    for i, r in enumerate(survey.reading):
        if r.kind != "offset":
            continue
        path, wall = f"survey.reading[{i}]", wall_of(r.of, ids)
        if wall is None:
            mistakes.append(Mistake(f"{path}.of", f'"{r.of}" is no wall', "name two neighbouring stations, such as A-B"))
            continue
        if r.is_m is None:
            mistakes.append(Mistake(f"{path}.is", f"the offset on {r.of} has no length", 'write such as is = "14 1/2 in"'))
            continue
        k, reversed_name = wall
        face = r.face or survey.face
        depths = np.array([[depth_of(side, face) for side in sides]])
        corners = offset_corners(points_m, depths, area_sign(points_m))[0].real
        along = points_m[(k + 1) % n] - points_m[k]
        length = float(np.hypot(*along))
        begin, end = (float((corners[j] - points_m[k]) @ along) / length for j in (k, (k + 1) % n))
        place = end - r.is_m if reversed_name else begin + r.is_m
        if not -0.002 <= place <= length + 0.002:
            mistakes.append(Mistake(f"{path}.is", f"{format_length(r.is_m, system)} along {r.of} lies outside the wall, which is "
                                    f"{format_length(length, system)} long", "measure from the wall's first-named station"))
            continue
        out.append((reading_id(i), sides[k], place))
    raise_mistakes(mistakes)
    return tuple(out)

