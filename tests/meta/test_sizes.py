"""A module is one idea: none outgrows a page that a person can hold in mind."""

from __future__ import annotations

from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "steamwright"
LONGEST = 450
VAGUE = ("util", "utils", "helper", "helpers", "manager", "misc", "common", "tools")


def outgrown(folder: Path) -> list[str]:
    counted = {path: path.read_text(encoding="utf-8").count("\n") for path in sorted(folder.rglob("*.py"))}
    return [f"{path.relative_to(folder)}: {lines} lines" for path, lines in counted.items() if lines > LONGEST]


def vaguely_named(folder: Path) -> list[str]:
    return [str(path.relative_to(folder)) for path in sorted(folder.rglob("*.py")) if set(path.stem.split("_")) & set(VAGUE)]


def test_no_module_is_too_long() -> None:
    assert outgrown(SOURCE) == []


def test_no_module_is_named_for_nothing() -> None:
    assert vaguely_named(SOURCE) == []


@pytest.mark.parametrize(("lines", "found"), [(LONGEST, 0), (LONGEST + 1, 1)])
def test_a_long_module_is_seen(tmp_path: Path, lines: int, found: int) -> None:
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "long.py").write_text("x = 1\n" * lines, encoding="utf-8")
    assert len(outgrown(tmp_path)) == found


def test_a_vague_name_is_seen(tmp_path: Path) -> None:
    for name in ("room_utils.py", "manager.py", "utilities_room.py"):
        (tmp_path / name).touch()
    assert vaguely_named(tmp_path) == ["manager.py", "room_utils.py"]
