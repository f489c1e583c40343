"""Reading and printing of quantities: SI inside, the trade's units only here.

Numbers without a unit are refused, since ``90.5`` may be inches or centimetres. The annotated types at the end are what the
models of a job file are made of: from text they read a quantity with its unit; from a computed document (``plan.json``, an
API body), where the validation context does not say ``{"typed": True}``, they also take a plain number, which is SI.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from steamwright.errors import UnitError

System = Literal["inch", "metric"]

INCH_M = 0.0254
FOOT_M = 0.3048
GRAIN_KG = 64.79891e-6
INCH_OF_MERCURY_0C_PA = INCH_M * 13595.1 * 9.80665
PERM_KG_PA_S_M2 = GRAIN_KG / (3600.0 * FOOT_M**2 * INCH_OF_MERCURY_0C_PA)
ZERO_CELSIUS_K = 273.15
LONGEST_M = 100.0

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


def format_tape(length_m: float, denominator: int = 16) -> str:
    """Print a length as it stands on a tape, rounded to the tape's finest mark.

    Parameters
    ----------
    length_m : float
        Any sign. [m]
    denominator : int
        Finest mark as parts of an inch: 2, 4, 8, 16, 32 or 64 (count).

    Returns
    -------
    text : str
        Such as ``7' 6 1/2"``; under a foot without feet; zero as ``0"``.

    Raises
    ------
    UnitError
        If the length is not a finite number or the denominator is not a mark of a tape.

    References
    ----------
    own derivation

    Examples
    --------
    >>> format_tape(2.2987), format_tape(0.3048), format_tape(-0.0095)
    ('7\\' 6 1/2"', '1\\' 0"', '-3/8"')
    """
    if denominator not in (1, 2, 4, 8, 16, 32, 64):
        raise UnitError(f"a tape has no marks of 1/{denominator} in", hint="use 2, 4, 8, 16, 32 or 64")
    if not math.isfinite(length_m):
        raise UnitError(f"{length_m} is not a length")
    marks = round(abs(length_m) / INCH_M * denominator)
    inches, rest = divmod(marks, denominator)
    feet, inches = divmod(inches, 12)
    fraction = str(Fraction(rest, denominator)) if rest else ""
    small = f"{inches} {fraction}".strip() if inches or feet or not rest else fraction
    sign = "-" if length_m < 0 and marks else ""
    return f"{sign}{feet}' {small}\"" if feet else f'{sign}{small}"'


def format_length(length_m: float, system: System = "inch") -> str:
    """Print a length for a person.

    Parameters
    ----------
    length_m : float
        Any sign. [m]
    system : {"inch", "metric"}
        Tape text to 1/16 in, or whole millimetres.

    Returns
    -------
    text : str
        Such as ``7' 6 1/2"`` or ``2299 mm``.

    Raises
    ------
    UnitError
        If the length is not a finite number.

    References
    ----------
    own derivation
    """
    if system == "inch":
        return format_tape(length_m)
    if not math.isfinite(length_m):
        raise UnitError(f"{length_m} is not a length")
    return f"{round(length_m * 1000)} mm"


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


def format_slope(slope: float, system: System = "inch") -> str:
    """Print a slope for a person.

    Parameters
    ----------
    slope : float
        Rise over run (ratio).
    system : {"inch", "metric"}
        Inches per foot, or per cent.

    Returns
    -------
    text : str
        Such as ``2 in/ft``, ``1/4 in/ft``, ``1.73 in/ft`` or ``16.7 %``.

    Raises
    ------
    UnitError
        If the slope is not a finite number.

    References
    ----------
    own derivation
    """
    if not math.isfinite(slope):
        raise UnitError(f"{slope} is not a slope")
    if system == "metric":
        return f"{round(slope * 100.0, 2) + 0.0:g} %"
    sixteenths = slope * 12.0 * 16.0
    if abs(sixteenths - round(sixteenths)) > 1e-6:
        return f"{round(slope * 12.0, 2) + 0.0:g} in/ft"
    return f"{format_tape(round(sixteenths) / 16.0 * INCH_M).rstrip(chr(34))} in/ft" if abs(slope) < 1.0 else f"{slope * 12.0:g} in/ft"


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


def format_temperature(temperature_k: float, system: System = "inch") -> str:
    """Print a temperature for a person.

    Parameters
    ----------
    temperature_k : float
        Absolute temperature. [K]
    system : {"inch", "metric"}
        Degrees Fahrenheit or Celsius, to a tenth.

    Returns
    -------
    text : str
        Such as ``113 °F`` or ``45 °C``.

    Raises
    ------
    UnitError
        If the temperature is not a finite number.

    References
    ----------
    own derivation
    """
    if not math.isfinite(temperature_k):
        raise UnitError(f"{temperature_k} is not a temperature")
    celsius = temperature_k - ZERO_CELSIUS_K
    value, mark = (celsius * 1.8 + 32.0, "F") if system == "inch" else (celsius, "C")
    return f"{round(value, 1) + 0.0:g} °{mark}"


def parse_permeance(text: str) -> float:
    """Read a water vapour permeance.

    Parameters
    ----------
    text : str
        Such as ``0.5 perm``, ``28.6 ng/(Pa s m2)`` or ``2.86e-11 kg/(Pa s m2)``.

    Returns
    -------
    permeance : float
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


def format_permeance(permeance_kg_pa_s_m2: float, system: System = "inch") -> str:
    """Print a water vapour permeance for a person.

    Parameters
    ----------
    permeance_kg_pa_s_m2 : float
        The permeance. [kg/(Pa s m2)]
    system : {"inch", "metric"}
        Perms, or nanograms per pascal, second and square metre; three figures.

    Returns
    -------
    text : str
        Such as ``0.5 perm`` or ``28.6 ng/(Pa s m2)``.

    Raises
    ------
    UnitError
        If the permeance is not a finite number.

    References
    ----------
    ASTM-E96, Table 1: 1 perm = 5.72e-8 g/(Pa s m2).
    """
    if not math.isfinite(permeance_kg_pa_s_m2):
        raise UnitError(f"{permeance_kg_pa_s_m2} is not a permeance")
    if system == "inch":
        return f"{permeance_kg_pa_s_m2 / PERM_KG_PA_S_M2:.3g} perm"
    return f"{permeance_kg_pa_s_m2 * 1e12:.3g} ng/(Pa s m2)"


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


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one kind of quantity for a model and keeps it inside its range, both ends SI."""

    parse: Callable[[str], float]
    show: Callable[[float], str]
    noun: str
    example: str
    low: float = -math.inf
    low_open: bool = False
    high: float = math.inf
    zero_needs_unit: bool = False

    def __call__(self, value: Any, info: ValidationInfo) -> float:
        number = self._number(value, bool(info.context and info.context.get("typed")))
        if number < self.low or (self.low_open and number == self.low):
            floor = "more than nothing" if self.low_open else "nothing or more"
            raise self._mistake(f"{self.show(number)} is too small for {self.noun}", f"it has to be {floor}")
        if number > self.high:
            raise self._mistake(f"{self.show(number)} is too much for {self.noun}", f"it has to be at most {self.show(self.high)}")
        return number

    def _number(self, value: Any, typed: bool) -> float:
        if isinstance(value, str):
            try:
                return self.parse(value)
            except UnitError as wrong:
                raise self._mistake(wrong.detail, wrong.hint) from None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._mistake(f"{self.noun} is needed here", f'write it in quotes with its unit, such as "{self.example}"')
        if not math.isfinite(value):
            raise self._mistake(f"{value} is not {self.noun}", f'write it in quotes with its unit, such as "{self.example}"')
        if typed and (value != 0 or self.zero_needs_unit):
            raise self._mistake(f"{value} has no unit", f'give {self.noun} in quotes with its unit, such as "{self.example}"')
        return float(value)

    @staticmethod
    def _mistake(detail: str, hint: str) -> PydanticCustomError:
        return PydanticCustomError("quantity", "{detail}", {"detail": detail, "hint": hint})


def _schema(unit: str, example: str) -> WithJsonSchema:
    """Documents a quantity: text with a unit, or a number in SI."""
    return WithJsonSchema(
        {"anyOf": [{"type": "string", "examples": [example]}, {"type": "number", "description": f"[{unit}]"}]}, mode="validation"
    )


_LENGTH = _Reader(parse_length_m, format_tape, "a length", "90.5 in", low=-LONGEST_M, high=LONGEST_M)
_SPAN = _Reader(parse_length_m, format_tape, "a length", "90.5 in", low=0.0, low_open=True, high=LONGEST_M)
_DIAMETER = _Reader(parse_length_m, format_tape, "a diameter", "7/8 in", low=0.0, low_open=True, high=1.0)
_SLOPE = _Reader(parse_slope, format_slope, "a slope", "2 in/ft", low=0.0)
_PERMEANCE = _Reader(parse_permeance, format_permeance, "a permeance", "0.5 perm", low=0.0, zero_needs_unit=True)
_TEMPERATURE = _Reader(parse_temperature_k, format_temperature, "a temperature", "113 degF", low=0.0, zero_needs_unit=True)

Length = Annotated[float, BeforeValidator(_LENGTH), _schema("m", "90.5 in")]
SpanLength = Annotated[float, BeforeValidator(_SPAN), _schema("m", "90.5 in")]
Diameter = Annotated[float, BeforeValidator(_DIAMETER), _schema("m", "7/8 in")]
Slope = Annotated[float, BeforeValidator(_SLOPE), _schema("rise over run", "2 in/ft")]
Permeance = Annotated[float, BeforeValidator(_PERMEANCE), _schema("kg/(Pa s m2)", "0.5 perm")]
Temperature = Annotated[float, BeforeValidator(_TEMPERATURE), _schema("K", "113 degF")]
