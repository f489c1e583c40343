"""What to change where a covering is not lap-tight: one thing that has been tried and does.

Only what stands at a failing place is moved, the smallest change first, and each change is laid and proven before it is told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from shapely import Point

from steamwright.covering.wish_costs import without_each
from steamwright.geometry.frame import Floats
from steamwright.plan.job import Job
from steamwright.room.model import Facet, FacetKind, Solid
from steamwright.units import INCH_M, System, format_length

STEPS_M = tuple(k * INCH_M for k in (1, 2, 3, 4, 6))
"""By how much things are moved, and how far from a wall they are ended. Own choice."""
BESIDE_M = 0.2
"""A thing whose surface is nearer to a failing place stands there, and an end nearer to a wall may run on to it. Own choice."""
TRIES = 16
"""How many changes are tried. Own choice."""
CROWDED = "Change what crowds those places, or the direction of the sheets, and plan again."
_PLACE = re.compile(r"([^:;,]+), [^:;,()]+ \(s (-?[\d.]+) m, t (-?[\d.]+) m\)")
_RUNS, _SETS = ("bench", "curb", "half_wall", "soffit"), ("niche", "opening")
Update = dict[str, object]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing of a job made otherwise: how much it moves, in words, and the job. [m]"""

    by_m: float
    words: str
    job: Job


def mend(job: Job, room: Solid, failures: Sequence[str], wall_m: Callable[[str], float], is_tight: Callable[[Job], bool]) -> str:
    """Find the smallest change of a job with which its covering is lap-tight.

    Parameters
    ----------
    job : Job
        What was said.
    room : Solid
        The room on its membrane face.
    failures : sequence of str
        What the proof says of the covering.
    wall_m : callable
        From the name of a wall to its length. [m]
    is_tight : callable
        Whether a changed job can be built and its covering is lap-tight.

    Returns
    -------
    words : str
        What to do, a whole sentence. Where nothing that was tried mends it, it names what stands at those places.

    References
    ----------
    own derivation
    """
    places = _places(room, failures)
    found = sorted((c for c in _changes(job, room, places, wall_m)), key=lambda c: round(c.by_m, 6))
    done = next((c for c in found[:TRIES] if is_tight(c.job)), None)
    if done is not None:
        return f"{done.words[0].upper()}{done.words[1:]}: that has been tried, and the covering is lap-tight then."
    names = [thing.name for kind in (*_RUNS, *_SETS, "column") for thing in getattr(job.room, kind) if _stands(room, thing.name, places)]
    if not names:
        return CROWDED
    return f"None of the small changes tried mends it. Make more room round what stands at those places: {', '.join(names)}."


def _places(room: Solid, failures: Sequence[str]) -> list[tuple[Facet, Floats]]:
    """Surfaces and points of the room of which a proof speaks."""
    by_length = sorted(room.facets, key=lambda f: -len(f.name))
    out = []
    for words, s, t in (found for said in failures for found in _PLACE.findall(said)):
        facet = next((f for f in by_length if words.endswith(f" {f.name}")), None)
        if facet is not None:
            out.append((facet, facet.frame.lift([(float(s), float(t))])[0]))
    return out


def _stands(room: Solid, name: str, places: Sequence[tuple[Facet, Floats]]) -> bool:
    """Whether a thing stands at one of some places."""
    for facet in room.facets:
        if facet.surface == name or facet.surface.startswith(name + " "):
            for _, point in places:
                s, t = facet.frame.drop([point])[0]
                off = float(np.linalg.norm(facet.frame.lift([(s, t)])[0] - point))
                if float(np.hypot(off, facet.polygon.distance(Point(s, t)))) < BESIDE_M:
                    return True
    return False


def _changes(job: Job, room: Solid, places: Sequence[tuple[Facet, Floats]], wall_m: Callable[[str], float]) -> Iterator[Change]:
    for _, says, wishes in without_each(job.covering, job.units):
        yield Change(0.0, f"take out the wish “{says}”", job.model_copy(update={"covering": wishes}))
    if job.covering.joints != "best":
        best = job.covering.model_copy(update={"joints": "best"})
        yield Change(0.0, "let folds or bands close the joints, whichever is cheaper", job.model_copy(update={"covering": best}))
    for kind in (*_RUNS, *_SETS):
        for k, thing in enumerate(getattr(job.room, kind)):
            if _stands(room, thing.name, places):
                along = _ends(thing, wall_m, job.units) if kind in _RUNS else _moves(thing, wall_m, job.units, kind == "niche")
                for by_m, words, update in along:
                    yield Change(by_m, words, _with(job, kind, k, update))
    yield from _seats(job, room, places)
    yield from _drain(job, room, places)
    for k, post in enumerate(job.room.column):
        if _stands(room, post.name, places):
            for by_m, words, at in _about(post.at, post.name, job):
                yield Change(by_m, words, _with(job, "column", k, {"at": at}))


