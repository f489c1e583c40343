"""Groups of facets as panels for the heat balance: real layers in front of the membrane and behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from steamwright.buildup.catalog_model import Material
from steamwright.buildup.model import BuildUp, Layer
from steamwright.errors import DataError
from steamwright.physics.steam_room import Panel
from steamwright.vapor.case import Case, Group, is_open_bay
from steamwright.vapor.climate import climate_named
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import Side, side

# Thinner layers, membranes and films, store and hinder next to nothing.
THINNEST_M = 0.0008
Rows = tuple[tuple[float, float, float], ...]


def panels_of(case: Case, groups: tuple[Group, ...]) -> tuple[Panel, ...]:
    """Panels of all groups, for the coldest month; a side that is unknown is taken as the colder end.

    Parameters
    ----------
    case : Case
        The room.
    groups : tuple of Group
        From `groups_of`.

    Returns
    -------
    panels : tuple of Panel
        In the order of the groups.

    Raises
    ------
    DataError
        If a material has no heat capacity.

    References
    ----------
    own derivation
    """
    return tuple(_panel(case, g) for g in groups)


def side_of_load(group: Group, case: Case) -> Side | None:
    """The other side as the steam load takes it.

    Parameters
    ----------
    group : Group
        The group.
    case : Case
        The room.

    Returns
    -------
    side : Side or None
        ``None`` for what stands inside the room.

    References
    ----------
    own derivation
    """
    if group.beyond == "inside":
        return None
    worst = {"wall": "outdoors north", "ceiling": "attic", "floor": "ground"}[group.lie]
    beyond = worst if group.beyond == "unknown" and not group.glass else "heated room" if group.beyond == "unknown" else group.beyond
    return side(beyond, climate_named(case.use.climate), case.use.set_point_k)


def layer_rows(layers: tuple[Layer, ...], materials: Mapping[str, Material]) -> Rows:
    """Thickness, conductivity and heat capacity of the layers that count.

    Parameters
    ----------
    layers : tuple of Layer
        Steam side first.
    materials : mapping
        The catalog's materials.

    Returns
    -------
    rows : tuple of (float, float, float)
        Metres, watts a metre and kelvin, joules a cubic metre and kelvin.

    Raises
    ------
    DataError
        If a material has no heat capacity.

    References
    ----------
    own derivation
    """
    rows = []
    for layer in layers:
        if layer.thickness_m < THINNEST_M or layer.r_m2k_w <= 0.0:
            continue
        capacity = materials[layer.material].heat_capacity_j_kgk
        if capacity is None:
            raise DataError(f"{layer.material!r} has no heat capacity", path=layer.material, hint="complete its catalog row")
        rows.append((layer.thickness_m, layer.thickness_m / layer.r_m2k_w, layer.density_kg_m3 * capacity.value))
    return tuple(rows)


def closing_rows(buildup: BuildUp, far: Side, materials: Mapping[str, Material]) -> Rows:
    """Layers that are assumed to close an open stud bay.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.
    far : Side
        Its other side.
    materials : mapping
        The catalog's materials.

    Returns
    -------
    rows : tuple of (float, float, float)
        As `layer_rows`; empty where the build-up is closed.

    References
    ----------
    common practice, no source
    """
    rows = []
    for name in far.closing if is_open_bay(buildup) else ():
        m = materials[name]
        if m.thickness_m is not None and m.thickness_m >= THINNEST_M and m.conductivity_w_mk and m.heat_capacity_j_kgk:
            rows.append((m.thickness_m, m.conductivity_w_mk.value, m.density_kg_m3.value * m.heat_capacity_j_kgk.value))
    return tuple(rows)


def _panel(case: Case, group: Group) -> Panel:
    far = side_of_load(group, case)
    rows = _rows(case, group, far)
    back_k, film = (293.15, 0.0) if far is None else (far.coldest_k, far.film_w_m2k)
    made = Panel(group.area_m2, group.lie, group.length_m, tuple(r[0] for r in rows), tuple(r[1] for r in rows), tuple(r[2] for r in rows),
                 max(back_k, 253.65), film)
    return made if group.area_m2 > 0.0 else replace(made, area_m2=1e-9)


def _rows(case: Case, group: Group, far: Side | None) -> Rows:
    if group.glass:
        return ((practice("glass.thickness_m"), practice("glass.conductivity_w_mk"),
                 practice("glass.density_kg_m3") * practice("glass.heat_capacity_j_kgk")),)
    if group.buildup is None:
        tile, bed = case.materials["porcelain tile"], case.materials["bed mortar"]
        return tuple((d, m.conductivity_w_mk.value, m.density_kg_m3.value * m.heat_capacity_j_kgk.value)
                     for d, m in ((practice("floor.tile_m"), tile), (practice("floor.bed_m"), bed))
                     if m.conductivity_w_mk is not None and m.heat_capacity_j_kgk is not None)
    buildup = next(b for b in case.buildups if b.id == group.buildup)
    behind = closing_rows(buildup, far, case.materials) if far is not None else ()
    return layer_rows(buildup.layers, case.materials) + behind
