"""What can go wrong with what is kept."""

from __future__ import annotations

from steamwright.errors import SteamwrightError


class StoreError(SteamwrightError):
    """The database cannot do what is needed."""

    code = "store"


class NotKeptError(StoreError):
    """There is no such thing in the database."""

    code = "store.not_kept"


class EndedError(NotKeptError):
    """What is asked for was there for a time that is over."""

    code = "store.ended"
