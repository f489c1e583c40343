"""What goes over the wire about other layouts, and about remnants."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Query

from steamwright.web.models import Told

LayoutId = Annotated[str, Query(pattern=r"^[0-9a-f]{32}$")]


class TakesTold(Told):
    """What a layout takes; ``pieces`` counts those cut from rolls."""

    material_m2: float
    seam_m: float
    minutes: float
    pieces: int
    usd: float


class ProofTold(Told):
    """What the proof says of a layout."""

    tight: bool
    least_lap_m: float | None
    where: str
    failures: list[str]


class LayoutTold(Told):
    """A layout beside others: ``choose`` is what the job's table of the covering has to say to get it, by key.

    Proof and pieces are null for what the plan lays, which is ``chosen`` and has no ``id`` to plan from.
    """

    id: str
    name: str
    choose: dict[str, str]
    account: TakesTold
    tight: bool
    least_lap_m: float | None
    differs_ratio: float
    chosen: bool
    proof: ProofTold | None
    pieces: list[dict[str, Any]] | None


class RemnantRow(Told):
    """A remnant as a job lists it: sizes are text with a unit."""

    id: str
    material: str
    length: str
    width: str
    origin: str


class RemnantsTold(Told):
    """What is on hand, and how many ids have been given."""

    given: int
    remnant: list[RemnantRow]
