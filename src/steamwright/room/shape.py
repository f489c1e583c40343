"""Which of the plans that fit the distances is the room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.errors import NotConvergedError, SurveyError
from steamwright.geometry.frame import Floats
from steamwright.room.approximate import circle_plans, spread_plan, walk_plans
from steamwright.room.chi_square import chi_square_quantile
from steamwright.room.inputs import Survey
from steamwright.room.least_squares import fit
from steamwright.room.network import Network, area_sign, predict
from steamwright.room.turning import UNKNOWN, crossings, patterns, turn_angles_deg, wrong_turns
from steamwright.units import System, format_length

ABSURD = 64.0  # standard deviation of unit weight: four inches on a tape good to a sixteenth
_SAME_M = 0.005
_MIRROR = np.array([1.0, -1.0])
_TRIED = 10  # starts per pattern; they come best first
_FOLDED_M = 0.05  # how far apart two plans are that are not one plan with errors
_MET = 4  # starts that must end in the same plan before it is taken for the best one
_ROUNDED = 1e-6  # chi2 that is nothing but rounding


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """A plan that an iteration ended in; ``wrong`` are stations that turn the other way than said, ``crossed`` walls."""

    points_m: Floats
    chi2: float
    wrong: tuple[int, ...]
    crossed: tuple[tuple[int, int], ...]

    @property
    def is_room(self) -> bool:
        """Whether the walls do not cross and turn as said."""
        return not self.wrong and not self.crossed


def settled(points_m: Floats) -> Floats:
    """A plan moved so that its first corner is the origin and its first side lies along +x.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Corners. [m]

    Returns
    -------
    moved_m : ndarray, shape (n, 2)
        The same shape, not mirrored. [m]

    References
    ----------
    own derivation
    """
    d = points_m - points_m[0]
    e = d[1] / np.hypot(*d[1])
    moved: Floats = np.stack([d @ e, d @ np.array([-e[1], e[0]])], axis=1)
    moved[0] = 0.0
    moved[1, 1] = 0.0
    return moved


def _starts(network: Network, pattern: Sequence[int], said_m: Floats | None) -> Iterator[Floats]:
    """First coordinates, the likeliest first: what was said, a walk, circles, a spread, swung walks."""
    if said_m is not None:
        yield said_m
    walked = walk_plans(network, pattern)
    yield next(walked)
    yield from circle_plans(network, pattern)[:_TRIED]
    spread = spread_plan(network)
    yield from (spread, spread * _MIRROR)
    yield from walked


def _tried(network: Network, pattern: Sequence[int], said_m: Floats | None) -> Iterator[Plan]:
    """Every start followed to its end."""
    for start in _starts(network, pattern, said_m):
        yield from _followed(network, pattern, start)


def _followed(network: Network, pattern: Sequence[int], start_m: Floats) -> Iterator[Plan]:
    """One start followed to its end, if it has one."""
    try:
        found = fit(network, start_m)
    except (NotConvergedError, np.linalg.LinAlgError):
        return
    points = found.points_m
    if not np.isfinite(points).all() or np.hypot(*(points[1] - points[0])) < 1e-6:
        return
    if not any(pattern) and turn_angles_deg(points).sum() < 0:
        points = points * _MIRROR
    yield Plan(settled(points), found.chi2, wrong_turns(points, pattern), crossings(points))


def _said_points(survey: Survey) -> Floats | None:
    """Approximate coordinates, if every station has them."""
    if any(s not in survey.approximate for s in survey.stations):
        return None
    return np.array([survey.approximate[s] for s in survey.stations], float)


def _patterns(survey: Survey, said_m: Floats | None) -> tuple[tuple[int, ...], ...]:
    """Turn patterns to try; clear turns of approximate coordinates count as said."""
    if said_m is None:
        return patterns(survey.stations, survey.turns)
    turn = turn_angles_deg(said_m)
    seen = tuple(int(np.sign(t)) if abs(t) > 20.0 else UNKNOWN for t in turn)
    named = {"left": 1, "right": -1}
    return (tuple(named[survey.turns[s]] if s in survey.turns else t for s, t in zip(survey.stations, seen, strict=True)),)


def find_plan(survey: Survey, network: Network, system: System = "inch") -> Plan:
    """The plan that the readings and the turns describe.

    Parameters
    ----------
    survey : Survey
        What was said: turns and approximate coordinates.
    network : Network
        The readings.
    system : {"inch", "metric"}
        How lengths are printed.

    Returns
    -------
    plan : Plan
        Of the plans that turn as said and do not cross themselves, the one that fits best.

    Raises
    ------
    SurveyError
        No plan is a room, or two different ones fit and nothing says which is meant.

    References
    ----------
    own derivation; false minima of trilateration: Ghilani-2017, example 14.2
    """
    said_m = _said_points(survey)
    limit = chi_square_quantile(0.975, network.dof) if network.dof > 0 else _ROUNDED
    every: list[Plan] = []
    for pattern in _patterns(survey, said_m):
        fitting: list[Plan] = []
        for plan in _ends(network, pattern, said_m, limit):
            every.append(plan)
            if plan.is_room and plan.chi2 <= limit and not any(_same(plan, other) for other in fitting):
                fitting.append(plan)
        if len(fitting) == 1 and any(pattern) and said_m is None:
            fitting += _rivals(network, pattern, fitting[0], limit)
        if len(fitting) > 1:
            raise _ambiguous(survey, fitting, system)
        if fitting:
            return fitting[0]
        near = _nearest(every)
        if near is not None and near.is_room and near.chi2 <= network.dof * ABSURD**2:
            return near
    rooms = [p for p in every if p.is_room]
    if not rooms or any(p.chi2 <= limit for p in every):
        raise _no_room(survey, every)
    return min(rooms, key=lambda p: p.chi2)


def _nearest(plans: list[Plan]) -> Plan | None:
    """The plan of lowest chi2."""
    return min(plans, key=lambda p: p.chi2, default=None)


def _same(a: Plan, b: Plan) -> bool:
    """Whether two plans are one and the same."""
    return float(np.abs(a.points_m - b.points_m).max()) < _SAME_M


def _rivals(network: Network, pattern: Sequence[int], plan: Plan, limit: float) -> list[Plan]:
    """Another room that fits as well: a part of the plan can fold over without any reading or turn noticing."""
    circles = [settled(start) for start in circle_plans(network, pattern)]
    starts = [p for p in circles if _may_rival(network, pattern, plan, p)]
    if not circles:
        spread = spread_plan(network)
        starts = [spread, spread * _MIRROR, *walk_plans(network, pattern)]
    for start in starts:
        for rival in _followed(network, pattern, start):
            if rival.is_room and rival.chi2 <= limit and not _same(rival, plan):
                return [rival]
    return []


def _may_rival(network: Network, pattern: Sequence[int], plan: Plan, points_m: Floats) -> bool:
    """Whether a plan from circles is another room than the one found, and comes near all readings."""
    if np.abs(points_m - plan.points_m).max() < _FOLDED_M or wrong_turns(points_m, pattern) or crossings(points_m):
        return False
    off = predict(network, points_m, area_sign(points_m)).real - network.measured_m
    return float(np.abs(off).max()) < _FOLDED_M


def _ends(network: Network, pattern: Sequence[int], said_m: Floats | None, limit: float) -> Iterator[Plan]:
    """Plans that the starts of a pattern end in, as long as they can teach something.

    A room that fits and turns as said is the answer. One that does not fit, with a misread tape in it, is taken for the
    best of its pattern when several starts have ended there and none lower.
    """
    lowest: Plan | None = None
    met = 0
    for plan in _tried(network, pattern, said_m):
        yield plan
        if not plan.is_room:
            continue
        if any(pattern) and plan.chi2 <= limit:
            return
        if lowest is None or (plan.chi2 < lowest.chi2 and not _same(plan, lowest)):
            lowest, met = plan, 0
        met += _same(plan, lowest)
        if met == _MET:
            return


def _ambiguous(survey: Survey, rooms: list[Plan], system: System) -> SurveyError:
    """Two rooms fit: ask for the distance in which they differ most."""
    ids, (a, b) = survey.stations, (np.hypot(*(r.points_m[:, None] - r.points_m[None]).transpose(2, 0, 1)) for r in rooms[:2])
    i, j = (int(k) for k in np.unravel_index(int(np.argmax(np.round(np.abs(a - b), 6))), a.shape))
    one, other = format_length(float(a[i, j]), system), format_length(float(b[i, j]), system)
    way = "give approximate coordinates" if set(ids) <= set(survey.turns) else "say how every station turns"
    return SurveyError("the readings fit two different rooms", path="survey.reading",
                       hint=f"measure {ids[i]} to {ids[j]}, which is {one} in one of them and {other} in the other, or {way}")


def _no_room(survey: Survey, every: list[Plan]) -> SurveyError:
    """Why no plan is a room, in terms of the one that comes nearest."""
    ids = survey.stations
    if not every:
        return SurveyError("the readings lead to no plan", path="survey.reading", hint="give approximate coordinates of the stations")
    best = min(every, key=lambda p: (round(p.chi2, 9), len(p.crossed), len(p.wrong)))
    sides = [f"{a}-{b}" for a, b in zip(ids, ids[1:] + ids[:1], strict=True)]
    if best.crossed:
        i, j = best.crossed[0]
        return SurveyError(f"walls {sides[i]} and {sides[j]} cross in the plan that fits the readings best", path="survey.stations",
                           hint="list the stations in the order of a walk round the room, and check the readings and the turns at "
                                f"{ids[i]} and {ids[j]}")
    names = " and ".join(ids[k] for k in best.wrong[:3])
    return SurveyError(f"the readings make the plan turn the other way at {names} than said", path="survey.turns",
                       hint="walk the stations in order and say left or right as you turn, looking from above; or give approximate "
                            "coordinates")
