"""A wall for the transient: layers cut into cells, films between them, streams of air through them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InputError
from steamwright.physics.porous import Porous

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One layer: its material, its cells from left to right [m], and what it starts from.

    ``start_content_kg_m3`` overrides ``start_humidity`` where a layer starts wet, such as fresh mortar.
    """

    porous: Porous
    cells_m: tuple[float, ...]
    start_humidity: float = 0.5
    start_content_kg_m3: float | None = None


@dataclass(frozen=True, slots=True)
class Film:
    """What lies on a face: a membrane, a foil, a coat of paint, a glue line. No storage.

    A film of any vapor resistance stops liquid unless ``passes_liquid``.
    """

    vapor_resistance_pa_s_m2_kg: float = 0.0
    heat_resistance_m2k_w: float = 0.0
    passes_liquid: bool = True


@dataclass(frozen=True, slots=True)
class Exchange:
    """A stream of air from one side of the wall that washes a cell: a ventilated cavity, a leak that ends in a layer.

    ``layer`` and ``at`` (0 left end to 1 right end) say where; ``side`` is 0 left or 1 right.
    """

    layer: int
    at: float
    side: int
    flow_m3_s_m2: float


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """Layers from left to right with ``len(layers) + 1`` films on their faces, surfaces included."""

    layers: tuple[Layer, ...]
    films: tuple[Film, ...] = ()
    exchanges: tuple[Exchange, ...] = ()
    start_temperature_k: float = 293.15

    def __post_init__(self) -> None:
        if not self.layers:
            raise InputError("a wall needs at least one layer", path="layers")
        if self.films and len(self.films) != len(self.layers) + 1:
            raise InputError(f"{len(self.layers)} layers have {len(self.layers) + 1} faces, not {len(self.films)}", path="films")
        for i, layer in enumerate(self.layers):
            if not layer.cells_m or not all(np.isfinite(d) and d > 0.0 for d in layer.cells_m):
                raise InputError(
                    "a layer of zero thickness", path=f"layers[{i}]", hint="give a membrane as a film between two layers"
                )  # fmt: skip
            if layer.start_content_kg_m3 is None and not 0.0 <= layer.start_humidity <= 1.0:
                raise InputError("relative humidity goes from 0 to 1", path=f"layers[{i}].start_humidity")
        for i, film in enumerate(self.films):
            if not film.vapor_resistance_pa_s_m2_kg >= 0.0 or not film.heat_resistance_m2k_w >= 0.0:
                raise InputError("a film cannot have a negative resistance", path=f"films[{i}]")
        for i, exchange in enumerate(self.exchanges):
            if not 0 <= exchange.layer < len(self.layers) or exchange.side not in (0, 1) or not 0.0 <= exchange.at <= 1.0:
                raise InputError("points outside the wall", path=f"exchanges[{i}]")
            if not exchange.flow_m3_s_m2 >= 0.0:
                raise InputError("a stream cannot be negative", path=f"exchanges[{i}].flow_m3_s_m2")


def graded_cells_m(thickness_m: float, count: int, first_m: float, both_ends: bool = True) -> tuple[float, ...]:
    """Cut a layer into cells that grow geometrically away from one or both faces.

    Parameters
    ----------
    thickness_m : float
        Thickness of the layer. [m]
    count : int
        Number of cells. [1]
    first_m : float
        Cell at the face; evenly cut when the layer is too thin for it. [m]
    both_ends : bool
        Fine at both faces, or at the left one only.

    Returns
    -------
    cells_m : tuple of float
        Cells whose sum is the thickness. [m]

    Raises
    ------
    InputError
        If the thickness is not positive.

    References
    ----------
    own derivation
    """
    if not thickness_m > 0.0 or not np.isfinite(thickness_m):
        raise InputError("a layer of zero thickness", path="thickness_m", hint="give a membrane as a film between two layers")
    if count * first_m >= thickness_m or count < 3:
        return (thickness_m / count,) * count
    ranks = np.arange(count)
    if both_ends:
        ranks = np.minimum(ranks, ranks[::-1])
    low, high = 1.0, (thickness_m / first_m) ** (1.0 / ranks.max())  # one cell alone would fill the layer
    for _ in range(80):
        ratio = 0.5 * (low + high)
        low, high = (ratio, high) if first_m * (ratio**ranks).sum() < thickness_m else (low, ratio)
    cells = first_m * low**ranks
    return tuple((cells * (thickness_m / cells.sum())).tolist())
