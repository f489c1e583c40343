"""People over the API: logging in, roles, passwords, guest links, and what each may do."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from steamwright.service.desk import Desk
from steamwright.service.log_in import TRIES_PER_NAME
from steamwright.web.app import make_app
from steamwright.web.pages import STATIC
from tests.integration.test_api import WORD, created, planned

OPEN = "http://rooms.example"


@pytest.fixture(scope="module")
def static(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page")
    (folder / "index.html").write_text("<!doctype html><title>page</title>")
    return folder


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A desk with people."""
    opened = Desk(f"sqlite:///{tmp_path_factory.mktemp('house') / 'kept.db'}")
    opened.door.add("ann", "office", WORD)
    opened.door.add("bob", "crew", WORD)
    yield opened
    opened.close()


def browser(desk: Desk, name: str | None = None, static: Path = STATIC, password: str = WORD) -> TestClient:
    """A browser on another machine, perhaps logged in."""
    app = make_app(desk, local=False, static=static)
    client = TestClient(app, base_url=OPEN, raise_server_exceptions=False, follow_redirects=False)
    if name:
        told = client.post("/api/session", json={"name": name, "password": password})
        assert told.status_code == 200, told.text
        client.headers["x-csrf-token"] = told.json()["csrf"]
    return client


def test_from_other_machines_one_has_to_log_in(house: Desk) -> None:
    client = browser(house)
    told = client.get("/api/session").json()
    assert (told["name"], told["accounts"], told["csrf"]) == (None, True, "")
    for path in ("/api/jobs", "/api/catalog", "/api/accounts", "/api/rules"):
        assert client.get(path).status_code == 401
    assert client.post("/api/jobs", json={"draft": {}}).status_code == 401
    assert client.post("/api/session", json={"name": "ann", "password": "wrong"}).status_code == 401


def test_a_session_lives_in_a_cookie_that_scripts_cannot_read(house: Desk) -> None:
    client = browser(house)
    answer = client.post("/api/session", json={"name": "ann", "password": WORD})
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert client.get("/api/jobs").status_code == 200
    assert client.post("/api/jobs", json={"draft": {}}).status_code == 403
    client.headers["x-csrf-token"] = answer.json()["csrf"]
    assert client.post("/api/jobs", json={"draft": {}}).status_code == 201
    stolen = dict(client.cookies)
    assert client.delete("/api/session").json()["name"] is None
    client.cookies.update(stolen)
    assert client.get("/api/jobs").status_code == 401
    secure = TestClient(make_app(house, local=False), base_url="https://rooms.example")
    assert "secure" in secure.post("/api/session", json={"name": "ann", "password": WORD}).headers["set-cookie"].lower()


def test_the_crew_works_on_jobs_and_not_on_people(house: Desk) -> None:
    crew = browser(house, "bob")
    job = created(crew, {"name": "of the crew"})
    assert crew.put(f"/api/jobs/{job}", json={"draft": {}, "based_on": 1}).json()["saved_by"] == "bob"
    assert crew.get("/api/accounts").status_code == 403
    assert crew.post("/api/accounts", json={"name": "eve", "role": "office", "password": WORD}).status_code == 403
    assert crew.post(f"/api/jobs/{job}/guest-links", json={}).status_code == 403


