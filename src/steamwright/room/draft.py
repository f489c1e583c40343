"""The room while it is drafted: surfaces, their half-spaces, and the mistakes found on the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from steamwright.errors import GeometryError, JobError, Mistake
from steamwright.geometry.frame import Floats, Point3
from steamwright.geometry.halfspace import HalfSpace, In, half_space
from steamwright.room.model import CoveredBy, Face, FacetKind

DepthOf = Callable[[str, FacetKind], float]
CoveringOf = Callable[[str, FacetKind], tuple[CoveredBy, str, str | None]]

MERGING = {FacetKind.BENCH_TOP, FacetKind.BENCH_FACE, FacetKind.CURB_TOP, FacetKind.CURB_FACE, FacetKind.HALF_WALL_TOP, FacetKind.SOFFIT}
"""Kinds of which coplanar neighbours are one facet: two benches of one height make one seat."""


@dataclass(frozen=True, slots=True)
class Ending:
    """What a person said about the end of the covering at an opening."""

    text: str = ""
    reach_m: float = 0.0
    sealed_by: str = ""


@dataclass(frozen=True, slots=True)
class Surface:
    """A named surface of the room, before it is known which facets it has.

    ``order`` sorts the facets; ``along`` is the direction of ``u`` where the surface is not upright. ``path`` is the place
    in the job that made it; ``needed`` surfaces must show in the room.
    """

    name: str
    kind: FacetKind
    order: tuple[int, ...]
    along: Point3
    covered_by: CoveredBy
    reason: str
    buildup: str | None
    path: str
    needed: bool = False
    ending: Ending = Ending()


@dataclass(slots=True)
class Draft:
    """Gathers half-spaces and surfaces for one face of the room, and every mistake that is found."""

    face: Face
    depth_of: DepthOf
    covering_of: CoveringOf
    surfaces: list[Surface] = field(default_factory=list)
    half_spaces: list[HalfSpace] = field(default_factory=list)
    surface_of: list[int] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    _keys: dict[tuple[str, ...], int] = field(default_factory=dict)

    def surface(self, name: str, kind: FacetKind, order: tuple[int, ...], along: Sequence[float] | Floats, path: str, *,
                needed: bool = False, ending: Ending | None = None) -> int:
        """Note a surface; its number."""
        covered_by, reason, buildup = self.covering_of(name, kind)
        x, y, z = (float(a) for a in (*along, 0.0)[:3])
        self.surfaces.append(Surface(name, kind, order, (x, y, z), covered_by, reason, buildup, path, needed, ending or Ending()))
        return len(self.surfaces) - 1

    def depth_m(self, surface: int) -> float:
        """How far the face stands in front of the framing on a surface. [m]"""
        s = self.surfaces[surface]
        return self.depth_of(s.name, s.kind)

    def plane(self, surface: int, normal: Sequence[float] | Floats, through_m: Sequence[float] | Floats,
              depth_m: float | None = None) -> In:
        """Note the plane of a surface on the framing face, moved to this face, its normal into the air."""
        depth = self.depth_m(surface) if depth_m is None else depth_m
        self.half_spaces.append(half_space(normal, through_m, self._key(surface)).moved(depth))
        self.surface_of.append(surface)
        return In(len(self.half_spaces) - 1)

    def _key(self, surface: int) -> int:
        s = self.surfaces[surface]
        same = (s.kind, s.covered_by, str(s.buildup)) if s.kind in MERGING else (s.name, s.kind)
        return self._keys.setdefault(same, len(self._keys))

    def wrong(self, path: str, detail: str, hint: str) -> None:
        """Note a mistake, so that one run shows them all."""
        self.mistakes.append(Mistake(path, detail, hint, code=GeometryError.code))

    def raise_mistakes(self) -> None:
        """Raise what was found wrong so far.

        Raises
        ------
        GeometryError
            One mistake.
        JobError
            Several.
        """
        raise_all(tuple(self.mistakes))


def raise_all(mistakes: Sequence[Mistake]) -> None:
    """Raise one mistake as itself and several as one error.

    Parameters
    ----------
    mistakes : sequence of Mistake
        What was found; nothing happens when it is empty.

    Raises
    ------
    GeometryError
        One mistake.
    JobError
        Several.

    References
    ----------
    own derivation
    """
    if len(mistakes) == 1:
        raise GeometryError(mistakes[0].detail, path=mistakes[0].path, hint=mistakes[0].hint)
    if mistakes:
        raise JobError(tuple(mistakes))


def level(direction: Floats) -> Floats:
    """A plan direction as one of the room.

    Parameters
    ----------
    direction : ndarray, shape (2,)
        In plan.

    Returns
    -------
    lifted : ndarray, shape (3,)
        The same, level.

    References
    ----------
    own derivation
    """
    return np.array([direction[0], direction[1], 0.0])
