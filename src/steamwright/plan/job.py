"""The job file: each step's input, put together."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from steamwright.buildup.inputs import BuildUpChoice
from steamwright.covering.inputs import CoveringWishes
from steamwright.estimate.inputs import Prices
from steamwright.room.inputs import Room, Survey
from steamwright.said import Said
from steamwright.units import SpanLength
from steamwright.vapor.inputs import SteamUse


class Tile(Said):
    """The tile, for flatness and slip."""

    longest_edge_m: SpanLength = Field(default=0.3048, alias="longest_edge")
    thickness_m: SpanLength = Field(default=0.0095, alias="thickness")
    joint_m: SpanLength = Field(default=0.0032, alias="joint")
    floor_dcof: float | None = None


class Use(SteamUse):
    """How the room is used and which code rules.

    Every default of how it is steamed, the set point's aside, is common practice, no source. ``warm_up_min`` is the time
    wanted from switching on to the set point, ``session_min`` how long it steams after that; in continuous use it steams
    ``continuous_h`` hours a day. ``climate`` names shipped monthly means of the outside air. The next room is the one that
    the door opens to.
    """

    place: Literal["home", "commercial"] = "home"
    code: Literal["IRC", "IPC", "UPC"] = "IRC"


class Job(Said):
    """All that a person says about one room."""

    format: Literal["steamwright-job"] = "steamwright-job"
    version: Literal[1] = 1
    name: str
    note: str = ""
    units: Literal["inch", "metric"] = "inch"
    use: Use = Use()
    survey: Survey
    room: Room
    buildup: tuple[BuildUpChoice, ...]
    covering: CoveringWishes = CoveringWishes()
    tile: Tile = Tile()
    prices: Prices = Prices()
