"""Two tabs on one job, a server struck down in the middle of a save, and what a visitor of another page may not do."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.conftest import Server, planned, visiting, watch
from tests.browser.test_screens import violations


@pytest.fixture
def job(server: Server) -> str:
    return server.bring_in("home-alcove")


def test_two_tabs_collide_and_nothing_is_lost(chromium: Browser, server: Server, job: str) -> None:
    # A collision is answered with 409, which the browser writes on its console.
    with visiting(chromium, server, expected=("409",)) as (one, watched):
        two = watch(one.context, server, watched)
        for page in (one, two):
            page.goto(f"/job/{job}/build")
            page.get_by_label("Set point").wait_for()
        one.get_by_label("Set point").fill("111 degF")
        one.locator(".saving", has_text="Saved").wait_for()
        # The other tab has not looked yet; both change the set point, each changes one thing more.
        two.get_by_label("Set point").fill("112 degF")
        two.get_by_label("Where").select_option("commercial")
        two.get_by_role("heading", name="changed this job while you did").wait_for()
        expect(two.get_by_role("listitem").filter(has_text="use.set_point")).to_have_count(2)
        assert violations(two) == []
        two.get_by_label("Yours: 112 degF").check()
        two.get_by_role("button", name="Bring both together").click()
        two.locator(".saving", has_text="Saved").wait_for()
        two.get_by_label("Set point").wait_for()
        with server.asking() as client:
            head = client.get(f"/api/jobs/{job}").json()["revision"]
            history = client.get(f"/api/jobs/{job}/revisions").json()
            drafts = [client.get(f"/api/jobs/{job}/revisions/{r['number']}").json()["draft"]["use"] for r in history]
        assert (head["draft"]["use"]["set_point"], head["draft"]["use"]["place"]) == ("112 degF", "commercial")
        assert any(r["aside"] for r in history)
        assert "111 degF" in [d["set_point"] for d in drafts]
        # The first tab sees it without being touched.
        expect(one.get_by_label("Set point")).to_have_value("112 degF", timeout=15_000)


def test_a_server_struck_down_in_the_middle_of_a_save_loses_nothing(chromium: Browser, server: Server, job: str) -> None:
    # 409 where the server had kept the first change and was struck down before it said so; 404 where the page asks the new server
    # how far the old one's plan is.
    with visiting(chromium, server, expected=("ERR_", "403", "404", "409")) as (page, _):
        page.goto(f"/job/{job}/build")
        page.get_by_label("Set point").wait_for()
        page.get_by_label("Set point").fill("109 degF")
        page.locator(".saving", has_text="Saving").wait_for()
        server.kill()
        page.get_by_label("Where").select_option("commercial")
        page.locator(".saving", has_text="Kept on this device").wait_for()
        server.start()
        page.reload()
        expect(page.get_by_label("Set point")).to_have_value("109 degF")
        expect(page.get_by_label("Where")).to_have_value("commercial")
        page.locator(".saving", has_text="Saved").wait_for()
        with server.asking() as client:
            use = client.get(f"/api/jobs/{job}").json()["revision"]["draft"]["use"]
        assert (use["set_point"], use["place"]) == ("109 degF", "commercial")


def test_a_plan_under_way_starts_again_by_itself_after_a_restart(chromium: Browser, server: Server) -> None:
    job = server.bring_in("commercial-tiers")
    with visiting(chromium, server, expected=("ERR_", "403", "404")) as (page, _):
        page.goto(f"/job/{job}/cover")
        page.locator(".now", has_text="Planning:").wait_for()
        for _ in range(2):
            server.kill()
            expect(page.locator(".now")).to_contain_text("once it does, this is planned by itself")
            assert page.get_by_role("button", name="Plan again").count() == 0
            server.start()
            page.locator(".now", has_text="Planning:").wait_for()
        expect(page.locator(".now")).to_contain_text("Planned: revision 1", timeout=60_000)


def test_mistakes_stand_at_their_fields_and_what_was_typed_stays(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server, expected=("422",)) as (page, _):
        page.goto(f"/job/{job}/build")
        page.get_by_label("Set point").fill("114")
        expect(page.locator(".field", has=page.get_by_label("Set point")).locator(".mistake")).to_contain_text("does not say which degrees")
        page.reload()
        expect(page.get_by_label("Set point")).to_have_value("114")


def test_history_compares_and_goes_back(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/build")
        page.get_by_label("Set point").fill("110 degF")
        page.locator(".saving", has_text="Saved").wait_for()
        page.get_by_role("link", name="History").click()
        expect(page.get_by_role("row", name="use.set_point")).to_contain_text("114 degF")
        page.get_by_role("button", name="Go back to revision 1").click()
        page.get_by_text("back to revision 1").first.wait_for()
        page.get_by_role("link", name="Build", exact=True).click()
        expect(page.get_by_label("Set point")).to_have_value("114 degF")


def test_build_ups_are_compared_while_work_goes_on_and_only_once(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/build")
        page.get_by_role("button", name="Compare by the month").click()
        page.get_by_role("button", name="Stop comparing").wait_for()
        page.get_by_label("Set point").fill("113 degF")
        page.locator(".saving", has_text="Saved").wait_for()
        page.get_by_text("needs a smaller generator").wait_for(timeout=240_000)
        assert page.get_by_role("img", name="Air while it warms up").count() == 1
        expect(page.get_by_text("This compares revision 1")).to_be_visible()
    with server.asking() as client:
        again = client.post(f"/api/jobs/{job}/revisions/1/comparison?years=0")
        assert (again.status_code, again.json()["files"]) == (200, ["comparison-0.json"])


def test_the_order_and_its_files_come_down(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.goto(f"/job/{job}/buy")
        planned(page)
        for words, begins in (("Dossier (PDF)", b"%PDF"), ("Order (XLSX)", b"PK"), ("Order (CSV)", b""), ("Drawings (DXF)", b""),
                              ("Room in 3D (GLB)", b"glTF")):
            with page.expect_download() as coming:
                page.get_by_role("link", name=words).click()
            content = coming.value.path().read_bytes()
            assert len(content) > 200
            assert content.startswith(begins), words
        page.get_by_label("Price of a pack of valve collar").fill("31.5")
        expect(page.get_by_role("row", name="valve collar")).to_contain_text("$31.50", timeout=30_000)


def test_what_is_ended_with_enter_or_left_does_not_wait_for_more_typing(chromium: Browser, server: Server, job: str) -> None:
    with visiting(chromium, server) as (page, _):
        page.clock.install()
        page.goto(f"/job/{job}/build")
        set_point = page.get_by_label("Set point")
        set_point.wait_for()
        sent: list[str] = []
        page.on("request", lambda r: sent.append(r.post_data or ""))
        # The clock of the page stands still and then moves by less than the pause after typing: only Enter, or leaving the field,
        # can send what was typed.
        page.clock.pause_at(page.evaluate("Date.now() + 1000"))
        for value, key in (("107 degF", "Enter"), ("108 degF", "Tab")):
            set_point.select_text()
            set_point.press_sequentially(value)
            assert not any(value in body for body in sent)
            with page.expect_request(lambda r, v=value: v in (r.post_data or "")):  # type: ignore[misc]
                set_point.press(key)
                page.clock.run_for(20)
            page.locator(".saving", has_text="Saved").wait_for()
