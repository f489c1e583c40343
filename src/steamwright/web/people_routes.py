"""Logging in and out, accounts, guest links."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Path, Request, Response
from fastapi.responses import RedirectResponse

from steamwright.store.errors import EndedError, NotKeptError
from steamwright.store.model import LogIn
from steamwright.web.guard import COOKIE, Office, TheDesk, TheHouse, asking, known, set_session
from steamwright.web.models import JobId
from steamwright.web.pages import page_itself
from steamwright.web.people_models import (
    AccountChangeSent,
    AccountSent,
    AccountTold,
    GuestLinkSent,
    GuestLinkTold,
    LogInSent,
    PasswordSent,
    SessionTold,
    guest_link_told,
)

ENDED = "/g/ended"
"""Where who comes by a link that has ended is told so, out of sight of the word of the link."""

router = APIRouter(prefix="/api", tags=["people"])
doorstep = APIRouter(tags=["people"])


@router.get("/session")
def session(here: TheHouse, who: Annotated[LogIn | None, Depends(asking)]) -> SessionTold:
    """Who am I, and which word do requests need that change something."""
    return _told(who, here.accounts)


@router.post("/session")
def log_in(body: LogInSent, request: Request, response: Response, here: TheHouse) -> SessionTold:
    """Log in."""
    if not here.accounts:
        return _told(LogIn("office", "office", here.local_csrf), here.accounts)
    token, who = here.desk.door.log_in(body.name, body.password, _address(request))
    set_session(request, response, token)
    return _told(who, here.accounts)


@router.delete("/session", dependencies=[Depends(known)])
def log_out(request: Request, response: Response, here: TheHouse) -> SessionTold:
    """Log out."""
    here.desk.door.log_out(request.cookies.get(COOKIE, ""))
    set_session(request, response, "")
    return _told(None if here.accounts else LogIn("office", "office", here.local_csrf), here.accounts)


@router.put("/session/password")
def change_own_password(body: PasswordSent, request: Request, response: Response, here: TheHouse,
                        who: Annotated[LogIn, Depends(known)]) -> SessionTold:
    """Give oneself another password; ends one's other sessions."""
    if not here.accounts or who.role == "guest":
        raise HTTPException(403, "nobody has a password here" if not here.accounts else "a guest has no password")
    token, now = here.desk.door.change_own_password(who.name, body.password, body.new_password, _address(request))
    set_session(request, response, token)
    return _told(now, here.accounts)


@router.get("/accounts")
def list_accounts(desk: TheDesk, _who: Office) -> list[AccountTold]:
    """All people."""
    return [AccountTold.model_validate(a) for a in desk.door.people.accounts()]


@router.post("/accounts", status_code=201)
def add_account(body: AccountSent, desk: TheDesk, _who: Office) -> AccountTold:
    """Add a person."""
    return AccountTold.model_validate(desk.door.add(body.name, body.role, body.password))


@router.patch("/accounts/{name}")
def change_account(name: Annotated[str, Path(pattern=r"^[^\x00-\x1f\x7f]{1,80}$")], body: AccountChangeSent, desk: TheDesk,
                   _who: Office) -> AccountTold:
    """Change a person; ends what he has open."""
    return AccountTold.model_validate(desk.door.change(name, body.role, body.active, body.password))


@router.get("/jobs/{job}/guest-links")
def list_guest_links(job: JobId, desk: TheDesk, _who: Office) -> list[GuestLinkTold]:
    """Links by which a job can be read."""
    desk.jobs.row(job)
    return [guest_link_told(link) for link in desk.door.people.links(job)]


@router.post("/jobs/{job}/guest-links", status_code=201)
def add_guest_link(job: JobId, body: GuestLinkSent, request: Request, desk: TheDesk, who: Office) -> GuestLinkTold:
    """Make a link that only reads; its address is told this once."""
    ends_s = None if body.ends_at is None else int(body.ends_at.timestamp())
    token, link = desk.door.add_link(job, body.label, who.name, ends_s)
    return guest_link_told(link, f"{str(request.base_url).rstrip('/')}/g/{token}")


@router.delete("/jobs/{job}/guest-links/{link}", status_code=204)
def drop_guest_link(job: JobId, link: JobId, desk: TheDesk, _who: Office) -> None:
    """Take a link back."""
    desk.door.people.drop_link(job, link)


@doorstep.get("/g/{token}", include_in_schema=False)
def open_guest_link(token: str, request: Request, here: TheHouse, who: Annotated[LogIn | None, Depends(asking)]) -> Response:
    """Come in by a link. A person who has logged in stays who he is; where the link is not good any more, the page says so."""
    try:
        if who is not None and who.role != "guest":
            return RedirectResponse(f"/job/{here.desk.door.people.linked_job(token)}", 303)
        inside, guest = here.desk.door.log_in_guest(token)
    except EndedError:
        return RedirectResponse(ENDED, 303)
    except NotKeptError:
        return page_itself(here.static, 410 if request.url.path == ENDED else 404)
    response = RedirectResponse(f"/job/{guest.job}", 303)
    set_session(request, response, inside)
    return response


def _address(request: Request) -> str:
    return request.client.host if request.client else ""


def _told(who: LogIn | None, accounts: bool) -> SessionTold:
    if who is None:
        return SessionTold(name=None, role=None, job=None, csrf="", accounts=accounts)
    return SessionTold(name=who.name, role=who.role, job=who.job, csrf=who.csrf, accounts=accounts)
