"""Plans made in the background, and other layouts looked for: a few worker processes, a queue, progress, and a way to stop."""

from __future__ import annotations

import logging
import threading
import uuid
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from multiprocessing import Pipe
from queue import Queue
from typing import Literal, TypeVar

from steamwright.covering.model import SoFar
from steamwright.errors import Mistake
from steamwright.plan.job import Job
from steamwright.service.bench import Bench, Worker
from steamwright.service.making import (
    SAID_DIGITS,
    Asked,
    Better,
    Ended,
    Figures,
    Kept,
    Laid,
    Layouts,
    Made,
    Step,
    comparison_path,
    plan_key,
    program,
    wishes_hash,
)
from steamwright.store.errors import NotKeptError
from steamwright.store.model import KeptLayout, KeptSearch, KeptWeather
from steamwright.store.plans import Plans
from steamwright.store.searches import Searches

State = Literal["waiting", "running", "done", "failed", "stopped"]
PLAN = "plan.json"
_T = TypeVar("_T")
_OF_PLANS = (None, 0, "")
_WARM = ""
_REMEMBERED = 500
_DOCUMENTS = 20
_LAST = 60
"""Jobs whose last plan is at hand for the next one of the same room; the others are laid out afresh."""
_CLOSING = "the server is shutting down"
_GONE = "the computation ended without an answer; start it again"
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Last:
    """The last plan of a job, by its key and what was wished of its covering."""

    key: str = ""
    wishes: str = ""
    plan: bytes = b""


