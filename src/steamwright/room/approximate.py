"""First coordinates of stations from distances: circles that meet, and a walk round the room.

A trilateration has more than one minimum, and an iteration runs into the one next to its start. So there are always
several starts; which of their ends is the room, ``shape`` judges.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from steamwright.geometry.frame import Floats
from steamwright.room.network import Network

_KEPT = 24  # partial plans that are followed; two per station would double without end
_CLEAR = 0.05  # sine of a turn that is clearly one way (3 degrees)


def distance_table(network: Network) -> Floats:
    """What was read between every two points, means of repeated readings.

    Parameters
    ----------
    network : Network
        The net.

    Returns
    -------
    table_m : ndarray, shape (n, n)
        Symmetric; NaN where nothing was read. [m]

    References
    ----------
    own derivation
    """
    n = network.points
    total, count = np.zeros((n, n)), np.zeros((n, n))
    for a, b in ((network.start, network.end), (network.end, network.start)):
        np.add.at(total, (a, b), network.measured_m)
        np.add.at(count, (a, b), 1.0)
    return np.where(count > 0, total / np.maximum(count, 1.0), np.nan)


def _base(table: Floats) -> tuple[int, int]:
    """The two points to begin with: those that most others were measured to together, and far apart."""
    read = ~np.isnan(table)
    shared = (read.astype(int) @ read.astype(int)) * read
    a, b = np.unravel_index(int(np.argmax(shared + np.nan_to_num(table) / (1.0 + np.nansum(table)))), table.shape)
    return int(a), int(b)


def _anchors(table: Floats, placed: Floats, known: list[int], point: int) -> tuple[int, int]:
    """The two placed points whose circles meet at the best angle round a new point."""
    read = [k for k in known if not np.isnan(table[point, k])]
    best, pair = -1.0, (read[0], read[1])
    for i, a in enumerate(read):
        for b in read[i + 1:]:
            base = float(np.hypot(*(placed[b] - placed[a])))
            ra, rb = table[point, a], table[point, b]
            cosine = (ra * ra + rb * rb - base * base) / (2.0 * ra * rb)
            sine = 1.0 - cosine * cosine
            if sine > best:
                best, pair = sine, (a, b)
    return pair


def _meet(plans: Floats, table: Floats, point: int, pair: tuple[int, int]) -> Floats:
    """Both meeting points of two circles in every plan; the plans double."""
    a, b = plans[:, pair[0]], plans[:, pair[1]]
    ra, rb = table[point, pair[0]], table[point, pair[1]]
    d = b - a
    base = np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)
    x = (ra * ra - rb * rb + base * base) / (2.0 * base)
    h = np.sqrt(np.maximum(ra * ra - x * x, 0.0))
    e = d / base[:, None]
    foot = a + x[:, None] * e
    side = h[:, None] * np.stack([-e[:, 1], e[:, 0]], axis=1)
    doubled = np.concatenate([plans, plans])
    doubled[:, point] = np.concatenate([foot + side, foot - side])
    return doubled


def _faults(plans: Floats, pattern: Sequence[int], known: set[int]) -> Floats:
    """How many placed corners turn clearly the wrong way, per plan."""
    n = len(pattern)
    middle = [i for i in range(n) if pattern[i] and {(i - 1) % n, i, (i + 1) % n} <= known]
    if not middle:
        return np.zeros(len(plans))
    m = np.array(middle)
    into, out = plans[:, m] - plans[:, (m - 1) % n], plans[:, (m + 1) % n] - plans[:, m]
    cross = into[..., 0] * out[..., 1] - into[..., 1] * out[..., 0]
    sine = cross / np.maximum(np.hypot(into[..., 0], into[..., 1]) * np.hypot(out[..., 0], out[..., 1]), 1e-12)
    wrong: Floats = (sine * np.array(pattern)[m] < -_CLEAR).sum(axis=1).astype(float)
    return wrong


def circle_plans(network: Network, pattern: Sequence[int], held_m: Floats | None = None) -> tuple[Floats, ...]:
    """Plans built point by point from circles that meet, the best first.

    Parameters
    ----------
    network : Network
        The net.
    pattern : sequence of int, length n
        Turns: 1 left, -1 right, 0 not known.
    held_m : ndarray, shape (n, 2), or None
        Coordinates of points that the net holds. [m]

    Returns
    -------
    plans_m : tuple of ndarray, shape (n, 2)
        Empty if the distances do not reach every point from two others. [m]

    References
    ----------
    own derivation
    """
    n, table = network.points, distance_table(network)
    plans = np.full((1, n, 2), np.nan)
    if held_m is not None and network.held.sum() >= 2:
        known = [int(i) for i in np.flatnonzero(network.held)]
        plans[0, known] = held_m[known]
    else:
        known = list(_base(table))
        plans[0, known[0]] = 0.0
        plans[0, known[1]] = (table[known[0], known[1]], 0.0)
    missed = np.zeros(1)
    while len(known) < n:
        reach = [(int((~np.isnan(table[p, known])).sum()), -p) for p in range(n) if p not in known]
        most, negative = max(reach)
        if most < 2:
            return ()
        point = -negative
        plans = _meet(plans, table, point, _anchors(table, plans[0], known, point))
        missed = np.concatenate([missed, missed])
        for k in known:
            if not np.isnan(table[point, k]):
                gap = np.hypot(*(plans[:, point] - plans[:, k]).T) - table[point, k]
                missed = missed + gap * gap
        known.append(point)
        order = np.lexsort((np.round(missed, 12), _faults(plans, pattern, set(known))))[:_KEPT]
        plans, missed = plans[order], missed[order]
    return tuple(plans)


def spread_plan(network: Network) -> Floats:
    """A plan in which all stations lie about as far apart as the shortest ways between them.

    Parameters
    ----------
    network : Network
        The net; every point must be reached by readings.

    Returns
    -------
    plan_m : ndarray, shape (n, 2)
        One of two mirror plans. [m]

    References
    ----------
    own derivation: classical scaling (Torgerson) of shortest paths, the two largest axes.
    """
    n = network.points
    ways = np.where(np.isnan(distance_table(network)), np.inf, distance_table(network))
    np.fill_diagonal(ways, 0.0)
    for k in range(n):
        ways = np.minimum(ways, ways[:, k, None] + ways[None, k, :])
    centre = np.eye(n) - 1.0 / n
    values, vectors = np.linalg.eigh(-0.5 * centre @ ways**2 @ centre)
    plan: Floats = vectors[:, -2:] * np.sqrt(np.maximum(values[-2:], 1e-6))
    return plan


def walk_plans(network: Network, pattern: Sequence[int]) -> Iterator[Floats]:
    """Plans walked along the walls with one turn for all corners, and variations of it.

    Parameters
    ----------
    network : Network
        The net.
    pattern : sequence of int, length n
        Turns: 1 left, -1 right; 0 counts as left.

    Yields
    ------
    plan_m : ndarray, shape (n, 2)
        Walked with equal turns that close the room (a right angle in a right-angled room), the gap shared out among
        the walls; then the same with the walls swung a little. [m]

    References
    ----------
    own derivation
    """
    n, table = network.points, distance_table(network)
    signs = np.array([t or 1 for t in pattern], float)
    total = float(signs.sum())
    turn = signs * (2.0 * np.pi / abs(total)) if total else signs * 0.5 * np.pi
    lengths = table[np.arange(n), (np.arange(n) + 1) % n]
    typical = float(np.nanmean(lengths)) if not np.isnan(lengths).all() else float(np.nanmean(table))
    lengths = np.where(np.isnan(lengths), typical, lengths)
    for swing in (0.0, 0.25, -0.25, 0.5):
        heading = np.concatenate([[0.0], np.cumsum(turn[1:])]) + swing * np.sin(2.4 * np.arange(n))
        legs = lengths[:, None] * np.stack([np.cos(heading), np.sin(heading)], axis=1)
        legs -= (lengths / lengths.sum())[:, None] * legs.sum(axis=0)
        yield np.concatenate([np.zeros((1, 2)), np.cumsum(legs, axis=0)[:-1]])
