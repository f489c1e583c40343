"""What the adjustment of a survey finds: stations, residuals, walls and heights, and what to measure again."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.room.model import Face


@dataclass(frozen=True, slots=True)
class StationFix:
    """An adjusted station on the reference face, with the larger semi-axis of its error ellipse."""

    id: str
    x_m: float
    y_m: float
    sd_m: float


@dataclass(frozen=True, slots=True)
class ReadingFix:
    """One reading after the adjustment; ``redundancy`` is the share of an error in it that shows in its residual."""

    id: str
    kind: str
    of: str
    face: Face
    measured_m: float
    adjusted_m: float
    residual_m: float
    sd_m: float
    standardized: float
    redundancy: float
    suspect: bool


@dataclass(frozen=True, slots=True)
class WallFix:
    """How one wall stands. ``tilt_ratio`` is run per rise, positive where the wall leans away from the air at the top.

    ``tilt_start_ratio`` and ``tilt_end_ratio`` are those of its two ends; where they differ the wall is twisted:
    ``twist_m`` is how far its corners lie off the adjusted plane. ``parted`` walls are two facets.
    """

    side: str
    tilt_ratio: float
    tilt_start_ratio: float
    tilt_end_ratio: float
    twist_m: float
    parted: bool
    middle_bow_m: float


@dataclass(frozen=True, slots=True)
class Shim:
    """A place where a wall has to be built out before boards go up."""

    side: str
    at: str
    depth_m: float


@dataclass(frozen=True, slots=True)
class FlatnessFix:
    """A gap under a straightedge against what the tile allows."""

    reading: str
    of: str
    gap_m: float
    allowed_m: float
    under_m: float
    flat_enough: bool


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about readings, in words; and, where that is to measure one thing, what.

    ``kind`` is "length" between two stations ("B-D"), "up" or "down" at one ("C"); ``again`` where it was read before. All are
    empty where nothing single is named.
    """

    sentence: str
    kind: str = ""
    of: str = ""
    again: bool = False


@dataclass(frozen=True, slots=True)
class SurveyReport:
    """The adjusted survey on ``face``, the framing or slab face that everything is derived from.

    ``floor_m`` and ``ceiling_m`` give, per station with such readings, the height of the floor and the ceiling over
    the level datum z = 0 (the mean of the floor readings). ``sd_unit_ratio`` is the square root of chi2 / dof.
    ``offsets`` are (reading id, wall, distance from the wall's first station). ``measure`` is the advice that names one thing to
    measure, the most urgent first.
    """

    face: Face
    stations: tuple[StationFix, ...]
    readings: tuple[ReadingFix, ...]
    walls: tuple[WallFix, ...]
    floor_m: tuple[tuple[str, float], ...]
    ceiling_m: tuple[tuple[str, float], ...]
    offsets: tuple[tuple[str, str, float], ...]
    dof: int
    chi2: float
    chi2_low: float
    chi2_high: float
    consistent: bool
    suspect: str | None
    advice: tuple[str, ...]
    flatness: tuple[FlatnessFix, ...]
    shims: tuple[Shim, ...]
    measure: tuple[Advice, ...] = ()

    def wall_sides(self) -> tuple[str, ...]:
        """Names of the walls in plan order, first station to second, as the job's station order gives them."""
        ids = [s.id for s in self.stations]
        return tuple(f"{a}-{b}" for a, b in zip(ids, ids[1:] + ids[:1], strict=True))
