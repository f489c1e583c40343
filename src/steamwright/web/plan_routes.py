"""Plans: starting, watching, stopping, and their files."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import json
import re
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager, suppress
from typing import Annotated

from fastapi import APIRouter, HTTPException, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import PlainTextResponse, StreamingResponse

from steamwright.plan.plain import plain
from steamwright.service.desk import Desk
from steamwright.service.planning import Run
from steamwright.store.model import LogIn
from steamwright.web.guard import Reads, TheDesk, Writes
from steamwright.web.layout_models import FoundTold, LayoutId, LayoutTold
from steamwright.web.models import FileTold, JobId, LaidTold, Number, PlanPartsTold, PlanTold, RunTold, SheetTold, run_told
from steamwright.web.seam_models import JudgedTold, MovedSent

router = APIRouter(prefix="/api", tags=["plans"])
FilePath = Annotated[str, Path(max_length=200, pattern=r"^[A-Za-z0-9._/-]+$")]
_MEDIA_TYPES = {
    "json": "application/json", "svg": "image/svg+xml", "glb": "model/gltf-binary", "dxf": "image/vnd.dxf", "pdf": "application/pdf",
    "csv": "text/csv; charset=utf-8", "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_STILL_HERE_S = 15.0
_PATIENCE_S = 8.0
"""What waits longer is answered without a plan, and asks again: lines between us and a browser cut off what is silent for long."""
_STYLE = re.compile(rb"<style>(.*?)</style>", re.DOTALL)


@router.post("/jobs/{job}/revisions/{number}/plan", status_code=202, responses={200: {"model": RunTold, "description": "Planned before."}})
def start_plan(job: JobId, number: Number, desk: TheDesk, _who: Writes, response: Response, layout: LayoutId | None = None) -> RunTold:
    """Start planning a revision; what is planned already is there at once. A layout that a search found takes the place of what is laid."""
    run = desk.plan(job, number, layout or "")
    response.status_code = 200 if run.over else 202
    return run_told(run)


@router.post("/jobs/{job}/revisions/{number}/comparison", status_code=202,
             responses={200: {"model": RunTold, "description": "Compared before."}})
def start_comparison(job: JobId, number: Number, desk: TheDesk, _who: Writes, response: Response,
                     years: Annotated[int, Query(ge=0, le=10)] = 0) -> RunTold:
    """Start comparing the build-ups of a revision; the result is its file ``comparison-<years>.json``."""
    run = desk.compare_buildups(job, number, years)
    response.status_code = 200 if run.over else 202
    return run_told(run)


@router.post("/jobs/{job}/revisions/{number}/layouts", status_code=202)
def search_layouts(job: JobId, number: Number, desk: TheDesk, _who: Writes, times: Annotated[int, Query(ge=1, le=100)] = 1) -> RunTold:
    """Look for other layouts beside the plan of a revision, the fresh one ``times`` as long as its plan was searched.

    The run tells the best so far and what no layout takes less than; stopping it keeps its best.
    """
    return run_told(desk.search_layouts(job, number, times))


@router.get("/jobs/{job}/layouts")
def show_layouts(job: JobId, desk: TheDesk, _who: Reads) -> FoundTold:
    """What the last search of a job found, and the search that is on its way."""
    desk.jobs.row(job)
    going, found = desk.planning.searching(job), desk.planning.found(job)
    told = None if going is None else run_told(going)
    if found is None:
        return FoundTold(going=told, run="", revision=0, ended_early=False, layouts=[])
    return FoundTold(going=told, run=found.run, revision=found.number, ended_early=found.ended_early,
                     layouts=[LayoutTold.model_validate(row) for row in json.loads(found.told)])


@router.get("/jobs/{job}/revisions/{number}/plan")
def show_plan(job: JobId, number: Number, desk: TheDesk, _who: Reads) -> PlanTold:
    """What is kept of the plan of a revision."""
    kept, sheets = desk.planned(job, number)
    return PlanTold(key=kept.key, finished=kept.finished, summary=kept.summary, sheets=[SheetTold(**s) for s in sheets],
                    files=[FileTold(path=f.path, media_type=media_type(f.path), size=f.size, digest=f.digest) for f in kept.files])


@router.post("/jobs/{job}/revisions/{number}/proof")
def judge_seams(job: JobId, number: Number, body: MovedSent, desk: TheDesk, _who: Reads) -> JudgedTold:
    """The proof with some seams moved (a tenth of a second), and how the pieces lie then; nothing is kept."""
    judged = desk.judge(job, number, [(m.seam, m.by_m) for m in body.moved])
    return JudgedTold.model_validate({**plain(judged.proof), "held": judged.held, "pieces": plain(judged.pieces),
                                      "seams": plain(judged.seams), "spare_m": judged.spare_m})


@router.get("/jobs/{job}/revisions/{number}/remnants.toml", response_class=PlainTextResponse)
def export_remnants(job: JobId, number: Number, desk: TheDesk, _who: Reads) -> PlainTextResponse:
    """The remnants on hand once the pieces of this plan are cut, as the file that the next job draws from."""
    return PlainTextResponse(desk.remnants_left(job, number), headers={"Content-Disposition": 'attachment; filename="remnants.toml"'})


@router.get("/runs/{run}")
def show_run(run: JobId, desk: TheDesk, who: Reads) -> RunTold:
    """How far a plan is."""
    return run_told(_own(desk.planning.run(run), who))


@router.get("/runs/{run}/events", response_class=StreamingResponse, responses={200: {"content": {"text/event-stream": {}}}})
async def watch_run(run: JobId, request: Request, desk: TheDesk, who: Reads) -> StreamingResponse:
    """How far a plan is, as server-sent events, until it is over."""
    _own(desk.planning.run(run), who)

    async def events() -> AsyncIterator[str]:
        told = -1
        with _news(desk, run) as news:
            while not await request.is_disconnected():
                now = desk.planning.run(run)
                if now.count > told:
                    told = now.count
                    yield f"event: run\nid: {now.count}\ndata: {run_told(now).model_dump_json()}\n\n"
                if now.over:
                    return
                if not await _heard(news, _STILL_HERE_S):
                    yield ": still here\n\n"

    return StreamingResponse(events(), media_type="text/event-stream", headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"})


@router.get("/runs/{run}/laid", response_class=Response, responses={
    200: {"model": LaidTold}, 204: {"description": "Its plan is there, or nothing of it yet, or the run is over: look how far it is."}})
async def await_laid(run: JobId, desk: TheDesk, who: Reads) -> Response:
    """How the pieces of a plan lie, as soon as they are cut; its proof comes with the plan."""
    _own(desk.planning.run(run), who)
    with _news(desk, run) as news:
        while not (now := desk.planning.run(run)).laid:
            if now.planned or now.over or not await _heard(news, _PATIENCE_S):
                return Response(status_code=204)
    return Response(now.laid, media_type="application/json")


@router.get("/runs/{run}/plan", response_class=Response, responses={
    200: {"model": PlanPartsTold}, 204: {"description": "There is none yet, or the run ended without one: look how far it is."}})
async def await_plan(run: JobId, desk: TheDesk, who: Reads, beside: Annotated[JobId | None, Query()] = None) -> Response:
    """The plan of a run as soon as it is made; only what differs from the plan of an earlier run of the job, where one is named."""
    _own(desk.planning.run(run), who)
    with _news(desk, run) as news:
        while not (now := desk.planning.run(run)).planned:
            if now.over or not await _heard(news, _PATIENCE_S):
                return Response(status_code=204)
    less, parts = await run_in_threadpool(desk.plan_parts, now, desk.planning.known_run(beside))
    return Response(b'{"beside":%s,"parts":%s}' % (json.dumps(beside if less else None).encode(), parts), media_type="application/json")


@contextmanager
def _news(desk: Desk, run: str) -> Iterator[asyncio.Event]:
    """Set every time that a run has changed."""
    loop, news = asyncio.get_running_loop(), asyncio.Event()
    with desk.planning.listening(run, lambda: loop.call_soon_threadsafe(news.set)):
        yield news


async def _heard(news: asyncio.Event, patience_s: float) -> bool:
    """Wait for news for a time."""
    with suppress(TimeoutError):
        await asyncio.wait_for(news.wait(), patience_s)
    heard = news.is_set()
    news.clear()
    return heard


@router.delete("/runs/{run}")
def stop_run(run: JobId, desk: TheDesk, _who: Writes) -> RunTold:
    """Stop planning."""
    return run_told(desk.planning.stop(run))


@router.get("/jobs/{job}/revisions/{number}/files/{path:path}", response_class=Response,
            responses={200: {"content": {"*/*": {"schema": {"type": "string", "format": "binary"}}}}, 304: {"description": "Not changed."}})
def fetch_file(job: JobId, number: Number, path: FilePath, request: Request, desk: TheDesk, _who: Reads) -> Response:
    """One file of the plan of a revision."""
    row, content = desk.plans.file(job, number, path)
    headers = {"ETag": f'"{row.digest}"', "Cache-Control": "private, no-cache"}
    if row.digest in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if path.endswith(".svg"):
        headers["Content-Security-Policy"] = _drawing_policy(content)
    if path.endswith((".xlsx", ".csv", ".dxf")):
        headers["Content-Disposition"] = f'attachment; filename="{path.rsplit("/", 1)[-1]}"'
    return Response(content, media_type=media_type(path), headers=headers)


def media_type(path: str) -> str:
    """Tell what kind of file this is.

    Parameters
    ----------
    path : str
        Such as ``sheets/01-title.svg``.

    Returns
    -------
    media_type : str
        As HTTP names it.

    References
    ----------
    common practice, no source
    """
    return _MEDIA_TYPES.get(path.rsplit(".", 1)[-1], "application/octet-stream")


def _drawing_policy(drawing: bytes) -> str:
    """A drawing may use the one style that it carries, and nothing else."""
    hashes = [f"'sha256-{base64.b64encode(hashlib.sha256(style).digest()).decode()}'" for style in _STYLE.findall(drawing)]
    return f"default-src 'none'; style-src {' '.join(hashes) or chr(39) + 'none' + chr(39)}; frame-ancestors 'self'"


def _own(run: Run, who: LogIn) -> Run:
    if who.job not in (None, run.job):
        raise HTTPException(403, "this link is for another job")
    return run
