"""A stack of layers on a facet, and the numbers that defend it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a build-up, steam side first.

    ``permeance_kg_pa_s_m2`` is of the layer at its thickness; ``None`` where the catalog knows none.
    """

    material: str
    name: str
    role: str
    thickness_m: float
    conductivity_w_mk: float | None
    r_m2k_w: float
    density_kg_m3: float
    permeance_kg_pa_s_m2: float | None
    permeance_basis: str
    source: str
    how_known: str
    tags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BuildUp:
    """Layers on a set of facets. ``to_membrane_m`` is the thickness from the framing face to the membrane face."""

    id: str
    name: str
    on: tuple[str, ...]
    covering: str
    layers: tuple[Layer, ...]
    framing_kind: str
    framing_spacing_m: float | None
    framing_depth_m: float | None
    steel_mil: int | None
    alternative_to: str | None
    facets: tuple[str, ...]
    permeance_kg_pa_s_m2: float | None
    membrane_permeance_kg_pa_s_m2: float | None
    membrane_procedure: str
    r_m2k_w: float
    mass_kg_m2: float
    to_membrane_m: float
    to_board_m: float
    to_tile_m: float
    notes: tuple[str, ...] = ()
    retarder_behind: str = "unknown"
    vented_1_h: float = 0.0
