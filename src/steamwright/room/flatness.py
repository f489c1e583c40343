"""Flatness of walls against what the tile allows, and where to shim."""

from __future__ import annotations

from steamwright.errors import Mistake
from steamwright.room.inputs import Survey
from steamwright.room.plumb import PlumbLine
from steamwright.room.survey_model import FlatnessFix, Shim
from steamwright.room.taping import raise_mistakes, reading_id, wall_of
from steamwright.units import FOOT_M, INCH_M

LARGE_TILE_M = 15 * INCH_M
SMALL_TILE_LONG_M, SMALL_TILE_SHORT_M, SMALL_TILE_UNDER_M = INCH_M / 4, INCH_M / 16, FOOT_M
LARGE_TILE_LONG_M, LARGE_TILE_SHORT_M, LARGE_TILE_UNDER_M = INCH_M / 8, INCH_M / 16, 2 * FOOT_M


def allowed_gap_m(under_m: float, tile_edge_m: float) -> float:
    """Largest gap under a straightedge that the tile allows.

    Parameters
    ----------
    under_m : float
        Length of the straightedge, above 0. [m]
    tile_edge_m : float
        Longest edge of the tile. [m]

    Returns
    -------
    gap_m : float
        1/4 in in 10 ft and 1/16 in in 12 in, all tile edges under 15 in; 1/8 in in 10 ft and 1/16 in in 24 in from 15 in
        up. For lengths between, the gap at which both limits still hold for certain: a single kink of gap g under a
        straightedge of length L shows g/L under a unit of length, so the short limit grows with L up to the long one. [m]

    References
    ----------
    ANSI-A108.02, surface tolerances as quoted; lengths between: own derivation

    Examples
    --------
    >>> round(allowed_gap_m(3.048, 0.3048) / 0.0254, 4), round(allowed_gap_m(3.048, 0.6096) / 0.0254, 4)
    (0.25, 0.125)
    """
    if tile_edge_m < LARGE_TILE_M - 1e-9:
        long_m, short_m, unit_m = SMALL_TILE_LONG_M, SMALL_TILE_SHORT_M, SMALL_TILE_UNDER_M
    else:
        long_m, short_m, unit_m = LARGE_TILE_LONG_M, LARGE_TILE_SHORT_M, LARGE_TILE_UNDER_M
    return min(long_m, short_m * max(1.0, under_m / unit_m))


def flatness(survey: Survey, lines: tuple[PlumbLine, ...], tile_edge_m: float) -> tuple[tuple[FlatnessFix, ...], tuple[Shim, ...]]:
    """Judge gaps under a straightedge and bows behind plumb lines.

    Parameters
    ----------
    survey : Survey
        What was said.
    lines : tuple of PlumbLine
        Plumb readings; those with three offsets show a bow.
    tile_edge_m : float
        Longest edge of the tile. [m]

    Returns
    -------
    fixes : tuple of FlatnessFix
        One per gap and bow, in the order of the job file, gaps first.
    shims : tuple of Shim
        Where to build out, and by how much: a hollow at its middle, a bulge above and below it.

    Raises
    ------
    SurveyError, JobError
        A gap on no surface, without size or without the length of the straightedge.

    References
    ----------
    ANSI-A108.02, surface tolerances as quoted
    """
    fixes: list[FlatnessFix] = []
    shims: list[Shim] = []
    mistakes = []
    for i, r in enumerate(survey.reading):
        if r.kind != "gap":
            continue
        path = f"survey.reading[{i}]"
        if wall_of(r.of, survey.stations) is None and r.of not in ("floor", "ceiling"):
            mistakes.append(Mistake(f"{path}.of", f'"{r.of}" is no wall, floor or ceiling', "name two neighbouring stations, such as A-B"))
        elif r.is_m is None or r.under_m is None:
            mistakes.append(Mistake(path, f"the gap on {r.of} lacks its size or the straightedge",
                                    'write such as is = "3/16 in", under = "6 ft"'))
        elif not 0.0 <= r.is_m < 0.3:
            mistakes.append(Mistake(f"{path}.is", f"the gap on {r.of} reads {r.is_m:.4g} m", "a gap is 0 or more and under 12 in"))
        else:
            allowed = allowed_gap_m(r.under_m, tile_edge_m)
            fixes.append(FlatnessFix(reading_id(i), r.of, r.is_m, allowed, r.under_m, r.is_m <= allowed + 1e-9))
            if not fixes[-1].flat_enough:
                shims.append(Shim(r.of, r.at or "under the straightedge", r.is_m))
    raise_mistakes(mistakes)
    for line in lines:
        if line.bow_m is not None:
            fix, shim = _bow(survey, line, line.bow_m, tile_edge_m)
            fixes.append(fix)
            shims += [shim] if shim is not None else []
    return tuple(fixes), tuple(shims)


def _bow(survey: Survey, line: PlumbLine, bow_m: float, tile_edge_m: float) -> tuple[FlatnessFix, Shim | None]:
    """A bow as the gap under a straightedge as long as the wall is high."""
    ids = survey.stations
    side = f"{ids[line.wall]}-{ids[(line.wall + 1) % len(ids)]}"
    under = line.heights_m[-1] - line.heights_m[0]
    allowed = allowed_gap_m(under, tile_edge_m)
    fix = FlatnessFix(line.id, side, abs(bow_m), allowed, under, abs(bow_m) <= allowed + 1e-9)
    if fix.flat_enough:
        return fix, None
    return fix, Shim(side, f"{line.place}, {'half-way up' if bow_m > 0 else 'at bottom and top'}", abs(bow_m))
