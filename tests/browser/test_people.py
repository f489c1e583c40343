"""People: the office adds them, they log in, guests read by a link and do no more, and what is taken away is gone."""

from __future__ import annotations

import os
from datetime import date, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import DESKTOP, TABLET, WORD, Guarded, never_reached, visiting
from tests.browser.test_screens import STAGES, violations

OTHER = "slate bands over sheets"
THIRD = "a curb and three benches"
LOOKS = {"cover": {"Pull apart", "Cut", "where"}, "prove": {"Find"}}
"""What changes how a job is looked at, and nothing in it."""
# What a browser writes on its console when somebody is not let in.
NOT_IN = ("401", "403", "404", "422", "ERR_INTERNET_DISCONNECTED")


def log_in(page: Page, name: str, password: str) -> None:
    door = page.get_by_role("main").filter(has=page.get_by_role("heading", name="Log in"))
    door.get_by_label("Name").fill(name)
    door.get_by_label("Password").fill(password)
    door.get_by_role("button", name="Log in").click()


def add(page: Page, name: str, password: str, role: str = "Crew") -> None:
    page.get_by_role("heading", name="Add a person").wait_for()
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("radio", name=role).check()
    page.get_by_role("button", name="Add", exact=True).click()


def link_for(page: Page, job: str, label: str) -> str:
    """Make a guest link; its address."""
    page.goto(f"/job/{job}/links")
    page.get_by_label("Whom it is for").fill(label)
    page.get_by_role("button", name="Make a link").click()
    line = page.get_by_label(f"Link for {label}", exact=True)
    line.wait_for()
    return line.input_value()


def test_the_office_adds_one_of_the_crew_who_works_until_he_is_removed(chromium: Browser, guarded: Guarded) -> None:
    with visiting(chromium, guarded, expected=NOT_IN) as (ann, _), visiting(chromium, guarded, expected=NOT_IN) as (bob, _):
        ann.goto("/people")
        log_in(ann, "ann", WORD)
        add(ann, "bob", "short")
        ann.get_by_text("a password has 12 to 200 characters").wait_for()
        assert ann.get_by_label("Name", exact=True).input_value() == "bob", "what was typed is lost"
        add(ann, "bob", WORD)
        ann.get_by_text("bob can log in").wait_for()

        bob.goto(f"/job/{guarded.job}/build")
        log_in(bob, "bob", WORD)
        bob.get_by_label("Set point").fill("108 degF")
        bob.locator(".saving", has_text="Saved").wait_for()
        assert bob.get_by_role("link", name="Guest links").count() == 0
        bob.goto("/people")
        bob.get_by_text("People are looked after by the office").wait_for()
        bob.goto("/you")
        bob.get_by_text("The role is crew").wait_for()
        for now, then, told in (("not mine", OTHER, "not the password that you have now"), (WORD, OTHER, "Your password is changed")):
            bob.get_by_label("Password now", exact=True).fill(now)
            bob.get_by_label("New password", exact=True).fill(then)
            bob.get_by_role("button", name="Change it").click()
            bob.get_by_text(told).wait_for()

        # A new password from the office ends what he has open; what he had typed is there when he is in again.
        bob.goto(f"/job/{guarded.job}/build")
        bob.get_by_label("Set point").wait_for()
        bob.context.set_offline(True)
        bob.get_by_label("Set point").fill("109 degF")
        bob.locator(".saving", has_text="Kept on this device").wait_for()
        ann.get_by_role("button", name="New password for bob").click()
        ann.get_by_label("New password for bob", exact=True).and_(ann.locator("input")).fill(THIRD)
        ann.get_by_role("button", name="Give it").click()
        ann.get_by_text("bob has a new password").wait_for()
        bob.context.set_offline(False)
        log_in(bob, "bob", OTHER)
        bob.get_by_text("name and password do not belong together").wait_for()
        log_in(bob, "bob", THIRD)
        bob.locator(".saving", has_text="Saved").wait_for()
        expect(bob.get_by_label("Set point")).to_have_value("109 degF")
        bob.goto(f"/job/{guarded.job}/history")
        bob.get_by_text("bob").first.wait_for()

        ann.get_by_role("group", name="Role of bob").get_by_role("button", name="Office").click()
        ann.get_by_text("bob is office now").wait_for()
        log_in(bob, "bob", THIRD)
        bob.get_by_role("link", name="Guest links").wait_for()
        ann.get_by_role("button", name="Remove bob").click()
        ann.get_by_text("cannot log in any more").wait_for()
        bob.goto("/")
        log_in(bob, "bob", THIRD)
        bob.get_by_text("name and password do not belong together").wait_for()
        ann.get_by_role("button", name="Let bob in again").click()
        log_in(bob, "bob", THIRD)
        bob.get_by_role("link", name="bob, office").click()
        bob.get_by_role("button", name="Log out").click()
        bob.get_by_role("heading", name="Log in").wait_for()


