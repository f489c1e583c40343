"""What public functions say of themselves is true; and the check itself sees what is not."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

from steamwright.sources import load_sources
from tests.meta.docstrings import faults_of

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "steamwright"
SAID = {key: f"{s.title} {s.edition} {s.note}" for key, s in load_sources().items()}


@cache
def error_bases() -> dict[str, str]:
    """Every error class of ours and its base."""
    found = {}
    for path in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and node.name.endswith("Error") and node.bases and isinstance(node.bases[0], ast.Name):
                found[node.name] = node.bases[0].id
    return found


@pytest.mark.parametrize("path", sorted(SOURCE.rglob("*.py")), ids=lambda p: str(p.relative_to(SOURCE)))
def test_every_public_function(path: Path) -> None:
    faults = faults_of(path.relative_to(ROOT), path.read_text(encoding="utf-8"), SAID, error_bases())
    assert not faults, "\n" + "\n".join(map(str, faults))


GOOD = '''
def drip(slope: float, length_m: float) -> float:
    """Height that a ceiling falls.

    Parameters
    ----------
    slope : float
        Rise over run (ratio).
    length_m : float
        Level length. [m]

    Returns
    -------
    fall_m : float
        The fall. [m]

    Raises
    ------
    InputError
        If the length is negative.

    References
    ----------
    TCNA-SR614, requirements.
    """
    if length_m < 0:
        raise UnitError("x")
    return slope * length_m
'''

PLANTS = [
    ("def drip(slope: float, length_m: float)", "def drip(length_m: float, slope: float)", "documents"),
    ("def drip(slope: float, length_m: float)", "def drip(slope: float, length_m: float, more: int)", "documents"),
    ("length_m : float\n        Level length. [m]\n", "length_m : float\n        Level length.\n", "has no [m]"),
    ("Level length. [m]", "Level length. [mm]", "has no [m]"),
    ("Rise over run (ratio).", "Rise over run. [Pa]", "does not end with _pa"),
    ("The fall. [m]", "The fall.", "has no [m]"),
    ("Height that a ceiling falls.", "Height that a", "one whole sentence"),
    ("    Returns\n    -------\n    fall_m : float\n        The fall. [m]\n\n", "", "what it returns"),
    ("-> float", "-> None", "returns nothing"),
    ("InputError\n", "DripError\n", "does not exist"),
    ("InputError\n", "SolveError\n", "does not say so"),
    ("TCNA-SR614, requirements.", "somewhere", "neither a key"),
    ("TCNA-SR614, requirements.", "TCNA-SR999, requirements; own derivation.", "“TCNA-SR999” is not a key"),
    ("    References\n    ----------\n    TCNA-SR614, requirements.\n", "", "names no source"),
    ('"""', '"', "no docstring"),
]  # fmt: skip


def test_a_good_docstring() -> None:
    assert faults_of(Path("x.py"), GOOD, {"TCNA-SR614": ""}, error_bases()) == []


@pytest.mark.parametrize(("good", "bad", "words"), PLANTS)
def test_a_planted_fault_is_seen(good: str, bad: str, words: str) -> None:
    if good == '"""':
        text = GOOD[: GOOD.index('"""')] + "return 1.0\n"
    else:
        assert good in GOOD
        text = GOOD.replace(good, bad, 1)
    faults = faults_of(Path("x.py"), text, {"TCNA-SR614": ""}, error_bases())
    assert any(words in fault.what for fault in faults), faults
