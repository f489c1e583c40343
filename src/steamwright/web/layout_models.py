"""What goes over the wire about other layouts, and about remnants."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Query

from steamwright.web.models import RunTold, Told

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


class FoundTold(Told):
    """What the last search of a job found beside the plan of a ``revision``, the cheapest first, with the plan's own layout among them.

    It is empty where nothing was found yet, or the revision is laid otherwise since. ``going`` is the search that is on its way.
    """

    going: RunTold | None
    run: str
    revision: int
    ended_early: bool
    layouts: list[LayoutTold]


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
