"""The server as a process: its port, killed in the middle of a save, stopped, and the core without it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import psutil
import pytest

from tests.databases import free_port

ROOT = Path(__file__).parents[2]
COMMAND = "from steamwright.cli.main import run; run()"
WEB = ("fastapi", "starlette", "uvicorn", "sqlalchemy", "alembic", "pg8000", "argon2")
WITHOUT_WEB = f"import sys\nfor name in {WEB}: sys.modules[name] = None\n"


@contextmanager
def serving(folder: Path) -> Iterator[tuple[subprocess.Popen[str], httpx.Client]]:
    """A server of its own on a free port, and a browser that has the word for changes."""
    port = free_port()
    server = subprocess.Popen([sys.executable, "-c", COMMAND, "serve"], cwd=folder, env={**os.environ, "PORT": str(port)}, text=True,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    client = httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=30)
    try:
        for _ in range(300):
            try:
                client.headers["x-csrf-token"] = client.get("/api/session").json()["csrf"]
                break
            except httpx.TransportError:
                assert server.poll() is None, server.communicate()
                time.sleep(0.05)
        yield server, client
    finally:
        client.close()
        server.kill()
        server.communicate(timeout=30)


def test_it_listens_on_the_port_of_the_environment_and_keeps_jobs_in_the_folder(tmp_path: Path) -> None:
    with serving(tmp_path) as (_, client):
        assert client.post("/api/jobs", json={"draft": {"name": "kept"}}).status_code == 201
        assert (tmp_path / "steamwright.db").is_file()
    with serving(tmp_path) as (_, client):
        assert [row["name"] for row in client.get("/api/jobs").json()] == ["kept"]


def test_killed_in_the_middle_of_saves_it_loses_nothing_that_it_answered(tmp_path: Path) -> None:
    with serving(tmp_path) as (server, client):
        job = client.post("/api/jobs", json={"draft": {"name": "0"}}).json()["id"]
        answered = [1]

        def save() -> None:
            try:
                while True:
                    draft = {"name": str(answered[-1]), "pad": "x" * 50_000}
                    answered.append(client.put(f"/api/jobs/{job}", json={"draft": draft, "based_on": answered[-1]}).json()["number"])
            except httpx.TransportError:
                return

        saver = threading.Thread(target=save)
        saver.start()
        while len(answered) < 25:
            time.sleep(0.01)
        os.kill(server.pid, signal.SIGKILL)
        saver.join(30)
    with serving(tmp_path) as (_, client):
        head = client.get(f"/api/jobs/{job}").json()["head"]
        assert head in (answered[-1], answered[-1] + 1)
        for number in answered[1:]:
            assert client.get(f"/api/jobs/{job}/revisions/{number}").json()["draft"]["name"] == str(number - 1)
        again = client.put(f"/api/jobs/{job}", json={"draft": {"name": str(answered[-1]), "pad": "x" * 50_000}, "based_on": answered[-1]})
        assert (again.status_code, again.json()["number"]) == (200, answered[-1] + 1)


def test_killed_or_stopped_it_leaves_no_worker_behind(tmp_path: Path) -> None:
    def until(run: str, there: Callable[[Any], bool]) -> None:
        end = time.monotonic() + 60
        while not there(client.get(f"/api/runs/{run}").json()):
            assert time.monotonic() < end
            time.sleep(0.05)

    for how in (signal.SIGKILL, signal.SIGTERM):
        with serving(tmp_path) as (server, client):
            texts = [(ROOT / "examples" / f"{name}.toml").read_text("utf-8") for name in ("home-alcove", "commercial-tiers")]
            proved, planned = (client.post("/api/jobs/import", json={"toml": text}).json()["id"] for text in texts)
            until(client.post(f"/api/jobs/{proved}/revisions/1/plan").json()["id"], lambda run: "plan.json" in run["files"])
            assert client.post(f"/api/jobs/{proved}/revisions/1/proof", json={"moved": []}).status_code == 200
            until(client.post(f"/api/jobs/{planned}/revisions/1/plan").json()["id"], lambda run: run["steps"] >= 2)
            workers = psutil.Process(server.pid).children(recursive=True)
            assert len(workers) >= 3
            os.kill(server.pid, how)
            server.wait(20)
            gone, alive = psutil.wait_procs(workers, timeout=20)
            assert alive == []
            assert len(gone) == len(workers)


@pytest.mark.parametrize(("said", "words"), [({"PORT": "many"}, "PORT"), ({"STEAMWRIGHT_DATABASE": "mysql://a/b"}, "--database")])
def test_what_is_said_wrong_is_said_in_one_line(tmp_path: Path, said: dict[str, str], words: str) -> None:
    ran = subprocess.run([sys.executable, "-c", COMMAND, "serve"], cwd=tmp_path, env={**os.environ, **said}, capture_output=True, text=True,
                         check=False, timeout=60)
    assert ran.returncode == 2
    assert words in ran.stderr
    assert len(ran.stderr.splitlines()) == 1


def test_an_account_is_added_and_lets_other_machines_in(tmp_path: Path) -> None:
    def steamwright(*arguments: str, typed: str = "") -> subprocess.CompletedProcess[str]:
        return subprocess.run([sys.executable, "-c", COMMAND, *arguments], cwd=tmp_path, input=typed, capture_output=True, text=True,
                              check=False, timeout=60)

    refused = steamwright("serve", "--host", "0.0.0.0", "--port", "0")
    assert (refused.returncode, "account" in refused.stderr) == (2, True)
    assert steamwright("account", "ann", "--role", "office", typed="short\n").returncode == 2
    assert steamwright("account", "ann", "--role", "boss", typed="four pale teal tiles\n").returncode == 2
    assert steamwright("account", "ann", "--role", "office", typed="four pale teal tiles\n").returncode == 0
    with serving(tmp_path) as (_, client):
        assert client.get("/api/jobs").status_code == 401
        assert client.post("/api/session", json={"name": "ann", "password": "four pale teal tiles"}).status_code == 200
        assert client.get("/api/jobs").status_code == 200


def test_the_core_works_where_the_web_application_is_not_installed(tmp_path: Path) -> None:
    def steamwright(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run([sys.executable, "-c", WITHOUT_WEB + COMMAND, *arguments], cwd=tmp_path, capture_output=True, text=True,
                              check=False, timeout=120)

    assert steamwright("plan", str(ROOT / "examples" / "home-alcove.toml"), "--out", str(tmp_path / "out")).returncode == 0
    assert (tmp_path / "out" / "dossier.pdf").is_file()
    for command in (("serve",), ("account", "ann")):
        told = steamwright(*command)
        assert told.returncode == 3
        assert "steamwright[web]" in told.stderr
