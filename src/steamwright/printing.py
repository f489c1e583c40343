"""Printing quantities for a person, in the trade's units or metric."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal

from steamwright.errors import UnitError
from steamwright.parsing import FOOT_M, INCH_M, PERM_KG_PA_S_M2, ZERO_CELSIUS_K

System = Literal["inch", "metric"]
LB_KG = 0.45359237
R_M2K_W = 0.1761102
"""The trade's unit of resistance, 1 h ft² °F/Btu: NIST-SP811, Appendix B.8. [m2 K/W]"""


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
    rounded = round(slope * 12.0, 2) * 16.0
    # what two decimals make a quarter reads back as a quarter
    sixteenths = rounded if rounded == round(rounded) else slope * 12.0 * 16.0
    if abs(sixteenths - round(sixteenths)) > 1e-6:
        return f"{round(slope * 12.0, 2) + 0.0:g} in/ft"
    inches = round(sixteenths) / 16.0
    return f"{format_tape(inches * INCH_M).rstrip(chr(34))} in/ft" if abs(inches) < 12.0 else f"{inches:g} in/ft"


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


def format_area(area_m2: float, system: System = "inch") -> str:
    """Print an area for a person.

    Parameters
    ----------
    area_m2 : float
        The area. [m2]
    system : {"inch", "metric"}
        Square feet to a tenth, or square metres to a hundredth.

    Returns
    -------
    text : str
        Such as ``42.3 ft²`` or ``3.93 m²``.

    Raises
    ------
    UnitError
        If the area is not a finite number.

    References
    ----------
    NIST-SP811, Appendix B.8: 1 ft = 0.3048 m, exactly.
    """
    if not math.isfinite(area_m2):
        raise UnitError(f"{area_m2} is not an area")
    return f"{area_m2 / FOOT_M**2:.1f} ft²" if system == "inch" else f"{area_m2:.2f} m²"


def format_volume(volume_m3: float, system: System = "inch") -> str:
    """Print a volume for a person.

    Parameters
    ----------
    volume_m3 : float
        The volume. [m3]
    system : {"inch", "metric"}
        Cubic feet to a tenth, or cubic metres to a thousandth.

    Returns
    -------
    text : str
        Such as ``147.2 ft³`` or ``4.168 m³``.

    Raises
    ------
    UnitError
        If the volume is not a finite number.

    References
    ----------
    NIST-SP811, Appendix B.8: 1 ft = 0.3048 m, exactly.
    """
    if not math.isfinite(volume_m3):
        raise UnitError(f"{volume_m3} is not a volume")
    return f"{volume_m3 / FOOT_M**3:.1f} ft³" if system == "inch" else f"{volume_m3:.3f} m³"


def format_resistance(r_m2k_w: float, system: System = "inch") -> str:
    """Print a thermal resistance for a person.

    Parameters
    ----------
    r_m2k_w : float
        The resistance. [m2 K/W]
    system : {"inch", "metric"}
        The trade's R in h ft2 degF/Btu to a tenth, or square metre kelvins per watt to a hundredth.

    Returns
    -------
    text : str
        Such as ``R 13.1`` or ``2.31 m²K/W``.

    Raises
    ------
    UnitError
        If the resistance is not a finite number.

    References
    ----------
    NIST-SP811, Appendix B.8
    """
    if not math.isfinite(r_m2k_w):
        raise UnitError(f"{r_m2k_w} is not a resistance")
    return f"R {r_m2k_w / R_M2K_W:.1f}" if system == "inch" else f"{r_m2k_w:.2f} m²K/W"


def format_transmittance(u_w_m2k: float, system: System = "inch") -> str:
    """Print a thermal transmittance for a person.

    Parameters
    ----------
    u_w_m2k : float
        The transmittance. [W/(m2 K)]
    system : {"inch", "metric"}
        British thermal units, hours, square feet and degrees Fahrenheit to three places, or watts to two.

    Returns
    -------
    text : str
        Such as ``0.076 Btu/(h ft² °F)`` or ``0.43 W/(m²K)``.

    Raises
    ------
    UnitError
        If the transmittance is not a finite number.

    References
    ----------
    NIST-SP811, Appendix B.8
    """
    if not math.isfinite(u_w_m2k):
        raise UnitError(f"{u_w_m2k} is not a transmittance")
    return f"{u_w_m2k * R_M2K_W:.3f} Btu/(h ft² °F)" if system == "inch" else f"{u_w_m2k:.2f} W/(m²K)"


def format_linear_transmittance(psi_w_mk: float, system: System = "inch") -> str:
    """Print what a length of stud or edge lets through beside the wall, for a person.

    Parameters
    ----------
    psi_w_mk : float
        The linear transmittance. [W/(m K)]
    system : {"inch", "metric"}
        British thermal units, hours, feet and degrees Fahrenheit, or watts; three places.

    Returns
    -------
    text : str
        Such as ``0.012 Btu/(h ft °F)`` or ``0.021 W/(mK)``.

    Raises
    ------
    UnitError
        If the linear transmittance is not a finite number.

    References
    ----------
    NIST-SP811, Appendix B.8
    """
    if not math.isfinite(psi_w_mk):
        raise UnitError(f"{psi_w_mk} is not a linear transmittance")
    return f"{psi_w_mk * R_M2K_W / FOOT_M:.3f} Btu/(h ft °F)" if system == "inch" else f"{psi_w_mk:.3f} W/(mK)"


def format_areal_mass(mass_kg_m2: float, system: System = "inch") -> str:
    """Print a mass per area for a person.

    Parameters
    ----------
    mass_kg_m2 : float
        The mass of a square metre. [kg/m2]
    system : {"inch", "metric"}
        Pounds per square foot or kilograms per square metre, to a tenth.

    Returns
    -------
    text : str
        Such as ``8.4 lb/ft²`` or ``41.0 kg/m²``.

    Raises
    ------
    UnitError
        If the mass is not a finite number.

    References
    ----------
    NIST-SP811, Appendix B.8: 1 lb = 0.45359237 kg, exactly.
    """
    if not math.isfinite(mass_kg_m2):
        raise UnitError(f"{mass_kg_m2} is not a mass")
    return f"{mass_kg_m2 / LB_KG * FOOT_M**2:.1f} lb/ft²" if system == "inch" else f"{mass_kg_m2:.1f} kg/m²"
