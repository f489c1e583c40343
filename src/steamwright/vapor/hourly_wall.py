"""Walls of the hourly method: layers, films, streams of air and the start of a build-up, and what its far side feels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.buildup.catalog_model import LayerRole, Material
from steamwright.buildup.model import BuildUp
from steamwright.buildup.model import Layer as BuildLayer
from steamwright.physics.vapor_monthly import MONTH_DAYS
from steamwright.physics.wall import Exchange, Film, Layer, Wall, graded_cells_m
from steamwright.vapor.case import is_open_bay
from steamwright.vapor.climate import HOURS, Hours
from steamwright.vapor.material_functions import function_of, porous_of
from steamwright.vapor.monthly import completed, wet_front
from steamwright.vapor.panels import THINNEST_M
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import HEATED_HUMIDITY, HEATED_K, Side
from steamwright.vapor.sun_rain import AZIMUTH_DEG, rain_on_wall_kg_m2_s, sun_on_wall_w_m2

Floats = NDArray[np.float64]

HOUR_S = 3600.0
_NEAR_M = 2e-4


@dataclass(frozen=True, slots=True)
class Question:
    """One wall to march: a build-up before a side, with or without a retarder, curves taken as stated or at an end."""

    buildup: BuildUp
    side: Side
    retarder: bool
    spread: float


@dataclass(frozen=True, slots=True, eq=False)
class Beyond:
    """What the far side feels, in the arrays of `physics.heat_moisture.side`, and in words what was left out of sun and rain."""

    time_s: Floats
    temperature_k: Floats
    vapor_pa: Floats
    rain_kg_m2_s: Floats
    sun_w_m2: Floats
    said: str


def beyond(q: Question, outside: Hours, years: int) -> Beyond:
    """The far side through the years.

    Parameters
    ----------
    q : Question
        The wall.
    outside : Hours
        Outside air of a year, repeated.
    years : int
        How many years.

    Returns
    -------
    beyond : Beyond
        Sun and rain fall on the outermost layer that the job names; on sheathing that is assumed behind a cladding falls
        no sun, and the share of the rain that gets behind it.

    References
    ----------
    ASHRAE-160 clause 4.6
    """
    far = q.side
    if not far.name.startswith("outdoors"):
        t, kelvin, vapor = _by_month(far, years)
        return Beyond(t, kelvin, vapor, np.zeros(len(t)), np.zeros(len(t)), "")
    hours: Floats = np.arange(years * HOURS + 1, dtype=np.float64) * HOUR_S
    pick = np.arange(years * HOURS + 1) % HOURS
    kelvin, vapor, none = outside.temperature_k[pick], outside.vapor_pa[pick], np.zeros(len(hours))
    if outside.sky is None:
        return Beyond(hours, kelvin, vapor, none, none, "no sun and no rain: the weather has none")
    azimuth = AZIMUTH_DEG[far.name]
    rain = rain_on_wall_kg_m2_s(outside.sky, azimuth)[pick]
    if is_open_bay(q.buildup):
        share = practice("outside.rain_behind_cladding")
        return Beyond(hours, kelvin, vapor, share * rain, none, f"behind an assumed cladding: no sun, {share:.0%} of the driving rain")
    sun = practice("outside.absorbed") * sun_on_wall_w_m2(outside.sky, azimuth)[pick]
    return Beyond(hours, kelvin, vapor, rain, sun, "sun and driving rain on the outermost layer that the job names")


def _by_month(far: Side, years: int) -> tuple[Floats, Floats, Floats]:
    ends = np.cumsum(MONTH_DAYS) * 24.0
    middle = np.concatenate([np.append(0.0, ends[:-1]) + 0.5 * np.diff(np.append(0.0, ends)) + y * HOURS for y in range(years)]) * HOUR_S
    kelvin: Floats = np.tile(np.array(far.temperature_k), years)
    vapor: Floats = np.tile(np.array(far.vapor_pa), years)
    at: Floats = np.concatenate((np.zeros(1), np.asarray(middle, np.float64), np.full(1, years * HOURS * HOUR_S)))
    return at, np.concatenate((kelvin[:1], kelvin, kelvin[-1:])), np.concatenate((vapor[:1], vapor, vapor[-1:]))


class Built:
    """A question as layers, films, streams of air and probes of the march."""

    def __init__(self, q: Question, materials: Mapping[str, Material], leak_m3_h_m2: float = 0.0) -> None:
        layers = completed(q.buildup, q.side, materials, q.retarder)
        front = wet_front(layers)
        self.layers: list[BuildLayer] = []
        self.first_behind = 0
        films: list[tuple[float, float]] = [(0.0, 0.0)]  # any film with a resistance to vapor stops liquid too
        body: list[Layer] = []
        guessed: dict[str, bool] = {}
        for k, layer in enumerate(layers):
            if layer.thickness_m < THINNEST_M or layer.r_m2k_w <= 0.0:
                z, r = films[-1]
                own = 0.0 if not layer.permeance_kg_pa_s_m2 else 1.0 / layer.permeance_kg_pa_s_m2
                films[-1] = (z + own, r + max(layer.r_m2k_w, 0.0))
                continue
            if k < front:
                self.first_behind = len(body) + 1
            family = function_of(layer.material, materials[layer.material].like)
            guessed |= {layer.name: family.estimated}
            wet = family.capillary_kg_m3 if layer.role in (LayerRole.MORTAR, LayerRole.BED) else None
            cells = graded_cells_m(layer.thickness_m, _count(layer.thickness_m), min(1e-3, layer.thickness_m / 4.0))
            damp = layer.role == LayerRole.BOARD and "cementitious" in layer.tags
            start = practice("start.damp_board_humidity") if damp else HEATED_HUMIDITY
            body.append(Layer(porous_of(layer, materials[layer.material], q.spread), cells, start, wet))
            self.layers.append(layer)
            films.append((0.0, 0.0))
        streams = self._streams(q.buildup, leak_m3_h_m2)
        self.streams = tuple(said for said, _ in streams)
        self.wall = Wall(tuple(body), tuple(Film(*f) for f in films), tuple(x for _, x in streams), HEATED_K)
        edges = np.append(0.0, np.cumsum([layer.thickness_m for layer in self.layers]))
        self.probes: list[tuple[str, BuildLayer]] = []
        places = []
        for k in range(self.first_behind, len(self.layers)):
            before = "membrane" if k == self.first_behind else self.layers[k - 1].name
            if k > self.first_behind and films[k][0] > 0.0:  # a film parts a wet side from a dry one
                self.probes.append((f"{before} | film before {self.layers[k].name}", self.layers[k - 1]))
                places.append(edges[k] - _NEAR_M)
            self.probes.append((f"{before} | {self.layers[k].name}", self.layers[k]))
            places.append(edges[k] + _NEAR_M)
        if self.layers:
            self.probes.append((f"{self.layers[-1].name} | far side", self.layers[-1]))
            places.append(edges[-1] - _NEAR_M)
        self.probes_m = np.array(places)
        self.estimated = tuple(name for name, is_guess in guessed.items() if is_guess)


    def _streams(self, buildup: BuildUp, leak_m3_h_m2: float) -> list[tuple[str, Exchange]]:
        """Air that leaks from the room into the first layer behind the membrane, and air beyond that washes the bay."""
        found = []
        if leak_m3_h_m2 > 0.0 and self.first_behind < len(self.layers):
            found.append((f"{leak_m3_h_m2:g} m³/(h m²) of the room's air leak into {self.layers[self.first_behind].name}",
                          Exchange(self.first_behind, 0.0, 0, leak_m3_h_m2 / HOUR_S)))
        bay = next((k for k, layer in enumerate(self.layers) if layer.role == LayerRole.CAVITY), None)
        if buildup.vented_1_h > 0.0 and bay is not None:
            found.append((f"the bay's air changes {buildup.vented_1_h:g} times an hour with the air beyond",
                          Exchange(bay, 1.0, 1, buildup.vented_1_h * self.layers[bay].thickness_m / HOUR_S)))
        return found


def _count(thickness_m: float) -> int:
    return next(n for most, n in ((0.004, 3), (0.03, 7), (0.07, 11), (np.inf, 15)) if thickness_m < most)


