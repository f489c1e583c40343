"""Which build-up lies on which surface, and how far each face stands in front of the framing."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from steamwright.buildup.model import BuildUp
from steamwright.errors import InputError
from steamwright.room.model import CoveredBy, Face, FacetKind

GROUP_OF_KIND: dict[FacetKind, str] = {
    FacetKind.FLOOR: "floor", FacetKind.WALL: "walls", FacetKind.CEILING: "ceiling", FacetKind.SOFFIT: "soffits",
    FacetKind.COLUMN: "columns", FacetKind.BENCH_TOP: "benches", FacetKind.BENCH_FACE: "benches",
    FacetKind.NICHE_SIDE: "niches", FacetKind.NICHE_BACK: "niches", FacetKind.CURB_TOP: "curbs",
    FacetKind.CURB_FACE: "curbs", FacetKind.HALF_WALL_TOP: "half walls", FacetKind.JAMB: "openings",
    FacetKind.HEAD: "openings", FacetKind.SILL: "openings",
}
_REASONS = {
    "sealed foam board": "not proven by this tool: foam-core board with bands on its joints and patches on its fasteners",
    "liquid membrane": "not proven by this tool: liquid-applied membrane",
    "none": "left without a covering by the job",
}
_LINER_REASON = "pan liner under the mortar bed, turned up the walls; this tool judges only the leg that meets it"


class Faces:
    """The build-ups of a job by surface; alternatives are judged elsewhere and lie on nothing.

    Parameters
    ----------
    buildups : sequence of BuildUp
        All build-ups of the job.
    liner_pan : bool
        The floor is a pan liner under its bed, which needs no build-up.
    """

    def __init__(self, buildups: Sequence[BuildUp], *, liner_pan: bool = False) -> None:
        self.buildups = tuple(buildups)
        self.liner_pan = liner_pan
        self._by_name: dict[str, BuildUp] = {}
        for i, buildup in enumerate(self.buildups):
            if buildup.alternative_to is not None:
                continue
            for j, name in enumerate(buildup.on):
                if name in self._by_name:
                    raise InputError(f"{name!r} is covered by two build-ups, {self._by_name[name].name!r} and {buildup.name!r}",
                                     path=f"buildup[{i}].on[{j}]", hint="take it out of one, or say alternative_to")
                self._by_name[name] = buildup

    def buildup_of(self, surface: str, kind: FacetKind) -> BuildUp | None:
        """Find the build-up of a surface: by its own name, then by its fixture's, then by its group.

        Parameters
        ----------
        surface : str
            Name of the surface, such as "A-B" or "bench 1 top".
        kind : FacetKind
            What the facet is.

        Returns
        -------
        buildup : BuildUp or None
            ``None`` where the job names none.

        References
        ----------
        own derivation
        """
        if surface in self._by_name:
            return self._by_name[surface]
        fixtures = [name for name in self._by_name if surface.startswith(name + " ")]
        if fixtures:
            return self._by_name[max(fixtures, key=len)]
        return self._by_name.get(GROUP_OF_KIND.get(kind, ""))

    def depth_m(self, surface: str, kind: FacetKind, face: Face) -> float:
        """How far a face stands in front of the framing or slab face, into the air.

        Parameters
        ----------
        surface : str
            Name of the surface.
        kind : FacetKind
            What the facet is; an opening has no layers.
        face : Face
            The face asked for; an existing finish counts as the board face.

        Returns
        -------
        depth_m : float
            Thickness of the layers between, never negative. [m]

        Raises
        ------
        InputError
            If the surface is covered and the job names no build-up for it.

        References
        ----------
        own derivation
        """
        if kind is FacetKind.OPENING or face in (Face.FRAMING, Face.SLAB):
            return 0.0
        buildup = self.buildup_of(surface, kind)
        if buildup is None:
            if self._is_liner_floor(kind):
                return 0.0
            raise self._missing(surface, kind)
        return {Face.EXISTING: buildup.to_board_m, Face.BOARD: buildup.to_board_m, Face.MEMBRANE: buildup.to_membrane_m,
                Face.TILE: buildup.to_tile_m}[face]

    def covering(self, surface: str, kind: FacetKind) -> tuple[CoveredBy, str, str | None]:
        """Who makes a facet tight, why where it is not pieces, and by which build-up.

        Parameters
        ----------
        surface : str
            Name of the surface.
        kind : FacetKind
            What the facet is.

        Returns
        -------
        covered_by : CoveredBy
            ``pieces`` under a sheet membrane, ``other`` where something else does it, ``none`` for openings.
        reason : str
            Empty for pieces and openings.
        buildup : str or None
            Id of the build-up.

        Raises
        ------
        InputError
            If the surface is covered and the job names no build-up for it.

        References
        ----------
        own derivation
        """
        if kind is FacetKind.OPENING:
            return CoveredBy.NONE, "", None
        buildup = self.buildup_of(surface, kind)
        if self._is_liner_floor(kind):
            return CoveredBy.OTHER, _LINER_REASON, buildup.id if buildup else None
        if buildup is None:
            raise self._missing(surface, kind)
        if buildup.covering == "sheet membrane":
            return CoveredBy.PIECES, "", buildup.id
        return CoveredBy.OTHER, _REASONS[buildup.covering], buildup.id

    def unused_names(self, surfaces: Sequence[tuple[str, FacetKind]]) -> tuple[str, ...]:
        """Names under ``on`` that meet no surface of the room, most likely misspelt.

        Parameters
        ----------
        surfaces : sequence of (str, FacetKind)
            All surfaces of the room.

        Returns
        -------
        names : tuple of str
            Surface names, not groups, that are nowhere.

        References
        ----------
        own derivation
        """
        groups = set(GROUP_OF_KIND.values())
        known = {s for s, _ in surfaces}
        return tuple(n for n in self._by_name if n not in groups and n not in known and not any(s.startswith(n + " ") for s in known))

    def refuse_unmet_names(self, surfaces: Sequence[tuple[str, FacetKind]]) -> None:
        """Refuse names under ``on`` that meet no surface: misspelt, they would leave a surface to its group in silence.

        Parameters
        ----------
        surfaces : sequence of (str, FacetKind)
            All surfaces of the room.

        Raises
        ------
        InputError
            Naming the first such name and its nearest surfaces.

        References
        ----------
        own derivation
        """
        for name in self.unused_names(surfaces):
            i = next(i for i, b in enumerate(self.buildups) if name in b.on and b.alternative_to is None)
            near = get_close_matches(name, sorted({s for s, _ in surfaces}), n=3, cutoff=0.3)
            raise InputError(f"{name!r} is no surface of this room", path=f"buildup[{i}].on[{self.buildups[i].on.index(name)}]",
                             hint=f"did you mean {', '.join(repr(n) for n in near)}?" if near else "name a group such as walls")

    def _is_liner_floor(self, kind: FacetKind) -> bool:
        return self.liner_pan and kind is FacetKind.FLOOR

    def _missing(self, surface: str, kind: FacetKind) -> InputError:
        near = get_close_matches(surface, list(self._by_name), n=1, cutoff=0.8)
        group = GROUP_OF_KIND[kind]
        return InputError(f"no build-up for {surface!r}", path="buildup",
                          hint=f'add "{group}" or "{surface}" under "on" of a build-up' + (f", in place of {near[0]!r}" if near else ""))
