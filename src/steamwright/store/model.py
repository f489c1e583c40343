"""What the store hands out: plain values, free of any session."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Draft = dict[str, Any]
Role = Literal["office", "crew", "guest"]


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """One saved change without its content. ``planned`` tells whether a finished plan of it is kept."""

    number: int
    based_on: int
    aside: bool
    saved_s: int
    saved_by: str
    note: str
    digest: str
    planned: bool = False


@dataclass(frozen=True, slots=True)
class Revision:
    """One saved change with what was typed."""

    row: RevisionRow
    draft: Draft


@dataclass(frozen=True, slots=True)
class JobRow:
    """A job in a list."""

    id: str
    name: str
    head: int
    saved_s: int
    saved_by: str
    archived: bool


@dataclass(frozen=True, slots=True)
class Saved:
    """What became of a save. In a collision ``yours`` is kept aside and ``theirs`` is the head that it met."""

    yours: Revision
    theirs: Revision | None = None

    @property
    def collided(self) -> bool:
        """Whether somebody else had saved in between."""
        return self.theirs is not None


@dataclass(frozen=True, slots=True)
class FileRow:
    """A file of a plan."""

    path: str
    size: int
    digest: str


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan that is kept, and its files in the order in which they were made."""

    key: str
    finished: bool
    summary: dict[str, Any]
    files: tuple[FileRow, ...]


@dataclass(frozen=True, slots=True)
class KeptLayout:
    """A layout that was found: what the job has to wish for to get it, by its hash, and the covering as the program keeps it."""

    id: str
    wishes: str
    covering: bytes


@dataclass(frozen=True, slots=True)
class KeptSearch:
    """What a search found ``beside`` a plan, told as JSON, and the layouts that a plan can be made from by the same ``program``.

    ``wishes`` is what the job wished for then, by its hash.
    """

    run: str
    number: int
    beside: str
    program: str
    wishes: str
    ended_early: bool
    told: bytes
    layouts: tuple[KeptLayout, ...]


@dataclass(frozen=True, slots=True)
class KeptWeather:
    """A file of hourly weather; its content is compressed."""

    name: str
    digest: str
    source: str
    sent_by: str
    sent_s: int
    content: bytes


@dataclass(frozen=True, slots=True)
class Account:
    """A person who may log in."""

    name: str
    role: Role
    active: bool


@dataclass(frozen=True, slots=True)
class GuestLink:
    """A link that only reads one job, up to the moment at which it ends."""

    id: str
    job: str
    label: str
    made_by: str
    made_s: int
    ends_s: int


@dataclass(frozen=True, slots=True)
class LogIn:
    """Who asks: a person or a guest, and the word that unsafe requests have to carry."""

    name: str
    role: Role
    csrf: str
    job: str | None = None
