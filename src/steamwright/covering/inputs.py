"""What a person says about the covering: laps, materials, fold or band, directions, forbidden seams."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from steamwright.said import Said
from steamwright.units import Length, SpanLength


class FoldWish(Said):
    """Close the joint between two surfaces by folding the sheets of the first onto the second, or by a band.

    Here and in all wishes a surface is called by its name in the job ("floor", "C-D", "bench top"), or one part of it by the
    name that messages and drawings use ("floor 3", "C-D (2)").
    """

    from_surface: str = Field(alias="from")
    onto: str
    by: Literal["fold", "band"] = "fold"


class DirectionWish(Said):
    """Lay the sheets of a surface along or across its ``u`` direction."""

    on: str
    sheets: Literal["upright", "level"]


class NoSeam(Said):
    """A stretch of a surface in which no sheet seam may lie.

    It is measured from the left edge (``along``, which keeps upright seams out), from the lower edge (``up``, which keeps
    level seams out), or across the sheets, whichever way they lie. A zone closed on all sides takes two rows.
    """

    on: str
    from_m: Length = Field(alias="from")
    to_m: SpanLength = Field(alias="to")
    measured: Literal["across", "along", "up"] = "across"


class SeamPin(Said):
    """A sheet seam that stays where a person wants it: the middle of its lap.

    ``along`` is measured from the left edge of the surface and lays its sheets upright, ``up`` from its lower edge and lays
    them level. Say one of the two.
    """

    on: str
    along_m: SpanLength | None = Field(default=None, alias="along")
    up_m: SpanLength | None = Field(default=None, alias="up")


class PinnedPlace(Said):
    """Where a patch lies on the blank, as in plan.json: blank point = R(angle)·(±s, t) + (x, y), −s when flipped."""

    x_m: Length = Field(alias="x")
    y_m: Length = Field(alias="y")
    angle_deg: float = 0.0
    flipped: bool = False


class PinnedPatch(Said):
    """The part of a pinned piece on one facet, by the facet's name, in the facet's own coordinates as plan.json gives them."""

    on: str
    outline_m: Annotated[tuple[tuple[Length, Length], ...], Field(min_length=3)] = Field(alias="outline")
    holes_m: tuple[tuple[tuple[Length, Length], ...], ...] = Field(default=(), alias="holes")
    at: PinnedPlace | None = None


class PiecePin(Said):
    """A piece that is cut or set already: it stays as it is and keeps its number, the rest is planned around it.

    A piece that was cut too ``short`` lacks that much of its blank's length, at its start or its end; the answer is to patch
    it where it lies, or to cut it again and keep the short one as a remnant. Ready-made pieces have no blank. Where two parts are cut
    from one blank, ``parting`` is the cut between them and ``second_at`` the number of patches before those of the second.
    """

    id: str
    state: Literal["cut", "set"] = "set"
    role: Literal["sheet", "band", "corner_piece", "collar"] = "sheet"
    item: str
    material: str
    blank_m: tuple[SpanLength, SpanLength] | None = Field(default=None, alias="blank")
    parting_m: tuple[tuple[Length, Length], ...] = Field(default=(), alias="parting")
    second_at: Annotated[int, Field(ge=0)] = 0
    patch: Annotated[tuple[PinnedPatch, ...], Field(min_length=1)]
    short_m: SpanLength | None = Field(default=None, alias="short")
    short_at: Literal["start", "end"] = "end"
    answer: Literal["patch", "again"] = "patch"


class RemnantOnHand(Said):
    """A rectangle left over from an earlier job, to be used before a roll is opened; its length lies along the roll it came from."""

    id: str
    material: str
    length_m: SpanLength = Field(alias="length")
    width_m: SpanLength = Field(alias="width")
    origin: str = ""


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
    """Everything about the covering that a person may choose.

    ``layout`` leans the search to one side; what it and other layouts take stands in the plan's table of alternatives.
    ``longest`` is the longest piece that two people comb for, hang and embed within the 20 minutes in which the mortar is open, and
    ``longest_overhead`` the same overhead, where it takes longer; both are common practice, no source. ``effort`` is how many
    layouts are tried. ``seam_clear`` keeps seams away from pipes and valves. ``remnants_given`` is how many ids of remnants were
    given before this job, so that none is given twice.
    """

    membrane: str = "sheet membrane 0.5 perm"
    lap_required_m: SpanLength = Field(default=0.0508, alias="lap_required")
    allowance_m: SpanLength = Field(default=0.0127, alias="allowance")
    roll_width_m: SpanLength = Field(default=1.0, alias="roll_width")
    roll_length_m: SpanLength = Field(default=30.0, alias="roll_length")
    band_width_m: SpanLength = Field(default=0.127, alias="band_width")
    band_roll_length_m: SpanLength = Field(default=30.0, alias="band_roll_length")
    joints: Literal["best", "band", "fold"] = "best"
    layout: Literal["best", "least material", "shortest seams", "fewest pieces", "walls upright", "walls level"] = "best"
    longest_m: SpanLength = Field(default=3.0, alias="longest")
    longest_overhead_m: SpanLength = Field(default=2.4, alias="longest_overhead")
    seam_clear_m: SpanLength = Field(default=0.1016, alias="seam_clear")
    effort: Annotated[int, Field(ge=0)] = 60
    weights: Weights = Weights()
    fold: tuple[FoldWish, ...] = ()
    direction: tuple[DirectionWish, ...] = ()
    no_seam: tuple[NoSeam, ...] = ()
    seam: tuple[SeamPin, ...] = ()
    piece: tuple[PiecePin, ...] = ()
    remnant: tuple[RemnantOnHand, ...] = ()
    remnants_given: Annotated[int, Field(ge=0)] = 0
