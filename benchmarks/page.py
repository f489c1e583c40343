"""How long it takes in the browser from an edit to the plan of it: ``python benchmarks/page.py [edits]``."""

from __future__ import annotations

import statistics
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.browser.conftest import FLAGS, Server, chromium_path, planned, visiting
from tests.databases import free_port

# One edit: what a person types arrives as one input event, Enter ends it; over when what was made of it has been painted.
EDIT = """(value) => new Promise((done) => {
    const stage = document.getElementById('stage');
    const input = [...document.querySelectorAll('label')].find((l) => l.textContent === 'Set point').control;
    const before = stage.dataset.planned, begun = performance.now();
    const look = new MutationObserver(() => {
        if (stage.dataset.planned === before) return;
        look.disconnect();
        requestAnimationFrame(() => setTimeout(() => done(performance.now() - begun)));
    });
    look.observe(stage, { attributes: true });
    input.value = value;
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.dispatchEvent(new Event('change', { bubbles: true }));
})"""


def main(edits: int) -> None:
    """Edit the first example again and again and print how long the page took."""
    with TemporaryDirectory() as folder, sync_playwright() as driver:
        server = Server(Path(folder), free_port())
        server.start()
        browser = driver.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        try:
            job = server.bring_in("home-alcove")
            with visiting(browser, server) as (page, _):
                page.goto(f"/job/{job}/build")
                planned(page)
                took_ms = sorted(page.evaluate(EDIT, f"{110 + i / 100:.2f} degF") for i in range(edits))
        finally:
            browser.close()
            server.kill()
    at_95 = took_ms[min(int(0.95 * len(took_ms)), len(took_ms) - 1)]
    print(f"edit to plan on the page, {edits} edits: median {statistics.median(took_ms):.0f} ms, 95th percentile {at_95:.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
