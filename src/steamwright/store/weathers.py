"""The year of hourly weather in which the build-ups of a job are compared."""

from __future__ import annotations

import hashlib
import zlib

from steamwright.store.database import Database
from steamwright.store.errors import NotKeptError
from steamwright.store.model import KeptWeather
from steamwright.store.tables import JobTable, WeatherTable


class Weathers:
    """The weather files of a database, one for each job that has any."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def keep(self, job: str, name: str, text: str, source: str, by: str, now_s: int) -> KeptWeather:
        """Keep a file in place of the one before."""
        plain = text.encode("utf-8", "replace")
        kept = KeptWeather(name, hashlib.sha256(name.encode() + b"\0" + plain).hexdigest(), source, by, now_s, zlib.compress(plain))
        with self._database.writing() as session:
            if session.get(JobTable, job, with_for_update=True) is None:
                raise NotKeptError(f"there is no job {job}", path="job")
            session.merge(WeatherTable(job_id=job, name=name, digest=kept.digest, source=source, sent_by=by, sent_s=now_s,
                                       content=kept.content))
        return kept

    def of_job(self, job: str) -> KeptWeather | None:
        """The file of a job, if it has one."""
        with self._database.reading() as session:
            kept = session.get(WeatherTable, job)
            return None if kept is None else KeptWeather(kept.name, kept.digest, kept.source, kept.sent_by, kept.sent_s, kept.content)

    def drop(self, job: str) -> None:
        """Forget the file of a job; what was compared in it stays."""
        with self._database.writing() as session:
            kept = session.get(WeatherTable, job)
            if kept is not None:
                session.delete(kept)
