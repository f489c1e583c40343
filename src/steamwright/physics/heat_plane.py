"""Steady heat in a cross-section, or round an axis: studs, tracks, corners, screws through a build-up.

Temperatures live on the vertices of an orthogonal grid whose lines follow every edge of a material, so surfaces and
edges are read where they are. The grid is fine at edges and grows away from them; the result of a grid is reported
with its difference to the grid of half the spacing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import InputError, SolveError

Floats = NDArray[np.float64]
SideName = Literal["left", "right", "bottom", "top"]

GROWTH = 0.2
_REACH, _LEAST_REACH_M = 4.0, 1e-4
_BANDED_WORK = 3e9


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of one material; later blocks lie over earlier ones."""

    left_m: float
    right_m: float
    bottom_m: float
    top_m: float
    conductivity_w_mk: float


@dataclass(frozen=True, slots=True)
class Surface:
    """A stretch of the outline that feels air; the rest of the outline lets no heat pass. No resistance holds it at the air."""

    side: SideName
    start_m: float
    end_m: float
    air_k: float
    resistance_m2k_w: float


@dataclass(frozen=True, slots=True)
class Section:
    """A cross-section from (0, 0) to (width, height); ``round_axis`` turns it about its left edge. ``points_m`` become grid vertices."""

    width_m: float
    height_m: float
    blocks: tuple[Block, ...]
    surfaces: tuple[Surface, ...]
    points_m: tuple[tuple[float, float], ...] = ()
    round_axis: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Temperatures on the vertices, shape (len(x), len(y)), and the heat into the section through every surface.

    Heat is per metre of depth, or in all about the axis. ``halved_*`` compare with the grid of half the spacing,
    relative to the sum of heat that enters; not a number where it was not asked for.
    """

    x_m: Floats
    y_m: Floats
    temperature_k: Floats
    heat_w_m: tuple[float, ...]
    residual_w_m: float
    halved_heat_change: float = float("nan")
    halved_temperature_change_k: float = float("nan")

    def at(self, x_m: float, y_m: float) -> float:
        """Temperature at a point.

        Parameters
        ----------
        x_m : float
            From the left. [m]
        y_m : float
            From the bottom. [m]

        Returns
        -------
        temperature_k : float
            Bilinear between vertices. [K]

        References
        ----------
        own derivation
        """
        along = np.array([np.interp(y_m, self.y_m, row) for row in self.temperature_k])
        return float(np.interp(x_m, self.x_m, along))

    def coldest(self, left_m: float, right_m: float, bottom_m: float, top_m: float) -> tuple[float, float, float]:
        """Coldest vertex in a rectangle.

        Parameters
        ----------
        left_m, right_m, bottom_m, top_m : float
            Its sides. [m]

        Returns
        -------
        coldest : tuple of float
            Temperature [K], x and y [m].

        Raises
        ------
        InputError
            If no vertex lies in the rectangle.

        References
        ----------
        own derivation
        """
        eps = 1e-9
        i = np.flatnonzero((self.x_m >= left_m - eps) & (self.x_m <= right_m + eps))
        j = np.flatnonzero((self.y_m >= bottom_m - eps) & (self.y_m <= top_m + eps))
        if not len(i) or not len(j):
            raise InputError("holds no vertex of the grid", path="rectangle", hint="name a corner of it among points_m")
        part = self.temperature_k[np.ix_(i, j)]
        a, b = np.unravel_index(int(part.argmin()), part.shape)
        return float(part[a, b]), float(self.x_m[i[a]]), float(self.y_m[j[b]])


def _check(section: Section) -> None:
    if not section.blocks or not section.surfaces:
        raise InputError("needs blocks and surfaces", path="section")
    if not (np.isfinite(section.width_m) and np.isfinite(section.height_m) and section.width_m > 0.0 and section.height_m > 0.0):
        raise InputError("has no width or no height", path="section")
    for i, b in enumerate(section.blocks):
        if not (b.right_m > b.left_m and b.top_m > b.bottom_m):
            raise InputError("has no width or no height", path=f"blocks[{i}]")
        if not 0.0 < b.conductivity_w_mk < 1e5:
            raise InputError("conductivity must be positive", path=f"blocks[{i}].conductivity_w_mk")
    for i, p in enumerate(section.points_m):
        if not (0.0 <= p[0] <= section.width_m and 0.0 <= p[1] <= section.height_m):
            raise InputError("lies outside the section", path=f"points_m[{i}]")
    _check_surfaces(section)


def _check_surfaces(section: Section) -> None:
    for i, s in enumerate(section.surfaces):
        end = section.width_m if s.side in ("bottom", "top") else section.height_m
        if not s.end_m > s.start_m or not s.resistance_m2k_w >= 0.0:
            raise InputError("has no length or a negative resistance", path=f"surfaces[{i}]")
        if not (s.start_m >= -1e-9 and s.end_m <= end + 1e-9):
            raise InputError(f"reaches past the {s.side} side, which is {end:g} m long", path=f"surfaces[{i}]")
        if not np.isfinite(s.air_k):
            raise InputError("has no air temperature", path=f"surfaces[{i}].air_k")
        for j, other in enumerate(section.surfaces[:i]):
            if other.side == s.side and min(s.end_m, other.end_m) - max(s.start_m, other.start_m) > 1e-9:
                raise InputError(f"lies over surfaces[{j}]", path=f"surfaces[{i}]", hint="give every stretch of the outline one air")


def grid_lines_m(breaks_m: Floats, fineness: int, times: int = 1, most_m: float = float("inf")) -> Floats:
    """Grid lines that hit every break, fine there and growing away from it.

    Parameters
    ----------
    breaks_m : ndarray, shape (b,)
        Rising places that must be lines. [m]
    fineness : int
        The shorter stretch beside a break is about this many of its cells long. [1]
    times : int
        How often every cell is cut: 2 for half the spacing. [1]
    most_m : float
        Longest stretch that counts beside a break: heat crowds as closely along a thin thing's end as across it. [m]

    Returns
    -------
    lines_m : ndarray
        Rising. [m]

    References
    ----------
    own derivation
    """
    gaps = np.diff(breaks_m)
    near = np.minimum(np.concatenate((gaps[:1], gaps)), np.concatenate((gaps, gaps[-1:])))
    near = np.minimum(near, most_m) / fineness
    lines = [breaks_m[:1]]
    for a, b in pairwise(breaks_m):
        x = a + (b - a) * (0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, 400)))  # looks closest where the cells are smallest
        size = (near[:, None] + GROWTH * np.abs(x[None, :] - breaks_m[:, None])).min(axis=0)
        count = np.concatenate(([0.0], np.cumsum(0.5 * (1.0 / size[1:] + 1.0 / size[:-1]) * np.diff(x))))
        n = max(2, int(np.ceil(count[-1] - 1e-9)))
        whole = np.interp(np.linspace(0.0, count[-1], n + 1), count, x)
        fine = np.interp(np.arange(n * times + 1) / times, np.arange(n + 1), whole)
        lines.append(fine[1:-1])
        lines.append(np.array([b]))
    return np.concatenate(lines)


def _lines(section: Section, fineness: int, times: int) -> tuple[Floats, Floats]:
    xs, ys = [0.0, section.width_m], [0.0, section.height_m]
    for b in section.blocks:
        xs += [b.left_m, b.right_m]
        ys += [b.bottom_m, b.top_m]
    for s in section.surfaces:
        (xs if s.side in ("bottom", "top") else ys).extend((s.start_m, s.end_m))
    xs += [p[0] for p in section.points_m]
    ys += [p[1] for p in section.points_m]
    breaks = []
    for values, end in ((xs, section.width_m), (ys, section.height_m)):
        v = np.unique(np.round(np.array(values), 9))
        breaks.append(v[(v >= 0.0) & (v <= end + 1e-9)])
    most = max(_REACH * min(float(np.diff(v).min()) for v in breaks), _LEAST_REACH_M)
    return grid_lines_m(breaks[0], fineness, times, most), grid_lines_m(breaks[1], fineness, times, most)


def _conductivity(section: Section, x: Floats, y: Floats) -> Floats:
    cx, cy = 0.5 * (x[1:] + x[:-1]), 0.5 * (y[1:] + y[:-1])
    k = np.full((len(cx), len(cy)), np.nan)
    for b in section.blocks:
        k[np.ix_((cx > b.left_m) & (cx < b.right_m), (cy > b.bottom_m) & (cy < b.top_m))] = b.conductivity_w_mk
    if np.isnan(k).any():
        i, j = np.argwhere(np.isnan(k))[0]
        raise InputError(f"no material at x = {cx[i]:.4g} m, y = {cy[j]:.4g} m", path="blocks")
    return k


def _conductances(k: Floats, x: Floats, y: Floats, turned: bool) -> tuple[Floats, Floats]:
    """Between neighbors along x and along y; each grid cell gives half its width to each of its edges."""
    dx, dy = np.diff(x), np.diff(y)
    middle = 0.5 * (x[1:] + x[:-1])
    ring = 2.0 * np.pi * middle if turned else np.ones(len(dx))
    inner = np.pi * (middle**2 - x[:-1] ** 2) if turned else 0.5 * dx
    outer = np.pi * (x[1:] ** 2 - middle**2) if turned else 0.5 * dx
    along = np.zeros((len(dx), len(y)))
    along[:, :-1] += 0.5 * k * dy
    along[:, 1:] += 0.5 * k * dy
    along *= (ring / dx)[:, None]
    up = np.zeros((len(x), len(dy)))
    up[:-1] += k * inner[:, None]
    up[1:] += k * outer[:, None]
    return along, up / dy


def _films(section: Section, x: Floats, y: Floats) -> list[tuple[NDArray[np.int64], NDArray[np.int64], Floats]]:
    """Vertices of every surface and the area that each holds."""
    found = []
    for s in section.surfaces:
        lines = x if s.side in ("bottom", "top") else y
        at = np.flatnonzero((lines >= s.start_m - 1e-9) & (lines <= s.end_m + 1e-9))
        cut = lines[at]
        if s.side in ("bottom", "top") and section.round_axis:
            middle = np.concatenate((cut[:1], 0.5 * (cut[1:] + cut[:-1]), cut[-1:]))
            area = np.pi * np.diff(middle**2)
        else:
            half = 0.5 * np.diff(cut)
            area = np.concatenate((half, [0.0])) + np.concatenate(([0.0], half))
            if section.round_axis:
                area = area * (2.0 * np.pi * (section.width_m if s.side == "right" else 0.0))
        if s.side in ("bottom", "top"):
            found.append((at, np.full(len(at), 0 if s.side == "bottom" else len(y) - 1), area))
        else:
            found.append((np.full(len(at), 0 if s.side == "left" else len(x) - 1), at, area))
    return found


def _solve(diagonal: Floats, along: Floats, up: Floats, right: Floats) -> Floats:
    """Symmetric system on the grid: banded across the shorter direction, general sparse when that grows too wide."""
    nx, ny = diagonal.shape
    if ny > nx:
        return _solve(diagonal.T, up.T, along.T, right.T).T
    if nx * float(ny) ** 3 <= _BANDED_WORK:
        from scipy.linalg import solveh_banded

        band = np.zeros((ny + 1, nx * ny))
        band[0] = diagonal.ravel()
        next_up = np.zeros((nx, ny))
        next_up[:, :-1] = -up
        band[1] = next_up.ravel()
        band[ny, : (nx - 1) * ny] -= along.ravel()  # adds up with the row above when the grid is one cell wide
        return np.asarray(solveh_banded(band, right.ravel(), lower=True, overwrite_ab=True, check_finite=False)).reshape(nx, ny)
    from scipy.sparse import diags_array
    from scipy.sparse.linalg import splu

    next_up = np.zeros((nx, ny))
    next_up[:, :-1] = -up
    u, a = next_up.ravel()[:-1], -along.ravel()
    matrix = diags_array([diagonal.ravel(), u, u, a, a], offsets=[0, 1, -1, ny, -ny]).tocsc()
    lu = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return np.asarray(lu.solve(right.ravel())).reshape(nx, ny)


def _field(section: Section, fineness: int, times: int) -> Field:
    x, y = _lines(section, fineness, times)
    along, up = _conductances(_conductivity(section, x, y), x, y, section.round_axis)
    reference = min(s.air_k for s in section.surfaces)
    diagonal, right = np.zeros((len(x), len(y))), np.zeros((len(x), len(y)))
    for total, part in ((along, 0), (up, 1)):
        diagonal[tuple(slice(None, -1) if p == part else slice(None) for p in (0, 1))] += total
        diagonal[tuple(slice(1, None) if p == part else slice(None) for p in (0, 1))] += total
    films = _films(section, x, y)
    held, held_count = np.zeros((len(x), len(y))), np.zeros((len(x), len(y)))
    for s, (i, j, area) in zip(section.surfaces, films, strict=True):
        if s.resistance_m2k_w > 0.0:
            np.add.at(diagonal, (i, j), area / s.resistance_m2k_w)
            np.add.at(right, (i, j), area / s.resistance_m2k_w * (s.air_k - reference))
        else:
            np.add.at(held, (i, j), s.air_k - reference)
            np.add.at(held_count, (i, j), 1.0)
    free = held_count == 0
    held = np.where(free, 0.0, held / np.maximum(held_count, 1.0))
    a, u = along * free[:-1] * free[1:], up * free[:, :-1] * free[:, 1:]
    right[1:] += (along * free[1:]) * held[:-1]
    right[:-1] += (along * free[:-1]) * held[1:]
    right[:, 1:] += (up * free[:, 1:]) * held[:, :-1]
    right[:, :-1] += (up * free[:, :-1]) * held[:, 1:]
    t = _solve(np.where(free, diagonal, 1.0), a, u, np.where(free, right, held))
    if not np.isfinite(t).all():
        raise SolveError("the section has no temperature", hint="at least one surface must feel air")
    reaction = np.zeros_like(t)  # heat that a vertex passes on to its neighbors
    reaction[:-1] += along * (t[:-1] - t[1:])
    reaction[1:] += along * (t[1:] - t[:-1])
    reaction[:, :-1] += up * (t[:, :-1] - t[:, 1:])
    reaction[:, 1:] += up * (t[:, 1:] - t[:, :-1])
    heat = []
    for s, (i, j, area) in zip(section.surfaces, films, strict=True):
        if s.resistance_m2k_w > 0.0:
            heat.append(float((area / s.resistance_m2k_w * (s.air_k - reference - t[i, j])).sum()))
        else:
            heat.append(float((reaction[i, j] / held_count[i, j]).sum()))
    return Field(x, y, t + reference, tuple(heat), float(sum(heat)))


def solve_section(section: Section, fineness: int = 8, halved: bool = True) -> Field:
    """Temperatures and heat flows of a section.

    Parameters
    ----------
    section : Section
        Materials, surfaces and points of interest.
    fineness : int
        Cells in the shortest stretch beside an edge. [1]
    halved : bool
        Solve once more at half the spacing, return that finer result and report how much it changed.

    Returns
    -------
    field : Field
        Result; heat flows sum to nothing but rounding.

    Raises
    ------
    InputError
        If a block or surface has no size or a place has no material.
    SolveError
        If no surface feels air.

    References
    ----------
    ISO-10211 clause 7 and annex C
    """
    _check(section)
    coarse = _field(section, fineness, 1)
    if not halved:
        return coarse
    fine = _field(section, fineness, 2)
    entering = sum(h for h in fine.heat_w_m if h > 0.0)
    change = max(abs(a - b) for a, b in zip(coarse.heat_w_m, fine.heat_w_m, strict=True)) / max(entering, 1e-300)
    at = section.points_m or ((0.0, 0.0), (section.width_m, 0.0), (0.0, section.height_m), (section.width_m, section.height_m))
    moved = max(abs(coarse.at(*p) - fine.at(*p)) for p in at)
    return Field(fine.x_m, fine.y_m, fine.temperature_k, fine.heat_w_m, fine.residual_w_m, change, moved)


def linear_transmittance_w_mk(heat_w_m: float, difference_k: float, one_dimensional_w_mk: float) -> float:
    """Heat that a line of disturbance adds to what plane layers would pass.

    Parameters
    ----------
    heat_w_m : float
        Heat through the section. [W/m]
    difference_k : float
        Between both airs. [K]
    one_dimensional_w_mk : float
        Sum of transmittance times width of the undisturbed layers. [W/(m K)]

    Returns
    -------
    psi_w_mk : float
        Linear transmittance. [W/(m K)]

    References
    ----------
    ISO-10211 eq. 13
    """
    return heat_w_m / difference_k - one_dimensional_w_mk
