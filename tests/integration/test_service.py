"""The use cases over a real database, with real worker processes."""

from __future__ import annotations

import json
import math
import pickle
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.errors import InputError, JobError
from steamwright.physics.vapor_monthly import MONTH_DAYS
from steamwright.plan.build import build as build_plan
from steamwright.plan.job import Job
from steamwright.service import checking, log_in, making
from steamwright.service.checking import draft_of_toml, job_of, kept_draft, mistakes_in
from steamwright.service.comparing import changes
from steamwright.service.desk import Desk
from steamwright.service.laid import kept_covering
from steamwright.service.log_in import Brake, LogInError, TooManyTriesError
from steamwright.service.making import plan_key
from steamwright.service.parts import changed_parts
from steamwright.service.planning import Run
from steamwright.service.remnants import remnants_listed
from steamwright.service.shapes import shapes
from steamwright.service.surveying import survey_answer
from steamwright.service.toml_writing import toml_of
from steamwright.store.errors import NotKeptError

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
HOME = tomllib.loads((Path(__file__).parents[2] / "examples" / "home-alcove.toml").read_text("utf-8"))


def home(**changed: Any) -> dict[str, Any]:
    return json.loads(json.dumps(HOME)) | changed


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    opened = Desk(f"sqlite:///{tmp_path_factory.mktemp('desk') / 'kept.db'}")
    yield opened
    opened.close()


def wait(desk: Desk, run: Run, until: Callable[[Run], bool] = lambda r: r.over, patience_s: float = 300) -> Run:
    end = time.monotonic() + patience_s
    while not until(now := desk.planning.run(run.id)):
        assert time.monotonic() < end, now
        time.sleep(0.02)
    return now


def test_a_plan_is_made_in_the_background_and_its_files_are_those_of_the_command(desk: Desk, tmp_path: Path) -> None:
    job = desk.create(home(), "ann")
    started = desk.plan(job, 1)
    assert not started.over
    first = wait(desk, started, lambda r: bool(r.files))
    assert first.files[0] == "plan.json"
    done = wait(desk, started)
    assert (done.state, done.mistakes, done.detail) == ("done", (), "")
    assert done.steps > 5
    from steamwright.buildup.catalog import load_catalog
    from steamwright.drawing.digest import digest
    from steamwright.drawing.render import model_files, sheet_files
    from steamwright.plan.build import build
    from steamwright.plan.document import plan_json
    from steamwright.plan.jobfile import read_job

    catalog = load_catalog()
    plan = build(read_job(EXAMPLES[[p.stem for p in EXAMPLES].index("home-alcove")].read_text("utf-8"), catalog.materials), catalog)
    drawings = sheet_files(digest(plan)) | model_files(digest(plan))
    assert desk.plans.file(job, 1, "plan.json")[1] == plan_json(plan)
    for path in ("room.glb", "sheets/02-plan.svg", "sheets/01-title.svg"):
        assert desk.plans.file(job, 1, path)[1] == drawings[path]
    kept, sheets = desk.planned(job, 1)
    assert {s["path"] for s in sheets} == {path for path in drawings if path.endswith(".svg")}
    assert set(drawings) | {"plan.json", "sheets.json", "order.xlsx", "order.csv", "dossier.pdf"} == {f.path for f in kept.files}
    assert kept.summary["tight"] is True


def test_what_was_planned_is_not_planned_again_even_for_another_job(desk: Desk) -> None:
    one = desk.create(home(note="cached"), "ann")
    wait(desk, desk.plan(one, 1))
    other = desk.create(dict(reversed(home(note="cached").items())), "bob")
    run = desk.plan(other, 1)
    assert run.state == "done"
    assert "dossier.pdf" in run.files
    assert desk.plans.file(other, 1, "plan.json") == desk.plans.file(one, 1, "plan.json")


