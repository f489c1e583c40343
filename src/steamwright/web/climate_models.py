"""What goes over the wire about outside air."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.vapor.climate import Climate
from steamwright.web.models import Told

Months = Annotated[list[float], Field(min_length=12, max_length=12)]


class ClimateTold(Told):
    """Monthly means of outside air from January: temperature, relative humidity, and the range of a mean day."""

    name: str
    usual: bool
    mean_k: Months
    humidity_ratio: Months
    daily_range_k: Months
    source: str
    how_known: str


def climate_told(climate: Climate, usual: str) -> ClimateTold:
    """Tell of a climate.

    Parameters
    ----------
    climate : Climate
        One that ships with the program.
    usual : str
        Name of the one that a job has where it says nothing.

    Returns
    -------
    told : ClimateTold
        Humidity relative to saturation at the mean temperature of the month.

    References
    ----------
    own derivation
    """
    humidity = [round(min(pa / float(saturation_pressure_pa(k)), 1.0), 4) for pa, k in zip(climate.vapor_pa, climate.mean_k, strict=True)]
    return ClimateTold(name=climate.name, usual=climate.name == usual, mean_k=list(climate.mean_k), humidity_ratio=humidity,
                       daily_range_k=list(climate.daily_range_k), source=climate.source, how_known=climate.how_known)
