"""Units: SI inside, the trade's units only at the rim.

One place to import from: reading (``parse_…``), printing (``format_…``), and the annotated types that the models of a job file are
made of. From text these read a quantity with its unit; from a computed document (``plan.json``, an API body), where the
validation context does not say ``{"typed": True}``, they also take a plain number, which is SI.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from steamwright.errors import UnitError
from steamwright.parsing import (
    FOOT_M,
    GRAIN_KG,
    INCH_M,
    INCH_OF_MERCURY_0C_PA,
    PERM_KG_PA_S_M2,
    ZERO_CELSIUS_K,
    parse_angle_deg,
    parse_length_m,
    parse_permeance,
    parse_slope,
    parse_temperature_k,
)
from steamwright.printing import (
    LB_KG,
    R_M2K_W,
    System,
    format_area,
    format_areal_mass,
    format_length,
    format_linear_transmittance,
    format_permeance,
    format_resistance,
    format_slope,
    format_tape,
    format_temperature,
    format_transmittance,
    format_volume,
)

__all__ = [
    "FOOT_M",
    "GRAIN_KG",
    "INCH_M",
    "INCH_OF_MERCURY_0C_PA",
    "LB_KG",
    "LONGEST_M",
    "PERM_KG_PA_S_M2",
    "R_M2K_W",
    "ZERO_CELSIUS_K",
    "Diameter",
    "Length",
    "Permeance",
    "SetPoint",
    "Slope",
    "SpanLength",
    "System",
    "Temperature",
    "format_area",
    "format_areal_mass",
    "format_length",
    "format_linear_transmittance",
    "format_permeance",
    "format_resistance",
    "format_slope",
    "format_tape",
    "format_temperature",
    "format_transmittance",
    "format_volume",
    "parse_angle_deg",
    "parse_length_m",
    "parse_permeance",
    "parse_slope",
    "parse_temperature_k",
]

LONGEST_M = 100.0


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
            floor = f"at least {self.show(self.low)}" if self.low > 0.0 else "more than nothing" if self.low_open else "nothing or more"
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
_SET_POINT = _Reader(parse_temperature_k, format_temperature, "a set point", "113 degF", low=298.15, high=343.15, zero_needs_unit=True)

Length = Annotated[float, BeforeValidator(_LENGTH), _schema("m", "90.5 in")]
SpanLength = Annotated[float, BeforeValidator(_SPAN), _schema("m", "90.5 in")]
Diameter = Annotated[float, BeforeValidator(_DIAMETER), _schema("m", "7/8 in")]
Slope = Annotated[float, BeforeValidator(_SLOPE), _schema("rise over run", "2 in/ft")]
Permeance = Annotated[float, BeforeValidator(_PERMEANCE), _schema("kg/(Pa s m2)", "0.5 perm")]
Temperature = Annotated[float, BeforeValidator(_TEMPERATURE), _schema("K", "113 degF")]
SetPoint = Annotated[float, BeforeValidator(_SET_POINT), _schema("K", "113 degF")]
