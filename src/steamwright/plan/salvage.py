"""Mending what a model refused, so that the rest of a job can still be checked against itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import deepcopy
from typing import Any

from pydantic import ValidationError

from steamwright.plan.job import Job
from steamwright.plan.phrasing import error_paths, filler
from steamwright.plan.places import Path

_ROUNDS = 4


def mended(data: Mapping[str, Any]) -> tuple[Job, tuple[Path, ...]] | None:
    """Put a stand-in where a job's data are refused.

    Parameters
    ----------
    data : mapping
        What was typed.

    Returns
    -------
    job_and_places : tuple of Job and tuple of path, or None
        A job with stand-ins and where they are; what touches them says nothing about the file. ``None`` where a stand-in
        would falsify too much: a name, a station, a whole table.

    References
    ----------
    own derivation
    """
    copy = deepcopy(dict(data))
    touched: list[Path] = []
    for _ in range(_ROUNDS):
        try:
            return Job.model_validate(copy, context={"typed": True}), tuple(touched)
        except ValidationError as error:
            for path, kind in error_paths(error, copy):
                if not _mend(copy, path, kind):
                    return None
                touched.append(path)
    return None


def _mend(data: Any, path: Path, kind: str) -> bool:
    if not path or path[-1] in ("name", "stations") or "stations" in path:
        return False
    node = data
    for part in path[:-1]:
        node = node[part]
    last = path[-1]
    if kind == "extra_forbidden":
        del node[last]
        return True
    stand_in = filler(Job, path)
    if stand_in is None:
        return False
    if isinstance(node, Mapping):
        node[last] = stand_in  # type: ignore[index]
        return True
    if isinstance(node, Sequence) and isinstance(last, int):
        node[last : last + 1] = [stand_in]  # type: ignore[index]
        return True
    return False


def touches(path: Path, touched: Sequence[Path]) -> bool:
    """Whether a place stands in the same table as a stand-in.

    Parameters
    ----------
    path : tuple of str or int
        The place.
    touched : sequence of path
        Where the stand-ins are.

    Returns
    -------
    touches : bool
        True if what is said there may come from a stand-in.

    References
    ----------
    own derivation
    """
    return any(path[: max(len(t) - 1, 1)] == t[: max(len(t) - 1, 1)] or t[: len(path)] == path for t in touched)
