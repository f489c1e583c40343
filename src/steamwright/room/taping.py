"""What the tape and the laser say about the plan: readings checked, with their standard deviations, as a network."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from steamwright.errors import InputError, JobError, Mistake, SurveyError
from steamwright.room.inputs import Reading, Survey
from steamwright.room.model import Face
from steamwright.room.network import Network
from steamwright.units import INCH_M

DepthOf = Callable[[str, Face], float]
REFERENCE_FACES = (Face.FRAMING, Face.SLAB, Face.EXISTING)
LENGTH_KINDS = ("wall", "diagonal", "tie")
TAPE_SD_M = INCH_M / 16
LASER_SD_M = INCH_M / 32
LONGEST_M = 100.0


@dataclass(frozen=True, slots=True)
class LengthReading:
    """A distance between two stations, checked."""

    id: str
    path: str
    kind: str
    of: str
    start: int
    end: int
    face: Face
    measured_m: float
    sd_m: float


def reading_id(index: int) -> str:
    """Id of the reading at a place of the job file.

    Parameters
    ----------
    index : int
        Place, from 0. [count]

    Returns
    -------
    id : str
        Such as ``reading-01`` for the first.

    References
    ----------
    own derivation
    """
    return f"reading-{index + 1:02d}"


def standard_deviation_m(instrument: str, face: Face, length_m: float, said_m: float | None = None) -> float:
    """Standard deviation of a length reading.

    Parameters
    ----------
    instrument : str
        "tape" or "laser".
    face : Face
        Face it was taken on.
    length_m : float
        What was read. [m]
    said_m : float or None
        What the person said; takes the place of the default. [m]

    Returns
    -------
    sd_m : float
        1/32 in for a laser on board, membrane or tile, else 1/16 in; a tape is never better than half the error limit
        of accuracy class II, 0.3 mm + 0.2 mm per metre begun. [m]

    References
    ----------
    defaults: common practice, no source; class limit: EU-2014-32, MI-008
    """
    default = LASER_SD_M if instrument == "laser" and face not in REFERENCE_FACES else TAPE_SD_M
    sd_m = said_m if said_m is not None else default
    if instrument == "tape":
        sd_m = max(sd_m, 0.5 * (0.0003 + 0.0002 * math.ceil(abs(length_m))))
    return sd_m


def between(of: str, stations: tuple[str, ...]) -> tuple[int, int] | None:
    """Indices of the two stations that a name such as "A-C" joins.

    Parameters
    ----------
    of : str
        The name.
    stations : tuple of str
        Stations in order.

    Returns
    -------
    ends : pair of int or None
        None if the name does not join two different stations.

    References
    ----------
    own derivation
    """
    first, dash, second = of.partition("-")
    if not dash or first == second or first not in stations or second not in stations:
        return None
    return stations.index(first), stations.index(second)


def wall_of(of: str, stations: tuple[str, ...]) -> tuple[int, bool] | None:
    """The wall that a name means, and whether the name runs against the order of the stations.

    Parameters
    ----------
    of : str
        Name such as "A-B" or, reversed, "B-A".
    stations : tuple of str
        Stations in order.

    Returns
    -------
    wall : pair of int and bool or None
        Index of the wall's first station in order, and True if reversed; None if no wall has this name.

    References
    ----------
    own derivation
    """
    ends = between(of, stations)
    if ends is None:
        return None
    a, b = ends
    n = len(stations)
    if (a + 1) % n == b:
        return a, False
    return (b, True) if (b + 1) % n == a else None


def _mistake(survey: Survey, index: int, reading: Reading) -> Mistake | None:
    """What is wrong with one length reading."""
    path = f"survey.reading[{index}]"
    listed = ", ".join(survey.stations)
    if between(reading.of, survey.stations) is None:
        return Mistake(f"{path}.of", f'"{reading.of}" does not join two of the stations {listed}', 'write such as of = "A-C"')
    if reading.kind == "wall" and wall_of(reading.of, survey.stations) is None:
        return Mistake(f"{path}.of", f'"{reading.of}" is not a wall: its stations are not neighbours', 'use kind = "diagonal" or "tie"')
    if reading.is_m is None:
        return Mistake(f"{path}.is", f"the {reading.kind} {reading.of} has no length", 'write such as is = "90 1/2 in"')
    if not 0.0 < reading.is_m <= LONGEST_M:
        return Mistake(f"{path}.is", f"the {reading.kind} {reading.of} reads {reading.is_m:.4g} m, which is no length of a room",
                       f"a length is above 0 and at most {LONGEST_M:g} m")
    return None


def _station_mistakes(survey: Survey) -> list[Mistake]:
    """Stations named twice or not at all."""
    found = []
    for i, name in enumerate(survey.stations):
        if name in survey.stations[:i]:
            found.append(Mistake(f"survey.stations[{i}]", f"station {name} is listed twice", "give every corner its own name"))
        if "-" in name or not name.strip():
            found.append(Mistake(f"survey.stations[{i}]", f'"{name}" cannot name a station', "use a name without a dash, such as A"))
    for field, named in (("turns", survey.turns), ("approximate", survey.approximate)):
        found += [Mistake(f"survey.{field}.{s}", f"there is no station {s}", f"the stations are {', '.join(survey.stations)}")
                  for s in named if s not in survey.stations]
    missing = [s for s in survey.stations if s not in survey.approximate]
    if survey.approximate and missing:
        found.append(Mistake("survey.approximate", f"stations without approximate coordinates: {', '.join(missing)}",
                             "give them for every station, or say the turns instead"))
    return found


def raise_mistakes(mistakes: list[Mistake]) -> None:
    """Raise what was found, all of it at once.

    Parameters
    ----------
    mistakes : list of Mistake
        What was found; nothing happens if it is empty.

    Raises
    ------
    SurveyError
        One mistake.
    JobError
        Several.

    References
    ----------
    own derivation
    """
    if not mistakes:
        return
    error: InputError
    if len(mistakes) == 1:
        error = SurveyError(mistakes[0].detail, path=mistakes[0].path, hint=mistakes[0].hint)
    else:
        error = JobError(tuple(mistakes))
    raise error


def length_readings(survey: Survey) -> tuple[LengthReading, ...]:
    """All readings of distances between stations.

    Parameters
    ----------
    survey : Survey
        What was said.

    Returns
    -------
    readings : tuple of LengthReading
        In the order of the job file.

    Raises
    ------
    SurveyError, JobError
        A reading between stations that do not exist, without a length or with an absurd one.

    References
    ----------
    own derivation
    """
    mistakes, found = _station_mistakes(survey), []
    for i, r in enumerate(survey.reading):
        if r.kind not in LENGTH_KINDS:
            continue
        wrong = _mistake(survey, i, r)
        ends = between(r.of, survey.stations)
        if wrong is not None or ends is None or r.is_m is None:
            mistakes += [wrong] if wrong is not None else []
            continue
        face = r.face or survey.face
        found.append(LengthReading(reading_id(i), f"survey.reading[{i}]", r.kind, r.of, *ends, face, r.is_m,
                                   standard_deviation_m(r.instrument, face, r.is_m, r.sd_m)))
    raise_mistakes(mistakes)
    return tuple(found)


def depth_function(depth_m: DepthOf | Mapping[tuple[str, Face], float]) -> DepthOf:
    """Depths as a function that answers 0 for the faces that everything is measured from.

    Parameters
    ----------
    depth_m : callable or mapping
        From a wall's name and a face to the thickness between the reference face and that face. [m]

    Returns
    -------
    depth_of : callable
        The same, complete. [m]

    Raises
    ------
    SurveyError
        When called for a face whose depth is not known.

    References
    ----------
    own derivation
    """

    def depth_of(side: str, face: Face) -> float:
        if face in REFERENCE_FACES:
            return 0.0
        try:
            return float(depth_m(side, face) if callable(depth_m) else depth_m[side, face])
        except KeyError:
            raise SurveyError(f"a reading is on the {face} of {side}, but no build-up says how thick the layers are there",
                              path="survey.reading", hint=f"give a build-up for {side}, or say another face") from None

    return depth_of


def network_of(survey: Survey, readings: tuple[LengthReading, ...], depth_of: DepthOf) -> Network:
    """The readings as a free network.

    Parameters
    ----------
    survey : Survey
        What was said.
    readings : tuple of LengthReading
        Distances between stations.
    depth_of : callable
        From a wall's name and a face to a depth. [m]

    Returns
    -------
    network : Network
        Points are the stations in order.

    References
    ----------
    own derivation
    """
    ids = survey.stations
    sides = [f"{a}-{b}" for a, b in zip(ids, ids[1:] + ids[:1], strict=True)]
    faces = sorted({r.face for r in readings})
    depths = np.array([[depth_of(side, face) for side in sides] for face in faces]).reshape(len(faces), len(sides))
    return Network(np.array([r.start for r in readings], dtype=np.int64), np.array([r.end for r in readings], dtype=np.int64),
                   np.array([r.measured_m for r in readings], float), np.array([r.sd_m for r in readings], float),
                   np.array([faces.index(r.face) for r in readings], dtype=np.int64), depths, np.zeros(len(ids), bool))
