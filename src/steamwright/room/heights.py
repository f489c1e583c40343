"""Heights of floor and ceiling from one level line."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.errors import Mistake
from steamwright.room.inputs import Survey
from steamwright.room.model import Face
from steamwright.room.survey_model import Advice, ReadingFix
from steamwright.room.taping import REFERENCE_FACES, DepthOf, raise_mistakes, reading_id, standard_deviation_m

DISAGREE = 3.0  # standard deviations of a difference between two readings of the same height


@dataclass(frozen=True, slots=True)
class Heights:
    """Floor and ceiling at stations over the mean floor; how repeated readings fit; what to measure again."""

    floor_m: tuple[tuple[str, float], ...]
    ceiling_m: tuple[tuple[str, float], ...]
    readings: tuple[ReadingFix, ...]
    advice: tuple[Advice, ...]


@dataclass(frozen=True, slots=True)
class _Read:
    """One reading from the level line, on the reference face."""

    id: str
    kind: str
    station: str
    face: Face
    measured_m: float
    reference_m: float
    sd_m: float


def _read(survey: Survey, depth_of: DepthOf) -> list[_Read]:
    """All readings up and down, checked."""
    found, mistakes = [], []
    for i, r in enumerate(survey.reading):
        if r.kind not in ("up", "down"):
            continue
        path = f"survey.reading[{i}]"
        if r.of not in survey.stations:
            mistakes.append(Mistake(f"{path}.of", f'"{r.of}" is no station', f"the stations are {', '.join(survey.stations)}"))
        elif r.is_m is None:
            mistakes.append(Mistake(f"{path}.is", f"the reading {r.kind} at {r.of} has no length", 'write such as is = "48 in"'))
        elif not 0.0 <= r.is_m < 30.0:
            mistakes.append(Mistake(f"{path}.is", f"{r.kind} at {r.of} reads {r.is_m:.4g} m from the level line",
                                    "give the distance from the level line, without a sign"))
        else:
            face = r.face or survey.face
            depth = 0.0 if face in REFERENCE_FACES else depth_of("floor" if r.kind == "down" else "ceiling", face)
            sd = standard_deviation_m(r.instrument, face, r.is_m, r.sd_m)
            found.append(_Read(reading_id(i), r.kind, r.of, face, r.is_m, r.is_m + depth, sd))
    if not mistakes and any(r.kind == "up" for r in found) and not any(r.kind == "down" for r in found):
        mistakes.append(Mistake("survey.reading", "there are readings up to the ceiling, but none down to the floor",
                                'measure down from the same level line at one station or more (kind = "down")'))
    raise_mistakes(mistakes)
    return found


def heights(survey: Survey, depth_of: DepthOf) -> Heights:
    """Heights at stations from readings up and down from one level line.

    Parameters
    ----------
    survey : Survey
        What was said.
    depth_of : callable
        Depth of a face; asked for "floor" and "ceiling" where a reading is on board, membrane or tile. [m]

    Returns
    -------
    found : Heights
        In the order of the stations; zero is the mean of the floor at the stations that have a reading down. [m]

    Raises
    ------
    SurveyError, JobError
        A reading at no station or without a length, or readings up without one down.

    References
    ----------
    own derivation: weighted means of repeated readings
    """
    read = _read(survey, depth_of)
    means: dict[tuple[str, str], tuple[float, float]] = {}
    for key in dict.fromkeys((r.kind, r.station) for r in read):
        same = [r for r in read if (r.kind, r.station) == key]
        weight = sum(r.sd_m**-2 for r in same)
        means[key] = sum(r.reference_m * r.sd_m**-2 for r in same) / weight, weight
    downs = [means["down", s][0] for s in survey.stations if ("down", s) in means]
    line_m = sum(downs) / len(downs) if downs else 0.0
    fixes, advice = [], []
    for r in read:
        mean, weight = means[r.kind, r.station]
        residual, redundancy = mean - r.reference_m, 1.0 - r.sd_m**-2 / weight
        standardized = residual / (r.sd_m * redundancy**0.5) if redundancy > 1e-6 else 0.0
        fixes.append(ReadingFix(r.id, r.kind, r.station, r.face, r.measured_m, r.measured_m + residual, residual, r.sd_m,
                                standardized, max(redundancy, 0.0), False))
        if abs(standardized) > DISAGREE:
            sentence = f"The readings {r.kind} at {r.station} do not agree: measure {r.kind} at {r.station} again."
            advice.append(Advice(sentence, r.kind, r.station, again=True))
    return Heights(tuple((s, line_m - means["down", s][0]) for s in survey.stations if ("down", s) in means),
                   tuple((s, line_m + means["up", s][0]) for s in survey.stations if ("up", s) in means),
                   tuple(fixes), tuple(dict.fromkeys(advice)))
