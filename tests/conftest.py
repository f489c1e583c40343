"""How the tests are shared out over several processes, where pytest runs in more than one.

Tests of one file stay together, since they share what is costly to set up. All that a browser does is one bundle more: two browsers and
two servers at once would starve each other. Tests that share nothing go singly and come last, so that no process waits long for another.
"""

from __future__ import annotations

import os
from typing import Any

import pytest
from xdist.scheduler import LoadScopeScheduling

# The cores are taken: threads of linear algebra on top of them wait for one another, and a solve takes ten times as long.
# It has to be said before numpy is read, and is handed on to every process that a test begins.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

FIRST = ("tests/browser/", "tests/packaging/", "tests/integration/")
SINGLY = ("tests/property/test_covering.py::test_every_random_room_", "tests/property/test_covering.py::test_a_mirrored_room_")


def bundle_of(nodeid: str) -> str:
    """The tests that a test stays with."""
    if nodeid.startswith(SINGLY):
        return nodeid
    return FIRST[0] if nodeid.startswith(FIRST[0]) else nodeid.split("::")[0]


class Bundles(LoadScopeScheduling):
    """Hands out bundles in the order in which they were collected."""

    def _split_scope(self, nodeid: str) -> str:
        return bundle_of(nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Bundles | None:
    return Bundles(config, log) if config.getoption("dist") == "loadfile" else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes long as one bundle comes first, what goes singly last."""
    def rank(item: pytest.Item) -> int:
        starts = [n for n, folder in enumerate(FIRST) if item.nodeid.startswith(folder)]
        return len(FIRST) + item.nodeid.startswith(SINGLY) if not starts else starts[0]

    items.sort(key=rank)