def test_a_guest_link_reads_and_when_it_is_taken_back_it_lets_nobody_in(chromium: Browser, guarded: Guarded) -> None:
    let_out = ("401", "404")
    with (visiting(chromium, guarded, expected=NOT_IN) as (ann, _),
          visiting(chromium, guarded, TABLET, touch=True, expected=let_out) as (guest, _)):  # fmt: skip
        ann.goto("/")
        log_in(ann, "ann", WORD)
        ann.get_by_role("link", name="People").wait_for()
        ann.context.grant_permissions(["clipboard-read", "clipboard-write"])
        address = link_for(ann, guarded.job, "the client")
        expect(ann.get_by_label("Lets in up to and with")).to_have_value((date.today() + timedelta(days=90)).isoformat())
        expect(ann.get_by_text("lets in until").first).to_be_visible()
        ann.get_by_role("button", name="Copy the link").click()
        ann.get_by_text("The link is copied").wait_for()
        assert ann.evaluate("navigator.clipboard.readText()") == address
        ann.reload()
        expect(ann.get_by_role("listitem").filter(has_text="the client")).to_contain_text("by ann")
        assert address.rsplit("/", 1)[-1] not in ann.content(), "a link is told once"

        sent: list[str] = []
        guest.on("request", lambda r: sent.append(f"{r.method} {r.url}") if r.method not in ("GET", "HEAD") else None)
        guest.goto(address)
        guest.get_by_text("Read only").wait_for()
        for stage in STAGES:
            guest.goto(f"/job/{guarded.job}/{stage}")
            guest.locator(".now", has_text="plan of revision").or_(guest.locator(".now", has_text="Planned: revision")).wait_for()
            guest.locator("main h1").first.wait_for()
            for fold in guest.locator("main summary").all():
                fold.click()
            assert violations(guest) == [], stage
            # What a guest can still move or choose only changes what he sees.
            open_fields = guest.locator("main :is(input, select, textarea):enabled")
            names = open_fields.evaluate_all("all => all.map((e) => e.labels[0].firstChild.textContent.trim())")
            assert set(names) <= LOOKS.get(stage, set()), stage
        for step in ("Corners", "Tape", "Room"):
            guest.goto(f"/job/{guarded.job}/measure")
            guest.get_by_role("group", name="Steps of measuring").get_by_role("button", name=step).click()
            assert guest.locator("main :is(input, select, textarea):enabled").count() == 0, step
        assert [line for line in sent if "/api/survey" not in line and "/proof" not in line] == []
        guest.goto("/people")
        guest.get_by_text("People are looked after by the office").wait_for()
        guest.goto("/")
        guest.get_by_role("link", name="Home alcove").first.wait_for()
        assert guest.get_by_role("button", name="Octagon", exact=True).count() == 0

        guest.goto(f"/job/{guarded.job}/cover")
        guest.get_by_text("Read only").wait_for()
        ann.get_by_role("button", name="Take back the link for the client").click()
        ann.get_by_text("nobody comes in by it").wait_for()
        # The page that is open finds it out by itself; the link says so too.
        guest.get_by_role("heading", name="This link lets nobody in any more").wait_for(timeout=20_000)
        guest.goto(address)
        guest.get_by_role("heading", name="This link lets nobody in any more").wait_for()
        assert violations(guest) == []


