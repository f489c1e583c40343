"""Sorption, vapor and liquid transport of catalog materials, made into curves for the hourly method."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from steamwright.buildup.catalog_model import Material
from steamwright.buildup.model import Layer
from steamwright.buildup.stack import AIR_PERMEABILITY_KG_M_S_PA
from steamwright.errors import DataError
from steamwright.physics.porous import KELVIN_PRESSURE_PA, Porous, potential_of_diffusivity_kg_m_s, suction_diffusivity_m2_s, suction_pa
from steamwright.yaml_text import read_yaml

Floats = NDArray[np.float64]

SPREAD = 2.0
WATER_W_MK_PER_KG_M3 = 0.0005
_FULL_PA = 2000.0
_POINTS = 60


@dataclass(frozen=True, slots=True)
class Family:
    """Measured or estimated points of a class of materials, with their source.

    ``content`` are (relative humidity, kg/m³) by adsorption, ``mu`` (relative humidity, resistance factor).
    """

    id: str
    density_kg_m3: float
    content: tuple[tuple[float, float], ...]
    saturation_kg_m3: float
    mu: tuple[tuple[float, float], ...]
    absorption_kg_m2_s05: float
    capillary_kg_m3: float
    source: str
    where: str
    how_known: str
    estimated: bool


@cache
def _shipped() -> tuple[Mapping[str, Family], Mapping[str, str]]:
    data = read_yaml("functions.yaml", files(__package__).joinpath("data/functions.yaml").read_text("utf-8"))
    found = {row["id"]: family_of(row) for row in data["families"]}
    stray = sorted(set(data["materials"].values()) - set(found))
    if stray:
        raise DataError(f"no family is named {stray[0]!r}", path="functions.yaml: materials")
    return found, data["materials"]


def family_of(row: Mapping[str, object]) -> Family:
    """Check one row of material functions.

    Parameters
    ----------
    row : mapping
        As in ``functions.yaml``.

    Returns
    -------
    family : Family
        The row.

    Raises
    ------
    DataError
        If a curve falls, a value is implausible, or the source is missing.

    References
    ----------
    own derivation
    """
    name = str(row.get("id", "?"))
    try:
        made = Family(name, float(row["density_kg_m3"]), _pairs(row["content"]), float(row["saturation_kg_m3"]),  # type: ignore[arg-type]
                      _pairs(row["mu"]), float(row["absorption_kg_m2_s05"]), float(row["capillary_kg_m3"]),  # type: ignore[arg-type]
                      str(row["source"]), str(row["where"]), str(row["how_known"]), bool(row["estimated"]))
    except (KeyError, TypeError, ValueError) as wrong:
        raise DataError(f"a key is missing or no number: {wrong}", path=f"functions.yaml: {name}") from wrong
    humid, water = np.array(made.content).T
    if (np.diff(np.append(0.0, humid)) <= 0).any() or (np.diff(np.concatenate(([0.0], water, [made.saturation_kg_m3]))) <= 0).any():
        raise DataError("the sorption curve falls or stands still", path=f"functions.yaml: {name}.content",
                        hint="water must rise with humidity up to saturation")
    if not humid[-1] < 0.995 or not all(0.5 <= m <= 1e5 for _, m in made.mu) or not 0.0 <= made.absorption_kg_m2_s05 <= 1.0:
        raise DataError("a value is not plausible", path=f"functions.yaml: {name}")
    if not 0.0 < made.capillary_kg_m3 <= made.saturation_kg_m3 or not made.source or not made.how_known:
        raise DataError("capillary content is not between zero and saturation, or there is no source", path=f"functions.yaml: {name}")
    return made


def _pairs(raw: object) -> tuple[tuple[float, float], ...]:
    return tuple((float(a), float(b)) for a, b in raw)  # type: ignore[attr-defined]


def function_of(material: str, like: str = "") -> Family:
    """Find the functions of a catalog material.

    Parameters
    ----------
    material : str
        Catalog id.
    like : str
        Catalog id of a shipped material that stands for one of a person's own.

    Returns
    -------
    family : Family
        Its class.

    Raises
    ------
    DataError
        If none is known.

    References
    ----------
    own derivation
    """
    families, ids = _shipped()
    known = material if material in ids else like
    if known not in ids:
        raise DataError(f"no sorption or liquid transport is known of {material!r}", path=material,
                        hint="name a shipped material that it is like, in its catalog row; the monthly method does without")
    found = families[ids[known]]
    # What stands for another is an estimate, however well its own curve is known.
    return found if known == material else replace(found, estimated=True)


def porous_of(layer: Layer, material: Material, spread: float = 1.0) -> Porous:
    """Curves of one layer of a build-up.

    Sorption runs through the measured points and from the last of them on evenly in the logarithm of suction up to
    saturation; liquid transport is guessed from the water absorption coefficient.

    Parameters
    ----------
    layer : Layer
        The layer, for its resistance to heat.
    material : Material
        Its catalog row, for its heat capacity.
    spread : float
        Divides vapor resistance and multiplies liquid transport, where the row is estimated; 1 takes it as it stands. [1]

    Returns
    -------
    porous : Porous
        Ready for the march.

    Raises
    ------
    DataError
        If the material has no functions or no heat capacity.

    References
    ----------
    Kunzel-1995 eq. 24; ASHRAE-HOF ch. 26
    """
    family = function_of(layer.material, material.like)
    if material.heat_capacity_j_kgk is None:
        raise DataError(f"{material.id!r} has no heat capacity", path=material.id, hint="complete its catalog row")
    factor = spread if family.estimated else 1.0
    humid, water = _sorption(family)
    mu = np.interp(humid, *np.array(family.mu).T) / factor
    content = np.maximum(water, 1e-9)
    if family.absorption_kg_m2_s05 > 0.0:
        diffusivity = factor * suction_diffusivity_m2_s(content, family.absorption_kg_m2_s05, family.capillary_kg_m3)
        potential = potential_of_diffusivity_kg_m_s(content, diffusivity)
    else:
        potential = np.zeros_like(content)
    dry = layer.thickness_m / layer.r_m2k_w
    return Porous(humid, content, potential, AIR_PERMEABILITY_KG_M_S_PA / mu, dry + WATER_W_MK_PER_KG_M3 * content,
                  layer.density_kg_m3 * material.heat_capacity_j_kgk.value, label=layer.name)


def _sorption(family: Family) -> tuple[Floats, Floats]:
    points = np.array(family.content)
    last_h, last_w = float(points[-1, 0]), float(points[-1, 1])
    low = np.linspace(0.0, last_h, _POINTS // 2)
    rising = np.interp(low, np.append(0.0, points[:, 0]), np.append(0.0, points[:, 1]))
    s = np.geomspace(float(suction_pa(last_h)), _FULL_PA, _POINTS // 2)
    high = last_w + (family.saturation_kg_m3 - last_w) * np.log(s[0] / s) / np.log(s[0] / s[-1])
    humid = np.concatenate((low, np.exp(-s[1:] / KELVIN_PRESSURE_PA), [1.0]))
    return humid, np.concatenate((rising, high[1:], [1.001 * family.saturation_kg_m3]))
