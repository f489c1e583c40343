"""What the parts of one job must agree on before anything is computed: names, walls, sides and ends."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence

from steamwright.errors import Mistake
from steamwright.plan.job import Job
from steamwright.plan.phrasing import MISSING, close_to
from steamwright.plan.wish_clashes import wish_clashes
from steamwright.room.inputs import Ceiling, Reading
from steamwright.units import System, format_length
from steamwright.vapor.climate import climates

GROUPS = ("walls", "ceiling", "floor", "benches", "niches", "openings", "curbs", "half walls", "columns", "soffits")
FIXTURES = ("bench", "niche", "curb", "half_wall", "column", "soffit")
MOST_LEAN_M = 0.3048
"""How far a wall's readings from a plumb line may be apart. Common practice, no source."""
LARGEST_TILE_M = 3.3528
"""The longest edge of a slab of tile that is made. Common practice, no source."""
_WALL = re.compile(r"([^-\s]+)-([^-\s]+)")
_PART = re.compile(r" (\d+|\(\d+\))$")
_OF_WALL = ("wall", "plumb", "gap", "offset")
_OF_STATION = ("up", "down")


def contradictions(job: Job, materials: Collection[str] | None = None) -> tuple[Mistake, ...]:
    """Find what does not fit together within a job.

    Parameters
    ----------
    job : Job
        A job whose every part is right by itself.
    materials : collection of str or None
        Ids of the catalog's materials, if they shall be checked too.

    Returns
    -------
    mistakes : tuple of Mistake
        Empty if the job holds together.

    References
    ----------
    own derivation
    """
    names = _Names(job)
    found = (
        _stations(names),
        _readings(job, names),
        _ceiling(job.room.ceiling, names),
        _walls(job, names),
        _ends(job),
        _twice(job),
        _penetrations(job, names),
        _buildups(job, names),
        _wishes(job, names),
        _climate(job),
        _tile(job),
        _materials(job, materials),
    )
    return tuple(mistake for part in found for mistake in part)


def _lacks(path: str, detail: str, hint: str) -> Mistake:
    return Mistake(path, detail, hint, code=MISSING)


