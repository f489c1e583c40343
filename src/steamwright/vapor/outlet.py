"""How hot foam, membrane and sealant get round the pipe of the steam outlet, in the steady state of an endless session."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steamwright.buildup.model import Layer
from steamwright.physics.heat_plane import Block, Section, Surface, solve_section
from steamwright.vapor.case import Case
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import HEATED_K

PIPE_K, PIPE_W_MK = 373.15, 100.0
REACH_M, CLEARANCE_M = 0.25, 0.00635
AIR_W_MK = 0.04
WARM_K = 333.15
LEAST_LAYER_M = 0.0008
MOST_LAYERS = 12


@dataclass(frozen=True, slots=True)
class Hot:
    """A layer at the edge of the hole: its hottest place, and how far from the edge it is still over 60 °C. [K, m]"""

    layer: str
    hottest_k: float
    warm_to_m: float


@dataclass(frozen=True, slots=True)
class Outlet:
    """Layers round one steam outlet; ``clearance_m`` of air lies between its pipe and them where a sleeve is named."""

    penetration: str
    pipe_m: float
    clearance_m: float
    layers: tuple[Hot, ...]
    halved_change_k: float
    note: str


def outlets(case: Case) -> tuple[Outlet, ...]:
    """Reckon the wall round every steam outlet that goes through a build-up.

    Parameters
    ----------
    case : Case
        The room.

    Returns
    -------
    outlets : tuple of Outlet
        In the order of the penetrations.

    Raises
    ------
    SolveError
        If the heat flow cannot be solved.

    References
    ----------
    ISO-10211 for the method, about an axis; common practice, no source for 60 °C and the air of the clearance
    """
    sleeves = {p.name: p.sleeve for p in case.said.penetration}
    found = []
    for p in case.room.penetrations:
        buildup = next((b for b in case.buildups if b.id == case.room.facet(p.facet).buildup), None)
        if p.kind == "steam_outlet" and buildup is not None:
            found.append(_outlet(p.name, p.diameter_m, CLEARANCE_M if sleeves.get(p.name) else 0.0, buildup.layers, case.use.set_point_k))
    return tuple(found)


def _outlet(name: str, hole_m: float, clearance_m: float, layers: tuple[Layer, ...], steam_k: float) -> Outlet:
    rows = [layer for layer in layers if layer.r_m2k_w > 0.0][:MOST_LAYERS]
    hole = 0.5 * hole_m
    pipe = max(hole - clearance_m, 0.5 * hole)
    # What is thinner than a millimetre has no cells of its own and is read where its neighbours meet.
    edges = np.append(0.0, np.cumsum([layer.thickness_m if layer.thickness_m >= LEAST_LAYER_M else 0.0 for layer in rows]))
    depth, wide = float(edges[-1]), hole + REACH_M
    blocks = [Block(hole, wide, float(a), float(b), layer.thickness_m / layer.r_m2k_w)
              for layer, a, b in zip(rows, edges, edges[1:], strict=False) if b > a]
    blocks += [Block(0.0, pipe, 0.0, depth, PIPE_W_MK)] + ([Block(pipe, hole, 0.0, depth, AIR_W_MK)] if hole > pipe else [])
    film, far = 1.0 / practice("film.steaming_w_m2k"), 1.0 / practice("film.inside_w_m2k")
    surfaces = (Surface("bottom", 0.0, pipe, PIPE_K, 0.0), Surface("top", 0.0, pipe, PIPE_K, 0.0),
                Surface("bottom", hole, wide, steam_k, film), Surface("top", hole, wide, HEATED_K, far))
    field = solve_section(Section(wide, depth, tuple(blocks), surfaces, round_axis=True), fineness=3)
    hot = []
    for layer, a, b in zip(rows, edges, edges[1:], strict=False):
        inside = (field.y_m >= a - 1e-9) & (field.y_m <= b + 1e-9)
        outward = field.x_m >= hole - 1e-9
        along = field.temperature_k[outward][:, inside].max(axis=1)
        over = field.x_m[outward][along >= WARM_K]
        hot.append(Hot(layer.name, float(along[0]), float(over.max() - hole) if len(over) else 0.0))
    return Outlet(name, 2.0 * pipe, hole - pipe, tuple(hot), field.halved_temperature_change_k,
                  "steady, pipe at 100 °C through the whole wall, the house behind it: an upper bound for a session")
