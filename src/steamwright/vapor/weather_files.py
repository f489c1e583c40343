"""Hourly weather in EPW and TMY3 text form, refused where an hour is missing or a unit cannot be right."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InputError
from steamwright.physics.moist_air import ZERO_CELSIUS_K, saturation_pressure_pa
from steamwright.physics.vapor_monthly import MONTH_DAYS
from steamwright.vapor.climate import HOURS, Hours
from steamwright.vapor.sun_rain import Sky

Floats = NDArray[np.float64]

# Columns of month, day, hour, dry bulb, dew point in the lines of an EPW file.
_EPW = (1, 2, 3, 6, 7)
# Beam, diffuse, wind speed, wind direction and rain in both forms, with the value from which they are missing.
_EPW_SKY = ((14, 9999.0), (15, 9999.0), (21, 999.0), (20, 999.0), (33, 999.0))
_TMY3_SKY = ("DNI (W/m^2)", "DHI (W/m^2)", "Wspd (m/s)", "Wdir (degrees)", "Lprecip depth (mm)")
_EPW_COLUMNS, _EPW_HEAD = 35, 8
_TMY3 = {"dry": "Dry-bulb (C)", "dew": "Dew-point (C)", "date": "Date (MM/DD/YYYY)", "time": "Time (HH:MM)"}
_COLDEST_C, _WARMEST_C = -65.0, 60.0
_MISSING_C = 99.0


def read_weather(text: str, name: str) -> Hours:
    """Read a year of hourly weather from the text of a file.

    Parameters
    ----------
    text : str
        An EPW file, which begins with LOCATION, or a TMY3 file, whose second line names its columns.
    name : str
        Name of the file, for errors.

    Returns
    -------
    hours : Hours
        8760 hours; 29 February is left out.

    Raises
    ------
    InputError
        If the file is neither, is truncated, misses an hour, or a value cannot be in degrees Celsius.

    References
    ----------
    TMY3
    """
    lines = text.lstrip("\ufeff").splitlines()
    if lines and lines[0].upper().startswith("LOCATION"):
        return _hours(_epw_rows(lines, name), name, "EPW file", _place(lines[0].split(",")[6:9]))
    if len(lines) > 1 and _TMY3["dry"] in lines[1]:
        zone, *place = [*lines[0].split(","), "", ""][3:6]
        return _hours(_tmy3_rows(lines, name), name, "TMY3 file", _place([*place, zone]))
    raise InputError("is neither an EPW file (first line LOCATION) nor a TMY3 file (second line with column names)", path=name,
                     hint="give the weather in one of these forms")


Row = tuple[int, int, int, int, float, float, tuple[float, ...]]
Place = tuple[float, float, float] | None


def _epw_rows(lines: Sequence[str], name: str) -> list[Row]:
    rows = []
    for number, line in enumerate(lines[_EPW_HEAD:], _EPW_HEAD + 1):
        if not line.strip():
            continue
        cells = line.split(",")
        if len(cells) < _EPW_COLUMNS - 3:
            raise InputError(f"line {number} has {len(cells)} values where an EPW file has {_EPW_COLUMNS}: the file is cut off or damaged",
                             path=name, hint="fetch the file again")
        month, day, hour, dry, dew = (cells[k] for k in _EPW)
        sky = tuple(_measured(cells[k], top) if k < len(cells) else float("nan") for k, top in _EPW_SKY)
        rows.append(_row(name, number, month, day, hour, dry, dew, sky))
    return rows


def _tmy3_rows(lines: Sequence[str], name: str) -> list[Row]:
    head = [c.strip() for c in lines[1].split(",")]
    missing = [c for c in _TMY3.values() if c not in head]
    if missing:
        raise InputError(f"has no column {missing[0]!r}", path=name, hint="its second line must name the columns of TMY3, in °C")
    at = {k: head.index(c) for k, c in _TMY3.items()}
    above = [head.index(c) if c in head else -1 for c in _TMY3_SKY]
    rows = []
    for number, line in enumerate(lines[2:], 3):
        if not line.strip():
            continue
        cells = line.split(",")
        if len(cells) <= max(at.values()):
            raise InputError(f"line {number} ends early: the file is cut off or damaged", path=name, hint="fetch the file again")
        month, day = [*cells[at["date"]].split("/"), "?", "?"][:2]
        sky = tuple(_measured(cells[k], float("inf")) if 0 <= k < len(cells) else float("nan") for k in above)
        rows.append(_row(name, number, month, day, cells[at["time"]].split(":")[0], cells[at["dry"]], cells[at["dew"]], sky))
    return rows


def _measured(cell: str, missing: float) -> float:
    """A value of the sky, not a number where it is missing."""
    try:
        value = float(cell)
    except ValueError:
        return float("nan")
    return value if 0.0 <= value < missing else float("nan")


def _place(cells: Sequence[str]) -> Place:
    """Latitude, longitude and zone, where all three are given."""
    try:
        latitude, longitude, zone = (float(c) for c in cells)
    except ValueError:
        return None
    return latitude, longitude, zone


def _sky(rows: Sequence[Row], place: Place) -> tuple[Sky | None, str]:
    """Sun, wind and rain, and what has to be said of them; rain that is missing counts as none, sun that is missing ends it."""
    if place is None:
        return None, ", without its sun and rain: it does not say where it is"
    beam, diffuse, wind, direction, rain = np.array([r[6] for r in rows]).T
    if np.isnan(beam).any() or np.isnan(diffuse).any() or np.isnan(wind).any() or np.isnan(direction).any():
        return None, ", without its sun and rain: values are missing"
    lacks = int(np.isnan(rain).sum())
    some = f", rain missing in {lacks} hours and taken as none"
    said = "" if lacks == 0 else ", without rain: it has none" if lacks == len(rain) else some
    return Sky(*place, beam, diffuse, wind, direction, np.nan_to_num(rain)), said


def _row(name: str, number: int, month: str, day: str, hour: str, dry: str, dew: str, sky: tuple[float, ...]) -> Row:
    try:
        return number, int(month), int(day), int(hour), float(dry), float(dew), sky
    except ValueError as wrong:
        raise InputError(f"line {number} holds what is no number: {wrong}", path=name, hint="fetch the file again") from wrong


def _hours(rows: list[Row], name: str, source: str, place: Place) -> Hours:
    kept = [r for r in rows if (r[1], r[2]) != (2, 29)]
    want = [(m + 1, d + 1, h + 1) for m in range(12) for d in range(MONTH_DAYS[m]) for h in range(24)]
    for row, hour in zip(kept, want, strict=False):
        if row[1:4] != hour:
            raise InputError(f"line {row[0]} is month {row[1]}, day {row[2]}, hour {row[3]}, where month {hour[0]}, day {hour[1]}, hour"
                             f" {hour[2]} is due: hours are missing or out of order", path=name,
                             hint="a year has 8760 hours, 1 to 24 each day")
    if len(kept) != HOURS:
        raise InputError(f"holds {len(kept)} of {HOURS} hours: the file is truncated" if len(kept) < HOURS
                         else f"holds {len(kept)} hours, more than a year", path=name, hint="give one whole year")
    dry, dew = np.array([r[4] for r in kept]), np.array([r[5] for r in kept])
    for what, values in (("dry bulb", dry), ("dew point", dew)):
        bad = np.flatnonzero(~((values >= _COLDEST_C) & (values <= _WARMEST_C)))  # what is no number is in no range
        if len(bad):
            line, value = kept[int(bad[0])][0], float(values[bad[0]])
            hint = "a missing value: fill the gap first" if value >= _MISSING_C and len(bad) < HOURS // 2 else "degrees Celsius are wanted"
            raise InputError(f"line {line}: a {what} of {value:g} is no air temperature in °C", path=name, hint=hint)
    over = np.flatnonzero(dew > dry + 1.0)
    if len(over):
        raise InputError(f"line {kept[int(over[0])][0]}: the dew point lies above the air temperature", path=name,
                         hint="are the columns in degrees Celsius and in order?")
    kelvin = dry + ZERO_CELSIUS_K
    vapor = np.minimum(saturation_pressure_pa(dew + ZERO_CELSIUS_K), saturation_pressure_pa(kelvin))
    # Files name the hour that has just ended; the march takes its first hour as the start.
    sky, said = _sky(kept, place)
    return Hours(name, kelvin, vapor, source + said, "text", sky)
