"""What a person says about build-ups: layers by catalog id, warm side first, and where they apply."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from steamwright.said import Said
from steamwright.units import SpanLength


class LayerChoice(Said):
    """One layer: a catalog material and, where the catalog gives none, its thickness."""

    material: str
    thickness_m: SpanLength | None = Field(default=None, alias="thickness")


class Framing(Said):
    """What carries the boards."""

    kind: Literal["wood stud", "steel stud", "wood joist", "steel joist", "concrete", "masonry", "none"] = "wood stud"
    depth_m: SpanLength | None = Field(default=None, alias="depth")
    spacing_m: SpanLength | None = Field(default=None, alias="spacing")
    steel_mil: int | None = None


class BuildUpChoice(Said):
    """A build-up from the steam side outward: tile, mortar, membrane, mortar, board, cavity, other side.

    ``on`` names what it covers: "walls", "ceiling", "floor", "benches", "niches", "openings", "curbs", "half walls", "columns",
    "soffits" or a surface such as "A-B". ``covering`` is how it is made tight. ``retarder_behind``
    says whether polyethylene, foil or paint already closes the far side of the stud bay;
    "retarder" is one of unknown kind, taken as polyethylene, and "unknown" is run both ways.
    ``vented_1_h`` is how often an hour the air of the bay changes with the air beyond.
    """

    name: str
    on: Annotated[tuple[str, ...], Field(min_length=1)]
    covering: Literal["sheet membrane", "sealed foam board", "liquid membrane", "none"] = "sheet membrane"
    layers: Annotated[tuple[LayerChoice, ...], Field(min_length=1)]
    framing: Framing = Framing()
    alternative_to: str | None = None
    retarder_behind: Literal["none", "polyethylene", "foil", "paint", "retarder", "unknown"] = "unknown"
    vented_1_h: Annotated[float, Field(ge=0, le=300)] = 0.0
