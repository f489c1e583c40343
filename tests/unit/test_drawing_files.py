"""SVG, DXF and GLB read back by other programs' rules."""

from __future__ import annotations

import io
import json
import math
import struct
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import lru_cache

import ezdxf
import numpy as np
import pytest

from steamwright.drawing.backends.dxf import dxf
from steamwright.drawing.backends.gltf import FILM_M, glb, triangulate
from steamwright.drawing.backends.svg import svg
from steamwright.drawing.digest import Digest, digest
from steamwright.drawing.render import model_files, sheet_files, sheet_set
from steamwright.units import INCH_M
from tests import drawing_room

SVG = "{http://www.w3.org/2000/svg}"


@lru_cache(maxsize=2)
def alcove(units: str = "inch") -> Digest:
    return digest(drawing_room.plan(units))


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_svg_is_well_formed_and_lettering_stays_lettering(units: str) -> None:
    for s in sheet_set(alcove(units)):
        root = ET.fromstring(svg(s))
        assert root.get("width") == f"{s.width_mm:g}mm"
        assert root.get("viewBox") == f"0 0 {s.width_mm:g} {s.height_mm:g}"
        assert sorted(t.text or "" for t in root.iter(f"{SVG}text")) == sorted(t.content for t in s.texts())
        assert "sans-serif" in (root.get("font-family") or "")
        used = {e.get("class") for e in root.iter() if e.get("class")}
        style = root.findtext(f"{SVG}style") or ""
        assert all(f".{name}{{" in style for name in used)
        patterns = {p.get("id") for p in root.iter(f"{SVG}pattern")}
        fills = {(e.get("fill") or "")[5:-1] for e in root.iter() if (e.get("fill") or "").startswith("url(#")}
        assert fills == patterns


def test_svg_escapes_what_a_person_typed() -> None:
    plan = drawing_room.plan()
    job = plan.job.model_copy(update={"name": 'Smith & <Sons> "2"'})
    page = sheet_set(digest(replace(plan, job=job)))[0]
    root = ET.fromstring(svg(page))
    assert any((t.text or "") == 'Smith & <Sons> "2"' for t in root.iter(f"{SVG}text"))


def test_the_same_plan_gives_the_same_files() -> None:
    first, second = (sheet_files(d) | model_files(d) for d in (digest(drawing_room.plan()) for _ in range(2)))
    assert first == second
    assert {"sheets/01-title.svg", "sheets/02-plan.svg", "room.dxf", "room.glb"} <= first.keys()


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_dxf_passes_its_librarys_audit_and_measures_the_model(units: str) -> None:
    d = alcove(units)
    doc = ezdxf.read(io.StringIO(dxf(d).decode()))
    audit = doc.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    unit_m = INCH_M if units == "inch" else 0.001
    assert doc.units == (1 if units == "inch" else 4)
    measured = [e.get_measurement() * unit_m for e in doc.modelspace().query("DIMENSION")]
    assert all(e.dxf.text == "<>" for e in doc.modelspace().query("DIMENSION"))
    at = [(s.x_m, s.y_m) for s in d.plan.survey.stations]
    walls = [math.dist(a, b) for a, b in zip(at, at[1:] + at[:1], strict=True)]
    assert measured[:4] == pytest.approx(walls, abs=1e-9)
    wall = next(f for f in d.plan.room.facets if f.name == "C-D")
    s0, t0, s1, t1 = wall.polygon.bounds
    for length in (s1 - s0, t1 - t0):
        assert min(abs(m - length) for m in measured) < 1e-9


def test_dxf_holds_every_piece_at_full_size_on_its_layer() -> None:
    d = alcove("metric")
    doc = ezdxf.read(io.StringIO(dxf(d).decode()))
    drawn = list(doc.modelspace().query('LWPOLYLINE[layer=="SHEETS"]'))
    areas = sorted(abs(_area(e.get_points("xy"))) / 1e6 for e in drawn)
    wanted = sorted(
        abs(_area(ring)) for p in d.pieces.values() if p.role.value == "sheet" for q in p.patches for ring in (q.outline_m, *q.holes_m)
    )
    assert areas == pytest.approx(wanted, abs=1e-9)
    assert len(doc.modelspace().query('LWPOLYLINE[layer=="BANDS"]')) == sum(
        len(p.patches) for p in d.pieces.values() if p.role.value == "band"
    )


def _area(ring: object) -> float:
    points = list(ring)  # type: ignore[call-overload]
    return sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1], strict=True)) / 2


