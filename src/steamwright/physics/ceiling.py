"""Water on a sloped wet ceiling: does it run off or drip?

Two idealizations stand at the ends of what tile does. A perfectly wetted surface carries a film that drips once it is
thick for its slope; a surface that beads carries drops that fall or run by their contact angles. Neither replaces the
trade's two inches in a foot, and neither promises that nothing drips: joints and fixtures are not in them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import OutOfRangeError

Floats = NDArray[np.float64]

GRAVITY_M_S2 = 9.80665
TRADE_SLOPE = 2.0 / 12.0
# Speed over which a disturbance is washed off before it can grow where it is: (2/(3 sqrt 6)) (2 + sqrt 7) sqrt(sqrt 7 - 1).
WASHED_OFF = 2.0 / (3.0 * np.sqrt(6.0)) * (2.0 + np.sqrt(7.0)) * np.sqrt(np.sqrt(7.0) - 1.0)
# Largest hanging drop as its contact angle goes to nothing, in cubed capillary lengths.
_WETTED_DROP = 18.964
RETENTION = (2.0 / np.pi, np.pi / 4.0, 1.0)


@dataclass(frozen=True, slots=True)
class Water:
    """Water at the ceiling, by default at 40 C."""

    density_kg_m3: float = 992.18
    viscosity_pa_s: float = 652.72e-6
    tension_n_m: float = 69.679e-3

    @property
    def length_m(self) -> float:
        """Capillary length. [m]"""
        return float(np.sqrt(self.tension_n_m / (self.density_kg_m3 * GRAVITY_M_S2)))


WARM = Water()


def film_limit_m(slope: ArrayLike, water: Water = WARM) -> Floats:
    """Thickest film that a wetted ceiling washes down before drops can grow in place.

    Parameters
    ----------
    slope : array_like
        Rise over run. [1]
    water : Water
        Water.

    Returns
    -------
    film_m : ndarray
        Limit of a linear theory. [m]

    References
    ----------
    Brun-2015; own derivation
    """
    angle = np.arctan(np.asarray(slope, float))
    return np.asarray(3.0 * water.length_m * np.tan(angle) / (WASHED_OFF * np.sqrt(np.cos(angle))))


def film_m(condensing_kg_m2_s: ArrayLike, run_m: ArrayLike, slope: ArrayLike, water: Water = WARM) -> Floats:
    """Thickness at the low end of a film that gathers on its way.

    Parameters
    ----------
    condensing_kg_m2_s : array_like
        Condensate. [kg/(m2 s)]
    run_m : array_like
        Way along the ceiling from its high end. [m]
    slope : array_like
        Rise over run, above 0. [1]
    water : Water
        Water.

    Returns
    -------
    film_m : ndarray
        Thickness. [m]

    Raises
    ------
    OutOfRangeError
        If the ceiling is level: its film has no steady thickness.

    References
    ----------
    Nusselt-1916
    """
    s = np.asarray(slope, float)
    if not (s > 0.0).all():
        raise OutOfRangeError("a level ceiling carries no steady film", path="slope")
    flow = np.asarray(condensing_kg_m2_s, float) * np.asarray(run_m, float)
    return np.asarray(np.cbrt(3.0 * water.viscosity_pa_s * flow / (water.density_kg_m3**2 * GRAVITY_M_S2 * np.sin(np.arctan(s)))))


def film_slope(condensing_kg_m2_s: float, run_m: float, water: Water = WARM) -> float:
    """Least slope at which a wetted ceiling sheds its film.

    Parameters
    ----------
    condensing_kg_m2_s : float
        Condensate. [kg/(m2 s)]
    run_m : float
        Way along the ceiling. [m]
    water : Water
        Water.

    Returns
    -------
    slope : float
        Rise over run. [1]

    References
    ----------
    Brun-2015; own derivation
    """
    low, high = 1e-6, 1.0
    for _ in range(80):
        middle = float(np.sqrt(low * high))
        sheds = float(film_m(condensing_kg_m2_s, run_m, middle, water)) < float(film_limit_m(middle, water))
        low, high = (low, middle) if sheds else (middle, high)
    return high


@dataclass(frozen=True, slots=True)
class FilmOnItsWay:
    """What a draining film does before it is down: time, water on the ceiling, and how far waves grow.

    ``growth`` is the power of e by which the fastest disturbance grows on the way. Up to some five a film reaches the
    low end nearly smooth; that limit is a judgement.
    """

    transit_s: float
    standing_kg_m2: float
    growth: float


def film_on_its_way(condensing_kg_m2_s: float, run_m: float, slope: float, water: Water = WARM) -> FilmOnItsWay:
    """Transit, water held and growth of waves of the film that gathers down a wetted ceiling.

    Parameters
    ----------
    condensing_kg_m2_s : float
        Condensate, above 0. [kg/(m2 s)]
    run_m : float
        Way along the ceiling. [m]
    slope : float
        Rise over run, above 0. [1]
    water : Water
        Water.

    Returns
    -------
    way : FilmOnItsWay
        From the high end to the low one; of a linear theory, small slopes.

    Raises
    ------
    OutOfRangeError
        If nothing condenses or the ceiling is level.

    References
    ----------
    Nusselt-1916; own derivation
    """
    if not condensing_kg_m2_s > 0.0:
        raise OutOfRangeError("a film needs condensate", path="condensing_kg_m2_s")
    angle = float(np.arctan(slope))
    end = float(film_m(condensing_kg_m2_s, run_m, slope, water))
    grows = 0.75 * end * run_m * np.cos(angle) ** 2 / (12.0 * water.length_m**2 * np.sin(angle))
    return FilmOnItsWay(3.0 * water.density_kg_m3 * end / condensing_kg_m2_s, 0.75 * water.density_kg_m3 * end, float(grows))


def level_film_kg_m2(water: Water = WARM) -> float:
    """Water under a level, wetted ceiling when its drops, one to a cell of the fastest pattern, are the largest that hang.

    Parameters
    ----------
    water : Water
        Water.

    Returns
    -------
    film_kg_m2 : float
        Most by still theory; joints and drops that merge let go of it sooner. [kg/m2]

    References
    ----------
    Wente-1980; own derivation
    """
    wave = 2.0 * np.pi * np.sqrt(2.0)
    return float(_WETTED_DROP / (0.5 * np.sqrt(3.0) * wave**2) * water.length_m * water.density_kg_m3)


def largest_drop(contact_deg: float) -> tuple[float, float]:
    """Largest drop that hangs under a level ceiling, from the shape of drops of one contact angle.

    Parameters
    ----------
    contact_deg : float
        Advancing contact angle, 5 to 130. [deg]

    Returns
    -------
    drop : tuple of (float, float)
        Volume in cubed and foot radius in single capillary lengths. [1]

    Raises
    ------
    OutOfRangeError
        If the angle is outside the range.

    References
    ----------
    Wente-1980; own derivation
    """
    if not 5.0 <= contact_deg <= 130.0:
        raise OutOfRangeError("contact angles from 5 to 130 degrees", path="contact_deg")
    theta = np.radians(contact_deg)
    best, foot, at, spread = 0.0, 0.0, 1.0, 6.0
    for _ in range(3):  # look closer each time round the largest
        bends = np.geomspace(at / spread, at * spread, 41)
        for bend in bends:
            for volume, radius in _feet(float(bend), float(theta)):
                if volume > best:
                    best, foot, at = volume, radius, float(bend)
        spread = float(bends[1] / bends[0]) ** 1.5
    return best, foot


def _feet(bend: float, theta: float) -> list[tuple[float, float]]:
    """First two places where a profile of one apex radius meets the ceiling at an angle."""
    h, r, z, psi, volume = 0.01, 1e-6, 0.0, 1e-6 / bend, 0.0
    found: list[tuple[float, float]] = []

    def rate(r: float, z: float, psi: float) -> tuple[float, float, float, float]:
        return float(np.cos(psi)), float(np.sin(psi)), 2.0 / bend - z - float(np.sin(psi)) / r, float(np.pi * r * r * np.sin(psi))

    for _ in range(900):
        a = rate(r, z, psi)
        b = rate(r + 0.5 * h * a[0], z + 0.5 * h * a[1], psi + 0.5 * h * a[2])
        new = (r + h * b[0], z + h * b[1], psi + h * b[2], volume + h * b[3])
        if (psi - theta) * (new[2] - theta) < 0.0:
            x = (theta - psi) / (new[2] - psi)
            found.append((volume + x * (new[3] - volume), r + x * (new[0] - r)))
            if len(found) == 2:
                break
        r, z, psi, volume = new
        if r <= 1e-6 or psi < 0.0 or psi > np.pi:
            break
    return found


def drop_slope(advancing_deg: float, receding_deg: float, retention: float = RETENTION[1]) -> float:
    """Slope at which the largest drop runs before it can fall.

    Parameters
    ----------
    advancing_deg : float
        Contact angle of a spreading drop. [deg]
    receding_deg : float
        Contact angle of a shrinking drop, below it. [deg]
    retention : float
        Factor of the retaining force: 2/pi, pi/4 or 1 by different sources. [1]

    Returns
    -------
    slope : float
        Rise over run; infinite when a drop falls on any slope. [1]

    Raises
    ------
    OutOfRangeError
        If the angles are out of range or order.

    References
    ----------
    Furmidge-1962; De-Coninck-2020; own derivation
    """
    if not 0.0 <= receding_deg <= advancing_deg:
        raise OutOfRangeError("the receding angle is not above the advancing one", path="receding_deg")
    volume, foot = largest_drop(advancing_deg)
    pull = retention * 2.0 * foot * (np.cos(np.radians(receding_deg)) - np.cos(np.radians(advancing_deg))) / volume
    return float(np.tan(np.arcsin(pull))) if pull < 1.0 else float("inf")
