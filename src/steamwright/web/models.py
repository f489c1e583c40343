"""What goes over the wire."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from steamwright.room.survey_model import SurveyReport
from steamwright.service.planning import Run as KeptRun
from steamwright.service.planning import State
from steamwright.store.model import JobRow as KeptJobRow
from steamwright.store.model import Revision as KeptRevision
from steamwright.store.model import RevisionRow as KeptRevisionRow

JobId = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Number = Annotated[int, Field(ge=1, le=1_000_000_000)]
Line = Annotated[str, StringConstraints(max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$")]
Draft = Annotated[dict[str, Any], Field(description="The tables and keys of a job file, complete or not; quantities are text with a unit.")]


class Sent(BaseModel):
    """A body that comes in: unknown keys are mistakes."""

    model_config = ConfigDict(extra="forbid")


class Told(BaseModel):
    """A body that goes out; every key is always there."""

    model_config = ConfigDict(from_attributes=True, json_schema_serialization_defaults_required=True)


class MistakeTold(Told):
    """One mistake: where in the draft, what is wrong, what to do."""

    path: str
    detail: str
    hint: str = ""
    line: int | None = None
    code: str = "input"


class Problem(Told):
    """Why a request was not done (application/problem+json)."""

    type: str = "about:blank"
    title: str
    status: int
    code: str
    detail: str
    mistakes: list[MistakeTold] = []


class SoFarTold(Told):
    """Where a search is: roll that its best so far takes, before it is cut, and what no layout takes less than, where that is known."""

    used_m2: float
    lower_m2: float | None


class RunTold(Told):
    """How far a plan, a comparison or a search is."""

    id: str
    job: str
    revision: int
    state: State
    step: str
    steps: int
    files: list[str]
    mistakes: list[MistakeTold]
    detail: str
    so_far: SoFarTold | None


class JobRowTold(Told):
    """A job in the list."""

    id: str
    name: str
    head: int
    saved_at: datetime
    saved_by: str
    archived: bool


class RevisionRowTold(Told):
    """A saved change. ``aside``: kept beside the main line; ``planned``: a finished plan is kept."""

    number: int
    based_on: int
    aside: bool
    saved_at: datetime
    saved_by: str
    note: str
    digest: str
    planned: bool


class RevisionTold(RevisionRowTold):
    """A saved change with what was typed."""

    draft: Draft


class SavedTold(RevisionTold):
    """What was saved. ``run`` plans it, where that was asked for; what keeps it from being planned is told as a run that failed."""

    run: RunTold | None = None


class JobTold(Told):
    """A job as it is now. ``mistakes`` are those of a job file just brought in."""

    id: str
    archived: bool
    head: int
    revision: RevisionTold
    mistakes: list[MistakeTold] = []


class CollisionTold(Problem):
    """Two people saved at once; both versions are kept."""

    yours: RevisionTold
    theirs: RevisionTold


class CreateSent(Sent):
    """A new job."""

    draft: Draft
    note: Line = ""


class ImportSent(Sent):
    """The text of a job file."""

    toml: Annotated[str, Field(max_length=1_000_000)]


class SaveSent(Sent):
    """A change, and the revision that it was based on; ``plan`` begins to plan it at once."""

    draft: Draft
    based_on: Number
    note: Line = ""
    plan: bool = False


class RestoreSent(Sent):
    """The head that the person saw when he went back; ``plan`` begins to plan what becomes the head."""

    based_on: Number
    plan: bool = False


class ArchiveSent(Sent):
    """Put away or take out."""

    archived: bool


class DraftSent(Sent):
    """A draft to look at; nothing is kept."""

    draft: Draft


class CheckedTold(Told):
    """Whether a draft is a whole job, and what it lacks."""

    complete: bool
    mistakes: list[MistakeTold]


class ReadingToTake(Told):
    """A reading that is still to be taken."""

    kind: str
    of: str


class SurveyTold(Told):
    """The survey adjusted, or what stands in the way."""

    report: SurveyReport | None
    tape_again: list[str]
    next: list[ReadingToTake]
    mistakes: list[MistakeTold]


class ChangeTold(Told):
    """A value that differs; null where it is not there."""

    path: str
    before: Any
    after: Any


class ComparisonTold(Told):
    """What differs between two revisions."""

    changes: list[ChangeTold]
    figures: list[ChangeTold]


class SheetTold(Told):
    """A sheet of the drawings."""

    path: str
    number: str
    title: str


class FileTold(Told):
    """A file that can be fetched."""

    path: str
    media_type: str
    size: int
    digest: str


class PlanTold(Told):
    """What is kept of the plan of a revision."""

    key: str
    finished: bool
    summary: dict[str, Any]
    sheets: list[SheetTold]
    files: list[FileTold]


class PlanPartsTold(Told):
    """plan.json as ``parts``; those alone that differ from the plan of the run ``beside``, unless that is null."""

    beside: str | None
    parts: dict[str, Any]


class LaidTold(Told):
    """``room`` and ``covering.pieces`` of a plan.json that is not proven yet."""

    room: dict[str, Any]
    pieces: list[dict[str, Any]]


def revision_row_told(row: KeptRevisionRow) -> RevisionRowTold:
    """Tell of a revision without its content.

    Parameters
    ----------
    row : RevisionRow
        What the store holds.

    Returns
    -------
    told : RevisionRowTold
        With the time as text.

    References
    ----------
    own derivation
    """
    return RevisionRowTold(saved_at=told_time(row.saved_s), **values_of(row, RevisionRowTold))


def revision_told(kept: KeptRevision) -> RevisionTold:
    """Tell of a revision.

    Parameters
    ----------
    kept : Revision
        What the store holds.

    Returns
    -------
    told : RevisionTold
        With what was typed.

    References
    ----------
    own derivation
    """
    return RevisionTold(draft=kept.draft, **dict(revision_row_told(kept.row)))


def job_row_told(row: KeptJobRow) -> JobRowTold:
    """Tell of a job in the list.

    Parameters
    ----------
    row : JobRow
        What the store holds.

    Returns
    -------
    told : JobRowTold
        With the time as text.

    References
    ----------
    own derivation
    """
    return JobRowTold(saved_at=told_time(row.saved_s), **values_of(row, JobRowTold))


def run_told(run: KeptRun) -> RunTold:
    """Tell how far a plan is.

    Parameters
    ----------
    run : Run
        What the service knows.

    Returns
    -------
    told : RunTold
        The same.

    References
    ----------
    own derivation
    """
    return RunTold.model_validate(run)


def told_time(seconds: int) -> datetime:
    """Tell a time as text goes over the wire.

    Parameters
    ----------
    seconds : int
        Since 1970 UTC. [s]

    Returns
    -------
    time : datetime
        The same in UTC.

    References
    ----------
    own derivation
    """
    return datetime.fromtimestamp(seconds, UTC)


def values_of(kept: object, model: type[BaseModel]) -> dict[str, Any]:
    """Take from what is kept all that a body tells by the same name.

    Parameters
    ----------
    kept : object
        What the store holds.
    model : type
        What goes out.

    Returns
    -------
    values : dict
        By name of the field.

    References
    ----------
    own derivation
    """
    return {name: getattr(kept, name) for name in model.model_fields if hasattr(kept, name)}
