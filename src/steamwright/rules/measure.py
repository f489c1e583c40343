"""The units in which clauses state their limits, and what each is in SI."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.units import FOOT_M, INCH_M, PERM_KG_PA_S_M2


@dataclass(frozen=True, slots=True)
class Measure:
    """A unit: SI value = (value + ``zero``) · ``factor``, for facts whose SI unit is ``si``."""

    si: str
    factor: float
    zero: float = 0.0


MEASURES: dict[str, Measure] = {
    "": Measure("1", 1.0),
    "in": Measure("m", INCH_M),
    "ft": Measure("m", FOOT_M),
    "in/ft": Measure("ratio", 1.0 / 12.0),
    "in2": Measure("m2", INCH_M**2),
    "perm": Measure("kg_pa_s_m2", PERM_KG_PA_S_M2),
    "F": Measure("k", 5.0 / 9.0, 459.67),
    "R": Measure("m2k_w", 0.1761101838),
    "mil": Measure("m", INCH_M / 1000.0),
    "deg": Measure("deg", 1.0),
    "layers": Measure("count", 1.0),
    "readings": Measure("count", 1.0),
    "m2": Measure("m2", 1.0),
}


def from_si(value: float, unit: str) -> float:
    """Carry an SI value to a clause's unit, at six significant digits so that a limit is met where it is met.

    Parameters
    ----------
    value : float
        Value in the SI unit of the measure.
    unit : str
        Unit of the clause, such as "in/ft".

    Returns
    -------
    converted : float
        Value in ``unit``.

    References
    ----------
    own derivation
    """
    m = MEASURES[unit]
    return float(f"{value / m.factor - m.zero:.6g}")


def span_from_si(span: float, unit: str) -> float:
    """Carry a difference of SI values to a clause's unit.

    Parameters
    ----------
    span : float
        Difference in the SI unit of the measure.
    unit : str
        Unit of the clause.

    Returns
    -------
    converted : float
        Difference in ``unit``.

    References
    ----------
    own derivation
    """
    return float(f"{span / MEASURES[unit].factor:.6g}")


def to_si(value: float, unit: str) -> float:
    """Carry a value in a clause's unit to SI.

    Parameters
    ----------
    value : float
        Value in ``unit``.
    unit : str
        Unit of the clause.

    Returns
    -------
    converted : float
        SI value.

    References
    ----------
    own derivation
    """
    m = MEASURES[unit]
    return (value + m.zero) * m.factor
