"""Who may do what: sessions in cookies, the word against forged requests, roles, and limits on what comes in."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Depends, HTTPException, Request, Response
from fastapi.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from steamwright.service.desk import Desk
from steamwright.service.log_in import SESSION_S
from steamwright.store.model import LogIn
from steamwright.web.pages import STATIC
from steamwright.web.problems import problem

COOKIE = "steamwright_session"
CSRF_HEADER = "x-csrf-token"
MOST_BYTES = 4_000_000
LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "::1"})
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = ("default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; "
          "worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'")
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "x-frame-options": "DENY",
}
# What is asked before every request is asked on the loop itself: a thread for each question would take longer than the question.


@dataclass(slots=True)
class House:
    """What all requests share. ``accounts`` tells whether one has to log in, ``static`` where the built page lies."""

    desk: Desk
    accounts: bool
    static: Path = STATIC
    local_csrf: str = field(default_factory=lambda: secrets.token_urlsafe(32))


async def house(request: Request) -> House:
    """What all requests share.

    Parameters
    ----------
    request : Request
        Any request.

    Returns
    -------
    house : House
        Set when the application was made.

    References
    ----------
    own derivation
    """
    found: House = request.app.state.house
    return found


async def desk(here: Annotated[House, Depends(house)]) -> Desk:
    """Where the work is done.

    Parameters
    ----------
    here : House
        What all requests share.

    Returns
    -------
    desk : Desk
        The one of this application.

    References
    ----------
    own derivation
    """
    return here.desk


async def asking(request: Request, here: Annotated[House, Depends(house)]) -> LogIn | None:
    """Find out who asks.

    Parameters
    ----------
    request : Request
        Any request.
    here : House
        What all requests share.

    Returns
    -------
    who : LogIn or None
        None if nobody has logged in where that is needed.

    References
    ----------
    own derivation
    """
    if not here.accounts:
        return LogIn("office", "office", here.local_csrf)
    return await run_in_threadpool(here.desk.door.who, request.cookies.get(COOKIE, ""))


async def known(request: Request, who: Annotated[LogIn | None, Depends(asking)]) -> LogIn:
    """Let in who has logged in, and only requests that come from our own page.

    Parameters
    ----------
    request : Request
        Any request.
    who : LogIn or None
        Who asks.

    Returns
    -------
    who : LogIn
        The same.

    References
    ----------
    common practice, no source
    """
    if who is None:
        raise HTTPException(401, "log in first")
    if request.method not in _SAFE and not secrets.compare_digest(request.headers.get(CSRF_HEADER, "").encode(), who.csrf.encode()):
        raise HTTPException(403, "this request does not come from the page; load it again")
    return who


async def reads(request: Request, who: Annotated[LogIn, Depends(known)]) -> LogIn:
    """Let in who may read the job that the address names.

    Parameters
    ----------
    request : Request
        Any request.
    who : LogIn
        Who asks.

    Returns
    -------
    who : LogIn
        The same.

    References
    ----------
    own derivation
    """
    job = request.path_params.get("job")
    if who.role == "guest" and job is not None and job != who.job:
        raise HTTPException(403, "this link is for another job")
    return who


async def writes(who: Annotated[LogIn, Depends(reads)]) -> LogIn:
    """Let in who may change jobs.

    Parameters
    ----------
    who : LogIn
        Who asks.

    Returns
    -------
    who : LogIn
        The same.

    References
    ----------
    own derivation
    """
    if who.role not in ("office", "crew"):
        raise HTTPException(403, "guests only read")
    return who


async def rules_office(who: Annotated[LogIn, Depends(known)]) -> LogIn:
    """Let in the office.

    Parameters
    ----------
    who : LogIn
        Who asks.

    Returns
    -------
    who : LogIn
        The same.

    References
    ----------
    own derivation
    """
    if who.role != "office":
        raise HTTPException(403, "this is for the office")
    return who


Reads = Annotated[LogIn, Depends(reads)]
Writes = Annotated[LogIn, Depends(writes)]
Office = Annotated[LogIn, Depends(rules_office)]
TheDesk = Annotated[Desk, Depends(desk)]
TheHouse = Annotated[House, Depends(house)]


def set_session(request: Request, response: Response, token: str) -> None:
    """Hand a browser the word of its session, out of reach of scripts.

    Parameters
    ----------
    request : Request
        Any request; over HTTPS the cookie stays on HTTPS.
    response : Response
        The answer that carries the cookie.
    token : str
        Empty to take it away.

    References
    ----------
    common practice, no source
    """
    response.set_cookie(COOKIE, token, max_age=SESSION_S if token else 0, path="/", secure=request.url.scheme == "https", httponly=True,
                        samesite="lax")


class Rim:
    """Stands before the application: headers, hosts, origins and the size of what comes in.

    Parameters
    ----------
    app : ASGIApp
        The application.
    local : bool
        Only the machine itself asks; then other host names are somebody's trick on the browser.
    """

    def __init__(self, app: ASGIApp, local: bool) -> None:
        self.app, self.local = app, local

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1"): v.decode("latin-1") for k, v in scope["headers"]}
        refusal = self._refusal(scope["method"], headers)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                there = {k for k, _ in message["headers"]}
                message["headers"] = [*message["headers"],
                                      *((k.encode(), v.encode()) for k, v in _HEADERS.items() if k.encode() not in there)]
            await send(message)

        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        read = 0

        async def counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > MOST_BYTES:
                raise HTTPException(413, "this is larger than any job")
            return message

        await self.app(scope, counted, with_headers)

    def _refusal(self, method: str, headers: dict[str, str]) -> Response | None:
        host = headers.get("host", "")
        if self.local and _host_name(host) not in LOCAL_HOSTS:
            return problem(403, "forbidden", "this address is not served")
        origin = headers.get("origin")
        if method not in _SAFE and origin is not None and origin.partition("://")[2] != host:
            return problem(403, "forbidden", "this request comes from another page")
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BYTES:
            return problem(413, "too_large", "this is larger than any job")
        return None


def _host_name(host: str) -> str | None:
    try:
        return urlsplit(f"//{host}").hostname
    except ValueError:
        return None
