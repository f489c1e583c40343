"""Every mistake of a job file is found in one run, with its line and its way out."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.errors import JobError, Mistake, SurveyError
from steamwright.plan.job import Job
from steamwright.plan.jobfile import place_mistakes, read_job
from steamwright.plan.places import find_places, path_of, path_text
from steamwright.units import INCH_M

GOOD = (Path(__file__).parents[1] / "data" / "alcove.toml").read_text(encoding="utf-8")


def mistakes(text: str, materials: list[str] | None = None) -> tuple[Mistake, ...]:
    with pytest.raises(JobError) as wrong:
        read_job(text, materials)
    return wrong.value.mistakes


def planted(*changes: tuple[str, str]) -> str:
    text = GOOD
    for good, bad in changes:
        assert text.count(good) >= 1, good
        text = text.replace(good, bad, 1)
    return text


def line_of(text: str, words: str) -> int:
    return 1 + next(number for number, line in enumerate(text.split("\n")) if words in line)


def test_a_good_job() -> None:
    job = read_job(GOOD)
    assert job.survey.reading[0].is_m == pytest.approx(60 * INCH_M)
    assert job.room.ceiling.pitch == pytest.approx(1 / 6)


def test_a_job_survives_its_own_document() -> None:
    job = read_job(GOOD)
    assert Job.model_validate_json(job.model_dump_json()) == job
    assert Job.model_validate_json(job.model_dump_json(by_alias=True)) == job


PLANTS = [
    ('units = "inch"', 'units = "inches"', "units", "cannot stand here", "“inch”"),
    ('units = "inch"', 'unit = "inch"', "unit", "not known here", "“units”"),
    ('name = "alcove"', "name = 3", "name", "text is needed", "quotes"),
    ('name = "alcove"', "", "name", "missing", "name ="),
    ('is = "60 in"', "is = 60", "survey.reading[0].is", "no unit", "in quotes"),
    ('is = "60 in"', 'is = "60"', "survey.reading[0].is", "no unit", "60 in"),
    ('is = "60 in"', 'is = "5\' 14 in"', "survey.reading[0].is", "14 inches after", "carry"),
    ('kind = "wall"', 'kind = "wal"', "survey.reading[0].kind", "cannot stand here", "“wall”"),
    ('of = "A-C"', 'of = "A-E"', "survey.reading[4].of", "station “E”", "A, B, C, D"),
    ('of = "A-C"', 'of = "A-B"', "survey.reading[4].of", "is a wall", 'kind = "wall"'),
    ('of = "A-C"', 'of = "A-A"', "survey.reading[4].of", "same station", "different"),
    ('of = "A-C"', 'of = "AC"', "survey.reading[4].of", "does not join", "A-C"),
    ('of = "A-B"', 'of = "A-C"', "survey.reading[0].of", "not a wall", "A-B, B-C, C-D, D-A"),
    (', is = "70 in"', "", "survey.reading[4]", "what was read", "is ="),
    (', top = "1 1/8 in"', "", "survey.reading[5]", "two of bottom", "top ="),
    ('at = "start"', 'at = "left"', "survey.reading[5].at", "no place", '"start"'),
    ('"C", "D"]', '"C", "C"]', "survey.stations[3]", "listed twice", "own name"),
    ('"C", "D"]', '"C", "D 2"]', "survey.stations[3]", "cannot name", "without"),
    ('stations = ["A", "B", "C", "D"]', 'stations = ["A", "B"]', "survey.stations", "2 given, at least 3", ""),
    ('shape = "slope"', 'shape = "sloping"', "room.ceiling.shape", "cannot stand here", "“slope”"),
    ('pitch = "2 in/ft"', "", "room.ceiling", "needs “pitch”", "pitch ="),
    ('pitch = "2 in/ft"', 'pitch = "-2 in/ft"', "room.ceiling.pitch", "too small", "nothing or more"),
    ('height = "90 in"', 'height = "-90 in"', "room.ceiling.height", "too small", "more than nothing"),
    ('height = "90 in"', 'height = "900 ft"', "room.ceiling.height", "too much", "at most"),
    ('low_wall = "B-C"', 'low_wall = "B C"', "room.ceiling.low_wall", "right form", "neighbouring"),
    ('low_wall = "B-C"', 'low_wall = "A-C"', "room.ceiling.low_wall", "not a wall", "B-C"),
    ('wall = "D-A"', 'wall = "D-X"', "room.opening[0].wall", "station “X”", "A, B, C, D"),
    ('width = "28 in"', 'widht = "28 in"', "room.opening[0].widht", "not known", "“width”"),
    ('top = "80 in"', 'bottom = "90 in"\ntop = "80 in"', "room.opening[0].top", "not under", "change"),
    ('side = "A-B"', 'side = "A-D"\n[[room.wall]]\nside = "D-A"', "room.wall[1].side", "twice", "one table"),
    ('name = "bench"', 'name = "door"', "room.bench[0].name", "two things", "own name"),
    ('on = "A-B"', 'on = "benhc"', "room.penetration[0].on", "no surface", "“bench”"),
    ('up = "78 in"', "", "room.penetration[0]", "“along” and “up”", "up ="),
    ('on = "A-B"', 'on = "ceiling"', "room.penetration[0]", "plan point", "at ="),
    ('diameter = "7/8 in"', 'diameter = "2 m"', "room.penetration[0].diameter", "too much", "at most"),
    ('name = "other walls"', 'name = "walls"', "buildup[1].name", "two build-ups", "own name"),
    ('alternative_to = "walls"', 'alternative_to = "wall"', "buildup[1].alternative_to", "no build-up", "“walls”"),
    ('alternative_to = "walls"', 'alternative_to = "other walls"', "buildup[1].alternative_to", "itself", ""),
    ('on = ["walls", "ceiling"]', 'on = ["wals", "ceiling"]', "buildup[0].on[0]", "no surface", "“walls”"),
    ('on = ["walls", "ceiling"]', "on = []", "buildup[0].on", "0 given", ""),
    ('to = "20 in"', 'to = "9 in"', "covering.no_seam[0].to", "not under", "change"),
    ('kind = "point"', 'drain_at = "midle"', "room.pan.drain_at", "cannot stand here", "center"),
    ('kind = "point"', 'drain_at = ["20 in", 30]', "room.pan.drain_at[1]", "no unit", "quotes"),
    ('kind = "point"', 'drain = "line"', "room.pan", "needs “drain_wall”", "drain_wall ="),
    ('kind = "point"', 'pitch = "0 in/ft"', "room.pan.pitch", "does not fall", "1/4 in/ft"),
]


@pytest.mark.parametrize(("good", "bad", "path", "words", "way_out"), PLANTS)
def test_one_planted_mistake(good: str, bad: str, path: str, words: str, way_out: str) -> None:
    text = planted((good, bad)) if good in GOOD else GOOD + f"\n[room.pan]\n{bad}\n"
    found = mistakes(text)
    (mistake,) = [m for m in found if m.path == path]
    assert words in mistake.detail
    assert way_out in mistake.hint
    if mistake.code == "input.missing":
        assert mistake.line is None or text.split("\n")[mistake.line - 1].startswith(("[", "  {"))
    else:
        at = GOOD.index(good) if good in GOOD else len(GOOD) + len("\n[room.pan]\n")
        assert mistake.line == 1 + text[:at].count("\n") + bad.count("\n")


def test_a_tile_longer_than_any_is_told() -> None:
    (wrong,) = mistakes(GOOD + '\n[tile]\nlongest_edge = "12 ft"\n')
    assert (wrong.path, wrong.line) == ("tile.longest_edge", 2 + GOOD.count("\n") + 1)
    assert "no tile is 12'" in wrong.detail
    assert "11'" in wrong.hint
    assert read_job(GOOD + '\n[tile]\nlongest_edge = "10 ft"\n').tile.longest_edge_m == pytest.approx(3.048)


def test_many_mistakes_in_one_run() -> None:
    text = planted(
        ('units = "inch"', 'units = "inches"'),
        ('is = "60 in"', "is = 60"),
        ('of = "A-C"', 'of = "A-E"'),
        ('pitch = "2 in/ft"', "pitch = 2 in/ft"),
        ('kind = "door"\n', 'kind = "door"\nwidht = "3 in"\n'),
        ('alternative_to = "walls"', 'alternative_to = "wals"'),
        ('to = "20 in"', 'to = "9 in"'),
    )
    found = mistakes(text)
    assert [m.path for m in found] == [
        "units",
        "survey.reading[0].is",
        "survey.reading[4].of",
        "",
        "room.opening[0].widht",
        "buildup[1].alternative_to",
        "covering.no_seam[0].to",
    ]
    needles = ["inches", "is = 60", "A-E", "pitch = 2", "widht", "wals", '"9 in"']
    assert [m.line for m in found] == [line_of(text, needle) for needle in needles]
    assert all(m.hint for m in found)


@pytest.mark.parametrize(("bad", "words", "way_out"), [
    ('name = "alcove', "not closed", "close it"),
    ("name = alcove", "cannot be read", "double quotes"),
    ("name", "neither a heading", "name ="),
    ('name = "a"\nname = "b"', "said twice", "keep one"),
    ("x = 7' 6\"", "cannot be read", "7 ft 6 1/2 in"),
    ("x = \"7' 6\"\"", "cannot be read", "7 ft 6 1/2 in"),
    ("[survey2", "heading is not closed", "[room.ceiling]"),
    ("x = [1, 2", "not closed", "missing ]"),
    ('x = { is = "72 1/16"" }', "one quotation mark", "without an inch mark"),
])  # fmt: skip
def test_a_line_that_is_no_toml(bad: str, words: str, way_out: str) -> None:
    found = mistakes(GOOD + "\n" + bad + "\n") if bad.startswith(("x", "[")) else mistakes(planted(('name = "alcove"', bad)))
    syntax = [m for m in found if m.code == "input.syntax"]
    assert len(syntax) == 1
    assert words in syntax[0].detail
    assert way_out in syntax[0].hint
    assert syntax[0].line is not None


def test_an_empty_file() -> None:
    assert {m.path for m in mistakes("")} == {"name", "survey", "room", "buildup"}


def test_unknown_materials() -> None:
    found = mistakes(GOOD, ["cement board", "sheet membrane 0.5 perm"])
    assert [m.path for m in found] == ["buildup[0].layers[0].material", "buildup[1].layers[0].material"]
    assert "“cement board”" in found[0].hint


def test_a_later_error_finds_its_line() -> None:
    error = SurveyError("the wall is too long", path="survey.reading[4].is", hint="measure again")
    (mistake,) = place_mistakes(error, GOOD)
    assert (mistake.line, mistake.hint) == (line_of(GOOD, '"A-C"'), "measure again")


def test_places_agree_with_the_parser() -> None:
    text = (Path(__file__).parents[1] / "data" / "places.toml").read_text(encoding="utf-8")
    places = find_places(text)

    def walk(node: object, path: tuple[str | int, ...]) -> None:
        if path:
            assert path in places, path
            assert path_of(path_text(path)) == path
        if isinstance(node, int) and not isinstance(node, bool):
            assert places[path].line == node, f"{path}: each number of this file is the number of its line"
        for key, value in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
            walk(value, (*path, key))

    walk(tomllib.loads(text), ())


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["", '"', "[", "]", "=", "{", "é", "\n", "9", " -", "'", "[[a]]", "#"]), st.integers(0, 12))
def test_no_slip_of_the_hand_is_a_crash(at: int, put: str, cut: int) -> None:
    at %= len(GOOD)
    try:
        read_job(GOOD[:at] + put + GOOD[at + cut :], ["cement board 1/2 in", "sheet membrane 0.5 perm"])
    except JobError as error:
        said = error.mistakes
    else:
        return
    assert said
    assert all(m.detail for m in said)


def test_a_stand_in_is_not_called_a_mistake() -> None:
    """The top that was refused stands in as 90.5 in, which would be under a bottom of 95 in."""
    found = mistakes(planted(('top = "80 in"', 'bottom = "95 in"\ntop = "eighty"')))
    assert [m.path for m in found] == ["room.opening[0].top"]


def test_a_reading_that_cannot_be_read_keeps_its_number() -> None:
    found = mistakes(planted(('is = "36 in" },', "is = 3' },"), ('of = "A-C"', 'of = "A-E"')))
    assert [(m.path, m.line) for m in found] == [("", line_of(GOOD, '"B-C", is')), ("survey.reading[4].of", line_of(GOOD, '"A-C"'))]


def test_a_wall_that_could_not_stand_is_a_misread_plumb_line() -> None:
    text = GOOD.replace("reading = [", 'reading = [\n  { kind = "plumb", of = "A-B", bottom = "1 in", top = "30 in" },', 1)
    assert text != GOOD
    (mistake,) = mistakes(text)
    assert mistake.path == "survey.reading[0]"
    assert "leans 2' 5\"" in mistake.detail
    read_job(text.replace('"30 in"', '"2 in"'))


def test_a_bench_runs_out_under_glass_only_where_there_is_glass() -> None:
    bench = '\n[[room.bench]]\nname = "seat"\nwall = "B-C"\ndepth = "15 in"\nheight = "18 in"\npast_glass = "10 in"\n'
    (mistake,) = mistakes(GOOD + bench)
    assert mistake.path == "room.bench[1].past_glass"
    assert "no wall is glass" in mistake.detail
    assert 'kind = "glass"' in mistake.hint
    read_job(GOOD + bench + '\n[[room.wall]]\nside = "C-D"\nkind = "glass"\n')
