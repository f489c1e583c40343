"""The one place where errors become answers."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import asdict
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from steamwright.errors import InputError, Mistake, SteamwrightError
from steamwright.plan.places import path_text
from steamwright.service.checking import mistakes_of_error
from steamwright.service.log_in import LogInError, TooManyTriesError
from steamwright.store.errors import NotKeptError
from steamwright.store.model import Saved
from steamwright.web.models import CollisionTold, MistakeTold, Problem, revision_told

MEDIA_TYPE = "application/problem+json"
_log = logging.getLogger(__name__)


def problem(status: int, code: str, detail: str, mistakes: Sequence[Mistake] = (), headers: dict[str, str] | None = None) -> JSONResponse:
    """Answer that a request was not done, and why.

    Parameters
    ----------
    status : int
        The HTTP status. [count]
    code : str
        Stable, for programs.
    detail : str
        In words, for people.
    mistakes : sequence of Mistake
        With the place of each inside the draft or the body.
    headers : dict of str to str, optional
        More headers.

    Returns
    -------
    answer : JSONResponse
        As application/problem+json.

    References
    ----------
    common practice, no source
    """
    told = Problem(title=HTTPStatus(status).phrase, status=status, code=code, detail=_clean(detail), mistakes=[_told(m) for m in mistakes])
    return JSONResponse(told.model_dump(), status, headers, MEDIA_TYPE)


def collision(saved: Saved) -> JSONResponse:
    """Answer that somebody else saved in between, with both versions.

    Parameters
    ----------
    saved : Saved
        Yours, kept aside, and theirs, the head.

    Returns
    -------
    answer : JSONResponse
        Status 409.

    References
    ----------
    own derivation
    """
    theirs = saved.theirs or saved.yours
    detail = f"{theirs.row.saved_by} changed this job in between; both versions are kept"
    told = CollisionTold(title="Conflict", status=409, code="store.collision", detail=_clean(detail),
                         yours=revision_told(saved.yours), theirs=revision_told(theirs))
    return JSONResponse(told.model_dump(mode="json"), 409, media_type=MEDIA_TYPE)


def answer_problems(app: FastAPI) -> None:
    """Let an application answer every error in the same form.

    Parameters
    ----------
    app : FastAPI
        The application.

    References
    ----------
    own derivation
    """
    handlers: dict[Any, Callable[[Request, Any], Awaitable[JSONResponse]]] = {
        SteamwrightError: _ours, RequestValidationError: _refused, HTTPException: _http, Exception: _fault,
    }
    for kind, handler in handlers.items():
        app.add_exception_handler(kind, handler)


async def _ours(_request: Request, wrong: SteamwrightError) -> JSONResponse:
    if isinstance(wrong, InputError):
        mistakes = mistakes_of_error(wrong)
        return problem(422, wrong.code, wrong.sentence(), mistakes)
    mistake = (Mistake(wrong.path, wrong.detail, wrong.hint, code=wrong.code),) if wrong.path else ()
    if isinstance(wrong, TooManyTriesError):
        return problem(429, wrong.code, wrong.sentence(), mistake, {"Retry-After": str(wrong.wait_s)})
    status = 404 if isinstance(wrong, NotKeptError) else 401 if isinstance(wrong, LogInError) else 500
    if status == 500:
        _log.error("%s", wrong.sentence())
    return problem(status, wrong.code, wrong.sentence(), mistake)


async def _refused(_request: Request, wrong: RequestValidationError) -> JSONResponse:
    found = [Mistake(path_text(tuple(e["loc"][1:])), str(e["msg"]), code=str(e["type"])) for e in wrong.errors()]
    return problem(422, "input.request", "the request has mistakes", found)


async def _http(_request: Request, wrong: HTTPException) -> JSONResponse:
    codes = {400: "request", 401: "log_in.first", 403: "forbidden", 404: "unknown", 405: "method", 413: "too_large"}
    return problem(wrong.status_code, codes.get(wrong.status_code, "http"), str(wrong.detail), headers=dict(wrong.headers or {}))


async def _fault(_request: Request, wrong: Exception) -> JSONResponse:
    _log.error("fault", exc_info=wrong)
    return problem(500, "fault", "a fault in the program; what was saved before is safe")


def _told(mistake: Mistake) -> MistakeTold:
    return MistakeTold(**{k: _clean(v) if isinstance(v, str) else v for k, v in asdict(mistake).items()})


def _clean(text: str) -> str:
    """Text that can be sent, whatever was typed."""
    return text.encode("utf-8", "replace").decode()
