"""What changed between two drafts, and between the figures of their plans."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from steamwright.plan.places import Path, path_text


@dataclass(frozen=True, slots=True)
class Change:
    """One value that differs; ``None`` where it is not there."""

    path: str
    before: Any
    after: Any


_KEYS = ("name", "side", "item")


def changes(before: object, after: object) -> tuple[Change, ...]:
    """Find every value that differs.

    Things with a name are followed by their name, readings by what they are of, so that one put in front changes nothing else.

    Parameters
    ----------
    before : object
        JSON value.
    after : object
        JSON value.

    Returns
    -------
    changes : tuple of Change
        In the order of the later value, what is gone last; paths are those of the later value, or of the earlier where it is gone.

    References
    ----------
    own derivation
    """
    return tuple(_changes(before, after, ()))


def _changes(before: object, after: object, path: Path) -> Iterator[Change]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for key in (*after, *(k for k in before if k not in after)):
            yield from _one(before.get(key), after.get(key), (*path, key), key in before, key in after)
    elif isinstance(before, list) and isinstance(after, list):
        yield from _in_list(before, after, path)
    elif before != after or type(before) is not type(after):
        yield Change(path_text(path), before, after)


def _one(before: object, after: object, path: Path, was: bool, is_: bool) -> Iterator[Change]:
    if was and is_:
        yield from _changes(before, after, path)
    else:
        yield Change(path_text(path), before, after)


def _in_list(before: Sequence[object], after: Sequence[object], path: Path) -> Iterator[Change]:
    old, new = _identities(before), _identities(after)
    place = {identity: i for i, identity in enumerate(old)}
    for i, identity in enumerate(new):
        if identity in place:
            yield from _changes(before[place[identity]], after[i], (*path, i))
        else:
            yield Change(path_text((*path, i)), None, after[i])
    kept = set(new)
    for i, identity in enumerate(old):
        if identity not in kept:
            yield Change(path_text((*path, i)), before[i], None)
    shared = [identity for identity in old if identity in kept]
    if all(identity[0] for identity in shared) and shared != [identity for identity in new if identity in place]:
        yield Change(path_text(path), "in another order", "in this order")


def _identities(values: Sequence[object]) -> list[tuple[str, int]]:
    """What each element is followed by: what it is called and its count among those called so, or its place."""
    counts: dict[str, int] = {}
    found = []
    for value in values:
        called = _called(value)
        counts[called] = counts.get(called, -1) + 1
        found.append((called, counts[called]))
    return found


def _called(value: object) -> str:
    if not isinstance(value, Mapping):
        return ""
    if isinstance(value.get("of"), str):
        return f"{value.get('kind')} {value['of']}"
    return next((str(value[key]) for key in _KEYS if isinstance(value.get(key), str)), "")
