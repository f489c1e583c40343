"""Every screen: nothing against WCAG 2.2 AA, everything within reach of the keyboard, small at first load, all by itself."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESKTOP, ROOT, TABLET, WORD, Guarded, Server, never_reached, planned, visiting

AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
STAGES = ("measure", "build", "cover", "buy", "work", "prove", "history")
MOST_BYTES = 400_000
# Where `make pictures` wants them.
PICTURES = os.environ.get("STEAMWRIGHT_PICTURES")


def violations(page: Page) -> list[str]:
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']})")
    return [f"{v['id']}: {v['help']}: {n['html'][:160]}" for v in found["violations"] for n in v["nodes"]]


@pytest.fixture(scope="module")
def job(server: Server) -> str:
    return server.bring_in("home-alcove")


@pytest.mark.parametrize(("size", "touch"), [(DESKTOP, False), (TABLET, True)], ids=["desktop", "tablet"])
def test_no_screen_shuts_anybody_out(chromium: Browser, server: Server, job: str, size: dict[str, int], touch: bool) -> None:
    with visiting(chromium, server, size, touch=touch) as (page, _):
        page.goto("/")
        page.get_by_role("button", name="Octagon", exact=True).wait_for()
        assert violations(page) == []
        for stage in STAGES:
            page.goto(f"/job/{job}/{stage}")
            planned(page)
            page.locator("main h1").first.wait_for()
            if stage == "build":
                page.get_by_role("button", name="Take away tile over cement board").wait_for()
                for fold in page.locator("summary").all():
                    fold.click()
            assert violations(page) == [], stage
            # Nothing is wider than the screen.
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), stage


def test_where_there_are_accounts_one_logs_in(chromium: Browser, guarded: Guarded) -> None:
    with visiting(chromium, guarded, expected=("401",)) as (page, _):
        page.goto("/")
        page.get_by_role("heading", name="Log in").wait_for()
        assert violations(page) == []
        page.get_by_label("Name").fill("ann")
        page.get_by_label("Password").fill(WORD[:-1])
        page.get_by_role("button", name="Log in").click()
        page.get_by_text("name and password do not belong together").wait_for()
        page.get_by_label("Password").fill(WORD)
        page.get_by_role("button", name="Log in").click()
        page.get_by_role("button", name="Octagon", exact=True).wait_for()
        page.get_by_role("button", name="Log out").click()
        page.get_by_role("heading", name="Log in").wait_for()


def test_a_planted_fault_is_seen_by_the_judge(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/prove")
        planned(page)
        page.evaluate("document.querySelector('main').append(document.createElement('input'))")
        assert [v for v in violations(page) if v.startswith("label")]


@pytest.mark.parametrize("stage", STAGES)
def test_the_keyboard_alone_reaches_everything(chromium: Browser, server: Server, job: str, stage: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/{stage}")
        planned(page)
        assert never_reached(page) == []


def test_what_no_key_reaches_is_found(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/prove")
        planned(page)
        page.locator("main a[href]").first.wait_for()  # the dossier, which is made last
        page.evaluate("document.querySelector('main a[href]').inert = true")
        (missed,) = never_reached(page)
        assert missed.startswith("<a ")


def test_a_job_is_begun_and_changed_by_keyboard_alone(chromium: Browser, server: Server) -> None:
    # An empty job cannot be planned, which the server answers with 422.
    with visiting(chromium, server, expected=("422",)) as (page, _):
        page.goto("/")
        page.get_by_role("button", name="Octagon", exact=True).wait_for()
        page.get_by_label("Its name").focus()
        page.keyboard.type("By keyboard")
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_url("**/measure")
        page.get_by_role("link", name="Build", exact=True).focus()
        page.keyboard.press("Enter")
        page.get_by_label("Set point").focus()
        page.keyboard.type("110 degF")
        page.locator(".saving", has_text="Saved").wait_for()
        page.keyboard.press("Control+z")
        assert page.get_by_label("Set point").input_value() == ""
        page.keyboard.press("Control+Shift+z")
        assert page.get_by_label("Set point").input_value() == "110 degF"


def test_the_first_load_is_small_and_fetches_no_third_dimension(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/build")
        planned(page)
        files = page.evaluate("""() => performance.getEntriesByType('resource').filter((e) => e.name.includes('/assets/'))
            .map((e) => [e.name, e.encodedBodySize, e.decodedBodySize])""")
        assert files
        assert all(encoded < decoded for name, encoded, decoded in files if decoded > 2000), "sent uncompressed"
        assert sum(encoded for _, encoded, _ in files) < MOST_BYTES


@pytest.mark.skipif(PICTURES is None, reason="only for make pictures")
def test_pictures_of_every_stage(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server, TABLET, touch=True) as (page, _):
        for stage in STAGES[:-1]:
            page.goto(f"/job/{job}/{stage}")
            planned(page)
            page.wait_for_timeout(2000)
            page.screenshot(path=Path(str(PICTURES)) / f"page-{stage}.png")