def test_a_late_change_is_planned_from_the_plan_that_is_there(desk: Desk) -> None:
    from steamwright.buildup.catalog import load_catalog
    from steamwright.plan.build import build
    from steamwright.plan.document import plan_json

    later = home(note="late")
    later["room"]["bench"][0]["depth"] = "21 in"
    job = desk.create(home(note="late"), "ann")
    first = wait(desk, desk.plan(job, 1))
    desk.save(job, later, 1, "ann")
    second = wait(desk, desk.plan(job, 2), lambda r: "plan.json" in r.files)
    assert second.key == plan_key(job_of(later), first.key) != plan_key(job_of(later))
    earlier = build(job_of(home(note="late")), load_catalog())
    made = desk.plans.file(job, 2, "plan.json")[1]
    assert made == plan_json(build(job_of(later), load_catalog(), before=earlier))
    assert made != plan_json(build(job_of(later), load_catalog())), "a bench deeper by inches shows which of the two was made"
    wait(desk, second)
    again = desk.plan(job, 2)
    assert (again.state, again.key) == ("done", second.key), "what is planned from an earlier plan stays as it is"


def test_the_key_of_a_plan_follows_every_word_of_the_job() -> None:
    one = plan_key(job_of(home()))
    assert one == plan_key(job_of(home()))
    assert one != plan_key(job_of(home(note="changed")))


@pytest.mark.parametrize("at", ["plan", "drawings"])
def test_a_run_can_be_stopped_and_the_next_one_still_runs(desk: Desk, at: str) -> None:
    job = desk.create(home(note=f"stopped at {at}"), "ann")
    started = desk.plan(job, 1)
    assert desk.plan(job, 1).id == started.id
    wait(desk, started, lambda r: r.state == "running" and (r.steps > 2 if at == "plan" else "room.glb" in r.files))
    assert desk.planning.stop(started.id).state == "stopped"
    assert not desk.plans.of_revision(job, 1).finished
    again = desk.plan(job, 1)
    assert again.id != started.id
    assert wait(desk, again).state == "done"
    assert desk.planning.run(started.id).state == "stopped"


def test_a_later_revision_takes_the_place_of_an_earlier_one_that_is_on_its_way(desk: Desk) -> None:
    job, other = desk.create(home(note="overtaken"), "ann"), desk.create(home(note="beside it"), "ann")
    first = desk.plan(job, 1)
    beside = desk.plan(other, 1)
    wait(desk, first, lambda r: r.state == "running")
    saved = desk.save(job, home(note="overtakes"), 1, "ann").yours
    second = desk.plan_saved(job, saved)
    assert desk.planning.run(first.id).state == "stopped"
    assert wait(desk, second).state == "done"
    assert wait(desk, beside).state == "done"


def test_the_parts_of_a_plan_that_differ_make_the_whole_with_the_one_before() -> None:
    before = b'{\n "a": {\n  "b": 1,\n  "c": [\n   {"x": 1},\n   {"x": 2}\n  ]\n },\n "d": "e: \\n \\"f\\": ,",\n "g": []\n}\n'
    for old, new, names in ((b'"x": 2', b'"x": 3', ["a"]), (b"[]", b"[1]", ["g"]), (b"e: ", b"e", ["d"]), (b"[]", b"[]", [])):
        after = before.replace(old, new)
        parts = changed_parts(after, before)
        assert parts is not None
        assert list(json.loads(parts)) == names
        assert {**json.loads(before), **json.loads(parts)} == json.loads(after)
    more = before.replace(b"[]", b'[],\n "h": 1')
    assert json.loads(changed_parts(more, before) or b"") == {"h": 1}
    assert changed_parts(before, more) is None, "what is gone cannot be laid over"


def test_stopping_again_and_again_uses_the_same_two_workers(desk: Desk) -> None:
    def workers() -> set[int]:
        return {c.pid for c in psutil.Process().children() if "spawn_main" in " ".join(c.cmdline())}

    seen: list[set[int]] = []
    for i in range(4):
        started = desk.plan(desk.create(home(note=f"stopped {i}"), "ann"), 1)
        wait(desk, started, lambda r: r.state == "running" and r.steps > 2)
        desk.planning.stop(started.id)
        seen.append(workers())
    assert wait(desk, desk.plan(desk.create(home(note="after"), "ann"), 1)).state == "done"
    # The first stop may still find one worker alone; from then on no process is begun.
    assert seen[1] <= workers() == seen[-1]


