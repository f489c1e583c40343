"""What a room is once it is measured: flat facets that close, and how they meet."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from shapely import Polygon

from steamwright.geometry.frame import Frame, Point2, Point3, outlined


class FacetKind(StrEnum):
    """What a facet is in the room."""

    FLOOR = "floor"
    WALL = "wall"
    CEILING = "ceiling"
    SOFFIT = "soffit"
    COLUMN = "column"
    BENCH_TOP = "bench_top"
    BENCH_FACE = "bench_face"
    NICHE_SIDE = "niche_side"
    NICHE_BACK = "niche_back"
    CURB_TOP = "curb_top"
    CURB_FACE = "curb_face"
    HALF_WALL_TOP = "half_wall_top"
    JAMB = "jamb"
    HEAD = "head"
    SILL = "sill"
    OPENING = "opening"


class CoveredBy(StrEnum):
    """Who makes a facet tight."""

    PIECES = "pieces"
    OTHER = "other"
    NONE = "none"


class JointKind(StrEnum):
    """How two facets meet, seen from the air."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    FLAT = "flat"


class Face(StrEnum):
    """The layer boundary on which something is measured or built."""

    FRAMING = "framing"
    SLAB = "slab"
    EXISTING = "existing"
    BOARD = "board"
    MEMBRANE = "membrane"
    TILE = "tile"


@dataclass(frozen=True)  # without slots, to remember its polygon
class Facet:
    """One flat surface of the room, seen from the air.

    ``outline_m`` runs counter-clockwise in the frame's (s, t), holes clockwise. On walls ``v`` points up the wall and
    ``u`` to the right of a person who stands in the room and looks at it; on floors and ceilings ``u`` follows the
    first wall. ``surface`` is the name a job file uses ("A-B", "ceiling", "bench 1 top"): several facets may share it.
    """

    id: str
    kind: FacetKind
    name: str
    frame: Frame
    outline_m: tuple[Point2, ...]
    holes_m: tuple[tuple[Point2, ...], ...]
    area_m2: float
    covering_by: CoveredBy
    reason: str
    surface: str
    buildup: str | None

    @cached_property
    def polygon(self) -> Polygon:
        """The facet's outline with its holes, in (s, t). [m]"""
        return outlined(self.outline_m, self.holes_m)

    def called(self, name: str) -> bool:
        """Whether a job means this facet: by the name of its surface, or by its own, which messages and drawings use ("floor 3")."""
        return name in (self.name, self.surface)


@dataclass(frozen=True, slots=True)
class Joint:
    """A straight stretch along which two covered facets meet. ``angle_deg`` is measured through the air."""

    id: str
    facets: tuple[str, str]
    start_m: Point3
    end_m: Point3
    angle_deg: float
    kind: JointKind


@dataclass(frozen=True, slots=True)
class Rim:
    """A straight stretch along which the covering ends at an opening, and how it ends there."""

    id: str
    facet: str
    opening: str
    start_m: Point3
    end_m: Point3
    ending: str
    reach_m: float
    sealed_by: str


@dataclass(frozen=True, slots=True)
class Penetration:
    """Something that goes through a facet. ``center_m`` is (s, t) in the facet's frame."""

    id: str
    facet: str
    center_m: Point2
    diameter_m: float
    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Solid:
    """A closed room on one face: its facets enclose the air."""

    face: Face
    facets: tuple[Facet, ...]
    joints: tuple[Joint, ...]
    rims: tuple[Rim, ...]
    penetrations: tuple[Penetration, ...]
    volume_m3: float

    def facet(self, facet_id: str) -> Facet:
        """Find a facet by its id.

        Parameters
        ----------
        facet_id : str
            Id such as ``facet-03``.

        Returns
        -------
        facet : Facet
            The facet with that id.

        Raises
        ------
        KeyError
            If there is none.

        References
        ----------
        own derivation
        """
        for f in self.facets:
            if f.id == facet_id:
                return f
        raise KeyError(facet_id)
