"""Generated pages of the documentation are what the code says today."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SPEC = importlib.util.spec_from_file_location("docs_build", ROOT / "docs" / "build.py")
assert SPEC is not None
assert SPEC.loader is not None
BUILD = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(BUILD)
PAGES = BUILD.pages()


@pytest.mark.parametrize("path", sorted(PAGES), ids=lambda p: p.name)
def test_a_generated_page_is_up_to_date(path: Path) -> None:
    assert path.read_text(encoding="utf-8") == PAGES[path], "run make docs"


def test_the_job_page_names_every_key_that_the_models_read() -> None:
    page = PAGES[ROOT / "docs" / "reference" / "job.md"]
    for key in ("drain_at", "past_glass", "lap_required", "apex_at", "sealed_by", "alternative_to", "sd"):
        assert f"| `{key}` |" in page


def test_the_readme_shows_the_summary_of_the_example_as_it_is_today() -> None:
    """The room exactly; of the layout, which may fall otherwise on another machine's last digits, its lines."""
    kept, today = ((text := page.partition("prints its summary:\n\n```\n")[2])[:text.index("```")].splitlines()
                   for page in ((ROOT / "README.md").read_text(encoding="utf-8"), BUILD.readme()))
    assert kept[:4] == today[:4], "run make docs"
    assert [line.split()[0] for line in kept if line[0] != " "] == [line.split()[0] for line in today if line[0] != " "]
