"""Where in the text of a TOML file each value stands."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

Path = tuple[str | int, ...]

_KEY = re.compile(r"""[ \t]*(?:"(?P<basic>(?:[^"\\\n]|\\.)*)"|'(?P<literal>[^'\n]*)'|(?P<bare>[A-Za-z0-9_-]+))[ \t]*""")
_STRING = re.compile(r'''"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?'{3,5}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*\'''', re.DOTALL)
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BARE = re.compile(r"[^,\]}\n#]*")


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a text: its line, counted from one, and the words that stand there."""

    line: int
    text: str


def path_text(path: Path) -> str:
    """Print a path.

    Parameters
    ----------
    path : tuple of str or int
        Keys and positions from the top of the file.

    Returns
    -------
    text : str
        Such as ``room.opening[0].width``.

    References
    ----------
    own derivation
    """
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path).removeprefix(".")


def path_of(text: str) -> Path:
    """Read a printed path.

    Parameters
    ----------
    text : str
        Such as ``room.opening[0].width``.

    Returns
    -------
    path : tuple of str or int
        Keys and positions from the top of the file.

    References
    ----------
    own derivation
    """
    return tuple(int(number) if number else name for name, number in re.findall(r"([^.\[\]]+)(?![^\[]*\])|\[(\d+)\]", text))


def find_places(text: str) -> Mapping[Path, Place]:
    """Find every table and value of a TOML text.

    Parameters
    ----------
    text : str
        TOML that has been parsed without a fault; what is found in faulty text is undefined.

    Returns
    -------
    places : mapping of path to Place
        One entry for each table heading, key and array element.

    References
    ----------
    own derivation
    """
    return MappingProxyType(_Scanner(text).places)


def nearest(places: Mapping[Path, Place], path: Path) -> Place | None:
    """Find the place of a path, or of the nearest thing that holds it.

    Parameters
    ----------
    places : mapping of path to Place
        What ``find_places`` found.
    path : tuple of str or int
        Where to look.

    Returns
    -------
    place : Place or None
        ``None`` if not even its outermost table stands in the text.

    References
    ----------
    own derivation
    """
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            return places[path[:length]]
    return None


class _Scanner:
    """Walks once through the text; knows headings, arrays of tables, dotted keys, strings, arrays and inline tables."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.newlines = [match.start() for match in re.finditer("\n", text)]
        self.counts: dict[Path, int] = {}
        self.places: dict[Path, Place] = {}
        self._document()

    def _place(self, path: Path, start: int, words: str) -> None:
        self.places.setdefault(path, Place(bisect_right(self.newlines, start - 1) + 1, words))

    def _skip(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _next(self) -> str:
        return self.text[self.at : self.at + 1]

    def _keys(self) -> tuple[str, ...]:
        keys = []
        while match := _KEY.match(self.text, self.at):
            keys.append(next(part for part in match.groups() if part is not None))
            self.at = match.end()
            if self._next() != ".":
                break
            self.at += 1
        return tuple(keys)

    def _resolve(self, keys: tuple[str, ...]) -> Path:
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _document(self) -> None:
        table: Path = ()
        self._skip()
        while self.at < len(self.text):
            start = self.at
            if self._next() == "[":
                table = self._heading()
            else:
                self._pair(table)
            self._skip()
            if self.at == start:
                return

    def _heading(self) -> Path:
        start, many = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        keys = self._keys()
        self.at += 2 if many else 1
        words = self.text[start : self.at]
        parent = self._resolve(keys[:-1])
        if not many:
            path = self._resolve(keys)
        else:
            array: Path = (*parent, keys[-1])
            self._place(array, start, words)
            path = (*array, self.counts.get(array, 0))
            self.counts[array] = self.counts.get(array, 0) + 1
        for depth in range(1, len(path)):
            self._place(path[:depth], start, words)
        self._place(path, start, words)
        return path

    def _pair(self, table: Path) -> None:
        start = self.at
        keys = self._keys()
        path: Path = table
        for key in keys[:-1]:
            path = (*path, key)
            self._place(path, start, "")
        self.at += 1  # the equals sign
        self._value((*path, *keys[-1:]), start)

    def _value(self, path: Path, start: int | None = None) -> None:
        while self._next() in (" ", "\t"):
            self.at += 1
        begin = self.at
        line_at = begin if start is None else start
        if self._next() == "[":
            self._array(path)
        elif self._next() == "{":
            self._inline(path)
        elif match := _STRING.match(self.text, self.at) or _BARE.match(self.text, self.at):
            self.at = match.end()
        self._place(path, line_at, self.text[begin : self.at].strip())

    def _array(self, path: Path) -> None:
        self.at += 1
        number = 0
        self._skip()
        while self._next() not in ("]", ""):
            before = self.at
            self._value((*path, number))
            number += 1
            self._skip()
            if self._next() == ",":
                self.at += 1
            self._skip()
            if self.at == before:
                return
        self.at += 1

    def _inline(self, path: Path) -> None:
        self.at += 1
        self._skip()
        while self._next() not in ("}", ""):
            before = self.at
            self._pair(path)
            self._skip()
            if self._next() == ",":
                self.at += 1
            self._skip()
            if self.at == before:
                return
        self.at += 1
