"""Buy in a real browser: remnants are listed, drawn from, left over, and go to the next job."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Server, visiting

SLOW_MS = 180_000


@pytest.fixture
def job(server: Server) -> str:
    return server.bring_in("home-alcove")


@pytest.fixture
def page(chromium: Browser, server: Server, job: str) -> Iterator[Page]:
    # what cannot be read is refused with 422, which the browser writes on its console
    with visiting(chromium, server, expected=("422",)) as (page, _):
        page.goto(f"/job/{job}/buy")
        page.get_by_role("heading", name="Left over after this job").wait_for(timeout=SLOW_MS)
        yield page


def test_remnants_are_drawn_from_and_go_to_the_next_job(page: Page, server: Server, job: str, tmp_path: Path) -> None:
    page.get_by_label("Length along the roll").fill("9 ft")
    page.get_by_label("Width", exact=True).fill("39 3/8")
    page.get_by_role("button", name="Add a remnant").press("Enter")
    on_hand = page.get_by_role("table", name="Remnants on hand")
    # 39 3/8 of what: the mistake stands at its row, and nothing typed is lost
    expect(on_hand.locator(".mistake").first).to_be_visible(timeout=SLOW_MS)
    expect(on_hand).to_contain_text("39 3/8")
    page.get_by_role("button", name="Take M1 off the list").click()
    page.get_by_label("Length along the roll").fill("9 ft")
    page.get_by_label("Width", exact=True).fill("39 3/8 in")
    page.get_by_role("button", name="Add a remnant").click()
    expect(on_hand).to_contain_text("cuts from it", timeout=SLOW_MS)
    expect(page.get_by_role("table", name="Left over after this job")).not_to_contain_text("M1")
    with page.expect_download() as coming:
        page.get_by_role("link", name="Remnants after this job").click()
    kept = tmp_path / "remnants.toml"
    coming.value.save_as(kept)
    left = tomllib.loads(kept.read_text("utf-8"))
    assert left["format"] == "steamwright-remnants"
    assert "M1" not in [r["id"] for r in left["remnant"]]
    assert all("Home alcove: " in r["origin"] for r in left["remnant"])

    second = server.bring_in("home-alcove")
    page.goto(f"/job/{second}/buy")
    page.get_by_role("heading", name="Left over after this job").wait_for(timeout=SLOW_MS)
    page.get_by_label("From a file of remnants").set_input_files(kept)
    count = len(left["remnant"])
    expect(page.get_by_text(re.compile(f"^{count} remnants? from the file"))).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_role("table", name="Remnants on hand").locator("tbody tr")).to_have_count(count)
    expect(page.locator(".saving")).to_have_text("Saved")
    with server.asking() as client:
        said = client.get(f"/api/jobs/{second}").json()["revision"]["draft"]["covering"]
    assert said["remnants_given"] == left["given"]

    kept.write_text("[[remnant]]\nid = 3\n", encoding="utf-8")
    page.get_by_label("From a file of remnants").set_input_files(kept)
    expect(page.get_by_role("alert").filter(has_text="Not taken in")).to_be_visible()


def test_what_another_job_leaves_is_taken_in(page: Page, server: Server, job: str) -> None:
    second = server.bring_in("commercial-tiers")
    page.goto(f"/job/{second}/buy")
    page.get_by_role("heading", name="Left over after this job").wait_for(timeout=SLOW_MS)
    page.get_by_label("Left by").select_option(job)
    page.get_by_role("button", name="Take in what it leaves").press("Enter")
    expect(page.get_by_text(re.compile(r"\d+ remnants? that Home alcove leaves"))).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_role("table", name="Remnants on hand")).to_contain_text("Home alcove: ")
