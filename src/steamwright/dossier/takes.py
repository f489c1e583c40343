"""What the layout takes, what each wish costs, and what other layouts would take, as rows for the dossier."""

from __future__ import annotations

from typing import Any

from steamwright.covering.model import Account
from steamwright.dossier.words import Words, breakable
from steamwright.plan.model import Plan
from steamwright.units import FOOT_M

LEAST = {"material_m2": 0.005, "seam_m": 0.05, "minutes": 0.5, "pieces": 1, "usd": 0.5}
"""What nobody could tell is not named as a difference."""


def takes(plan: Plan, words: Words) -> dict[str, Any]:
    """Gather what layouts take.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    data : dict
        The plan's own row, wishes with what each costs, and other layouts where they were looked for.

    References
    ----------
    own derivation
    """
    c = plan.covering
    return {
        "own": _cells(c.account, words),
        "wishes": [[breakable(w.says), breakable(_more(w.cost, words) or "nothing")] for w in c.wish_costs],
        "others": [
            [breakable(("This plan: " if a.chosen else "") + a.name), *_cells(a.account, words),
             words.lap(a.least_lap_m) if a.least_lap_m is not None else "–",
             breakable(", ".join(f'{k} = "{v}"' for k, v in a.choose.items()))]
            for a in c.alternatives
        ],
    }


def _cells(takes: Account, words: Words) -> list[str]:
    return [words.area(takes.material_m2), _lap(takes.seam_m, words), _time(takes.minutes), str(takes.pieces), f"{takes.usd:.0f} USD"]


def _lap(length_m: float, words: Words) -> str:
    """A sum of laps, which nobody cuts: whole feet, or tenths of a metre."""
    return f"{length_m / FOOT_M:.0f} ft" if words.system == "inch" else f"{length_m:.1f} m"


def _time(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < 90.0 else f"{minutes / 60.0:.1f} h"


def _more(cost: Account, words: Words) -> str:
    """A difference in words, leaving out what nobody could tell."""
    said = {"material_m2": f"{words.area(abs(cost.material_m2))} of roll", "seam_m": f"{_lap(abs(cost.seam_m), words)} of lap",
            "minutes": _time(abs(cost.minutes)), "pieces": f"{abs(cost.pieces)} piece{'' if abs(cost.pieces) == 1 else 's'}",
            "usd": f"{abs(cost.usd):.0f} USD"}
    return ", ".join(f"{text} {'more' if getattr(cost, name) > 0 else 'less'}" for name, text in said.items()
                     if abs(getattr(cost, name)) >= LEAST[name])