def test_other_layouts_are_found_in_the_background_and_one_is_taken(desk: Desk) -> None:
    job = desk.create(home(note="other layouts"), "ann")
    first = wait(desk, desk.plan(job, 1))
    searching = desk.search_layouts(job, 1, 4)
    assert desk.search_layouts(job, 1, 4).id == searching.id
    heard = wait(desk, searching, lambda r: r.so_far is not None).so_far
    assert heard is not None
    assert heard.lower_m2 is not None
    assert heard.used_m2 > heard.lower_m2
    assert wait(desk, searching).state == "done"
    found = found_layouts(desk, job)
    assert [row["account"]["usd"] for row in found] == sorted(row["account"]["usd"] for row in found)
    cheapest, other = found[0], next(row for row in found if row["choose"])
    assert (cheapest["name"], cheapest["choose"], cheapest["chosen"]) == ("searched 4 times as long", {}, False)
    before = layout(desk, job, 1)

    again = wait(desk, desk.plan(job, 1, cheapest["id"]))
    assert again.key != first.key
    assert layout(desk, job, 1) == [(p["id"], p["blank_m"]) for p in cheapest["pieces"]] != before
    assert wait(desk, desk.plan(job, 1)).id != again.id
    assert layout(desk, job, 1) == [(p["id"], p["blank_m"]) for p in cheapest["pieces"]]

    desk.save(job, home(note="other layouts", covering=other["choose"]), 1, "ann")
    wait(desk, desk.plan(job, 2))
    assert layout(desk, job, 2) == [(p["id"], p["blank_m"]) for p in other["pieces"]]
    with pytest.raises(NotKeptError):
        desk.plan(job, 2, cheapest["id"])  # it was found for other wishes


def test_found_layouts_outlive_the_server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    url = f"sqlite:///{tmp_path / 'kept.db'}"
    first = Desk(url)
    job = first.create(home(note="kept layouts"), "ann")
    wait(first, first.plan(job, 1))
    wait(first, first.search_layouts(job, 1, 4))
    rows = found_layouts(first, job)
    first.close()

    again = Desk(url)
    try:
        assert found_layouts(again, job) == rows
        assert again.planning.searching(job) is None
        assert layout(again, job, 1) != [(p["id"], p["blank_m"]) for p in rows[0]["pieces"]]
        wait(again, again.plan(job, 1))  # what nobody took is not laid
        assert layout(again, job, 1) != [(p["id"], p["blank_m"]) for p in rows[0]["pieces"]]
        with monkeypatch.context() as patch:
            patch.setattr("steamwright.service.planning.program", lambda: "another program")
            assert again.planning.found(job) is None
        assert wait(again, again.plan(job, 1, rows[0]["id"])).state == "done"
        assert layout(again, job, 1) == [(p["id"], p["blank_m"]) for p in rows[0]["pieces"]]
        assert again.planning.found(job) is None  # the plan that they stood beside is gone
    finally:
        again.close()


def test_only_a_covering_is_read_where_one_is_kept(tmp_path: Path) -> None:
    plan = build_plan(job_of(home()), checking.catalog())
    assert kept_covering(pickle.dumps(plan.covering)) == plan.covering
    proof = tmp_path / "proof"
    for bad in (b"", b"nothing", pickle.dumps(plan.covering)[:-9], pickle.dumps((1, 2)), pickle.dumps(_Harm(str(proof)))):
        with pytest.raises(InputError):
            kept_covering(bad)
    assert not proof.exists()


class _Harm:
    def __init__(self, path: str) -> None:
        self.path = path

    def __reduce__(self) -> tuple[Any, ...]:
        return open, (self.path, "w")


