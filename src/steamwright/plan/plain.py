"""Values of a plan as plain JSON values, and their canonical bytes."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from numbers import Integral, Real
from typing import Any

from pydantic import BaseModel

Json = Any
COORDINATE_DIGITS = 9
SIGNIFICANT = ".12g"


def rounded(value: float, name: str = "") -> float:
    """Round a number as plan.json holds it: lengths to 1e-9 m, everything else to twelve significant digits.

    That is finer than the 1e-7 m that readers may rely on, so that slanted edges still meet. A length is a number whose
    name ends in ``_m``. Negative zero becomes zero, so that two ways to compute nothing give the same bytes.

    Parameters
    ----------
    value : float
        Any finite number, in the unit of its name.
    name : str
        Name under which it is written, such as ``outline_m``.

    Returns
    -------
    number : float
        The rounded number, in the same unit.

    Raises
    ------
    ValueError
        If the number is not finite: JSON has no word for it.

    References
    ----------
    own derivation
    """
    if not math.isfinite(value):
        raise ValueError(f"{name or 'a number'} is {value}, which no plan may hold")
    short = round(value, COORDINATE_DIGITS) if name.endswith("_m") else float(format(value, SIGNIFICANT))
    return short + 0.0


def plain(value: object, name: str = "") -> Json:
    """Turn a computed value into plain JSON values, numbers rounded by the name they stand under.

    Parameters
    ----------
    value : object
        A dataclass, a model of a job, an enumeration, a mapping, a tuple or list, or a plain value.
    name : str
        Name under which it is written.

    Returns
    -------
    json : object
        Dictionaries, lists, strings, numbers, booleans and None.

    Raises
    ------
    TypeError
        If the value has no plain form.

    References
    ----------
    own derivation
    """
    kind = type(value)
    if value is None or kind is str or kind is bool or kind is int:
        return value
    if kind is float:
        return rounded(value, name)  # type: ignore[arg-type]
    if kind is tuple or kind is list:
        return _point(value, name) or [plain(v, name) for v in value]  # type: ignore[arg-type,attr-defined]
    names = _names(kind)  # type: ignore[arg-type]
    if names:
        return {n: plain(getattr(value, n), n) for n in names}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return rounded(float(value), name)
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if isinstance(value, Mapping):
        return {str(k): plain(v, str(k)) for k, v in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(v, name) for v in value]
    if isinstance(value, str):
        return str(value)
    raise TypeError(f"{name or 'value'}: {type(value).__name__} has no place in a plan")


def _point(value: Sequence[object], name: str) -> list[float] | None:
    """Two or three coordinates at once, which most of a plan is made of; None where it is something else."""
    if name.endswith("_m") and 2 <= len(value) <= 3 and all(type(v) is float for v in value):
        found = [round(v, COORDINATE_DIGITS) + 0.0 for v in value]  # type: ignore[call-overload]
        if math.isfinite(sum(found)):
            return found
    return None


@cache
def _names(kind: type) -> tuple[str, ...]:
    """What a dataclass is written with; nothing for other types."""
    return tuple(f.name for f in fields(kind)) if is_dataclass(kind) else ()


def canonical_bytes(value: object) -> bytes:
    """Write a value as JSON whose bytes depend on nothing but the value: sorted keys, no spaces, UTF-8.

    Parameters
    ----------
    value : object
        Anything that ``plain`` accepts.

    Returns
    -------
    text : bytes
        One line of JSON without a line end.

    References
    ----------
    own derivation
    """
    return json.dumps(plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()


def content_hash(value: object) -> str:
    """Name a value by its content: SHA-256 of its canonical JSON.

    Parameters
    ----------
    value : object
        A job, a catalog, rules, or anything else that ``plain`` accepts.

    Returns
    -------
    digest : str
        64 hexadecimal digits.

    References
    ----------
    own derivation
    """
    return hashlib.sha256(canonical_bytes(value)).hexdigest()
