"""Materials that a person adds in a file of their own: through the command line and in the hourly method."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

import steamwright.cli.main as cli
from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.stack import build_stacks
from steamwright.errors import DataError
from steamwright.vapor.climate import climate_named
from steamwright.vapor.material_functions import function_of
from steamwright.vapor.sides import side
from tests import plans
from tests.unit.test_steam_load import CEMENT

OWN = """
materials:
  - id: board from the yard
    name: board from the yard
    role: board
    thickness_m: 0.0125
    thickness_range_m: [0.0125, 0.0125]
    conductivity_w_mk: {value: 0.3, source: own test, where: sheet 1, how_known: text}
    density_kg_m3: {value: 1200, source: own test, where: sheet 1, how_known: text}
    heat_capacity_j_kgk: {value: 900, source: own test, where: sheet 1, how_known: text}
    vapor: {form: mu, value: 30, procedure: "", source: own test, where: sheet 1, how_known: text}
    tags: [cementitious]
"""
LIKE = OWN + '    like: "cement board 1/2 in"\n'
JOB = Path(__file__).parents[1] / "data" / "alcove.toml"


def test_a_material_of_ones_own_stands_on_one_it_is_like() -> None:
    with pytest.raises(DataError, match="like"):
        function_of("board from the yard")
    got = function_of("board from the yard", "cement board 1/2 in")
    assert got.id == "cement board"
    assert got.estimated
    assert function_of("mineral wool batt", "cement board 1/2 in").id == "fibrous"  # what is known needs no other


def test_it_is_marched_and_shown_as_a_band() -> None:
    pytest.importorskip("numba")
    from steamwright.vapor.hourly_wall import Built, Question

    catalog = load_catalog([LIKE])
    layers = tuple({"material": "board from the yard"} if x["material"].startswith("cement board") else x for x in CEMENT)
    (b,) = build_stacks([BuildUpChoice.model_validate({"name": "a", "on": ("walls",), "layers": layers})], catalog)
    made = Built(Question(b, side("heated room", climate_named("cold humid")), False, 1.0), catalog.materials)
    assert "board from the yard" in made.estimated
    board = next(k for k, layer in enumerate(made.layers) if layer.material == "board from the yard")
    assert made.wall.layers[board].porous.heat_capacity_j_m3k == pytest.approx(1200 * 900)


def test_the_command_line_takes_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[object] = []

    def build(job: object, catalog: object, *_more: object, **_named: object) -> object:
        seen.append(catalog)
        return plans.plan()

    monkeypatch.setattr("steamwright.plan.build.build", build)
    own = tmp_path / "own.yaml"
    own.write_text(LIKE, encoding="utf-8")
    CliRunner().invoke(cli.app, ["--catalog", str(own), "check", str(JOB)])
    assert seen[0].materials["board from the yard"].like == "cement board 1/2 in"  # type: ignore[attr-defined]
    own.write_text(OWN.replace("value: 0.3", "value: 300"), encoding="utf-8")
    told = CliRunner().invoke(cli.app, ["--catalog", str(own), "check", str(JOB), "--json"])
    assert told.exit_code == cli.BAD_INPUT
    assert "board from the yard" in json.loads(told.stdout)["mistakes"][0]["path"]