def found_layouts(desk: Desk, job: str) -> list[dict[str, Any]]:
    found = desk.planning.found(job)
    assert found is not None
    rows: list[dict[str, Any]] = json.loads(found.told)
    return rows


def layout(desk: Desk, job: str, number: int) -> list[tuple[str, list[float]]]:
    pieces = json.loads(desk.plans.file(job, number, "plan.json")[1])["covering"]["pieces"]
    return [(p["id"], p["blank_m"]) for p in pieces]


def test_remnants_go_from_job_to_job_and_no_id_is_given_twice(desk: Desk) -> None:
    listed = [{"id": "M3", "material": "sheet membrane 0.5 perm", "length": "9 ft", "width": "39 in"},
              {"id": "M5", "material": "another membrane", "length": "2 ft", "width": "2 ft"}]
    job = desk.create(home(note="remnants", covering={"remnant": listed, "remnants_given": 8}), "ann")
    wait(desk, desk.plan(job, 1), lambda r: "plan.json" in r.files)
    given, rows = remnants_listed(desk.remnants_left(job, 1))
    ids = [row["id"] for row in rows]
    assert "M3" not in ids  # it is cut
    assert rows[0] == listed[1] | {"length": "0.609600 m", "width": "0.609600 m", "origin": ""}
    assert ids[1:] == [f"M{k}" for k in range(9, given + 1)]
    assert all(row["origin"].startswith("Home alcove: ") for row in rows[1:])
    with pytest.raises(InputError) as wrong:
        remnants_listed("[[remnant]]\nid = 3")
    assert wrong.value.hint


def test_a_search_that_is_stopped_keeps_its_best_and_frees_its_place(desk: Desk) -> None:
    job = desk.create(home(note="a long search"), "ann")
    wait(desk, desk.plan(job, 1))
    searching = desk.search_layouts(job, 1, 100)
    assert desk.planning.found(job) is None
    assert desk.planning.searching(job) is not None
    wait(desk, searching, lambda r: r.so_far is not None)
    assert desk.planning.stop(searching.id).state == "running"
    assert wait(desk, searching, patience_s=60).state == "stopped"
    assert any(row["chosen"] for row in found_layouts(desk, job))
    assert wait(desk, desk.search_layouts(job, 1, 1)).state == "done"


