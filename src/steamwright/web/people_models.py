"""What goes over the wire about people: logging in, accounts, links for guests."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from steamwright.store.model import GuestLink as KeptLink
from steamwright.store.model import Role
from steamwright.web.models import Line, Sent, Told, told_time, values_of

StaffRole = Literal["office", "crew"]


class LogInSent(Sent):
    """Name and password."""

    name: Annotated[str, Field(max_length=80)]
    password: Annotated[str, Field(max_length=200)]


class PasswordSent(Sent):
    """The password that one has, and the one that one wants."""

    password: Annotated[str, Field(max_length=200)]
    new_password: Annotated[str, Field(max_length=200)]


class SessionTold(Told):
    """Who asks. ``csrf`` is the word for the header X-CSRF-Token; ``accounts`` tells whether one has to log in here."""

    name: str | None
    role: Role | None
    job: str | None
    csrf: str
    accounts: bool


class AccountSent(Sent):
    """A person to add."""

    name: Line
    role: StaffRole
    password: Annotated[str, Field(max_length=200)]


class AccountChangeSent(Sent):
    """What to change of a person; what is left out stays."""

    role: StaffRole | None = None
    active: bool | None = None
    password: Annotated[str, Field(max_length=200)] | None = None


class AccountTold(Told):
    """A person who may log in."""

    name: str
    role: Role
    active: bool


class GuestLinkSent(Sent):
    """For whom the link is, and up to when it lets in; 90 days where that is left out."""

    label: Line = ""
    ends_at: AwareDatetime | None = None


class GuestLinkTold(Told):
    """A link that only reads. ``address`` is told once, when it is made."""

    id: str
    job: str
    label: str
    made_by: str
    made_at: datetime
    ends_at: datetime
    address: str | None = None


def guest_link_told(link: KeptLink, address: str | None = None) -> GuestLinkTold:
    """Tell of a guest link.

    Parameters
    ----------
    link : GuestLink
        What the store holds.
    address : str or None
        Where it leads; known only when it is made.

    Returns
    -------
    told : GuestLinkTold
        With the time as text.

    References
    ----------
    own derivation
    """
    return GuestLinkTold(made_at=told_time(link.made_s), ends_at=told_time(link.ends_s), address=address, **values_of(link, GuestLinkTold))
