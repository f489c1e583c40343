"""YAML rows that refuse what they do not know: duplicate keys, unknown keys, missing keys, wrong types."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from dataclasses import fields as fields_of
from functools import cache
from typing import Any, TypeVar, get_type_hints

from steamwright.errors import DataError

T = TypeVar("T")


@cache
def _loader() -> Any:
    """A safe loader, in C where the machine has it, that refuses a key given twice."""
    import yaml

    base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

    class Strict(base):  # type: ignore[misc]
        pass

    def mapping(loader: Any, node: Any, deep: bool = False) -> dict[str, Any]:
        seen: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = loader.construct_object(key_node, deep=True)
            if key in seen:
                mark = key_node.start_mark
                known = seen.get("id") or seen.get("item")
                raise DataError(f"key {key!r} is given twice" + (f" in {known!r}" if known else ""), path=f"line {mark.line + 1}",
                                hint="keep one of them")
            seen[key] = loader.construct_object(value_node, deep=True)
        return seen

    Strict.add_constructor(yaml.resolver.BaseResolver.DEFAULT_MAPPING_TAG, mapping)
    return Strict


def read_yaml(file: str, text: str) -> dict[str, Any]:
    """Read a YAML text whose top level is a mapping.

    Parameters
    ----------
    file : str
        Name to show in errors.
    text : str
        The YAML text.

    Returns
    -------
    data : dict
        Its content.

    Raises
    ------
    DataError
        If the text is no YAML, no mapping, or gives a key twice.

    References
    ----------
    own derivation
    """
    import yaml

    try:
        data = yaml.load(text, Loader=_loader())
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        place = f"{file} line {mark.line + 1}" if mark else file
        raise DataError(f"not readable as YAML: {getattr(error, 'problem', error)}", path=place) from error
    except DataError as error:
        raise DataError(error.detail, path=f"{file} {error.path}", hint=error.hint) from error
    if not isinstance(data, dict):
        raise DataError("the file holds no mapping", path=file)
    return data


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a data file, with its place for errors."""

    file: str
    id: str
    raw: Any

    def place(self, key: str) -> str:
        """Where a key of this row stands."""
        return f"{self.file}: {self.id}: {key}"

    def fields(self, required: Sequence[str], optional: Sequence[str] = ()) -> dict[str, Any]:
        """The row's values, once no key is unknown or missing."""
        if not isinstance(self.raw, dict):
            raise DataError("a mapping is needed here", path=f"{self.file}: {self.id}")
        for key in self.raw:
            if key not in required and key not in optional:
                raise DataError(f"unknown key {key!r}", path=self.place(str(key)), hint=f"known: {', '.join((*required, *optional))}")
        for key in required:
            if self.raw.get(key) is None:
                raise DataError(f"{key!r} is missing", path=self.place(key))
        return dict(self.raw)

    def number(self, key: str) -> float:
        """A finite number."""
        value = self.raw[key]
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise DataError(f"{value!r} is no number", path=self.place(key))
        return float(value)

    def text(self, key: str) -> str:
        """A text that is not empty."""
        value = self.raw[key]
        if not isinstance(value, str) or not value.strip():
            raise DataError(f"{key!r} must be a text", path=self.place(key))
        return value

    def choice(self, key: str, among: Sequence[str]) -> str:
        """One of some words."""
        value = self.raw[key]
        if value not in among:
            raise DataError(f"{value!r} is not known here", path=self.place(key), hint=f"one of {', '.join(among)}")
        return str(value)


def take(row: Row, cls: type[T]) -> T:
    """Make a dataclass of numbers, texts, flags and tuples of texts from a row.

    Parameters
    ----------
    row : Row
        The row; its keys must be exactly the fields of the class.
    cls : type
        A dataclass.

    Returns
    -------
    value : object
        An instance of the class.

    Raises
    ------
    DataError
        If a key is unknown or missing or has the wrong type.

    References
    ----------
    own derivation
    """
    names = [f.name for f in fields_of(cls)]  # type: ignore[arg-type]
    row.fields(required=names)
    hints = get_type_hints(cls)
    values: dict[str, Any] = {}
    for name in names:
        if hints[name] is float:
            values[name] = row.number(name)
        elif hints[name] is bool:
            if not isinstance(row.raw[name], bool):
                raise DataError(f"{row.raw[name]!r} must be true or false", path=row.place(name))
            values[name] = row.raw[name]
        elif hints[name] is str:
            values[name] = row.text(name)
        else:
            values[name] = tuple(str(v) for v in row.raw[name])
    return cls(**values)
