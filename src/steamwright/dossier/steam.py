"""What the dossier says of steam and vapor, as printed rows."""

from __future__ import annotations

from typing import Any

from steamwright.dossier.words import Words, breakable
from steamwright.plan.compared import mass_rate
from steamwright.plan.model import Plan
from steamwright.units import FOOT_M, INCH_M, LB_KG, System, format_permeance, format_slope, format_temperature
from steamwright.vapor.cautions import cautions_of
from steamwright.vapor.monthly import Monthly
from steamwright.vapor.steam_model import Band, SteamLoad


def steam(plan: Plan, words: Words) -> dict[str, Any] | None:
    """Gather the page on steam load and vapor.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    data : dict or None
        Figures, rows, notes and cautions; ``None`` where the plan has no steam load.

    References
    ----------
    own derivation
    """
    load, vapor = plan.steam, plan.vapor
    if load is None or vapor is None:
        return None
    system = plan.job.units
    hourly = mass_rate(system)
    rows = [[breakable(row.label), words.area(row.area_m2) if row.area_m2 > 0.0 else "", span(row.warm_up_w, 1.0, "W"),
             span(row.hold_w, 1.0, "W"), span(row.condensate_kg_h, *hourly, 2) if row.area_m2 > 0.0 else "", breakable(row.runs_to)]
            for row in load.loads]
    monthly = [[breakable(b.name), breakable(f"{m.side}{', retarder behind' if m.retarder else ''}"), gathered(m),
                f"{m.steaming_g_m2_h:.2f} g/(m² h)", format_temperature(m.surface_at_steam_k, system)]
               for b in vapor.buildups for m in b.monthly]
    limit = vapor.limit
    safety = "; ".join(f"{b.name}: {b.safety:.2f}" for b in vapor.buildups if b.safety is not None)
    seams = ""
    if vapor.seams is not None:
        s = vapor.seams
        two = next(r for r in s.laps if abs(r.width_m - 0.0508) < 1e-9)
        seams = (f"With its {s.lap_m:.0f} m of laps the whole covering passes {format_permeance(s.low_kg_pa_s_m2, system)} to"
                 f" {format_permeance(s.high_kg_pa_s_m2, system)}. A metre of 2 in lap passes as much as {two.as_area_m2_m:.3f} m² of"
                 f" membrane, a metre of open 10 mm gap as much as {s.gap_as_area_m2_m:.0f} m².")
    return {"figures": _figures(load, system), "rows": rows, "monthly": monthly, "seams": seams,
            "limit": f"Membrane at most {format_permeance(limit.permeance_kg_pa_s_m2, system)} ({limit.source}, {limit.how_known});"
                     f" times tighter: {breakable(safety)}.",
            "rule": f"Beside it the rule of thumb: {load.rule_of_thumb_w / 1e3:.1f} kW; {load.rule_of_thumb_note}.",
            "ceiling": _ceiling(load, words), "supply": _supply(load), "next_room": _next_room(load, system),
            "notes": [*load.assumptions, *vapor.assumptions],
            "cautions": [[c.sentence, c.source] for c in cautions_of(load.set_point_k)]}


def span(band: Band, scale: float, unit: str, digits: int = 0) -> str:
    """Print both ends of a band.

    Parameters
    ----------
    band : Band
        Still and stirred.
    scale : float
        Factor before printing.
    unit : str
        Unit to put behind.
    digits : int
        Digits after the point.

    Returns
    -------
    text : str
        One number where both ends print alike.

    References
    ----------
    own derivation
    """
    low, high = (f"{v * scale:.{digits}f}" for v in sorted((band.still, band.stirred)))
    return f"{low} {unit}" if low == high else f"{low}–{high} {unit}"


def gathered(m: Monthly) -> str:
    """Say in words what the monthly method found.

    Parameters
    ----------
    m : Monthly
        One build-up before one side.

    Returns
    -------
    text : str
        Most water, and whether it leaves within the year.

    References
    ----------
    own derivation
    """
    if not m.planes:
        return "dry all year"
    return f"{m.peak_kg_m2 * 1e3:.0f} g/m², {'dries out' if m.dries_out else 'does not dry out'}"


def _figures(load: SteamLoad, system: System) -> list[list[str]]:
    generator = "none warms it in time" if load.generator_w is None else span(load.generator_w, 1e-3, "kW", 1)
    return [[generator, f"generator, to {format_temperature(load.set_point_k, 'inch' if system == 'inch' else 'metric')} in"
                        f" {load.warm_up_s / 60.0:.0f} min"],
            [span(load.hold_w, 1e-3, "kW", 1), "to hold it"], [span(load.water_kg_h, *mass_rate(system), 1), "water"],
            [span(load.condensate_kg_h, *mass_rate(system), 1), "condensate to the drain"]]


def _supply(load: SteamLoad) -> str:
    s = load.supply
    if s is None:
        return ""
    device = ", over 100 A: not on one single-phase circuit" if s.device_amps is None else f", next standard device {s.device_amps:.0f} A"
    return (f"At {s.volts_v:.0f} V it draws {s.amps:.1f} A; as a continuous load {s.continuous_amps:.1f} A (125 %, NEC-210){device}:"
            f" {s.note}.")


def _ceiling(load: SteamLoad, words: Words) -> str:
    c = load.ceiling
    if c is None:
        return ""
    inch = words.system == "inch"
    film, limit = (f"{x / INCH_M:.4f} in" if inch else f"{x * 1e3:.3f} mm" for x in (c.film_m, c.film_limit_m))
    wet = f"{c.condensing_kg_m2_h / LB_KG * FOOT_M**2:.2f} lb/(ft² h)" if inch else f"{c.condensing_kg_m2_h:.2f} kg/(m² h)"
    needs, has = (format_slope(slope, words.system) for slope in (c.film_slope, c.trade_slope))
    return (f"Over {words.length(c.run_m)} of ceiling, where {wet} condense, a film needs {needs} to run off; at {has} it is"
            f" {film} thick, where {limit} would begin to drip (Brun-2015): {c.note}.")


def _next_room(load: SteamLoad, system: System) -> str:
    n = load.next_room
    opening, session = (f"{kg / LB_KG * 16:.1f} oz" if system == "inch" else f"{kg * 1e3:.0f} g" for kg in (n.opening_kg, n.session_kg))
    time = "never" if n.hours_under_limit is None else f"after {n.hours_under_limit:.1f} h"
    return (f"Each door opening throws {opening} of vapor into the next room, a whole session {session};"
            f" it is back under {n.limit_humidity:.0%} {time} (EPA-mold; {n.note}).")
