"""Numbers as the dossier prints them, in the units of the job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steamwright.rules.engine import stated
from steamwright.units import FOOT_M, INCH_M, LB_KG, format_areal_mass, format_length, format_permeance, format_resistance

_LONGEST_WORD = 14
_BREAK = "\u200b"


@dataclass(frozen=True, slots=True)
class Words:
    """Prints SI numbers in the system of a job: feet and inches, or metric."""

    system: Literal["inch", "metric"]

    def length(self, value_m: float) -> str:
        """A length. [m]"""
        return format_length(value_m, self.system)

    def fine(self, value_m: float) -> str:
        """A small signed length, for residuals. [m]"""
        return f"{value_m / INCH_M:+.3f} in" if self.system == "inch" else f"{value_m * 1000:+.1f} mm"

    def lap(self, value_m: float) -> str:
        """A lap, to 0.1 mm or 1/100 in. [m]"""
        return f"{value_m / INCH_M:.2f} in" if self.system == "inch" else f"{value_m * 1000:.1f} mm"

    def area(self, value_m2: float) -> str:
        """An area. [m²]"""
        return f"{value_m2 / FOOT_M**2:.1f} ft²" if self.system == "inch" else f"{value_m2:.2f} m²"

    def volume(self, value_m3: float) -> str:
        """A volume. [m³]"""
        return f"{value_m3 / FOOT_M**3:.1f} ft³" if self.system == "inch" else f"{value_m3:.2f} m³"

    def mass(self, value_kg: float) -> str:
        """A mass. [kg]"""
        return f"{value_kg / LB_KG:.0f} lb" if self.system == "inch" else f"{value_kg:.0f} kg"

    def areal_mass(self, value_kg_m2: float) -> str:
        """A mass per area. [kg/m²]"""
        return format_areal_mass(value_kg_m2, self.system)

    def resistance(self, value_m2k_w: float) -> str:
        """A thermal resistance. [m² K/W]"""
        return format_resistance(value_m2k_w, self.system)

    def permeance(self, value_kg_pa_s_m2: float | None) -> str:
        """A permeance, or a dash where none is known. [kg/(Pa s m²)]"""
        return "not known" if value_kg_pa_s_m2 is None else format_permeance(value_kg_pa_s_m2, self.system)


def value(number: float | str | bool | None, unit: str, against: float | str | bool | None = None) -> str:
    """Print what a finding compares.

    Parameters
    ----------
    number : float, str, bool or None
        In ``unit``.
    unit : str
        Unit, may be empty.
    against : float, str, bool or None
        The limit, onto which no rounding may bring it.

    Returns
    -------
    text : str
        Number and unit, ``yes`` or ``no``, or a dash.

    References
    ----------
    own derivation
    """
    if number is None or number == "":
        return "–"
    if isinstance(number, bool):
        return "yes" if number else "no"
    text = stated(number, unit, against) if unit in ("in", "in/ft") else f"{number:.4g}" if isinstance(number, float) else str(number)
    return f"{text} {unit}".strip()


def breakable(text: str) -> str:
    """Let long words break, so that nothing runs out of its column.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    soft : str
        The same text; words longer than fourteen letters may break after ``-_/.:`` and at every fourteenth letter.

    References
    ----------
    own derivation
    """
    return " ".join(_softened(word) if len(word) > _LONGEST_WORD else word for word in text.split(" "))


def _softened(word: str) -> str:
    out, run = "", 0
    for letter in word:
        out, run = out + letter, run + 1
        if letter in "-_/.:" or run >= _LONGEST_WORD:
            out, run = out + _BREAK, 0
    return out.removesuffix(_BREAK)
