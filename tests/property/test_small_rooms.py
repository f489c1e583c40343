"""Rooms of two covered surfaces: the search agrees with trying every direction, side, first width on a grid, fold and band."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import product

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from steamwright.buildup.catalog import load_catalog
from steamwright.covering.bound import least_material_m2
from steamwright.covering.cover import cover
from steamwright.covering.ground import Terrain
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.layout import choose_materials, leg_needed_m
from steamwright.covering.model import LEVEL, UPRIGHT, FieldChoice, Scheme, Strips
from steamwright.covering.pricing import BandRules, Pricing, further_piece_m2
from steamwright.covering.search import Search
from steamwright.covering.sheets import SheetRules
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.room.model import CoveredBy, Solid
from tests.unit.test_placing import box

CATALOG = load_catalog()
PARTS = 12
NEAR_USD = 1e-5
EFFORT = 2000


def wall_and_ceiling(wide_m: float, deep_m: float, high_m: float) -> Solid:
    """One wall and the ceiling; glass on three sides, and a liner in the pan."""
    glass = {"kind": "glass", "ending": "under the frame", "reach": "2 in", "sealed_by": "silicone sealant"}
    job = box(room={"ceiling": {"shape": "flat", "height": f"{high_m} m"}, "wall": [{"side": s, **glass} for s in ("B-C", "C-D", "D-A")],
                    "pan": {"membrane": "liner", "drain": "point", "pitch": "1/4 in/ft"}}, covering={"effort": 0})
    for row in job["survey"]["reading"]:
        size = {"A-B": wide_m, "C-D": wide_m, "B-C": deep_m, "D-A": deep_m}.get(row["of"], math.hypot(wide_m, deep_m))
        row["is"] = f"{size:.9f} m"
    return build(Job.model_validate(job, context={"typed": True}), CATALOG, weigh=False).room


def priced(room: Solid, wishes: CoveringWishes) -> Pricing:
    lap_m = wishes.lap_required_m + wishes.allowance_m
    chosen = choose_materials(wishes, CATALOG, "IRC")
    rules = SheetRules(lap_m, wishes.roll_width_m, wishes.roll_length_m, chosen.sheet.item, chosen.sheet.material, frozenset(),
                       wishes.seam_clear_m, further_piece_m2(wishes))
    terrain = Terrain(room, lap_m, lambda a, b: leg_needed_m(wishes, "IRC", a, b))
    return Pricing(terrain, wishes, rules, BandRules(chosen.bands, min(wishes.band_roll_length_m, wishes.longest_m)), [])


def lain(pricing: Pricing, root: str, inner: tuple[str, ...], folds: tuple[tuple[str, str], ...]) -> list[FieldChoice]:
    """All ways to lay a field, those that give the same pieces once."""
    found: dict[object, FieldChoice] = {}
    for way, high, k, shaped in product((UPRIGHT, LEVEL), (False, True), range(2, PARTS + 1), (False, True)):
        choice = FieldChoice(root, inner, Strips(way, high, k / PARTS, by_shape=shaped))
        laid = pricing.sheets(choice, Scheme((choice,), folds))
        found.setdefault((tuple((round(a, 6), round(b, 6)) for a, b in laid.blanks_m), round(laid.work_usd, 6)), choice)
    return list(found.values())


def every_scheme(pricing: Pricing, room: Solid) -> Iterator[Scheme]:
    covered = [f.id for f in room.facets if f.covering_by is CoveredBy.PIECES]
    turning = [[*((j.id, f) for f in j.facets if f in covered), None] for j in room.joints]
    shared = [j.id for j in room.joints if set(j.facets) <= set(covered)]
    for closed in product(*turning):
        folds = tuple(sorted(f for f in closed if f is not None))
        for fields in product(*(lain(pricing, f, (), folds) for f in covered)):
            yield Scheme(fields, folds)
        for joint, root in product(shared, covered):
            if joint not in {j for j, _ in folds} and pricing.field(FieldChoice(root, (joint,), Strips(UPRIGHT))) is not None:
                yield from (Scheme((field,), folds) for field in lain(pricing, root, (joint,), folds))


@pytest.mark.slow
@settings(max_examples=2, deadline=None, derandomize=True)
@given(st.floats(0.9, 2.6), st.floats(0.8, 2.0), st.floats(1.9, 2.5))
@example(2.008, 1.746, 1.956)
@example(1.656, 1.122, 1.922)
@example(1.3, 1.2, 2.2)
def test_the_search_is_never_worse_than_trying_everything_nor_anything_under_the_bound(wide_m: float, deep_m: float,
                                                                                      high_m: float) -> None:
    room = wall_and_ceiling(round(wide_m, 3), round(deep_m, 3), round(high_m, 3))
    assert sum(f.covering_by is CoveredBy.PIECES for f in room.facets) == 2
    wishes = CoveringWishes(effort=EFFORT)
    pricing = priced(room, wishes)
    schemes = list(every_scheme(pricing, room))
    least_usd = min(pricing.cost_usd(s) for s in schemes)
    assert pricing.cost_usd(Search(priced(room, wishes), EFFORT, lambda _: None).run()) <= least_usd + NEAR_USD
    found = cover(room, wishes, CATALOG)
    assert found.proof.tight
    assert found.account.usd <= least_usd + NEAR_USD
    lower_m2 = least_material_m2(room, found.pieces, wishes)
    assert found.bound is not None
    assert lower_m2 == pytest.approx(found.bound.lower_m2)
    assert all(lower_m2 <= pricing.used_m2(s) + 1e-9 for s in schemes)
