"""Parsing a hand-written TOML text so that one slip does not hide the next."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from steamwright.errors import Mistake

_LINE = re.compile(r"\(at line (\d+), column (\d+)\)")
_ONE_LINE_PAIR = re.compile(r"""\s*[A-Za-z0-9_"'.-]+[ \t]*=""")
_ONE_LINE_ELEMENT = re.compile(r"\s*\{.*\}\s*,?\s*(?:#.*)?")
_QUOTED_TAPE = re.compile(r"""=\s*"[^"]*'[^"]*""" + '"' + r"""\s*"|=\s*\d[^"#\n]*(?:'|"|\b(?:in|ft|mm|cm|m|deg|degF|degC|perm)\b)""")
_TAPE_HINT = 'write a quantity in double quotes without an inch mark inside, such as "7-6 1/2", "7 ft 6 1/2 in" or "90.5 in"'
_MOST = 30


@dataclass(frozen=True, slots=True)
class Parsed:
    """What could be read of a text: the data, the text that they come from, and the lines that were left out of it."""

    data: dict[str, Any]
    text: str
    mistakes: tuple[Mistake, ...]


def parse_toml(text: str) -> Parsed:
    """Parse a TOML text; a line that cannot be read is left out and the rest is read on.

    Parameters
    ----------
    text : str
        The text.

    Returns
    -------
    parsed : Parsed
        Complete only if there are no mistakes. Where leaving a line out would change the meaning of the lines below it, reading
        ends there and the data are empty.

    References
    ----------
    own derivation
    """
    lines = text.replace("\r\n", "\n").split("\n")
    mistakes: list[Mistake] = []
    while True:
        try:
            left = "\n".join(lines)
            return Parsed(tomllib.loads(left), left, tuple(mistakes))
        except tomllib.TOMLDecodeError as wrong:
            number = _line_of(str(wrong), len(lines))
            line = lines[number - 1]
            mistakes.append(_mistake(str(wrong), number, line))
            if len(mistakes) >= _MOST or not _leave_out(lines, number - 1):
                return Parsed({}, "", tuple(mistakes))


def _line_of(message: str, last: int) -> int:
    match = _LINE.search(message)
    return min(int(match[1]), last) if match else last


def _leave_out(lines: list[str], index: int) -> bool:
    """Take a faulty line out without moving the others; only where it is sure to be one whole entry."""
    line = lines[index]
    if _ONE_LINE_ELEMENT.fullmatch(line):
        lines[index] = "{},"
        return True
    if _ONE_LINE_PAIR.match(line) and not re.search(r"=\s*(?:\"\"\"|'''|\[(?!.*\]))", line):
        lines[index] = ""
        return True
    return False


def _odd_quotes(line: str) -> bool:
    """True where a quotation mark has no other, such as an inch mark within quotes."""
    return line.split("#")[0].count('"') % 2 == 1


def _mistake(message: str, number: int, line: str) -> Mistake:
    reason = _LINE.sub("", message).replace("(at end of document)", "").strip().rstrip(".")
    hint = ""
    if _QUOTED_TAPE.search(line):
        detail, hint = "this line cannot be read", _TAPE_HINT
    elif reason.startswith("Cannot overwrite a value"):
        detail, hint = "this key is said twice", "keep one of the two"
    elif reason.lower().startswith("cannot mutate immutable"):
        detail, hint = "this list or table was already written out above", "put all of it in one place, in [ … ] or under [[…]]"
    elif reason.startswith("Expected ']'"):
        detail, hint = "the bracket of this heading is not closed", "write such as [room.ceiling] or [[room.opening]]"
    elif reason.startswith("Cannot declare"):
        detail, hint = "this table is begun twice", "use [[…]] for several of a kind, or put both together"
    elif reason.startswith(("Expected '='", "Invalid statement")):
        detail, hint = "this line is neither a heading nor key = value", 'write such as name = "value"; begin a remark with #'
    elif reason.startswith(("Unclosed array", "Unclosed inline table")) and _odd_quotes(line):
        detail, hint = "one quotation mark is too many or missing", _TAPE_HINT
    elif reason.startswith(("Unclosed array", "Unclosed inline table")):
        detail, hint = "a bracket is not closed", "look for the missing ] or } at or above this line"
    elif reason.startswith(("Illegal character", "Unterminated string", "Expected '\"")):
        detail, hint = "a text in quotes is not closed on its line", "close it with the same quote that began it"
    elif reason.startswith("Invalid value"):
        detail, hint = "this value cannot be read", "put text and quantities in double quotes"
    else:
        detail = f"this line cannot be read: {reason[:1].lower()}{reason[1:]}"
    shown = line.strip()
    return Mistake("", f"{detail}: {shown}" if shown and ": " not in detail else detail, hint, number, "input.syntax")
