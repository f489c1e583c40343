"""What the commands print, write and end with."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

import steamwright.cli.main as cli
from steamwright.cli.screen import placed
from steamwright.errors import SolveError, SurveyError
from steamwright.plan.model import Plan
from steamwright.rules.model import Finding, Verdict
from tests import plans

ALCOVE = Path(__file__).parents[1] / "data" / "alcove.toml"


@pytest.fixture(scope="module")
def built() -> Plan:
    return plans.plan()


def finding(verdict: Verdict, rule: str = "R-1", level: str = "required") -> Finding:
    return Finding(
        rule, verdict, 1.0, 2.0, ">=", "in", -1.0, "TCNA-SR614", "SR614", "quoted", level, "ceiling", f"{rule} is judged.", "Do this."
    )


def run(monkeypatch: pytest.MonkeyPatch, built: Plan, verdicts: tuple[Finding, ...], *arguments: str) -> tuple[int, str, str]:
    monkeypatch.setattr(cli, "_build", lambda *_said: replace(built, findings=verdicts))
    monkeypatch.setattr(cli, "_files", lambda _plan, _tell: {"plan.json": b"{}"})
    result = CliRunner().invoke(cli.app, [*arguments])
    return result.exit_code, result.stdout, result.stderr


def test_plan_ends_right(monkeypatch: pytest.MonkeyPatch, built: Plan, tmp_path: Path) -> None:
    code, out, err = run(monkeypatch, built, (finding(Verdict.PASS),), "plan", str(ALCOVE), "--out", str(tmp_path / "o"))
    assert (code, err) == (0, "")
    assert (tmp_path / "o" / "plan.json").read_bytes() == b"{}"
    for word in ("room", "areas", "pieces", "rolls", "laps", "findings", "1 holds", "1 file written"):
        assert word in out
    assert "fails first" not in out


def test_plan_ends_with_a_failure_and_still_writes(monkeypatch: pytest.MonkeyPatch, built: Plan, tmp_path: Path) -> None:
    verdicts = (finding(Verdict.PASS), finding(Verdict.FAIL, "R-2", "advised"), finding(Verdict.FAIL, "R-3"))
    code, out, _ = run(monkeypatch, built, verdicts, "plan", str(ALCOVE), "--out", str(tmp_path))
    assert code == 1
    assert "fails first" in out
    assert "R-3 is judged." in out
    assert "2 fail" in out
    assert (tmp_path / "plan.json").exists()


def test_plan_for_machines(monkeypatch: pytest.MonkeyPatch, built: Plan, tmp_path: Path) -> None:
    code, out, _ = run(monkeypatch, built, (finding(Verdict.FAIL),), "plan", str(ALCOVE), "--out", str(tmp_path), "--json")
    told = json.loads(out)
    assert code == 1
    assert told["ok"] is False
    assert told["fails_first"]["rule"] == "R-1"
    assert told["volume_m3"] == pytest.approx(built.room.volume_m3, abs=1e-6)
    assert sum(told["pieces"].values()) == len(built.covering.pieces)
    assert told["files"] == ["plan.json"]
    assert told["findings"]["fail"] == 1


def test_check_prints_what_matters_first(monkeypatch: pytest.MonkeyPatch, built: Plan) -> None:
    verdicts = (finding(Verdict.PASS, "R-1"), finding(Verdict.MARGINAL, "R-2"), finding(Verdict.FAIL, "R-3"))
    code, out, _ = run(monkeypatch, built, verdicts, "check", str(ALCOVE))
    assert code == 1
    assert out.index("R-3") < out.index("R-2") < out.index("R-1")
    assert "R-3: TCNA-SR614" in out
    assert "Local codes" in out


def test_check_says_what_rests_on_memory(monkeypatch: pytest.MonkeyPatch, built: Plan) -> None:
    _, out, _ = run(monkeypatch, built, (replace(finding(Verdict.PASS), how_known="memory"),), "check", str(ALCOVE))
    assert "verify: from memory" in " ".join(out.split())


def test_bad_input_is_told_whole(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(ALCOVE.read_text(encoding="utf-8").replace('is = "60 in"', "is = 60").replace('"2 in/ft"', '"steep"'), encoding="utf-8")
    result = CliRunner().invoke(cli.app, ["plan", str(bad), "--out", str(tmp_path / "o")])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "3 mistakes" in result.stderr
    assert "line 8  survey.reading[0].is" in result.stderr
    assert "60 has no unit" in result.stderr
    assert "Traceback" not in result.stderr
    assert not (tmp_path / "o").exists()
    told = json.loads(CliRunner().invoke(cli.app, ["check", str(bad), "--json"]).stdout)
    assert [m["line"] for m in told["mistakes"]] == [8, 10, 19]


@pytest.mark.parametrize("content", [None, b"\xff\xfe\x00"])
def test_a_file_that_cannot_be_read(tmp_path: Path, content: bytes | None) -> None:
    job = tmp_path / "job.toml"
    if content is not None:
        job.write_bytes(content)
    result = CliRunner().invoke(cli.app, ["check", str(job)])
    assert result.exit_code == 2
    assert "job.toml" in result.stderr


@pytest.mark.parametrize(("error", "code", "words"), [
    (SurveyError("the walls do not close", path="survey.reading[4].is", hint="measure again"), 2, "line 12  survey.reading[4].is"),
    (SolveError("no end", hint="try again"), 3, "could not finish: no end"),
    (ZeroDivisionError("oh"), 3, "a fault in the program: ZeroDivisionError"),
])  # fmt: skip
def test_what_goes_wrong_later(monkeypatch: pytest.MonkeyPatch, error: Exception, code: int, words: str) -> None:
    def fail(*_said: object) -> Plan:
        raise error

    monkeypatch.setattr(cli, "_build", fail)
    result = CliRunner().invoke(cli.app, ["check", str(ALCOVE)])
    assert result.exit_code == code
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_version() -> None:
    assert CliRunner().invoke(cli.app, ["--version"]).stdout.strip() == "0.1.0"


@pytest.mark.parametrize(("where", "sentence", "text"), [
    ("room", "It holds.", "It holds."), ("", "It holds.", "It holds."), ("ceiling", "Ceiling falls.", "Ceiling falls."),
    ("floor", "It falls.", "floor: It falls."),
])  # fmt: skip
def test_a_place_is_said_once(where: str, sentence: str, text: str) -> None:
    assert placed(where, sentence) == text
