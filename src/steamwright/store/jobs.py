"""Jobs and their revisions: every save is kept, and two people on one job lose nothing."""

from __future__ import annotations

import hashlib
import json
import uuid

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from steamwright.store.database import Database
from steamwright.store.errors import NotKeptError
from steamwright.store.model import Draft, JobRow, Revision, RevisionRow, Saved
from steamwright.store.tables import JobTable, PlannedTable, PlanTable, RevisionTable

LONGEST_NAME = 200


class Jobs:
    """The jobs of a database. Times are given by the caller; nothing here reads a clock."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def create(self, draft: Draft, by: str, note: str, now_s: int) -> str:
        """Keep a new job; its id."""
        job = uuid.uuid4().hex
        with self._database.writing() as session:
            session.add(JobTable(id=job, head=1, last=1, name=name_of(draft), archived=False, touched_s=now_s))
            session.flush()
            session.add(_revision(job, 1, 0, draft, by, note, now_s))
        return job

    def list(self, *, archived: bool = False) -> tuple[JobRow, ...]:
        """All jobs, the latest touched first."""
        query = (
            select(JobTable, RevisionTable.saved_s, RevisionTable.saved_by)
            .join(RevisionTable, (RevisionTable.job_id == JobTable.id) & (RevisionTable.number == JobTable.head))
            .where(JobTable.archived.is_(archived))
            .order_by(JobTable.touched_s.desc(), JobTable.id)
        )
        with self._database.reading() as session:
            return tuple(JobRow(j.id, j.name, j.head, saved_s, saved_by, j.archived) for j, saved_s, saved_by in session.execute(query))

    def row(self, job: str) -> JobRow:
        """One job as in the list."""
        with self._database.reading() as session:
            kept = _job(session, job)
            head = _kept(session, job, kept.head)
            return JobRow(kept.id, kept.name, kept.head, head.saved_s, head.saved_by, kept.archived)

    def archive(self, job: str, archived: bool) -> None:
        """Put a job away or take it out again."""
        with self._database.writing() as session:
            _job(session, job).archived = archived

    def revision(self, job: str, number: int | None = None) -> Revision:
        """One revision; the head if no number is given."""
        with self._database.reading() as session:
            kept = _job(session, job)
            return _read(session, _kept(session, job, kept.head if number is None else number))

    def history(self, job: str) -> tuple[RevisionRow, ...]:
        """All revisions, the latest first."""
        with self._database.reading() as session:
            _job(session, job)
            query = (
                select(RevisionTable, PlanTable.finished)
                .outerjoin(PlannedTable, (PlannedTable.job_id == RevisionTable.job_id) & (PlannedTable.number == RevisionTable.number))
                .outerjoin(PlanTable, PlanTable.key == PlannedTable.plan_key)
                .where(RevisionTable.job_id == job)
                .order_by(RevisionTable.number.desc())
            )
            return tuple(_row(kept, bool(finished)) for kept, finished in session.execute(query))

    def save(self, job: str, draft: Draft, based_on: int, by: str, note: str, now_s: int) -> Saved:
        """Keep a change.

        It becomes the head if the head is what it was based on. What the head says already is not kept twice, so that
        a save may be repeated. If somebody else had saved in between it is kept aside and both are handed back.
        """
        with self._database.writing() as session:
            row = session.scalars(select(JobTable).where(JobTable.id == job).with_for_update()).one_or_none()
            if row is None:
                raise _no_job(job)
            base = _kept(session, job, based_on)
            head = base if base.number == row.head else _kept(session, job, row.head)
            digest = digest_of(draft)
            if head.digest == digest:
                return Saved(_read(session, head))
            free = head.number == based_on
            if not free:
                earlier = session.scalars(_same_aside(job, based_on, digest)).first()
                if earlier is not None:
                    return Saved(_read(session, earlier), _read(session, head))
            row.last += 1
            kept = _revision(job, row.last, based_on, draft, by, note, now_s, aside=not free)
            session.add(kept)
            row.touched_s = now_s
            if free:
                row.head, row.name = row.last, name_of(draft)
            session.flush()
            return Saved(_read(session, kept), None if free else _read(session, head))


def name_of(draft: Draft) -> str:
    """What a draft calls itself, as a list shows it.

    Parameters
    ----------
    draft : dict
        What was typed so far.

    Returns
    -------
    name : str
        Short, on one line, perhaps empty.

    References
    ----------
    own derivation
    """
    said = draft.get("name")
    return " ".join(said.replace("\0", " ").split())[:LONGEST_NAME] if isinstance(said, str) else ""


def digest_of(draft: Draft) -> str:
    """Name a draft by its content, whatever the order of its keys.

    Parameters
    ----------
    draft : dict
        What was typed so far.

    Returns
    -------
    digest : str
        64 hexadecimal digits.

    References
    ----------
    own derivation
    """
    return hashlib.sha256(json.dumps(draft, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def _revision(job: str, number: int, based_on: int, draft: Draft, by: str, note: str, now_s: int, *, aside: bool = False) -> RevisionTable:
    text = json.dumps(draft, separators=(",", ":"))
    return RevisionTable(job_id=job, number=number, based_on=based_on, aside=aside, draft=text, digest=digest_of(draft), note=note,
                         saved_by=by, saved_s=now_s)


def _same_aside(job: str, based_on: int, digest: str) -> Select[RevisionTable]:
    """A save that collided and is sent again."""
    kept = RevisionTable
    return select(kept).where(kept.job_id == job, kept.based_on == based_on, kept.digest == digest, kept.aside.is_(True))


def _job(session: Session, job: str) -> JobTable:
    kept = session.get(JobTable, job)
    if kept is None:
        raise _no_job(job)
    return kept


def _no_job(job: str) -> NotKeptError:
    return NotKeptError(f"there is no job {job}", path="job", hint="look in the list of jobs")


def _kept(session: Session, job: str, number: int) -> RevisionTable:
    kept = session.scalars(select(RevisionTable).where(RevisionTable.job_id == job, RevisionTable.number == number)).one_or_none()
    if kept is None:
        raise NotKeptError(f"this job has no revision {number}", path="revision", hint="look in its history")
    return kept


def _read(session: Session, kept: RevisionTable) -> Revision:
    query = (select(PlanTable.finished).join(PlannedTable, PlannedTable.plan_key == PlanTable.key)
             .where(PlannedTable.job_id == kept.job_id, PlannedTable.number == kept.number))
    return Revision(_row(kept, bool(session.scalar(query))), json.loads(kept.draft))


def _row(kept: RevisionTable, planned: bool) -> RevisionRow:
    return RevisionRow(kept.number, kept.based_on, kept.aside, kept.saved_s, kept.saved_by, kept.note, kept.digest, planned)
