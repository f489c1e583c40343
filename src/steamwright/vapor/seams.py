"""Vapor through a whole covering: sheets, bands, the mortar inside laps, collars; and what a gap would let through."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from steamwright.buildup.stack import AIR_PERMEABILITY_KG_M_S_PA
from steamwright.covering.model import Covering, Piece, Role
from steamwright.physics.seam import capillary_lap_kg_m_s, collar_kg_pa_s, enclosure_permeance_kg_pa_s_m2, gap_kg_pa_s_m, lap_kg_pa_s_m
from steamwright.room.model import CoveredBy, Facet
from steamwright.vapor.case import Case
from steamwright.vapor.practice import practice

GAP_M = 0.010
SHOWN_LAPS_M = (0.0254, 0.0508, 0.0762, 0.1016)


@dataclass(frozen=True, slots=True)
class LapRow:
    """What one metre of lap of a width passes through its mortar, as an area of membrane that passes as much. [m, m²/m]"""

    width_m: float
    as_area_m2_m: float


@dataclass(frozen=True, slots=True)
class Seams:
    """Effective permeance of everything that pieces cover, low to high by the mortar in the laps, and what it is made of.

    ``collars_kg_pa_s`` is all collars together; a gap is compared by the area of sound membrane that passes as much.
    """

    area_m2: float
    membrane_kg_pa_s_m2: float
    low_kg_pa_s_m2: float
    high_kg_pa_s_m2: float
    lapped_m2: float
    lap_m: float
    lap_width_m: float
    collars_kg_pa_s: float
    laps: tuple[LapRow, ...]
    gap_as_area_m2_m: float
    wet_lap_kg_m_day: float
    assumptions: tuple[str, ...]


def seams(case: Case) -> Seams | None:
    """Reckon the effective permeance of a covering.

    Parameters
    ----------
    case : Case
        The room with its pieces.

    Returns
    -------
    seams : Seams or None
        ``None`` where pieces cover nothing or a membrane's permeance is not known.

    References
    ----------
    own derivation; ISO-10456 for mortar; common practice, no source for its thickness in a lap
    """
    facets = [f for f in case.room.facets if f.covering_by is CoveredBy.PIECES]
    area = sum(f.area_m2 for f in facets)
    width = case.covering.lap_planned_m
    permeance = {p.material: _permeance(case, p.material) for p in case.covering.pieces}
    if area <= 0.0 or not permeance or any(v is None for v in permeance.values()):
        return None
    known = {k: v for k, v in permeance.items() if v is not None}
    membrane = _mean(case.covering.pieces, known)
    lapped = sum(_lapped_m2(f, case.covering) for f in facets)
    length, filler = lapped / width, practice("lap.filler_m")
    mu_open, mu_tight = practice("lap.mu_open"), practice("lap.mu_tight")
    ends = []
    for mu in (mu_tight, mu_open):
        delta = AIR_PERMEABILITY_KG_M_S_PA / mu
        one = float(lap_kg_pa_s_m(width, filler, delta, membrane))
        rings = _collars(case, delta, filler)
        ends.append((enclosure_permeance_kg_pa_s_m2([area], [membrane], [length], [one], [membrane * width], rings), sum(rings)))
    delta = AIR_PERMEABILITY_KG_M_S_PA / mu_open
    rows = tuple(LapRow(b, float(lap_kg_pa_s_m(b, filler, delta)) / membrane) for b in SHOWN_LAPS_M)
    gap = float(gap_kg_pa_s_m(GAP_M, practice("lap.gap_depth_m"))) / membrane
    wet = capillary_lap_kg_m_s(width, filler, practice("lap.absorption_kg_m2_s05"), practice("lap.capillary_kg_m3")) * 86_400.0
    return Seams(area, membrane, ends[0][0], ends[1][0], lapped, length, width, ends[1][1], rows, gap, wet, (
        f"laps of the planned width, filled by {filler * 1e3:.1f} mm of mortar with a resistance factor of {mu_open:g} to {mu_tight:g}",
        "the band is diffusion alone: water that stands on an absorbent lap, and air that leaks through a hole, can carry more",
        "a gap is counted as still air over its depth, without what lies behind it"))


def _permeance(case: Case, material: str) -> float | None:
    vapor = case.materials[material].vapor
    return vapor.value if vapor is not None and vapor.form == "permeance" else None


def _mean(pieces: Iterable[Piece], known: dict[str, float]) -> float:
    """Mean permeance by the area of the pieces; where two lie on one another the lap is reckoned apart."""
    areas = dict.fromkeys(known, 0.0)
    for piece in pieces:
        areas[piece.material] += sum(p.polygon.area for p in piece.patches)
    total = sum(areas.values())
    return sum(known[m] * a for m, a in areas.items()) / total


def _lapped_m2(facet: Facet, covering: Covering) -> float:
    """Area of all patches on a facet beyond the facet's own."""
    laid = sum(p.polygon.area for piece in covering.pieces for p in piece.patches if p.facet == facet.id)
    return float(max(laid - facet.area_m2, 0.0))


def _collars(case: Case, delta: float, filler_m: float) -> list[float]:
    """Rings of mortar under collars, by the least width that their flanges have."""
    collared = {p.patches[0].facet for p in case.covering.pieces if p.role is Role.COLLAR}
    flange = practice("lap.flange_m")
    return [float(collar_kg_pa_s(p.diameter_m, p.diameter_m + 2.0 * flange, filler_m, delta))
            for p in case.room.penetrations if p.facet in collared]
