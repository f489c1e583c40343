"""Build: the outside air is chosen and seen, and the comparison follows it in the units of the job."""

from __future__ import annotations

import time

import pytest
from playwright.sync_api import Browser, expect

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


def test_a_climate_that_is_not_known_is_told_at_its_field(chromium: Browser, server: Server, job: str) -> None:
    with server.asking() as client:
        draft = client.get(f"/api/jobs/{job}").json()["revision"]["draft"]
        draft["use"]["climate"] = "cold humit"
        client.put(f"/api/jobs/{job}", json={"draft": draft, "based_on": 1})
    with visiting(chromium, server, expected=("422",)) as (page, _):
        page.goto(f"/job/{job}/build")
        told = page.locator(".field", has=page.get_by_label("Climate")).locator(".mistake")
        expect(told).to_contain_text("No climate is named “cold humit”: one of: cold marine")