def test_by_the_hour_is_compared_in_the_weather_of_the_job(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    job = desk.create(home(note="weather"), "ann")
    kept = desk.keep_weather(job, "a year.epw", year(10.0), "ann")
    assert (desk.weathers.of_job(job), kept.source[:8], kept.sent_by) == (kept, "EPW file", "ann")
    assert desk.keep_weather(job, "a year.epw", year(11.0), "ann").digest != kept.digest
    with pytest.raises(InputError, match="line 100 has 2 values"):
        desk.keep_weather(job, "a year.epw", year(12.0).replace("2001,1,4,20,", "2001,1\n2001,1,4,20,", 1), "bob")
    kept = desk.weathers.of_job(job)
    assert kept is not None
    hourly, monthly = desk.compare_buildups(job, 1, 1), desk.compare_buildups(job, 1, 0)
    for run in (hourly, monthly):
        desk.planning.stop(run.id)
    assert (hourly.weather, monthly.weather) == (kept.digest, "")
    heard = []
    monkeypatch.setattr("steamwright.plan.comparison.compare_plan", lambda plan, catalog, years, outside, tell: heard.append(outside))
    monkeypatch.setattr("steamwright.plan.comparison.comparison_document", lambda found: {})
    for weather in (kept, None):
        (made,) = making._compared(job_of(home()), 1, weather, lambda words: None)
        assert isinstance(made, making.Made)
        assert made.files[0][0] == making.comparison_path(1, "" if weather is None else kept.digest)
    assert heard[0].temperature_k[0] == pytest.approx(273.15 + 11.0)
    assert heard[1] is None
    desk.weathers.drop(job)
    assert desk.weathers.of_job(job) is None
    again = desk.compare_buildups(job, 1, 1)
    desk.planning.stop(again.id)
    assert again.weather == ""


def year(dry_c: float) -> str:
    head = ["LOCATION,Somewhere,-,USA,TMY3,0,40,-80,-5,100", *["HEAD"] * 7]
    days = [(m, d) for m, most in enumerate(MONTH_DAYS, 1) for d in range(1, most + 1)]
    return "\n".join(head + [f"2001,{m},{d},{h},60,?,{dry_c},5.0," + ",".join(["0"] * 27) for m, d in days for h in range(1, 25)])


def test_a_job_without_alternatives_has_nothing_to_compare_and_no_plan_waits_for_it(desk: Desk) -> None:
    lone = home(note="nothing to compare")
    lone["buildup"] = lone["buildup"][:1]
    job = desk.create(lone, "ann")
    failed = wait(desk, desk.compare_buildups(job, 1, 0))
    assert [m.path for m in failed.mistakes] == ["buildup"]
    assert not desk.plans.of_revision(job, 1).finished


def test_a_plan_does_not_wait_for_a_comparison(desk: Desk) -> None:
    job = desk.create(home(note="compared"), "ann")
    comparing = desk.compare_buildups(job, 1, 0)
    assert desk.compare_buildups(job, 1, 0).id == comparing.id
    assert desk.compare_buildups(job, 1, 2).id != comparing.id
    wait(desk, desk.plan(job, 1), lambda r: "plan.json" in r.files)
    assert not desk.planning.run(comparing.id).over
    for run in list(desk.planning._runs.values()):
        desk.planning.stop(run.id)


def test_a_waiting_run_that_is_stopped_never_starts(desk: Desk) -> None:
    first = desk.plan(desk.create(home(note="ahead"), "ann"), 1)
    second = desk.plan(desk.create(home(note="behind"), "ann"), 1)
    assert second.state == "waiting"
    desk.planning.stop(second.id)
    assert wait(desk, first).state == "done"
    assert desk.planning.run(second.id).state == "stopped"
    assert desk.planning.run(second.id).steps == 0


def test_a_room_that_cannot_be_tells_its_mistakes_and_leaves_the_worker_at_work(desk: Desk) -> None:
    draft = home(note="impossible")
    draft["room"]["opening"] = [{"name": "door", "kind": "door", "wall": "B-C", "from": "40 in", "width": "30 in", "top": "78 in",
                                 "setback": "1 in"}]
    run = wait(desk, desk.plan(desk.create(draft, "ann"), 1))
    assert run.state == "failed"
    assert run.mistakes[0].path.startswith("room.opening[0]")
    assert wait(desk, desk.plan(desk.create(home(note="after it"), "ann"), 1)).state == "done"


def test_an_unfinished_job_is_not_planned_and_says_all_its_mistakes(desk: Desk) -> None:
    survey = {"stations": ["A", "B", "C"], "reading": [{"kind": "wall", "of": "A-B", "is": 3}]}
    job = desk.create({"name": "begun", "survey": survey}, "ann")
    with pytest.raises(JobError) as wrong:
        desk.plan(job, 1)
    paths = {m.path for m in wrong.value.mistakes}
    assert {"room", "buildup", "survey.reading[0].is"} <= paths


def test_comparing_names_what_changed_and_the_figures_it_moved(desk: Desk) -> None:
    job = desk.create(home(), "ann")
    higher = home()
    higher["room"]["ceiling"]["height"] = "84 in"
    desk.save(job, higher, 1, "ann")
    found = desk.compare(job, 1, 2)
    assert [(c.path, c.before, c.after) for c in found.changes] == [("room.ceiling.height", "82 in", "84 in")]
    assert found.figures == ()
    for number in (1, 2):
        wait(desk, desk.plan(job, number))
    figures = {c.path: (c.before, c.after) for c in desk.compare(job, 1, 2).figures}
    assert figures["volume_m3"][0] < figures["volume_m3"][1]


def test_going_back_is_a_revision_of_its_own(desk: Desk) -> None:
    job = desk.create(home(), "ann")
    desk.save(job, home(name="else"), 1, "ann")
    back = desk.go_back(job, 1, 2, "bob")
    assert (back.yours.row.number, back.yours.row.note, back.yours.draft) == (3, "back to revision 1", home())
    assert desk.go_back(job, 2, 2, "ann").collided


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_job_file_comes_in_and_goes_out_the_same(path: Path, desk: Desk) -> None:
    text = path.read_text("utf-8")
    job, mistakes = desk.import_toml(text, "ann")
    assert mistakes == ()
    assert tomllib.loads(desk.export_toml(job, 1)) == tomllib.loads(text)


def test_a_job_file_with_mistakes_comes_in_with_their_lines(desk: Desk) -> None:
    text = 'name = "x"\n[survey]\nstations = ["A", "B", "C"]\nreading = [\n{kind = "wall", of = "A-B", is = 3},\n]\n'
    job, mistakes = desk.import_toml(text, "ann")
    assert any(m.line == 5 and m.path == "survey.reading[0].is" for m in mistakes)
    assert desk.jobs.revision(job).draft["survey"]["reading"][0]["is"] == 3
    before = len(desk.jobs.list())
    with pytest.raises(JobError) as wrong:
        desk.import_toml('name = "x\nunits = "inch"\n', "ann")
    assert wrong.value.mistakes[0].line == 1
    assert len(desk.jobs.list()) == before


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=12,
)


