"""A draft judged as a job: all mistakes, or the job."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.catalog_model import Catalog
from steamwright.errors import InputError, JobError, Mistake
from steamwright.plan.job import Job
from steamwright.plan.jobfile import place_mistakes, read_job, read_job_data
from steamwright.plan.toml_text import parse_toml
from steamwright.store.model import Draft

MOST_CHARACTERS = 1_000_000
DEEPEST = 24


@cache
def catalog() -> Catalog:
    """The catalog that ships with the program, read once.

    Returns
    -------
    catalog : Catalog
        Materials and things to order.

    References
    ----------
    own derivation
    """
    return load_catalog()


def job_of(draft: Draft) -> Job:
    """Read a draft as a job.

    Parameters
    ----------
    draft : dict
        What was typed so far.

    Returns
    -------
    job : Job
        In SI.

    Raises
    ------
    JobError
        With all mistakes.

    References
    ----------
    own derivation
    """
    return read_job_data(draft, catalog().materials)


def mistakes_in(draft: Draft) -> tuple[Mistake, ...]:
    """Find all mistakes of a draft.

    Parameters
    ----------
    draft : dict
        What was typed so far.

    Returns
    -------
    mistakes : tuple of Mistake
        Empty if it is a whole job.

    References
    ----------
    own derivation
    """
    try:
        job_of(draft)
    except JobError as wrong:
        return wrong.mistakes
    return ()


def mistakes_of_error(error: InputError) -> tuple[Mistake, ...]:
    """Turn an error of a step into mistakes.

    Parameters
    ----------
    error : InputError
        One mistake, or several gathered.

    Returns
    -------
    mistakes : tuple of Mistake
        At least one.

    References
    ----------
    own derivation
    """
    return error.mistakes if isinstance(error, JobError) else (Mistake(error.path, error.detail, error.hint, code=error.code),)


def draft_of_toml(text: str) -> tuple[Draft, tuple[Mistake, ...]]:
    """Read a job file as a draft; what is wrong in it may be mended later.

    Parameters
    ----------
    text : str
        TOML.

    Returns
    -------
    draft : dict
        The content of the file.
    mistakes : tuple of Mistake
        With the lines of the file.

    Raises
    ------
    JobError
        If lines cannot be read, so that something typed would be lost.

    References
    ----------
    own derivation
    """
    parsed = parse_toml(text)
    if parsed.mistakes:
        raise JobError(parsed.mistakes)
    draft = kept_draft(json.loads(json.dumps(parsed.data, default=str)))
    try:
        read_job(text, catalog().materials)
    except InputError as wrong:
        return draft, place_mistakes(wrong, text)
    return draft, ()


def kept_draft(draft: Draft) -> Draft:
    """See to it that a draft can be kept and handed back as it is.

    Parameters
    ----------
    draft : dict
        What was typed so far.

    Returns
    -------
    draft : dict
        The same.

    Raises
    ------
    JobError
        If it holds what JSON in UTF-8 cannot say, is nested too deeply, or is longer than any job.

    References
    ----------
    own derivation
    """
    found = ""
    try:
        if len(json.dumps(draft, allow_nan=False, ensure_ascii=False).encode()) > MOST_CHARACTERS:
            found = f"more than {MOST_CHARACTERS} characters are no job of one room"
    except (ValueError, UnicodeEncodeError, RecursionError):
        found = "this holds a number or a character that no file can hold"
    if not found and _depth(draft) > DEEPEST:
        found = "this is nested deeper than any job"
    if found:
        raise JobError((Mistake("", found, "write tables, lists, text and plain numbers"),))
    return draft


def under(path: str, mistakes: tuple[Mistake, ...]) -> tuple[Mistake, ...]:
    """Put mistakes of a part under the path of that part.

    Parameters
    ----------
    path : str
        Such as ``survey``.
    mistakes : tuple of Mistake
        With paths inside the part.

    Returns
    -------
    mistakes : tuple of Mistake
        With paths inside the draft.

    References
    ----------
    own derivation
    """
    return tuple(replace(m, path=f"{path}.{m.path}" if m.path and not m.path.startswith("[") else f"{path}{m.path}") for m in mistakes)


def _depth(value: object) -> int:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return 1 + max((_depth(v) for v in inner), default=0)
