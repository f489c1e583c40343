"""What a plan says of vapor and steam: seams, the monthly method for every build-up before its other sides, the steam load."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.buildup.model import BuildUp
from steamwright.units import PERM_KG_PA_S_M2
from steamwright.vapor.case import Case, Group, groups_of
from steamwright.vapor.climate import climate_named
from steamwright.vapor.monthly import Monthly, monthly
from steamwright.vapor.seams import Seams, seams
from steamwright.vapor.sides import Side, sides_of

CONTINUOUS_PERM, INTERMITTENT_PERM = 0.5, 1.0


@dataclass(frozen=True, slots=True)
class Limit:
    """Most permeance that the membrane may have, and what says so."""

    permeance_kg_pa_s_m2: float
    source: str
    clause: str
    how_known: str


@dataclass(frozen=True, slots=True)
class BuildUpVapor:
    """Vapor through one build-up: its safety to the limit, and the monthly method before every other side."""

    buildup: str
    name: str
    alternative_to: str | None
    safety: float | None
    u_w_m2k: float
    retarder_behind: str
    monthly: tuple[Monthly, ...]


@dataclass(frozen=True, slots=True)
class Vapor:
    """All build-ups, the limit they are held to, and the seams of the covering."""

    limit: Limit
    seams: Seams | None
    buildups: tuple[BuildUpVapor, ...]
    assumptions: tuple[str, ...]


def limit_of(kind: str) -> Limit:
    """The limit on the membrane's permeance by use.

    Parameters
    ----------
    kind : str
        ``continuous`` or ``intermittent``.

    Returns
    -------
    limit : Limit
        Half a perm in continuous use; a perm else, for which no source was found.

    References
    ----------
    IMI-SR613; common practice, no source for intermittent use
    """
    if kind == "continuous":
        return Limit(CONTINUOUS_PERM * PERM_KG_PA_S_M2, "IMI-SR613", "SR613", "quoted")
    return Limit(INTERMITTENT_PERM * PERM_KG_PA_S_M2, "common practice, no source", "-", "practice")


def base_of(buildup: BuildUp, buildups: tuple[BuildUp, ...]) -> BuildUp:
    """The build-up that lies in the room where this one could.

    Parameters
    ----------
    buildup : BuildUp
        Any.
    buildups : tuple of BuildUp
        All of the job.

    Returns
    -------
    base : BuildUp
        Itself unless it is an alternative.

    References
    ----------
    own derivation
    """
    seen = {buildup.name}
    while buildup.alternative_to is not None:
        buildup = next(b for b in buildups if b.name == buildup.alternative_to)
        if buildup.name in seen:
            break
        seen.add(buildup.name)
    return buildup


def sides_before(buildup: BuildUp, case: Case, groups: tuple[Group, ...]) -> tuple[Side, ...]:
    """Every other side that a build-up stands before, once each.

    Parameters
    ----------
    buildup : BuildUp
        The build-up; an alternative stands where its base does.
    case : Case
        The room.
    groups : tuple of Group
        From `groups_of`.

    Returns
    -------
    sides : tuple of Side
        Without what lies inside the room; a steam room like this one drives no vapor and is left out too.

    References
    ----------
    own derivation
    """
    base, climate = base_of(buildup, case.buildups), climate_named(case.use.climate)
    found: dict[str, Side] = {}
    for group in groups:
        if group.buildup != base.id or group.beyond in ("inside", "steam room"):
            continue
        beyond = "attic" if group.beyond == "unknown" and group.lie == "ceiling" else group.beyond
        for side in sides_of(beyond, climate, case.use.set_point_k):
            found.setdefault(side.name, side)
    return tuple(found.values())


def retarders_behind(buildup: BuildUp) -> tuple[bool, ...]:
    """Which retarders have to be looked at behind a build-up: both where the job does not say.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    retarders : tuple of bool
        Without and with.

    References
    ----------
    own derivation
    """
    if any(layer.role == "retarder" for layer in buildup.layers):
        return (False,)  # it is among the layers already
    return {"none": (False,), "unknown": (False, True)}.get(buildup.retarder_behind, (True,))


def vapor_report(case: Case) -> Vapor:
    """Run seams and the monthly method for a room.

    Parameters
    ----------
    case : Case
        The room.

    Returns
    -------
    vapor : Vapor
        In the order of the build-ups.

    Raises
    ------
    InputError
        If the climate is unknown.

    References
    ----------
    ISO-13788
    """
    groups, limit = groups_of(case), limit_of(case.use.kind)
    rows = tuple(_one(b, case, groups, limit) for b in case.buildups)
    climate = climate_named(case.use.climate)
    return Vapor(limit, seams(case), rows, (
        f"outside air: monthly means of the climate {climate.name!r} ({climate.source})",
        "what the job leaves unknown, the other side or a retarder behind, is run both ways",
        "the surface factor is judged on the air of the house: while it steams every tile is wet whatever its factor, and the rule of"
        " monthly means, made for dwellings, would call it moldy; between sessions tile has to dry",
        "the monthly method knows no storage, no capillary flow, no air and no sun: it screens, and the hourly one can overrule it"))


def _one(buildup: BuildUp, case: Case, groups: tuple[Group, ...], limit: Limit) -> BuildUpVapor:
    known = buildup.membrane_permeance_kg_pa_s_m2
    safety = None if known is None or known <= 0.0 else limit.permeance_kg_pa_s_m2 / known
    rows = tuple(monthly(buildup, side, case.use, case.materials, retarder)
                 for side in sides_before(buildup, case, groups) for retarder in retarders_behind(buildup))
    return BuildUpVapor(buildup.id, buildup.name, buildup.alternative_to, safety, 1.0 / buildup.r_m2k_w if buildup.r_m2k_w > 0.0 else 0.0,
                        buildup.retarder_behind, rows)
