"""The text of a job file, read as a job: every mistake of the file in one go."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from steamwright.errors import InputError, JobError, Mistake
from steamwright.plan.consistency import contradictions
from steamwright.plan.job import Job
from steamwright.plan.phrasing import MISSING, mistakes_of
from steamwright.plan.places import Path, Place, find_places, nearest, path_of
from steamwright.plan.salvage import mended, touches
from steamwright.plan.toml_text import parse_toml


def read_job(text: str, materials: Collection[str] | None = None) -> Job:
    """Read a job file.

    Parameters
    ----------
    text : str
        The content of the file, TOML.
    materials : collection of str or None
        Ids of the catalog's materials; with them, unknown materials are found too.

    Returns
    -------
    job : Job
        What the person said, in SI.

    Raises
    ------
    JobError
        With all mistakes of the file in the order of their lines.

    References
    ----------
    own derivation
    """
    parsed = parse_toml(text)
    faults = list(parsed.mistakes)
    if not faults or parsed.data:
        places = find_places(parsed.text)
        try:
            job = Job.model_validate(parsed.data, context={"typed": True})
            found = [_placed(mistake, places) for mistake in contradictions(job, materials)]
        except ValidationError as error:
            found = list(mistakes_of(error, Job, parsed.data, places))
            found += [_placed(m, places) for m in _beside(parsed.data, materials)]
        # What a line that was left out would have said must not be called missing.
        faults += [m for m in found if not (parsed.mistakes and m.code == MISSING)]
    if faults:
        raise JobError(_in_order(faults))
    return job


def read_job_data(data: Mapping[str, Any], materials: Collection[str] | None = None) -> Job:
    """Read a job that is data already, such as what a page in a browser sends.

    Parameters
    ----------
    data : mapping
        The tables and keys of a job file; quantities are text with a unit.
    materials : collection of str or None
        Ids of the catalog's materials; with them, unknown materials are found too.

    Returns
    -------
    job : Job
        What the person said, in SI.

    Raises
    ------
    JobError
        With all mistakes, in the order of their places.

    References
    ----------
    own derivation
    """
    try:
        job = Job.model_validate(data, context={"typed": True})
        found = contradictions(job, materials)
    except ValidationError as error:
        # Whether the job has a name yet says nothing about the rest.
        found = (*mistakes_of(error, Job, data, {}), *_beside({"name": "", **data}, materials))
    if found:
        raise JobError(_in_order(found))
    return job


def _beside(data: Mapping[str, Any], materials: Collection[str] | None) -> list[Mistake]:
    """Contradictions among those parts of a job that were not refused."""
    rest = mended(data)
    if rest is None:
        return []
    job, touched = rest
    return [m for m in contradictions(job, materials) if not touches(path_of(m.path), touched)]


def place_mistakes(error: InputError, text: str) -> tuple[Mistake, ...]:
    """Find the lines of what a later step refuses.

    Parameters
    ----------
    error : InputError
        What the step says, with its path.
    text : str
        The content of the job file.

    Returns
    -------
    mistakes : tuple of Mistake
        With the number of the line where the path stands in the text.

    References
    ----------
    own derivation
    """
    places = find_places(text)
    mistakes = error.mistakes if isinstance(error, JobError) else (Mistake(error.path, error.detail, error.hint, code=error.code),)
    return _in_order(_placed(mistake, places) for mistake in mistakes)


def _placed(mistake: Mistake, places: Mapping[Path, Place]) -> Mistake:
    place = nearest(places, path_of(mistake.path))
    return mistake if mistake.line or place is None else replace(mistake, line=place.line)


def _in_order(mistakes: Iterable[Mistake]) -> tuple[Mistake, ...]:
    return tuple(sorted(mistakes, key=lambda m: (m.line or 0, m.path)))
