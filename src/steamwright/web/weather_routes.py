"""The hourly weather in which a job's build-ups are compared."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter
from pydantic import Field, StringConstraints

from steamwright.store.model import KeptWeather
from steamwright.web.guard import Reads, TheDesk, Writes
from steamwright.web.models import JobId, Sent, Told, told_time

router = APIRouter(prefix="/api", tags=["plans"])
FileName = Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f\x7f/\\]+$")]


class WeatherSent(Sent):
    """A year of hourly weather: the text of an EPW or TMY3 file and its name."""

    name: FileName
    text: Annotated[str, Field(max_length=3_500_000)]


class WeatherTold(Told):
    """The hourly weather of a job: the name of its file, what was read of it, and who brought it in."""

    name: str
    source: str
    sent_by: str
    sent_at: datetime


@router.get("/jobs/{job}/weather")
def show_weather(job: JobId, desk: TheDesk, _who: Reads) -> WeatherTold | None:
    """The hourly weather of a job; null where its climate stands for it."""
    desk.jobs.row(job)
    kept = desk.weathers.of_job(job)
    return None if kept is None else _told(kept)


@router.put("/jobs/{job}/weather")
def keep_weather(job: JobId, body: WeatherSent, desk: TheDesk, who: Writes) -> WeatherTold:
    """Compare by the hour in the weather of this file from now on; a file that cannot be read is refused with the line at fault."""
    return _told(desk.keep_weather(job, body.name, body.text, who.name))


@router.delete("/jobs/{job}/weather", status_code=204)
def drop_weather(job: JobId, desk: TheDesk, _who: Writes) -> None:
    """Compare in the climate of the job again."""
    desk.jobs.row(job)
    desk.weathers.drop(job)


def _told(kept: KeptWeather) -> WeatherTold:
    return WeatherTold(name=kept.name, source=kept.source, sent_by=kept.sent_by, sent_at=told_time(kept.sent_s))
