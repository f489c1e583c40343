"""The hourly method: curves that rise, days that are days, balances that close, and faults planted in weather files."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from rich.console import Console

from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.stack import build_stacks
from steamwright.cli.screen import telling
from steamwright.errors import DataError, InputError
from steamwright.physics.porous import KELVIN_PRESSURE_PA
from steamwright.room.inputs import Penetration
from steamwright.vapor.climate import climate_named, hours_of
from steamwright.vapor.compare import compare, with_buildup
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.material_functions import SPREAD, family_of, function_of, porous_of
from steamwright.vapor.outlet import outlets
from steamwright.vapor.report import base_of
from steamwright.vapor.sides import side
from steamwright.vapor.weather_files import read_weather
from tests.unit.test_steam_load import CATALOG, CEMENT, FOAM, case_of

COLD = climate_named("cold humid")
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
ROW = {"id": "x", "density_kg_m3": 1000, "content": [[0.5, 10], [0.9, 40]], "saturation_kg_m3": 300, "mu": [[0.1, 10], [0.9, 5]],
       "absorption_kg_m2_s05": 0.01, "capillary_kg_m3": 200, "source": "s", "where": "w", "how_known": "quoted", "estimated": True}


@pytest.mark.parametrize("layer", build_stacks([BuildUpChoice.model_validate(
    {"name": "b", "on": ("walls",), "layers": [
        {"material": "porcelain tile"}, {"material": "modified dry-set mortar"}, {"material": "cement board 1/2 in"},
        {"material": "foam-core coated board 1/2 in"}, {"material": "plywood 1/2 in"}, {"material": "concrete", "thickness": "4 in"},
        {"material": "mineral wool batt", "thickness": "3.5 in"}, {"material": "air space", "thickness": "1 in"},
        {"material": "gypsum board 1/2 in"}], "covering": "none"})], CATALOG)[0].layers, ids=lambda x: x.material)
def test_curves_run_through_their_points(layer: object) -> None:
    family, porous = function_of(layer.material), porous_of(layer, CATALOG.materials[layer.material])
    humid, water = np.array(family.content).T
    # Straight between points of the curve's own grid: within a few percent of every measured point.
    assert porous.content_at(humid) == pytest.approx(water, rel=0.06)
    assert porous.content_at(np.exp(-2000.0 / KELVIN_PRESSURE_PA)) == pytest.approx(family.saturation_kg_m3, rel=1e-6)
    assert 1.95e-10 / porous.permeability_kg_pa_s_m[0] == pytest.approx(family.mu[0][1])


def test_every_material_that_can_lie_in_a_wall_has_functions() -> None:
    for material in CATALOG.materials.values():
        if material.role.value not in ("membrane", "retarder", "finish"):
            assert function_of(material.id).source


def test_a_band_is_twice_and_half_where_a_row_is_estimated() -> None:
    layers = {layer.material: layer for layer in case_of().buildups[0].layers}
    board, wool = layers["cement board 1/2 in"], layers["mineral wool batt"]
    for layer, factor in ((board, SPREAD), (wool, 1.0)):
        stated, more = (porous_of(layer, CATALOG.materials[layer.material], k) for k in (1.0, SPREAD))
        assert more.permeability_kg_pa_s_m == pytest.approx(factor * stated.permeability_kg_pa_s_m)
        assert more.potential_kg_m_s[-1] == pytest.approx(factor * stated.potential_kg_m_s[-1])


@pytest.mark.parametrize(("key", "value", "said"), [
    ("content", [[0.5, 10], [0.9, 8]], "falls"), ("content", [[0.5, 10], [0.9, 400]], "falls"), ("mu", [[0.1, 0.1], [0.9, 5]], "plausible"),
    ("capillary_kg_m3", 400, "capillary"), ("source", "", "source"), ("saturation_kg_m3", "much", "no number"),
])  # fmt: skip
def test_a_row_that_cannot_be_is_refused(key: str, value: object, said: str) -> None:
    assert family_of(ROW).id == "x"
    with pytest.raises(DataError, match=said):
        family_of(ROW | {key: value})


def test_a_material_without_functions_is_named() -> None:
    with pytest.raises(DataError, match="sheet membrane"):
        function_of("sheet membrane 0.5 perm")


def epw(dry: float = 10.0, dew: float = 5.0) -> list[str]:
    head = ["LOCATION,Somewhere,-,USA,TMY3,0,40,-80,-5,100"] + ["HEAD"] * 7
    return head + [",".join(["2001", str(m + 1), str(d + 1), str(h + 1), "60", "?", str(dry + 0.001 * h), str(dew)] + ["0"] * 27)
                   for m in range(12) for d in range(DAYS[m]) for h in range(24)]


def test_an_epw_file_is_read() -> None:
    got = read_weather("\n".join(epw()), "a.epw")
    assert len(got.temperature_k) == 8760
    assert got.temperature_k[5] == pytest.approx(283.155)
    assert got.vapor_pa[0] == pytest.approx(872.6, rel=1e-3)


def test_a_tmy3_file_is_read_and_leap_days_fall_out() -> None:
    rows = ["703165,\"X\",AK,-9,55.3,-160.5,7", "Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C)"]
    for m in range(12):
        for d in range(DAYS[m] + (m == 1)):
            rows += [f"{m + 1:02d}/{d + 1:02d}/1996,{h + 1:02d}:00,{m}.5,-1.0" for h in range(24)]
    got = read_weather("\n".join(rows), "a.csv")
    assert len(got.temperature_k) == 8760
    assert got.temperature_k[-1] == pytest.approx(273.15 + 11.5)
    with pytest.raises(InputError, match="Dew-point"):
        read_weather("\n".join(rows).replace("Dew-point (C)", "Dew-point (F)"), "a.csv")


def spoiled(at: int, column: int, value: str) -> list[str]:
    lines = epw()
    cells = lines[at].split(",")
    cells[column] = value
    lines[at] = ",".join(cells)
    return lines


@pytest.mark.parametrize(("lines", "said"), [
    (epw()[:5000], "truncated"), (epw()[:700] + epw()[701:], "line 701 .* missing"), (epw() + epw()[8:32], "more than a year"),
    (spoiled(100, 6, "99.9"), "line 101.*99.9"), (spoiled(100, 6, "x"), "line 101.*no number"), (spoiled(100, 6, "nan"), "line 101.*nan"),
    (epw(dry=68.0, dew=50.0), "68"),
    (spoiled(100, 7, "30"), "dew point lies above"), (["nonsense"], "neither"), ([*epw()[:-1], "2001,12,31"], "cut off"),
])  # fmt: skip
def test_a_file_that_is_not_whole_is_refused(lines: list[str], said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_weather("\n".join(lines), "a.epw")


def two_cases(**use: float) -> object:
    """The box with an alternative in foam."""
    case = case_of(beyond="outdoors north", **use)
    base = case.buildups[0]
    choice = {"on": ("walls",), "layers": FOAM, "retarder_behind": "none"}
    both = build_stacks([BuildUpChoice.model_validate(choice | {"name": "all", "layers": CEMENT}),
                         BuildUpChoice.model_validate(choice | {"name": "foam", "alternative_to": "all"})], CATALOG)
    assert both[0].id == base.id
    return replace(case, buildups=both)


def test_alternatives_stand_side_by_side_with_reasons() -> None:
    case = two_cases()
    said: list[str] = []
    got = compare(case, years=0, tell=said.append)
    (family,) = got.families
    cement, foam = family.variants
    assert (cement.is_base, foam.is_base) == (True, False)
    assert foam.steam.generator_w.stirred < cement.steam.generator_w.stirred
    smaller = next(r for r in family.reasons if "generator" in r)
    assert smaller.startswith("foam needs a smaller generator than all")
    assert f"{foam.steam.generator_w.stirred / 1e3:.3g} against {cement.steam.generator_w.stirred / 1e3:.3g} kW" in smaller
    assert not any("membrane" in r for r in family.reasons)  # the same in both: no reason is made up
    assert cement.hourly == ()
    assert any("loses less heat" in r for r in family.reasons)
    in_steel = replace(case.buildups[1], framing_kind="steel stud")
    steel = compare(replace(case, buildups=(case.buildups[0], in_steel)), years=0)
    # The foam's gain is lost through its steel.
    assert any(r.startswith("all loses less heat when steady, studs counted") for r in steel.families[0].reasons)
    assert steel.families[0].variants[1].u_framed_w_m2k > 1.2 * steel.families[0].variants[1].u_w_m2k
    block = compare(replace(case, buildups=(replace(case.buildups[0], framing_kind="masonry"), in_steel)), years=0)
    assert any("do not compare" in r for r in block.families[0].reasons)
    assert any("left out" in a for a in got.assumptions)
    assert {c.kind for c in got.cautions} == {"heat stress", "burn", "people"}
    assert base_of(case.buildups[1], case.buildups) is case.buildups[0]
    assert {f.buildup for f in with_buildup(case, *case.buildups).finished.facets} == {case.buildups[1].id, None}


def test_a_stud_face_under_the_dew_point_is_a_reason() -> None:
    case = two_cases(kind="continuous", continuous_h=24.0)
    bare = tuple(layer for layer in CEMENT if not layer["material"].startswith("sheet"))
    said = {"on": ("walls",), "layers": bare, "covering": "none", "framing": {"kind": "steel stud", "depth": "3.5 in"}, "name": "bare",
            "alternative_to": "all"}
    bare_one = build_stacks([BuildUpChoice.model_validate({"name": "all", "on": ("walls",), "layers": CEMENT}),
                             BuildUpChoice.model_validate(said)], CATALOG)[1]
    got = compare(replace(case, buildups=(case.buildups[0], bare_one)), years=0)
    told = [r for r in got.families[0].reasons if "dew point" in r]
    assert any(r.startswith("bare: stud face behind the board stays under the dew point") for r in told)
    assert not any(r.startswith("all:") for r in told)


def test_the_pipe_of_a_steam_outlet_warms_what_touches_it_and_a_clearance_helps() -> None:
    case = two_cases()
    pipe = replace(case.room.penetrations[0], kind="steam_outlet")
    room = replace(case.room, penetrations=(pipe,))
    said = {"name": pipe.name, "kind": "steam_outlet", "on": "C-D", "along": "0.6 m", "up": "1.1 m", "diameter": "34 mm"}
    rows = []
    for more in ({}, {"sleeve": "brass sleeve"}):
        asked = case.said.model_copy(update={"penetration": (Penetration.model_validate(said | more),)})
        (got,) = outlets(replace(case, room=room, said=asked))
        rows.append(got)
    touching, clear = rows
    assert [h.layer for h in touching.layers] == [layer.name for layer in case.buildups[0].layers]
    # Where the pipe touches it, everything is as hot as the pipe; a clearance of a quarter inch takes the edge off.
    assert all(h.hottest_k == pytest.approx(373.15, abs=1.0) for h in touching.layers)
    assert all(h.hottest_k < 365.0 for h in clear.layers[:3])
    assert 0.005 < touching.layers[2].warm_to_m < 0.1
    assert clear.layers[2].warm_to_m < touching.layers[2].warm_to_m
    assert clear.halved_change_k < 0.5
    assert outlets(case) == ()


def test_a_job_without_alternatives_is_told_how() -> None:
    with pytest.raises(InputError, match="alternative"):
        compare(case_of(), years=0)
    assert len(compare(case_of(), years=0, everything=True).families) == 1


@pytest.fixture(scope="module")
def marched() -> tuple[object, ...]:
    pytest.importorskip("numba")
    from steamwright.vapor.hourly import hourly
    from steamwright.vapor.hourly_wall import Question

    (b,) = build_stacks([BuildUpChoice.model_validate({"name": "b", "on": ("walls",), "layers": CEMENT})], CATALOG)
    tight = tuple({"material": "sheet membrane 0.1 perm"} if x["material"].startswith("sheet") else x for x in CEMENT)
    (t,) = build_stacks([BuildUpChoice.model_validate({"name": "t", "on": ("walls",), "layers": tight})], CATALOG)
    far = side("outdoors north", COLD)
    asked = [Question(b, far, False, 1.0), Question(b, far, True, 1.0), Question(t, far, True, 1.0)]
    return hourly(asked, SteamUse(), CATALOG.materials, hours_of(COLD), years=1)


def test_water_and_heat_close(marched: tuple[object, ...]) -> None:
    for h in marched:
        assert abs(h.balance.water_residual_kg_m2) < 1e-6
        assert abs(h.balance.heat_residual_j_m2) < 1.0
        assert h.layers[0].ends_kg_m2[0] > 0.0


def test_a_retarder_behind_keeps_the_wall_wetter_and_a_tighter_membrane_less_so(marched: tuple[object, ...]) -> None:
    free, behind, tight = marched
    assert behind.behind_by_year_kg_m2[0] > 1.3 * free.behind_by_year_kg_m2[0]
    assert tight.last_gain_kg_m2 < behind.last_gain_kg_m2
    assert not behind.steady
    assert max(f.hours_over_95 for f in behind.interfaces) > max(f.hours_over_95 for f in free.interfaces)


def test_fresh_mortar_is_where_the_water_starts(marched: tuple[object, ...]) -> None:
    mortar = next(x for x in marched[0].layers if "mortar" in x.layer)
    assert mortar.start_kg_m2 > 0.15


def test_the_vapor_that_came_is_near_what_the_membrane_lets_through(marched: tuple[object, ...]) -> None:
    # Wet for the session, falling to the house's air over six hours, warm for 50 min and 1.5 h of cooling: between what
    # 20 °C air at 50 % would send all year and twice what an hour of steam a day would.
    tight, behind = marched[2], marched[1]
    came = behind.behind_by_year_kg_m2[0] - tight.behind_by_year_kg_m2[0]
    a_session = 0.4 * 5.721349e-11 * 8000.0 * 3000.0 * 365
    assert 0.5 * a_session < came < 6.0 * a_session


def test_the_day_holds_its_sessions() -> None:
    pytest.importorskip("numba")
    from steamwright.vapor.hourly import steam_week

    for use, hours in ((SteamUse(), 0.5), (SteamUse(sessions_a_day=3), 1.5), (SteamUse(kind="continuous", continuous_h=10.0), 10.0)):
        t, air, humid, _film = steam_week(use, 1)
        assert (np.diff(t) >= 0.0).all()
        hot = (air[1:] == use.set_point_k) & (air[:-1] == use.set_point_k)
        assert (np.diff(t) * hot).sum() / 3600.0 / 365.0 == pytest.approx(hours, rel=1e-6)
        assert humid.max() == 1.0
        assert t[-1] == 365 * 86400.0
    t, air, _, _ = steam_week(SteamUse(days_a_week=2), 1)
    assert (air.reshape(-1)[t < 7 * 86400.0] > 310.0).sum() == 2 * (air[t < 86400.0] > 310.0).sum()


def test_the_first_run_tells_that_it_compiles_and_for_how_long(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("numba")
    from steamwright.physics import heat_moisture
    from steamwright.vapor.hourly import MissingPartError, compile_march

    said: list[str] = []
    ticks = iter((100.0, 131.4, 200.0, 200.1))

    def fresh(tell: object) -> bool:
        tell("compiling")  # type: ignore[operator]
        return True

    monkeypatch.setattr(heat_moisture, "prepare", fresh)
    compile_march(said.append, lambda: next(ticks))
    assert said == ["compiling", "compiled in 31 s; later runs load it"]
    monkeypatch.setattr(heat_moisture, "prepare", lambda _tell: False)
    compile_march(said.append, lambda: next(ticks))
    assert len(said) == 2

    def gone(_tell: object) -> bool:
        raise ImportError("numba")

    monkeypatch.setattr(heat_moisture, "prepare", gone)
    with pytest.raises(MissingPartError, match="install"):
        compile_march()


@pytest.mark.parametrize("terminal", [True, False])
def test_compiling_stays_on_the_screen(terminal: bool) -> None:
    out = io.StringIO()
    with telling(Console(file=out, force_terminal=terminal, width=100)) as tell:
        tell("steam load")
        tell("compiled in 31 s; later runs load it")
        tell("another step")
    assert "later runs load it\x1b[0m\n" in out.getvalue() if terminal else out.getvalue() == "compiled in 31 s; later runs load it\n"
