"""The example jobs that ship with the program."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from steamwright.errors import DataError
from steamwright.plan.toml_text import parse_toml


@dataclass(frozen=True, slots=True)
class Example:
    """A job file to begin with. ``about`` is the paragraph at its head."""

    id: str
    name: str
    about: str
    toml: str


@cache
def examples() -> tuple[Example, ...]:
    """All example jobs.

    Returns
    -------
    examples : tuple of Example
        By their names.

    Raises
    ------
    DataError
        If they were not installed with the program.

    References
    ----------
    own derivation
    """
    package = Path(__file__).parents[1]
    # Installed they lie in the package; in a working copy, beside the sources.
    folder = next((f for f in (package / "examples", package.parents[1] / "examples") if f.is_dir()), None)
    if folder is None:
        raise DataError("the example jobs are not there", path="examples", hint="install the program anew")
    return tuple(_example(path) for path in sorted(folder.glob("*.toml")))


def _example(path: Path) -> Example:
    text = path.read_text(encoding="utf-8")
    about = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        about.append(line.lstrip("# ").rstrip())
    return Example(path.stem, str(parse_toml(text).data["name"]), " ".join(about), text)
