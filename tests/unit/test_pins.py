"""What a person pins stays, the rest is laid round it lap-tight, and wishes that clash say with what."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from steamwright.covering.model import Piece, Role
from steamwright.errors import ClashError, JobError
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.jobfile import read_job_data
from steamwright.plan.model import Plan
from tests.unit.test_placing import CATALOG, box

LAP_M = 0.0635


def planned(job: dict[str, Any], before: Plan | None = None) -> Plan:
    return build(Job.model_validate(job, context={"typed": True}), CATALOG, before=before)


def pinned(plan: Plan, piece: Piece, **said: Any) -> dict[str, Any]:
    """A piece of a plan as the job says it."""
    names = {f.id: f.name for f in plan.room.facets}
    patches = []
    for q in piece.patches:
        row: dict[str, Any] = {"on": names[q.facet], "outline": [_lengths(p) for p in q.outline_m],
                               "holes": [[_lengths(p) for p in h] for h in q.holes_m]}
        if q.at is not None:
            row["at"] = {"x": f"{q.at.x_m} m", "y": f"{q.at.y_m} m", "angle_deg": q.at.angle_deg, "flipped": q.at.flipped}
        patches.append(row)
    blank = {"blank": _lengths(piece.blank_m)} if piece.blank_m else {}
    return {"id": piece.id, "role": piece.role.value, "item": piece.item, "material": piece.material, "patch": patches} | blank | said


def _lengths(point: tuple[float, float]) -> list[str]:
    return [f"{v:.9f} m" for v in point]


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
