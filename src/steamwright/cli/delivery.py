"""Putting a finished set of files into a folder: all of it or none, and nothing that belongs to someone else."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from steamwright.errors import InputError

# What our own drawings carry, so that a sheet of an earlier plan is told from a drawing that someone else put there.
_OWN_SHEET = re.compile(r"sheets/\d\d-[^/]+\.svg")
_OWN_MARK = b"<g data-layer="


def deliver(files: Mapping[str, bytes], folder: Path) -> None:
    """Write files beside their place, then move them there.

    Parameters
    ----------
    files : mapping of str to bytes
        Content by path inside the folder, with ``/`` between parts.
    folder : Path
        Made if it is missing. Files that are not in ``files`` stay, except sheets of an earlier plan.

    Raises
    ------
    InputError
        If the folder is a file, or nothing can be written there. Then no file has changed.

    References
    ----------
    own derivation
    """
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file", path="--out", hint="name a folder")
    made = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=".steamwright-", dir=folder))
        try:
            _write(files, beside)
            _blocked(files, folder)
            for name in sorted(files):
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                os.replace(beside / name, folder / name)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    except OSError as wrong:
        for place in made:
            _remove_if_empty(place)
        raise InputError(
            f"cannot write to {folder}: {wrong.strerror or wrong}", path="--out", hint="choose a folder that you may write to"
        ) from wrong
    _clear_old_sheets(files, folder)


def _write(files: Mapping[str, bytes], beside: Path) -> None:
    for name, content in files.items():
        target = beside / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


def _blocked(files: Mapping[str, bytes], folder: Path) -> None:
    """Find what would stop a move half-way, before the first one."""
    for name in files:
        target = folder / name
        if target.is_dir():
            raise InputError(f"{target} is a folder where a file has to go", path="--out", hint="move it away or choose another folder")
        if target.parent.exists() and not target.parent.is_dir():
            raise InputError(
                f"{target.parent} is a file where a folder has to go", path="--out", hint="move it away or choose another folder"
            )


def _clear_old_sheets(files: Mapping[str, bytes], folder: Path) -> None:
    for path in sorted((folder / "sheets").glob("*.svg")):
        name = f"sheets/{path.name}"
        if name not in files and _OWN_SHEET.fullmatch(name) and _OWN_MARK in path.read_bytes():
            path.unlink()


def _remove_if_empty(place: Path) -> None:
    if place.is_dir() and not any(place.iterdir()):
        place.rmdir()
