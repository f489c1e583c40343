"""What to change where a floor cannot fall to its drain as planned: one thing that has been tried and does."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import Protocol

from steamwright.geometry.frame import Point2
from steamwright.room.inputs import Curb, Pan
from steamwright.units import INCH_M, format_slope

LEAST_SLOPE = 1 / 48
MOST_SLOPE = 1 / 24
STEPS = (1 / 192, 1 / 1200)
"""Pitches are advised in steps of 1/16 in/ft, and of a hundredth where those are too coarse."""
CURB_STEP_M = INCH_M / 8


class Trial(Protocol):
    """What is asked of a report of a pan that is tried."""

    @property
    def feasible(self) -> bool:
        """Whether every fall lies between the limits."""

    @property
    def slope_least(self) -> float:
        """Least slope, rise over run."""

    @property
    def slope_most(self) -> float:
        """Greatest slope, rise over run."""


class Filled(Protocol):
    """What is asked of a report of a pan that is filled for its test."""

    @property
    def flood_line_over_drain_m(self) -> float:
        """Height of the water over the drain. [m]"""

    @property
    def curb_over_drain_m(self) -> float | None:
        """Height of the lowest curb over the drain. [m]"""


Try = Callable[[Pan], Trial | None]


def advice(pan: Pan, tried: Trial | None, attempt: Try, places: Sequence[Point2], walls: Sequence[str]) -> str:
    """The smallest change with which the floor falls between 1/4 and 1/2 in/ft everywhere.

    Parameters
    ----------
    pan : Pan
        What was said.
    tried : Trial or None
        Its report; ``None`` where no bed can be laid.
    attempt : callable
        From a pan to its report, ``None`` where no bed can be laid.
    places : sequence of (float, float)
        Places of a point drain that work with a level perimeter, the best first. [m]
    walls : sequence of str
        Names of the walls along which a line drain may lie.

    Returns
    -------
    advice : str
        Another pitch, else another place of the drain, else the same pitch everywhere, else a line drain; each has been
        tried on this floor. Where none does: to part the floor.

    References
    ----------
    IRC-P2709; own derivation
    """
    for changed, words in _changes(pan, places, walls):
        first = tried if changed is pan else attempt(changed)
        better = _pitched(changed, first, attempt)
        if better is not None:
            pitch = "" if math.isclose(better.pitch, pan.pitch) else f"pitch = \"{format_slope(better.pitch)}\""
            said = " and ".join(x for x in (words, pitch) if x)
            return f"Write {said} under [room.pan]" if said else ""
    return "Part the floor by a curb or a step, or give it a second drain; each part then has its own fall"


def _changes(pan: Pan, places: Sequence[Point2], walls: Sequence[str]) -> Iterator[tuple[Pan, str]]:
    """Ever greater changes, and how each is written."""
    yield pan, ""
    if pan.drain == "point":
        if pan.perimeter == "level" and places:
            x, y = places[0]
            yield pan.model_copy(update={"drain_at": places[0]}), f'drain_at = ["{_inches(x)}", "{_inches(y)}"]'
        if pan.perimeter == "level":
            yield pan.model_copy(update={"perimeter": "constant pitch"}), 'perimeter = "constant pitch"'
        else:
            yield pan.model_copy(update={"perimeter": "level"}), 'perimeter = "level"'
    for wall in walls:
        yield pan.model_copy(update={"drain": "line", "drain_wall": wall}), f'drain = "line", drain_wall = "{wall}"'


def _pitched(pan: Pan, first: Trial | None, attempt: Try) -> Pan | None:
    """The pan itself, or at the least pitch that brings its flattest way to 1/4 in/ft; ``None`` where neither does."""
    if first is None or first.feasible:
        return None if first is None else pan
    if not 0.0 < first.slope_least < math.inf or first.slope_most / first.slope_least > MOST_SLOPE / LEAST_SLOPE + 1e-9:
        return None
    least = pan.pitch * LEAST_SLOPE / first.slope_least
    for step in STEPS:
        other = pan.model_copy(update={"pitch": math.ceil(least / step - 1e-6) * step})
        again = attempt(other)
        if again is not None and again.feasible:
            return other
    return None


def higher_curb(curbs: Sequence[Curb], report: Filled) -> str:
    """What to change where the water of the flood test would run over the curb.

    Parameters
    ----------
    curbs : sequence of Curb
        As said.
    report : Filled
        The pan's report.

    Returns
    -------
    advice : str
        The height at which the lowest curb holds the water, and other ways; empty without a curb.

    References
    ----------
    own derivation
    """
    if not curbs or report.curb_over_drain_m is None:
        return ""
    low = min(curbs, key=lambda c: c.height_m)
    need_m = low.height_m + report.flood_line_over_drain_m - report.curb_over_drain_m
    high = _inches(math.ceil(need_m / CURB_STEP_M - 1e-3) * CURB_STEP_M)
    return (f'Write height = "{high}" for {low.name} under [[room.curb]], move the drain nearer to it, or write a lesser pitch under '
            "[room.pan]")


def _inches(value_m: float) -> str:
    """A length as a job file takes it, to 1/16 in."""
    whole, part = divmod(Fraction(round(value_m / INCH_M * 16), 16), 1)
    return " ".join(str(x) for x in (whole, part) if x) + " in" if whole or part else "0 in"
