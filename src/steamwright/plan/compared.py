"""Build-ups side by side in words and numbers: what a terminal and a dossier print alike."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from steamwright.units import (
    FOOT_M,
    LB_KG,
    PERM_KG_PA_S_M2,
    R_M2K_W,
    System,
    format_area,
    format_areal_mass,
    format_linear_transmittance,
    format_permeance,
    format_resistance,
    format_temperature,
    format_transmittance,
)
from steamwright.vapor.compare import Variant
from steamwright.vapor.hourly import Hourly
from steamwright.vapor.monthly import Monthly
from steamwright.vapor.steam_model import Band

# What two numbers of a reason are multiplied by, and the unit that they then have.
_INCH = {"W/(m² K)": (R_M2K_W, "Btu/(h ft² °F)"), "kg/m²": (FOOT_M**2 / LB_KG, "lb/ft²"), "kg/(Pa s m²)": (1.0 / PERM_KG_PA_S_M2, "perm"),
         "kg/h": (1.0 / LB_KG, "lb/h")}
_METRIC = {"kg/(Pa s m²)": (1e12, "ng/(Pa s m²)")}


def mass_rate(system: System) -> tuple[float, str]:
    """Choose the unit of what flows in an hour.

    Parameters
    ----------
    system : str
        ``inch`` or ``metric``.

    Returns
    -------
    scale : float
        What kilograms an hour are multiplied by.
    unit : str
        The unit that they then have.

    References
    ----------
    NIST-SP811, Appendix B.8
    """
    return (1.0 / LB_KG, "lb/h") if system == "inch" else (1.0, "kg/h")


def compared(variants: Sequence[Variant], years: int, system: System) -> list[tuple[str, list[str]]]:
    """Print what build-ups are compared by, one row for each quantity.

    Parameters
    ----------
    variants : sequence of Variant
        The columns.
    years : int
        Years of the hourly method; 0 leaves its rows out.
    system : str
        ``inch`` or ``metric``.

    Returns
    -------
    rows : list of (str, list of str)
        Label and a cell for each variant.

    References
    ----------
    own derivation
    """
    return [(label, [tell(v) for v in variants]) for label, tell in _rows(variants, years, system)]


def _rows(variants: Sequence[Variant], years: int, system: System) -> list[tuple[str, Callable[[Variant], str]]]:
    hourly = mass_rate(system)
    rows: list[tuple[str, Callable[[Variant], str]]] = [
        ("on", lambda v: format_area(v.area_m2, system)),
        ("membrane", lambda v: "none known" if v.permeance_kg_pa_s_m2 is None else format_permeance(v.permeance_kg_pa_s_m2, system)),
        ("safety to the limit", lambda v: "-" if v.safety is None else f"{v.safety:.2f}"),
        ("R", lambda v: format_resistance(v.r_m2k_w, system) + (" between studs" if v.between_studs else "")),
        ("U", lambda v: format_transmittance(v.u_w_m2k, system) + (" between studs" if v.between_studs else "")),
        ("U with studs, films and what closes the bay", lambda v: _studs(v, system)),
        ("coldest stud face", lambda v: _stud_face(v, system)),
        ("mass", lambda v: format_areal_mass(v.mass_kg_m2, system)),
        ("coldest wet surface", lambda v: "-" if v.coldest_surface_k is None else format_temperature(v.coldest_surface_k, system)),
        ("generator", lambda v: "none warms it in time" if v.steam.generator_w is None else _band(v.steam.generator_w, 1e-3, "kW")),
        ("held at the set point", lambda v: _band(v.steam.hold_w, 1e-3, "kW")),
        ("water, condensate", lambda v: f"{_band(v.steam.water_kg_h, *hourly)}, {_band(v.steam.condensate_kg_h, *hourly)}"),
    ]
    monthly = dict.fromkeys((m.side, m.retarder) for v in variants for m in v.monthly)
    by_hour = dict.fromkeys((h.side, h.retarder) for v in variants for h in v.hourly) if years else {}
    rows += [(f"monthly, {_where(*key)}", _monthly_at(key)) for key in monthly]
    return rows + [(f"{years} years by the hour, {_where(*key)}", _hourly_at(key)) for key in by_hour]


def reason(sentence: str, system: System) -> str:
    """Say what speaks for a build-up in the units of the job; the plan says it in SI.

    Parameters
    ----------
    sentence : str
        A reason of a family, such as ``A is lighter than B: 35.1 against 41 kg/m²``.
    system : str
        ``inch`` or ``metric``.

    Returns
    -------
    sentence : str
        The same, its two numbers and their unit in those of the job.

    References
    ----------
    NIST-SP811, Appendix B.8; ASTM-E96, Table 1
    """
    units = _INCH if system == "inch" else _METRIC

    def said(found: re.Match[str]) -> str:
        scale, unit = units[found[3]]
        return f"{float(found[1]) * scale:.3g} against {float(found[2]) * scale:.3g} {unit}"

    return re.sub(rf"(\S+) against (\S+) ({'|'.join(map(re.escape, units))})$", said, sentence)


def _studs(v: Variant, system: System) -> str:
    if not v.framing:
        return "no studs"
    most = max(v.framing, key=lambda f: f.psi_stud_w_mk)
    return f"{format_transmittance(v.u_framed_w_m2k, system)}, {format_linear_transmittance(most.psi_stud_w_mk, system)} a stud"


def _stud_face(v: Variant, system: System) -> str:
    places = [(f, p) for f in v.framing for p in f.places]
    if not places:
        return "-"
    f, p = min(places, key=lambda row: row[1].margin_steaming_k)
    return (f"{p.name}, to {f.side}: {format_temperature(p.steaming_k, system)}, dew point {format_temperature(p.dew_point_k, system)},"
            f" {p.verdict}")


def _monthly_at(key: tuple[str, bool]) -> Callable[[Variant], str]:
    return lambda v: _monthly([m for m in v.monthly if (m.side, m.retarder) == key])


def _hourly_at(key: tuple[str, bool]) -> Callable[[Variant], str]:
    return lambda v: _hourly([h for h in v.hourly if (h.side, h.retarder) == key])


def _where(side: str, retarder: bool) -> str:
    return f"to {side}" + (", retarder behind" if retarder else "")


def _band(band: Band, scale: float, unit: str) -> str:
    low, high = sorted((band.still * scale, band.stirred * scale))
    return f"{low:.1f} to {high:.1f} {unit}"


def _monthly(rows: Sequence[Monthly]) -> str:
    if not rows:
        return "-"
    (m,) = rows
    if not m.planes:
        return "dry all year"
    end = "dries out" if m.dries_out else "does not dry out"
    return f"{m.peak_kg_m2 * 1e3:.0f} g/m² at most, {end}"


def _hourly(rows: Sequence[Hourly]) -> str:
    if not rows:
        return "-"
    worst = [max(h.interfaces, key=lambda f: f.hours_over_80) for h in rows]
    over_80, over_95 = [w.hours_over_80 for w in worst], [max(f.hours_over_95 for f in h.interfaces) for h in rows]
    mold = [h.mold_index for h in rows]
    trend = "steady" if all(h.steady for h in rows) else "gets wetter" if not any(h.steady for h in rows) else "steady or wetter"
    return f"{_span(over_80)} h over 80 %, {_span(over_95)} over 95 %, mold {_span(mold, 1)}, {trend}"


def _span(values: Sequence[float], digits: int = 0) -> str:
    low, high = (f"{v:.{digits}f}" for v in (min(values), max(values)))
    return low if low == high else f"{low} to {high}"
