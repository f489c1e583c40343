"""Studs, tracks, corners and screws of a build-up: the heat they add, the coldest places, and the vapor that meets them there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from steamwright.buildup.catalog_model import LayerRole, Material
from steamwright.buildup.model import BuildUp, Layer
from steamwright.physics.heat_plane import Field, linear_transmittance_w_mk, solve_section
from steamwright.physics.moist_air import saturation_pressure_pa, saturation_temperature_k
from steamwright.vapor.case import FRAMED
from steamwright.vapor.framing_sections import (
    LEG_M,
    MIL_M,
    Frame,
    corner_section,
    screw_section,
    stud_section,
    track_section,
)
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.monthly import completed, pressure_before_pa, stack_of, steam_share, wet_front
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import HEATED_HUMIDITY, HEATED_K, Side

Floats = NDArray[np.float64]
FINENESS, CORNER_FINENESS = 2, 1
LEAST_LAYER_M = 1e-4


@dataclass(frozen=True, slots=True)
class Place:
    """A cold place: its share of the difference between outside and steam, its coldest while it steams, and the vapor that is there.

    ``margin_*`` is the least, over the months, of the temperature less the dew point: while it steams without end, and in the
    mean of the week of use. [K]
    """

    name: str
    share: float
    steaming_k: float
    dew_point_k: float
    margin_steaming_k: float
    margin_mean_k: float
    verdict: Literal["pass", "marginal", "fail"]


@dataclass(frozen=True, slots=True)
class FramingHeat:
    """Plane heat of one framed build-up before one other side.

    ``psi_*`` are linear transmittances [W/(m K)], of the corner by inside measures, and ``None`` between joists, which have neither
    track nor post; ``chi_screw_w_k`` is of one screw.
    ``halved_change`` is the largest change of a heat flow from the grid to the one of half its spacing, of what flows.
    """

    buildup: str
    side: str
    spacing_m: float
    u_between_w_m2k: float
    u_w_m2k: float
    psi_stud_w_mk: float
    psi_track_w_mk: float | None
    psi_corner_w_mk: float | None
    chi_screw_w_k: float
    places: tuple[Place, ...]
    halved_change: float
    note: str


@dataclass(frozen=True, slots=True)
class _Solved:
    """What heat alone says of a frame; shares of the difference from outside (0) to steam (1)."""

    u: float
    psi_stud: float
    psi_track: float
    psi_corner: float
    chi: float
    stud_face: float
    track_face: float
    corner_face: float
    screw_head: float
    halved: float


def framing_heat(buildup: BuildUp, far: Side, use: SteamUse, materials: Mapping[str, Material]) -> FramingHeat | None:
    """Reckon the framing of a build-up.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.
    far : Side
        Its other side.
    use : SteamUse
        Set point and hours of steam.
    materials : mapping
        The catalog's materials.

    Returns
    -------
    heat : FramingHeat or None
        ``None`` where it has no studs.

    Raises
    ------
    SolveError
        If the heat flow cannot be solved.

    References
    ----------
    ISO-10211; own derivation for the vapor at the cold places
    """
    layers = completed(buildup, far, materials, retarder=False)
    frame = frame_of(buildup, layers, 1.0 / far.film_w_m2k)
    if frame is None:
        return None
    s = _solved(frame)
    vapor = _Vapor(layers, far, use)
    face = _cavity(layers)
    board = next((k for k in range(face - 1, -1, -1) if layers[k].role == LayerRole.BOARD), face)
    bar, upright = buildup.framing_kind.split(" ")[1], buildup.framing_kind.endswith("stud")
    ends = (vapor.place("track behind the board", s.track_face, face), vapor.place("post in the corner", s.corner_face, face))
    places = (vapor.place(f"{bar} face behind the board", s.stud_face, face), *(ends if upright else ()),
              vapor.place("screw head in the board", s.screw_head, board))
    note = ("steady heat through the sections, month by month; vapor through the bay beside them without condensation; the post and the"
            " round stud behind a screw are simplified")
    return FramingHeat(buildup.id, far.name, frame.spacing_m, frame.u_w_m2k, s.u, s.psi_stud,
                       s.psi_track if upright else None, s.psi_corner if upright else None, s.chi, places, s.halved, note)


def _cavity(layers: tuple[Layer, ...]) -> int:
    """Which layer fills the bay; behind all of them where none does."""
    for role in (LayerRole.CAVITY, LayerRole.INSULATION):
        found = [k for k, layer in enumerate(layers) if layer.role == role and k > 0]
        if found:
            return found[-1] if role is LayerRole.INSULATION else found[0]
    return next((k for k, layer in enumerate(layers) if layer.permeance_basis == "assumed"), len(layers))


def frame_of(buildup: BuildUp, layers: tuple[Layer, ...], outside_m2k_w: float) -> Frame | None:
    """Lay a build-up out for its sections.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.
    layers : tuple of Layer
        Its layers with what closes the bay, steam side first.
    outside_m2k_w : float
        Surface resistance of the other side. [m2 K/W]

    Returns
    -------
    frame : Frame or None
        ``None`` without studs or a board before them.

    References
    ----------
    own derivation
    """
    if buildup.framing_kind not in FRAMED:
        return None
    k = _cavity(layers)

    def rows(part: tuple[Layer, ...]) -> tuple[tuple[float, float], ...]:
        return tuple((y.thickness_m, y.thickness_m / y.r_m2k_w) for y in part if y.thickness_m >= LEAST_LAYER_M and y.r_m2k_w > 0.0)

    before, filled = rows(layers[:k]), k < len(layers) and layers[k].role in (LayerRole.CAVITY, LayerRole.INSULATION)
    depth = layers[k].thickness_m if filled else buildup.framing_depth_m or 0.0
    if not before or depth <= 0.0:
        return None
    bay = (depth, depth / (layers[k].r_m2k_w if filled else practice("framing.bay_air_m2k_w")))
    foam = any("foam-core" in y.material or "foam" in y.tags for y in layers[:k] if y.role == LayerRole.BOARD)
    mil = buildup.steel_mil or practice("framing.steel_mil")
    return Frame(before, bay, rows(layers[k + 1 if filled else k:]), buildup.framing_kind.split(" ")[0], mil * MIL_M,
                 buildup.framing_spacing_m or practice("framing.spacing_m"), 1.0 / practice("film.steaming_w_m2k"), outside_m2k_w, foam)


# Sections hang on layers alone: a new reading finds them solved.
@lru_cache(maxsize=64)
def _solved(f: Frame) -> _Solved:
    stud, track = (solve_section(make(f), FINENESS) for make in (stud_section, track_section))
    corner = solve_section(corner_section(f), CORNER_FINENESS)
    with_screw, without = (solve_section(screw_section(f, screw), FINENESS) for screw in (True, False))
    u, a, wide = f.u_w_m2k, f.face_m, f.spacing_m
    flange = practice("framing.wood_wide_m") if f.stud == "wood" else practice("framing.flange_m")
    left = 0.5 * wide - (0.5 * flange if f.stud == "wood" else 0.0)
    entering = _entering(stud)
    out = f.depth_m
    return _Solved(
        entering / wide, linear_transmittance_w_mk(entering, 1.0, u * wide), linear_transmittance_w_mk(_entering(track), 1.0, u * LEG_M),
        linear_transmittance_w_mk(_entering(corner), 1.0, 2.0 * u * LEG_M), _entering(with_screw) - _entering(without),
        stud.coldest(left, left + flange, a, a)[0], track.coldest(0.0, practice("framing.track_leg_m"), a, a)[0],
        corner.at(out - a, out - a), with_screw.at(0.0, a - f.before[-1][0]),
        max(x.halved_heat_change for x in (stud, track, corner, with_screw)))


def _entering(field: Field) -> float:
    return sum(h for h in field.heat_w_m if h > 0.0)


class _Vapor:
    """Vapor on its way through the bay, month by month: while it steams, and in the mean of the week."""

    def __init__(self, layers: tuple[Layer, ...], far: Side, use: SteamUse) -> None:
        self.front, self.share, self.use = wet_front(layers), steam_share(use), use
        self.out_k, self.out_pa = np.array(far.temperature_k), np.array(far.vapor_pa)
        self.hot = stack_of(layers, far, 1.0 / practice("film.steaming_w_m2k"))
        self.mean = stack_of(layers, far, 1.0 / practice("film.inside_w_m2k"))

    def place(self, name: str, share: float, layer: int) -> Place:
        """Judge a place by its share of the temperature difference and the layer before which it lies."""
        full = float(saturation_pressure_pa(self.use.set_point_k))
        house = HEATED_HUMIDITY * float(saturation_pressure_pa(HEATED_K))
        mean_k = self.share * self.use.set_point_k + (1.0 - self.share) * HEATED_K
        mean_pa, rows = self.share * full + (1.0 - self.share) * house, []
        for stack, kelvin, pascal in ((self.hot, self.use.set_point_k, full), (self.mean, mean_k, mean_pa)):
            inside = np.full(12, kelvin)
            before = pressure_before_pa(stack, inside, np.full(12, pascal), self.out_k)
            air = np.array(stack.air_layer_m)
            passed = float(air[: max(layer - self.front, 0)].sum() / air.sum())
            dew = saturation_temperature_k(before + (self.out_pa - before) * passed)
            rows.append((self.out_k + share * (inside - self.out_k), dew))
        (hot_k, hot_dew), (week_k, week_dew) = rows
        worst, margin, mean = int((hot_k - hot_dew).argmin()), float((hot_k - hot_dew).min()), float((week_k - week_dew).min())
        verdict: Literal["pass", "marginal", "fail"] = "fail" if mean < 0.0 else "marginal" if margin < 0.0 else "pass"
        return Place(name, share, float(hot_k[worst]), float(hot_dew[worst]), margin, mean, verdict)
