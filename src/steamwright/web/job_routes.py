"""Jobs and their revisions."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse, PlainTextResponse

from steamwright.errors import Mistake
from steamwright.plan.job import Job
from steamwright.service.checking import job_of
from steamwright.service.desk import Desk
from steamwright.store.model import Saved
from steamwright.web.guard import Reads, TheDesk, Writes
from steamwright.web.models import (
    ArchiveSent,
    ChangeTold,
    CollisionTold,
    ComparisonTold,
    CreateSent,
    ImportSent,
    JobId,
    JobRowTold,
    JobTold,
    MistakeTold,
    Number,
    RestoreSent,
    RevisionRowTold,
    RevisionTold,
    SavedTold,
    SaveSent,
    job_row_told,
    revision_row_told,
    revision_told,
    run_told,
)
from steamwright.web.problems import MEDIA_TYPE, collision

router = APIRouter(prefix="/api/jobs", tags=["jobs"])
_COLLIDES: dict[int | str, dict[str, Any]] = {409: {"description": "Somebody saved in between; both versions are kept.", "content": {
    MEDIA_TYPE: {"schema": {"$ref": f"#/components/schemas/{CollisionTold.__name__}"}}}}}


@router.get("")
def list_jobs(desk: TheDesk, who: Reads, archived: bool = False) -> list[JobRowTold]:
    """Jobs, the latest touched first; a guest sees his one."""
    rows = [job_row_told(row) for row in desk.jobs.list(archived=archived)]
    return [row for row in rows if who.job in (None, row.id)]


@router.post("", status_code=201)
def create_job(body: CreateSent, desk: TheDesk, who: Writes) -> JobTold:
    """Begin a job; its draft may be empty."""
    return _job(desk, desk.create(body.draft, who.name, body.note))


@router.post("/import", status_code=201)
def import_job(body: ImportSent, desk: TheDesk, who: Writes) -> JobTold:
    """Begin a job from a job file; mistakes that can be mended later come with it."""
    job, mistakes = desk.import_toml(body.toml, who.name)
    return _job(desk, job, mistakes)


@router.get("/{job}")
def open_job(job: JobId, desk: TheDesk, _who: Reads) -> JobTold:
    """A job as it is now."""
    return _job(desk, job)


@router.patch("/{job}")
def archive_job(job: JobId, body: ArchiveSent, desk: TheDesk, _who: Writes) -> JobTold:
    """Put a job away or take it out again; nothing is ever removed."""
    desk.jobs.archive(job, body.archived)
    return _job(desk, job)


@router.put("/{job}", responses=_COLLIDES, response_model=SavedTold)
def save_job(job: JobId, body: SaveSent, desk: TheDesk, who: Writes) -> SavedTold | JSONResponse:
    """Save a change. It may be repeated: what the head says already is not kept twice."""
    return _saved(desk, job, desk.save(job, body.draft, body.based_on, who.name, body.note), body.plan)


@router.get("/{job}/revisions")
def list_revisions(job: JobId, desk: TheDesk, _who: Reads) -> list[RevisionRowTold]:
    """The history of a job, the latest first."""
    return [revision_row_told(row) for row in desk.jobs.history(job)]


@router.get("/{job}/revisions/{number}")
def open_revision(job: JobId, number: Number, desk: TheDesk, _who: Reads) -> RevisionTold:
    """A job as it was."""
    return revision_told(desk.jobs.revision(job, number))


@router.post("/{job}/revisions/{number}/restore", responses=_COLLIDES, response_model=SavedTold)
def restore_revision(job: JobId, number: Number, body: RestoreSent, desk: TheDesk, who: Writes) -> SavedTold | JSONResponse:
    """Go back: what this revision says becomes a new head."""
    return _saved(desk, job, desk.go_back(job, number, body.based_on, who.name), body.plan)


@router.get("/{job}/compare")
def compare_revisions(job: JobId, one: Annotated[Number, Query()], other: Annotated[Number, Query()], desk: TheDesk,
                      _who: Reads) -> ComparisonTold:
    """What differs between two revisions."""
    found = desk.compare(job, one, other)
    return ComparisonTold(changes=[ChangeTold.model_validate(c) for c in found.changes],
                          figures=[ChangeTold.model_validate(c) for c in found.figures])


@router.get("/{job}/revisions/{number}/job.toml", response_class=PlainTextResponse)
def export_job(job: JobId, number: Number, desk: TheDesk, _who: Reads) -> PlainTextResponse:
    """A revision as a job file."""
    return PlainTextResponse(desk.export_toml(job, number), headers={"Content-Disposition": 'attachment; filename="job.toml"'})


@router.get("/{job}/revisions/{number}/job", response_model=Job)
def read_job_in_si(job: JobId, number: Number, desk: TheDesk, _who: Reads) -> Job:
    """A revision as a whole job in SI."""
    return job_of(desk.jobs.revision(job, number).draft)


def _job(desk: Desk, job: str, mistakes: tuple[Mistake, ...] = ()) -> JobTold:
    row = desk.jobs.row(job)
    revision = desk.jobs.revision(job)
    return JobTold(id=row.id, archived=row.archived, head=revision.row.number, revision=revision_told(revision),
                   mistakes=[MistakeTold.model_validate(m) for m in mistakes])


def _saved(desk: Desk, job: str, saved: Saved, plan: bool) -> SavedTold | JSONResponse:
    if saved.collided:
        return collision(saved)
    run = run_told(desk.plan_saved(job, saved.yours)) if plan else None
    return SavedTold(**dict(revision_told(saved.yours)), run=run)
