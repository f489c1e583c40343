"""How long it takes in the browser: ``python benchmarks/page.py [edits]``.

Prints how long it takes from an edit to the plan of it on the page, for a set point and for the length of a wall, at once and
while the drawings of the edit before are made; how soon the sketch shows a length; how soon Cover draws the pieces where a joint
is closed otherwise, and has them proven; the first load of a stage with nothing in the browser's cache; and the draw calls of a
room of sixty facets. Times are this machine's; beside each stands its ratio to a plain peer in the same run: planning again in
one process without server or browser, or fetching one small file from the server.
"""

from __future__ import annotations

import statistics
import sys
import time
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import psutil
from playwright.sync_api import Browser, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1]))
from steamwright.plan.build import build
from steamwright.plan.document import plan_json
from steamwright.service.checking import catalog, job_of
from tests.browser.conftest import DESKTOP, FLAGS, Server, chromium_path, planned
from tests.databases import free_port

EXAMPLES = Path(__file__).parents[1] / "examples"
# An edit is over when what was made of it has been painted.
_BEGIN = """(value) => new Promise((done) => {
    const stage = document.getElementById('stage'), before = stage.dataset.planned, begun = performance.now();
    const painted = (then) => requestAnimationFrame(() => setTimeout(() => then(performance.now() - begun)));
    let shown = 0;
    const look = new MutationObserver(() => {
        if (stage.dataset.planned === before) return;
        look.disconnect();
        painted((ms) => done({ planned: ms, shown }));
    });
    look.observe(stage, { attributes: true });
"""
# What a person types arrives as one input event, Enter or leaving the field ends it.
SET_POINT = _BEGIN + """
    const input = [...document.querySelectorAll('label')].find((l) => l.textContent === 'Set point').control;
    input.value = value;
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.dispatchEvent(new Event('change', { bubbles: true }));
})"""
LENGTH = _BEGIN + """
    const drawn = new MutationObserver(() => { drawn.disconnect(); painted((ms) => (shown = ms)); });
    drawn.observe(document.querySelector('main svg'), { subtree: true, childList: true, characterData: true, attributes: true });
    const input = document.getElementById('tape-entry');
    input.value = value;
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, cancelable: true }));
})"""
JOINT = _BEGIN + """
    const laps = document.querySelector('.laps');
    const drawn = new MutationObserver(() => {
        if (!laps.classList.contains('unproven')) return;
        drawn.disconnect();
        painted((ms) => (shown = ms));
    });
    drawn.observe(laps, { attributes: true });
    const select = document.querySelector(`select[aria-label="How the joint to ceiling is closed"]`);
    select.value = value;
    select.dispatchEvent(new Event('change', { bubbles: true }));
})"""
FETCH = """async () => {
    const begun = performance.now();
    await (await fetch('/icon.svg', { cache: 'no-store' })).text();
    return performance.now() - begun;
}"""
# Notes when the stage, and when its plan, was painted first; times count from the beginning of the navigation.
FIRST = """new MutationObserver(() => {
    const stage = document.getElementById('stage');
    for (const [name, there] of [['stage', stage?.querySelector('h1')], ['plan', stage?.dataset.planned]])
        if (there && !performance.getEntriesByName(name).length) {
            performance.mark(name);
            requestAnimationFrame(() => setTimeout(() => performance.mark(`${name} painted`)));
        }
}).observe(document, { subtree: true, childList: true, attributes: true })"""
LOADED = """() => ({
    ...Object.fromEntries(['stage', 'plan'].map((name) => [name, performance.getEntriesByName(`${name} painted`)[0].startTime])),
    bytes: performance.getEntries().reduce((sum, entry) => sum + (entry.transferSize ?? 0), 0),
})"""


def visit(browser: Browser, server: Server) -> Page:
    """A page with nothing in its cache; nothing stands between it and the server."""
    return browser.new_context(viewport=DESKTOP, base_url=server.address).new_page()  # type: ignore[arg-type]


def at_95(took_ms: Sequence[float]) -> float:
    """The 95th percentile. [ms]"""
    return sorted(took_ms)[min(int(0.95 * len(took_ms)), len(took_ms) - 1)]


def told(name: str, took_ms: Sequence[float], peer_ms: float, peer: str) -> None:
    """One line of figures."""
    print(f"{name:<46} median {statistics.median(took_ms):5.0f} ms, 95th percentile {at_95(took_ms):5.0f} ms, "
          f"{statistics.median(took_ms) / peer_ms:5.1f} x {peer}")


def spent_s(server: Server) -> dict[str, float]:
    """Processor time so far of the server, its workers and the browser. [s]"""
    assert server.process is not None
    serving = psutil.Process(server.process.pid)
    browsing = [p for p in psutil.Process().children(recursive=True) if "chrom" in p.name()]

    def of(processes: Sequence[psutil.Process]) -> float:
        return float(sum(p.cpu_times().user + p.cpu_times().system for p in processes))

    return {"server": of([serving]), "workers": of(serving.children(recursive=True)), "browser": of(browsing)}


def edits(page: Page, server: Server, count: int, edit: Callable[[int], dict[str, float]], pause_ms: int = 0) -> list[dict[str, float]]:
    """Edit again and again, and say what processor time it took."""
    for i in range(3):  # what is needed for the first time is not what an edit takes
        edit(i)
    before = spent_s(server)
    took = []
    for i in range(count):
        page.wait_for_timeout(pause_ms)
        took.append(edit(3 + i))
    after = spent_s(server)
    print("  processor time of an edit: " + ", ".join(f"{name} {(after[name] - before[name]) / count * 1000:.0f} ms" for name in after))
    return took


