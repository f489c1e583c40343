"""The plan: every derived value of one job, frozen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steamwright.buildup.model import BuildUp
from steamwright.covering.boards.model import NO_BOARDS, Boards
from steamwright.covering.model import Covering
from steamwright.estimate.model import OrderLine
from steamwright.plan.job import Job
from steamwright.room.model import Solid
from steamwright.room.pan import PanReport
from steamwright.room.survey_model import SurveyReport
from steamwright.rules.model import Finding
from steamwright.vapor.report import Vapor
from steamwright.vapor.steam_model import SteamLoad

if TYPE_CHECKING:
    from steamwright.vapor.compare import Comparison


@dataclass(frozen=True, slots=True)
class Hashes:
    """Content hashes of what the plan was made from."""

    job: str
    catalog: str
    rules: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything derived from one job. ``room`` lies on the membrane face, ``framing`` and ``finished`` are the same
    room on the framing face and on the tile; ``boards`` lie on the framing face; ``comparison`` is there where it was asked for, and
    ``mends`` says what would make a covering lap-tight that is not."""

    job: Job
    hashes: Hashes
    survey: SurveyReport
    room: Solid
    framing: Solid
    finished: Solid
    pan: PanReport
    buildups: tuple[BuildUp, ...]
    covering: Covering
    order: tuple[OrderLine, ...]
    findings: tuple[Finding, ...]
    stopped_early: bool = False
    boards: Boards = NO_BOARDS
    vapor: Vapor | None = None
    steam: SteamLoad | None = None
    comparison: Comparison | None = None
    mends: str = ""