def test_a_link_whose_time_is_over_says_so(chromium: Browser, guarded: Guarded) -> None:
    with visiting(chromium, guarded, expected=(*NOT_IN, "410")) as (guest, _):
        guest.goto("/g/ended")
        guest.get_by_role("heading", name="The time of this link is over").wait_for()
        assert violations(guest) == []


@pytest.mark.parametrize(("size", "touch"), [(DESKTOP, False), (TABLET, True)], ids=["desktop", "tablet"])
def test_no_screen_about_people_shuts_anybody_out(chromium: Browser, guarded: Guarded, size: dict[str, int], touch: bool) -> None:
    with visiting(chromium, guarded, size, touch=touch, expected=NOT_IN) as (page, _):
        page.goto("/people")
        page.get_by_role("heading", name="Log in").wait_for()
        assert violations(page) == []
        log_in(page, "ann", WORD)
        person = f"eve on a {'tablet' if touch else 'desktop'}, whose name is as long as names get on any job"
        add(page, person, WORD)
        page.get_by_role("button", name=f"Remove {person}").click()
        page.get_by_role("heading", name="Removed").wait_for()
        page.get_by_role("button", name=f"Let {person} in again").click()
        page.get_by_role("button", name=f"New password for {person}").click()
        link_for_page = page.context.new_page()
        link_for(link_for_page, guarded.job, f"inspector {touch}")
        link_for_page.close()
        for address in ("/people", "/you", f"/job/{guarded.job}/links"):
            if address != "/people":
                page.goto(address)
            page.locator("main h1").first.wait_for()
            if address.endswith("links"):
                page.get_by_role("button", name="Take back").first.wait_for()
            assert violations(page) == [], address
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), address
            small = page.evaluate("""() => [...document.querySelectorAll('main :is(button, a.button, input:not([type=radio]))')]
                .filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 100))""")
            assert small == [], address


@pytest.mark.parametrize("address", ["/people", "/you", "links"])
def test_the_keyboard_alone_reaches_everything_about_people(chromium: Browser, guarded: Guarded, address: str) -> None:
    with visiting(chromium, guarded, expected=NOT_IN) as (page, _):
        page.goto(address if address.startswith("/") else f"/job/{guarded.job}/{address}")
        expect(page.get_by_label("Name")).to_be_focused()
        page.keyboard.type("ann")
        page.keyboard.press("Tab")
        page.keyboard.type(WORD)
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="Log in", exact=True).wait_for(state="hidden")  # logging in is a form, too
        page.locator("main form").first.wait_for()
        assert never_reached(page) == []


@pytest.mark.skipif(os.environ.get("STEAMWRIGHT_PICTURES") is None, reason="only for make pictures")
def test_pictures_of_people(chromium: Browser, guarded: Guarded) -> None:
    with visiting(chromium, guarded, TABLET, touch=True, expected=NOT_IN) as (page, _):
        page.goto("/people")
        log_in(page, "ann", WORD)
        for name in ("bob", "cleo"):
            add(page, name, WORD)
            page.get_by_role("button", name=f"Remove {name}").wait_for()
        page.get_by_role("button", name="Remove cleo").click()
        page.get_by_role("button", name="Let cleo in again").wait_for()
        folder = Path(os.environ["STEAMWRIGHT_PICTURES"])
        page.screenshot(path=folder / "page-people.png")
        link_for(page, guarded.job, "the client")
        page.screenshot(path=folder / "page-links.png")
