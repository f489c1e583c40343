"""Reading quantities as the trade writes them; everything comes out in SI.

Numbers without a unit are refused, since ``90.5`` may be inches or centimetres.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from steamwright.errors import UnitError

INCH_M = 0.0254
FOOT_M = 0.3048
GRAIN_KG = 64.79891e-6
INCH_OF_MERCURY_0C_PA = INCH_M * 13595.1 * 9.80665
PERM_KG_PA_S_M2 = GRAIN_KG / (3600.0 * FOOT_M**2 * INCH_OF_MERCURY_0C_PA)
ZERO_CELSIUS_K = 273.15

_DECIMAL = r"(?:\d+\.?\d*|\.\d+)"
_MIXED = rf"(?:\d+\s+\d+/\d+|\d+/\d+|{_DECIMAL})"
_FEET = r"(?:'|feet|foot|ft\.?)"
_INCHES = r"(?:\"|''|inches|inch|in\.?)"
_FEET_INCHES = re.compile(rf"(?P<feet>{_MIXED})\s*{_FEET}(?:\s*-?\s*(?P<inches>{_MIXED})\s*{_INCHES})?", re.IGNORECASE)
_INCHES_ONLY = re.compile(rf"(?P<inches>{_MIXED})\s*{_INCHES}", re.IGNORECASE)
_DASHED = re.compile(rf"(?P<feet>\d+)\s*-\s*(?P<inches>{_MIXED})\s*(?:{_INCHES})?", re.IGNORECASE)
_METRIC = re.compile(rf"(?P<number>{_DECIMAL})\s*(?P<unit>mm|cm|m)")
_QUANTITY = re.compile(rf"(?P<sign>[+-]?)\s*(?P<number>{_MIXED}(?:[eE][+-]?\d+)?)\s*(?P<unit>.*)")
_METRE_PER = {"mm": 1e-3, "cm": 1e-2, "m": 1.0}
_KG_PER = {"ng": 1e-12, "ug": 1e-9, "µg": 1e-9, "mg": 1e-6, "g": 1e-3, "kg": 1.0}
_SIGNS = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "’": "'",
        "′": "'",
        "”": '"',
        "“": '"',
        "″": '"',
        "⁄": "/",
        "°": " deg",
        "º": " deg",
        "²": "2",
        "·": " ",
        "\u00a0": " ",
        "\u202f": " ",
    }
)
_GLYPHS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_LENGTH_HINT = "write feet and inches such as 7' 6 1/2\", inches such as 90.5 in, or metric such as 2.30 m or 2300 mm"
_SLOPE_HINT = "write a slope such as 2 in/ft, 9.5 deg, 1:6 or 2 %"
_TEMPERATURE_HINT = "write a temperature such as 113 degF or 45 degC"
_PERMEANCE_HINT = "write a permeance such as 0.5 perm or 28.6 ng/(Pa s m2)"
_ANGLE_HINT = "write an angle such as 45 deg"


def _plain(text: str) -> str:
    """Fold the signs that phones and typesetters use into those of a keyboard."""
    for glyph, spelled in _GLYPHS.items():
        text = text.replace(glyph, f" {spelled}")
    return " ".join(text.translate(_SIGNS).split())


def _number(text: str, whole: str) -> float:
    """The value of ``6``, ``6.5``, ``1/2`` or ``6 1/2``; ``whole`` is what the person typed."""
    if "/" not in text:
        return float(text)
    *units, fraction = text.split()
    top, bottom = (int(part) for part in fraction.split("/"))
    if bottom == 0:
        raise UnitError(f"“{whole}” has a fraction over nothing", hint="the lower number of a fraction is 2, 4, 8, 16 and so on")
    if units and top >= bottom:
        raise UnitError(f"“{whole}” has a fraction of one or more after a whole number", hint="carry it over, such as 7 1/16 for 6 17/16")
    return float(Fraction(top, bottom) + (int(units[0]) if units else 0))


def _signed(text: str) -> tuple[float, str]:
    """Part a leading sign from the rest."""
    if text[:1] in ("-", "+"):
        return (-1.0 if text[0] == "-" else 1.0), text[1:].lstrip()
    return 1.0, text


def _refuse_comma(text: str, hint: str) -> None:
    """Refuse 2,30: on one side of an ocean it is a decimal mark, on the other it parts thousands."""
    if re.search(r"\d,\d", text):
        raise UnitError(f"“{text}” has a comma in its number", hint=f"write a point: {text.replace(',', '.')}; {hint}")


def _split(text: str, what: str, hint: str) -> tuple[float, str]:
    """Part a quantity into its number and its unit; the unit may be missing."""
    plain = _plain(text)
    _refuse_comma(plain, hint)
    match = _QUANTITY.fullmatch(plain)
    if match is None:
        raise UnitError(f"“{text}” is not {what}", hint=hint)
    number = match["number"]
    exponent = re.search(r"[eE][+-]?\d+$", number)
    value = float(number) if exponent else _number(number, text)
    return (-value if match["sign"] == "-" else value), match["unit"].strip()


def parse_length_m(text: str) -> float:
    """Read a length as the trade writes it.

    Parameters
    ----------
    text : str
        Such as ``7' 6 1/2"``, ``7 ft 6 1/2 in``, ``7-6 1/2``, ``90.5 in``, ``2.30 m``, ``23 cm``, ``2300 mm``; a sign may stand before.

    Returns
    -------
    length_m : float
        The length. [m]

    Raises
    ------
    UnitError
        If the text is no length, has no unit, or has 12 inches or more after feet.

    References
    ----------
    NIST-SP811, Appendix B.8: 1 in = 0.0254 m, 1 ft = 0.3048 m, exactly.

    Examples
    --------
    >>> round(parse_length_m("7' 6 1/2\\""), 4)
    2.2987
    """
    plain = _plain(text)
    _refuse_comma(plain, _LENGTH_HINT)
    sign, rest = _signed(plain)
    if match := _METRIC.fullmatch(rest):
        return sign * float(match["number"]) * _METRE_PER[match["unit"]]
    if match := _FEET_INCHES.fullmatch(rest) or _DASHED.fullmatch(rest):
        inches = _number(match["inches"], text) if match["inches"] else 0.0
        if inches >= 12.0:
            raise UnitError(
                f"“{text}” has {inches:g} inches after the feet", hint="carry every 12 inches over into a foot, or give inches alone"
            )
        return sign * (12.0 * _number(match["feet"], text) + inches) * INCH_M
    if match := _INCHES_ONLY.fullmatch(rest):
        return sign * _number(match["inches"], text) * INCH_M
    if re.fullmatch(_MIXED, rest):
        raise UnitError(f"“{text}” has no unit", hint=f"give a unit, such as {rest} in")
    raise UnitError(f"“{text}” is not a length", hint=_LENGTH_HINT)


def parse_slope(text: str) -> float:
    """Read a slope.

    Parameters
    ----------
    text : str
        Such as ``2 in/ft``, ``1/4 in per ft``, ``20 mm/m``, ``9.5 deg``, ``1:6``, ``2 %``; a sign may stand before.

    Returns
    -------
    slope : float
        Rise over run (ratio).

    Raises
    ------
    UnitError
        If the text is no slope, has no unit, or is 90 degrees or more.

    References
    ----------
    own derivation

    Examples
    --------
    >>> round(parse_slope("2 in/ft"), 6), parse_slope("1:4")
    (0.166667, 0.25)
    """
    if pair := re.fullmatch(rf"(?P<sign>[+-]?)\s*(?P<rise>{_DECIMAL})\s*:\s*(?P<run>{_DECIMAL})", _plain(text)):
        run = float(pair["run"])
        if run == 0.0:
            raise UnitError(f"“{text}” rises over no run", hint=_SLOPE_HINT)
        return float(pair["rise"]) / run * (-1.0 if pair["sign"] == "-" else 1.0)
    value, unit = _split(text, "a slope", _SLOPE_HINT)
    unit = unit.replace(" per ", "/").replace("per ", "/").replace(" ", "").lower()
    if unit in ("in/ft", '"/ft', "\"/'", "inch/foot", "in/foot", "inches/foot"):
        return value / 12.0
    if unit in ("deg", "degree", "degrees"):
        if abs(value) >= 90.0:
            raise UnitError(f"“{text}” is no slope but a wall", hint="a slope is under 90 deg")
        return math.tan(math.radians(value))
    if unit in ("%", "percent"):
        return value / 100.0
    if unit in ("mm/m", "cm/m"):
        return value * _METRE_PER[unit[:2]]
    if not unit:
        raise UnitError(f"“{text}” has no unit", hint=f"give a unit, such as {text.strip()} in/ft")
    raise UnitError(f"“{text}” is not a slope", hint=_SLOPE_HINT)


def parse_temperature_k(text: str) -> float:
    """Read a temperature.

    Parameters
    ----------
    text : str
        Such as ``113 degF``, ``113 F``, ``45 °C``, ``45 C``, ``318.15 K``.

    Returns
    -------
    temperature_k : float
        Absolute temperature. [K]

    Raises
    ------
    UnitError
        If the text is no temperature, has no unit, or lies below absolute zero.

    References
    ----------
    NIST-SP811, Appendix B.8: degree Fahrenheit to kelvin.

    Examples
    --------
    >>> parse_temperature_k("113 degF")
    318.15
    """
    value, unit = _split(text, "a temperature", _TEMPERATURE_HINT)
    scale = unit.lower().replace("degrees", "deg").replace(" ", "").removeprefix("deg")
    if scale in ("c", "celsius"):
        kelvin = value + ZERO_CELSIUS_K
    elif scale in ("f", "fahrenheit"):
        kelvin = (value - 32.0) / 1.8 + ZERO_CELSIUS_K
    elif scale in ("k", "kelvin"):
        kelvin = value
    elif not scale:
        raise UnitError(f"“{text}” does not say which degrees", hint=_TEMPERATURE_HINT)
    else:
        raise UnitError(f"“{text}” is not a temperature", hint=_TEMPERATURE_HINT)
    if kelvin < 0.0:
        raise UnitError(f"“{text}” is colder than anything can be", hint=_TEMPERATURE_HINT)
    return kelvin


def parse_permeance(text: str) -> float:
    """Read a water vapour permeance.

    Parameters
    ----------
    text : str
        Such as ``0.5 perm``, ``28.6 ng/(Pa s m2)`` or ``2.86e-11 kg/(Pa s m2)``.

    Returns
    -------
    permeance_kg_pa_s_m2 : float
        The permeance. [kg/(Pa s m2)]

    Raises
    ------
    UnitError
        If the text is no permeance, has no unit, or is negative.

    References
    ----------
    ASTM-E96, Table 1: 1 perm = 5.72e-8 g/(Pa s m2).

    Examples
    --------
    >>> f'{parse_permeance("0.5 perm"):.3e}'
    '2.861e-11'
    """
    value, unit = _split(text, "a permeance", _PERMEANCE_HINT)
    if value < 0.0:
        raise UnitError(f"“{text}” is negative", hint=_PERMEANCE_HINT)
    if unit.lower() in ("perm", "perms"):
        return value * PERM_KG_PA_S_M2
    mass, _, per = unit.partition("/")
    if mass in _KG_PER and sorted(re.findall(r"Pa|m2|s|\S", per.strip("() ").replace("^", "").replace("*", " "))) == ["Pa", "m2", "s"]:
        return value * _KG_PER[mass]
    if not unit:
        raise UnitError(f"“{text}” has no unit", hint=f"give a unit, such as {text.strip()} perm")
    raise UnitError(f"“{text}” is not a permeance", hint=_PERMEANCE_HINT)


def parse_angle_deg(text: str) -> float:
    """Read an angle.

    Parameters
    ----------
    text : str
        Such as ``45 deg``, ``45°`` or ``0.5 rad``; a sign may stand before.

    Returns
    -------
    angle_deg : float
        The angle. [deg]

    Raises
    ------
    UnitError
        If the text is no angle or has no unit.

    References
    ----------
    own derivation
    """
    value, unit = _split(text, "an angle", _ANGLE_HINT)
    if unit.lower() in ("deg", "degree", "degrees"):
        return value
    if unit.lower() in ("rad", "radian", "radians"):
        return math.degrees(value)
    if not unit:
        raise UnitError(f"“{text}” has no unit", hint=f"give a unit, such as {text.strip()} deg")
    raise UnitError(f"“{text}” is not an angle", hint=_ANGLE_HINT)
