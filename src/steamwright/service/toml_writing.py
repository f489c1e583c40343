"""A draft written as a job file."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_of(draft: Mapping[str, object]) -> str:
    """Write a draft as TOML.

    Parameters
    ----------
    draft : mapping
        Tables, lists, text, numbers and truth values; what is null is left out, since TOML has no word for it.

    Returns
    -------
    text : str
        Plain values first, then tables; lists of tables that hold tables as ``[[…]]``.

    References
    ----------
    own derivation
    """
    lines: list[str] = []
    _table(draft, (), lines)
    return "\n".join(lines).strip() + "\n"


def _table(table: Mapping[str, object], path: tuple[str, ...], lines: list[str]) -> None:
    later = []
    for key, value in table.items():
        if value is None:
            continue
        if (isinstance(value, Mapping) and value) or (_is_tables(value) and path != ("survey",)):
            later.append((key, value))
        else:
            lines.append(f"{_key(key)} = {_value(value, many=_is_tables(value))}")
    for key, value in later:
        heading = ".".join(_key(k) for k in (*path, key))
        if isinstance(value, Mapping):
            lines += ["", f"[{heading}]"]
            _table(value, (*path, key), lines)
        elif isinstance(value, list):
            for row in value:
                lines += ["", f"[[{heading}]]"]
                _table(row, (*path, key), lines)


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, Mapping) for v in value)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object, *, many: bool = False) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items() if v is not None)
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list):
        parts = [_value(v) for v in value if v is not None]
        return "[\n" + "".join(f"    {p},\n" for p in parts) + "]" if many else "[" + ", ".join(parts) + "]"
    return repr(value)
