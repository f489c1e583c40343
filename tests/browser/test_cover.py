"""Cover in a real browser: picking links the room and the flat sheet, a seam dragged under the lap fails at once, keys do it all."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.conftest import ROOT, TABLET, Server, visiting

SLOW_MS = 180_000
AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"


@pytest.fixture
def job(server: Server) -> str:
    return server.bring_in("home-alcove")


@pytest.fixture
def page(chromium: Browser, server: Server, job: str) -> Iterator[Page]:
    with visiting(chromium, server) as (page, _):
        yield opened(page, job)


@pytest.fixture
def page_of_a_server_that_stops(chromium: Browser, server: Server, job: str) -> Iterator[Page]:
    with visiting(chromium, server, expected=("ERR_", "403", "404")) as (page, _):
        yield opened(page, job)


def opened(page: Page, job: str) -> Page:
    page.goto(f"/job/{job}/cover")
    page.locator(".laps").wait_for(timeout=60_000)
    page.locator(".now", has_text="Planned: revision").wait_for(timeout=60_000)
    page.locator("canvas[data-ready='true']").wait_for()
    return page


def pick(page: Page, name: str) -> None:
    page.get_by_role("navigation", name="Surfaces").get_by_role("button", name=name, exact=True).click()


def picked(page: Page) -> str:
    return page.locator("nav[aria-label='Surfaces'] button[aria-pressed='true']").inner_text()


def draft(server: Server, job: str) -> dict[str, Any]:
    with server.asking() as client:
        said: dict[str, Any] = client.get(f"/api/jobs/{job}").json()["revision"]["draft"]
        return said


def drag(page: Page, by_x: float) -> None:
    box = page.locator("[data-seam] .knob").first.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by_x / 2, y, steps=3)
    page.mouse.move(x + by_x, y, steps=3)


def test_a_facet_picked_in_the_room_is_picked_on_the_sheet_and_back(page: Page) -> None:
    pick(page, "B-C")
    place = page.evaluate("document.querySelector('canvas').placeOf('facet-08')")
    assert place["seen"] is True
    page.locator("canvas").click(position={"x": place["x"], "y": place["y"]})
    expect(page.locator("[data-facet='facet-08']")).to_have_class(re.compile(r"\bpicked\b"))
    assert picked(page) == "C-D"
    page.get_by_role("button", name="All surfaces").click()
    page.locator("[data-facet='facet-15'] .outline").scroll_into_view_if_needed()
    box = page.locator("[data-facet='facet-15'] .outline").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] * 0.3, box["y"] + box["height"] * 0.7)
    assert picked(page) == "ceiling"
    expect(page.get_by_role("heading", name="ceiling")).to_be_visible()


_PICKED_WHERE_NOTHING_IS_DRAWN_OR_NOT_WHERE_SOMETHING_IS = """async () => {
    const canvas = document.querySelector("canvas");
    canvas.drawNow();
    const picture = new Image();
    picture.src = canvas.toDataURL();
    await picture.decode();
    const { width, height } = picture;
    const copy = Object.assign(document.createElement("canvas"), { width, height }).getContext("2d");
    copy.drawImage(picture, 0, 0);
    const { data } = copy.getImageData(0, 0, width, height);
    const paper = (x, y) => [0, 1, 2].every((k) => data[4 * (y * width + x) + k] === data[k + 4 * (width + 1)]);
    let [wrong, drawn] = [0, 0];
    for (let x = 6; x < width - 6; x += 8) {
        for (let y = 6; y < height - 6; y += 8) {
            let empty = 0;
            for (const i of [-3, 0, 3]) for (const j of [-3, 0, 3]) empty += paper(x + i, y + j);
            // what lies on an edge is neither
            const picked = canvas.facetAt(x + 0.5, y + 0.5) !== null;
            if (empty === 0) drawn += 1;
            if ((empty === 9 && picked) || (empty === 0 && !picked)) wrong += 1;
        }
    }
    return [wrong, drawn];
}"""


def test_a_tap_picks_what_is_drawn_now_pulled_apart_and_cut(page: Page) -> None:
    def wrong() -> tuple[int, int]:
        page.wait_for_timeout(100)
        taps, drawn = page.evaluate(_PICKED_WHERE_NOTHING_IS_DRAWN_OR_NOT_WHERE_SOMETHING_IS)
        return taps, drawn

    apart = page.get_by_label("Pull apart")
    cut = page.get_by_label("Cut")
    seen = []
    for share, axis in [("0", "none"), ("0.6", "none"), ("0.6", "z"), ("1", "x"), ("0", "x"), ("0", "none")]:
        apart.fill(share)
        cut.select_option(axis)
        taps, drawn = wrong()
        # a few strokes of a hatching that lie close together look like a surface
        assert taps <= 0.01 * drawn + 2, (share, axis, taps, drawn)
        seen.append(drawn)
    assert seen[2] < seen[1]
    assert seen[4] < seen[0] == seen[5]


def test_a_seam_dragged_under_the_lap_fails_at_once_and_is_put_back(page: Page) -> None:
    pick(page, "B-C")
    laps = page.locator(".laps")
    expect(laps).to_contain_text("Lap-tight")
    for by_x in (-8, 8):
        drag(page, by_x)
        if "short" in (page.locator("[data-seam]").first.get_attribute("class") or ""):
            break
        page.mouse.up()
        page.get_by_role("button", name="Put it back").click()
    else:
        pytest.fail("no way to drag this seam costs it its lap")
    assert "Not lap-tight" in laps.inner_text()  # before any answer of the server could be there
    expect(page.locator(".asking.hidden")).to_have_count(1)
    expect(page.locator(".fails[data-fails]").first).to_be_visible()
    expect(laps).to_contain_text("Short by")
    page.mouse.up()
    page.get_by_role("button", name="Put it back").click()
    expect(laps).to_contain_text("Lap-tight")
    expect(laps).not_to_contain_text("Not lap-tight")


def test_a_lap_that_cannot_be_dragged_says_why_where_it_is_tapped(page: Page) -> None:
    pick(page, "B-C")
    told = page.locator(".told")
    expect(told).to_be_empty()
    band = page.locator("g.facet.picked [data-piece^='K'] .edge").first
    box = band.bounding_box()
    assert box is not None
    sheet = page.get_by_role("group", name="Surfaces laid flat").bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(told).to_contain_text("stays. A corner piece sits in its corner and stays there")
    expect(page.locator(".asked")).to_have_count(1)
    assert page.get_by_role("group", name="Surfaces laid flat").bounding_box() == sheet  # nothing shifts
    told.get_by_role("button", name="Good").click()
    expect(told).to_be_empty()
    pick(page, "C-D")
    page.get_by_text("Laps that cannot be dragged, and why").press("Enter")
    expect(page.get_by_text(re.compile("is chosen under Joints")).first).to_be_visible()


def test_the_room_follows_a_seam_that_is_moved(page: Page) -> None:
    pick(page, "B-C")
    seam = page.locator("[data-seam]").first
    before = canvas_picture(page)
    seam.focus()
    with page.expect_response("**/proof"):
        page.keyboard.press("Shift+ArrowLeft")
    expect(page.locator(".asking.hidden")).to_have_count(1)
    assert canvas_picture(page) != before
    page.keyboard.press("Escape")
    assert canvas_picture(page) == before


def canvas_picture(page: Page) -> str:
    """What the room looks like now, drawn at once so that no frame is waited for."""
    page.wait_for_timeout(100)
    picture: str = page.evaluate("(c => (c.drawNow(), c.toDataURL()))(document.querySelector('canvas'))")
    return picture


def test_the_keyboard_alone_picks_moves_and_pins(page: Page, server: Server, job: str) -> None:
    page.get_by_role("navigation", name="Surfaces").get_by_role("button", name="B-C").press("Enter")
    canvas = page.locator("canvas")
    before = page.evaluate("document.querySelector('canvas').placeOf('facet-08')")
    canvas.focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.querySelector('canvas').placeOf('facet-08')") != before
    page.get_by_role("group", name="Surfaces laid flat").focus()
    page.keyboard.press("Tab")
    seam = page.locator("[data-seam]").first
    expect(seam).to_be_focused()
    said = seam.get_attribute("aria-valuetext")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert seam.get_attribute("aria-valuetext") != said
    page.keyboard.press("Enter")
    expect(page.locator(".now")).to_contain_text("Planned: revision 2", timeout=60_000)
    (pin,) = draft(server, job)["covering"]["seam"]
    assert set(pin) == {"on", "along"}
    expect(page.locator(".seam.pinned")).to_have_count(1)
    page.get_by_role("button", name="Let go").press("Enter")
    expect(page.locator(".now")).to_contain_text("Planned: revision 3", timeout=60_000)
    assert "covering" not in draft(server, job)


def test_after_a_late_reading_only_what_changed_is_shown(page: Page, server: Server, job: str) -> None:
    said = draft(server, job)
    said["survey"]["reading"][2]["is"] = "72 9/16 in"
    with server.asking() as client:
        assert client.put(f"/api/jobs/{job}", json={"draft": said, "based_on": 1}).status_code == 200
    changes = page.get_by_role("region", name="What the new plan changed")
    changes.wait_for(timeout=60_000)
    listed = {row.split()[0]: row for row in changes.get_by_role("listitem").all_inner_texts()}
    assert 0 < len(listed) < page.locator("[data-piece]").count()
    seen = set(page.locator("[data-piece]:not(.dim)").evaluate_all("all => all.map(one => one.dataset.piece)"))
    dim = set(page.locator("[data-piece].dim").evaluate_all("all => all.map(one => one.dataset.piece)"))
    assert seen == {name for name, row in listed.items() if "gone" not in row}
    assert dim
    assert not seen & dim
    room = page.get_by_role("img", name="Only what changed is shown")
    expect(room).to_be_visible()
    changed_only = canvas_picture(page)
    changes.get_by_label("Show only what changed").uncheck()
    expect(page.locator("[data-piece].dim")).to_have_count(0)
    expect(room).to_have_count(0)
    # the same choice goes for the room, and back
    assert canvas_picture(page) != changed_only
    changes.get_by_label("Show only what changed").check()
    assert canvas_picture(page) == changed_only


def test_fold_band_direction_and_what_is_cut_reach_the_job(page: Page, server: Server, job: str) -> None:
    pick(page, "C-D")
    state = page.locator("select.state").first
    piece = (state.get_attribute("aria-label") or "").removesuffix(" is")
    state.select_option("cut")
    page.get_by_role("button", name="It was cut short…").click()
    page.locator("label", has_text="cut short by").locator("input").fill("3/4 in")
    page.keyboard.press("Tab")
    page.get_by_label("How the joint to ceiling is closed").select_option("band")
    expect(page.locator(".saving")).to_have_text("Saved")
    said = draft(server, job)["covering"]
    assert said["fold"] == [{"from": "C-D", "onto": "ceiling", "by": "band"}]
    assert [(row["id"], row["state"], row["short"]) for row in said["piece"]] == [(piece, "cut", "3/4 in")]
    for _ in range(2):
        page.get_by_role("button", name="Undo").click()
    expect(page.locator(".saving")).to_have_text("Saved")
    assert "covering" not in draft(server, job)


def test_pieces_are_drawn_while_they_are_proven_and_nothing_is_said_of_them_before(page: Page) -> None:
    held: list[Route] = []

    def until_they_lie(route: Route) -> None:
        for _ in range(20):  # a slow machine is answered "nothing yet" now and then
            if (answer := route.fetch(timeout=SLOW_MS)).status == 200:
                break
        route.fulfill(response=answer)

    page.route("**/api/runs/*/plan?*", lambda route: held.append(route))
    page.route("**/api/runs/*/laid", until_they_lie)
    pick(page, "C-D")
    before = shown_pieces(page)
    page.get_by_label("How the joint to ceiling is closed").select_option("band")
    laps = page.locator(".laps")
    expect(laps.locator(".verdict")).to_have_text("Being proven", timeout=SLOW_MS)
    expect(laps.locator(".number")).to_have_count(0)
    early = shown_pieces(page)
    assert early != before
    expect(page.locator("[data-seam]")).to_have_count(0)
    held[-1].continue_()
    expect(laps.locator(".verdict")).to_have_text("Lap-tight", timeout=SLOW_MS)
    assert shown_pieces(page) == early
    expect(page.locator("[data-seam]")).not_to_have_count(0)


def shown_pieces(page: Page) -> list[list[str]]:
    """The pieces on every facet of the flat sheet, with their outlines."""
    shown: list[list[str]] = page.evaluate(
        "[...document.querySelectorAll('[data-piece]')].map((g) => [g.dataset.piece, g.querySelector('path').getAttribute('d')])")
    return shown


def test_a_wish_says_what_it_costs_and_is_taken_back(page: Page, server: Server, job: str) -> None:
    pick(page, "C-D")
    page.get_by_label("How the joint to ceiling is closed").select_option("band")
    wish = page.locator(".wishes li", has_text="C-D and ceiling closed by a band")
    expect(wish).to_contain_text(re.compile(r"\d+ (USD|min) more|costs nothing"), timeout=SLOW_MS)
    expect(page.locator(".now")).to_contain_text("Planned: revision 2", timeout=SLOW_MS)
    wish.get_by_role("button").press("Enter")
    expect(wish).to_have_count(0, timeout=SLOW_MS)
    assert "covering" not in draft(server, job)


def test_other_layouts_are_looked_for_looked_at_and_taken(page_of_a_server_that_stops: Page, server: Server, job: str) -> None:
    page = page_of_a_server_that_stops
    page.get_by_label("Lay it out afresh, searching").select_option("4")
    page.get_by_role("button", name="Look for other layouts").press("Enter")
    expect(page.get_by_text("no layout takes less than")).to_be_visible(timeout=SLOW_MS)
    table = page.get_by_role("table", name="Layouts found")
    table.wait_for(timeout=SLOW_MS)
    rows = table.locator("tbody tr")
    count = rows.count()
    assert 2 <= count <= 3
    expect(table.locator("tr", has_text="This plan")).to_have_count(1)
    server.kill()
    server.start()
    page.reload()
    expect(rows).to_have_count(count, timeout=SLOW_MS)  # what was found outlives page and server
    opened(page, job)
    planned = pieces_shown(page)
    room = canvas_picture(page)
    fresh = table.locator("tr", has_text="searched 4 times as long")
    expect(fresh).to_contain_text("USD less")
    fresh.get_by_role("button", name="Look").click()
    expect(page.get_by_text("You look at another layout")).to_be_visible()
    assert canvas_picture(page) != room
    expect(page.locator(".laps")).to_contain_text("Lap-tight")
    fresh_pieces = pieces_shown(page)
    assert fresh_pieces != planned
    page.get_by_role("button", name="Back to the plan").click()
    assert pieces_shown(page) == planned
    fresh.get_by_role("button", name="Take").press("Enter")
    expect(page.get_by_text("Since the layout before")).to_be_visible(timeout=SLOW_MS)
    expect(page.locator(".now")).to_contain_text("Planned: revision 1", timeout=SLOW_MS)
    page.get_by_label("Show only what changed").uncheck()
    assert pieces_shown(page) == fresh_pieces
    assert "covering" not in draft(server, job)


def pieces_shown(page: Page) -> list[str]:
    """How each part of a piece lies on the flat sheet."""
    page.get_by_role("button", name="All surfaces").click()
    shown: list[str] = page.locator("[data-piece] .edge").evaluate_all("all => all.map(one => one.getAttribute('d')).sort()")
    return shown


def test_a_search_is_stopped_keeps_its_best_and_a_layout_of_it_is_wished_for(page: Page, server: Server, job: str) -> None:
    page.get_by_label("Lay it out afresh, searching").select_option("1")
    page.get_by_role("button", name="Look for other layouts").click()
    table = page.get_by_role("table", name="Layouts found")
    other = table.locator("tr", has=page.get_by_role("button", name=re.compile("Take (?!laid|searched)"))).first
    other.wait_for(timeout=SLOW_MS)
    name = (other.get_by_role("button", name="Take").get_attribute("aria-label") or "").removeprefix("Take ")
    other.get_by_role("button", name="Take").click()
    expect(page.locator(".now")).to_contain_text("Planned: revision 2", timeout=SLOW_MS)
    chosen = draft(server, job)["covering"]
    assert name in chosen.values() or chosen.get("joints") in ("band", "fold")
    page.get_by_label("Lay it out afresh, searching").select_option("40")
    page.get_by_role("button", name="Look for other layouts").click()
    expect(page.get_by_text("The best so far takes about")).to_be_visible(timeout=SLOW_MS)
    page.get_by_role("button", name="Stop and keep the best").click()
    table.wait_for(timeout=SLOW_MS)
    expect(table.locator("tr", has_text="This plan")).to_have_count(1)


def test_a_room_of_many_facets_takes_few_draw_calls(chromium: Browser, server: Server, job: str) -> None:
    shown: list[int] = []

    def many(route: Route) -> None:
        answer = route.fetch()
        told = json.loads(answer.body())
        plan = told["parts"]
        facets, pieces = list(plan["room"]["facets"]), list(plan["covering"]["pieces"])
        for k in range(1, 5):
            plan["room"]["facets"] += [{**f, "id": f"{f['id']}-{k}", "origin_m": [x + 2 * k for x in f["origin_m"]]} for f in facets]
            for piece in pieces:
                patches = [{**patch, "facet": f"{patch['facet']}-{k}"} for patch in piece["patches"]]
                plan["covering"]["pieces"].append({**piece, "id": f"{piece['id']}-{k}", "over": [], "patches": patches})
        shown.append(len(plan["room"]["facets"]))
        route.fulfill(response=answer, body=json.dumps(told))

    with visiting(chromium, server) as (page, _):
        page.route("**/api/runs/*/plan", many)
        opened(page, job)
        calls = page.evaluate("document.querySelector('canvas').drawNow()")
    assert len(shown) == 1
    assert shown[0] >= 60
    assert 5 < calls < 200


@pytest.mark.parametrize("touch", [False, True])
def test_nobody_is_kept_out(chromium: Browser, server: Server, job: str, touch: bool, tmp_path: Path) -> None:
    with visiting(chromium, server, TABLET if touch else {"width": 1366, "height": 860}, touch=touch) as (page, _):
        opened(page, job)
        pick(page, "B-C")
        page.evaluate(AXE.read_text("utf-8"))
        found = page.evaluate("axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']})")
        assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found["violations"]] == []
        if touch:
            place = page.evaluate("document.querySelector('canvas').placeOf('facet-08')")
            box = page.locator("canvas").bounding_box()
            assert box is not None
            page.touchscreen.tap(box["x"] + place["x"], box["y"] + place["y"])
            assert picked(page) == "C-D"
        page.screenshot(path=tmp_path / "cover.png")
