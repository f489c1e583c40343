"""What goes over the wire while seams are moved."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from steamwright.web.models import Sent, Told


class SeamMovedSent(Sent):
    """How far a seam is moved, along growing s or t of its first facet."""

    seam: Annotated[str, Field(max_length=40)]
    by_m: Annotated[float, Field(ge=-20.0, le=20.0, allow_inf_nan=False)]


class MovedSent(Sent):
    """Seams moved from where the plan has them; without any, the plan as it is and all its seams."""

    moved: Annotated[list[SeamMovedSent], Field(max_length=200)] = Field(default_factory=list)


class StretchTold(Told):
    """Where a seam lies on one facet: the edges of the sheets below and over, in (s, t), and the way in which it moves forward."""

    facet: str
    forward: tuple[float, float]
    under_m: list[tuple[float, float]]
    over_m: list[tuple[float, float]]


class SeamTold(Told):
    """Sheets that lap along a straight line; it can be moved ``across`` (s or t), where it lies from ``from_m`` to ``to_m``."""

    id: str
    edges: list[tuple[dict[str, Any], int]]
    surface: str
    across: Literal["s", "t"]
    from_m: float
    to_m: float
    lap_m: float
    stretches: list[StretchTold]


class JudgedTold(Told):
    """The proof of a covering, the pieces that lie otherwise than in the plan, and sheets that are as wide as their roll."""

    tight: bool
    least_lap_m: float | None
    spare_m: float | None
    where: str
    failures: list[str]
    held: list[str]
    pieces: list[dict[str, Any]]
    seams: list[SeamTold]
