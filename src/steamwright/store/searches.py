"""What the last search for other layouts of each job found."""

from __future__ import annotations

from sqlalchemy import delete, select

from steamwright.store.database import Database
from steamwright.store.errors import NotKeptError
from steamwright.store.model import KeptLayout, KeptSearch
from steamwright.store.tables import FoundLayoutTable, JobTable, SearchTable


class Searches:
    """The found layouts of a database: those of the last search of each job, all of them or none."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def keep(self, job: str, found: KeptSearch) -> None:
        """Keep what a search found in place of what the one before did."""
        with self._database.writing() as session:
            if session.get(JobTable, job, with_for_update=True) is None:
                raise NotKeptError(f"there is no job {job}", path="job")
            session.execute(delete(FoundLayoutTable).where(FoundLayoutTable.job_id == job))
            session.execute(delete(SearchTable).where(SearchTable.job_id == job))
            session.add(SearchTable(job_id=job, run=found.run, number=found.number, beside=found.beside, program=found.program,
                                    wishes=found.wishes, ended_early=found.ended_early, told=found.told))
            session.flush()
            session.add_all(FoundLayoutTable(job_id=job, id=one.id, wishes=one.wishes, covering=one.covering) for one in found.layouts)

    def of_job(self, job: str) -> KeptSearch | None:
        """What the last search found; ``None`` before any did."""
        with self._database.reading() as session:
            kept = session.get(SearchTable, job)
            if kept is None:
                return None
            rows = session.scalars(select(FoundLayoutTable).where(FoundLayoutTable.job_id == job).order_by(FoundLayoutTable.id))
            layouts = tuple(KeptLayout(row.id, row.wishes, row.covering) for row in rows)
            return KeptSearch(kept.run, kept.number, kept.beside, kept.program, kept.wishes, kept.ended_early, kept.told, layouts)
