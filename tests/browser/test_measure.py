"""Measuring as it is done on site: corners, tape and room, with a finger or a keyboard, and what the tape got wrong."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import TABLET, Server, planned, visiting
from tests.browser.test_screens import violations

expect.set_options(timeout=20_000)  # a plan is made between typing and answer

REFUSED = ("422",)  # a browser calls it an error that a draft which is no whole job yet is refused a plan

# An alcove out of square; the lengths fit one another to a sixteenth.
WALLS = {"A-B": "47 7/8", "B-C": "72 5/16", "C-D": "48 1/8", "D-A": "72 1/16"}
TIES = {"A-C": "86 11/16", "B-D": "86 11/16"}


def new_job(server: Server, name: str) -> str:
    with server.asking() as client:
        body = {"draft": {"format": "steamwright-job", "version": 1, "name": name, "units": "inch"}, "note": "begun"}
        job: str = client.post("/api/jobs", json=body).json()["id"]
        return job


def draft_of(server: Server, job: str) -> dict:  # type: ignore[type-arg]
    with server.asking() as client:
        draft: dict = client.get(f"/api/jobs/{job}").json()["revision"]["draft"]  # type: ignore[type-arg]
        return draft


def saved(page: Page) -> None:
    expect(page.locator(".saving")).to_have_text("Saved")


def tap_corners(page: Page) -> None:
    board = page.get_by_role("application")
    box = board.bounding_box()
    assert box is not None
    step = min(box["width"] / 26, box["height"] / 18)
    for x, y in ((-6, -4), (-6, 4), (6, 4), (6, -4), (-6, -4)):
        page.touchscreen.tap(box["x"] + box["width"] / 2 + x * step, box["y"] + box["height"] / 2 - y * step)


def key_in(page: Page, length: str) -> None:
    """Tap a length on the keypad and take it."""
    whole, _, fraction = length.partition(" ")
    for key in (*whole, fraction):
        if key:
            page.get_by_role("button", name=key, exact=True).tap()
    page.get_by_role("button", name="Take", exact=True).tap()


def entry_for(page: Page, sentence: str) -> None:
    expect(page.locator("label.order")).to_have_text(re.compile(sentence))


def tape_all(page: Page, ties: dict[str, str]) -> None:
    for of, length in WALLS.items():
        entry_for(page, f"wall from {of.replace('-', ' to ')}")
        key_in(page, length)
    for of, length in ties.items():
        entry_for(page, f"across the room from {of.replace('-', ' to ')}")
        key_in(page, length)


def test_from_an_empty_job_to_a_plan_with_a_finger(server: Server, chromium: Browser) -> None:
    job = new_job(server, "Alcove by hand")
    with visiting(chromium, server, TABLET, touch=True, expected=REFUSED) as (page, _):
        page.goto(f"/job/{job}/measure")
        tap_corners(page)
        tape_all(page, TIES)
        expect(page.get_by_text("The room closes")).to_be_visible()
        page.get_by_role("button", name=re.compile("^Floor")).tap()
        entry_for(page, "At A, from the level line down to the floor")
        assert small_targets(page) == []
        assert violations(page) == []
        page.get_by_role("button", name="Skip for now").tap()
        entry_for(page, "At B, from the level line")
        page.get_by_role("button", name="3 Room").tap()
        page.get_by_label("Shape").select_option("slope")
        for label, value in (("Height", "82"), ("Fall", "2 1/4")):
            page.get_by_label(label, exact=True).fill(value)
        page.get_by_label("Lowest at the wall").select_option("A-B")
        page.get_by_role("button", name=re.compile("Begin with tile")).tap()
        page.get_by_role("button", name=re.compile("wall from D to A")).tap()
        page.get_by_role("button", name="+ Door or window").tap()
        for label, value in (("Begins at", "20"), ("Width", "28"), ("Bottom over the floor", "5"), ("Top over the floor", "78")):
            page.get_by_label(label, exact=True).fill(value)
        back = page.get_by_label("Leaf or pane behind the wall's face")
        back.focus()
        for key in ("4", "1/2", "Next"):
            page.get_by_role("button", name=key, exact=True).tap()
        planned(page)
    said = draft_of(server, job)
    assert said["survey"]["stations"] == ["A", "B", "C", "D"]
    assert [r["is"] for r in said["survey"]["reading"]] == [f"{length} in" for length in (*WALLS.values(), *TIES.values())]
    assert said["room"]["opening"][0] | {"wall": "D-A", "from": "20 in", "setback": "4 1/2 in"} == said["room"]["opening"][0]


def test_a_misread_tape_is_named_in_plain_words_and_mended(server: Server, chromium: Browser) -> None:
    job = new_job(server, "Misread")
    with visiting(chromium, server, TABLET, touch=True, expected=REFUSED) as (page, _):
        page.goto(f"/job/{job}/measure")
        tap_corners(page)
        tape_all(page, {**TIES, "B-D": "87 11/16"})
        order = page.locator(".advice .order")
        for _ in range(3):
            expect(order).to_have_text(re.compile(r"^Tape [A-D] to [A-D] again$"))
            of = "-".join(sorted(re.findall(r"\b[A-D]\b", order.inner_text())))
            expect(page.locator("main")).not_to_contain_text("standard deviation", use_inner_text=True)
            entry_for(page, "once more")
            key_in(page, {"-".join(sorted(k.split("-"))): v for k, v in {**WALLS, **TIES}.items()}[of])
            if of == "B-D":
                break
        expect(page.get_by_text("The room closes")).to_be_visible()
        page.get_by_text("Statistics", exact=True).tap()
        expect(page.get_by_role("columnheader", name="In standard deviations")).to_be_visible()
        saved(page)
    assert [r["is"] for r in draft_of(server, job)["survey"]["reading"] if r["of"] == "B-D"] == ["86 11/16 in"]


def test_the_keyboard_alone_is_enough_and_a_reload_loses_nothing(server: Server, chromium: Browser) -> None:
    job = new_job(server, "Keys")
    with visiting(chromium, server, expected=REFUSED) as (page, _):
        page.goto(f"/job/{job}/measure")
        page.get_by_role("application").wait_for()
        reach(page, "[role=application]")
        for keys in ("Enter", "ArrowUp " * 8 + "Enter", "Shift+ArrowRight " * 6 + "Enter", "ArrowDown " * 8 + "Enter"):
            for key in keys.split():
                page.keyboard.press(key)
        page.reload()
        expect(page.get_by_role("button", name="Close the room: 4 corners, A to D")).to_be_visible()
        assert violations(page) == []
        reach(page, "[role=application]")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Enter")
        expect(page.locator("#tape-entry")).to_be_visible()
        reach(page, "#tape-entry")
        page.keyboard.type("47 7/8")
        page.keyboard.press("Enter")
        entry_for(page, "wall from B to C")
        page.keyboard.type("6' 0 5/")
        page.keyboard.press("Enter")
        expect(page.locator("#tape-said")).to_contain_text("Write inches such as")
        page.reload()
        expect(page.locator("#tape-entry")).to_have_value("6' 0 5/")
        reach(page, "#tape-entry")
        page.keyboard.press("End")
        page.keyboard.type("16")
        page.keyboard.press("Enter")
        entry_for(page, "wall from C to D")
        page.keyboard.press("Control+z")
        entry_for(page, "wall from B to C")
        page.keyboard.press("Control+Shift+z")
        saved(page)
    assert [r["is"] for r in draft_of(server, job)["survey"]["reading"]] == ["47 7/8 in", "6 ft 0 5/16 in"]


def test_a_mistake_of_the_core_stands_at_its_field(server: Server, chromium: Browser) -> None:
    job = server.bring_in("home-alcove")
    with visiting(chromium, server, expected=REFUSED) as (page, _):
        page.goto(f"/job/{job}/measure")
        page.get_by_role("button", name="3 Room").click()
        page.get_by_role("button", name="niche", exact=True).and_(page.locator(".things button")).click()
        page.get_by_label("Begins at").fill("70")
        page.get_by_label("Begins at").press("Enter")
        assert violations(page) == []
        open_things = page.get_by_role("heading", name="Before this can be planned")
        expect(open_things).to_be_visible()
        expect(page.locator("section.form > .mistake, .form-of-thing .mistake").first).to_contain_text("niche", ignore_case=True)
        expect(page.locator("main")).not_to_contain_text("[[")
        page.get_by_label("Begins at").fill("32")
        page.get_by_label("Begins at").press("Enter")
        expect(open_things).not_to_be_visible()


def reach(page: Page, selector: str) -> None:
    """Tab until a thing has the focus."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("(s) => document.activeElement?.matches(s) ?? false", selector):
            return
    raise AssertionError(f"the keyboard does not reach {selector}")


def small_targets(page: Page) -> list[str]:
    """Keys and buttons of the stage that a glove would miss."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll("main .pad button, main button.big, main .faces button, main .steps button, #tape-entry")]
          .filter((b) => { const r = b.getBoundingClientRect(); return r.width > 0 && (r.height < 56 || r.width < 48); })
          .map((b) => b.textContent)"""
    )
    return found
