"""Fifty people browse and edit different jobs on one process: how long they wait, and whether anything fails."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from pathlib import Path

import httpx

PEOPLE, SECONDS, PAUSE_S = 50, 15, 0.5
ROOT = Path(__file__).resolve().parents[1]
HOME = tomllib.loads((ROOT / "examples" / "home-alcove.toml").read_text(encoding="utf-8"))


def person(address: str, csrf: str, number: int, waited_s: list[float], wrong: list[str]) -> None:
    """Save, look, check and adjust, with a breath between."""
    with httpx.Client(base_url=address, headers={"x-csrf-token": csrf}, timeout=30) as client:
        job = client.post("/api/jobs", json={"draft": HOME | {"note": str(number)}}).json()["id"]
        head, end = 1, time.monotonic() + SECONDS
        while time.monotonic() < end:
            draft = HOME | {"note": f"{number} {head}"}
            calls = [("PUT", f"/api/jobs/{job}", {"draft": draft, "based_on": head}), ("GET", f"/api/jobs/{job}", None),
                     ("GET", "/api/jobs", None), ("POST", "/api/survey", {"draft": draft}), ("POST", "/api/check", {"draft": draft})]
            for method, path, body in calls:
                begun = time.perf_counter()
                answer = client.request(method, path, json=body)
                waited_s.append(time.perf_counter() - begun)
                if answer.status_code != 200:
                    wrong.append(f"{method} {path} {answer.status_code}")
                head = answer.json()["number"] if method == "PUT" and answer.status_code == 200 else head
                time.sleep(PAUSE_S)


def main() -> None:
    """Print the waiting times."""
    with tempfile.TemporaryDirectory() as folder:
        server = subprocess.Popen([sys.executable, "-c", "from steamwright.cli.main import run; run()", "serve"], cwd=folder,
                                  env={**os.environ, "PORT": "8765"}, stdout=subprocess.PIPE)
        assert server.stdout is not None
        server.stdout.readline()
        time.sleep(2)
        address = "http://127.0.0.1:8765"
        csrf = httpx.get(f"{address}/api/session").json()["csrf"]
        waited_s: list[float] = []
        wrong: list[str] = []
        people = [threading.Thread(target=person, args=(address, csrf, i, waited_s, wrong)) for i in range(PEOPLE)]
        for thread in people:
            thread.start()
        for thread in people:
            thread.join()
        server.kill()
        server.wait()
    waited_s.sort()
    p50_s, p95_s = (waited_s[int(len(waited_s) * share)] for share in (0.5, 0.95))
    asked = f"{PEOPLE} people, {len(waited_s)} requests"
    print(f"{asked}: half under {p50_s * 1000:.0f} ms, 95 % under {p95_s * 1000:.0f} ms, {len(wrong)} failed")


if __name__ == "__main__":
    main()
