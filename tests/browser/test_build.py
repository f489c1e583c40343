"""Build: the outside air is chosen and seen, and the comparison follows it in the units of the job."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from steamwright.plan.job import Use
from tests.browser.conftest import TABLET, Server, planned, visiting
from tests.browser.test_screens import violations


@pytest.fixture
def job(server: Server) -> str:
    return server.bring_in("home-alcove")


def test_a_climate_is_chosen_and_the_comparison_follows_and_stays_in_sight(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server, TABLET, touch=True) as (page, _):
        page.goto(f"/job/{job}/build")
        climate = page.get_by_label("Climate")
        expect(climate.locator("option:checked")).to_contain_text("usual, cold humid: from")
        climate.select_option("hot humid")
        page.get_by_text("How often and how long").click()
        page.get_by_label("Steams after that for, minutes").fill("45")
        page.get_by_label("Steams after that for, minutes").press("Tab")
        page.locator(".saving", has_text="Saved").wait_for()
        page.get_by_text("Month by month").click()
        page.get_by_role("img", name="Temperature, hot humid").wait_for()
        page.get_by_role("img", name="Relative humidity, hot humid").wait_for()
        assert violations(page) == []
        planned(page)
        with server.asking() as client:
            head = client.get(f"/api/jobs/{job}").json()
            assert head["revision"]["draft"]["use"]["climate"] == "hot humid"
            assert head["revision"]["draft"]["use"]["session_min"] == 45
            run = client.post(f"/api/jobs/{job}/revisions/{head['head']}/comparison?years=0").json()["id"]
            end = time.monotonic() + 400
            while (told := client.get(f"/api/runs/{run}").json())["state"] in ("waiting", "running"):
                assert time.monotonic() < end
                time.sleep(0.5)
            assert told["state"] == "done", told
        page.reload()
        page.get_by_text("Outside air: climate 'hot humid'.").wait_for()
        table = page.get_by_role("table").filter(has_text="Generator")
        for row, unit in (("R", "R "), ("U", "Btu/(h ft² °F)"), ("Mass", "lb/ft²")):
            expect(table.get_by_role("row").filter(has=page.get_by_role("rowheader", name=row, exact=True))).to_contain_text(unit)
        page.get_by_label("Climate").select_option("")
        page.get_by_text("the job has changed since").wait_for()
        page.locator(".saving", has_text="Saved").wait_for()
        with server.asking() as client:
            assert "climate" not in client.get(f"/api/jobs/{job}").json()["revision"]["draft"]["use"]


def test_what_counts_while_nothing_is_chosen_is_said(chromium: Browser, server: Server) -> None:
    with server.asking() as client:
        bare = client.post("/api/jobs", json={"draft": {"name": "bare"}}).json()["id"]
    with visiting(chromium, server, expected=("422",)) as (page, _):
        page.goto(f"/job/{bare}/build")
        for label, key in (("Steam", "kind"), ("Where", "place"), ("Code that rules", "code")):
            select = page.get_by_label(label, exact=True)
            usual = select.locator(f"option[value='{Use.model_fields[key].default}']").inner_text()
            expect(select.locator("option:checked")).to_have_text(f"usual: {usual}")


def test_a_climate_that_is_not_known_is_told_at_its_field(chromium: Browser, server: Server, job: str) -> None:
    with server.asking() as client:
        draft = client.get(f"/api/jobs/{job}").json()["revision"]["draft"]
        draft["use"]["climate"] = "cold humit"
        client.put(f"/api/jobs/{job}", json={"draft": draft, "based_on": 1})
    with visiting(chromium, server, expected=("422",)) as (page, _):
        page.goto(f"/job/{job}/build")
        told = page.locator(".field", has=page.get_by_label("Climate")).locator(".mistake")
        expect(told).to_contain_text("No climate is named “cold humit”: one of: cold marine")


def test_a_weather_file_is_chosen_and_its_faults_are_told_by_line(chromium: Browser, server: Server, job: str, tmp_path: Path) -> None:
    head = ["LOCATION,Somewhere,-,USA,TMY3,0,40,-80,-5,100", *["HEAD"] * 7]
    days = [(m, d) for m, most in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), 1) for d in range(1, most + 1)]
    lines = head + [f"2001,{m},{d},{h},60,?,9.5,5.0," + ",".join(["0"] * 27) for m, d in days for h in range(1, 25)]
    good, short, large = (tmp_path / f"{name}.epw" for name in ("valley", "short", "large"))
    good.write_text("\n".join(lines))
    short.write_text("\n".join([*lines[:700], *lines[701:]]))
    large.write_text("\n".join(lines * 6))
    with visiting(chromium, server, TABLET, touch=True, expected=("422",)) as (page, _):
        page.goto(f"/job/{job}/build")
        page.get_by_text("None: by the hour, too").wait_for()
        air = page.get_by_role("region", name="Outside air")
        page.get_by_label("Choose a weather file").set_input_files(large)
        expect(air.get_by_role("alert")).to_contain_text(re.compile(r"large\.epw has \d+\.\d MB"))
        page.get_by_label("Choose a weather file").set_input_files(short)
        expect(air.get_by_role("alert")).to_contain_text(re.compile("short.epw: line 701 is month 1, .* hours are missing", re.I))
        page.get_by_label("Choose a weather file").set_input_files(good)
        air.get_by_text("valley.epw is read: 8760 hours").wait_for()
        expect(air.get_by_role("alert")).to_have_count(0)
        assert violations(page) == []
        air.scroll_into_view_if_needed()
        page.screenshot(path=tmp_path / "weather.png")
        page.reload()
        air.get_by_text("valley.epw").wait_for()
        page.get_by_role("button", name="Take it away").press("Enter")
        page.get_by_text("None: by the hour, too").wait_for()
