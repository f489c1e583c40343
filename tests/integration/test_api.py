"""The API as a browser uses it: jobs, collisions, plans, and what must not get in."""

from __future__ import annotations

import base64
import hashlib
import json
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi.testclient import TestClient

from steamwright.service.desk import Desk
from steamwright.web.app import make_app
from steamwright.web.guard import MOST_BYTES
from steamwright.web.serve import is_local, serve

EXAMPLE = Path(__file__).parents[2] / "examples" / "home-alcove.toml"
HOME: dict[str, Any] = tomllib.loads(EXAMPLE.read_text("utf-8"))
QUICK = HOME | {"covering": {"effort": 0}}
WORD = "four pale teal tiles"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    opened = Desk(f"sqlite:///{tmp_path_factory.mktemp('api') / 'kept.db'}")
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def static(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page")
    (folder / "static" / "assets").mkdir(parents=True)
    (folder / "static" / "index.html").write_text("<!doctype html><title>page</title>")
    (folder / "static" / "assets" / "page-1a2b.js").write_text("export {}")
    (folder / "secret.txt").write_text("secret")
    return folder / "static"


@pytest.fixture
def here(desk: Desk, static: Path) -> TestClient:
    """A browser on this machine."""
    client = TestClient(make_app(desk, static=static), base_url="http://127.0.0.1:8000", raise_server_exceptions=False)
    client.headers["x-csrf-token"] = client.get("/api/session").json()["csrf"]
    return client


def created(client: TestClient, draft: dict[str, Any] | None = None) -> str:
    answer = client.post("/api/jobs", json={"draft": HOME if draft is None else draft})
    assert answer.status_code == 201, answer.text
    return str(answer.json()["id"])


def test_a_job_is_begun_saved_and_opened(here: TestClient) -> None:
    job = created(here, {"name": "begun"})
    saved = here.put(f"/api/jobs/{job}", json={"draft": {"name": "begun", "units": "metric"}, "based_on": 1, "note": "units"})
    assert saved.status_code == 200
    assert (saved.json()["number"], saved.json()["note"], saved.json()["saved_by"]) == (2, "units", "office")
    opened = here.get(f"/api/jobs/{job}").json()
    assert opened["head"] == opened["revision"]["number"] == 2
    assert opened["revision"]["draft"] == {"name": "begun", "units": "metric"}
    assert [r["number"] for r in here.get(f"/api/jobs/{job}/revisions").json()] == [2, 1]
    assert here.get(f"/api/jobs/{job}/revisions/1").json()["draft"] == {"name": "begun"}
    assert job in [row["id"] for row in here.get("/api/jobs").json()]
    here.patch(f"/api/jobs/{job}", json={"archived": True})
    assert job not in [row["id"] for row in here.get("/api/jobs").json()]
    assert job in [row["id"] for row in here.get("/api/jobs?archived=true").json()]


def test_two_tabs_collide_and_get_both_versions(here: TestClient) -> None:
    job = created(here, {"name": "0"})
    assert here.put(f"/api/jobs/{job}", json={"draft": {"name": "one"}, "based_on": 1}).status_code == 200
    late = here.put(f"/api/jobs/{job}", json={"draft": {"name": "two"}, "based_on": 1})
    assert late.status_code == 409
    assert late.headers["content-type"] == "application/problem+json"
    told = late.json()
    assert (told["yours"]["draft"], told["theirs"]["draft"]) == ({"name": "two"}, {"name": "one"})
    assert told["yours"]["aside"] is True
    assert here.get(f"/api/jobs/{job}/revisions/{told['yours']['number']}").json()["draft"] == {"name": "two"}
    assert here.put(f"/api/jobs/{job}", json={"draft": {"name": "both"}, "based_on": told["theirs"]["number"]}).status_code == 200


def test_going_back_and_comparing(here: TestClient) -> None:
    job = created(here, {"name": "a", "note": "x"})
    here.put(f"/api/jobs/{job}", json={"draft": {"name": "b", "note": "x"}, "based_on": 1})
    assert here.get(f"/api/jobs/{job}/compare?one=1&other=2").json()["changes"] == [{"path": "name", "before": "a", "after": "b"}]
    back = here.post(f"/api/jobs/{job}/revisions/1/restore", json={"based_on": 2})
    assert (back.status_code, back.json()["number"], back.json()["draft"]["name"]) == (200, 3, "a")


def test_every_mistake_reaches_its_field(here: TestClient) -> None:
    draft = json.loads(json.dumps(HOME))
    draft["survey"]["reading"][2]["is"] = 72
    draft["room"]["ceiling"]["shape"] = "dome"
    draft["buildup"][0]["layers"][0]["material"] = "porcelain tyle"
    del draft["name"]
    checked = here.post("/api/check", json={"draft": draft}).json()
    assert checked["complete"] is False
    mistakes = {m["path"]: m for m in checked["mistakes"]}
    assert {"survey.reading[2].is", "room.ceiling.shape", "buildup[0].layers[0].material", "name"} <= set(mistakes)
    assert "unit" in mistakes["survey.reading[2].is"]["hint"] + mistakes["survey.reading[2].is"]["detail"]
    assert "porcelain tile" in mistakes["buildup[0].layers[0].material"]["hint"]
    job = created(here, draft)
    refused = here.post(f"/api/jobs/{job}/revisions/1/plan")
    assert refused.status_code == 422
    assert refused.headers["content-type"] == "application/problem+json"
    assert {m["path"] for m in refused.json()["mistakes"]} == set(mistakes)
    assert here.post("/api/check", json={"draft": HOME}).json() == {"complete": True, "mistakes": []}


def test_a_job_file_comes_in_with_the_lines_of_its_mistakes_and_goes_out(here: TestClient) -> None:
    text = EXAMPLE.read_text("utf-8")
    job = here.post("/api/jobs/import", json={"toml": text}).json()
    assert job["mistakes"] == []
    out = here.get(f"/api/jobs/{job['id']}/revisions/1/job.toml")
    assert tomllib.loads(out.text) == HOME
    line = next(i for i, row in enumerate(text.splitlines(), 1) if "86 3/4 in" in row)
    wrong = here.post("/api/jobs/import", json={"toml": text.replace("86 3/4 in", "86 3/4 inn")}).json()
    assert [(m["path"], m["line"]) for m in wrong["mistakes"]] == [("survey.reading[4].is", line)]
    refused = here.post("/api/jobs/import", json={"toml": text.replace('units = "inch"', "units = inch")})
    assert refused.status_code == 422
    assert refused.json()["mistakes"][0]["line"] == next(i for i, row in enumerate(text.splitlines(), 1) if row.startswith("units"))


def test_a_job_in_si(here: TestClient) -> None:
    told = here.get(f"/api/jobs/{created(here)}/revisions/1/job").json()
    assert told["survey"]["reading"][0]["is"] == pytest.approx(72.0625 * 0.0254)


def test_the_proof_answers_while_a_seam_is_moved(here: TestClient) -> None:
    job = created(here)
    address = f"/api/jobs/{job}/revisions/1/proof"
    assert here.post(address, json={"moved": []}).status_code == 404
    run = here.post(f"/api/jobs/{job}/revisions/1/plan").json()
    end = time.monotonic() + 60
    while "plan.json" not in here.get(f"/api/runs/{run['id']}").json()["files"]:
        assert time.monotonic() < end
        time.sleep(0.05)
    plan = here.get(f"/api/jobs/{job}/revisions/1/files/plan.json").json()
    as_planned = here.post(address, json={"moved": []}).json()
    assert {k: as_planned[k] for k in ("tight", "least_lap_m", "where", "failures")} == plan["covering"]["proof"]
    assert as_planned["pieces"] == []
    for seam in as_planned["seams"]:
        answers = [here.post(address, json={"moved": [{"seam": seam["id"], "by_m": by_m}]}).json() for by_m in (-0.02, 0.02)]
        short = next((a for a in answers if a["held"] and a["least_lap_m"] == 0.0435), None)
        if short is not None:
            break
    assert short is not None
    assert (short["tight"], short["spare_m"]) == (False, -0.0073)
    assert short["failures"][0].startswith("lap short")
    changed = {p["id"] for p in short["pieces"]}
    assert changed <= {edge["piece"] for edge, _ in seam["edges"]}
    assert changed
    assert here.post(address, json={"moved": [{"seam": "seam-99", "by_m": 0.01}]}).status_code == 422


def test_the_survey_is_adjusted_while_the_rest_is_missing(here: TestClient) -> None:
    survey = json.loads(json.dumps(HOME["survey"]))
    survey["reading"][5]["is"] = "85 5/8 in"
    told = here.post("/api/survey", json={"draft": {"survey": survey}}).json()
    assert told["report"]["consistent"] is False
    assert len(told["report"]["readings"]) == len(survey["reading"])
    assert any("B to D" in sentence for sentence in told["tape_again"])
    survey["reading"] = survey["reading"][:2]
    told = here.post("/api/survey", json={"draft": {"survey": survey}}).json()
    assert told["report"] is None
    assert told["mistakes"]
    assert told["next"][0] == {"kind": "wall", "of": "C-D"}


def test_a_sketch_becomes_stations(here: TestClient) -> None:
    shape = here.get("/api/shapes").json()[0]
    told = here.post("/api/sketch", json={"points_m": shape["points_m"]}).json()
    assert told["stations"] == ["A", "B", "C", "D"]
    assert {"kind": "diagonal", "of": "B-D"} in told["readings"]
    crossed = here.post("/api/sketch", json={"points_m": [[0, 0], [1, 1], [1, 0], [0, 1]]})
    assert (crossed.status_code, crossed.json()["mistakes"][0]["path"]) == (422, "points_m")


def test_what_the_program_knows(here: TestClient) -> None:
    assert "cement board 1/2 in" in here.get("/api/catalog").json()["materials"]
    rules = here.get("/api/rules").json()
    assert len(rules) > 20
    assert {r["how_known"] for r in rules} <= {"text", "abstract", "quoted", "memory", "practice"}
    assert here.get("/api/schema/job").json()["title"] == "Job"


def test_the_climates_that_a_job_can_name(here: TestClient) -> None:
    told = here.get("/api/climates").json()
    assert [c["name"] for c in told if c["usual"]] == ["cold humid"]
    assert all(len(c[k]) == 12 for c in told for k in ("mean_k", "humidity_ratio", "daily_range_k"))
    for climate in told:
        assert here.post("/api/check", json={"draft": {**HOME, "use": {**HOME["use"], "climate": climate["name"]}}}).json()["complete"]
        assert 230 < min(climate["mean_k"]) < max(climate["mean_k"]) < 310
        assert 0.1 < min(climate["humidity_ratio"]) <= max(climate["humidity_ratio"]) <= 1
    wrong = here.post("/api/check", json={"draft": {**HOME, "use": {**HOME["use"], "climate": "cold humit"}}}).json()
    assert [(m["path"], "cold humid" in m["hint"]) for m in wrong["mistakes"]] == [("use.climate", True)]


def planned(client: TestClient, job: str) -> dict[str, Any]:
    run = client.post(f"/api/jobs/{job}/revisions/1/plan")
    assert run.status_code in (200, 202)
    return ended(client, run.json()["id"])


def awaited(client: TestClient, address: str) -> httpx.Response:
    """The answer, asked for again where a slow machine was answered "nothing yet"."""
    for _ in range(20):
        if (answer := client.get(address)).status_code != 204:
            break
    return answer


def ended(client: TestClient, run: str) -> dict[str, Any]:
    end = time.monotonic() + 60
    while (told := client.get(f"/api/runs/{run}").json())["state"] in ("waiting", "running"):
        assert time.monotonic() < end
        time.sleep(0.05)
    return dict(told)


def test_a_plan_is_watched_and_its_files_are_fetched(here: TestClient) -> None:
    job = created(here, {**QUICK, "name": "watched"})
    assert here.get(f"/api/jobs/{job}/revisions/1/plan").status_code == 404
    run = here.post(f"/api/jobs/{job}/revisions/1/plan")
    assert run.status_code == 202
    with here.stream("GET", f"/api/runs/{run.json()['id']}/events") as events:
        assert events.headers["content-type"].startswith("text/event-stream")
        told = [json.loads(line[6:]) for line in events.iter_lines() if line.startswith("data: ")]
    assert told[-1]["state"] == "done"
    assert len({t["step"] for t in told}) > 2
    assert here.post(f"/api/jobs/{job}/revisions/1/plan").status_code == 200
    plan = here.get(f"/api/jobs/{job}/revisions/1/plan").json()
    assert plan["finished"]
    assert plan["summary"]["tight"] is True
    begins = {"plan.json": b"{", "room.glb": b"glTF", "dossier.pdf": b"%PDF", "order.xlsx": b"PK", "sheets/02-plan.svg": b"<"}
    types = {f["path"]: f["media_type"] for f in plan["files"]}
    for path, start in begins.items():
        answer = here.get(f"/api/jobs/{job}/revisions/1/files/{path}")
        assert answer.status_code == 200
        assert answer.content.startswith(start)
        assert answer.headers["content-type"] == types[path]
        assert here.get(answer.request.url, headers={"if-none-match": answer.headers["etag"]}).status_code == 304
    assert {s["path"] for s in plan["sheets"]} == {p for p in types if p.endswith(".svg")}
    assert here.get(f"/api/jobs/{job}/revisions").json()[0]["planned"] is True


def test_a_save_begins_the_plan_and_one_call_waits_for_what_is_new_in_it(here: TestClient) -> None:
    job = created(here, {**QUICK, "name": "at once"})
    saved, whole, plans = [], [], []
    for i, set_point in enumerate(("110 degF", "111 degF"), 1):
        changed = {**QUICK, "name": "at once", "use": {**HOME["use"], "set_point": set_point}}
        saved.append(here.put(f"/api/jobs/{job}", json={"draft": changed, "based_on": i, "plan": True}).json())
        assert (saved[-1]["number"], saved[-1]["run"]["revision"]) == (i + 1, i + 1)
        beside = f"?beside={saved[0]['run']['id']}" if i > 1 else ""
        answer = awaited(here, f"/api/runs/{saved[-1]['run']['id']}/plan{beside}")
        assert answer.status_code == 200
        plans.append(answer.json())
        assert ended(here, saved[-1]["run"]["id"])["state"] == "done"  # a plan is handed out before its files are kept
        whole.append(here.get(f"/api/jobs/{job}/revisions/{i + 1}/files/plan.json").json())
    assert plans[0] == {"beside": None, "parts": whole[0]}
    assert plans[1]["beside"] == saved[0]["run"]["id"]
    assert {"job", "steam"} <= plans[1]["parts"].keys() < whole[1].keys()
    assert {**plans[0]["parts"], **plans[1]["parts"]} == whole[1]
    # Another job's plan is nothing to compare with.
    other = here.put(f"/api/jobs/{created(here)}", json={"draft": {**QUICK, "name": "else"}, "based_on": 1, "plan": True}).json()
    assert awaited(here, f"/api/runs/{other['run']['id']}/plan?beside={saved[1]['run']['id']}").json()["beside"] is None


def test_the_pieces_of_a_plan_are_shown_before_they_are_proven(here: TestClient) -> None:
    job, other = created(here, {**QUICK, "name": "pieces first"}), created(here, {**QUICK, "name": "planned before it"})
    here.post(f"/api/jobs/{other}/revisions/1/plan")  # so that this one surely waits when its pieces are asked for
    run = here.post(f"/api/jobs/{job}/revisions/1/plan").json()["id"]
    early = awaited(here, f"/api/runs/{run}/laid")
    assert early.status_code == 200
    assert ended(here, run)["state"] == "done"
    whole = here.get(f"/api/runs/{run}/plan").json()["parts"]
    assert early.json()["pieces"] == whole["covering"]["pieces"]
    assert early.json()["room"] == {k: v for k, v in whole["room"].items() if k != "other_faces"}
    assert here.get(f"/api/runs/{run}/laid").status_code == 204


def test_what_is_saved_and_cannot_be_planned_is_saved_and_says_why(here: TestClient) -> None:
    job = created(here)
    told = here.put(f"/api/jobs/{job}", json={"draft": {"name": "begun"}, "based_on": 1, "plan": True})
    assert (told.status_code, told.json()["number"], told.json()["run"]["state"]) == (200, 2, "failed")
    assert "survey" in {m["path"] for m in told.json()["run"]["mistakes"]}
    assert here.get(f"/api/jobs/{job}").json()["revision"]["draft"] == {"name": "begun"}
    # Asked for no plan, a save begins none; a collision neither.
    assert here.put(f"/api/jobs/{job}", json={"draft": HOME, "based_on": 2}).json()["run"] is None
    assert here.put(f"/api/jobs/{job}", json={"draft": {"name": "late"}, "based_on": 2, "plan": True}).status_code == 409
    back = here.post(f"/api/jobs/{job}/revisions/2/restore", json={"based_on": 3, "plan": True}).json()
    assert (back["number"], back["run"]["state"]) == (5, "failed")


def test_a_plan_that_will_not_come_is_not_waited_for(here: TestClient) -> None:
    job = created(here, QUICK | {"note": "not waited for"})
    run = here.post(f"/api/jobs/{job}/revisions/1/plan").json()["id"]
    here.delete(f"/api/runs/{run}")
    assert here.get(f"/api/runs/{run}/plan").status_code == 204


def test_a_drawing_may_use_its_own_style_and_nothing_else(here: TestClient) -> None:
    job = created(here)
    planned(here, job)
    answer = here.get(f"/api/jobs/{job}/revisions/1/files/sheets/02-plan.svg")
    style = answer.content.split(b"<style>")[1].split(b"</style>")[0]
    policy = answer.headers["content-security-policy"]
    assert f"'sha256-{base64.b64encode(hashlib.sha256(style).digest()).decode()}'" in policy
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy


def test_a_run_is_stopped(here: TestClient) -> None:
    job = created(here, QUICK | {"note": "to be stopped"})
    run = here.post(f"/api/jobs/{job}/revisions/1/plan").json()["id"]
    assert here.delete(f"/api/runs/{run}").json()["state"] == "stopped"
    assert here.get(f"/api/runs/{run}").json()["state"] == "stopped"
    assert here.get("/api/runs/" + "0" * 32).status_code == 404


def test_the_page_and_its_files(here: TestClient) -> None:
    for path in ("/", "/jobs/17/measure"):
        answer = here.get(path)
        assert "<title>page" in answer.text
        assert answer.headers["cache-control"] == "no-cache"
    assert "immutable" in here.get("/assets/page-1a2b.js").headers["cache-control"]
    for path in ("/missing.js", "/../secret.txt", "/%2e%2e/secret.txt", "/assets/..%2f..%2fsecret.txt", "/api/missing", "/api"):
        answer = here.get(path)
        assert "secret" not in answer.text
        assert answer.status_code == 404, path


def test_the_policy_forbids_what_is_not_ours(here: TestClient) -> None:
    for path in ("/", "/api/session", "/api/missing"):
        headers = here.get(path).headers
        assert headers["content-security-policy"].startswith("default-src 'none'")
        assert "unsafe-inline" not in headers["content-security-policy"]
        assert "http" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"


def test_other_pages_and_other_names_of_this_machine_stay_out(here: TestClient) -> None:
    assert here.get("/api/jobs", headers={"host": "rebound.example"}).status_code == 403
    assert here.post("/api/jobs", json={"draft": {}}, headers={"origin": "http://elsewhere.example"}).status_code == 403
    assert here.post("/api/jobs", json={"draft": {}}, headers={"origin": "http://127.0.0.1:8000"}).status_code == 201
    for word in (b"", b"wrong", "é".encode()):
        assert here.post("/api/jobs", json={"draft": {}}, headers={"x-csrf-token": word}).status_code == 403


def test_what_is_too_large_stays_out(here: TestClient) -> None:
    large = b'{"draft": {"x": "' + b"y" * MOST_BYTES + b'"}}'
    said = here.post("/api/jobs", content=large, headers={"content-type": "application/json"})
    assert said.status_code == 413

    def pieces() -> Iterator[bytes]:
        yield from (large[i : i + 65536] for i in range(0, len(large), 65536))

    unsaid = here.post("/api/jobs", content=pieces(), headers={"content-type": "application/json"})
    assert unsaid.status_code == 413
    assert unsaid.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("body", [b"{",
                                   b"[" * 100_000, b'{"draft": {"x": NaN}}', b'{"draft": {"x": "\\ud800"}}', b'{"draft": []}', b"\xff"])
def test_bodies_that_are_no_job(here: TestClient, body: bytes) -> None:
    answer = here.post("/api/jobs", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)
    assert answer.headers["content-type"] == "application/problem+json"


def test_nobody_has_a_password_where_nobody_logs_in(here: TestClient) -> None:
    assert here.put("/api/session/password", json={"password": WORD, "new_password": WORD}).status_code == 403


@pytest.mark.parametrize(("host", "local"), [("127.0.0.1", True), ("localhost", True), ("::1", True), ("0.0.0.0", False), ("::", False),
                                             ("192.168.1.7", False), ("rooms.example", False)])
def test_which_addresses_are_this_machine(host: str, local: bool) -> None:
    assert is_local(host) is local


def test_without_an_account_no_other_machine_is_let_in(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="account"):
        serve(f"sqlite:///{tmp_path / 'kept.db'}", "0.0.0.0", 1)
