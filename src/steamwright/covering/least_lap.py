"""The least lap: the largest lap for which the shrink test passes, to a tenth of a millimetre, and what limits it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from steamwright.covering.shrink import Shrink

STEP_M = 1e-4
BEYOND_PLANNED = 250
"""How many steps past the planned lap the search looks: a lap that is an inch more than planned limits nothing."""


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
    low = _lowered(shrink, Limit(planned))
    if low.steps != planned or low.facet is not None or low.joint is not None:
        return low
    return _lowered(shrink, Limit(planned + BEYOND_PLANNED), planned)


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
        lap_m = limit.steps * STEP_M
        bare = shrink.bare(waiting, lap_m)
        waiting = [j for j in waiting if j in bare or any(shrink.leg_gap(j, s, lap_m) is not None for s in shrink.legs(j))]
        if waiting:
            j = waiting.pop(0)

            def joint_fails(steps: int, j: int = j) -> bool:
                return shrink.joint_fails(j, steps * STEP_M)
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
