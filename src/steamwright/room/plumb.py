"""How walls stand: tilt, twist and bow from offsets to plumb lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steamwright.errors import Mistake
from steamwright.room.inputs import Reading, Survey
from steamwright.room.survey_model import WallFix
from steamwright.room.taping import raise_mistakes, reading_id, wall_of
from steamwright.units import INCH_M

PART_OVER_M = INCH_M / 16
PLACES = ("start", "middle", "end")


@dataclass(frozen=True, slots=True)
class PlumbLine:
    """Offsets from one plumb line, at heights over the floor. ``bow_m`` is positive where the wall is hollow half-way up."""

    id: str
    wall: int
    place: str
    heights_m: tuple[float, ...]
    offsets_m: tuple[float, ...]

    @property
    def bow_m(self) -> float | None:
        """How far the middle lies behind the line from bottom to top; None without all three. [m]"""
        if len(self.offsets_m) < 3:
            return None
        return self.offsets_m[1] - 0.5 * (self.offsets_m[0] + self.offsets_m[2])


def _place(survey: Survey, reading: Reading, wall: int, reversed_name: bool) -> str | None:
    """Where along the wall the line hangs, in the order of the stations."""
    at = reading.at or "middle"
    n = len(survey.stations)
    named = {survey.stations[wall]: "start", survey.stations[(wall + 1) % n]: "end"}
    if at in named:
        return named[at]
    if at not in PLACES:
        return None
    return {"start": "end", "end": "start"}.get(at, at) if reversed_name else at


def plumb_lines(survey: Survey, height_m: float) -> tuple[PlumbLine, ...]:
    """All plumb readings, checked.

    Parameters
    ----------
    survey : Survey
        What was said.
    height_m : float
        Height of the walls: "top" is read there, "middle" half-way, "bottom" at the floor. [m]

    Returns
    -------
    lines : tuple of PlumbLine
        In the order of the job file.

    Raises
    ------
    SurveyError, JobError
        A reading on no wall, at no place of it, or with fewer than two offsets.

    References
    ----------
    own derivation
    """
    lines, mistakes = [], []
    for i, r in enumerate(survey.reading):
        if r.kind != "plumb":
            continue
        path = f"survey.reading[{i}]"
        wall = wall_of(r.of, survey.stations)
        if wall is None:
            mistakes.append(Mistake(f"{path}.of", f'"{r.of}" is no wall', "name two neighbouring stations, such as A-B"))
            continue
        place = _place(survey, r, *wall)
        offsets = [(h, v) for h, v in ((0.0, r.bottom_m), (0.5 * height_m, r.middle_m), (height_m, r.top_m)) if v is not None]
        if place is None:
            mistakes.append(Mistake(f"{path}.at", f'"{r.at}" is no place on {r.of}', "write start, middle or end"))
        elif len(offsets) < 2:
            mistakes.append(Mistake(path, f"the plumb reading on {r.of} has fewer than two offsets", "give bottom and top"))
        elif max(abs(v) for _, v in offsets) > 1.0:
            mistakes.append(Mistake(path, f"an offset of the plumb line on {r.of} is over 1 m",
                                    "give the distance from the line to the wall"))
        else:
            lines.append(PlumbLine(reading_id(i), wall[0], place, tuple(h for h, _ in offsets), tuple(v for _, v in offsets)))
    raise_mistakes(mistakes)
    return tuple(lines)


def _tilt(lines: list[PlumbLine]) -> float:
    """Least-squares run per rise of lines that each hang at their own distance from the wall."""
    top = bottom = 0.0
    for line in lines:
        h, v = np.array(line.heights_m), np.array(line.offsets_m)
        h, v = h - h.mean(), v - v.mean()
        top, bottom = top + float(h @ v), bottom + float(h @ h)
    return top / bottom if bottom > 0 else 0.0


def wall_fixes(survey: Survey, lines: tuple[PlumbLine, ...], height_m: float) -> tuple[WallFix, ...]:
    """Tilt, twist and bow of every wall.

    The adjusted plane holds the wall's base line, so the twist is how far the upper corners lie off it.

    Parameters
    ----------
    survey : Survey
        What was said; ``twisted = "part"`` parts walls whose twist is over 1/16 in.
    lines : tuple of PlumbLine
        Plumb readings.
    height_m : float
        Height of the walls. [m]

    Returns
    -------
    walls : tuple of WallFix
        One per wall in order; a wall without plumb readings counts as plumb.

    References
    ----------
    own derivation: least squares over all lines of a wall
    """
    ids = survey.stations
    fixes = []
    for i, (a, b) in enumerate(zip(ids, ids[1:] + ids[:1], strict=True)):
        mine = [line for line in lines if line.wall == i]
        tilt = _tilt(mine) if mine else 0.0
        ends = {p: _tilt([line for line in mine if line.place == p]) for p in ("start", "end") if any(m.place == p for m in mine)}
        start, end = ends.get("start", tilt), ends.get("end", tilt)
        if len(ends) == 2:
            tilt = _tilt(mine)
        twist = 0.5 * abs(start - end) * height_m if len(ends) == 2 else 0.0
        bows = [line.bow_m for line in mine if line.bow_m is not None]
        fixes.append(WallFix(f"{a}-{b}", tilt, start, end, twist, survey.twisted == "part" and twist > PART_OVER_M,
                             max(bows, key=abs, default=0.0)))
    return tuple(fixes)
