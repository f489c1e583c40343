"""The use cases of people with jobs, over one database."""

from __future__ import annotations

import json
import time
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from steamwright.errors import InputError, Mistake
from steamwright.service.checking import draft_of_toml, job_of, kept_draft, mistakes_of_error
from steamwright.service.comparing import Change, changes
from steamwright.service.judging import Judged, Judging
from steamwright.service.log_in import Door
from steamwright.service.parts import changed_parts
from steamwright.service.planning import PLAN, Planning, Run
from steamwright.service.remnants import remnants_left
from steamwright.service.toml_writing import toml_of
from steamwright.store.database import Database
from steamwright.store.errors import NotKeptError
from steamwright.store.jobs import Jobs
from steamwright.store.model import Draft, KeptPlan, KeptWeather, Revision, Saved
from steamwright.store.people import People
from steamwright.store.plans import Plans
from steamwright.store.searches import Searches
from steamwright.store.weathers import Weathers
from steamwright.vapor.weather_files import read_weather


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two revisions; figures only where both are planned."""

    changes: tuple[Change, ...]
    figures: tuple[Change, ...]


def clock_s() -> int:
    """The time of day.

    Returns
    -------
    now_s : int
        Seconds since 1970 UTC. [s]

    References
    ----------
    own derivation
    """
    return int(time.time())


class Desk:
    """Where people work on their jobs.

    Parameters
    ----------
    url : str
        Address of the database.
    workers : int
        How many plans are made at once.
    now_s : callable
        The clock.
    """

    def __init__(self, url: str, workers: int = 1, now_s: Callable[[], int] = clock_s) -> None:
        self._now_s = now_s
        self._database = Database(url)
        self.jobs = Jobs(self._database)
        self.plans = Plans(self._database)
        self.weathers = Weathers(self._database)
        self.door = Door(People(self._database), now_s)
        self.planning = Planning(self.plans, Searches(self._database), now_s, workers)
        self.judging = Judging()

    def create(self, draft: Draft, by: str, note: str = "") -> str:
        """Keep a new job; its id."""
        return self.jobs.create(kept_draft(draft), by, note, self._now_s())

    def import_toml(self, text: str, by: str) -> tuple[str, tuple[Mistake, ...]]:
        """Keep a job file as a new job; its id, and what is still wrong in it."""
        draft, mistakes = draft_of_toml(text)
        return self.create(draft, by, "from a job file"), mistakes

    def save(self, job: str, draft: Draft, based_on: int, by: str, note: str = "") -> Saved:
        """Keep a change."""
        return self.jobs.save(job, kept_draft(draft), based_on, by, note, self._now_s())

    def go_back(self, job: str, number: int, based_on: int, by: str) -> Saved:
        """Make what an earlier revision said the head again."""
        earlier = self.jobs.revision(job, number)
        return self.jobs.save(job, earlier.draft, based_on, by, f"back to revision {number}", self._now_s())

    def compare(self, job: str, one: int, other: int) -> Comparison:
        """What differs between two revisions."""
        before, after = self.jobs.revision(job, one), self.jobs.revision(job, other)
        figures = [self._summary(job, number) for number in (one, other)]
        told = changes(figures[0], figures[1]) if figures[0] and figures[1] else ()
        return Comparison(changes(before.draft, after.draft), told)

    def export_toml(self, job: str, number: int) -> str:
        """A revision as a job file."""
        return toml_of(self.jobs.revision(job, number).draft)

    def plan(self, job: str, number: int, layout: str = "") -> Run:
        """Start planning a revision, from a layout that was found for it where one is named."""
        return self.planning.start(job, number, job_of(self.jobs.revision(job, number).draft), layout)

    def search_layouts(self, job: str, number: int, times: int) -> Run:
        """Start looking for other layouts beside the plan of a revision, afresh and so many times as long as its plan was searched."""
        document = self.plans.file(job, number, "plan.json")[1]
        return self.planning.search(job, number, job_of(self.jobs.revision(job, number).draft), document, times)

    def plan_saved(self, job: str, saved: Revision) -> Run:
        """Start planning what was just saved; what keeps it from being planned is told as a run that failed."""
        try:
            return self.planning.start(job, saved.row.number, job_of(saved.draft))
        except InputError as wrong:
            return Run(uuid.uuid4().hex, job, saved.row.number, "", "failed", mistakes=mistakes_of_error(wrong))

    def compare_buildups(self, job: str, number: int, years: int) -> Run:
        """Start comparing the build-ups of a revision, by the hour over some years; 0 leaves the hours out.

        The hours are those of the job's weather file, where it has one.
        """
        weather = self.weathers.of_job(job) if years > 0 else None
        return self.planning.compare(job, number, job_of(self.jobs.revision(job, number).draft), years, weather)

    def keep_weather(self, job: str, name: str, text: str, by: str) -> KeptWeather:
        """Keep a file of hourly weather for a job, if it can be read."""
        return self.weathers.keep(job, name, text, read_weather(text, name).source, by, self._now_s())

    def remnants_left(self, job: str, number: int) -> str:
        """The file of remnants on hand, once the pieces of a revision's plan are cut."""
        return remnants_left(job_of(self.jobs.revision(job, number).draft), self.plans.file(job, number, "plan.json")[1])

    def planned(self, job: str, number: int) -> tuple[KeptPlan, list[dict[str, str]]]:
        """What is kept of the plan of a revision, and its list of sheets."""
        kept = self.plans.of_revision(job, number)
        if not any(f.path == "sheets.json" for f in kept.files):
            return kept, []
        listed: list[dict[str, str]] = json.loads(self.plans.file(job, number, "sheets.json")[1])
        return kept, listed

    def plan_parts(self, run: Run, beside: Run | None) -> tuple[bool, bytes]:
        """plan.json as a run made it: whether it is only what differs from that of an earlier run, and the text."""
        document = self.planning.document(run)
        if beside is not None and beside.job == run.job and beside.planned:
            parts = changed_parts(document, self.planning.document(beside))
            if parts is not None:
                return True, parts
        return False, document

    def judge(self, job: str, number: int, moves: Sequence[tuple[str, float]]) -> Judged:
        """Prove the plan of a revision with some seams moved."""
        kept = self.plans.of_revision(job, number)
        document = self.plans.file(job, number, PLAN)[1]
        return self.judging.judge(kept.key, job_of(self.jobs.revision(job, number).draft), document, moves)

    def close(self) -> None:
        """Stop all work and let go of the database."""
        self.planning.close()
        self.judging.close()
        self._database.close()

    def _summary(self, job: str, number: int) -> dict[str, Any]:
        try:
            return self.plans.of_revision(job, number).summary
        except NotKeptError:
            return {}
