"""Open sets of cutting problems, read from the folder that ``--sets=DIR`` or STEAMWRIGHT_BENCHMARKS names; they are not kept here."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Any


def flag(name: str, default: float | str) -> str:
    """What the command line says as ``--name=value``."""
    return next((a.split("=", 1)[1] for a in sys.argv[1:] if a.startswith(f"--{name}=")), str(default))


def words() -> list[str]:
    """What else the command line says."""
    return [a for a in sys.argv[1:] if not a.startswith("--")]


FOLDER = Path(flag("sets", "") or os.environ.get("STEAMWRIGHT_BENCHMARKS", Path(__file__).parents[2] / "shared" / "benchmarks"))


def instances(family: str) -> list[dict[str, Any]]:
    """All instances of one family; ends the program with a sentence if the set is not there."""
    path = FOLDER / f"{family}.json"
    if not path.is_file():
        sys.exit(f"{path} is not there: name the folder of the open sets with --sets=DIR or in STEAMWRIGHT_BENCHMARKS")
    found: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))["instances"]
    return found


def table(head: tuple[str, ...], rows: list[tuple[object, ...]]) -> None:
    """Print rows in columns as wide as they need."""
    texts = [head, *[tuple(f"{v:.3f}" if isinstance(v, float) else str(v) for v in row) for row in rows]]
    widths = [max(len(row[k]) for row in texts) for k in range(len(head))]
    for row in texts:
        print("  ".join(cell.rjust(w) if k else cell.ljust(w) for k, (cell, w) in enumerate(zip(row, widths, strict=True))))
