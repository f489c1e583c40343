"""What a person says about how a room is steamed: set point, sessions, people, air, and the climate around it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from steamwright.said import Said
from steamwright.units import SetPoint

Minutes = Annotated[float, Field(gt=0, le=1440)]


class SteamUse(Said):
    """How the room is used; every default but the set point is common practice, no source.

    ``warm_up_min`` is the time wanted from switching on to the set point, ``session_min`` how long it steams after that.
    In continuous use it steams ``continuous_h`` hours a day. ``air_changes_1_h`` counts while it steams,
    ``after_air_changes_1_h`` once the generator is off and the door stands ajar. ``climate`` names a shipped set of
    monthly means. The next room is the one that the door opens to. ``leak_m3_h_m2`` is air of the room that gets through
    the covering into what lies behind it, for each square metre.
    """

    kind: Literal["continuous", "intermittent"] = "intermittent"
    set_point_k: SetPoint = Field(default=318.15, alias="set_point")
    warm_up_min: Annotated[float, Field(ge=3, le=180)] = 20.0
    session_min: Minutes = 30.0
    sessions_a_day: Annotated[float, Field(gt=0, le=24)] = 1.0
    days_a_week: Annotated[int, Field(ge=1, le=7)] = 7
    continuous_h: Annotated[float, Field(gt=0, le=24)] = 12.0
    people: Annotated[int, Field(ge=0, le=60)] = 2
    air_changes_1_h: Annotated[float, Field(ge=0, le=30)] = 1.0
    after_air_changes_1_h: Annotated[float, Field(ge=0, le=60)] = 6.0
    door_openings: Annotated[int, Field(ge=0, le=60)] = 2
    door_open_s: Annotated[float, Field(gt=0, le=600)] = 15.0
    next_room_m3: Annotated[float, Field(gt=0, le=5000)] = 20.0
    next_room_exhaust_m3_h: Annotated[float, Field(gt=0, le=20000)] = 85.0
    leak_m3_h_m2: Annotated[float, Field(ge=0, le=20)] = 0.0
    climate: str = "cold humid"
