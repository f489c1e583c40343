"""What a person says about the covering: laps, materials, fold or band, directions, forbidden seams."""

from __future__ import annotations

from typing import Annotated, Literal

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


class Weights(Said):
    """What a layout costs, in money and minutes; the defaults are common practice, no source.

    A square metre of membrane, an hour of work, minutes a metre of lap and a piece; overhead work takes longer by a factor.
    """

    membrane_usd_m2: Annotated[float, Field(ge=0)] = 20.0
    wage_usd_h: Annotated[float, Field(ge=0)] = 45.0
    lap_min_m: Annotated[float, Field(ge=0)] = 0.6
    piece_min: Annotated[float, Field(ge=0)] = 1.5
    overhead_ratio: Annotated[float, Field(ge=1)] = 1.5


class CoveringWishes(Said):
    """Everything about the covering that a person may choose."""

    membrane: str = "sheet membrane 0.5 perm"
    lap_required_m: SpanLength = Field(default=0.0508, alias="lap_required")
    allowance_m: SpanLength = Field(default=0.0127, alias="allowance")
    roll_width_m: SpanLength = Field(default=1.0, alias="roll_width")
    roll_length_m: SpanLength = Field(default=30.0, alias="roll_length")
    band_width_m: SpanLength = Field(default=0.127, alias="band_width")
    band_roll_length_m: SpanLength = Field(default=30.0, alias="band_roll_length")
    joints: Literal["best", "band", "fold"] = "best"
    longest_m: SpanLength = Field(default=6.0, alias="longest")
    longest_overhead_m: SpanLength = Field(default=3.0, alias="longest_overhead")
    seam_clear_m: SpanLength = Field(default=0.1016, alias="seam_clear")
    effort: Annotated[int, Field(ge=0)] = 60
    weights: Weights = Weights()
    fold: tuple[FoldWish, ...] = ()
    direction: tuple[DirectionWish, ...] = ()
    no_seam: tuple[NoSeam, ...] = ()
