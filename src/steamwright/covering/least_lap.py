"""The least lap: the largest lap for which the shrink test passes, to a tenth of a millimetre, and what limits it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from steamwright.covering.shrink import Shrink, opened

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

    @property
    def more_m(self) -> float:
        """One step more, for which something fails. [m]"""
        return ((self.steps or 0) + 1) * STEP_M


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
    low = _lowered(shrink, Limit(planned))
    if low.facet is not None or low.joint is not None:
        return low
    # as a rule something laps by just what was planned: ask for a step more before searching further
    facet = next((f for f in shrink.covered if shrink.gap(f, low.more_m) is not None), None)
    joint = next(iter(shrink.failing(shrink.joints, low.more_m)), None) if facet is None else None
    if facet is not None or joint is not None:
        return Limit(planned, facet, joint)
    return _lowered(shrink, Limit(planned + BEYOND_PLANNED), planned + 1)


def _lowered(shrink: Shrink, limit: Limit, passes: int | None = None) -> Limit:
    """Lower a limit to the least of all facets and joints; ``passes`` is known to pass everywhere."""
    bare = shrink.bare_of(shrink.covered, (limit.steps or 0) * STEP_M)
    for facet, here, gap in zip(shrink.covered, bare, opened(bare), strict=True):
        # what passes now passes for any lesser lap, and what is bare then is bare now
        if gap is not None and limit.steps is not None and limit.steps != passes:
            def facet_fails(steps: int, facet: str = facet, here: BaseGeometry = here) -> bool:
                return shrink.rest(facet, here, steps * STEP_M) is not None
            found = _search(facet_fails, limit.steps, passes)
            limit = limit if found == limit.steps else Limit(found, facet=facet)
    waiting = list(shrink.joints)
    while waiting and limit.steps is not None and limit.steps != passes:
        waiting = shrink.failing(waiting, limit.steps * STEP_M)
        if waiting:
            j = waiting.pop(0)

            def joint_fails(steps: int, j: int = j) -> bool:
                return bool(shrink.failing([j], steps * STEP_M))
            limit = Limit(_search(joint_fails, limit.steps, passes), joint=j)
    return limit


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
