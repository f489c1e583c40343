"""What the steam meets: every facet with its build-up and its other side, gathered into groups that behave alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steamwright.buildup.catalog_model import LayerRole, Material
from steamwright.buildup.model import BuildUp
from steamwright.covering.model import Covering
from steamwright.room.inputs import Room
from steamwright.room.model import Facet, FacetKind, Solid
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.sides import beyond_of

FRAMED = ("wood stud", "steel stud", "wood joist", "steel joist")
_CLOSED_BY = (LayerRole.STRUCTURE.value, LayerRole.LINING.value, LayerRole.FINISH.value)
_LEVEL = 0.7


@dataclass(frozen=True, slots=True)
class Case:
    """One room for vapor and steam: the membrane face, the finished face, and what lies on and behind them."""

    use: SteamUse
    buildups: tuple[BuildUp, ...]
    room: Solid
    finished: Solid
    covering: Covering
    said: Room
    materials: Mapping[str, Material]


@dataclass(frozen=True, slots=True)
class Group:
    """Facets of one build-up that lie alike before the same other side. ``buildup`` is ``None`` for glass and bare floors."""

    label: str
    buildup: str | None
    lie: str
    beyond: str
    facets: tuple[str, ...]
    area_m2: float
    length_m: float
    glass: bool = False


def lie_of(facet: Facet) -> str:
    """How a facet lies for water and air: by where its face looks.

    Parameters
    ----------
    facet : Facet
        Any facet.

    Returns
    -------
    lie : str
        ``wall``, ``ceiling`` or ``floor``.

    References
    ----------
    own derivation
    """
    (a, b, _), (c, d, _) = facet.frame.u, facet.frame.v
    up = float(a * d - b * c)
    return "floor" if up > _LEVEL else "ceiling" if up < -_LEVEL else "wall"


def groups_of(case: Case) -> tuple[Group, ...]:
    """Gather the facets of the finished room.

    Parameters
    ----------
    case : Case
        The room.

    Returns
    -------
    groups : tuple of Group
        In the order in which their first facets come.

    References
    ----------
    own derivation
    """
    walls = {w.side: w.beyond for w in case.said.wall}
    hosts = {o.name: o.wall for o in case.said.opening} | {n.name: n.wall for n in case.said.niche}
    found: dict[tuple[str, str, str], list[Facet]] = {}
    for facet in case.finished.facets:
        beyond = beyond_of(facet.surface, walls, hosts, case.said.ceiling.beyond, case.said.pan.beyond, facet.kind.value)
        what = "glass" if facet.kind is FacetKind.OPENING else facet.buildup or "floor"
        found.setdefault((what, lie_of(facet), beyond), []).append(facet)
    return tuple(_group(case, key, facets) for key, facets in found.items())


def _group(case: Case, key: tuple[str, str, str], facets: list[Facet]) -> Group:
    what, lie, beyond = key
    area = sum(f.area_m2 for f in facets)
    length = sum(_length_m(f, lie) * f.area_m2 for f in facets) / max(area, 1e-12)
    name = next((b.name for b in case.buildups if b.id == what), what)
    word = {"wall": "upright", "ceiling": "overhead", "floor": "level"}[lie]
    behind = "inside the room" if beyond == "inside" else f"to {beyond}" if beyond != "unknown" else "other side unknown"
    label = f"glass, {behind}" if what == "glass" else f"floor, {behind}" if what == "floor" else f"{name}, {word}, {behind}"
    buildup = None if what in ("glass", "floor") else what
    return Group(label, buildup, lie, beyond, tuple(f.id for f in facets), area, max(length, 0.01), what == "glass")


def _length_m(facet: Facet, lie: str) -> float:
    """Height of an upright surface; area by perimeter of a level one. [m]"""
    if lie == "wall":
        heights = [t for _, t in facet.outline_m]
        return max(heights) - min(heights)
    rim = sum(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for a, b in zip(facet.outline_m, facet.outline_m[1:] + facet.outline_m[:1],
                                                                          strict=True))
    return float(facet.area_m2 / rim)


def is_open_bay(buildup: BuildUp) -> bool:
    """Whether a framed build-up names nothing that closes its stud bay on the far side.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    open_bay : bool
        Then what closes it is assumed by the side.

    References
    ----------
    own derivation
    """
    roles = [layer.role for layer in buildup.layers]
    bay = next((len(roles) - k for k, role in enumerate(reversed(roles)) if role == LayerRole.CAVITY), len(roles))
    closed = any(role in _CLOSED_BY for role in roles) or LayerRole.BOARD.value in roles[bay:]
    return buildup.framing_kind in FRAMED and not closed
