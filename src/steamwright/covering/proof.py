"""The judge: whether placed pieces make a room lap-tight. It knows no placing code and takes nothing on trust.

A piece is one flat thing: what lies on its blank. From every piece all points nearer than half the lap to one of its
free edges are taken away, measured on the piece through its folds. What is left of all pieces must still cover every
facet that pieces cover, and along every joint, at every point, one and the same piece must still lie on both facets.
"""

from __future__ import annotations

from collections.abc import Sequence

from steamwright.covering.blanks import read_blanks
from steamwright.covering.least_lap import least_lap, longest_lap
from steamwright.covering.lying import Lying, Row, pipe_words, rows_of
from steamwright.covering.model import Piece, Proof
from steamwright.covering.moulded import read_moulded
from steamwright.covering.places import mm
from steamwright.covering.room_edges import room_faults
from steamwright.covering.room_facts import RoomFacts, room_facts
from steamwright.covering.shortfalls import Shortfalls
from steamwright.covering.shrink import Shrink
from steamwright.room.model import CoveredBy, Solid


def prove(solid: Solid, pieces: Sequence[Piece], lap_required_m: float, lap_planned_m: float) -> Proof:
    """Judge a covering by the shrink test.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    pieces : sequence of Piece
        What lies in it.
    lap_required_m : float
        The lap that has to be there everywhere. [m]
    lap_planned_m : float
        The lap that was planned, near which the least lap is looked for. [m]

    Returns
    -------
    proof : Proof
        Whether the covering is lap-tight; the least lap and its place, planned plus 25 mm at most, None where the
        pieces themselves are at fault or a place is bare; and every failure with its place.

    References
    ----------
    own derivation
    """
    facts = room_facts(solid)
    reach_m = longest_lap(lap_required_m, lap_planned_m) / 2.0
    lying, faults, held = _read(facts, pieces, reach_m)
    shrink = Shrink(facts, lying, reach_m)
    failures = room_faults(solid, facts) + faults + _pipes_without_collar(facts, held)
    limit = least_lap(shrink, lap_planned_m)
    least_m = limit.lap_m
    if least_m is None or least_m < lap_required_m:
        failures += Shortfalls(facts, pieces, shrink, held, lap_required_m).all()
    failures = list(dict.fromkeys(failures))
    if least_m is None or faults:
        return Proof(not failures, None, failures[0] if failures else "", tuple(failures))
    where = Shortfalls(facts, pieces, shrink, held, limit.more_m).of_limit(limit)
    return Proof(not failures, least_m, where or f"nowhere less than {mm(least_m)}", tuple(failures))


def _read(facts: RoomFacts, pieces: Sequence[Piece], reach_m: float) -> tuple[list[Lying], list[str], set[str]]:
    """Read and judge the pieces, those with a blank and those without."""
    rows, faults, held = rows_of(facts, pieces)
    groups: dict[int, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.piece, []).append(row)
    blanks, moulded = {}, {}
    for i, group in groups.items():
        if pieces[i].blank_m is None:
            moulded[i] = group
        elif all(row.at is not None for row in group):
            blanks[i] = group
        else:
            faults.append(f"piece {pieces[i].id}: a patch has no place on the blank")
    cut, more = read_blanks(pieces, blanks, reach_m)
    ready, still_more = read_moulded(facts, pieces, moulded, reach_m)
    return cut + ready, faults + more + still_more, held


def _pipes_without_collar(facts: RoomFacts, held: set[str]) -> list[str]:
    """Penetrations of covered facets that no sleeve holds."""
    return [f"no collar holds {pipe_words(s, p)}" for s in facts.surfaces.values() if s.facet.covering_by is CoveredBy.PIECES
            for p, _ in s.pipes if p.id not in held]
