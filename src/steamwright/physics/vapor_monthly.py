"""Monthly means: how warm a surface must be against mold, and where water gathers inside a wall and when it leaves.

Steady diffusion month by month, without storage, capillary flow or air: a screening that the hourly march can overrule.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError, SolveError
from steamwright.physics.moist_air import magnus_pressure_pa, magnus_temperature_k

Floats = NDArray[np.float64]

STANDARD_PERMEABILITY_KG_PA_S_M = 2.0e-10
MOST_RESISTANCE_M2K_W = 0.25
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
DAY_S = 86_400.0
_SLIVER = 1e-9


@dataclass(frozen=True, slots=True)
class Stack:
    """Layers from the inside out: heat resistance and equivalent air layer of each, and the surface resistances.

    The thickness of the equivalent air layer is the layer's thickness times its resistance factor.
    """

    resistance_m2k_w: tuple[float, ...]
    air_layer_m: tuple[float, ...]
    inside_m2k_w: float = 0.13
    outside_m2k_w: float = 0.04

    def __post_init__(self) -> None:
        if len(self.resistance_m2k_w) != len(self.air_layer_m) or not self.air_layer_m:
            raise InputError("every layer needs a heat resistance and an equivalent air layer", path="stack")
        for i, (r, s) in enumerate(zip(self.resistance_m2k_w, self.air_layer_m, strict=True)):
            if not (np.isfinite(r) and np.isfinite(s) and r >= 0.0 and s >= 0.0 and r + s > 0.0):
                raise InputError("a layer of zero thickness, or without a finite resistance", path=f"stack.layers[{i}]")


@dataclass(frozen=True, slots=True)
class Plane:
    """A place where water may gather: behind layer ``layer`` (counted from the inside), or at a share within it."""

    layer: int
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Year:
    """Twelve months from ``first_month`` (0 January), beginning dry: flow into and water at each plane that was ever wet.

    ``flow_kg_m2`` of a month in which a plane dries is what could have left in the whole month.
    ``dries_out`` says that every plane is dry at some time of every year, so that nothing gathers from year to year;
    ``peak_kg_m2`` is the largest sum over all planes at the end of a month of that first year.
    """

    first_month: int
    months: tuple[int, ...]
    planes: tuple[Plane, ...]
    flow_kg_m2: Floats
    water_kg_m2: Floats
    peak_kg_m2: float
    dries_out: bool


def surface_factor(resistance_m2k_w: float, inside_m2k_w: float = 0.25) -> float:
    """Temperature factor of the inside surface of a plane wall.

    Parameters
    ----------
    resistance_m2k_w : float
        Sum from the inside air to the outside air. [m2 K/W]
    inside_m2k_w : float
        Inside surface resistance, 0.25 for the check against mold. [m2 K/W]

    Returns
    -------
    factor : float
        Share of the temperature difference that the surface keeps. [1]

    References
    ----------
    ISO-13788 clause 4.5
    """
    return 1.0 - inside_m2k_w / resistance_m2k_w


def surface_factor_needed(
    outside_k: ArrayLike, inside_k: ArrayLike, inside_vapor_pa: ArrayLike, limit: float = 0.8,
    dew_point: Callable[[ArrayLike], Floats] = magnus_temperature_k,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Least surface temperature and temperature factor that keep the surface humidity under a limit.

    Parameters
    ----------
    outside_k : array_like, shape (m,)
        Outside air. [K]
    inside_k : array_like, shape (m,)
        Inside air. [K]
    inside_vapor_pa : array_like, shape (m,)
        Inside vapor pressure. [Pa]
    limit : float
        Highest humidity at the surface, 0.8 against mold, 1 against drops. [1]
    dew_point : callable
        Inverse of the saturation pressure.

    Returns
    -------
    surface_k : ndarray, shape (m,)
        Least surface temperature. [K]
    factor : ndarray, shape (m,)
        Least temperature factor; above 1 no wall is good enough, infinite when the inside is not warmer. [1]

    References
    ----------
    ISO-13788 clause 5.3
    """
    out, room = np.asarray(outside_k, float), np.asarray(inside_k, float)
    surface = dew_point(np.asarray(inside_vapor_pa, float) / limit)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(room > out, (surface - out) / (room - out), np.inf)
    return surface, factor


def _cut(stack: Stack) -> tuple[Floats, Floats, list[Plane]]:
    """Parts of equal heat resistance, none above the standard's limit, and the planes between them."""
    r_parts: list[float] = []
    s_parts: list[float] = []
    planes: list[Plane] = []
    for i, (r, s) in enumerate(zip(stack.resistance_m2k_w, stack.air_layer_m, strict=True)):
        n = max(1, int(np.ceil(r / MOST_RESISTANCE_M2K_W - 1e-9)))
        for k in range(n):
            r_parts.append(r / n)
            s_parts.append(s / n)
            planes.append(Plane(i, (k + 1) / n))
    return np.array(r_parts), np.array(s_parts), planes[:-1]


