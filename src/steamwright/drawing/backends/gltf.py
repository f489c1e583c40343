"""The room as binary glTF 2.0: one mesh a facet, and every piece as a thin film in front of its facet."""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely

from steamwright.drawing.digest import Digest
from steamwright.geometry.frame import Floats, Frame
from steamwright.room.model import FacetKind

FILM_M = 0.0015
FLOAT, UNSIGNED = 5126, 5125
ARRAY_BUFFER, ELEMENT_BUFFER = 34962, 34963
JSON_CHUNK, BIN_CHUNK = 0x4E4F534A, 0x004E4942
COLORS: dict[str, tuple[float, float, float, float]] = {
    "wall": (0.86, 0.89, 0.90, 1.0),
    "ceiling": (0.93, 0.94, 0.95, 1.0),
    "floor": (0.72, 0.75, 0.77, 1.0),
    "bench": (0.80, 0.84, 0.86, 1.0),
    "edge": (0.78, 0.82, 0.84, 1.0),
    "opening": (0.55, 0.72, 0.75, 0.25),
    "sheet": (0.66, 0.84, 0.83, 1.0),
    "band": (0.42, 0.49, 0.56, 1.0),
    "corner_piece": (0.30, 0.36, 0.43, 1.0),
    "collar": (0.22, 0.28, 0.35, 1.0),
}
KIND_MATERIAL = {
    FacetKind.WALL: "wall", FacetKind.COLUMN: "wall", FacetKind.CEILING: "ceiling", FacetKind.SOFFIT: "ceiling", FacetKind.FLOOR: "floor",
    FacetKind.BENCH_TOP: "bench", FacetKind.BENCH_FACE: "bench", FacetKind.OPENING: "opening",
}  # fmt: skip


