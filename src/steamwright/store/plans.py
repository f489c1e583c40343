"""Plans by the hash of what they were made from, and their files."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from steamwright.store.database import Database
from steamwright.store.errors import NotKeptError
from steamwright.store.model import FileRow, KeptPlan
from steamwright.store.tables import PlanFileTable, PlannedTable, PlanTable


class Plans:
    """The plans of a database. A file is there whole or not at all; what is there never changes."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def begin(self, key: str, job: str, number: int, now_s: int) -> bool:
        """Note that a revision has this plan; whether the plan is finished already."""
        try:
            return self._begin(key, job, number, now_s)
        except IntegrityError:  # somebody else began the same plan at the same moment
            return self._begin(key, job, number, now_s)

    def _begin(self, key: str, job: str, number: int, now_s: int) -> bool:
        with self._database.writing() as session:
            plan = session.get(PlanTable, key)
            if plan is None:
                plan = PlanTable(key=key, finished=False, summary="{}", made_s=now_s)
                session.add(plan)
                session.flush()
            session.merge(PlannedTable(job_id=job, number=number, plan_key=key))
            return plan.finished

    def key_of_revision(self, job: str, number: int) -> str | None:
        """The plan that a revision has now, finished or not; ``None`` before it was ever begun."""
        with self._database.reading() as session:
            planned = session.get(PlannedTable, (job, number))
            return None if planned is None else planned.plan_key

    def keep_files(self, key: str, files: Sequence[tuple[str, bytes]]) -> tuple[FileRow, ...]:
        """Keep files, all or none; one that is there already stays."""
        rows = tuple(FileRow(path, len(content), hashlib.sha256(content).hexdigest()) for path, content in files)
        with self._database.writing() as session:
            if session.get(PlanTable, key, with_for_update=True) is None:
                raise NotKeptError("there is no such plan", path="plan")
            there = set(session.scalars(select(PlanFileTable.path).where(PlanFileTable.plan_key == key)))
            new = [(row, content) for row, (_, content) in zip(rows, files, strict=True) if row.path not in there]
            session.add_all(
                PlanFileTable(plan_key=key, path=row.path, place=len(there) + i, size=row.size, digest=row.digest, content=content)
                for i, (row, content) in enumerate(new)
            )
        return rows

    def keep_summary(self, key: str, summary: Mapping[str, Any]) -> None:
        """Keep the figures of a plan."""
        with self._database.writing() as session:
            plan = session.get(PlanTable, key)
            if plan is not None:
                plan.summary = json.dumps(summary)

    def finish(self, key: str) -> None:
        """All files are there."""
        with self._database.writing() as session:
            plan = session.get(PlanTable, key)
            if plan is not None:
                plan.finished = True

    def of_revision(self, job: str, number: int) -> KeptPlan:
        """What is kept of the plan of a revision."""
        with self._database.reading() as session:
            plan = session.scalars(select(PlanTable).join(PlannedTable, PlannedTable.plan_key == PlanTable.key)
                                   .where(PlannedTable.job_id == job, PlannedTable.number == number)).one_or_none()
            if plan is None:
                raise NotKeptError("this revision is not planned yet", path="plan", hint="start planning")
            rows = session.execute(select(PlanFileTable.path, PlanFileTable.size, PlanFileTable.digest)
                                   .where(PlanFileTable.plan_key == plan.key).order_by(PlanFileTable.place, PlanFileTable.path))
            return KeptPlan(plan.key, plan.finished, json.loads(plan.summary), tuple(FileRow(*row) for row in rows))

    def file(self, job: str, number: int, path: str) -> tuple[FileRow, bytes]:
        """One file of the plan of a revision."""
        with self._database.reading() as session:
            kept = session.scalars(select(PlanFileTable).join(PlannedTable, PlannedTable.plan_key == PlanFileTable.plan_key)
                                   .where(PlannedTable.job_id == job, PlannedTable.number == number, PlanFileTable.path == path)
                                   ).one_or_none()
            if kept is None:
                raise NotKeptError(f"there is no file {path} of this revision", path="path", hint="it may not be made yet")
            return FileRow(kept.path, kept.size, kept.digest), kept.content

    def content(self, key: str, path: str) -> bytes:
        """One file of a plan."""
        with self._database.reading() as session:
            kept = session.get(PlanFileTable, (key, path))
            if kept is None:
                raise NotKeptError(f"there is no file {path} of this plan", path="path", hint="it may not be made yet")
            return kept.content

    def is_finished(self, key: str) -> bool:
        """Whether all files of a plan are there."""
        with self._database.reading() as session:
            return bool(session.scalar(select(PlanTable.finished).where(PlanTable.key == key)))
