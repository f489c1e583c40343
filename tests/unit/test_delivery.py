"""All files arrive or none does, and what belongs to someone else stays."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from steamwright.cli.delivery import deliver
from steamwright.errors import InputError

FILES = {"plan.json": b"{}", "sheets/01-title.svg": b"<svg><g data-layer='a'/></svg>", "order.csv": b"item\n"}


def tree(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_files_arrive_in_a_new_folder(tmp_path: Path) -> None:
    deliver(FILES, tmp_path / "a" / "b")
    assert tree(tmp_path / "a" / "b") == FILES


def test_foreign_files_stay_and_own_ones_are_replaced(tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "notes.txt").write_bytes(b"mine")
    (tmp_path / "sheets" / "99-sketch.svg").write_bytes(b"<svg>mine</svg>")
    (tmp_path / "sheets" / "02-old.svg").write_bytes(b"<svg><g data-layer='a'/></svg>")
    (tmp_path / "plan.json").write_bytes(b"old")
    deliver(FILES, tmp_path)
    assert tree(tmp_path) == FILES | {"notes.txt": b"mine", "sheets/99-sketch.svg": b"<svg>mine</svg>"}


def test_nothing_changes_where_a_move_would_stop_half_way(tmp_path: Path) -> None:
    (tmp_path / "sheets").write_bytes(b"a file where a folder has to go")
    (tmp_path / "order.csv").write_bytes(b"old")
    with pytest.raises(InputError, match="folder has to go"):
        deliver(FILES, tmp_path)
    assert tree(tmp_path) == {"sheets": b"a file where a folder has to go", "order.csv": b"old"}


def test_nothing_changes_when_writing_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name == "order.csv":
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match="No space left"):
        deliver(FILES, tmp_path / "new" / "out")
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"x")
    with pytest.raises(InputError, match="is a file"):
        deliver(FILES, tmp_path / "out")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the administrator may write anywhere")
def test_a_folder_that_may_not_be_written(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="cannot write"):
        deliver(FILES, tmp_path)
