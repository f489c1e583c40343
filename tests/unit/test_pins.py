"""What a person pins stays, the rest is laid round it lap-tight, and wishes that clash say with what."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from steamwright.covering.clashes import refuse_folds
from steamwright.covering.cover import cover
from steamwright.covering.ground import Terrain
from steamwright.covering.inputs import CoveringWishes, FoldWish
from steamwright.covering.model import Piece, Role
from steamwright.covering.proof import prove
from steamwright.errors import ClashError, InputError, JobError
from steamwright.plan.build import build
from steamwright.plan.consistency import contradictions
from steamwright.plan.job import Job
from steamwright.plan.jobfile import read_job_data
from steamwright.plan.model import Plan
from steamwright.plan.pinning import piece_pin, pin_row, short_answers
from steamwright.plan.remnants import read_remnants, remnants_after, remnants_text, with_remnants
from tests import built
from tests.built import CATALOG
from tests.property.rooms import random_case
from tests.unit.test_placing import box as room_of

LAP_M = 0.0635


def box(**more: Any) -> dict[str, Any]:
    """The plainest room, searched as far as a person has it searched who says nothing of it."""
    return room_of(**more | {"covering": {"effort": 60} | more.get("covering", {})})


def planned(job: dict[str, Any], before: Plan | None = None) -> Plan:
    return built.planned(job) if before is None else build(built.job_of(job), CATALOG, before=before)


def pinned(plan: Plan, piece: Piece, **said: Any) -> dict[str, Any]:
    """A piece of a plan as the job says it."""
    return pin_row(piece_pin(plan, piece.id)) | said


def edges(plan: Plan, surface: str, axis: int) -> list[float]:
    facet = next(f for f in plan.room.facets if f.surface == surface)
    low = min(p[axis] for p in facet.outline_m)
    strips = [q for x in plan.covering.pieces if x.role is Role.SHEET for q in x.patches if q.facet == facet.id]
    # what ends beside a corner is the leg of a sheet of the neighbour
    wide = [q for q in strips if np.ptp([p[1 - axis] for p in q.outline_m]) > 0.1]
    return sorted({round(p[axis] - low, 5) for q in wide for p in q.outline_m})


@pytest.mark.parametrize(("key", "axis"), [("along", 0), ("up", 1)])
def test_a_seam_lies_where_it_is_pinned(key: str, axis: int) -> None:
    plan = planned(box(covering={"seam": [{"on": "C-D", key: "0.7 m"}]}))
    found = np.array(edges(plan, "C-D", axis))
    assert all(np.abs(found - at).min() < 1e-4 for at in (0.7 - LAP_M / 2, 0.7 + LAP_M / 2))
    assert plan.covering.proof.tight


def test_a_seam_that_is_pinned_nowhere_free_says_why_and_offers_a_place_that_works() -> None:
    with pytest.raises(ClashError, match="narrower") as caught:
        planned(box(covering={"seam": [{"on": "C-D", "along": "1 in"}]}))
    assert caught.value.path == "covering.seam[0]"
    offered = caught.value.hint.split('along = "')[1].split('"')[0]
    assert planned(box(covering={"seam": [{"on": "C-D", "along": offered}]})).covering.proof.tight


def test_two_seams_lie_where_they_are_pinned_though_the_sheet_up_to_the_first_is_too_wide_with_its_legs() -> None:
    """Drawn back, it has to leave enough for a sheet of its own up to the seam."""
    job = tomllib.loads((Path(__file__).parents[2] / "examples/home-alcove.toml").read_text(encoding="utf-8"))
    job = {**job, "covering": {"effort": 0, "seam": [{"on": "C-D", "along": at} for at in ("30 in", "0.8485 m")]}}
    plan = build(read_job_data(job), CATALOG, weigh=False)
    found = np.array(edges(plan, "C-D", 0))
    assert all(np.abs(found - at - side * LAP_M / 2).min() < 1e-4 for at in (0.762, 0.8485) for side in (-1, 1))


def test_a_zone_that_leaves_no_layout_offers_the_widest_that_does() -> None:
    with pytest.raises(ClashError, match=r"covers .* without a seam") as caught:
        planned(box(covering={"no_seam": [{"on": "C-D", "from": "0.1 m", "to": "1.7 m"}]}))
    low, high = (caught.value.hint.split(f'{key} = "')[1].split('"')[0] for key in ("from", "to"))
    assert float(high.split()[0]) - float(low.split()[0]) > 0.4
    plan = planned(box(covering={"no_seam": [{"on": "C-D", "from": low, "to": high}]}))
    assert plan.covering.proof.tight


def test_a_zone_closed_on_all_sides_is_kept_free() -> None:
    rows = [{"on": "C-D", "from": "0.5 m", "to": "0.9 m", "measured": way} for way in ("along", "up")]
    plan = planned(box(covering={"no_seam": rows}))
    inside = [[e for e in edges(plan, "C-D", axis) if 0.502 < e < 0.898] for axis in (0, 1)]
    assert inside == [[], []]


@pytest.mark.parametrize("number", [0, 4, 9])
def test_a_piece_that_is_set_keeps_its_number_and_shape_and_the_rest_is_tight_round_it(number: int) -> None:
    before = planned(box())
    sheets = [p for p in before.covering.pieces if p.role is Role.SHEET]
    piece = sheets[number % len(sheets)]
    after = planned(box(covering={"piece": [pinned(before, piece)]}))
    kept = next(p for p in after.covering.pieces if p.id == piece.id)
    assert kept.patches[0].polygon.symmetric_difference(piece.patches[0].polygon).area < 1e-7
    assert kept.place_no == 1
    assert kept.over == ()
    stock = next(s for s in after.covering.stock if kept.cut is not None and s.id == kept.cut.stock)
    assert stock.on_hand
    assert after.covering.proof.tight
    assert (after.covering.proof.least_lap_m or 0.0) >= LAP_M - 1e-4
    assert len({p.id for p in after.covering.pieces}) == len(after.covering.pieces)
    listed = [i for line in after.order for i in line.pieces]
    assert listed.count(piece.id) == 1


def test_pinning_what_is_planned_changes_no_other_piece() -> None:
    before = planned(box())
    piece = next(p for p in before.covering.pieces if p.role is Role.SHEET and len(p.patches) > 1)
    after = planned(box(covering={"piece": [pinned(before, piece, state="cut")]}), before)
    blanks = [sorted((p.role.value, *(round(v, 4) for v in p.blank_m or ())) for p in plan.covering.pieces) for plan in (before, after)]
    assert blanks[0] == blanks[1]


def test_a_sheet_cut_short_is_patched_and_without_the_patch_it_would_not_be_tight() -> None:
    before = planned(box())
    piece = max((p for p in before.covering.pieces if p.role is Role.SHEET and p.blank_m), key=lambda p: p.blank_m or (0, 0))
    short = planned(box(covering={"piece": [pinned(before, piece, short="8 in", short_at="end")]}), before)
    assert short.covering.proof.tight
    assert piece.blank_m is not None
    kept = next(p for p in short.covering.pieces if p.id == piece.id)
    assert kept.blank_m is not None
    assert kept.blank_m[0] == pytest.approx(piece.blank_m[0] - 8 * 0.0254, abs=1e-6)
    assert len(short.covering.pieces) > len(before.covering.pieces)


def test_a_pin_on_a_surface_that_is_gone_says_so() -> None:
    before = planned(box())
    row = pinned(before, before.covering.pieces[0])
    row["patch"][0]["on"] = "the old bench"
    with pytest.raises(ClashError, match="does not have"):
        planned(box(covering={"piece": [row]}))


@pytest.mark.parametrize(("said", "path", "words"), [
    ({"seam": [{"on": "C-D"}]}, "covering.seam[0]", "along or up"),
    ({"seam": [{"on": "C-D", "along": "30 in"}, {"on": "C-D", "up": "30 in"}]}, "covering.seam[1]", "covering.seam[0]"),
    ({"seam": [{"on": "C-D", "along": "30 in"}], "direction": [{"on": "C-D", "sheets": "level"}]},
     "covering.seam[0]", "covering.direction[0]"),
    ({"direction": [{"on": "C-D", "sheets": "level"}, {"on": "C-D", "sheets": "upright"}]},
     "covering.direction[1]", "covering.direction[0]"),
    ({"fold": [{"from": "C-D", "onto": "ceiling"}, {"from": "ceiling", "onto": "C-D"}]}, "covering.fold[1]", "covering.fold[0]"),
    ({"seam": [{"on": "X-Y", "along": "30 in"}]}, "covering.seam[0].on", "station"),
])
def test_wishes_that_contradict_each_other_name_both(said: dict[str, Any], path: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        read_job_data(box(covering=said))
    mistake = next(m for m in caught.value.mistakes if m.path == path)
    assert words in mistake.detail


def test_a_number_stays_with_its_piece_and_a_patch_gets_a_new_one() -> None:
    before = planned(box())
    piece = max((p for p in before.covering.pieces if p.role is Role.SHEET and p.blank_m), key=lambda p: p.blank_m or (0, 0))
    after = planned(box(covering={"piece": [pinned(before, piece, short="8 in")]}), before)
    old, new = ({p.id: p for p in plan.covering.pieces} for plan in (before, after))
    fresh = [i for i in new if i not in old]
    assert fresh
    assert min(int(i[1:]) for i in fresh) > max(int(i[1:]) for i in old)
    for i in set(old) & set(new) - {piece.id}:
        assert old[i].role is new[i].role
        assert {q.facet for q in old[i].patches} == {q.facet for q in new[i].patches}


def test_ways_out_for_a_short_piece_are_proven_and_the_chosen_one_goes_into_the_job() -> None:
    plan = planned(box())
    piece = max((p for p in plan.covering.pieces if p.role is Role.SHEET and p.blank_m), key=lambda p: p.blank_m or (0, 0))
    answers = short_answers(plan, CATALOG, piece.id, 0.1)
    assert {a.kind for a in answers} == {"patch", "again"}
    assert all(a.tight for a in answers)
    assert [a.cost.usd for a in answers] == sorted(a.cost.usd for a in answers)
    patch, again = (next(a for a in answers if a.kind == kind) for kind in ("patch", "again"))
    assert patch.cost.material_m2 < 0.5 * again.cost.material_m2
    assert patch.cost.minutes > 0.0
    for answer in answers:
        after = planned(box(covering={"piece": [pin_row(answer.pin)]}), plan)
        assert after.covering.proof.tight
        assert (piece.id in {p.id for p in after.covering.pieces}) == (answer.kind == "patch")
    (only,) = short_answers(plan, CATALOG, piece.id, 0.1, state="set")
    assert only.kind == "patch"


def test_more_is_ordered_where_nothing_left_holds_the_piece() -> None:
    job = box(covering={"roll_length": "2.6 m"})
    plan = planned(job)
    longest = max((p for p in plan.covering.pieces if p.role is Role.SHEET and p.blank_m), key=lambda p: p.blank_m or (0, 0))
    answer = next(a for a in short_answers(plan, CATALOG, longest.id, 0.05) if a.kind != "patch")
    assert answer.kind == "order"
    assert "order" in answer.sentence


def test_a_piece_without_its_patch_is_not_tight() -> None:
    before = planned(box())
    piece = max((p for p in before.covering.pieces if p.role is Role.SHEET and p.blank_m), key=lambda p: p.blank_m or (0, 0))
    after = planned(box(covering={"piece": [pinned(before, piece, short="8 in")]}), before)
    old = {p.id for p in before.covering.pieces}
    left = [p for p in after.covering.pieces if p.id in old]
    assert not prove(after.room, left, 0.0508, LAP_M).tight


def test_remnants_are_drawn_first_and_what_is_left_is_written_back() -> None:
    plain = planned(box())
    file = read_remnants('given = 4\n[[remnant]]\nid = "M4"\nmaterial = "sheet membrane 0.5 perm"\nlength = "5 m"\nwidth = "1 m"\n'
                         '[[remnant]]\nid = "M1"\nmaterial = "another"\nlength = "5 m"\nwidth = "1 m"\n')
    plan = build(with_remnants(plain.job, file), CATALOG)
    drawn = {s.id for s in plan.covering.stock if s.on_hand}
    assert drawn == {"M4"}
    assert plan.covering.proof.tight
    rolls = [sum(s.used_length_m for s in p.covering.stock if not s.on_hand) for p in (plain, plan)]
    assert rolls[1] < rolls[0] - 3.0
    assert all(p.cut is not None for p in plan.covering.pieces if p.blank_m)
    after = remnants_after(file, plan.covering.left, "next")
    ids = [r.id for r in after.remnant]
    assert "M4" not in ids
    assert "M1" in ids
    assert after.given == 4 + len(ids) - 1
    assert [r.id for r in read_remnants(remnants_text(after)).remnant] == ids


@pytest.mark.parametrize(("text", "words"), [
    ("[[remnant]\n", "cannot be read"), ('[[remnant]]\nid = "M1"\nmaterial = "x"\nlength = "5"\nwidth = "1 m"\n', "unit"),
    ('[[remnant]]\nid = "M1"\nmaterial = "x"\nlength = "5 m"\nwidth = "1 m"\n' * 2, "twice")])
def test_a_wrong_file_of_remnants_says_where(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_remnants(text)


@pytest.mark.parametrize(("seed", "more_m"), [(None, 0.003), (None, 0.008), (None, -0.003), (1, 0.003)])
def test_a_piece_that_is_set_survives_a_late_reading(seed: int | None, more_m: float) -> None:
    job = box() if seed is None else json.loads(json.dumps(random_case(seed).job))
    before = planned(job)
    wall = next(r for r in job["survey"]["reading"] if r["kind"] == "wall")
    value, unit = wall["is"].split()
    wall["is"] = f"{float(value) + more_m / {'in': 0.0254, 'm': 1.0}[unit]:.6f} {unit}"
    room = planned(job).room
    for piece in [p for p in before.covering.pieces if p.role is Role.SHEET][:8:3]:
        wishes = Job.model_validate(job | {"covering": {"piece": [pinned(before, piece)]}}, context={"typed": True}).covering
        after = cover(room, wishes, CATALOG, before=before.covering)
        kept = next(p for p in after.pieces if p.id == piece.id)
        assert after.proof.tight, (piece.id, after.proof.failures)
        assert kept.blank_m == pytest.approx(piece.blank_m, abs=1e-6)


def test_a_roll_narrower_than_two_laps_names_the_laps_and_a_width_that_works() -> None:
    with pytest.raises(ClashError, match=r"covering\.lap_required") as caught:
        planned(box(covering={"roll_width": "4 in"}))
    assert caught.value.path == "covering.roll_width"
    assert planned(box(covering={"roll_width": "11 in", "joints": "band"})).covering.proof.tight


def test_a_fold_between_surfaces_that_do_not_meet_is_refused() -> None:
    with pytest.raises(ClashError, match="do not meet") as caught:
        planned(box(covering={"fold": [{"from": "A-B", "onto": "C-D"}]}))
    assert caught.value.path == "covering.fold[0]"


def test_a_fold_that_has_no_room_names_the_way_that_works() -> None:
    plan = planned(box())
    terrain = Terrain(plan.room, LAP_M)
    wish = FoldWish.model_validate({"from": "A-B", "onto": "ceiling"})
    banded = replace(plan.covering.scheme, folds=())
    with pytest.raises(ClashError, match="no room") as caught:
        refuse_folds(terrain, CoveringWishes(fold=(wish,)), banded)
    assert "band" in caught.value.hint
    refuse_folds(terrain, CoveringWishes(fold=(wish.model_copy(update={"by": "band"}),)), banded)


PITCHED = {"pan": {"membrane": "bonded", "flat": "8 in", "pitch": "1/4 in/ft"}}


def test_a_part_of_a_surface_is_called_as_messages_call_it() -> None:
    """A person copies “floor 3” from a message into the job."""
    plain = planned(box(room=PITCHED))
    assert [f.name for f in plain.room.facets if f.surface == "floor"] == [f"floor {k}" for k in range(1, 6)]
    job = box(room=PITCHED, covering={"joints": "band", "fold": [{"from": "floor 3", "onto": "floor 1"}],
                                      "direction": [{"on": "floor 2", "sheets": "level"}]})
    assert not [m for m in contradictions(Job.model_validate(job, context={"typed": True})) if m.path.startswith("covering")]
    plan = planned(job)
    three, one = (next(f.id for f in plan.room.facets if f.name == name) for name in ("floor 3", "floor 1"))
    joint = next(j.id for j in plan.room.joints if set(j.facets) == {three, one})
    assert dict(plan.covering.scheme.folds)[joint] == three
    assert next(c.strips.direction for c in plan.covering.scheme.fields if c.root == two(plan)) == "level"


def two(plan: Plan) -> str:
    return next(f.id for f in plan.room.facets if f.name == "floor 2")


def test_a_part_that_a_surface_does_not_have_is_refused_and_its_parts_are_named() -> None:
    with pytest.raises(ClashError, match="no floor 9") as caught:
        planned(box(room=PITCHED, covering={"direction": [{"on": "floor 9", "sheets": "level"}]}))
    assert "floor 5" in caught.value.hint


@pytest.mark.parametrize(("measured", "start", "words"),
                         [("along", "5 ft 2 in", "4' 10"), ("up", "10 ft", "8' 0"), ("across", "99 in", "8' 0")])
def test_a_zone_beyond_the_end_of_its_wall_is_refused(measured: str, start: str, words: str) -> None:
    zone = {"on": "C-D", "from": start, "to": "12 ft", "measured": measured}
    with pytest.raises(ClashError, match="the surface ends at") as caught:
        planned(box(covering={"joints": "band", "no_seam": [zone]}))
    assert caught.value.path == "covering.no_seam[0].from"
    assert words in str(caught.value)
    planned(box(covering={"joints": "band", "no_seam": [{**zone, "from": "4 ft 8 in" if measured == "along" else "8 ft"}]}))