def read_glb(data: bytes) -> tuple[dict, bytes]:
    """Take a GLB file apart by its specification."""
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<II", data, 12)
    assert (kind, size % 4) == (0x4E4F534A, 0)
    document = json.loads(data[20 : 20 + size])
    blob_size, blob_kind = struct.unpack_from("<II", data, 20 + size)
    assert (blob_kind, blob_size % 4) == (0x004E4942, 0)
    blob = data[28 + size :]
    assert len(blob) == blob_size == document["buffers"][0]["byteLength"]
    return document, blob


def array(document: dict, blob: bytes, index: int) -> np.ndarray:
    a = document["accessors"][index]
    view = document["bufferViews"][a["bufferView"]]
    assert view["byteOffset"] % 4 == 0
    kind, wide = {5126: "<f4", 5125: "<u4"}[a["componentType"]], {"VEC3": 3, "SCALAR": 1}[a["type"]]
    flat = np.frombuffer(blob, kind, a["count"] * wide, view["byteOffset"])
    assert flat.nbytes == view["byteLength"]
    return flat.reshape(-1, wide)


def triangles_of(document: dict, blob: bytes, node: int) -> np.ndarray:
    part = document["meshes"][document["nodes"][node]["mesh"]]["primitives"][0]
    points = array(document, blob, part["attributes"]["POSITION"])
    index = array(document, blob, part["indices"]).ravel()
    said = document["accessors"][part["attributes"]["POSITION"]]
    assert points.min(axis=0).tolist() == said["min"]
    assert points.max(axis=0).tolist() == said["max"]
    assert index.max() < len(points)
    return points[index].reshape(-1, 3, 3).astype(float)


def enclosed_m3(triangles: np.ndarray) -> float:
    return float(np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6)


def test_glb_encloses_the_air_of_the_room() -> None:
    d = alcove()
    document, blob = read_glb(glb(d))
    room = next(n for n in document["nodes"] if n["name"] == "room")
    assert len(room["children"]) == len(d.plan.room.facets)
    every = np.concatenate([triangles_of(document, blob, n) for n in room["children"]])
    assert -enclosed_m3(every) == pytest.approx(d.plan.room.volume_m3, rel=1e-6)
    assert every[:, :, 1].max() == pytest.approx(drawing_room.ceiling_m(drawing_room.LONG), abs=1e-6), "y is up"
    without = np.concatenate([triangles_of(document, blob, n) for k, n in enumerate(room["children"]) if k != 2])
    assert -enclosed_m3(without) != pytest.approx(d.plan.room.volume_m3, rel=1e-3)


def test_glb_films_lie_just_in_front_of_their_facets() -> None:
    d = alcove()
    document, blob = read_glb(glb(d))
    films = next(n for n in document["nodes"] if n["name"] == "pieces")["children"]
    assert len(films) == sum(len(p.patches) for p in d.pieces.values())
    area: dict[str, float] = {}
    for n in films:
        node = document["nodes"][n]
        triangles = triangles_of(document, blob, n)
        facet = d.facets[node["extras"]["facet"]]
        room = np.stack([triangles[..., 0], -triangles[..., 2], triangles[..., 1]], axis=-1).reshape(-1, 3)
        off = (room - np.array(facet.frame.origin_m)) @ facet.frame.normal
        assert off.min() > 0.9 * FILM_M
        assert off.max() < 3.1 * FILM_M
        sides = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
        area[node["extras"]["piece"]] = area.get(node["extras"]["piece"], 0.0) + float(np.linalg.norm(sides, axis=1).sum() / 2)
        material = document["meshes"][node["mesh"]]["primitives"][0]["material"]
        assert document["materials"][material]["name"] == node["extras"]["role"]
    for piece in d.pieces.values():
        assert area[piece.id] == pytest.approx(sum(p.polygon.area for p in piece.patches), rel=1e-4)


def test_triangles_fill_a_facet_with_a_hole() -> None:
    wall = next(f for f in alcove().plan.room.facets if f.name == "A-B").polygon.difference(
        alcove().plan.room.facets[0].polygon.buffer(0.1).convex_hull.centroid.buffer(0.2)
    )
    points, triangles = triangulate(wall)
    a, b, c = (points[triangles[:, k]] for k in range(3))
    signed = ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    assert signed.min() > 0
    assert signed.sum() == pytest.approx(wall.area, rel=1e-9)
