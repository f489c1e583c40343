"""Sun and driving rain on an upright outside face, hour by hour, from what a weather file measures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InputError
from steamwright.vapor.practice import practice

Floats = NDArray[np.float64]

# Degrees from north, clockwise, to which an outside face looks.
AZIMUTH_DEG = {"outdoors north": 0.0, "outdoors east": 90.0, "outdoors south": 180.0, "outdoors west": 270.0}
HOURS_A_DAY = 24


@dataclass(frozen=True, slots=True, eq=False)
class Sky:
    """A year of sun, wind and rain: 8760 values each, of the hour that ends then.

    ``beam_w_m2`` is on a face turned to the sun, ``diffuse_w_m2`` on the level; ``wind_from_deg`` is clockwise from north.
    """

    latitude_deg: float
    longitude_deg: float
    zone_h: float
    beam_w_m2: Floats
    diffuse_w_m2: Floats
    wind_m_s: Floats
    wind_from_deg: Floats
    rain_kg_m2_h: Floats

    def __post_init__(self) -> None:
        if not (-90.0 <= self.latitude_deg <= 90.0 and -180.0 <= self.longitude_deg <= 180.0 and -13.0 <= self.zone_h <= 15.0):
            raise InputError("the place of the station is nowhere on earth", path="sky.latitude_deg")
        for name in ("beam_w_m2", "diffuse_w_m2", "wind_m_s", "wind_from_deg", "rain_kg_m2_h"):
            values = getattr(self, name)
            if len(values) != 8760 or not np.isfinite(values).all() or (values < 0.0).any():
                raise InputError("needs 8760 values, none missing and none negative", path=f"sky.{name}")


def sun_position(sky: Sky) -> tuple[Floats, Floats]:
    """Height and direction of the sun in the middle of every hour.

    Parameters
    ----------
    sky : Sky
        For its place and zone.

    Returns
    -------
    height_rad : ndarray, shape (8760,)
        Over the horizon. [rad]
    azimuth_rad : ndarray, shape (8760,)
        Clockwise from north. [rad]

    References
    ----------
    Duffie-2013 eq. 1.5.3, 1.6.1 and 1.6.5
    """
    hour = np.arange(8760) + 0.5
    day = np.floor(hour / HOURS_A_DAY)
    b = 2.0 * np.pi * day / 365.0
    equation_min = 229.2 * (7.5e-5 + 1.868e-3 * np.cos(b) - 0.032077 * np.sin(b) - 0.014615 * np.cos(2 * b) - 0.04089 * np.sin(2 * b))
    tilt = np.radians(23.45) * np.sin(2.0 * np.pi * (285.0 + day) / 365.0)
    solar_h = hour % HOURS_A_DAY + equation_min / 60.0 + sky.longitude_deg / 15.0 - sky.zone_h
    turn, place = np.radians(15.0 * (solar_h - 12.0)), np.radians(sky.latitude_deg)
    height = np.arcsin(np.clip(np.sin(place) * np.sin(tilt) + np.cos(place) * np.cos(tilt) * np.cos(turn), -1.0, 1.0))
    azimuth = np.pi + np.arctan2(np.sin(turn), np.cos(turn) * np.sin(place) - np.tan(tilt) * np.cos(place))
    return height, azimuth


def sun_on_wall_w_m2(sky: Sky, azimuth_deg: float) -> Floats:
    """Sun that falls on an upright face: beam, half of an even sky, and what the ground sends back.

    Parameters
    ----------
    sky : Sky
        Sun and place.
    azimuth_deg : float
        Where the face looks, clockwise from north. [deg]

    Returns
    -------
    sun_w_m2 : ndarray, shape (8760,)
        Before any of it is absorbed. [W/m2]

    References
    ----------
    Duffie-2013 eq. 2.15.1, an even sky
    """
    height, azimuth = sun_position(sky)
    facing = np.cos(height) * np.cos(azimuth - np.radians(azimuth_deg))
    up = np.maximum(np.sin(height), 0.0)
    level = sky.beam_w_m2 * up + sky.diffuse_w_m2
    beam = np.where(height > 0.0, sky.beam_w_m2 * np.maximum(facing, 0.0), 0.0)
    return np.asarray(beam + 0.5 * sky.diffuse_w_m2 + 0.5 * practice("outside.ground_albedo") * level)


def rain_on_wall_kg_m2_s(sky: Sky, azimuth_deg: float) -> Floats:
    """Rain that the wind drives onto an upright face.

    Parameters
    ----------
    sky : Sky
        Rain and wind.
    azimuth_deg : float
        Where the face looks, clockwise from north. [deg]

    Returns
    -------
    rain_kg_m2_s : ndarray, shape (8760,)
        On the face. [kg/(m2 s)]

    References
    ----------
    ASHRAE-160 clause 4.6
    """
    toward = np.maximum(np.cos(np.radians(sky.wind_from_deg - azimuth_deg)), 0.0)
    share = practice("outside.rain_exposure") * practice("outside.rain_deposition") * practice("outside.rain_s_m")
    return np.asarray(share * sky.wind_m_s * toward * sky.rain_kg_m2_h / 3600.0)
