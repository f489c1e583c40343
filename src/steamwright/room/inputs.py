"""What a person says about a room: stations, readings, ceiling, openings, fixtures, penetrations.

Lengths are read by ``units`` and held in metres. Positions along a wall run from its first-named station, seen on the
face that ``survey.face`` names; heights are above the floor at the lowest station unless a field says otherwise.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from steamwright.room.model import Face
from steamwright.said import Said
from steamwright.units import Diameter, Length, Slope, SpanLength

WallName = Annotated[str, Field(pattern=r"^[^-\s]+-[^-\s]+$", description="two neighbouring stations, such as A-B")]
PlanPoint = tuple[Length, Length]
Beyond = Literal["heated room", "steam room", "garage", "attic", "basement", "outdoors north", "outdoors south", "outdoors east",
                 "outdoors west", "ground", "unknown"]


class Reading(Said):
    """One reading of a tape, a level or a straightedge.

    ``of`` is a wall or tie ("A-C") for lengths, plumb offsets, gaps and offsets, a station for heights. ``is`` is what
    was read. A plumb reading gives the distance from a plumb line to the wall at bottom, middle and top, at the wall's
    first ("start") or last ("end") station or half-way ("middle"). ``up`` and ``down`` run from the level line.
    """

    kind: Literal["wall", "diagonal", "tie", "up", "down", "plumb", "gap", "offset"]
    of: str
    is_m: Length | None = Field(default=None, alias="is")
    bottom_m: Length | None = Field(default=None, alias="bottom")
    middle_m: Length | None = Field(default=None, alias="middle")
    top_m: Length | None = Field(default=None, alias="top")
    at: str | None = None
    under_m: SpanLength | None = Field(default=None, alias="under")
    face: Face | None = None
    sd_m: SpanLength | None = Field(default=None, alias="sd")
    instrument: Literal["tape", "laser"] = "tape"


class Survey(Said):
    """The plan as it was taken: stations in order round the room and the readings between them.

    Walk round the room either way, clockwise or counter-clockwise as seen from above, and name a station at every corner. Where
    the walk turns the other way than at most corners (an outside corner that sticks into the room), ``turns`` says so, such as
    ``turns = { D = "right" }``; plan points, as in ``approximate``, ``at`` and ``drain_at``, are measured along the first wall
    from its first station, and square to it to the left of the walk: into the room, or with a minus sign where the walk is
    clockwise. ``face`` is what the tape touched.
    """

    face: Face = Face.FRAMING
    stations: Annotated[tuple[str, ...], Field(min_length=3)]
    turns: dict[str, Literal["left", "right"]] = Field(default_factory=dict)
    approximate: dict[str, PlanPoint] = Field(default_factory=dict)
    reading: tuple[Reading, ...]
    twisted: Literal["adjust", "part"] = "adjust"


class CeilingPlane(Said):
    """A ceiling plane through three or more spot heights: a station or a plan point, and the height there."""

    spots: Annotated[tuple[tuple[str | PlanPoint, Length], ...], Field(min_length=3)]


class Ceiling(Said):
    """The shape of the ceiling.

    flat: ``height``. slope: rises at ``pitch`` from ``low_wall``, where it is ``height``. ridge: highest (``height``) along
    a line parallel to ``along`` through the middle of the room, falling both ways at ``pitch``. hip: a plane from every
    wall, ``height`` at the walls, rising at ``pitch`` (or to ``apex`` at ``apex_at``). planes: ``plane`` rows; the air
    reaches up to the lowest of them (``join = "lowest"``) or the highest. ``beyond`` is what lies over it.
    """

    shape: Literal["flat", "slope", "ridge", "hip", "planes"]
    height_m: SpanLength | None = Field(default=None, alias="height")
    pitch: Slope | None = None
    low_wall: WallName | None = None
    along: WallName | None = None
    apex_m: SpanLength | None = Field(default=None, alias="apex")
    apex_at: PlanPoint | None = None
    plane: tuple[CeilingPlane, ...] = ()
    join: Literal["lowest", "highest"] = "lowest"
    face: Face | None = None
    beyond: Beyond = "unknown"


class Wall(Said):
    """What is special about one wall. A glass wall is an opening over its whole height above what stands in front.

    ``studs`` are the middles of the studs that stand already, measured along the wall from its first station; one alone
    starts the spacing, and without any the spacing starts at the station. ``ending`` says how the covering ends at the glass
    ("under the frame"), ``reach`` how far past that edge it runs, ``sealed_by`` what closes it. A curved wall has a
    ``radius``, and ``sagitta`` says how far its chords may stand off the curve.
    """

    side: WallName
    kind: Literal["framed", "glass"] = "framed"
    beyond: Beyond = "unknown"
    ending: str | None = None
    reach_m: SpanLength | None = Field(default=None, alias="reach")
    sealed_by: str | None = None
    radius_m: SpanLength | None = Field(default=None, alias="radius")
    bulge: Literal["outward", "inward"] = "outward"
    sagitta_m: SpanLength | None = Field(default=None, alias="sagitta")
    studs: tuple[Length, ...] = ()


class Opening(Said):
    """A door, window, transom or pane in a wall, and what ends the covering there.

    ``from`` runs along the wall from its first station to the near side of the rough opening, ``bottom`` and ``top`` are heights
    over the bare floor. ``setback`` is how far behind the wall's face the leaf or pane stands: jambs, head and sill are that
    deep. ``hinge`` is left or right as seen from inside. ``ending`` says in words how the covering ends there, ``reach`` how far
    past the jamb or over the sill it runs, ``sealed_by`` what closes its edge. A door in a glass wall is a leaf of that glass:
    it has no setback and no ending of its own, and stands on the curb where no bottom is said.
    """

    name: str
    kind: Literal["door", "window", "transom", "glass"]
    wall: WallName
    from_m: Length = Field(alias="from")
    width_m: SpanLength = Field(alias="width")
    bottom_m: Length = Field(default=0.0, alias="bottom")
    top_m: SpanLength = Field(alias="top")
    setback_m: SpanLength | None = Field(default=None, alias="setback")
    sill_slope: Slope = 0.0
    swing: Literal["out", "in", "none"] = "none"
    hinge: Literal["left", "right", "none"] = "none"
    ending: str | None = None
    reach_m: SpanLength | None = Field(default=None, alias="reach")
    sealed_by: str | None = None
    curbless: bool = False


class Bench(Said):
    """A bench along a wall. L, U and tiers are several benches; where they overlap they are one solid."""

    name: str
    wall: WallName
    from_m: Length = Field(default=0.0, alias="from")
    to_m: SpanLength | None = Field(default=None, alias="to")
    depth_m: SpanLength = Field(alias="depth")
    height_m: SpanLength = Field(alias="height")
    slope: Slope = 0.0
    past_glass_m: SpanLength | None = Field(default=None, alias="past_glass")


class Niche(Said):
    """A recess in a wall; sizes are those of the rough opening on the survey's face."""

    name: str
    wall: WallName
    from_m: Length = Field(alias="from")
    bottom_m: SpanLength = Field(alias="bottom")
    width_m: SpanLength = Field(alias="width")
    height_m: SpanLength = Field(alias="height")
    depth_m: SpanLength = Field(alias="depth")
    sill_slope: Slope = 0.0


