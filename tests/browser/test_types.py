"""The type check of the page sees what is wrong, in plain TypeScript and in components."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def copy(page_is_built: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page")
    subprocess.run(["python3", str(ROOT / "frontend" / "make_page.py"), "install"], check=True)
    shutil.copytree(ROOT / "frontend", folder / "frontend", ignore=shutil.ignore_patterns("node_modules"))
    shutil.copytree(ROOT / "docs" / "reference", folder / "docs" / "reference")
    (folder / "frontend" / "node_modules").symlink_to(ROOT / "frontend" / "node_modules")
    return folder / "frontend"


@pytest.mark.parametrize(("file", "planted"), [
    ("src/units/planted.ts", "export const length_m: number = \"6 ft\";\n"),
    ("src/ui/Planted.svelte", "<script lang=\"ts\">\n  const length_m: number = \"6 ft\";\n</script>\n\n<p>{length_m}</p>\n"),
])  # fmt: skip
def test_a_planted_error_is_seen(copy: Path, file: str, planted: str) -> None:
    (copy / file).write_text(planted, encoding="utf-8")
    try:
        told = subprocess.run(["npm", "run", "--silent", "check"], cwd=copy, capture_output=True, text=True, check=False)
    finally:
        (copy / file).unlink()
    assert told.returncode != 0
    assert Path(file).name in told.stdout
    assert "not assignable" in told.stdout
