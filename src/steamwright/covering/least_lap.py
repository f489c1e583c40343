"""The least lap: the largest lap for which the shrink test passes, to a tenth of a millimetre, and what limits it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from steamwright.covering.shrink import Shrink

STEP_M = 1e-4
BEYOND_PLANNED = 250
"""How many steps past the planned lap the search looks: a lap that is an inch more than planned limits nothing."""


def longest_lap(required_m: float, planned_m: float) -> float:
    """The largest lap that judging a covering asks for.

    Parameters
    ----------
    required_m : float
        The lap that has to be there. [m]
    planned_m : float
        The planned lap. [m]

    Returns
    -------
    longest_m : float
        The end of the search, or the required lap where that is more. [m]

    References
    ----------
    own derivation
    """
    return max(required_m, planned_m + BEYOND_PLANNED * STEP_M) + 2 * STEP_M


@dataclass(frozen=True, slots=True)
class Limit:
    """What limits the lap: a facet by its id or a joint by its number; neither where nothing does within the search."""

    steps: int | None
    facet: str | None = None
    joint: int | None = None

    @property
    def lap_m(self) -> float | None:
        """The least lap; None where not even the smallest passes. [m]"""
        return None if self.steps is None else round(self.steps * STEP_M, 7)


def least_lap(shrink: Shrink, planned_m: float) -> Limit:
    """Find the largest lap that passes.

    The test is monotonic, so one running minimum serves all: a facet or joint that still passes at the minimum found
    so far cannot lower it, and only one that fails there is searched.

    Parameters
    ----------
    shrink : Shrink
        The covering.
    planned_m : float
        The planned lap, near which the answer is expected. [m]

    Returns
    -------
    limit : Limit
        The least lap in steps and what limits it; planned plus 25 mm where all is more.

    References
    ----------
    own derivation
    """
    planned = max(int(planned_m / STEP_M + 1e-6), 0)
    shrink.left(np.arange(len(shrink.lying)), planned * STEP_M)
    low = _lowered(shrink, Limit(planned))
    if low.facet is not None or low.joint is not None:
        return low
    # as a rule something laps by just what was planned: ask for a step more before searching further
    more_m = (planned + 1) * STEP_M
    facet = next((f for f in shrink.covered if shrink.gap(f, more_m) is not None), None)
    joint = next(iter(_failing(shrink, shrink.joints, more_m)), None) if facet is None else None
    if facet is not None or joint is not None:
        return Limit(planned, facet, joint)
    return _lowered(shrink, Limit(planned + BEYOND_PLANNED), planned + 1)


def _lowered(shrink: Shrink, limit: Limit, passes: int | None = None) -> Limit:
    """Lower a limit to the least of all facets and joints; ``passes`` is known to pass everywhere."""
    for facet in shrink.covered:
        def facet_fails(steps: int, facet: str = facet) -> bool:
            return shrink.gap(facet, steps * STEP_M) is not None
        if limit.steps != passes:
            found = _search(facet_fails, limit.steps, passes)
            limit = limit if found == limit.steps else Limit(found, facet=facet)
        if limit.steps is None:
            return limit
    waiting = list(shrink.joints)
    while waiting and limit.steps is not None and limit.steps != passes:
        waiting = _failing(shrink, waiting, limit.steps * STEP_M)
        if waiting:
            j = waiting.pop(0)

            def joint_fails(steps: int, j: int = j) -> bool:
                return shrink.joint_fails(j, steps * STEP_M)
            limit = Limit(_search(joint_fails, limit.steps, passes), joint=j)
    return limit


def _failing(shrink: Shrink, joints: list[int], lap_m: float) -> list[int]:
    """Those of some joints that fail for a lap, in their crossing or in a leg."""
    bare = shrink.bare(joints, lap_m)
    return [j for j in joints if j in bare or any(shrink.leg_gap(j, s, lap_m) is not None for s in shrink.legs(j))]


def _search(fails: Callable[[int], bool], top: int | None, passes: int | None) -> int | None:
    """The largest number of steps up to ``top`` that passes; None where not even 0 does."""
    if top is None or (passes is None and not fails(top)):
        return top
    # laps are seldom far from what they were planned as: step away from there in doubling strides
    stride = 1
    if passes is None:
        at, bad = top, top
        while True:
            at = max(at - stride, 0)
            if not fails(at):
                break
            if at == 0:
                return None
            bad, stride = at, 4 * stride
        good = at
    else:
        good, bad = passes, top + 1
        while good < top:
            at = min(good + stride, top)
            if fails(at):
                bad = at
                break
            good, stride = at, 4 * stride
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (good, middle) if fails(middle) else (middle, bad)
    return good