def _taut(z: Floats, cap: Floats, fixed: NDArray[np.bool_]) -> Floats:
    """Vapor pressures: the straight line pulled tight under the caps, and tied to them where ``fixed``."""
    p = np.empty(len(z))
    ties = np.flatnonzero(fixed)
    for a, b in pairwise(ties):
        hull = [int(a)]
        for k in range(a + 1, b + 1):
            while len(hull) > 1:
                i, j = hull[-2], hull[-1]
                if (cap[j] - cap[i]) * (z[k] - z[i]) < (cap[k] - cap[i]) * (z[j] - z[i]):
                    break
                hull.pop()
            hull.append(k)
        p[a : b + 1] = np.interp(z[a : b + 1], z[hull], cap[hull])
    return p


class _Wall:
    """A stack cut into parts, ready for any month."""

    def __init__(self, stack: Stack, saturation: Callable[[ArrayLike], Floats], permeability: float) -> None:
        r, s, self.planes = _cut(stack)
        self.depth = (stack.inside_m2k_w + np.cumsum(r)) / (stack.inside_m2k_w + r.sum() + stack.outside_m2k_w)
        self.z = np.concatenate(([0.0], np.cumsum(np.maximum(s, _SLIVER))))
        self.saturation, self.permeability = saturation, permeability

    def flow(self, inside_k: float, inside_pa: float, outside_k: float, outside_pa: float, wet: NDArray[np.bool_]) -> Floats:
        """Net flow into every plane [kg/(m2 s)], wet planes being held at saturation."""
        cap = np.concatenate(([inside_pa], self.saturation(inside_k + (outside_k - inside_k) * self.depth[:-1]), [outside_pa]))
        p = _taut(self.z, cap, np.concatenate(([True], wet, [True])))
        through = self.permeability * -np.diff(p) / np.diff(self.z)
        net = through[:-1] - through[1:]
        net[np.abs(net) < 1e-10 * np.abs(through).max(initial=0.0) + 1e-20] = 0.0
        return np.where((net > 0.0) | wet, net, 0.0)


_Flow = Callable[[int, NDArray[np.bool_]], Floats]


def _order(first: int) -> tuple[int, ...]:
    return tuple((first + k) % 12 for k in range(12))


def _month(flow_of: _Flow, m: int, water: Floats) -> tuple[Floats, Floats]:
    """Flow into every plane in a month and the water after it; a plane that runs dry within the month stops giving."""
    came, could, now, left = np.zeros(len(water)), np.zeros(len(water)), water, MONTH_DAYS[m] * DAY_S
    for _ in range(4 * len(water) + 4):
        rate = flow_of(m, now > 0.0)
        until = np.full(len(now), np.inf)
        np.divide(now, -rate, out=until, where=rate < 0.0)
        step = min(left, float(until.min()))
        came, left = came + rate * step, left - step
        dries = until <= step
        now = np.where(dries, 0.0, np.maximum(now + rate * step, 0.0))
        could = np.where(dries, rate * left, np.where(now > 0.0, 0.0, could))
        if left <= 0.0:
            return came + could, now
    raise SolveError(f"planes wet and dry without end in month {m + 1}", path="stack")


def _march(flow_of: _Flow, first: int, water: Floats) -> tuple[Floats, Floats]:
    """Flows and water of twelve months on from some water."""
    flows, waters = [], []
    for m in _order(first):
        flow, water = _month(flow_of, m, water)
        flows.append(flow)
        waters.append(water)
    return np.array(flows), np.array(waters)


def _returns(flow_of: _Flow, first: int, held: Floats) -> bool:
    """Whether every plane is dry at some time of the year once the years repeat."""
    for _ in range(4):
        if (held[-1] == 0.0).all():
            return True
        before, held = held, _march(flow_of, first, held[-1])[1]
    return bool((held.min(axis=0) == 0.0).all() and np.allclose(held[-1], before[-1], rtol=1e-9, atol=1e-12))


