"""How much mortar, sealant and board a covering needs: formulas that a person can follow."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from steamwright.covering.model import Covering
from steamwright.errors import DataError
from steamwright.room.model import Joint, Rim, Solid

SEALANT_WORDS = ("sealant", "silicone", "urethane", "polysulfide")


@dataclass(frozen=True, slots=True)
class MortarNeed:
    """Dry mortar for bedding a covering: the area bedded, the wet bed after collapse, the mass."""

    area_m2: float
    bed_m: float
    mass_kg: float


@cache
def _table() -> dict[str, float]:
    rows = tomllib.loads(files("steamwright.estimate").joinpath("quantities.toml").read_text("utf-8"))
    for name, row in rows.items():
        low, high = row["plausible"]
        if not low <= row["value"] <= high or not row["source"]:
            raise DataError(f"{row['value']} is not between {low} and {high}, or has no source", path=f"estimate.quantities.{name}")
    return {name: float(row["value"]) for name, row in rows.items()}


def quantity(name: str) -> float:
    """Look up a number from which quantities are reckoned.

    Parameters
    ----------
    name : str
        Row of ``quantities.toml``; the name ends in its unit.

    Returns
    -------
    value : float
        In the unit that the name ends in.

    Raises
    ------
    KeyError
        If there is no such row.
    DataError
        If a row lies outside its plausible range or has no source.

    References
    ----------
    common practice, no source
    """
    return _table()[name]


def v_notch_bed_m(depth_m: float, trowel_angle_deg: float) -> float:
    """Wet bed that a trowel with adjacent V notches leaves once its ridges have collapsed: d · sin θ / 2.

    Parameters
    ----------
    depth_m : float
        Depth of the notches, above 0. [m]
    trowel_angle_deg : float
        Angle between trowel and wall, above 0 to 90. [deg]

    Returns
    -------
    bed_m : float
        Volume per area. [m]

    Raises
    ------
    ValueError
        If depth or angle lies outside its range.

    References
    ----------
    own derivation

    Examples
    --------
    >>> round(v_notch_bed_m(0.25 * 0.0254, 90.0) / 0.0254, 3)
    0.125
    """
    if not depth_m > 0 or not 0 < trowel_angle_deg <= 90:
        raise ValueError(f"a notch of {depth_m} m at {trowel_angle_deg} degrees combs no mortar")
    return depth_m * math.sin(math.radians(trowel_angle_deg)) / 2


def square_notch_bed_m(width_m: float, depth_m: float, land_m: float, trowel_angle_deg: float) -> float:
    """Wet bed that a square-notched trowel leaves once its ridges have collapsed: w · d · sin θ / (w + s).

    Parameters
    ----------
    width_m : float
        Width of a notch, above 0. [m]
    depth_m : float
        Depth of a notch, above 0. [m]
    land_m : float
        Width of the tooth between notches, 0 or more. [m]
    trowel_angle_deg : float
        Angle between trowel and wall, above 0 to 90. [deg]

    Returns
    -------
    bed_m : float
        Volume per area. [m]

    Raises
    ------
    ValueError
        If a size or the angle lies outside its range.

    References
    ----------
    own derivation

    Examples
    --------
    >>> round(square_notch_bed_m(0.0127, 0.0127, 0.0127, 45.0) / 0.0254, 4)
    0.1768
    """
    if not (width_m > 0 and depth_m > 0 and land_m >= 0 and 0 < trowel_angle_deg <= 90):
        raise ValueError("a trowel without notches, or held flat, combs no mortar")
    return width_m * depth_m * math.sin(math.radians(trowel_angle_deg)) / (width_m + land_m)


def bedded_area_m2(covering: Covering) -> float:
    """Area that is bedded in mortar: every patch of every piece, laps counted once for each piece that lies there.

    Parameters
    ----------
    covering : Covering
        The placed pieces.

    Returns
    -------
    area_m2 : float
        Sum over all patches. [m²]

    References
    ----------
    own derivation
    """
    return float(sum(patch.polygon.area for piece in covering.pieces for patch in piece.patches))


def mortar_need(covering: Covering) -> MortarNeed:
    """Dry mortar under all pieces: area · V/A / wet volume of a bag · mass of a bag.

    Parameters
    ----------
    covering : Covering
        The placed pieces.

    Returns
    -------
    need : MortarNeed
        Area [m²], bed [m] and mass [kg].

    References
    ----------
    common practice, no source
    """
    area_m2 = bedded_area_m2(covering)
    bed_m = v_notch_bed_m(quantity("notch_depth_m"), quantity("trowel_angle_deg"))
    return MortarNeed(area_m2, bed_m, area_m2 * bed_m / quantity("bag_wet_volume_m3") * quantity("bag_mass_kg"))


def sealed_rims(solid: Solid) -> tuple[Rim, ...]:
    """Rims that a sealant closes.

    Parameters
    ----------
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    rims : tuple of Rim
        Those whose ``sealed_by`` names a sealant, in the solid's order.

    References
    ----------
    own derivation
    """
    return tuple(r for r in solid.rims if any(word in r.sealed_by.lower() for word in SEALANT_WORDS))


def movement_joints(solid: Solid) -> tuple[Joint, ...]:
    """Inside corners where two tiled surfaces meet and the tile has a movement joint instead of grout.

    Parameters
    ----------
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    joints : tuple of Joint
        In the solid's order.

    References
    ----------
    TCNA-EJ171 EJ171
    """
    return tuple(j for j in solid.joints if j.kind == "inside")


def bead_length_m(rims: Sequence[Rim | Joint]) -> float:
    """Length of sealant bead along rims and joints.

    Parameters
    ----------
    rims : sequence of Rim or Joint
        Lines that a sealant closes.

    Returns
    -------
    length_m : float
        Sum of their lengths. [m]

    References
    ----------
    own derivation
    """
    return float(sum(math.dist(r.start_m, r.end_m) for r in rims))


def bead_per_cartridge_m() -> float:
    """Length of a 1/4 x 1/4 in bead from a cartridge of 18.2 in³.

    Returns
    -------
    length_m : float
        About 7.4 m. [m]

    References
    ----------
    own derivation
    """
    return quantity("cartridge_volume_m3") / (quantity("bead_width_m") * quantity("bead_depth_m"))
