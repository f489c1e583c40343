"""The steam load of a room in numbers: what heats up, what condenses where, how large a generator, what leaves by the door."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.vapor.ceiling_water import CeilingWater


@dataclass(frozen=True, slots=True)
class Band:
    """A value in still air and in air stirred by the steam jet: the truth lies between."""

    still: float
    stirred: float


@dataclass(frozen=True, slots=True)
class Load:
    """What takes heat: mean while the room warms up, and mean while it is held at the set point. [W]"""

    label: str
    area_m2: float
    warm_up_w: Band
    hold_w: Band
    warm_up_condensate_kg: Band
    condensate_kg_h: Band
    surface_k: Band | None
    runs_to: str


@dataclass(frozen=True, slots=True)
class Supply:
    """Electrical load as information for the licensed electrician. Single phase."""

    volts_v: float
    amps: float
    continuous_amps: float
    device_amps: float | None
    note: str


@dataclass(frozen=True, slots=True)
class NextRoom:
    """Vapor thrown into the room that the door opens to, and hours until it is back under the limit (``None``: never)."""

    opening_kg: float
    session_kg: float
    hours_under_limit: float | None
    limit_humidity: float
    note: str


@dataclass(frozen=True, slots=True)
class Moment:
    """The room at one time of the session, stirred end: air and warmest and coldest surface. [min, K]"""

    minute: float
    air_k: float
    warmest_k: float
    coldest_k: float


@dataclass(frozen=True, slots=True)
class SteamLoad:
    """Everything about one session; ``generator_w`` is ``None`` where no sensible generator warms the room in time."""

    air_volume_m3: float
    set_point_k: float
    warm_up_s: float
    session_s: float
    generator_w: Band | None
    hold_w: Band
    loads: tuple[Load, ...]
    water_kg_h: Band
    condensate_kg_h: Band
    session_water_kg: Band
    session_electricity_j: Band
    rule_of_thumb_w: float
    rule_of_thumb_note: str
    supply: Supply | None
    next_room: NextRoom
    ceiling: CeilingWater | None
    history: tuple[Moment, ...]
    assumptions: tuple[str, ...]