def interstitial_year(
    stack: Stack, inside_k: ArrayLike, inside_vapor_pa: ArrayLike, outside_k: ArrayLike, outside_vapor_pa: ArrayLike,
    saturation: Callable[[ArrayLike], Floats] = magnus_pressure_pa, permeability_kg_pa_s_m: float = STANDARD_PERMEABILITY_KG_PA_S_M,
) -> Year:  # fmt: skip
    """Condensation and drying inside a wall through twelve months, starting when condensation begins.

    Parameters
    ----------
    stack : Stack
        Layers from the inside out.
    inside_k : array_like, shape (12,)
        Inside air from January. [K]
    inside_vapor_pa : array_like, shape (12,)
        Inside vapor pressure. [Pa]
    outside_k : array_like, shape (12,)
        Outside air. [K]
    outside_vapor_pa : array_like, shape (12,)
        Outside vapor pressure. [Pa]
    saturation : callable
        Saturation pressure of temperature.
    permeability_kg_pa_s_m : float
        Vapor permeability of air, the standard's constant by default. [kg/(Pa s m)]

    Returns
    -------
    year : Year
        Flows and water by month and plane; without planes when no month condenses.

    Raises
    ------
    InputError
        If a month is missing.
    SolveError
        If planes of one month never settle.

    References
    ----------
    ISO-13788 clause 6
    """
    air = [np.asarray(a, float) for a in (inside_k, inside_vapor_pa, outside_k, outside_vapor_pa)]
    if any(a.shape != (12,) or not np.isfinite(a).all() for a in air):
        raise InputError("twelve monthly values are needed, none missing", path="climate")
    wall = _Wall(stack, saturation, permeability_kg_pa_s_m)
    t_in, p_in, t_out, p_out = air

    def flow_of(m: int, wet: NDArray[np.bool_]) -> Floats:
        return wall.flow(float(t_in[m]), float(p_in[m]), float(t_out[m]), float(p_out[m]), wet)

    dry = np.zeros(len(wall.planes))
    wets = [bool((flow_of(m, dry > 0.0) > 0.0).any()) for m in range(12)]
    if not any(wets):
        return Year(0, tuple(range(12)), (), np.zeros((12, 0)), np.zeros((12, 0)), 0.0, True)
    begins = [m for m in range(12) if wets[m] and not wets[m - 1]] or [0]
    # Where water comes twice a year, one beginning may carry it through the other; the year that ends driest is the true one.
    runs = [(first, *_march(flow_of, first, dry)) for first in begins]
    first, came, held = min(runs, key=lambda run: float(run[2][-1].sum()))
    ever = held.max(axis=0) > 0.0
    return Year(first, _order(first), tuple(p for p, e in zip(wall.planes, ever, strict=True) if e), came[:, ever], held[:, ever],
                float(held.sum(axis=1).max()), _returns(flow_of, first, held))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Block:
    """Water gathered in a fixed cold block and water that a fixed drying block could take away. [kg/m2]"""

    gathered_kg_m2: float
    drying_kg_m2: float

    @property
    def dries(self) -> bool:
        """Whether the drying block takes away all that the cold block brought."""
        return self.drying_kg_m2 >= self.gathered_kg_m2


def block_climate(
    stack: Stack, roof: bool = False, inside_k: float = 293.15, inside_vapor_pa: float = 1170.0, outside_k: float = 268.15,
    outside_vapor_pa: float = 321.0, days: float = 90.0,
) -> Block:  # fmt: skip
    """Two fixed blocks of climate as a cross-check on the twelve months.

    Parameters
    ----------
    stack : Stack
        Layers from the inside out.
    roof : bool
        Roofs dry from a plane at 2000 Pa, walls from one at 1700 Pa.
    inside_k : float
        Inside air of the cold block. [K]
    inside_vapor_pa : float
        Inside vapor pressure of the cold block. [Pa]
    outside_k : float
        Outside air of the cold block. [K]
    outside_vapor_pa : float
        Outside vapor pressure of the cold block. [Pa]
    days : float
        Length of either block. [d]

    Returns
    -------
    block : Block
        Water in and water out; nothing of both when the cold block does not condense.

    References
    ----------
    DIN-4108-3 annex A; cold block quoted, drying block from memory
    """
    wall = _Wall(stack, magnus_pressure_pa, STANDARD_PERMEABILITY_KG_PA_S_M)
    flow = wall.flow(inside_k, inside_vapor_pa, outside_k, outside_vapor_pa, np.zeros(len(wall.planes), bool))
    at = np.flatnonzero(flow > 0.0)
    if not len(at):
        return Block(0.0, 0.0)
    over = (2000.0 if roof else 1700.0) - 1200.0
    # Water at several planes leaves inward from the first and outward from the last.
    leaves = STANDARD_PERMEABILITY_KG_PA_S_M * over * (1.0 / wall.z[at[0] + 1] + 1.0 / (wall.z[-1] - wall.z[at[-1] + 1]))
    return Block(float(flow.sum()) * days * DAY_S, float(leaves) * days * DAY_S)
