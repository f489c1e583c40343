"""The commands as a person runs them: a whole process, a real example, real files."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HOME = ROOT / "examples" / "home-alcove.toml"
REMODEL = ROOT / "examples" / "remodel-curbless.toml"


def steamwright(*arguments: str, hash_seed: int = 1) -> subprocess.CompletedProcess[str]:
    """Run a command; the seed decides the order of sets of words, which must show nowhere."""
    command = [sys.executable, "-c", "from steamwright.cli.main import run; run()", *arguments]
    environment = {**os.environ, "PYTHONHASHSEED": str(hash_seed)}
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=600, env=environment)


def tree(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    folder = tmp_path_factory.mktemp("home")
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    return folder, steamwright("plan", str(HOME), "--out", str(folder), "--json")


def test_the_first_example_is_all_right(planned: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, ran = planned
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert ran.stderr == ""
    told = json.loads(ran.stdout)
    assert told["ok"]
    assert told["tight"]
    assert told["spare_m"] >= 0
    assert told["findings"]["fail"] == 0
    assert told["findings"]["pass"] > 10
    written = set(tree(folder))
    assert set(told["files"]) == written - {"notes.txt"}
    assert {"plan.json", "room.dxf", "room.glb", "order.xlsx", "order.csv", "dossier.pdf"} < written
    assert sum(name.startswith("sheets/") for name in written) >= 8


def test_what_is_written_is_what_it_says(planned: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, ran = planned
    told, plan = json.loads(ran.stdout), json.loads((folder / "plan.json").read_bytes())
    assert plan["format"] == "steamwright-plan"
    assert plan["room"]["volume_m3"] == pytest.approx(told["volume_m3"], abs=1e-6)
    assert len(plan["covering"]["pieces"]) == sum(told["pieces"].values())
    assert (folder / "dossier.pdf").read_bytes().startswith(b"%PDF-")
    assert (folder / "room.glb").read_bytes()[:4] == b"glTF"
    assert (folder / "order.xlsx").read_bytes()[:2] == b"PK"


def test_the_same_job_gives_the_same_bytes(planned: tuple[Path, subprocess.CompletedProcess[str]], tmp_path: Path) -> None:
    folder, _ = planned
    steamwright("plan", str(HOME), "--out", str(tmp_path), hash_seed=4)
    first, second = tree(folder), tree(tmp_path)
    assert set(first) - {"notes.txt"} == set(second)
    assert [name for name in second if first[name] != second[name]] == []


def test_a_job_out_of_a_plan_is_the_job(planned: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    from steamwright.plan.job import Job
    from steamwright.plan.jobfile import read_job

    document = json.loads((planned[0] / "plan.json").read_bytes())["job"]
    again, said = Job.model_validate(document), read_job(HOME.read_text(encoding="utf-8"))
    one, other = leaves(again.model_dump(mode="json")), leaves(said.model_dump(mode="json"))
    assert one.keys() == other.keys()
    assert [key for key in one if one[key] != pytest.approx(other[key], abs=1e-7)] == []
    assert len(one) > 200


def leaves(node: object, path: str = "") -> dict[str, object]:
    """Every value of a document by its path."""
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    found = {key: value for name, part in inner for key, value in leaves(part, f"{path}/{name}").items()}
    return found if isinstance(node, dict | list) else {path: node}


def test_a_misread_tape_fails() -> None:
    ran = steamwright("check", str(REMODEL))
    assert ran.returncode == 1, ran.stdout + ran.stderr
    assert "B-F" in ran.stdout
    assert ran.stderr == ""


def test_bad_input_writes_nothing(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    text = HOME.read_text(encoding="utf-8").replace('name = "', 'nane = "', 1)
    bad.write_text(text, encoding="utf-8")
    ran = steamwright("plan", str(bad), "--out", str(tmp_path / "out"))
    assert ran.returncode == 2
    assert "did you mean “name”?" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("good", "bad", "at"), [
    ('from = "', 'from = "99 ft"  # "', "[[room.niche]]"),
    ('of = "A-C"', 'of = "A-Z"', 'of = "A-C"'),
    ('material = "', 'material = "no such ', 'material = "'),
    ('width = "', 'width = "-', 'width = "'),
    ('height = "', 'height = "0 in"  # "', 'height = "'),
])  # fmt: skip
def test_a_room_that_cannot_be_is_told_with_its_line(tmp_path: Path, good: str, bad: str, at: str) -> None:
    text = HOME.read_text(encoding="utf-8")
    assert good in text
    job = tmp_path / "job.toml"
    job.write_text(text.replace(good, bad, 1), encoding="utf-8")
    ran = steamwright("check", str(job))
    assert ran.returncode == 2, ran.stdout + ran.stderr
    assert f"line {1 + text[: text.index(at)].count(chr(10))}  " in ran.stderr


def test_the_first_example_compares_two_build_ups_over_a_year_by_the_hour(tmp_path: Path) -> None:
    pytest.importorskip("numba")
    # What lies behind a wall costs a third of the time; outdoors is marched in tests/unit/test_hourly.py.
    inside = tmp_path / "inside.toml"
    inside.write_text(HOME.read_text(encoding="utf-8").replace('"outdoors north"', '"heated room"'), encoding="utf-8")
    ran = steamwright("compare", str(inside), "--years", "1", "--json")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    told = json.loads(ran.stdout)
    (family,) = told["families"]
    cement, foam = family["variants"]
    assert foam["steam"]["generator_w"]["still"] < cement["steam"]["generator_w"]["still"]
    assert {row["side"] for row in cement["hourly"]} == {"heated room", "attic"}
    # Every other side, with and without a retarder, as stated and at both ends of the band.
    assert len(cement["hourly"]) == len(cement["monthly"]) * 3
    for row in (*cement["hourly"], *foam["hourly"]):
        assert abs(row["balance"]["water_residual_kg_m2"]) < 1e-6
        assert row["layers"]
    house = [r for r in cement["hourly"] if r["side"] == "heated room" and not r["retarder"]]
    # Fresh mortar dries in the first weeks; the board on the other side never gets damp.
    assert all(row["interfaces"][-1]["hours_over_80"] == 0 and row["mold_index"] < 1.0 for row in house)
    assert any("generator" in reason for reason in family["reasons"])
    assert told["outlets"][0]["layers"]