@dataclass(frozen=True, slots=True)
class Run:
    """How far the planning of one revision, the comparison of its build-ups, or a search for other layouts is.

    ``count`` grows with every change; ``so_far`` is told of a search, which goes on for a moment once it is ``ending``.
    ``beside`` is the key of the plan beside which it searches. ``planned`` tells whether plan.json can be had; among ``files`` it
    is once it is kept. Until then ``laid`` tells how its pieces lie, once that is known.
    """

    id: str
    job: str
    revision: int
    key: str
    state: State = "waiting"
    step: str = ""
    steps: int = 0
    files: tuple[str, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    detail: str = ""
    compared_years: int | None = None
    planned: bool = False
    laid: bytes = b""
    search_times: int = 0
    beside: str = ""
    weather: str = ""
    so_far: SoFar | None = None
    ending: bool = False
    count: int = 0

    @property
    def kind(self) -> tuple[int | None, int, str]:
        """What is made: runs of one kind for one revision are the same."""
        return self.compared_years, self.search_times, self.weather

    @property
    def over(self) -> bool:
        """Whether nothing more will change."""
        return self.state in ("done", "failed", "stopped")


class Planning:
    """Plans revisions in worker processes and keeps what they make.

    Parameters
    ----------
    plans : Plans
        Where the files go.
    searches : Searches
        Where found layouts go.
    now_s : callable
        The clock.
    workers : int
        How many are planned at once. Comparisons and searches, which take long, have one more place of their own, so that no plan
        waits for them.
    """

    def __init__(self, plans: Plans, searches: Searches, now_s: Callable[[], int], workers: int = 1) -> None:
        self._plans, self._searches, self._now_s = plans, searches, now_s
        self._runs: OrderedDict[str, Run] = OrderedDict()
        self._asked: dict[str, Asked] = {}
        self._last: OrderedDict[str, _Last] = OrderedDict()
        self._documents: OrderedDict[str, bytes] = OrderedDict()
        self._listeners: dict[str, list[Callable[[], object]]] = {}
        self._lock = threading.RLock()
        self._queue: Queue[str | None] = Queue()
        self._long: Queue[str | None] = Queue()
        self._threads = [threading.Thread(target=self._work, args=(queue,), name=f"planning-{i}", daemon=True)
                         for i, queue in enumerate([*[self._queue] * workers, self._long])]
        for thread in self._threads:
            thread.start()

    def start(self, job_id: str, revision: int, job: Job, layout: str = "") -> Run:
        """Plan a revision, unless it is planned or on its way already; from the last plan of the job, where one is at hand.

        A ``layout`` found for the job takes the place of the last plan's, even where the revision is planned; and so does one that
        was found for just what is wished now. What is on its way for an earlier revision of the job is stopped.
        """
        said, wishes = plan_key(job), wishes_hash(job.covering)
        with self._lock:
            last = self._last.get(job_id, _Last())
            going = next((r for r in self._runs.values() if (r.job, r.revision, r.kind) == (job_id, revision, _OF_PLANS)
                          and r.key[:SAID_DIGITS] == said[:SAID_DIGITS] and not r.over), None)
        if going is not None and not layout:
            return going
        taken = None if not layout and last.wishes == wishes else self._layout(job_id, layout, wishes)
        kept = None if layout else self._plans.key_of_revision(job_id, revision)
        if kept is not None and kept[:SAID_DIGITS] == said[:SAID_DIGITS] and self._plans.is_finished(kept):
            key, taken = kept, None
        else:
            key = plan_key(job, last.key if taken is None else taken.id)
        run = Run(uuid.uuid4().hex, job_id, revision, key)
        finished = self._plans.is_finished(key)
        if finished:
            self._plans.begin(key, job_id, revision, self._now_s())
            run = replace(run, files=tuple(f.path for f in self._plans.of_revision(job_id, revision).files), planned=True)
        asked = Asked(job, key, None, last.key, last.plan, b"" if taken is None else taken.covering)
        return self._begin(run, asked, finished)

    def _layout(self, job_id: str, named: str, wishes: str) -> KeptLayout | None:
        """The found layout to plan from: the one that is named, else one that has what is newly wished."""
        found = self._searches.of_job(job_id)
        at_hand = found.layouts if found is not None and found.program == program() else ()
        if named:
            taken = next((one for one in at_hand if one.id == named), None)
            if taken is None or taken.wishes != wishes:
                raise NotKeptError("this layout is not at hand any more", path="layout", hint="look for other layouts once more")
            return taken
        if found is None or found.wishes == wishes:
            return None
        return next((one for one in at_hand if one.wishes == wishes), None)

    def search(self, job_id: str, revision: int, job: Job, document: bytes, times: int) -> Run:
        """Look for other layouts beside the plan of a revision, unless that is on its way already; ``stop`` ends it with its best."""
        beside = self._plans.key_of_revision(job_id, revision) or ""
        run = Run(uuid.uuid4().hex, job_id, revision, plan_key(job), search_times=times, beside=beside)
        return self._begin(run, Asked(job, run.key, search_times=times, document=document), False)

    def found(self, job_id: str) -> KeptSearch | None:
        """What the last search of a job found; ``None`` where it is of another program, or its revision is laid otherwise since."""
        kept = self._searches.of_job(job_id)
        if kept is None or kept.program != program() or kept.beside != self._plans.key_of_revision(job_id, kept.number):
            return None
        return kept

    def searching(self, job_id: str) -> Run | None:
        """The search of a job that is on its way."""
        with self._lock:
            return next((r for r in self._runs.values() if r.job == job_id and r.search_times and not r.over), None)

    def compare(self, job_id: str, revision: int, job: Job, years: int, weather: KeptWeather | None = None) -> Run:
        """Compare the build-ups of a revision, in a year of hourly weather if one is given, unless that is done or on its way already."""
        key = self._plans.key_of_revision(job_id, revision)
        said = plan_key(job)
        if key is None or key[:SAID_DIGITS] != said[:SAID_DIGITS]:
            key = said
        self._plans.begin(key, job_id, revision, self._now_s())
        digest = "" if weather is None else weather.digest
        files = tuple(f.path for f in self._plans.of_revision(job_id, revision).files if f.path == comparison_path(years, digest))
        run = Run(uuid.uuid4().hex, job_id, revision, key, files=files, compared_years=years, weather=digest)
        return self._begin(run, Asked(job, key, years, weather=weather), bool(files))

    def _begin(self, run: Run, asked: Asked, finished: bool) -> Run:
        with self._lock:
            same = (run.key, run.job, run.revision, run.kind)
            going = next((r for r in self._runs.values() if (r.key, r.job, r.revision, r.kind) == same and not r.over), None)
            if going is not None:
                return going
            if run.kind == _OF_PLANS:
                self._stop_earlier(run.job, run.revision)
            run = replace(run, state="done") if finished else run
            self._runs[run.id] = run
            self._forget()
            if not finished:
                self._asked[run.id] = asked
                (self._queue if run.kind == _OF_PLANS else self._long).put(run.id)
            return run

    def warm(self) -> None:
        """Begin the workers before anybody asks, so that the first plan does not wait for them."""
        for _ in self._threads[:-1]:
            self._queue.put(_WARM)

    def run(self, run_id: str) -> Run:
        """How far a run is."""
        with self._lock:
            return self._known(run_id)

    def document(self, run: Run) -> bytes:
        """plan.json as a run made it."""
        with self._lock:
            at_hand = self._documents.get(run.key)
        return self._plans.content(run.key, PLAN) if at_hand is None else at_hand

    def known_run(self, run_id: str | None) -> Run | None:
        """How far a run was, if it is remembered."""
        with self._lock:
            return self._runs.get(run_id or "")

    @contextmanager
    def listening(self, run_id: str, told: Callable[[], object]) -> Iterator[None]:
        """Call a function, from whatever thread, every time that a run has changed."""
        with self._lock:
            self._known(run_id)
            self._listeners.setdefault(run_id, []).append(told)
        try:
            yield
        finally:
            with self._lock:
                self._listeners[run_id].remove(told)
                if not self._listeners[run_id]:
                    del self._listeners[run_id]

    def stop(self, run_id: str) -> Run:
        """Stop a run; what is finished stays finished, and a search ends with its best so far."""
        with self._lock:
            run = self._known(run_id)
            if run.search_times and run.state == "running":
                run = self._change(run_id, ending=True)
            elif not run.over:
                run = self._change(run_id, state="stopped")
            return run

    def close(self) -> None:
        """Stop everything and end the workers."""
        with self._lock:
            for run in list(self._runs.values()):
                if not run.over:
                    self._change(run.id, state="stopped", detail=_CLOSING)  # whoever follows it knows that nobody chose to stop it
        for _ in self._threads[:-1]:
            self._queue.put(None)
        self._long.put(None)
        for thread in self._threads:
            thread.join(10)

    def _stop_earlier(self, job_id: str, revision: int) -> None:
        for run in [r for r in self._runs.values() if r.job == job_id and r.revision < revision and r.kind == _OF_PLANS]:
            self._change(run.id, state="stopped")

    def _known(self, run_id: str) -> Run:
        if run_id not in self._runs:
            raise NotKeptError("this run is not known", path="run", hint="start planning again; what was planned before is kept")
        return self._runs[run_id]

    def _forget(self) -> None:
        for run_id in [r.id for r in self._runs.values() if r.over][: max(len(self._runs) - _REMEMBERED, 0)]:
            del self._runs[run_id]

    def _change(self, run_id: str, **values: object) -> Run:
        """Note something new about a run that is not over."""
        with self._lock:
            run = self._runs[run_id]
            if not run.over:
                run = replace(run, count=run.count + 1, **values)  # type: ignore[arg-type]
                run = replace(run, laid=b"") if run.over else run
                self._runs[run_id] = run
                for told in self._listeners.get(run_id, ()):
                    told()
            return run

    def _work(self, queue: Queue[str | None]) -> None:
        """One place at the bench: takes run after run, with worker processes that it keeps as long as it serves."""
        bench = Bench(1 if queue is self._long else 2)
        while (run_id := queue.get()) is not None:
            if run_id == _WARM:
                bench.warm()
                continue
            asked = self._asked.pop(run_id)
            if self.run(run_id).over:
                continue
            self._change(run_id, state="running", step="starting")
            worker = bench.worker(asked.before_key)
            try:
                self._follow(run_id, worker, asked)
            except Exception:
                _log.exception("planning failed")
                self._change(run_id, state="failed", detail=_GONE)
                bench.drop(worker)
        bench.close()

    def _follow(self, run_id: str, worker: Worker, asked: Asked) -> None:
        """Follow one run to its end; that it was stopped is heard at once."""
        worker.ask(asked)
        run = self.run(run_id)
        if run.kind == _OF_PLANS:
            self._plans.begin(run.key, run.job, run.revision, self._now_s())
        news, tell = Pipe(duplex=False)
        asked_to_end = False
        with news, tell, self.listening(run_id, lambda: tell.send_bytes(b"")):
            while not (run := self.run(run_id)).over:
                if run.ending and not asked_to_end:
                    asked_to_end = True
                    worker.stop()
                message = worker.hear(news)
                if isinstance(message, Ended):
                    self._end(run_id, message)
                    return
                if message is not None:
                    self._note(run_id, message)
                while news.poll():
                    news.recv_bytes()
        worker.stop()

    def _note(self, run_id: str, message: Step | Laid | Made | Kept | Figures | Better | Layouts) -> None:
        run = self.run(run_id)
        if isinstance(message, Step):
            self._change(run_id, step=message.words, steps=run.steps + 1)
        elif isinstance(message, Laid):
            self._change(run_id, laid=message.document)
        elif isinstance(message, Kept):
            with self._lock:
                _remember(self._last, run.job, _Last(run.key, message.wishes, message.plan), _LAST)
        elif isinstance(message, Better):
            self._change(run_id, so_far=message.so_far)
        elif isinstance(message, Layouts):
            self._searches.keep(run.job, KeptSearch(run_id, run.revision, run.beside, program(), message.wishes, run.ending,
                                                    message.told, message.kept))
        elif isinstance(message, Figures):
            self._plans.keep_summary(run.key, message.summary)
        else:
            self._hand_out(run, message.files)
            rows = self._plans.keep_files(run.key, message.files)
            self._change(run_id, files=(*run.files, *(row.path for row in rows)))

    def _hand_out(self, run: Run, files: tuple[tuple[str, bytes], ...]) -> None:
        """Whoever waits for the plan gets it while it is being kept."""
        for content in (content for path, content in files if path == PLAN):
            with self._lock:
                self._documents[run.key] = content
                while len(self._documents) > _DOCUMENTS:
                    self._documents.popitem(last=False)
            self._change(run.id, planned=True, laid=b"")

    def _end(self, run_id: str, ended: Ended) -> None:
        if ended.mistakes or ended.detail:
            self._change(run_id, state="failed", mistakes=ended.mistakes, detail=ended.detail)
        else:
            run = self.run(run_id)
            if run.kind == _OF_PLANS:
                self._plans.finish(run.key)
            self._change(run_id, state="stopped" if run.ending else "done", step="")


def _remember(among: OrderedDict[str, _T], name: str, what: _T, most: int) -> None:
    """Note something as the latest and forget what was noted longest ago."""
    among[name] = what
    among.move_to_end(name)
    while len(among) > most:
        among.popitem(last=False)
