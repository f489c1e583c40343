"""A wheel made from the source archive serves the page in an environment that has never seen the sources."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import sysconfig
import tarfile
import time
import zipfile
from pathlib import Path

import httpx
import pytest

from tests.databases import free_port

ROOT = Path(__file__).parents[2]


def make(target: str, folder: Path, out: Path, path: str = os.environ["PATH"]) -> Path:
    subprocess.run([sys.executable, "-m", "hatchling", "build", "-t", target, "-d", str(out)], cwd=folder, check=True,
                   env={**os.environ, "PATH": path}, capture_output=True)
    return next(out.iterdir())


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    archive = make("sdist", ROOT, tmp_path_factory.mktemp("archive"))
    with tarfile.open(archive) as packed:
        names = packed.getnames()
        packed.extractall(folder := tmp_path_factory.mktemp("sources"), filter="data")
    assert not [n for n in names if "node_modules" in n]
    assert any(n.endswith("frontend/src/main.ts") for n in names)
    # From here on there is no npm: what the archive carries has to do.
    return make("wheel", next(folder.iterdir()), tmp_path_factory.mktemp("wheel"), path="/nonexistent")


def test_it_carries_the_built_page_and_nothing_else_of_it(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        names = packed.namelist()
        page = {n.removeprefix("steamwright/web/static/"): packed.read(n) for n in names if n.startswith("steamwright/web/static/")}
    assert {"index.html", "licenses.md", "build.json"} <= set(page)
    assert [n for n in page if re.fullmatch(r"assets/index-[\w-]{8}\.js", n)]
    assert not [n for n in names if n.endswith((".map", ".ts", ".svelte")) or "node_modules" in n or n.startswith("frontend")]
    assert not [n for n, content in page.items() if str(ROOT).encode() in content]
    assert b"MIT" in page["licenses.md"]
    assert "steamwright/examples/home-alcove.toml" in names


def test_it_serves_in_a_clean_environment(wheel: Path, tmp_path: Path) -> None:
    subprocess.run([sys.executable, "-m", "venv", str(tmp_path / "env")], check=True)
    python = tmp_path / "env" / "bin" / "python"
    subprocess.run([str(python), "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", str(wheel)], check=True)
    # The packages it needs are borrowed from here; a path file inside a borrowed folder is not followed, so the sources stay unseen.
    site = next((tmp_path / "env").glob("lib/python*/site-packages"))
    (site / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    port = free_port()
    bare = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")} | {"PORT": str(port)}
    where = subprocess.run([str(python), "-c", "import steamwright; print(steamwright.__file__)"], env=bare, cwd=tmp_path, check=True,
                           capture_output=True, text=True).stdout  # fmt: skip
    assert where.startswith(str(tmp_path))
    server = subprocess.Popen([str(tmp_path / "env" / "bin" / "steamwright"), "serve"], cwd=tmp_path, env=bare, stdout=subprocess.DEVNULL)
    try:
        page = _first_answer(f"http://127.0.0.1:{port}/", server)
        script = re.search(r'src="(/assets/[^"]+\.js)"', page.text)
        assert script is not None
        assert httpx.get(f"http://127.0.0.1:{port}{script[1]}").status_code == 200
        told = httpx.get(f"http://127.0.0.1:{port}/api/examples").json()
        assert "Home alcove" in [e["name"] for e in told]
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(20)


def test_nothing_built_is_committed() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not a working copy")
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True).stdout.splitlines()
    made = ("web/static/", "node_modules/", "api/schema.d.ts", "api/plan.d.ts")
    assert not [name for name in tracked if any(part in name for part in made)]
    assert '"resolved"' not in (ROOT / "frontend" / "package-lock.json").read_text(encoding="utf-8")


def _first_answer(address: str, server: subprocess.Popen[bytes]) -> httpx.Response:
    for _ in range(600):
        try:
            return httpx.get(address)
        except httpx.TransportError:
            assert server.poll() is None
            time.sleep(0.05)
    raise AssertionError("the server does not answer")