class _Names:
    """The names that a job gives, and what they may be used for."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.stations = job.survey.stations
        n = len(self.stations)
        self.walls = tuple(f"{self.stations[i]}-{self.stations[(i + 1) % n]}" for i in range(n))
        self.things = tuple(thing.name for kind in FIXTURES for thing in getattr(job.room, kind)) + tuple(o.name for o in job.room.opening)

    def is_wall(self, name: str) -> bool:
        return name in self.walls or "-".join(reversed(name.split("-"))) in self.walls

    def wall_mistake(self, path: str, name: str) -> Iterator[Mistake]:
        if self.is_wall(name):
            return
        match = _WALL.fullmatch(name)
        stations = match.groups() if match else ()
        strange = [s for s in stations if s not in self.stations]
        if strange:
            yield Mistake(
                path,
                f"“{name}” names the station “{strange[0]}”, which the survey does not have",
                f"the stations are {', '.join(self.stations)}",
            )
        else:
            yield Mistake(path, f"“{name}” is not a wall: a wall joins two neighbouring stations", f"the walls are {', '.join(self.walls)}")

    def surface_mistake(self, path: str, name: str, also: Sequence[str] = ("ceiling", "floor")) -> Iterator[Mistake]:
        if name in also or any(name == thing or name.startswith(f"{thing} ") for thing in self.things):
            return
        if _WALL.fullmatch(name):
            yield from self.wall_mistake(path, name)
        else:
            yield Mistake(path, f"there is no surface “{name}”", close_to(name, (*also, *self.walls, *self.things)))

    def part_mistake(self, path: str, name: str) -> Iterator[Mistake]:
        """A surface, or one part of it by the name that drawings and messages use: “floor 3”, “C-D (2)”."""
        if any(self.surface_mistake(path, name)):
            yield from self.surface_mistake(path, _PART.sub("", name))


def _stations(names: _Names) -> Iterator[Mistake]:
    for i, station in enumerate(names.stations):
        path = f"survey.stations[{i}]"
        if station in names.stations[:i]:
            yield Mistake(path, f"the station “{station}” is listed twice", "give every corner its own name")
        if not re.fullmatch(r"[^-\s]+", station):
            yield Mistake(path, f"“{station}” cannot name a station", "use a name without dashes and spaces, such as A")
    survey = names.job.survey
    for field, said in (("turns", survey.turns), ("approximate", survey.approximate)):
        for station in said:
            if station not in names.stations:
                yield Mistake(
                    f"survey.{field}.{station}", f"there is no station “{station}”", f"the stations are {', '.join(names.stations)}"
                )


def _readings(job: Job, names: _Names) -> Iterator[Mistake]:
    for i, reading in enumerate(job.survey.reading):
        path = f"survey.reading[{i}]"
        if reading.kind in _OF_STATION:
            if reading.of not in names.stations:
                yield Mistake(f"{path}.of", f"“{reading.of}” is not a station", f"a height is taken at one of {', '.join(names.stations)}")
        elif reading.kind in _OF_WALL:
            yield from names.wall_mistake(f"{path}.of", reading.of)
        else:
            yield from _tie(f"{path}.of", reading, names)
        yield from _values(path, reading, job.units)


def _tie(path: str, reading: Reading, names: _Names) -> Iterator[Mistake]:
    match = _WALL.fullmatch(reading.of)
    ends = match.groups() if match else ()
    strange = [s for s in ends if s not in names.stations]
    if not match:
        yield Mistake(path, f"“{reading.of}” does not join two stations", 'write such as of = "A-C"')
    elif strange:
        yield Mistake(
            path,
            f"“{reading.of}” names the station “{strange[0]}”, which the survey does not have",
            f"the stations are {', '.join(names.stations)}",
        )
    elif ends[0] == ends[1]:
        yield Mistake(path, f"“{reading.of}” begins and ends at the same station", "name two different stations")
    elif reading.kind == "diagonal" and names.is_wall(reading.of):
        yield Mistake(path, f"“{reading.of}” is a wall, not a diagonal", 'write kind = "wall", or name stations that are not neighbours')


def _values(path: str, reading: Reading, system: System) -> Iterator[Mistake]:
    what = f"the {reading.kind} reading of {reading.of}"
    if reading.kind == "plumb":
        read = [v for v in (reading.bottom_m, reading.middle_m, reading.top_m) if v is not None]
        if len(read) < 2:
            yield _lacks(path, f"{what} needs two of bottom, middle and top", 'write such as bottom = "1 in", top = "1 1/8 in"')
        elif max(read) - min(read) > MOST_LEAN_M:
            yield Mistake(path, f"by {what} the wall leans {format_length(max(read) - min(read), system)}, which no wall does that stands",
                          "give at each height the distance from the plumb line to the wall")
        if reading.at not in (None, "start", "middle", "end"):
            yield Mistake(f"{path}.at", f"“{reading.at}” is no place for a plumb line", 'write at = "start", "middle" or "end"')
    elif reading.is_m is None:
        yield _lacks(path, f"{what} does not say what was read", 'write such as is = "90 1/2 in"')
    elif reading.kind in ("wall", "diagonal", "tie") and reading.is_m <= 0:
        yield Mistake(f"{path}.is", f"{what} is nothing or less", "two stations lie apart")


def _ceiling(ceiling: Ceiling, names: _Names) -> Iterator[Mistake]:
    needs = {"flat": ("height",), "slope": ("height", "pitch", "low_wall"), "ridge": ("height", "pitch", "along"), "hip": ("height",)}
    said = {"height": ceiling.height_m, "pitch": ceiling.pitch, "low_wall": ceiling.low_wall, "along": ceiling.along}
    examples = {"height": '"90 in"', "pitch": '"2 in/ft"', "low_wall": f'"{names.walls[0]}"', "along": f'"{names.walls[0]}"'}
    for key in needs.get(ceiling.shape, ()):
        if said[key] is None:
            yield _lacks("room.ceiling", f"a ceiling of shape “{ceiling.shape}” needs “{key}”", f"write such as {key} = {examples[key]}")
    if ceiling.shape == "hip" and ceiling.pitch is None and ceiling.apex_m is None:
        yield _lacks("room.ceiling", "a hipped ceiling needs “pitch” or “apex”", 'write such as pitch = "2 in/ft" or apex = "100 in"')
    if ceiling.shape == "planes" and not ceiling.plane:
        yield _lacks("room.ceiling", "a ceiling of planes needs at least one plane", "begin each with [[room.ceiling.plane]]")
    for key in ("low_wall", "along"):
        wall = said[key]
        if isinstance(wall, str):
            yield from names.wall_mistake(f"room.ceiling.{key}", wall)
    for i, plane in enumerate(ceiling.plane):
        for j, (where, _height) in enumerate(plane.spots):
            if isinstance(where, str) and where not in names.stations:
                yield Mistake(f"room.ceiling.plane[{i}].spots[{j}]", f"there is no station “{where}”", close_to(where, names.stations))


def _walls(job: Job, names: _Names) -> Iterator[Mistake]:
    seen: list[str] = []
    for i, wall in enumerate(job.room.wall):
        path = f"room.wall[{i}].side"
        yield from names.wall_mistake(path, wall.side)
        same = "-".join(sorted(wall.side.split("-")))
        if same in seen:
            yield Mistake(path, f"the wall {wall.side} is described twice", "put both into one table")
        seen.append(same)
    for kind in ("opening", *FIXTURES):
        for i, thing in enumerate(getattr(job.room, kind)):
            if hasattr(thing, "wall"):
                yield from names.wall_mistake(f"room.{kind}[{i}].wall", thing.wall)
    if not any(wall.kind == "glass" for wall in job.room.wall):
        for i, bench in enumerate(job.room.bench):
            if bench.past_glass_m is not None:
                yield Mistake(f"room.bench[{i}].past_glass", f"{bench.name} runs out under glass, and no wall is glass",
                              'say kind = "glass" of that wall under [[room.wall]], or take “past_glass” out')
    pan = job.room.pan
    if pan.drain == "line" and pan.drain_wall is None:
        yield _lacks("room.pan", "a line drain needs “drain_wall”", f'write such as drain_wall = "{names.walls[0]}"')
    if pan.pitch <= 0:
        yield Mistake("room.pan.pitch", "a floor without pitch does not fall to its drain", 'write such as pitch = "1/4 in/ft"')
    if pan.drain_wall is not None:
        yield from names.wall_mistake("room.pan.drain_wall", pan.drain_wall)


def _ends(job: Job) -> Iterator[Mistake]:
    def pair(path: str, low: tuple[str, float], high: tuple[str, float]) -> Iterator[Mistake]:
        if low[1] >= high[1]:
            first, second = (format_length(v, job.units) for v in (low[1], high[1]))
            yield Mistake(f"{path}.{high[0]}", f"“{low[0]}” at {first} is not under “{high[0]}” at {second}", "change one of the two")

    for i, opening in enumerate(job.room.opening):
        yield from pair(f"room.opening[{i}]", ("bottom", opening.bottom_m), ("top", opening.top_m))
    for kind in FIXTURES:
        for i, thing in enumerate(getattr(job.room, kind)):
            to_m = getattr(thing, "to_m", None)
            if to_m is not None:
                yield from pair(f"room.{kind}[{i}]", ("from", thing.from_m), ("to", to_m))
    for i, wish in enumerate(job.covering.no_seam):
        yield from pair(f"covering.no_seam[{i}]", ("from", wish.from_m), ("to", wish.to_m))


def _twice(job: Job) -> Iterator[Mistake]:
    things = [(f"room.{kind}[{i}].name", thing.name) for kind in ("opening", *FIXTURES) for i, thing in enumerate(getattr(job.room, kind))]
    yield from _same(things, "two things of the room")
    yield from _same([(f"room.penetration[{i}].name", p.name) for i, p in enumerate(job.room.penetration)], "two penetrations")
    yield from _same([(f"buildup[{i}].name", b.name) for i, b in enumerate(job.buildup)], "two build-ups")


def _same(named: Iterable[tuple[str, str]], whose: str) -> Iterator[Mistake]:
    seen: set[str] = set()
    for path, name in named:
        if name in seen:
            yield Mistake(path, f"{whose} are called “{name}”", "give each its own name")
        seen.add(name)


def _penetrations(job: Job, names: _Names) -> Iterator[Mistake]:
    for i, hole in enumerate(job.room.penetration):
        path = f"room.penetration[{i}]"
        yield from names.surface_mistake(f"{path}.on", hole.on)
        if names.is_wall(hole.on):
            missing = [key for key, value in (("along", hole.along_m), ("up", hole.up_m)) if value is None]
            if missing:
                yield _lacks(path, f"“{hole.name}” on a wall needs “along” and “up”", f'write such as {missing[0]} = "40 in"')
        elif hole.on in ("ceiling", "floor") and hole.at is None:
            yield _lacks(path, f"“{hole.name}” on the {hole.on} needs its plan point “at”", 'write such as at = ["20 in", "30 in"]')


def _buildups(job: Job, names: _Names) -> Iterator[Mistake]:
    called = [b.name for b in job.buildup]
    for i, buildup in enumerate(job.buildup):
        for j, surface in enumerate(buildup.on):
            yield from names.surface_mistake(f"buildup[{i}].on[{j}]", surface, GROUPS)
        other = buildup.alternative_to
        if other is not None and (other not in called or other == buildup.name):
            wrong = f"“{other}” cannot be an alternative to itself" if other == buildup.name else f"there is no build-up “{other}”"
            yield Mistake(f"buildup[{i}].alternative_to", wrong, close_to(other, [name for name in called if name != buildup.name]))


def _wishes(job: Job, names: _Names) -> Iterator[Mistake]:
    for i, fold in enumerate(job.covering.fold):
        yield from names.part_mistake(f"covering.fold[{i}].from", fold.from_surface)
        yield from names.part_mistake(f"covering.fold[{i}].onto", fold.onto)
    for i, direction in enumerate(job.covering.direction):
        yield from names.part_mistake(f"covering.direction[{i}].on", direction.on)
    for i, wish in enumerate(job.covering.no_seam):
        yield from names.part_mistake(f"covering.no_seam[{i}].on", wish.on)
    for i, seam in enumerate(job.covering.seam):
        yield from names.part_mistake(f"covering.seam[{i}].on", seam.on)
    yield from wish_clashes(job.covering)


def _climate(job: Job) -> Iterator[Mistake]:
    if job.use.climate not in climates():
        yield Mistake("use.climate", f"no climate is named “{job.use.climate}”", f"one of: {', '.join(climates())}")


def _tile(job: Job) -> Iterator[Mistake]:
    edge_m = job.tile.longest_edge_m
    if edge_m > LARGEST_TILE_M:
        yield Mistake("tile.longest_edge", f"no tile is {format_length(edge_m, job.units)} long",
                      f"the longest slabs are {format_length(LARGEST_TILE_M, job.units)}; give the longer edge of one tile")


def _materials(job: Job, materials: Collection[str] | None) -> Iterator[Mistake]:
    if materials is None:
        return
    known = sorted(materials)
    if job.covering.membrane not in materials:
        yield Mistake("covering.membrane", f"the catalog has no material “{job.covering.membrane}”", close_to(job.covering.membrane, known))
    for i, buildup in enumerate(job.buildup):
        for j, layer in enumerate(buildup.layers):
            if layer.material not in materials:
                yield Mistake(
                    f"buildup[{i}].layers[{j}].material", f"the catalog has no material “{layer.material}”", close_to(layer.material, known)
                )
