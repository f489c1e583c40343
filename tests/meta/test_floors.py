"""The floors of the house, and the owners of heavy packages; and the check itself sees what breaks them."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LINT = Path(sys.executable).parent / "lint-imports"


def lint(folder: Path) -> tuple[int, str]:
    told = subprocess.run(
        [str(LINT), "--config", str(folder / "pyproject.toml"), "--no-logo", "--no-cache"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder / "src")},
        capture_output=True,
        text=True,
        check=False,
    )
    return told.returncode, told.stdout + told.stderr


def test_every_module_imports_from_below() -> None:
    code, told = lint(ROOT)
    assert code == 0, told


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = tmp_path_factory.mktemp("house")
    shutil.copytree(ROOT / "src" / "steamwright", copy / "src" / "steamwright", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", copy)
    return copy


@pytest.mark.parametrize(("module", "line", "broken"), [
    ("room/planted.py", "from steamwright.plan import job", "Floors"),
    ("exchange/planted.py", "from steamwright.dossier import compile", "Floors"),
    ("rules/planted.py", "def late() -> None:\n    from steamwright.geometry import frame", "Floors"),
    ("attic/__init__.py", "", "Floors"),
    ("room/planted.py", "import openpyxl", "openpyxl"),
    ("plan/planted.py", "def late() -> None:\n    import ezdxf", "ezdxf"),
    ("cli/planted.py", "import typst", "typst"),
    ("covering/planted.py", "import manifold3d", "manifold3d"),
    ("rules/planted.py", "from shapely import Polygon", "shapely"),
    ("rules/planted.py", "import yaml", "yaml"),
    ("plan/planted.py", "from rich.console import Console", "rich"),
])  # fmt: skip
def test_a_planted_import_is_seen(house: Path, module: str, line: str, broken: str) -> None:
    planted = house / "src" / "steamwright" / module
    planted.parent.mkdir(exist_ok=True)
    planted.write_text(line + "\n", encoding="utf-8")
    try:
        code, told = lint(house)
    finally:
        planted.unlink()
        if planted.name == "__init__.py":
            planted.parent.rmdir()
    assert code != 0
    assert any(broken in row and "BROKEN" in row for row in told.split("\n")) or "attic" in told, told