def without_null(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: without_null(v) for k, v in value.items() if v is not None}
    return [without_null(v) for v in value if v is not None] if isinstance(value, list) else value


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.text(st.characters(codec="utf-8"), max_size=5), JSON, max_size=4))
def test_whatever_was_typed_goes_out_as_toml_but_null(draft: dict[str, Any]) -> None:
    try:
        kept_draft(draft)
    except JobError:
        return
    read = tomllib.loads(toml_of(draft))
    assert json.dumps(read, sort_keys=True) == json.dumps(without_null(draft), sort_keys=True)


@settings(max_examples=80, deadline=None)
@given(st.dictionaries(st.sampled_from([*Job.model_fields, "else"]), JSON, max_size=5))
def test_no_draft_is_too_odd_to_be_judged(draft: dict[str, Any]) -> None:
    assert mistakes_in(draft)
    assert survey_answer(draft).mistakes


@settings(max_examples=80, deadline=None)
@given(JSON, JSON)
def test_nothing_changed_means_the_same_value(before: Any, after: Any) -> None:
    def typed(value: Any) -> Any:
        return json.dumps(value, sort_keys=True)

    assert changes(before, before) == ()
    assert bool(changes(before, after)) == (typed(before) != typed(after))


def test_a_reading_put_in_front_changes_no_other() -> None:
    later = home()
    later["survey"]["reading"].insert(0, {"kind": "diagonal", "of": "A-D", "is": "1 in"})
    found = changes(home(), later)
    assert [(c.path, c.before) for c in found] == [("survey.reading[0]", None)]


@pytest.mark.parametrize("odd", [{"x": math.nan}, {"x": math.inf}, {"x": "\ud800"}, {"x": "y" * 1_000_001}])
def test_a_draft_that_no_file_can_hold_is_refused(odd: dict[str, Any]) -> None:
    with pytest.raises(JobError):
        kept_draft(odd)


def test_a_draft_that_is_nested_too_deeply_is_refused() -> None:
    deep: dict[str, Any] = {}
    for _ in range(5000):
        deep = {"x": deep}
    with pytest.raises(JobError):
        kept_draft(deep)


def test_the_survey_alone_says_what_to_tape_again() -> None:
    draft = {"survey": home()["survey"]}
    assert survey_answer(draft).tape_again == ()
    draft["survey"]["reading"][5]["is"] = "85 5/8 in"
    found = survey_answer(draft)
    assert found.report is not None
    assert not found.report.consistent
    assert any("B to D" in sentence or "B-D" in sentence for sentence in found.tape_again)