def _with(job: Job, kind: str, number: int, update: Update) -> Job:
    """A job in which one thing of the room is otherwise."""
    rows = list(getattr(job.room, kind))
    rows[number] = rows[number].model_copy(update=update)
    return job.model_copy(update={"room": job.room.model_copy(update={kind: tuple(rows)})})


def _ends(thing: object, wall_m: Callable[[str], float], system: System) -> Iterator[tuple[float, str, Update]]:
    """A bench or the like may run on to the wall beside it, or end clear of it."""
    said = vars(thing)
    name, stations, length_m = said["name"], said["wall"].split("-"), wall_m(said["wall"])
    gaps = (said["from_m"], 0.0 if said["to_m"] is None else length_m - said["to_m"])
    for key, station, gap_m, whole in zip(("from_m", "to_m"), stations, gaps, (0.0, None), strict=True):
        if 1e-6 < gap_m < BESIDE_M:
            yield gap_m, f"run {name} on to the wall at {station}", {key: whole}
        for clear_m in STEPS_M:
            if gap_m + 1e-6 < clear_m and gap_m > 1e-6:
                at_m = clear_m if key == "from_m" else length_m - clear_m
                yield clear_m - gap_m, f"end {name} {format_length(clear_m, system)} short of the wall at {station}", {key: at_m}


def _moves(thing: object, wall_m: Callable[[str], float], system: System, is_niche: bool) -> Iterator[tuple[float, str, Update]]:
    """A niche or opening may move along its wall, and a niche up or down."""
    said = vars(thing)
    name, (first, last), room_m = said["name"], said["wall"].split("-"), wall_m(said["wall"]) - said["width_m"]
    for step_m in STEPS_M:
        for way, at_m in ((last, said["from_m"] + step_m), (first, said["from_m"] - step_m)):
            if 0.0 <= at_m <= room_m:
                yield step_m, f"move {name} {format_length(step_m, system)} toward {way}", {"from_m": at_m}
        for word, up_m in (("higher", step_m), ("lower", -step_m)) if is_niche else ():
            yield step_m, f"set {name} {format_length(step_m, system)} {word}", {"bottom_m": said["bottom_m"] + up_m}


def _seats(job: Job, room: Solid, places: Sequence[tuple[Facet, Floats]]) -> Iterator[Change]:
    """Two seats that meet at hardly different heights may have one."""
    here = [(k, b) for k, b in enumerate(job.room.bench) if _stands(room, b.name, places)]
    for (k, one), (_, other) in combinations(here, 2):
        if 0.0 < abs(one.height_m - other.height_m) < BESIDE_M:
            yield Change(abs(one.height_m - other.height_m), f"build {one.name} as high as {other.name}",
                         _with(job, "bench", k, {"height_m": other.height_m}))


def _about(at_m: tuple[float, float], name: str, job: Job) -> Iterator[tuple[float, str, tuple[float, float]]]:
    """Plan points round one, and how a thing gets there."""
    first, second = job.survey.stations[:2]
    (x, y), side = at_m, f"{first}-{second}"
    into = 1.0 if y >= 0.0 else -1.0
    for step_m in STEPS_M:
        by = format_length(step_m, job.units)
        yield step_m, f"move {name} {by} in the direction from {first} to {second}", (x + step_m, y)
        yield step_m, f"move {name} {by} in the direction from {second} to {first}", (x - step_m, y)
        yield step_m, f"move {name} {by} away from {side}", (x, y + into * step_m)
        yield step_m, f"move {name} {by} toward {side}", (x, y - into * step_m)


def _drain(job: Job, room: Solid, places: Sequence[tuple[Facet, Floats]]) -> Iterator[Change]:
    """The creases of a pan go with its drain."""
    drains = [room.facet(p.facet).frame.lift([p.center_m])[0] for p in room.penetrations if p.kind == "drain"]
    pan = job.room.pan
    if pan.membrane != "bonded" or pan.drain != "point" or not drains or all(f.kind is not FacetKind.FLOOR for f, _ in places):
        return
    x, y = float(drains[0][0]), float(drains[0][1])
    for by_m, words, at in _about((x, y), "the drain", job):
        moved = job.room.model_copy(update={"pan": pan.model_copy(update={"drain_at": at})})
        yield Change(by_m, words, job.model_copy(update={"room": moved}))