@dataclass(slots=True)
class _Store:
    """The growing file: buffer bytes and the JSON lists that point into it."""

    blob: bytearray = field(default_factory=bytearray)
    views: list[dict[str, Any]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    meshes: list[dict[str, Any]] = field(default_factory=list)
    nodes: list[dict[str, Any]] = field(default_factory=list)

    def array(self, data: bytes, target: int, accessor: dict[str, Any]) -> int:
        self.views.append({"buffer": 0, "byteOffset": len(self.blob), "byteLength": len(data), "target": target})
        self.blob += data + b"\0" * (-len(data) % 4)
        self.accessors.append({"bufferView": len(self.views) - 1, **accessor})
        return len(self.accessors) - 1

    def mesh(self, name: str, points_m: Floats, normal: Floats, triangles: np.ndarray, material: int, extras: dict[str, Any]) -> int:
        p = points_m.astype("<f4")
        n = np.tile(normal, (len(p), 1)).astype("<f4")
        at = self.array(p.tobytes(), ARRAY_BUFFER, {"componentType": FLOAT, "count": len(p), "type": "VEC3", "min": p.min(axis=0).tolist(),
                                                     "max": p.max(axis=0).tolist()})  # fmt: skip
        normals = self.array(n.tobytes(), ARRAY_BUFFER, {"componentType": FLOAT, "count": len(n), "type": "VEC3"})
        flat = triangles.astype("<u4").ravel()
        index = self.array(flat.tobytes(), ELEMENT_BUFFER, {"componentType": UNSIGNED, "count": len(flat), "type": "SCALAR"})
        part = {"attributes": {"POSITION": at, "NORMAL": normals}, "indices": index, "material": material}
        self.meshes.append({"name": name, "primitives": [part]})
        self.nodes.append({"name": name, "mesh": len(self.meshes) - 1, "extras": extras})
        return len(self.nodes) - 1


def triangulate(polygon: shapely.Polygon) -> tuple[Floats, np.ndarray]:
    """Part a polygon with holes into triangles that use only its own corners.

    Parameters
    ----------
    polygon : Polygon
        In a facet's (s, t). [m]

    Returns
    -------
    mesh : tuple of ndarray, shapes (n, 2) and (m, 3)
        Corners [m] and counter-clockwise triangles.

    References
    ----------
    own derivation
    """
    corners: dict[tuple[float, float], int] = {}
    triangles = []
    for tri in shapely.constrained_delaunay_triangles(polygon).geoms:
        ring = list(shapely.orient_polygons(tri).exterior.coords)[:3]
        triangles.append([corners.setdefault((x, y), len(corners)) for x, y in ring])
    return np.array(list(corners), dtype=float).reshape(-1, 2), np.array(triangles, dtype=np.int64).reshape(-1, 3)


def _to_gltf(points_m: Floats) -> Floats:
    """Room coordinates (z up) to glTF (y up), keeping hands: (x, z, −y)."""
    return np.stack([points_m[:, 0], points_m[:, 2], -points_m[:, 1]], axis=1)


def _add(
    store: _Store, name: str, frame: Frame, polygon: shapely.Polygon, lift_m: float, material: int, extras: dict[str, Any]
) -> int | None:
    flat, triangles = triangulate(polygon)
    if len(triangles) == 0:
        return None
    points = frame.lift(flat) + frame.normal * lift_m
    return store.mesh(name, _to_gltf(points), _to_gltf(frame.normal[None, :])[0], triangles, material, extras)


def glb(d: Digest) -> bytes:
    """Write the room and its pieces as a GLB file.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    document : bytes
        glTF 2.0 binary, metres, y up. Triangles run counter-clockwise as seen from the air; the node "room" holds all
        facets, which close, the node "pieces" the films, each lifted by its layer.

    References
    ----------
    own derivation
    """
    store = _Store()
    names = list(COLORS)
    facets = [
        n
        for f in d.plan.room.facets
        if (n := _add(store, d.names[f.id], f.frame, f.polygon, 0.0, names.index(KIND_MATERIAL.get(f.kind, "edge")), {"id": f.id}))
        is not None
    ]
    films = []
    for f in d.plan.room.facets:
        for layer, lying in enumerate(d.lying(f.id), 1):
            extras = {"piece": lying.piece.id, "facet": f.id, "place_no": lying.piece.place_no, "role": lying.piece.role.value}
            name = f"{d.mark_of(lying.piece, lying.patch)} on {d.names[f.id]}"
            node = _add(store, name, f.frame, lying.polygon, FILM_M * _height(d, f.id, layer),
                        names.index(lying.piece.role.value), extras)  # fmt: skip
            if node is not None:
                films.append(node)
    store.nodes.append({"name": "room", "children": facets})
    roots = [len(store.nodes) - 1]
    if films:
        store.nodes.append({"name": "pieces", "children": films})
        roots.append(len(store.nodes) - 1)
    return _pack(store, roots)


def _height(d: Digest, facet_id: str, layer: int) -> float:
    """Films that cannot overlap may share a height; one step a patch keeps all apart within a few millimetres."""
    return 1.0 + 2.0 * layer / max(1, len(d.lying(facet_id)))


def _pack(store: _Store, roots: list[int]) -> bytes:
    document = {
        "asset": {"version": "2.0", "generator": "steamwright"},
        "scene": 0,
        "scenes": [{"name": "steam room", "nodes": roots}],
        "nodes": store.nodes,
        "meshes": store.meshes,
        "materials": [_look(n, c) for n, c in COLORS.items()],
        "accessors": store.accessors,
        "bufferViews": store.views,
        "buffers": [{"byteLength": len(store.blob)}],
    }
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=False).encode()
    text += b" " * (-len(text) % 4)
    blob = bytes(store.blob)
    total = 12 + 8 + len(text) + 8 + len(blob)
    head = struct.pack("<4sII", b"glTF", 2, total)
    return head + struct.pack("<II", len(text), JSON_CHUNK) + text + struct.pack("<II", len(blob), BIN_CHUNK) + blob


def _look(name: str, color: tuple[float, float, float, float]) -> dict[str, Any]:
    look: dict[str, Any] = {
        "name": name,
        "pbrMetallicRoughness": {"baseColorFactor": list(color), "metallicFactor": 0.0, "roughnessFactor": 0.9},
    }
    if color[3] < 1.0:
        look.update({"alphaMode": "BLEND", "doubleSided": True})
    return look
