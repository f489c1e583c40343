"""A built page, a server of its own, and a real Chromium that reaches nothing but that server."""

from __future__ import annotations

import fcntl
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, sync_playwright

from tests.databases import free_port

ROOT = Path(__file__).parents[2]
DESKTOP = {"width": 1366, "height": 860}
TABLET = {"width": 1280, "height": 800}  # ten inches held across
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
          "--disable-component-update", "--disable-sync"]  # fmt: skip
WORD = "four pale teal tiles"
_COMMAND = "from steamwright.cli.main import run; run()"


@dataclass
class Server:
    """``steamwright serve`` over one file, which can be struck down and started again on the same port."""

    folder: Path
    port: int
    process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        here = {**os.environ, "PORT": str(self.port), "PYTHONPATH": str(ROOT / "src")}
        self.process = subprocess.Popen([sys.executable, "-c", _COMMAND, "serve", "--workers", "1"], cwd=self.folder, env=here,
                                        stdout=subprocess.DEVNULL)
        for _ in range(600):
            try:
                httpx.get(f"{self.address}/api/session")
                return
            except httpx.TransportError:
                assert self.process.poll() is None, "the server did not start"
                time.sleep(0.05)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()

    def bring_in(self, example: str) -> str:
        """Keep an example as a job; its id."""
        with self.asking() as client:
            answer = client.post("/api/jobs/import", json={"toml": (ROOT / "examples" / f"{example}.toml").read_text(encoding="utf-8")})
            job: str = answer.json()["id"]
            return job

    @contextmanager
    def asking(self) -> Iterator[httpx.Client]:
        with httpx.Client(base_url=self.address, timeout=30) as client:
            client.headers["x-csrf-token"] = client.get("/api/session").json()["csrf"]
            yield client


@dataclass
class Watched:
    """What a browser did that it should not: requests to the outside, errors on the page."""

    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


@pytest.fixture(scope="session")
def page_is_built() -> None:
    with (ROOT / "frontend" / "package.json").open() as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        subprocess.run([sys.executable, str(ROOT / "frontend" / "make_page.py")], check=True)


@pytest.fixture(scope="module")
def server(page_is_built: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    found = Server(tmp_path_factory.mktemp("served"), free_port())
    found.start()
    yield found
    found.kill()


class Guarded(Server):
    """A server that demands an account, and a planned job on it."""

    job = ""


@pytest.fixture(scope="package")
def guarded(page_is_built: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Guarded]:
    folder = tmp_path_factory.mktemp("guarded")
    command = [sys.executable, "-c", _COMMAND, "account", "ann", "--role", "office"]
    subprocess.run(command, cwd=folder, input=f"{WORD}\n", text=True, check=True, stdout=subprocess.DEVNULL,
                   env={**os.environ, "PYTHONPATH": str(ROOT / "src")})
    found = Guarded(folder, free_port())
    found.start()
    with httpx.Client(base_url=found.address, timeout=30) as client:
        told = client.post("/api/session", json={"name": "ann", "password": WORD})
        client.headers["x-csrf-token"] = told.json()["csrf"]
        toml = (ROOT / "examples" / "home-alcove.toml").read_text(encoding="utf-8")
        found.job = client.post("/api/jobs/import", json={"toml": toml}).json()["id"]
        run = client.post(f"/api/jobs/{found.job}/revisions/1/plan").json()["id"]
        with client.stream("GET", f"/api/runs/{run}/events", timeout=120) as events:
            assert '"done"' in [line for line in events.iter_lines() if line.startswith("data: ")][-1]
    yield found
    found.kill()


def chromium_path() -> str:
    """The distribution's Chromium, or the one that CHROMIUM names."""
    path = shutil.which(os.environ.get("CHROMIUM", "chromium"))
    assert path is not None, "browser tests need Chromium: make chromium"
    return path


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        yield browser
        browser.close()


@contextmanager
def visiting(browser: Browser, server: Server, size: dict[str, int] = DESKTOP, *, touch: bool = False,
             expected: tuple[str, ...] = ()) -> Iterator[tuple[Page, Watched]]:  # fmt: skip
    """A visitor with storage of his own; at the end nothing may have gone to the outside and nothing unexpected may have failed."""
    context = browser.new_context(viewport=size, has_touch=touch, base_url=server.address, accept_downloads=True)  # type: ignore[arg-type]
    context.set_default_timeout(45_000)
    watched = Watched()
    page = watch(context, server, watched)
    try:
        yield page, watched
    finally:
        context.close()
    assert watched.outside == []
    assert [e for e in watched.errors if not any(part in e for part in expected)] == []


def watch(context: BrowserContext, server: Server, watched: Watched) -> Page:
    """Open a tab that is watched."""

    def gate(route: Route) -> None:
        if route.request.url.startswith((server.address, "data:", "blob:")):
            route.continue_()
        else:
            watched.outside.append(route.request.url)
            route.abort()

    context.route("**/*", gate)
    page = context.new_page()
    page.on("pageerror", lambda error: watched.errors.append(str(error)))
    page.on("console", lambda message: watched.errors.append(message.text) if message.type == "error" else None)
    return page


def planned(page: Page) -> None:
    """Wait until what is shown is the plan of all that was typed, with all its files."""
    page.locator(".now", has_text="Planned: revision").wait_for(timeout=60_000)


# Places at which Tab stops; what comes late joins them.
_STOPS = """() => {
    const all = [...document.querySelectorAll('a[href], :is(button, input, select, textarea):not(:disabled), summary')]
        .filter((e) => e.checkVisibility({ visibilityProperty: true }) && e.tabIndex >= 0);
    if (!window.reached) {
        window.reached = new Set();
        addEventListener('focusin', (event) => window.reached.add(event.target));
    }
    window.stops = all;
    return all.length;
}"""
_LEFT = """() => window.stops.filter((e) => e.isConnected && !window.reached.has(e) && !(e.type === 'radio' && !e.checked))
    .map((e) => e.outerHTML.slice(0, 120))"""


def never_reached(page: Page) -> list[str]:
    """Tab through all of a page; what the focus never came to."""
    page.wait_for_timeout(300)
    pressed, stops = 0, page.evaluate(_STOPS)
    while pressed < stops + 10:
        page.keyboard.press("Tab")
        pressed += 1
        if pressed == stops + 10:
            stops = page.evaluate(_STOPS)
    left: list[str] = page.evaluate(_LEFT)
    return left
