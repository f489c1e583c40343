"""Whether readings can belong to any room at all: enough of them, and no side longer than the way round."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from steamwright.errors import Mistake, SurveyError
from steamwright.geometry.frame import Floats
from steamwright.room.inputs import Survey
from steamwright.room.network import Ints, Network, jacobian
from steamwright.room.taping import LengthReading, raise_mistakes
from steamwright.units import System, format_length

_LOOSE = 1e-5  # how little a motion of the plan by 1 must change every reading to count as unseen


def check_triangles(survey: Survey, readings: tuple[LengthReading, ...], network: Network, system: System) -> None:
    """Refuse a reading that is longer than the way round over other readings.

    Parameters
    ----------
    survey : Survey
        What was said.
    readings : tuple of LengthReading
        Distances between stations.
    network : Network
        The same as a net.
    system : {"inch", "metric"}
        How lengths are printed.

    Raises
    ------
    SurveyError, JobError
        With the readings that clash and what to measure again.

    References
    ----------
    own derivation: shortest paths (Floyd, Warshall); four standard deviations and, between faces, the depths are allowed.
    """
    n = len(survey.stations)
    ways = np.full((n, n), np.inf)
    via = np.full((n, n), -1)
    for r in readings:
        ways[r.start, r.end] = ways[r.end, r.start] = min(ways[r.start, r.end], r.measured_m)
    direct = ways.copy()
    np.fill_diagonal(ways, 0.0)
    for k in range(n):
        over = ways[:, k, None] + ways[None, k, :]
        shorter = over < ways - 1e-12
        ways, via = np.where(shorter, over, ways), np.where(shorter, k, via)
    slack = 4.0 * float(np.sqrt((network.sd_m**2).sum())) + 4.0 * float(np.ptp(network.depths_m))
    mistakes = []
    for r in readings:
        if r.measured_m - ways[r.start, r.end] > slack and r.measured_m <= direct[r.start, r.end] + slack:
            path = _path(via, r.start, r.end)
            legs = [f"{survey.stations[a]}-{survey.stations[b]}" for a, b in pairwise(path)]
            mistakes.append(Mistake(
                f"{r.path}.is",
                f"{r.kind} {r.of} reads {format_length(r.measured_m, system)}, but {' and '.join(legs)} together are only "
                f"{format_length(float(ways[r.start, r.end]), system)}: a straight line cannot be longer than the way round",
                f"measure {r.of} again, then {' and '.join(legs)}"))
    raise_mistakes(mistakes)


def _path(via: Ints, a: int, b: int) -> list[int]:
    """Stations of the shortest way from a to b."""
    k = int(via[a, b])
    return [a, b] if k < 0 else _path(via, a, k)[:-1] + _path(via, k, b)


def generic_points(count: int) -> Floats:
    """A round of points in no special position, to ask what a net can hold.

    Parameters
    ----------
    count : int
        How many. [count]

    Returns
    -------
    points_m : ndarray, shape (count, 2)
        Convex, irregular. [m]

    References
    ----------
    own derivation
    """
    k = np.arange(count)
    angle = 2.0 * np.pi * (k + 0.3 * np.sin(1.7 * k + 0.4)) / count
    radius = 1.5 + 0.2 * np.cos(2.3 * k + 1.0)
    points: Floats = np.stack([radius * np.cos(angle), 0.8 * radius * np.sin(angle)], axis=1)
    return points


def tie_network(network: Network) -> Network:
    """All ties between stations that were not read, as a net of its own.

    Parameters
    ----------
    network : Network
        The readings.

    Returns
    -------
    ties : Network
        On the reference face, with the mean standard deviation of the readings.

    References
    ----------
    own derivation
    """
    n = network.points
    read = {(min(a, b), max(a, b)) for a, b in zip(network.start.tolist(), network.end.tolist(), strict=True)}
    free = [(a, b) for a in range(n) for b in range(a + 1, n) if (a, b) not in read]
    m = len(free)
    sd = float(network.sd_m.mean()) if len(network.sd_m) else 1.0
    return Network(np.array([a for a, _ in free], dtype=np.int64), np.array([b for _, b in free], dtype=np.int64), np.ones(m),
                   np.full(m, sd), np.zeros(m, dtype=np.int64), np.zeros((1, n)), network.held)


def missing_ties(network: Network, points_m: Floats) -> tuple[tuple[int, int], ...]:
    """Ties that would hold a loose net together.

    Parameters
    ----------
    network : Network
        The readings.
    points_m : ndarray, shape (n, 2)
        Where the stations stand, or points in general position. [m]

    Returns
    -------
    ties : tuple of pairs of int
        One after the other the tie that sees most of what is still loose; empty if nothing is.

    References
    ----------
    own derivation: null space of the Jacobian beyond the three motions of the plane, on the reference face.
    """
    n = network.points
    bare = replace(network, face=np.zeros_like(network.face), depths_m=np.zeros((1, n)))
    rows = jacobian(bare, points_m, 1.0) if len(network.start) else np.zeros((0, 2 * n))
    ties = tie_network(network)
    seen = jacobian(ties, points_m, 1.0) if len(ties.start) else np.zeros((0, 2 * n))
    needed: list[tuple[int, int]] = []
    for _ in range(len(seen)):
        padded = np.vstack([rows, np.zeros((max(2 * n - len(rows), 0), 2 * n))])
        _, sizes, motions = np.linalg.svd(padded)
        loose = motions[sizes <= _LOOSE]
        if len(loose) <= network.defect:
            break
        shown = np.linalg.norm(seen @ loose.T, axis=1)
        k = int(np.argmax(np.round(shown, 9)))
        if shown[k] < _LOOSE:
            break
        needed.append((int(ties.start[k]), int(ties.end[k])))
        rows = np.vstack([rows, seen[k]])
    return tuple(needed)


def check_held(survey: Survey, network: Network, points_m: Floats | None = None) -> None:
    """Refuse a net in which a station can move without any reading noticing.

    Parameters
    ----------
    survey : Survey
        What was said.
    network : Network
        The readings.
    points_m : ndarray, shape (n, 2), or None
        Where the stations stand; if not known, points in general position. [m]

    Raises
    ------
    SurveyError
        With the tie to measure.

    References
    ----------
    own derivation
    """
    ties = missing_ties(network, generic_points(network.points) if points_m is None else points_m)
    if not ties:
        return
    ids = survey.stations
    names = [f"{ids[a]} to {ids[b]}" for a, b in ties]
    walls = [f"{ids[a]}-{ids[b]}" for a, b in ties if (b - a) in (1, len(ids) - 1)]
    what = "the tie" if len(names) == 1 else f"{len(names)} more ties:"
    kind = "wall" if walls and len(names) == 1 else "tie"
    raise SurveyError("the readings do not hold the plan: it could be pushed out of shape and every reading would still be right",
                      path="survey.reading",
                      hint=f"measure {what} {', '.join(names)}".replace("the tie", f"the {kind}"))
