"""Reads the catalog: generic materials and order items, each value with its source, its place and a plausible range."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from steamwright.buildup.catalog_model import (
    BandItem,
    BoardItem,
    Catalog,
    CollarItem,
    CornerPieceItem,
    Datum,
    LayerRole,
    Material,
    SheetItem,
    Vapor,
)
from steamwright.errors import DataError, OutOfRangeError
from steamwright.yaml_text import Row, read_yaml, take

_ITEM_KINDS: Mapping[str, type[Any]] = {"sheets": SheetItem, "bands": BandItem, "corner_pieces": CornerPieceItem, "collars": CollarItem,
                                        "boards": BoardItem}
_FORMS = ("permeance", "mu", "sd", "air")
_RANGE_OF_FORM = {"permeance": "permeance_kg_pa_s_m2", "mu": "mu", "sd": "sd_m"}
_HOW_KNOWN = ("text", "abstract", "quoted", "memory", "practice", "stated")
_NUMBERS = ("conductivity_w_mk", "resistance_m2k_w", "density_kg_m3", "heat_capacity_j_kgk")
Ranges = Mapping[str, Mapping[str, Sequence[float]]]


def load_catalog(extra: Sequence[str] = ()) -> Catalog:
    """Read the catalog that ships with the program, and the user's catalogs after it.

    Parameters
    ----------
    extra : sequence of str, optional
        YAML texts in the form of the program's own data files. Their rows may not reuse an id.

    Returns
    -------
    catalog : Catalog
        All materials and order items.

    Raises
    ------
    DataError
        If a row has an unknown, missing or duplicate key, no source, an id that is taken, or is a membrane without
        permeance or without the procedure of its test; names file, id and key.
    OutOfRangeError
        If a value lies outside the plausible range of its role.

    References
    ----------
    own derivation
    """
    return _assemble(_shipped() + tuple((f"user catalog {i + 1}", text) for i, text in enumerate(extra))) if extra else _shipped_catalog()


@cache
def _shipped() -> tuple[tuple[str, str], ...]:
    folder = files("steamwright.buildup") / "data"
    named = sorted((f.name, f) for f in folder.iterdir() if f.name.endswith(".yaml") and f.name != "ranges.yaml")
    return tuple((name, f.read_text("utf-8")) for name, f in named)


@cache
def _shipped_catalog() -> Catalog:
    return _assemble(_shipped())


@cache
def _ranges() -> Ranges:
    text = (files("steamwright.buildup") / "data" / "ranges.yaml").read_text("utf-8")
    return read_yaml("ranges.yaml", text)


def _assemble(texts: Iterable[tuple[str, str]]) -> Catalog:
    materials: dict[str, Material] = {}
    items: dict[str, dict[str, Any]] = {kind: {} for kind in _ITEM_KINDS}
    digest = hashlib.sha256()
    for file, text in texts:
        digest.update(f"{file}\n{text}\n".encode())
        data = read_yaml(file, text)
        unknown = sorted(set(data) - {"materials", *_ITEM_KINDS})
        if unknown:
            raise DataError(f"unknown key {unknown[0]!r}", path=file, hint=f"known: materials, {', '.join(_ITEM_KINDS)}")
        for raw in data.get("materials") or ():
            material = _material(Row(file, str(raw.get("id", "?")), raw))
            _put(materials, material.id, material, file)
        for kind, cls in _ITEM_KINDS.items():
            for raw in data.get(kind) or ():
                item = take(Row(file, str(raw.get("item", "?")), raw), cls)
                _put(items[kind], item.item, item, file)
    for kind in _ITEM_KINDS:
        for name, item in items[kind].items():
            if item.material not in materials:
                raise DataError(f"item {name!r}: unknown material {item.material!r}", path=kind, hint="add the material's row first")
    ordered = {kind: tuple(items[kind].values()) for kind in _ITEM_KINDS}
    return Catalog(materials=MappingProxyType(materials), digest=digest.hexdigest(), **ordered)


def _put(into: dict[str, Any], key: str, value: Any, file: str) -> None:
    if key in into:
        raise DataError(f"id {key!r} is taken", path=f"{file}: {key}", hint="give the row another id")
    into[key] = value


def _material(row: Row) -> Material:
    fields = row.fields(required=("id", "name", "role", "thickness_range_m", "density_kg_m3", "tags"),
                        optional=("thickness_m", "vapor", "note", "like", "conductivity_w_mk", "resistance_m2k_w", "heat_capacity_j_kgk"))
    role = row.choice("role", tuple(LayerRole))
    ranges = _ranges()[role]
    numbers = {name: _datum(row, name, ranges) for name in _NUMBERS}
    low, high = (float(x) for x in fields["thickness_range_m"])
    thickness = None if fields.get("thickness_m") is None else float(fields["thickness_m"])
    for value in (low, high) + (() if thickness is None else (thickness,)):
        _plausible(row, "thickness_m", value, ranges)
    if thickness is not None and not low <= thickness <= high:
        raise OutOfRangeError(f"thickness_m {thickness} lies outside its own thickness_range_m", path=row.place("thickness_m"),
                              hint=f"from {low} to {high}")
    vapor = _vapor(row, ranges)
    _membrane_is_known(row, role, vapor)
    density = numbers["density_kg_m3"]
    assert density is not None
    return Material(id=str(fields["id"]), name=str(fields["name"]), role=LayerRole(role), thickness_m=thickness,
                    thickness_range_m=(low, high), conductivity_w_mk=numbers["conductivity_w_mk"],
                    resistance_m2k_w=numbers["resistance_m2k_w"], density_kg_m3=density,
                    heat_capacity_j_kgk=numbers["heat_capacity_j_kgk"], vapor=vapor,
                    tags=tuple(str(t) for t in fields["tags"]), note=str(fields.get("note", "")),
                    like=str(fields.get("like", "")))


def _membrane_is_known(row: Row, role: str, vapor: Vapor | None) -> None:
    if role != LayerRole.MEMBRANE:
        return
    if vapor is None or vapor.form != "permeance":
        raise DataError("a membrane without permeance", path=row.place("vapor"),
                        hint="state the permeance at the membrane's thickness and the procedure of its test; "
                             "a waterproofness standard alone says nothing about vapor")
    if not vapor.procedure:
        raise DataError("a membrane whose permeance has no test procedure", path=row.place("vapor.procedure"),
                        hint="state the cup test, such as ASTM E96 procedure E")


def _datum(row: Row, name: str, ranges: Mapping[str, Sequence[float]]) -> Datum | None:
    raw = row.raw.get(name)
    if raw is None:
        return None
    part = Row(row.file, f"{row.id}.{name}", raw)
    fields = part.fields(required=("value", "source", "where", "how_known"))
    part.choice("how_known", _HOW_KNOWN)
    value = part.number("value")
    _plausible(row, name, value, ranges)
    return Datum(value, part.text("source"), part.text("where"), str(fields["how_known"]))


def _vapor(row: Row, ranges: Mapping[str, Sequence[float]]) -> Vapor | None:
    raw = row.raw.get("vapor")
    if raw is None:
        return None
    part = Row(row.file, f"{row.id}.vapor", raw)
    if "value" not in raw and row.raw.get("role") == LayerRole.MEMBRANE:
        raise DataError("a membrane without permeance", path=row.place("vapor.value"), hint="state its permeance and procedure")
    fields = part.fields(required=("form", "value", "source", "where", "how_known"), optional=("wet", "procedure"))
    form, value = part.choice("form", _FORMS), part.number("value")
    part.choice("how_known", _HOW_KNOWN)
    wet = None if fields.get("wet") is None else part.number("wet")
    for v in (value,) if wet is None else (value, wet):
        if form in _RANGE_OF_FORM:
            _plausible(row, _RANGE_OF_FORM[form], v, ranges)
    return Vapor(form, value, wet, str(fields.get("procedure", "")), part.text("source"), part.text("where"), str(fields["how_known"]))


def _plausible(row: Row, name: str, value: float, ranges: Mapping[str, Sequence[float]]) -> None:
    if name not in ranges:
        if name == "resistance_m2k_w" and 0.0 <= value <= 20.0:
            return
        raise DataError(f"{name} does not belong to a {row.raw['role']}", path=row.place(name),
                        hint=f"a {row.raw['role']} takes {', '.join(sorted(ranges))}")
    low, high = ranges[name]
    if not low <= value <= high:
        raise OutOfRangeError(f"{value:g} is not plausible for a {row.raw['role']}", path=row.place(name), hint=f"from {low:g} to {high:g}")
