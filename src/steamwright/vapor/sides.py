"""What lies beyond a surface: air month by month, its film, and how it closes an open stud bay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.moist_air import ZERO_CELSIUS_K, saturation_pressure_pa
from steamwright.vapor.climate import Climate
from steamwright.vapor.practice import practice

Floats = NDArray[np.float64]

HEATED_K, HEATED_HUMIDITY = 293.15, 0.5
COOL = ("garage", "basement", "ground")
UNKNOWN = "unknown"
# An unknown side is run both ways.
BOTH = ("heated room", "outdoors north")


@dataclass(frozen=True, slots=True)
class Side:
    """Air on the far side, twelve months from January, and its heat transfer. ``closing`` are catalog layers assumed there."""

    name: str
    temperature_k: tuple[float, ...]
    vapor_pa: tuple[float, ...]
    film_w_m2k: float
    closing: tuple[str, ...]
    note: str

    @property
    def coldest_k(self) -> float:
        """Mean of the coldest month. [K]"""
        return min(self.temperature_k)


def _steady(kelvin: float, humidity: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return (kelvin,) * 12, (humidity * float(saturation_pressure_pa(kelvin)),) * 12


def side(beyond: str, climate: Climate, steam_k: float = 318.15) -> Side:
    """The far side by what the job says of it.

    Parameters
    ----------
    beyond : str
        As in the job, but not ``unknown``.
    climate : Climate
        Outside air.
    steam_k : float
        Air of a steam room on the other side. [K]

    Returns
    -------
    side : Side
        Months, film and the layers that close the stud bay where the build-up names none.

    Raises
    ------
    ValueError
        If the side is unknown; run both ends of `sides_of`.

    References
    ----------
    ISO-6946 for the films; common practice, no source for heated rooms, garages, basements, ground and what closes them
    """
    inside, outside = practice("film.inside_w_m2k"), practice("film.outside_w_m2k")
    board = ("gypsum board 1/2 in", "emulsion paint")
    if beyond == "heated room":
        return Side(beyond, *_steady(HEATED_K, HEATED_HUMIDITY), inside, board, "20 °C and 50 % all year")
    if beyond == "steam room":
        return Side(beyond, *_steady(steam_k, 1.0), inside, (), "as warm and humid as this room")
    if beyond == "basement":
        return Side(beyond, *_steady(288.15, 0.65), inside, board, "15 °C and 65 % all year")
    if beyond == "ground":
        mean = float(np.mean(climate.mean_k))
        ground = max(mean, ZERO_CELSIUS_K + 1.0)
        return Side(beyond, *_steady(ground, 1.0), 1e3, (), "yearly mean of the outside air, saturated")
    if beyond == "garage":
        kelvin = tuple(t + 0.3 * max(HEATED_K - t, 0.0) for t in climate.mean_k)
        return Side(beyond, kelvin, _held(climate.vapor_pa, kelvin), inside, board, "a third of the way from outdoors to the house")
    if beyond == "attic":
        kelvin = tuple(t + 2.0 for t in climate.mean_k)
        return Side(beyond, kelvin, _held(climate.vapor_pa, kelvin), inside, (), "2 K above outdoors, ventilated")
    if beyond.startswith("outdoors"):
        return Side(beyond, climate.mean_k, _held(climate.vapor_pa, climate.mean_k), outside, ("plywood 1/2 in",),
                    "outside air; sun and rain are left out, so walls that the sun reaches dry faster than shown")
    raise ValueError(beyond)


def _held(vapor_pa: tuple[float, ...], kelvin: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(float(v) for v in np.minimum(vapor_pa, saturation_pressure_pa(np.array(kelvin))))


def sides_of(beyond: str, climate: Climate, steam_k: float = 318.15) -> tuple[Side, ...]:
    """All sides that have to be looked at: one, or both ends where it is unknown.

    Parameters
    ----------
    beyond : str
        As in the job.
    climate : Climate
        Outside air.
    steam_k : float
        Air of a steam room on the other side. [K]

    Returns
    -------
    sides : tuple of Side
        The mild one first.

    References
    ----------
    own derivation
    """
    return tuple(side(b, climate, steam_k) for b in (BOTH if beyond == UNKNOWN else (beyond,)))


def beyond_of(surface: str, walls: Mapping[str, str], hosts: Mapping[str, str], overhead: str, underneath: str, kind: str) -> str:
    """What lies beyond a surface of the room.

    Parameters
    ----------
    surface : str
        Name of the surface.
    walls : mapping
        What lies beyond each wall, by its name.
    hosts : mapping
        Wall in which an opening or niche sits, by its name.
    overhead : str
        What lies over the ceiling.
    underneath : str
        What lies under the floor.
    kind : str
        Kind of the facet.

    Returns
    -------
    beyond : str
        ``inside`` for what stands in the room: benches, curbs, columns, half walls.

    References
    ----------
    own derivation
    """
    if kind in ("ceiling", "soffit"):
        return overhead
    if kind == "floor":
        return underneath
    if kind in ("bench_top", "bench_face", "curb_top", "curb_face", "half_wall_top", "column"):
        return "inside"
    for name, wall in sorted(hosts.items(), key=lambda h: -len(h[0])):
        if surface == name or surface.startswith(name + " "):
            return walls.get(wall, UNKNOWN)
    wall = surface.split(" ")[0]
    return walls.get(surface, walls.get(wall, UNKNOWN))
