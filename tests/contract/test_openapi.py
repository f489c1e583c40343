"""The description of the API is kept under test, and the API answers whatever is asked as it describes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import positive_data_acceptance

from steamwright.service.desk import Desk
from steamwright.web.app import make_app

KEPT = Path(__file__).parents[2] / "docs" / "reference" / "openapi.json"
DESCRIBED: dict[str, Any] = json.loads(KEPT.read_text("utf-8"))
SHOWN_BY_ORDER = {"/api/runs/{run}/events"}
"""A stream is not a body that could be compared with a schema; test_api watches one."""


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FastAPI]:
    desk = Desk(f"sqlite:///{tmp_path_factory.mktemp('described') / 'kept.db'}")
    made = make_app(desk)
    made.state.house.local_csrf = "known"
    yield made
    desk.close()


def test_the_description_is_the_one_that_clients_were_made_from(app: FastAPI) -> None:
    assert app.openapi() == DESCRIBED, "the API has changed: run make docs, and look at what it breaks"


def test_every_error_is_described_as_a_problem() -> None:
    for path, operations in DESCRIBED["paths"].items():
        for operation in operations.values():
            for status, answer in operation["responses"].items():
                if status.startswith("4"):
                    assert list(answer["content"]) == ["application/problem+json"], (path, status)


def test_every_operation_has_a_name_of_its_own_and_says_what_it_does() -> None:
    operations = [o for p in DESCRIBED["paths"].values() for o in p.values()]
    assert len({o["operationId"] for o in operations}) == len(operations)
    assert all(o.get("description") for o in operations)


@pytest.fixture(scope="module")
def described(app: FastAPI) -> Any:
    return schemathesis.openapi.from_asgi("/api/openapi.json", app, headers={"host": "127.0.0.1"})


ASKED = [(path, method) for path, operations in DESCRIBED["paths"].items() for method in operations if path not in SHOWN_BY_ORDER]


@pytest.mark.parametrize(("path", "method"), ASKED, ids=lambda v: v)
def test_it_answers_as_described_whatever_is_asked(described: Any, path: str, method: str) -> None:
    @given(case=described[path][method].as_strategy())
    @settings(max_examples=10, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
    def ask(case: Any) -> None:
        # A body of the right form may still be no room, and that is an answer; unlike 422 for the wrong form.
        case.call_and_validate(headers={"host": "127.0.0.1", "x-csrf-token": "known"}, excluded_checks=[positive_data_acceptance])

    ask()
