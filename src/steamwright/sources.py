"""The sources that numbers and rules rest on, and how well each is known."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from importlib import resources
from itertools import pairwise
from types import MappingProxyType

from steamwright.errors import SourceError

KINDS = ("standard", "code", "handbook", "book", "paper", "regulation", "guide", "reference")


class HowKnown(StrEnum):
    """How a source is known, best first."""

    TEXT = "text"
    ABSTRACT = "abstract"
    QUOTED = "quoted"
    MEMORY = "memory"


@dataclass(frozen=True, slots=True)
class Source:
    """One source: what it is, which edition, and how it is known."""

    key: str
    kind: str
    title: str
    edition: str
    how_known: HowKnown
    note: str


def read_sources(text: str) -> Mapping[str, Source]:
    """Read a table of sources.

    Parameters
    ----------
    text : str
        TOML, one table per key.

    Returns
    -------
    sources : mapping of str to Source
        In the order of the keys.

    Raises
    ------
    SourceError
        If the text is no TOML, a row is incomplete, has a kind or a degree of knowledge that does not exist, or the keys are not
        in alphabetical order.

    References
    ----------
    own derivation
    """
    try:
        rows = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        raise SourceError(f"the table of sources cannot be read: {wrong}") from wrong
    keys = list(rows)
    for before, after in pairwise(keys):
        if before.lower() > after.lower():
            raise SourceError(f"“{after}” stands after “{before}”", path=after, hint="keep the keys in alphabetical order")
    return MappingProxyType({key: _row(key, row) for key, row in rows.items()})


def _row(key: str, row: object) -> Source:
    names = [field.name for field in fields(Source) if field.name != "key"]
    if not isinstance(row, dict) or sorted(row) != sorted(names) or not all(isinstance(v, str) and v.strip() for v in row.values()):
        raise SourceError("a source needs exactly " + ", ".join(names) + ", each with text", path=key)
    if row["kind"] not in KINDS:
        raise SourceError(f"“{row['kind']}” is no kind of source", path=f"{key}.kind", hint="one of " + ", ".join(KINDS))
    if row["how_known"] not in list(HowKnown):
        hint = "one of " + ", ".join(HowKnown)
        raise SourceError(f"“{row['how_known']}” does not say how it is known", path=f"{key}.how_known", hint=hint)
    return Source(key, row["kind"], row["title"], row["edition"], HowKnown(row["how_known"]), row["note"])


@cache
def load_sources() -> Mapping[str, Source]:
    """The sources that ship with the program.

    Returns
    -------
    sources : mapping of str to Source
        In the order of the keys.

    Raises
    ------
    SourceError
        If the table is at fault.

    References
    ----------
    own derivation
    """
    return read_sources(resources.files("steamwright").joinpath("sources.toml").read_text(encoding="utf-8"))


def source(key: str) -> Source:
    """Find a source by its key.

    Parameters
    ----------
    key : str
        Such as ``ASTM-E96``.

    Returns
    -------
    found : Source
        The source with that key.

    Raises
    ------
    SourceError
        If there is none.

    References
    ----------
    own derivation
    """
    found = load_sources().get(key)
    if found is None:
        raise SourceError(f"there is no source “{key}”", path=key, hint="add it to sources.toml, and say how it is known")
    return found
