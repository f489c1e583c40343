"""The page that sets build-ups side by side: its table, its reasons and its plots."""

from __future__ import annotations

from typing import Any

from steamwright.dossier.steam_plot import PENS, Line, plotted, stripped
from steamwright.dossier.words import breakable
from steamwright.plan.compared import compared, reason
from steamwright.plan.model import Plan
from steamwright.units import System, format_temperature
from steamwright.vapor.compare import Variant
from steamwright.vapor.framing import FramingHeat
from steamwright.vapor.hourly import WORDS, Hourly

STATED = WORDS[1.0]
MOLD_LIMIT = 80.0


def comparison(plan: Plan) -> dict[str, Any] | None:
    """Gather the page.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    data : dict or None
        Families with heads, rows and reasons, and notes; ``None`` where no comparison was asked for.

    References
    ----------
    own derivation
    """
    found = plan.comparison
    if found is None:
        return None
    system = plan.job.units
    families = [{"heads": [v.name + ("" if v.is_base else " (alternative)") for v in f.variants],
                 "rows": [[label, *map(breakable, cells)] for label, cells in compared(f.variants, found.hourly_years, system)],
                 "reasons": [breakable(reason(r, system)) for r in f.reasons] or ["no difference that could be told apart"],
                 "places": [_place(v, h, system) for v in f.variants for h in v.framing]} for f in found.families]
    outlets = [breakable(f"Round the {o.penetration}: "
                         + "; ".join(f"{h.layer} {format_temperature(h.hottest_k, system)}" for h in o.layers)
                         + f" ({o.note}).") for o in found.outlets]
    walls = dict.fromkeys(n for f in found.families for v in f.variants for h in v.hourly for n in h.notes)
    return {"families": families, "years": found.hourly_years, "climate": found.climate, "outlets": outlets,
            "notes": [*found.assumptions, *walls]}


def _place(v: Variant, framing: FramingHeat, system: System) -> list[str]:
    """The cold place that comes nearest to the dew point."""
    p = min(framing.places, key=lambda row: row.margin_steaming_k)
    return [breakable(v.name), breakable(f"{p.name}, to {framing.side}"), format_temperature(p.steaming_k, system),
            format_temperature(p.dew_point_k, system), p.verdict]


def water_svg(plan: Plan) -> bytes:
    """Draw all water behind the membrane through the years, before the side where each build-up is wettest.

    Parameters
    ----------
    plan : Plan
        The plan with its comparison.

    Returns
    -------
    svg : bytes
        A picture; where curves are estimated, the wetter end of their band is a line of its own.

    References
    ----------
    EN-15026
    """
    lines = [Line(name, _years(h.behind_by_month_kg_m2), h.behind_by_month_kg_m2) for name, h in _worst(plan)]
    return plotted(lines[: len(PENS)], "years", "kg/m²", base=0.0)


def humidity_svg(plan: Plan) -> bytes:
    """Draw the mean humidity of every month where it is most over 80 %, before the same sides, each build-up in a strip of its own.

    Parameters
    ----------
    plan : Plan
        The plan with its comparison.

    Returns
    -------
    svg : bytes
        A picture; mostly all of them stay near 100 %, and over one pair of axes no line could be told from another.

    References
    ----------
    EN-15026
    """
    lines = [Line(name, _years(h.humidity_by_month), tuple(min(100.0 * v, 100.0) for v in h.humidity_by_month)) for name, h in _worst(plan)]
    return stripped(lines[: len(PENS)], "years", "% relative humidity", MOLD_LIMIT, 100.0)


def _years(values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple((k + 1) / 12.0 for k in range(len(values)))


def _worst(plan: Plan) -> list[tuple[str, Hourly]]:
    found = []
    for family in plan.comparison.families if plan.comparison is not None else ():
        for v in family.variants:
            found += _ends(v)
    return found


def _ends(v: Variant) -> list[tuple[str, Hourly]]:
    """As stated before the wettest side, and the wetter end of its band where there is one."""
    if not v.hourly:
        return []
    worst = max((h for h in v.hourly if h.functions == STATED), key=lambda h: h.behind_by_month_kg_m2[-1])
    alike = [h for h in v.hourly if (h.side, h.retarder) == (worst.side, worst.retarder)]
    wettest = max(alike, key=lambda h: h.behind_by_month_kg_m2[-1])
    name = f"{v.name}, to {worst.side}{', retarder' if worst.retarder else ''}"
    return [(name, worst)] + ([(f"{v.name}, functions {wettest.functions}", wettest)] if wettest is not worst else [])
