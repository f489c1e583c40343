"""Sun, rain, leaking air and vented bays: by hand, and in the walls of the hourly method."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.model import BuildUp
from steamwright.buildup.stack import build_stacks
from steamwright.errors import InputError
from steamwright.vapor.climate import climate_named, hours_of
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.sides import side
from steamwright.vapor.sun_rain import Sky, rain_on_wall_kg_m2_s, sun_on_wall_w_m2, sun_position
from steamwright.vapor.weather_files import read_weather
from tests.unit.test_hourly import epw
from tests.unit.test_steam_load import CEMENT

CATALOG, COLD = load_catalog(), climate_named("cold humid")
SUN = np.tile(np.where((np.arange(24) > 6) & (np.arange(24) < 18), 500.0, 0.0), 365)
RAIN = np.tile(np.where(np.arange(24) < 4, 1.0, 0.0), 365)
SKY = Sky(40.0, -75.0, -5.0, SUN, 0.2 * SUN, np.full(8760, 4.0), np.full(8760, 180.0), RAIN)


def test_the_sun_stands_where_it_must() -> None:
    height, azimuth = sun_position(SKY)
    june, december = (height[d * 24:d * 24 + 24].max() for d in (171, 354))
    assert np.degrees(june) == pytest.approx(90.0 - 40.0 + 23.45, abs=1.3)
    assert np.degrees(december) == pytest.approx(90.0 - 40.0 - 23.45, abs=1.3)
    noon = 80 * 24 + 12
    assert np.degrees(azimuth[noon]) == pytest.approx(180.0, abs=12.0)
    south, north = sun_on_wall_w_m2(SKY, 180.0), sun_on_wall_w_m2(SKY, 0.0)
    beam = 500.0 * np.cos(height[noon]) * np.cos(azimuth[noon] - np.pi)
    level = 500.0 * np.sin(height[noon]) + 100.0
    assert south[noon] == pytest.approx(beam + 50.0 + 0.1 * level)
    assert north[noon] == pytest.approx(50.0 + 0.1 * level)
    east, west = (sun_on_wall_w_m2(SKY, a)[80 * 24:81 * 24] for a in (90.0, 270.0))
    assert east[:12].sum() > 2.0 * west[:12].sum()


def test_rain_goes_with_the_wind() -> None:
    # Deposition 0.5, 0.2 s/m, 4 m/s, 1 mm/h: 0.4 kg/(m2 h) on the face that looks into the wind.
    assert rain_on_wall_kg_m2_s(SKY, 180.0)[0] * 3600.0 == pytest.approx(0.4)
    assert rain_on_wall_kg_m2_s(SKY, 0.0).max() == 0.0
    assert rain_on_wall_kg_m2_s(SKY, 120.0)[0] * 3600.0 == pytest.approx(0.2)
    assert rain_on_wall_kg_m2_s(SKY, 180.0)[5] == 0.0


@pytest.mark.parametrize("fault", [{"latitude_deg": 95.0}, {"rain_kg_m2_h": np.zeros(10)}, {"wind_m_s": np.full(8760, -1.0)},
                                   {"beam_w_m2": np.full(8760, np.nan)}])
def test_a_sky_that_cannot_be(fault: dict[str, object]) -> None:
    with pytest.raises(InputError):
        replace(SKY, **fault)  # type: ignore[arg-type]


def measured(beam: str = "300", rain: str = "0.5") -> list[str]:
    lines = epw()
    for k in range(8, len(lines)):
        cells = lines[k].split(",")
        cells[14], cells[15], cells[20], cells[21], cells[33] = beam, "100", "90", "3.0", rain
        lines[k] = ",".join(cells)
    return lines


def test_a_file_brings_its_sky_or_says_what_it_lacks() -> None:
    whole = read_weather("\n".join(measured()), "a.epw")
    assert whole.sky is not None
    assert (whole.sky.latitude_deg, whole.sky.longitude_deg, whole.sky.zone_h) == (40.0, -80.0, -5.0)
    assert (whole.sky.beam_w_m2[0], whole.sky.rain_kg_m2_h[9], whole.sky.wind_from_deg[3]) == (300.0, 0.5, 90.0)
    dark = read_weather("\n".join(measured(beam="9999")), "a.epw")
    assert dark.sky is None
    assert "without its sun" in dark.source
    dry = read_weather("\n".join(measured(rain="999")), "a.epw")
    assert dry.sky is not None
    assert dry.sky.rain_kg_m2_h.max() == 0.0
    assert "without rain" in dry.source


def wall(name: str, *more: dict[str, str], **said: object) -> BuildUp:
    choice = {"name": name, "on": ("walls",), "layers": (*CEMENT, *more)} | said
    return build_stacks([BuildUpChoice.model_validate(choice)], CATALOG)[0]


def test_sun_dries_and_rain_leaks_and_vents_do_what_they_do() -> None:
    pytest.importorskip("numba")
    from steamwright.vapor.hourly import hourly
    from steamwright.vapor.hourly_wall import Question

    far, open_, named = side("outdoors south", COLD), wall("open"), wall("named", {"material": "plywood 1/2 in"})
    dull, bright = hours_of(COLD), replace(hours_of(COLD), sky=replace(SKY, rain_kg_m2_h=np.zeros(8760)))
    wet = replace(dull, sky=SKY)

    def end(b: BuildUp, hours: object, **use: float) -> object:
        return hourly([Question(b, far, False, 1.0)], SteamUse(**use), CATALOG.materials, hours, years=1)[0]  # type: ignore[arg-type]

    plain, rained, leaky = end(open_, dull), end(open_, wet), end(open_, dull, leak_m3_h_m2=0.05)
    vented = end(wall("v", vented_1_h=20.0), dull)
    behind = [r.behind_by_year_kg_m2[0] for r in (plain, rained, vented, leaky)]
    assert behind[1] > behind[0] + 0.05
    assert behind[2] < behind[0] - 0.05
    assert behind[3] > behind[0] + 0.05
    assert plain.notes == ("no sun and no rain: the weather has none",)
    assert "1%" in rained.notes[0].replace(" ", "")
    assert "leak" in leaky.notes[1]
    assert "20 times" in vented.notes[1]
    for r in (plain, rained, vented, leaky):
        b = r.balance
        gone = b.water_left_kg_m2 + b.water_right_kg_m2 + b.water_exchanged_kg_m2
        assert gone == pytest.approx(b.water_stored_kg_m2, abs=1e-6)
    assert abs(leaky.balance.water_exchanged_kg_m2) > 0.05
    shaded, sunny = end(named, dull), end(named, bright)
    assert sunny.behind_by_year_kg_m2[0] < shaded.behind_by_year_kg_m2[0] - 0.05
    assert "outermost layer" in sunny.notes[0]


def test_dampened_board_starts_wet() -> None:
    pytest.importorskip("numba")
    from steamwright.vapor.hourly_wall import Built, Question

    far = side("heated room", COLD)
    built = Built(Question(wall("a"), far, False, 1.0), CATALOG.materials)
    start = {layer.material: part.start_humidity for layer, part in zip(built.layers, built.wall.layers, strict=True)}
    assert start["cement board 1/2 in"] == 0.95
    assert start["mineral wool batt"] == 0.5