class Curb(Said):
    """A curb that stands on the floor along a (glass) wall; its top slopes into the room."""

    name: str
    wall: WallName
    from_m: Length = Field(default=0.0, alias="from")
    to_m: SpanLength | None = Field(default=None, alias="to")
    width_m: SpanLength = Field(alias="width")
    height_m: SpanLength = Field(alias="height")
    slope: Slope = 0.0


class HalfWall(Said):
    """A low wall along a glass wall, with glass on top; ``thickness`` is the part of it on the steam side of the glass."""

    name: str
    wall: WallName
    from_m: Length = Field(default=0.0, alias="from")
    to_m: SpanLength | None = Field(default=None, alias="to")
    thickness_m: SpanLength = Field(alias="thickness")
    height_m: SpanLength = Field(alias="height")
    slope: Slope = 0.0


class Column(Said):
    """A free-standing column from floor to ceiling: its middle, its two sides, its turn from the first wall."""

    name: str
    at: PlanPoint
    size: tuple[SpanLength, SpanLength]
    turned_deg: float = 0.0


class Soffit(Said):
    """A box that hangs under the ceiling along a wall; ``underside`` is its height at the wall, falling at ``slope``."""

    name: str
    wall: WallName
    from_m: Length = Field(default=0.0, alias="from")
    to_m: SpanLength | None = Field(default=None, alias="to")
    depth_m: SpanLength = Field(alias="depth")
    underside_m: SpanLength = Field(alias="underside")
    slope: Slope = 0.0


