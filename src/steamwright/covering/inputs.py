"""What a person says about the covering: laps, materials, fold or band, directions, forbidden seams."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from steamwright.said import Said
from steamwright.units import Length, SpanLength


class FoldWish(Said):
    """Close the joint between two surfaces by folding the sheets of the first onto the second, or by a band."""

    from_surface: str = Field(alias="from")
    onto: str
    by: Literal["fold", "band"] = "fold"


class DirectionWish(Said):
    """Lay the sheets of a surface along or across its ``u`` direction."""

    on: str
    sheets: Literal["upright", "level"]


class NoSeam(Said):
    """A stretch of a surface, across the sheets, in which no sheet seam may lie."""

    on: str
    from_m: Length = Field(alias="from")
    to_m: SpanLength = Field(alias="to")


class CoveringWishes(Said):
    """Everything about the covering that a person may choose."""

    membrane: str = "sheet membrane 0.5 perm"
    lap_required_m: SpanLength = Field(default=0.0508, alias="lap_required")
    allowance_m: SpanLength = Field(default=0.0127, alias="allowance")
    roll_width_m: SpanLength = Field(default=1.0, alias="roll_width")
    roll_length_m: SpanLength = Field(default=30.0, alias="roll_length")
    band_width_m: SpanLength = Field(default=0.127, alias="band_width")
    band_roll_length_m: SpanLength = Field(default=30.0, alias="band_roll_length")
    joints: Literal["band", "fold"] = "band"
    fold: tuple[FoldWish, ...] = ()
    direction: tuple[DirectionWish, ...] = ()
    no_seam: tuple[NoSeam, ...] = ()
