"""What theory says of water on a sloped wet ceiling, beside the trade's minimum."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.physics.ceiling import TRADE_SLOPE, film_limit_m, film_m, film_slope
from steamwright.room.model import FacetKind, Solid
from steamwright.vapor.case import Group

LEVEL_M = 0.005


@dataclass(frozen=True, slots=True)
class CeilingWater:
    """The largest way of water on a ceiling, what condenses there, and the least slope at which a film runs off.

    ``film_m`` is the film at the trade's minimum slope, ``film_limit_m`` the thickest that this slope washes down.
    """

    run_m: float
    condensing_kg_m2_h: float
    film_slope: float
    trade_slope: float
    film_m: float
    film_limit_m: float
    note: str


NOTE = ("a perfectly wetted tile sheds its film at this slope; glaze that beads holds drops that may fall at steeper ones, and neither"
        " theory sees joints and fixtures: they do not replace the trade's 2 in/ft")


def ceiling_water(finished: Solid, groups: tuple[Group, ...], condensate_kg_h: tuple[float, ...]) -> CeilingWater | None:
    """Reckon the film on the largest ceiling.

    Parameters
    ----------
    finished : Solid
        The room on the tile.
    groups : tuple of Group
        Groups of facets.
    condensate_kg_h : tuple of float
        What condenses on each group. [kg/h]

    Returns
    -------
    water : CeilingWater or None
        ``None`` without a ceiling on which anything condenses.

    References
    ----------
    Brun-2015; Nusselt-1916; TCNA-SR614 for the trade's minimum
    """
    found = []
    for facet in finished.facets:
        if facet.kind is not FacetKind.CEILING:
            continue
        for group, rate in zip(groups, condensate_kg_h, strict=True):
            if facet.id in group.facets and rate > 0.0 and group.area_m2 > 0.0:
                found.append((_run_m(facet.frame.lift(facet.outline_m)[:, 2].tolist(), facet.outline_m), rate / group.area_m2))
    if not found:
        return None
    run, rate = max(found)
    second = rate / 3600.0
    return CeilingWater(run, rate, film_slope(second, run), TRADE_SLOPE, float(film_m(second, run, TRADE_SLOPE)),
                        float(film_limit_m(TRADE_SLOPE)), NOTE)


def _run_m(heights_m: list[float], outline_m: tuple[tuple[float, float], ...]) -> float:
    """Way from a highest corner to the farthest of the lowest; over a level ceiling, across it. [m]"""
    top, bottom = max(heights_m), min(heights_m)
    if top - bottom < LEVEL_M:
        return float(max(max(p[k] for p in outline_m) - min(p[k] for p in outline_m) for k in (0, 1)))
    near = 0.05 * (top - bottom) + 1e-6
    high = [p for p, z in zip(outline_m, heights_m, strict=True) if z >= top - near]
    low = [p for p, z in zip(outline_m, heights_m, strict=True) if z <= bottom + near]
    # Water runs straight down: from each low corner the nearest high one is where it came from.
    ways = [min(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for a in high) for b in low]
    return float(max(ways))