def test_a_guest_reads_one_job_and_nothing_else(house: Desk) -> None:
    office = browser(house, "ann")
    shown, hidden = created(office), created(office, {"name": "hidden"})
    run = planned(office, shown)
    link = office.post(f"/api/jobs/{shown}/guest-links", json={"label": "the client"}).json()
    assert "address" not in [k for k, v in office.get(f"/api/jobs/{shown}/guest-links").json()[0].items() if v]
    guest = browser(house)
    came = guest.get(link["address"].removeprefix(OPEN))
    assert (came.status_code, came.headers["location"]) == (303, f"/job/{shown}")
    told = guest.get("/api/session").json()
    assert (told["role"], told["job"], told["name"]) == ("guest", shown, "the client")
    guest.headers["x-csrf-token"] = told["csrf"]
    assert [row["id"] for row in guest.get("/api/jobs").json()] == [shown]
    assert guest.get(f"/api/jobs/{shown}/revisions/1/files/plan.json").status_code == 200
    assert guest.get(f"/api/runs/{run['id']}").status_code == 200
    for path in ("", "/revisions", "/revisions/1", "/revisions/1/job.toml", "/compare?one=1&other=1", "/revisions/1/files/plan.json"):
        assert guest.get(f"/api/jobs/{hidden}{path}").status_code == 403
    for call in (guest.put(f"/api/jobs/{shown}", json={"draft": {}, "based_on": 1}), guest.post("/api/jobs", json={"draft": {}}),
                 guest.post(f"/api/jobs/{shown}/revisions/1/plan"), guest.patch(f"/api/jobs/{shown}", json={"archived": True}),
                 guest.delete(f"/api/runs/{run['id']}"), guest.get("/api/accounts"), guest.get(f"/api/jobs/{shown}/guest-links")):
        assert call.status_code == 403, call.request.url
    assert guest.put("/api/session/password", json={"password": WORD, "new_password": WORD + "!"}).status_code == 403
    assert office.delete(f"/api/jobs/{shown}/guest-links/{link['id']}").status_code == 204
    assert guest.get("/api/jobs").status_code == 401
    assert guest.get(link["address"].removeprefix(OPEN)).status_code == 404


def test_a_link_ends_on_its_day_and_says_so(tmp_path: Path, static: Path) -> None:
    now = [1_800_000_000]
    desk = Desk(f"sqlite:///{tmp_path / 'kept.db'}", now_s=lambda: now[0])
    try:
        desk.door.add("ann", "office", WORD)
        office = browser(desk, "ann", static)
        links = f"/api/jobs/{created(office)}/guest-links"
        plain = office.post(links, json={}).json()
        assert datetime.fromisoformat(plain["ends_at"]).timestamp() == now[0] + 90 * 24 * 3600
        chosen = office.post(links, json={"ends_at": datetime.fromtimestamp(now[0] + 3600, UTC).isoformat()}).json()
        for wrong in (now[0], now[0] - 9, now[0] + 4 * 366 * 24 * 3600):
            refused = office.post(links, json={"ends_at": datetime.fromtimestamp(wrong, UTC).isoformat()})
            assert (refused.status_code, refused.json()["mistakes"][0]["path"]) == (422, "ends_at")
        assert office.post(links, json={"ends_at": "2099-01-01T00:00:00"}).status_code == 422  # without a zone it is no moment
        address = chosen["address"].removeprefix(OPEN)
        guest = browser(desk, None, static)
        assert guest.get(address).headers["location"].startswith("/job/")
        assert guest.get("/api/jobs").status_code == 200
        now[0] += 3600
        assert guest.get("/api/jobs").status_code == 401
        late = guest.get(address)
        assert (late.status_code, late.headers["location"], late.headers.get("set-cookie")) == (303, "/g/ended", None)
        told = guest.get("/g/ended")
        assert (told.status_code, "<title>page" in told.text) == (410, True)
        assert guest.get(plain["address"].removeprefix(OPEN)).headers["location"].startswith("/job/")
        assert {row["ends_at"] for row in office.get(links).json()} == {plain["ends_at"], chosen["ends_at"]}
    finally:
        desk.close()


def test_a_link_is_answered_with_the_page_and_takes_no_log_in_away(house: Desk, static: Path) -> None:
    office = browser(house, "ann", static)
    job = created(office, {"name": "linked"})
    link = office.post(f"/api/jobs/{job}/guest-links", json={"label": "the client"}).json()
    address = link["address"].removeprefix(OPEN)
    came = office.get(address)
    assert (came.status_code, came.headers["location"], came.headers.get("set-cookie")) == (303, f"/job/{job}", None)
    assert office.get("/api/session").json()["role"] == "office"
    office.delete(f"/api/jobs/{job}/guest-links/{link['id']}")
    for asked in (office, browser(house, None, static)):
        for gone in (address, "/g/" + "x" * 5000):
            answer = asked.get(gone)
            assert (answer.status_code, "<title>page" in answer.text, answer.headers.get("set-cookie")) == (404, True, None)


