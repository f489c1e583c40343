"""Logging in: passwords, sessions, guest links, and a brake on guessing."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from steamwright.errors import InputError, SteamwrightError
from steamwright.store.database import Database
from steamwright.store.model import Account, GuestLink, LogIn, Role
from steamwright.store.people import People

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SESSION_S = 14 * 24 * 3600
SHORTEST = 12
LONGEST = 200
LINK_S = 90 * 24 * 3600
"""How long a guest link is good unless the office says otherwise; common practice, no source."""
LONGEST_LINK_S = 3 * 366 * 24 * 3600
WINDOW_S = 15 * 60
TRIES_PER_NAME = 5
TRIES_PER_ADDRESS = 20
_WATCHED = 10_000


class LogInError(SteamwrightError):
    """Name and password do not belong together; it is not said which is wrong."""

    code = "log_in"


class TooManyTriesError(SteamwrightError):
    """Somebody tries too often."""

    code = "log_in.too_many"

    def __init__(self, wait_s: int) -> None:
        self.wait_s = wait_s
        super().__init__("too many attempts to log in", path="name", hint=f"try again in {-(-wait_s // 60)} min")


class Brake:
    """Counts failures by name and by address within a window of time."""

    def __init__(self, now_s: Callable[[], int]) -> None:
        self._now_s = now_s
        self._failed: dict[tuple[str, str], list[int]] = {}
        self._lock = threading.Lock()

    def begin(self, name: str, address: str) -> None:
        """Count an attempt before it is judged, so that attempts at once do not slip through; refuse too many."""
        now = self._now_s()
        with self._lock:
            if len(self._failed) > _WATCHED:
                self._failed = {k: v for k, v in self._failed.items() if v and v[-1] > now - WINDOW_S}
            for kind, word, most in (("name", name, TRIES_PER_NAME), ("address", address, TRIES_PER_ADDRESS)):
                recent = [t for t in self._failed.get((kind, word), ()) if t > now - WINDOW_S]
                self._failed[kind, word] = recent
                if len(recent) >= most:
                    raise TooManyTriesError(recent[0] + WINDOW_S - now)
            self._failed["name", name].append(now)
            self._failed["address", address].append(now)

    def passed(self, name: str, address: str) -> None:
        """Forget the attempts on a name that ended well; those of its address but this one still count."""
        with self._lock:
            self._failed.pop(("name", name), None)
            if self._failed.get(("address", address)):
                self._failed["address", address].pop()


class Door:
    """Lets people in.

    Parameters
    ----------
    people : People
        Who is known.
    now_s : callable
        The clock.
    """

    def __init__(self, people: People, now_s: Callable[[], int]) -> None:
        self.people, self._now_s = people, now_s
        self._brake = Brake(now_s)

    @cached_property
    def _hasher(self) -> PasswordHasher:
        from argon2 import PasswordHasher

        return PasswordHasher()

    @cached_property
    def _nobody(self) -> str:
        """A hash to check against where there is no such name, so that both take the same time."""
        return self._hasher.hash(secrets.token_hex())

    def add(self, name: str, role: Role, password: str) -> Account:
        """Add a person."""
        return self.people.add(_fit_name(name), role, self._hasher.hash(_fit_password(password, name)))

    def change(self, name: str, role: Role | None, active: bool | None, password: str | None) -> Account:
        """Change a person; ends his sessions."""
        word = None if password is None else self._hasher.hash(_fit_password(password, name))
        return self.people.change(name, role, active, word)

    def log_in(self, name: str, password: str, address: str) -> tuple[str, LogIn]:
        """Let a person in: the word of his session, and who he is."""
        if not self._proves(name, password, address):
            raise LogInError("name and password do not belong together", path="password", hint="try again, or ask the office")
        return self._begin(name)

    def change_own_password(self, name: str, password: str, new_password: str, address: str) -> tuple[str, LogIn]:
        """Give oneself another password by the one that one has; ends all one's sessions and begins one: its word, and who it is."""
        if not self._proves(name, password, address):
            raise InputError("this is not the password that you have now", path="password", hint="type it again, or ask the office")
        self.people.change(name, password_hash=self._hasher.hash(_fit_password(new_password, name, "new_password")))
        return self._begin(name)

    def log_in_guest(self, link_token: str) -> tuple[str, LogIn]:
        """Let a guest in by his link."""
        token = secrets.token_urlsafe(32)
        self.people.log_in_guest(link_token, token, secrets.token_urlsafe(32), self._now_s() + SESSION_S, self._now_s())
        return token, self._sure(token)

    def who(self, token: str) -> LogIn | None:
        """Whose session this is."""
        return self.people.who(token, self._now_s()) if token else None

    def log_out(self, token: str) -> None:
        """End a session."""
        self.people.log_out(token)

    def add_link(self, job: str, label: str, by: str, ends_s: int | None = None) -> tuple[str, GuestLink]:
        """Make a guest link, good for 90 days unless it is said when it ends: its word, told once, and what is kept."""
        token, now = secrets.token_urlsafe(32), self._now_s()
        if ends_s is not None and not now < ends_s <= now + LONGEST_LINK_S:
            raise InputError("a link ends on a day that is still to come, within three years", path="ends_at", hint="choose another day")
        return token, self.people.add_link(job, token, label, by, now, now + LINK_S if ends_s is None else ends_s)

    def _proves(self, name: str, password: str, address: str) -> bool:
        """Whether a name and a password belong together; guessing is slowed down."""
        from argon2.exceptions import VerificationError

        self._brake.begin(name, address)
        kept = self.people.password_hash(name)
        try:
            self._hasher.verify(kept or self._nobody, password)
        except VerificationError:
            kept = None
        if kept is not None:
            self._brake.passed(name, address)
        return kept is not None

    def _begin(self, name: str) -> tuple[str, LogIn]:
        token, now = secrets.token_urlsafe(32), self._now_s()
        self.people.log_in(name, token, secrets.token_urlsafe(32), now + SESSION_S, now)
        return token, self._sure(token)

    def _sure(self, token: str) -> LogIn:
        who = self.who(token)
        if who is None:
            raise LogInError("the session ended at once", path="name")
        return who


def keep_account(url: str, name: str, role: Role, password: str) -> None:
    """Add a person to a database that need not be served, or give one another password and role.

    Parameters
    ----------
    url : str
        Address of the database.
    name : str
        Name to log in by.
    role : {"office", "crew", "guest"}
        What the person may do.
    password : str
        In clear; kept as a hash.

    Raises
    ------
    InputError
        If name or password will not do.

    References
    ----------
    own derivation
    """
    database = Database(url)
    try:
        door = Door(People(database), lambda: 0)
        if any(a.name == name for a in door.people.accounts()):
            door.change(name, role, True, password)
        else:
            door.add(name, role, password)
    finally:
        database.close()


def _fit_name(name: str) -> str:
    # A name is part of an address of the API, where strokes part and names of dots alone lead elsewhere.
    if name != name.strip() or len(name) > 80 or not name.isprintable() or "/" in name or not any(c.isalnum() for c in name):
        raise InputError("this is no name", path="name", hint="1 to 80 letters, without blanks at the ends and without strokes")
    return name


def _fit_password(password: str, name: str, path: str = "password") -> str:
    if not SHORTEST <= len(password) <= LONGEST:
        raise InputError(f"a password has {SHORTEST} to {LONGEST} characters", path=path, hint="several words are easy to keep")
    if password.lower() == name.lower() or len(set(password)) < 4:
        raise InputError("this password is easy to guess", path=path, hint="take several words that do not belong together")
    return password
