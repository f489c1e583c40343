"""The page on steam and vapor, its plots, and the table on the terminal."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from pypdf import PdfReader
from rich.console import Console
from typer.testing import CliRunner

import steamwright.cli.main as cli
from steamwright.cli.comparing import show_comparison
from steamwright.dossier.comparison import humidity_svg, water_svg
from steamwright.dossier.compile import dossier_pdf
from steamwright.dossier.steam import span, steam
from steamwright.dossier.steam_plot import session_svg, year_svg
from steamwright.dossier.words import Words
from steamwright.plan.compared import compared, reason
from steamwright.plan.comparison import compare_plan, comparison_document
from steamwright.plan.document import plan_document
from steamwright.plan.model import Plan
from steamwright.vapor.cautions import cautions_of
from steamwright.vapor.compare import compare
from steamwright.vapor.report import vapor_report
from steamwright.vapor.steam_load import steam_load
from steamwright.vapor.steam_model import Band
from tests import plans
from tests.unit.test_hourly import two_cases
from tests.unit.test_steam_load import CATALOG

CASE = two_cases()
FILE = str(Path(__file__).parents[1] / "data" / "alcove.toml")


@pytest.fixture(scope="module")
def built() -> Plan:
    return replace(plans.plan(), vapor=vapor_report(CASE), steam=steam_load(CASE), buildups=CASE.buildups, room=CASE.room,
                   finished=CASE.finished)


def test_the_page_stands_in_the_dossier_only_with_a_steam_load(built: Plan) -> None:
    text = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(dossier_pdf(built, {}))).pages)
    assert "Steam and vapor" in text
    for words in ("Beside it the rule of thumb", "licensed electrician", "under 60%", "stay out"):
        assert words in " ".join(text.split())
    assert steam(plans.plan(), Words("inch")) is None
    bare = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(dossier_pdf(plans.plan(), {}))).pages)
    assert "Steam and vapor" not in bare


def test_plots_are_pictures_with_their_lines(built: Plan) -> None:
    assert built.steam is not None
    for svg, lines in ((session_svg(built), 3), (year_svg(built), 0)):
        root = ElementTree.fromstring(svg)
        drawn = [e for e in root.iter() if e.tag.endswith("polyline") and e.get("stroke-width") == "0.45"]
        assert len(drawn) == 2 * lines  # each with its sample in the legend
    root = ElementTree.fromstring(session_svg(built))
    air = next(e for e in root.iter() if e.tag.endswith("polyline") and len(e.get("points", "").split()) > 10)
    assert len(air.get("points", "").split()) == len(built.steam.history)
    heights = [float(p.split(",")[1]) for p in air.get("points", "").split()]
    assert heights[-1] == min(heights)  # it is hottest at the end


def test_water_by_month_is_drawn_where_it_gathers(built: Plan) -> None:
    assert built.vapor is not None
    wet = replace(built.vapor.buildups[0].monthly[0], peak_kg_m2=0.3, water_by_month_kg_m2=tuple(0.025 * k for k in range(12)))
    vapor = replace(built.vapor, buildups=(replace(built.vapor.buildups[0], monthly=(wet,)),))
    root = ElementTree.fromstring(year_svg(replace(built, vapor=vapor)))
    line = next(e for e in root.iter() if e.tag.endswith("polyline") and len(e.get("points", "").split()) == 12)
    heights = [float(p.split(",")[1]) for p in line.get("points", "").split()]
    assert heights == sorted(heights, reverse=True)
    assert "300" in {e.text for e in root.iter() if e.tag.endswith("text")}


def test_bands_print_as_such() -> None:
    assert span(Band(6900.0, 8950.0), 1e-3, "kW", 1) == "6.9–9.0 kW"
    assert span(Band(2.0, 2.0), 1.0, "W") == "2 W"


def test_the_plan_file_says_what_takes_the_heat(built: Plan) -> None:
    said = json.loads(json.dumps(plan_document(built)))["steam"]
    assert set(said["load_w"]) == {row["label"] for row in said["loads"]}
    assert said["load_w"]["door openings"]["still"] == 0.0
    assert plan_document(plans.plan())["steam"] is None


def test_the_table_has_a_column_for_each(built: Plan) -> None:
    out = Console(width=160, file=io.StringIO(), record=True)
    show_comparison(out, "a job", compare(CASE, years=0), "inch")
    text = " ".join(out.export_text().split())
    for words in ("foam (alternative)", "generator", "safety to the limit 2.00", "foam needs a smaller generator than all", "10 mm gap",
                  "heat stress", "lb/ft²", "Btu/(h ft² °F)"):
        assert words in text
    assert "kg/m²" not in text
    assert "m²K" not in text
    variant = compare(CASE, years=0).families[0].variants[0]
    cells = {system: dict(compared((variant,), 0, system)) for system in ("inch", "metric")}  # type: ignore[arg-type]
    assert float(cells["inch"]["R"][0].split()[1]) == pytest.approx(variant.r_m2k_w / 0.17611, abs=0.06)
    assert (cells["metric"]["R"][0], cells["metric"]["mass"][0]) == (f"{variant.r_m2k_w:.2f} m²K/W", f"{variant.mass_kg_m2:.1f} kg/m²")
    assert float(cells["inch"]["mass"][0].split()[0]) == pytest.approx(variant.mass_kg_m2 / 4.88243, abs=0.06)


def test_compare_answers_people_and_machines(monkeypatch: pytest.MonkeyPatch, built: Plan) -> None:
    monkeypatch.setattr(cli, "_build", lambda _text, _tell: replace(built, job=built.job.model_copy(update={"room": CASE.said})))
    told = CliRunner().invoke(cli.app, ["compare", FILE, "--years", "0", "--json"])
    assert told.exit_code == 0, told.stdout
    said = json.loads(told.stdout)
    assert said["format"] == "steamwright-comparison"
    assert [v["name"] for v in said["families"][0]["variants"]] == ["all", "foam"]
    assert CliRunner().invoke(cli.app, ["compare", FILE, "--years", "0"]).exit_code == 0
    wrong = CliRunner().invoke(cli.app, ["compare", FILE, "--weather", FILE])
    assert wrong.exit_code == 2
    assert "neither" in wrong.output


def test_a_job_without_alternatives_ends_as_wrong_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cli, "_build", lambda _text, _tell: plans.plan())
    assert CliRunner().invoke(cli.app, ["compare", FILE, "--years", "0"]).exit_code == 2


def test_a_document_of_a_comparison_is_plain(built: Plan) -> None:
    found = compare_plan(replace(built, job=built.job.model_copy(update={"room": CASE.said})), CATALOG, years=0)
    assert json.loads(json.dumps(comparison_document(found)))["limit"]["source"] == "common practice, no source"


def test_cautions_get_shorter_with_heat() -> None:
    def minutes(kelvin: float) -> float:
        return float(cautions_of(kelvin)[0].sentence.split("no more than ")[1].split()[0])

    assert minutes(313.15) == 15.0
    assert minutes(318.15) < 15.0
    assert minutes(323.15) < minutes(318.15)
    assert "outside" in cautions_of(333.15)[0].sentence


@pytest.fixture(scope="module")
def compared_plan(built: Plan) -> Plan:
    pytest.importorskip("numba")
    said = replace(built, job=built.job.model_copy(update={"room": CASE.said}))
    return replace(said, comparison=compare_plan(said, CATALOG, years=1))


def test_the_plan_file_holds_the_comparison_only_where_it_was_asked_for(built: Plan, compared_plan: Plan) -> None:
    assert "comparison" not in plan_document(built)
    found = json.loads(json.dumps(plan_document(compared_plan)))["comparison"]
    cement, foam = found["families"][0]["variants"]
    assert (cement["name"], foam["name"]) == ("all", "foam")
    assert len(cement["hourly"][0]["behind_by_month_kg_m2"]) == 12
    balance = cement["hourly"][0]["balance"]
    assert abs(balance["water_residual_kg_m2"]) < 1e-6
    assert cement["framing"][0]["places"][0]["verdict"] == "pass"


def test_the_page_of_a_comparison(built: Plan, compared_plan: Plan) -> None:
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(io.BytesIO(dossier_pdf(compared_plan, {}))).pages).split())
    for words in ("Build-ups side by side", "foam needs a smaller generator than all", "U with studs", "Dew point", "the weather has none"):
        assert words in text
    bare = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(dossier_pdf(built, {}))).pages)
    assert "Build-ups side by side" not in bare
    stated = [h for h in compared_plan.comparison.families[0].variants[0].hourly if h.functions == "as stated"]
    root = ElementTree.fromstring(water_svg(compared_plan))
    drawn = [e for e in root.iter() if e.tag.endswith("polyline") and len(e.get("points", "").split()) == 12]
    assert len(drawn) >= 2
    assert stated[0].behind_by_month_kg_m2[-1] == pytest.approx(stated[0].behind_by_year_kg_m2[-1])
    humid = ElementTree.fromstring(humidity_svg(compared_plan))
    words = {e.text for e in humid.iter() if e.tag.endswith("text")}
    assert {"% relative humidity", "80", "100"} <= words
    heights = sorted(sorted(float(p.split(",")[1]) for p in e.get("points", "").split())
                     for e in humid.iter() if e.tag.endswith("polyline") and len(e.get("points", "").split()) == 12)
    assert len(heights) == len(drawn)
    assert all(upper[-1] < lower[0] for upper, lower in pairwise(heights)), "two build-ups lie over each other"


@pytest.mark.parametrize(("sentence", "inch", "metric"), [
    ("a is lighter than b: 35.1 against 41 kg/m²", "a is lighter than b: 7.19 against 8.4 lb/ft²", None),
    ("a loses less heat than b: 0.4 against 0.5 W/(m² K)", "a loses less heat than b: 0.0704 against 0.0881 Btu/(h ft² °F)", None),
    ("a is tighter than b: 2.86e-11 against 5.72e-11 kg/(Pa s m²)", "a is tighter than b: 0.5 against 1 perm",
     "a is tighter than b: 28.6 against 57.2 ng/(Pa s m²)"),
    ("a needs less than b: 5 against 6 kW", None, None), ("a: mold index 3.2, over 3, to outdoors", None, None)])
def test_reasons_are_said_in_the_units_of_the_job(sentence: str, inch: str | None, metric: str | None) -> None:
    assert reason(sentence, "inch") == (inch or sentence)
    assert reason(sentence, "metric") == (metric or sentence)


def test_compare_writes_the_plan_with_its_page(monkeypatch: pytest.MonkeyPatch, built: Plan, tmp_path: Path) -> None:
    monkeypatch.setattr(cli, "_build", lambda _text, _tell: replace(built, job=built.job.model_copy(update={"room": CASE.said})))
    monkeypatch.setattr(cli, "_files", lambda plan, _tell: {"plan.json": json.dumps(plan_document(plan)).encode()})
    told = CliRunner().invoke(cli.app, ["compare", FILE, "--years", "0", "--out", str(tmp_path / "out")])
    assert told.exit_code == 0, told.output
    assert json.loads((tmp_path / "out" / "plan.json").read_text())["comparison"]["hourly_years"] == 0