def test_the_office_adds_people_and_shuts_them_out(house: Desk) -> None:
    office = browser(house, "ann")
    added = office.post("/api/accounts", json={"name": "cleo", "role": "crew", "password": WORD})
    assert added.json() == {"name": "cleo", "role": "crew", "active": True}
    assert office.post("/api/accounts", json={"name": "cleo", "role": "crew", "password": WORD}).status_code == 422
    weak = office.post("/api/accounts", json={"name": "dora", "role": "crew", "password": "short"})
    assert weak.json()["mistakes"][0]["path"] == "password"
    cleo = browser(house, "cleo")
    assert cleo.get("/api/jobs").status_code == 200
    assert office.patch("/api/accounts/cleo", json={"active": False}).json()["active"] is False
    assert cleo.get("/api/jobs").status_code == 401
    assert browser(house).post("/api/session", json={"name": "cleo", "password": WORD}).status_code == 401
    assert office.patch("/api/accounts/ann", json={"role": "crew"}).status_code == 422


@pytest.mark.parametrize("name", ["", " ann", "a/b", "..", "x" * 81])
def test_a_name_can_be_written_and_asked_for(house: Desk, name: str) -> None:
    refused = browser(house, "ann").post("/api/accounts", json={"name": name, "role": "crew", "password": WORD})
    assert (refused.status_code, refused.json()["mistakes"][0]["path"]) == (422, "name")


def test_a_person_changes_his_own_password_and_his_other_log_ins_end(house: Desk) -> None:
    house.door.add("eli", "crew", WORD)
    here, elsewhere, bob = browser(house, "eli"), browser(house, "eli"), browser(house, "bob")
    other = "slate bands over sheets"

    def change(now: str, wanted: str) -> Any:
        return here.put("/api/session/password", json={"password": now, "new_password": wanted})

    for now, wanted, path in ((WORD + "?", other, "password"), (WORD, "short", "new_password"), (WORD, "eli", "new_password")):
        refused = change(now, wanted)
        assert (refused.status_code, refused.json()["mistakes"][0]["path"]) == (422, path)
    forged = here.put("/api/session/password", json={"password": WORD, "new_password": other}, headers={"x-csrf-token": "x"})
    assert forged.status_code == 403
    changed = change(WORD, other)
    assert (changed.status_code, changed.json()["name"], changed.json()["role"]) == (200, "eli", "crew")
    assert "httponly" in changed.headers["set-cookie"].lower()
    assert elsewhere.get("/api/jobs").status_code == 401
    assert bob.get("/api/jobs").status_code == 200
    assert here.get("/api/jobs").status_code == 200
    assert here.post("/api/jobs", json={"draft": {}}).status_code == 403  # the word before is not good any more
    here.headers["x-csrf-token"] = changed.json()["csrf"]
    assert here.post("/api/jobs", json={"draft": {}}).status_code == 201
    assert browser(house).post("/api/session", json={"name": "eli", "password": WORD}).status_code == 401
    browser(house, "eli", password=other)
    for _ in range(TRIES_PER_NAME + 1):
        last = change("guessed", other)
    assert last.status_code == 429


def test_guessing_is_slowed_down(house: Desk) -> None:
    client = browser(house)
    for _ in range(TRIES_PER_NAME):
        assert client.post("/api/session", json={"name": "guessed", "password": "x"}).status_code == 401
    stopped = client.post("/api/session", json={"name": "guessed", "password": "x"})
    assert stopped.status_code == 429
    assert 0 < int(stopped.headers["retry-after"]) <= 900