def replanned_ms(changed: Callable[[dict[str, Any], int], None], times: int = 8) -> float:
    """Planning again and writing plan.json, in one warm process. [ms]"""
    plan, took_ms = None, []
    for i in range(times):
        draft = tomllib.loads((EXAMPLES / "home-alcove.toml").read_text(encoding="utf-8"))
        changed(draft, i)
        job, begun = job_of(draft), time.perf_counter()
        plan = build(job, catalog(), before=plan)
        plan_json(plan)
        took_ms.append(1000 * (time.perf_counter() - begun))
    return statistics.median(took_ms[2:])


def set_point(i: int) -> str:
    """A set point that was not there before."""
    return f"{110 + i / 100:.2f} degF"


def length(i: int) -> str:
    """A length of the first wall that fits the others and was not there before."""
    return f"{72.05 + i / 1000:.3f}"


def editing(browser: Browser, server: Server, job: str, count: int) -> None:
    """All figures of edits."""
    peer = "planning again in one process"
    page = visit(browser, server)
    page.goto(f"/job/{job}/build")
    planned(page)
    alone_ms = replanned_ms(lambda draft, i: draft["use"].update(set_point=set_point(i)))
    took = edits(page, server, count, lambda i: page.evaluate(SET_POINT, set_point(i)))
    told("set point to plan", [t["planned"] for t in took], alone_ms, peer)
    took = edits(page, server, count, lambda i: page.evaluate(SET_POINT, set_point(1000 + i)), pause_ms=1000)
    told("the same while drawings are made", [t["planned"] for t in took], alone_ms, peer)
    page.goto(f"/job/{job}/measure")
    planned(page)
    alone_ms = replanned_ms(lambda draft, i: draft["survey"]["reading"][0].update({"is": f"{length(i)} in"}))

    def tape(i: int) -> dict[str, float]:
        page.locator("g.line.wall").first.dispatch_event("click")
        found: dict[str, float] = page.evaluate(LENGTH, length(i))
        return found

    took = edits(page, server, count, tape)
    told("length of a wall to plan", [t["planned"] for t in took], alone_ms, peer)
    fetched_ms = statistics.median(page.evaluate(FETCH) for _ in range(20))
    told("length of a wall to sketch", [t["shown"] for t in took], fetched_ms, "fetching a small file")
    page.goto(f"/job/{job}/cover")
    planned(page)
    page.get_by_role("navigation", name="Surfaces").get_by_role("button", name="C-D", exact=True).click()
    wishes = ("band", "best")
    alone_ms = replanned_ms(lambda draft, i: draft.setdefault("covering", {}).update(fold=[] if i % 2 else [
        {"from": "C-D", "onto": "ceiling", "by": "band"}]))
    took = edits(page, server, count, lambda i: page.evaluate(JOINT, wishes[i % 2]))
    told("a joint closed otherwise, to its pieces", [t["shown"] for t in took], alone_ms, peer)
    told("a joint closed otherwise, to their proof", [t["planned"] for t in took], alone_ms, peer)
    page.context.close()


def loading(browser: Browser, server: Server, job: str, times: int = 7) -> None:
    """The first load."""
    loads, fetched_ms = [], []
    for _ in range(times):
        page = visit(browser, server)
        page.add_init_script(FIRST)
        page.goto(f"/job/{job}/build")
        page.locator("#stage[data-planned]").wait_for()
        while not page.evaluate("performance.getEntriesByName('plan painted').length"):
            page.wait_for_timeout(20)
        loads.append(page.evaluate(LOADED))
        fetched_ms += [page.evaluate(FETCH) for _ in range(5)]
        page.context.close()
    peer_ms = statistics.median(fetched_ms)
    told("first load to the stage", [one["stage"] for one in loads], peer_ms, "fetching a small file")
    told("first load to its plan", [one["plan"] for one in loads], peer_ms, "fetching a small file")
    print(f"first load, compressed, before the 3D part: {loads[0]['bytes'] / 1000:.0f} kB")


def sixty_facets() -> dict[str, Any]:
    """The commercial example with eight niches more, as a draft."""
    draft = tomllib.loads((EXAMPLES / "commercial-tiers.toml").read_text(encoding="utf-8"))
    places = {"B-C": (26, 80), "C-D": (26, 64, 90, 126), "D-A": (26, 84)}
    alike = {"bottom": "56 in", "width": "14 in", "height": "12 in", "depth": "3.5 in", "sill_slope": "1:48"}
    draft["room"]["niche"] = [{"name": f"niche {wall} {k}", "wall": wall, "from": f"{at} in"} | alike
                              for wall in places for k, at in enumerate(places[wall])]
    draft["buildup"][0]["on"].append("niches")
    return draft


def drawing(browser: Browser, server: Server) -> None:
    """Draw calls of the room in three dimensions."""
    with server.asking() as client:
        job = client.post("/api/jobs", json={"draft": sixty_facets()}).json()["id"]
    page = visit(browser, server)
    page.goto(f"/job/{job}/cover")
    page.locator("canvas").wait_for(timeout=300_000)
    with server.asking() as client:
        facets = len(client.get(f"/api/jobs/{job}/revisions/1/files/plan.json").json()["room"]["facets"])
    print(f"a room of {facets} facets in 3D: {page.evaluate('document.querySelector(`canvas`).drawNow()')} draw calls")
    page.context.close()


def main(count: int) -> None:
    """Print all figures."""
    with TemporaryDirectory() as folder, sync_playwright() as driver:
        server = Server(Path(folder), free_port())
        server.start()
        browser = driver.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        try:
            job = server.bring_in("home-alcove")
            editing(browser, server, job, count)
            loading(browser, server, job)
            drawing(browser, server)
        finally:
            browser.close()
            server.kill()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
