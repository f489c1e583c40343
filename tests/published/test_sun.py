"""Position of the sun: worked example 1.6.2 of Duffie and Beckman, printed values from memory."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from steamwright.vapor.sun_rain import Sky, sun_position

NONE = np.zeros(8760)


@pytest.mark.parametrize(("day", "solar_h", "equation_min", "zenith_deg", "from_south_deg"),
                         [(date(2001, 2, 13), 9.5, -14.2, 66.5, -40.0), (date(2001, 7, 1), 18.5, -3.9, 79.6, 112.0)])
def test_height_and_direction_of_the_sun(day: date, solar_h: float, equation_min: float, zenith_deg: float, from_south_deg: float) -> None:
    # The middle of an hour is on a half hour of the clock; the longitude takes the equation of time away.
    sky = Sky(43.0, -equation_min / 4.0, 0.0, NONE, NONE, NONE, NONE, NONE)
    height, azimuth = sun_position(sky)
    at = (day - date(2001, 1, 1)).days * 24 + int(solar_h)
    assert 90.0 - np.degrees(height[at]) == pytest.approx(zenith_deg, abs=0.35)
    assert np.degrees(azimuth[at]) - 180.0 == pytest.approx(from_south_deg, abs=0.35)
