"""What steam does to people at the chosen set point: heat stress and burns, as cautions with their sources."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from steamwright.errors import OutOfRangeError
from steamwright.physics.moist_air import ZERO_CELSIUS_K
from steamwright.physics.people import burn_seconds, session_limit_minutes, steam_exposure, touch_limit_k

_STEP_S = 20.0


@dataclass(frozen=True, slots=True)
class Caution:
    """A sentence, its source and how the source is known."""

    kind: str
    sentence: str
    source: str


@cache
def cautions_of(set_point_k: float) -> tuple[Caution, ...]:
    """Cautions for a set point; not medical advice.

    Parameters
    ----------
    set_point_k : float
        Air of the room. [K]

    Returns
    -------
    cautions : tuple of Caution
        Heat stress, burns, who should stay out.

    References
    ----------
    steam-sauna-1976; Gagge-1986; Moritz-1947; IEC-62368-1; ISO-13732-1; NAC-444
    """
    rows = []
    celsius = set_point_k - ZERO_CELSIUS_K
    try:
        still, stirred = (steam_exposure(set_point_k, stirring=k, step_s=_STEP_S) for k in (1.0, 2.0))
        low, high = stirred.minutes_to_notice, still.minutes_to_notice
        most = session_limit_minutes(stirred)
        said = (f"At {celsius:.0f} °C and saturation the core of a resting adult reaches 38 °C in about {low:.0f} to {high:.0f} minutes by"
                " reckoning; in people studied at 45 to 50 °C it was at 38.1 °C after 10 minutes."
                f" Sit for no more than {most:.0f} minutes.")
        rows.append(Caution("heat stress", said, "steam-sauna-1976; Gagge-1986; own derivation"))
    except OutOfRangeError:
        said = f"{celsius:.0f} °C of saturated air lies outside what the reckoning of heat stress holds for."
        rows.append(Caution("heat stress", said, "Gagge-1986"))
    touch = touch_limit_k(1.0, metal=True) - ZERO_CELSIUS_K
    soon, late = (float(burn_seconds(333.15, safe=k)) for k in (True, False))
    said = (f"Steam leaves the outlet near 100 °C: at 60 °C wet skin burns in {soon:.1f} to {late:.0f} s, and bare metal over {touch:.0f}"
            " °C may not be touched even for a second. Keep seats and legs clear of the outlet and shield it.")
    rows.append(Caution("burn", said, "Moritz-1947; IEC-62368-1; ISO-13732-1"))
    said = ("Children, pregnant women, people with heart disease and anybody who has drunk alcohol stay out unless a doctor says otherwise."
            " Not medical advice.")
    rows.append(Caution("people", said, "NAC-444"))
    return tuple(rows)
