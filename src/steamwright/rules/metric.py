"""Findings in metric: what clauses state in the trade's units, converted where it stands in a sentence."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from steamwright.rules.measure import MEASURES
from steamwright.units import LB_KG, PERM_KG_PA_S_M2

_SQUARE_FOOT_M2 = 0.09290304


@dataclass(frozen=True, slots=True)
class _Unit:
    """A metric unit for one of the trade: value · ``factor`` + ``zero``, printed to a number of decimals, or of figures."""

    name: str
    factor: float
    decimals: int = 1
    zero: float = 0.0
    figures: int | None = None

    def text(self, value: float) -> str:
        said = round(value * self.factor + self.zero + 1e-9, self.decimals) + 0.0
        return f"{said:.10g}" if self.figures is None else f"{value * self.factor:.{self.figures}g}"


_FAHRENHEIT = MEASURES["F"].factor
_UNITS = {
    "in": _Unit("mm", 25.4), "inch": _Unit("mm", 25.4), "ft": _Unit("m", 0.3048, 2), "in/ft": _Unit("%", 100.0 / 12.0, 2),
    "in per foot": _Unit("%", 100.0 / 12.0, 2), "in2": _Unit("m2", 0.0254**2, 2), "mil": _Unit("mm", 0.0254, 2),
    "perm": _Unit("ng/(Pa s m2)", PERM_KG_PA_S_M2 * 1e12, figures=3), "F": _Unit("°C", _FAHRENHEIT, 1, -32.0 * _FAHRENHEIT),
    "R": _Unit("m2 K/W", MEASURES["R"].factor, 2), "cfm": _Unit("L/s", 0.3048**3 / 60.0 * 1000.0, 0),
    "lb/ft2": _Unit("kg/m2", LB_KG / _SQUARE_FOOT_M2, 1),
}
_DECIMALS = {"mm": 1, "m": 2, "%": 2, "m2": 2, "ng/(Pa s m2)": 1, "°C": 1, "m2 K/W": 2}
"""How values of a finding are printed."""
_NUMBER = r"\d+ \d+/\d+|\d+/\d+|\d+\.\d+|\d+"
_UNIT = r"in per foot|in/ft|in2|inch|in|ft|mil|perm|F|cfm|lb/ft2"
_SAID = re.compile(rf"(?<![\w./\"-])(?:({_NUMBER})( to | by ))?({_NUMBER}) ({_UNIT})(?![\w/])")
_TOKEN = re.compile(rf"(\{{(?:provided|required)\}}) ({_UNIT})(?![\w/])")
_RESISTANCE = re.compile(r"\bR-(\{provided\}|\d+)")
_WRITTEN = re.compile(rf'"({_NUMBER}) (in|in/ft)"')


def sentence_in_metric(text: str) -> str:
    """Say a sentence, or the pattern of one, in metric.

    Parameters
    ----------
    text : str
        Such as ``{where} falls {provided} in/ft; 1/4 in/ft is the least.``; what stands in braces is filled in later, in metric.

    Returns
    -------
    said : str
        Such as ``{where} falls {provided} %; 2.08 % is the least.``

    References
    ----------
    own derivation
    """
    text = _RESISTANCE.sub(lambda r: f"{r[1] if r[1].startswith('{') else _UNITS['R'].text(float(r[1]))} {_UNITS['R'].name}", text)
    text = _WRITTEN.sub(_written, _TOKEN.sub(lambda t: f"{t[1]} {_UNITS[t[2]].name}", text))
    return _SAID.sub(_said, text)


def _said(found: re.Match[str]) -> str:
    unit = _UNITS[found[4]]
    first = "" if found[1] is None else f"{unit.text(_value(found[1]))}{found[2]}"
    return f"{first}{unit.text(_value(found[3]))} {unit.name}"


def _written(found: re.Match[str]) -> str:
    """What is to be typed into the job: a fall is not rounded below what was found to do."""
    value = _value(found[1])
    if found[2] == "in":
        return f'"{value * 25.4:.0f} mm"'
    return f'"{math.ceil(value * 10000.0 / 12.0 - 1e-6) / 100:g} %"'


def _value(text: str) -> float:
    return float(sum(Fraction(part) for part in text.split()))


def is_metric(unit: str) -> bool:
    """Whether `metric_text` prints values of a unit.

    Parameters
    ----------
    unit : str
        Such as "mm".

    Returns
    -------
    metric : bool
        Whether findings in metric speak in it.

    References
    ----------
    own derivation
    """
    return unit in _DECIMALS


def metric_text(value: float, unit: str, against: float | None = None) -> str:
    """Print a value of a finding in metric.

    Parameters
    ----------
    value : float
        In ``unit``.
    unit : str
        Such as "mm".
    against : float or None
        The limit: a value that rounding would bring onto it keeps its decimals.

    Returns
    -------
    text : str
        Such as ``50.8``; whole millimetres where a length is far from its limit.

    References
    ----------
    own derivation
    """
    decimals = 2 if unit == "mm" and abs(value) < 1.0 else _DECIMALS[unit]
    if unit == "mm" and against is not None and abs(value) >= 100.0 and abs(value - against) >= 1.0:
        decimals = 0
    short = f"{value:.3g}" if unit == "ng/(Pa s m2)" else f"{round(value, decimals) + 0.0:.10g}"
    return f"{value:.6g}" if against is not None and value != against and float(short) == round(against, decimals) else short


def to_metric(value: float, unit: str) -> float:
    """Carry a value from a clause's unit to metric.

    Parameters
    ----------
    value : float
        In ``unit``.
    unit : str
        Such as "in/ft"; one that is metric or counts stays.

    Returns
    -------
    converted : float
        In the unit that `metric_unit` names, at six significant digits.

    References
    ----------
    own derivation
    """
    to = _UNITS.get(unit)
    return value if to is None else float(f"{value * to.factor + to.zero:.6g}")


def span_to_metric(span: float, unit: str) -> float:
    """Carry a difference of values from a clause's unit to metric.

    Parameters
    ----------
    span : float
        In ``unit``.
    unit : str
        Such as "F".

    Returns
    -------
    converted : float
        In the unit that `metric_unit` names, at six significant digits.

    References
    ----------
    own derivation
    """
    to = _UNITS.get(unit)
    return span if to is None else float(f"{span * to.factor:.6g}")


def metric_unit(unit: str) -> str:
    """The metric unit for one of a clause.

    Parameters
    ----------
    unit : str
        Such as "in/ft".

    Returns
    -------
    metric : str
        Such as "%"; one that is metric or counts stays.

    References
    ----------
    own derivation
    """
    return _UNITS[unit].name if unit in _UNITS else unit