class Pan(Said):
    """The floor. ``membrane``: bonded on the sloped bed, or a liner under it that others make tight.

    A bonded pan has sloped facets: with a point drain one plane from every wall to a level flat of ``flat`` round the
    drain; with a line drain one plane that falls at ``pitch`` to ``drain_wall``. ``perimeter = "level"`` keeps the bed
    level along the walls; "constant pitch" keeps the pitch and lets the height along the walls vary. ``beyond`` is what lies
    under the floor.

    ``drain_at`` is a plan point or "center". The center is the centroid of the open floor, the floor left between walls and
    what stands on it, as long as water can run straight to it from everywhere. Past an outside corner, of the room or of a
    bench, it cannot: then the center is the middle of the widest part of the floor to which it can, as far from the nearest
    wall or front as may be. In an L this may be far from the end of one leg; say a plan point where that is not wanted.
    """

    membrane: Literal["bonded", "liner"] = "liner"
    drain: Literal["point", "line"] = "point"
    drain_at: PlanPoint | Literal["center"] = "center"
    drain_wall: WallName | None = None
    drain_diameter_m: Diameter = Field(default=0.1016, alias="drain_diameter")
    flat_m: SpanLength = Field(default=0.3048, alias="flat")
    perimeter: Literal["level", "constant pitch"] = "level"
    pitch: Slope = 1 / 48
    bed_at_drain_m: SpanLength = Field(default=0.0381, alias="bed_at_drain")
    beyond: Beyond = "unknown"


class Penetration(Said):
    """Something that goes through a surface: ``on`` names a wall ("B-C"), "ceiling", "floor" or a fixture's surface.

    On a wall: ``along`` from its first station and ``up`` from the floor. On floor, ceiling or a bench top: plan point ``at``.
    """

    name: str
    kind: Literal["pipe", "valve", "steam_outlet", "sensor", "light", "drain", "niche_box", "hinge", "clamp", "bar",
                  "blocking_screw", "other"]
    on: str
    along_m: Length | None = Field(default=None, alias="along")
    up_m: Length | None = Field(default=None, alias="up")
    at: PlanPoint | None = None
    diameter_m: Diameter = Field(alias="diameter")
    sleeve: str | None = None
    seal_f: float | None = None


class Room(Said):
    """The room over the plan."""

    ceiling: Ceiling
    wall: tuple[Wall, ...] = ()
    opening: tuple[Opening, ...] = ()
    bench: tuple[Bench, ...] = ()
    niche: tuple[Niche, ...] = ()
    curb: tuple[Curb, ...] = ()
    half_wall: tuple[HalfWall, ...] = ()
    column: tuple[Column, ...] = ()
    soffit: tuple[Soffit, ...] = ()
    pan: Pan = Pan()
    penetration: tuple[Penetration, ...] = ()
