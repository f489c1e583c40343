"""The numbers of laying and fastening boards, each with its source."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from steamwright.errors import DataError


@dataclass(frozen=True, slots=True)
class Spacing:
    """Greatest distance of screws by kind of board, on walls and overhead, and whether each takes a washer."""

    kind: str
    wall_m: float
    overhead_m: float
    washer: bool
    source: str
    clause: str
    how_known: str


@cache
def _rows() -> dict[str, dict[str, dict[str, Any]]]:
    table: dict[str, dict[str, dict[str, Any]]] = tomllib.loads(files(__package__).joinpath("practice.toml").read_text("utf-8"))
    for group, rows in table.items():
        for name, row in rows.items():
            low, high = row["plausible"]
            values = [v for k, v in row.items() if k == "value" or k.endswith("_m")] + list(row.get("values", ()))
            if not values or not all(low <= v <= high for v in values) or not (row["source"] and row["clause"] and row["how_known"]):
                raise DataError(f"a value is not between {low} and {high}, or has no source",
                                path=f"covering.boards.practice.{group}.{name}")
    return table


@cache
def practice(group: str, name: str) -> float:
    """Look up a number of laying or fastening.

    Parameters
    ----------
    group : str
        ``lay``, ``frame`` or ``screw``.
    name : str
        Row of ``practice.toml``; the name ends in its unit.

    Returns
    -------
    value : float
        In the unit that the name ends in.

    Raises
    ------
    DataError
        If a row lies outside its plausible range or has no source.

    References
    ----------
    common practice, no source
    """
    return float(_rows()[group][name]["value"])


@cache
def sold_lengths_in() -> tuple[float, ...]:
    """Lengths of screws on the shelf, short ones first.

    Returns
    -------
    lengths : tuple of float
        Inches.

    Raises
    ------
    DataError
        If a row lies outside its plausible range or has no source.

    References
    ----------
    common practice, no source
    """
    return tuple(sorted(float(v) for v in _rows()["screw"]["sold_in"]["values"]))


@cache
def spacing_of(tags: tuple[str, ...]) -> Spacing:
    """Find the spacing row of a board.

    Parameters
    ----------
    tags : tuple of str
        Tags of the board's material; the first that has a row decides.

    Returns
    -------
    spacing : Spacing
        The row, or that of cement board where no tag has one: it is the closest of them.

    Raises
    ------
    DataError
        If a row lies outside its plausible range or has no source.

    References
    ----------
    ANSI-A108.11; common practice, no source
    """
    rows = _rows()["spacing"]
    kind = next((t for t in tags if t in rows), "cementitious")
    row = rows[kind]
    return Spacing(kind, row["wall_m"], row["overhead_m"], row["washer"], row["source"], row["clause"], row["how_known"])
