"""What stands in the room already, as the job says it was found."""

from __future__ import annotations

import itertools
import math

from steamwright.room.inputs import Niche, Opening, Room
from steamwright.room.survey_model import SurveyReport


def widest_bay_m(room: Room, survey: SurveyReport, side: str) -> float | None:
    """The widest bay of a wall between studs as found, its ends, and the frames of its openings and niches.

    Parameters
    ----------
    room : Room
        What the job says of the room.
    survey : SurveyReport
        The adjusted stations.
    side : str
        The wall, such as ``B-C``.

    Returns
    -------
    bay_m : float or None
        From middle to middle, openings left out; ``None`` where fewer than two studs were found, as one alone only starts
        the spacing. [m]

    References
    ----------
    own derivation
    """
    ends = side.split("-")
    wall = next((w for w in room.wall if w.side.split("-") in (ends, ends[::-1])), None)
    if wall is None or len(wall.studs) < 2:
        return None
    first = wall.side.split("-")[0]
    a, b = ((s.x_m, s.y_m) for s in survey.stations if s.id in ends)
    length = math.dist(a, b)
    recesses: tuple[Opening | Niche, ...] = (*room.opening, *room.niche)
    holes = [(r.from_m, r.from_m + r.width_m) if r.wall.split("-")[0] == first else (length - r.from_m - r.width_m, length - r.from_m)
             for r in recesses if set(r.wall.split("-")) == set(ends)]
    stands = sorted({0.0, length, *wall.studs, *(x for hole in holes for x in hole)})
    return max(q - p for p, q in itertools.pairwise(stands) if not any(low < (p + q) / 2 < high for low, high in holes))
