"""What goes over the wire of shapes, sketches and examples to begin with, and of rules."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from steamwright.web.models import ReadingToTake, Sent, Told


class ShapeTold(Told):
    """A plan shape to begin with."""

    id: str
    name: str
    points_m: list[tuple[float, float]]


class ExampleTold(Told):
    """A job file to begin with."""

    id: str
    name: str
    about: str
    toml: str


class SketchSent(Sent):
    """Corners as they were tapped, in order."""

    points_m: Annotated[list[tuple[float, float]], Field(max_length=100)]


class SketchTold(Told):
    """Stations made of the corners, and what to tape."""

    stations: list[str]
    walls: list[str]
    turns: dict[str, Literal["left", "right"]]
    approximate_m: dict[str, tuple[float, float]]
    readings: list[ReadingToTake]


class RuleTold(Told):
    """A rule and how well it is known."""

    id: str
    title: str
    limit: str
    level: str
    check: str
    source: str
    clause: str
    how_known: str
    chapter: str
