"""plan.json: its contract, its rounding, its bytes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steamwright.plan.document import plan_document, plan_json
from steamwright.plan.job import Job
from steamwright.plan.plain import canonical_bytes, content_hash, plain, rounded
from steamwright.room.model import Face
from tests import plans

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/plan.schema.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def document():
    return json.loads(plan_json(plans.plan()))


def validator():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    return jsonschema.Draft202012Validator(SCHEMA)


def test_the_schema_describes_what_is_written(document):
    assert list(validator().iter_errors(document)) == []


@pytest.mark.parametrize(
    "fault",
    [
        lambda d: d.pop("findings"),
        lambda d: d.update(version=2),
        lambda d: d["room"].update(face="tile"),
        lambda d: d["room"]["facets"][0].update(kind="vault"),
        lambda d: d["room"]["facets"][0].update(covering_by="nobody"),
        lambda d: d["room"]["rims"][0].pop("ending"),
        lambda d: d["covering"]["pieces"][0].pop("blank_m"),
        lambda d: d["covering"]["pieces"][0]["patches"].clear(),
        lambda d: d["covering"]["proof"].update(tight="yes"),
        lambda d: d["estimate"]["order"][0].update(packs=1.5),
        lambda d: d["findings"][0].update(verdict="perhaps"),
        lambda d: d["hashes"].update(job="short"),
    ],
)
def test_the_schema_refuses_what_breaks_the_contract(document, fault):
    broken = json.loads(json.dumps(document))
    fault(broken)
    assert not validator().is_valid(broken)


def test_same_plan_same_bytes_and_sorted_keys():
    first, second = plan_json(plans.plan()), plan_json(plans.plan())
    assert first == second

    def check(value):
        if isinstance(value, dict):
            assert list(value) == sorted(value)
            for v in value.values():
                check(v)
        elif isinstance(value, list):
            for v in value:
                check(v)

    check(json.loads(first))
    assert first.endswith(b"}\n")


def test_coordinates_are_rounded_finer_than_a_ten_millionth_of_a_metre():
    plan = plans.plan()
    solid = plan.room
    facet = solid.facets[3]
    third = replace(facet, outline_m=((1 / 3, -1e-12), *facet.outline_m[1:]))
    written = plan_document(replace(plan, room=replace(solid, facets=(*solid.facets[:3], third, *solid.facets[4:]))))
    assert written["room"]["facets"][3]["outline_m"][0] == [0.333333333, 0.0]
    assert str(written["room"]["facets"][3]["outline_m"][0][1]) == "0.0"


def test_small_quantities_that_are_no_lengths_keep_their_digits(document):
    assert document["buildups"][0]["permeance_kg_pa_s_m2"] == pytest.approx(2.6e-12, rel=1e-11)


def test_a_facet_is_laid_out_as_the_contract_says(document):
    wall = next(f for f in document["room"]["facets"] if f["id"] == "facet-03")
    u, v, o = (np.array(wall[k]) for k in ("u", "v", "origin_m"))
    lifted = o + np.array(wall["outline_m"]) @ np.stack([u, v])
    assert lifted.min(axis=0) == pytest.approx([0, 0, 0])
    assert lifted.max(axis=0) == pytest.approx([1.2, 0, 2.1])
    assert np.cross(u, v) == pytest.approx([0, 1, 0])  # into the room
    assert len(wall["holes_m"]) == 1
    assert wall["area_m2"] == pytest.approx(1.2 * 2.1 - 0.2)


def test_a_blank_point_is_where_at_says(document):
    band = next(p for p in document["covering"]["pieces"] if p["id"] == "B1")
    for patch in band["patches"]:
        a = np.radians(patch["at"]["angle_deg"])
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        image = np.array(patch["outline_m"]) @ turn.T + [patch["at"]["x_m"], patch["at"]["y_m"]]
        assert (image > -1e-6).all()
        assert (image < np.array(band["blank_m"]) + 1e-6).all()


def test_ready_made_pieces_have_no_blank(document):
    pieces = {p["id"]: p for p in document["covering"]["pieces"]}
    assert pieces["K1"]["blank_m"] is None
    assert pieces["K1"]["patches"][0]["at"] is None
    assert pieces["S1"]["cut"] == {"stock": "roll-1", "x_m": 0.0, "y_m": 0.0, "turned": False}


def test_the_other_faces_stand_beside_the_membrane_face(document):
    assert [s["face"] for s in document["room"]["other_faces"]] == ["framing", "tile"]
    assert document["room"]["other_faces"][0]["volume_m3"] > document["room"]["volume_m3"] > document["room"]["other_faces"][1]["volume_m3"]


def test_the_job_in_a_plan_can_be_planned_again(document):
    assert Job.model_validate_json(json.dumps(document["job"])) == plans.job()


def test_what_is_not_finite_is_refused():
    plan = plans.plan()
    with pytest.raises(ValueError, match="which no plan may hold"):
        plan_json(replace(plan, room=replace(plan.room, volume_m3=float("nan"))))


@given(st.floats(-1e3, 1e3))
def test_rounding_a_length_twice_changes_nothing(value):
    once = rounded(value, "x_m")
    assert rounded(once, "x_m") == once
    assert abs(once - value) <= 0.5001e-9 + abs(value) * 1e-15


def test_plain_forms():
    assert plain(Face.TILE) == "tile"
    assert plain(np.float64(0.1234567894), "x_m") == 0.123456789
    assert plain(np.int64(3)) == 3
    assert plain((1, True, None, "a")) == [1, True, None, "a"]
    with pytest.raises(TypeError, match="object"):
        plain(object())


def test_content_hashes_depend_on_content_alone():
    assert content_hash({"b": 1, "a": (1.0, 2)}) == content_hash({"a": [1.0, 2], "b": 1})
    assert content_hash(plans.job()) == content_hash(plans.job())
    assert content_hash(plans.job()) != content_hash(plans.job().model_copy(update={"name": "Box 2"}))
    assert canonical_bytes({"b": "½", "a": 1}) == '{"a":1,"b":"½"}'.encode()
