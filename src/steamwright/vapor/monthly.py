"""Month by month: where vapor gathers in a build-up, whether it leaves again, and how warm the surface stays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from steamwright.buildup.catalog_model import LayerRole, Material
from steamwright.buildup.model import BuildUp, Layer
from steamwright.errors import DataError
from steamwright.physics.moist_air import saturation_pressure_pa, saturation_temperature_k
from steamwright.physics.vapor_monthly import (
    MONTH_DAYS,
    STANDARD_PERMEABILITY_KG_PA_S_M,
    Stack,
    Year,
    block_climate,
    interstitial_year,
    surface_factor,
    surface_factor_needed,
)
from steamwright.physics.wet_surface import tabled_saturation_pa
from steamwright.vapor.case import is_open_bay
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import HEATED_HUMIDITY, HEATED_K, Side

Floats = NDArray[np.float64]

WEEK_H = 168.0
_SOAKED = (LayerRole.TILE, LayerRole.MORTAR, LayerRole.BED)
# A layer without vapor resistance of its own, such as tile with its joints.
OPEN_M = 1e-4
RETARDER = "polyethylene film 6 mil"
_KINDS = {"foil": "aluminium foil", "paint": "gloss paint"}
_MOST_SD_M = 1e5


@dataclass(frozen=True, slots=True)
class Plane:
    """Water that gathers at one place through the year: most of it, and what is left after twelve months. [kg/m²]"""

    behind: str
    most_kg_m2: float
    left_kg_m2: float


@dataclass(frozen=True, slots=True)
class Monthly:
    """The monthly method for one build-up before one other side.

    ``retarder`` says whether a film already closes the far side. ``mean`` is of the mean week of use,
    ``steaming_g_m2_h`` what gathers in each hour of steam once the wall has warmed through, in the worst month.
    ``block_*`` is the cross-check by two fixed blocks of climate, which knows no steam.
    ``surface_factor_needed`` is against mold in the air of the house, since steam wets every tile. The verdict is ``fail`` where
    water stays from year to year, ``marginal`` where more gathers than a film or foil may hold.
    """

    buildup: str
    side: str
    retarder: bool
    planes: tuple[Plane, ...]
    peak_kg_m2: float
    dries_out: bool
    water_by_month_kg_m2: tuple[float, ...]
    first_month: int
    steaming_g_m2_h: float
    steaming_behind: str
    surface_factor: float
    surface_factor_needed: float
    surface_at_steam_k: float
    block_gathered_kg_m2: float
    block_dries: bool
    assumed: tuple[str, ...]
    verdict: Literal["pass", "marginal", "fail"]


def steam_share(use: SteamUse) -> float:
    """Share of the week in which the room steams.

    Parameters
    ----------
    use : SteamUse
        What the job says.

    Returns
    -------
    share : float
        Sessions with half of their warm-up, or the hours of continuous use. [1]

    References
    ----------
    own derivation
    """
    daily_h = use.continuous_h if use.kind == "continuous" else use.sessions_a_day * (use.session_min + 0.5 * use.warm_up_min) / 60.0
    return min(daily_h * use.days_a_week / WEEK_H, 1.0)


def completed(buildup: BuildUp, far: Side, materials: Mapping[str, Material], retarder: bool) -> tuple[Layer, ...]:
    """Layers of a build-up with what is assumed behind it: a retarder already there, and what closes the stud bay.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.
    far : Side
        Its other side.
    materials : mapping
        The catalog's materials.
    retarder : bool
        Whether a film closes the far side: the one that the job names, polyethylene where it names none.

    Returns
    -------
    layers : tuple of Layer
        Steam side first.

    Raises
    ------
    DataError
        If a closing layer has no thickness in the catalog.

    References
    ----------
    common practice, no source
    """
    closing = far.closing if is_open_bay(buildup) else ()
    film = (_KINDS.get(buildup.retarder_behind, RETARDER),) if retarder else ()
    names = closing + film if buildup.retarder_behind == "paint" else film + closing  # paint lies on what closes the bay
    return buildup.layers + tuple(_assumed(materials[n]) for n in names)


def _assumed(m: Material) -> Layer:
    if m.thickness_m is None or m.vapor is None:
        raise DataError(f"{m.id!r} needs a thickness and a vapor resistance", path=m.id, hint="complete its catalog row")
    k = m.conductivity_w_mk.value if m.conductivity_w_mk else None
    r = m.resistance_m2k_w.value if m.resistance_m2k_w else m.thickness_m / k if k else 0.0
    sd = m.vapor.value if m.vapor.form == "sd" else (m.vapor.wet or m.vapor.value) * m.thickness_m
    return Layer(m.id, m.name, m.role.value, m.thickness_m, k, r, m.density_kg_m3.value, 1.95e-10 / sd, "assumed", m.vapor.source,
                 m.vapor.how_known, m.tags)


def wet_front(layers: tuple[Layer, ...]) -> int:
    """How many layers lie before the membrane: they are soaked in each session and count for heat alone.

    Parameters
    ----------
    layers : tuple of Layer
        Steam side first.

    Returns
    -------
    count : int
        Without a membrane, tile and mortar.

    References
    ----------
    own derivation
    """
    found = next((k for k, layer in enumerate(layers) if layer.role == LayerRole.MEMBRANE), None)
    if found is not None:
        return found
    return next((k for k, layer in enumerate(layers) if layer.role not in _SOAKED), len(layers) - 1)


def stack_of(layers: tuple[Layer, ...], far: Side, inside_m2k_w: float) -> Stack:
    """Layers from the membrane on as the monthly method takes them; what lies before it joins the surface resistance.

    Parameters
    ----------
    layers : tuple of Layer
        Steam side first.
    far : Side
        The other side.
    inside_m2k_w : float
        Surface resistance on the steam side. [m2 K/W]

    Returns
    -------
    stack : Stack
        Heat resistances and equivalent air layers.

    References
    ----------
    ISO-13788 clause 6
    """
    front = wet_front(layers)
    layers, inside_m2k_w = layers[front:], inside_m2k_w + sum(layer.r_m2k_w for layer in layers[:front])
    airs = tuple(OPEN_M if p is None else min(STANDARD_PERMEABILITY_KG_PA_S_M / p, _MOST_SD_M) if p > 0.0 else _MOST_SD_M
                 for p in (layer.permeance_kg_pa_s_m2 for layer in layers))
    return Stack(tuple(layer.r_m2k_w for layer in layers), airs, inside_m2k_w, 1.0 / far.film_w_m2k)


def monthly(buildup: BuildUp, far: Side, use: SteamUse, materials: Mapping[str, Material], retarder: bool = False) -> Monthly:
    """Run the monthly method.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.
    far : Side
        The other side.
    use : SteamUse
        Set point and hours of steam.
    materials : mapping
        The catalog's materials.
    retarder : bool
        Whether a film already closes the far side.

    Returns
    -------
    monthly : Monthly
        Water by plane and month, and the surface.

    Raises
    ------
    DataError
        If an assumed layer lacks data.

    References
    ----------
    ISO-13788 clauses 5 and 6; DIN-4108-3 for the cross-check; own derivation for the mean of a week of steam
    """
    return _monthly(buildup.id, completed(buildup, far, materials, retarder), len(buildup.layers), far, use.set_point_k, steam_share(use),
                    retarder)


# Nothing here hangs on the room's measures, so that a new reading finds it done.
@lru_cache(maxsize=256)
def _monthly(name: str, layers: tuple[Layer, ...], known: int, far: Side, steam_k: float, share: float, retarder: bool) -> Monthly:
    steam_pa = float(saturation_pressure_pa(steam_k))
    house_pa = HEATED_HUMIDITY * float(saturation_pressure_pa(HEATED_K))
    inside_k = np.full(12, share * steam_k + (1.0 - share) * HEATED_K)
    inside_pa = np.full(12, share * steam_pa + (1.0 - share) * house_pa)
    out_k, out_pa = np.array(far.temperature_k), np.array(far.vapor_pa)
    stack = stack_of(layers, far, 1.0 / practice("film.inside_w_m2k"))
    mean = interstitial_year(stack, inside_k, pressure_before_pa(stack, inside_k, inside_pa, out_k), out_k, out_pa, tabled_saturation_pa)
    film = 1.0 / practice("film.steaming_w_m2k")
    hot, behind_front = stack_of(layers, far, film), layers[wet_front(layers):]
    steaming, behind = _steaming(hot, behind_front, steam_k, far)
    total = sum(hot.resistance_m2k_w) + hot.inside_m2k_w + hot.outside_m2k_w
    _, needed = surface_factor_needed(out_k, np.full(12, HEATED_K), np.full(12, house_pa), dew_point=saturation_temperature_k)
    finite = needed[np.isfinite(needed)]
    block = block_climate(stack)
    assumed = tuple(layer.name for layer in layers[known:])
    return Monthly(
        name, far.name, retarder, _planes(mean, behind_front), mean.peak_kg_m2, mean.dries_out, _by_month(mean), mean.first_month,
        steaming, behind, surface_factor(total - film + 0.25), float(finite.max()) if len(finite) else 0.0,
        steam_k - (steam_k - far.coldest_k) * film / total, block.gathered_kg_m2, block.dries, assumed,
        "fail" if not mean.dries_out else "marginal" if mean.peak_kg_m2 > practice("dew.most_kg_m2") else "pass")


def pressure_before_pa(stack: Stack, inside_k: Floats, inside_pa: Floats, outside_k: Floats) -> Floats:
    """Vapor pressure before the membrane: no more than the wet mortar there can have at its temperature.

    Parameters
    ----------
    stack : Stack
        From `stack_of`.
    inside_k : ndarray, shape (12,)
        Steam side. [K]
    inside_pa : ndarray, shape (12,)
        Its vapor pressure. [Pa]
    outside_k : ndarray, shape (12,)
        Other side. [K]

    Returns
    -------
    pressure_pa : ndarray, shape (12,)
        Before the membrane. [Pa]

    References
    ----------
    own derivation
    """
    total = stack.inside_m2k_w + sum(stack.resistance_m2k_w) + stack.outside_m2k_w
    return np.minimum(inside_pa, tabled_saturation_pa(inside_k + (outside_k - inside_k) * stack.inside_m2k_w / total))


def _steaming(stack: Stack, layers: tuple[Layer, ...], steam_k: float, far: Side) -> tuple[float, str]:
    """Largest steady rate while it steams, and behind which layer. [g/(m² h)]"""
    hot, out = np.full(12, steam_k), np.array(far.temperature_k)
    before = pressure_before_pa(stack, hot, tabled_saturation_pa(hot), out)
    year = interstitial_year(stack, hot, before, out, np.array(far.vapor_pa), tabled_saturation_pa)
    if not year.planes:
        return 0.0, ""
    hours = 24.0 * np.array(MONTH_DAYS)[list(year.months)]
    rates = np.maximum(year.flow_kg_m2, 0.0) / hours[:, None] * 1e3
    worst = int(rates.sum(axis=1).argmax())
    return float(rates[worst].sum()), layers[year.planes[int(rates[worst].argmax())].layer].name


def _planes(year: Year, layers: tuple[Layer, ...]) -> tuple[Plane, ...]:
    rows = zip(year.planes, year.water_kg_m2.max(axis=0, initial=0.0), year.water_kg_m2[-1], strict=True) if year.planes else ()
    merged: dict[str, tuple[float, float]] = {}
    for plane, most, left in rows:
        name = layers[plane.layer].name
        a, b = merged.get(name, (0.0, 0.0))
        merged[name] = (a + float(most), b + float(left))
    return tuple(Plane(name, most, left) for name, (most, left) in merged.items())


def _by_month(year: Year) -> tuple[float, ...]:
    total = np.zeros(12)
    for row, month in zip(year.water_kg_m2.sum(axis=1), year.months, strict=True):
        total[month] = row
    return tuple(total.tolist())

