"""Build the page into the package, unless what is there was built from the same sources: ``python frontend/make_page.py``."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FRONTEND = ROOT / "frontend"
STATIC = ROOT / "src" / "steamwright" / "web" / "static"
STAMP = "build.json"
_CONTRACTS = ("docs/reference/openapi.json", "docs/reference/plan.schema.json")
_MADE = ("frontend/src/api/schema.d.ts", "frontend/src/api/plan.d.ts")
_NEEDED = "Node.js 20.19 or later with npm is needed to build the page (a wheel or a source archive carries it built)"


def sources_digest() -> str:
    """Hash of all that the page is made from; file times do not count."""
    digest = hashlib.sha256()
    for path in _sources():
        digest.update(path.relative_to(ROOT).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def _sources() -> list[Path]:
    found = [ROOT / name for name in _CONTRACTS]
    for folder, folders, files in os.walk(FRONTEND):
        folders[:] = [name for name in folders if name not in ("node_modules", ".vite", "__pycache__")]
        found += [Path(folder) / name for name in files if not name.endswith(".test.ts")]
    return sorted(path for path in found if path.relative_to(ROOT).as_posix() not in _MADE)


def is_built(digest: str) -> bool:
    """Whether the page that is there was made from these sources."""
    try:
        said = json.loads((STATIC / STAMP).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return (STATIC / "index.html").is_file() and said == {"sources": digest}


def install() -> None:
    """Install the node packages of the lock file, unless they are there."""
    lock = hashlib.sha256((FRONTEND / "package-lock.json").read_bytes()).hexdigest()
    stamp = FRONTEND / "node_modules" / ".installed"
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == lock:
        return
    _npm("ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error")
    stamp.write_text(lock, encoding="utf-8")


def build() -> None:
    """Build the page if it is missing or stale."""
    digest = sources_digest()
    if is_built(digest):
        return
    install()
    _npm("run", "--silent", "build", "--", "--logLevel", "warn")
    if not (STATIC / "index.html").is_file():
        raise SystemExit("the page was not built: index.html is missing")
    (STATIC / STAMP).write_text(json.dumps({"sources": digest}), encoding="utf-8")


def _npm(*command: str) -> None:
    npm = shutil.which("npm")
    if npm is None:
        raise SystemExit(_NEEDED)
    subprocess.run([npm, *command], cwd=FRONTEND, check=True, stdout=sys.stderr)


if __name__ == "__main__":
    install() if sys.argv[1:] == ["install"] else build()
