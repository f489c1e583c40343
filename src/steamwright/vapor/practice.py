"""Numbers of the steam load and of the sides of a build-up, each with its source."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from steamwright.errors import DataError


@dataclass(frozen=True, slots=True)
class Number:
    """A number with its source, its place in it, and how it is known."""

    value: float
    source: str
    where: str
    how_known: str


@cache
def _table() -> dict[str, Number]:
    raw = tomllib.loads(files(__package__).joinpath("data/practice.toml").read_text("utf-8"))
    table = {}
    for group, rows in raw.items():
        for name, row in rows.items():
            low, high = row["plausible"]
            if not low <= row["value"] <= high or not all(row.get(k) for k in ("source", "where", "how_known")):
                raise DataError(f"a value is not between {low} and {high}, or has no source", path=f"vapor.data.practice.{group}.{name}")
            table[f"{group}.{name}"] = Number(float(row["value"]), row["source"], row["where"], row["how_known"])
    return table


def practice(name: str) -> float:
    """Look up a number.

    Parameters
    ----------
    name : str
        Group and row of ``practice.toml``, such as ``film.inside_w_m2k``; the name ends in its unit.

    Returns
    -------
    value : float
        In the unit that the name ends in.

    Raises
    ------
    DataError
        If a row lies outside its plausible range or has no source.
    KeyError
        If there is no such row.

    References
    ----------
    own derivation
    """
    return _table()[name].value


def grounds(name: str) -> Number:
    """Look up a number with what it rests on.

    Parameters
    ----------
    name : str
        As for `practice`.

    Returns
    -------
    number : Number
        Value and source.

    Raises
    ------
    KeyError
        If there is no such row.

    References
    ----------
    own derivation
    """
    return _table()[name]