def test_the_survey_leads_to_the_readings_still_to_take() -> None:
    survey = home()["survey"]
    survey["reading"] = [r for r in survey["reading"] if r["of"] not in ("C-D", "B-D", "C")]
    assert survey_answer({"survey": survey}).next == (("wall", "C-D"), ("diagonal", "B-D"), ("down", "C"))
    bare = {"survey": {"stations": ["P", "Q", "R"], "reading": []}}
    assert survey_answer(bare).next[:3] == (("wall", "P-Q"), ("wall", "Q-R"), ("wall", "R-P"))


def test_a_reading_on_tile_asks_for_the_build_up() -> None:
    draft = home()
    for reading in draft["survey"]["reading"]:
        reading["face"] = "tile"
    assert survey_answer(draft).report is not None
    del draft["buildup"]
    assert survey_answer(draft).mistakes[0].path == "buildup"


def test_ready_shapes_lead_to_surveys_that_hold() -> None:
    from steamwright.room.inputs import Survey
    from steamwright.room.sketch import sketch_plan
    from steamwright.room.survey import adjust

    for shape in shapes():
        plan = sketch_plan(shape.points_m)
        at = dict(zip(plan.stations, plan.approximate_m, strict=True))
        readings = [{"kind": k, "of": of, "is": math.dist(*(at[s] for s in of.split("-")))} for k, of in plan.readings]
        report = adjust(Survey.model_validate({"stations": plan.stations, "turns": dict(plan.turns), "reading": readings}), {})
        for fix, (x, y) in zip(report.stations, plan.approximate_m, strict=True):
            assert math.dist((fix.x_m, fix.y_m), (x, y)) < 1e-3, shape.id
        lengths = [r for r in report.readings if r.kind in ("wall", "diagonal")]
        assert report.dof >= 1, shape.id
        assert min(r.redundancy for r in lengths) > 0.03, shape.id  # a recess hides the ties that would do better


def test_a_password_lets_in_and_a_wrong_one_does_not(desk: Desk) -> None:
    desk.door.add("cleo", "crew", "four pale teal tiles")
    token, who = desk.door.log_in("cleo", "four pale teal tiles", "10.0.0.1")
    assert (who.name, who.role) == ("cleo", "crew")
    assert desk.door.who(token) == who
    for name, word in (("cleo", "four pale teal tile"), ("nobody", "four pale teal tiles")):
        with pytest.raises(LogInError) as wrong:
            desk.door.log_in(name, word, "10.0.0.1")
        assert wrong.value.sentence() == "password: name and password do not belong together (try again, or ask the office)"
    desk.door.log_out(token)
    assert desk.door.who(token) is None


@pytest.mark.parametrize("word", ["short", "x" * 201, "aaaaaaaaaaaaaaa"])
def test_a_password_that_will_not_do(desk: Desk, word: str) -> None:
    with pytest.raises(InputError):
        desk.door.add("dora", "crew", word)


def test_the_brake_stops_guessing_by_name_and_by_address_and_lets_go() -> None:
    now = [1000]
    brake = Brake(lambda: now[0])
    for i in range(log_in.TRIES_PER_NAME):
        brake.begin("ann", f"10.0.0.{i}")
    with pytest.raises(TooManyTriesError) as told:
        brake.begin("ann", "10.0.0.99")
    assert told.value.wait_s == log_in.WINDOW_S
    brake.begin("bob", "10.0.0.99")
    for i in range(log_in.TRIES_PER_ADDRESS):
        brake.begin(f"name{i}", "10.9.9.9")
    with pytest.raises(TooManyTriesError):
        brake.begin("carl", "10.9.9.9")
    now[0] += log_in.WINDOW_S
    brake.begin("ann", "10.9.9.9")


def test_a_draft_of_a_job_file_with_dates_is_text() -> None:
    draft, _ = draft_of_toml("name = 1979-05-27\n")
    assert draft == {"name": "1979-05-27"}
