"""Thermal resistance of a stack by ISO 6946: surfaces, air spaces, and wood framing between insulation."""

from __future__ import annotations

from collections.abc import Sequence

from steamwright.buildup.catalog_model import LayerRole, Material
from steamwright.buildup.inputs import Framing
from steamwright.buildup.model import Layer
from steamwright.errors import OutOfRangeError

_RSI_M2K_W = {"up": 0.10, "horizontal": 0.13, "down": 0.17}
RSE_M2K_W = 0.04
_AIR_THICKNESS_M = (0.0, 0.005, 0.007, 0.010, 0.015, 0.025, 0.050, 0.100, 0.300)
_AIR_R_M2K_W = {
    "up": (0.0, 0.11, 0.13, 0.15, 0.16, 0.16, 0.16, 0.16, 0.16),
    "horizontal": (0.0, 0.11, 0.13, 0.15, 0.17, 0.18, 0.18, 0.18, 0.18),
    "down": (0.0, 0.11, 0.13, 0.15, 0.17, 0.19, 0.21, 0.22, 0.23),
}
_STUD_WIDTH_M = 0.0381
_EXTRA_FRAMING_RATIO = 0.10


def heat_flow_of(on: Sequence[str]) -> str:
    """Direction of the heat through what a build-up covers: out of the steam room.

    Parameters
    ----------
    on : sequence of str
        Surfaces or groups of surfaces.

    Returns
    -------
    flow : str
        "up" where all are ceilings or soffits, "down" where all are floors, else "horizontal".

    References
    ----------
    own derivation
    """
    if all(name in ("ceiling", "soffits") for name in on):
        return "up"
    return "down" if all(name == "floor" for name in on) else "horizontal"


def surface_r_m2k_w(flow: str) -> float:
    """Resistance of the inner surface.

    Parameters
    ----------
    flow : str
        Direction of the heat: "up", "horizontal" or "down".

    Returns
    -------
    r_m2k_w : float
        Rsi. [m2 K W-1]

    References
    ----------
    ISO-6946 table 7
    """
    return _RSI_M2K_W[flow]


def air_space_r_m2k_w(thickness_m: float, flow: str) -> float:
    """Resistance of an unventilated air space between surfaces of high emissivity, interpolated in the table.

    Parameters
    ----------
    thickness_m : float
        Thickness in the direction of the heat, at most 0.3. [m]
    flow : str
        Direction of the heat: "up", "horizontal" or "down".

    Returns
    -------
    r_m2k_w : float
        Resistance. [m2 K W-1]

    Raises
    ------
    OutOfRangeError
        If the thickness is negative or over 0.3 m.

    References
    ----------
    ISO-6946 table 8
    """
    if not 0.0 <= thickness_m <= _AIR_THICKNESS_M[-1]:
        raise OutOfRangeError(f"an air space of {thickness_m:g} m", hint="the table runs from 0 to 0.3 m")
    row = _AIR_R_M2K_W[flow]
    for k in range(1, len(row)):
        if thickness_m <= _AIR_THICKNESS_M[k]:
            share = (thickness_m - _AIR_THICKNESS_M[k - 1]) / (_AIR_THICKNESS_M[k] - _AIR_THICKNESS_M[k - 1])
            return row[k - 1] + share * (row[k] - row[k - 1])
    raise AssertionError("unreachable")


def combined_r_m2k_w(series_m2k_w: float, cavity_r_m2k_w: float, framing_r_m2k_w: float, framing_ratio: float) -> float:
    """Total resistance of a stack one layer of which is partly framing: mean of the upper and the lower limit.

    Parameters
    ----------
    series_m2k_w : float
        Resistance of all other layers and both surfaces. [m2 K W-1]
    cavity_r_m2k_w : float
        Resistance of the mixed layer through its filling. [m2 K W-1]
    framing_r_m2k_w : float
        Resistance of the mixed layer through its framing. [m2 K W-1]
    framing_ratio : float
        Share of the area that is framing, 0 to 1.

    Returns
    -------
    r_m2k_w : float
        Total resistance. [m2 K W-1]

    References
    ----------
    ISO-6946 6.7.2
    """
    f = framing_ratio
    upper = 1.0 / ((1.0 - f) / (series_m2k_w + cavity_r_m2k_w) + f / (series_m2k_w + framing_r_m2k_w))
    lower = series_m2k_w + 1.0 / ((1.0 - f) / cavity_r_m2k_w + f / framing_r_m2k_w)
    return 0.5 * (upper + lower)


def resistance_of_stack(layers: Sequence[Layer], materials: Sequence[Material], framing: Framing, flow: str,
                        framing_timber: Material | None) -> tuple[float, tuple[str, ...]]:
    """Resistance from air to air, with notes on what it leaves out.

    Parameters
    ----------
    layers : sequence of Layer
        The layers, steam side first.
    materials : sequence of Material
        Their catalog rows.
    framing : Framing
        What stands in the cavity.
    flow : str
        Direction of the heat.
    framing_timber : Material or None
        Catalog row of the framing's wood.

    Returns
    -------
    r_m2k_w : float
        Resistance with Rsi and Rse. [m2 K W-1]
    notes : tuple of str
        What the number does not hold.

    References
    ----------
    ISO-6946 6.7
    """
    surfaces = surface_r_m2k_w(flow) + RSE_M2K_W
    total = surfaces + sum(layer.r_m2k_w for layer in layers)
    cavities = [layer for layer, m in zip(layers, materials, strict=True) if m.role is LayerRole.CAVITY]
    if not cavities or framing.kind in ("concrete", "masonry", "none"):
        return total, ()
    if framing.spacing_m is None:
        return total, ("the framing is not counted in the R-value: its spacing is not stated",)
    if framing.kind.startswith("steel"):
        return total, ("the R-value is that between the studs: steel framing lowers it by a third to a half, which is not counted",)
    if framing_timber is None or framing_timber.conductivity_w_mk is None:
        return total, ("the framing is not counted in the R-value: the catalog has no framing timber",)
    ratio = min(1.0, _STUD_WIDTH_M / framing.spacing_m + _EXTRA_FRAMING_RATIO)
    cavity_r = sum(c.r_m2k_w for c in cavities)
    timber_r = sum(c.thickness_m for c in cavities) / framing_timber.conductivity_w_mk.value
    note = f"wood framing is taken as {ratio:.0%} of the area (1-1/2 in studs at their spacing, and 10 % for plates and blocking)"
    return combined_r_m2k_w(total - cavity_r, cavity_r, timber_r, ratio), (note,)
