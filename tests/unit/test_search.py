"""Small blanks: slanted pieces lie straight, strips end where the surface does, and more search never costs more."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from shapely import Polygon, box

from steamwright.covering.draft import Draft, Part, frozen
from steamwright.covering.fields import develop
from steamwright.covering.ground import Terrain
from steamwright.covering.lengths import LengthRules, equal_lengths, lengths_by_shape
from steamwright.covering.model import UPRIGHT, Role, Strips
from steamwright.covering.sheets import SheetRules, lay_strips
from steamwright.covering.squaring import squared
from steamwright.cutting.best_cut import best_cut, quick_length_m
from steamwright.cutting.roll_bounds import roll_bound
from steamwright.cutting.rolls import Blank
from steamwright.errors import InfeasibleError
from steamwright.geometry.unfolding import Motion
from steamwright.plan.build import build
from steamwright.room.model import FacetKind
from tests.built import CATALOG, job_of, planned
from tests.property.rooms import random_case
from tests.unit.test_placing import box as box_job

RULES = LengthRules(0.06, 5.0, 0.1, 0.08)


def draft_of(shape: Polygon) -> Draft:
    return Draft(Role.SHEET, "sheet", "membrane", [Part("facet-01", shape, Motion.identity())])


def test_a_slanted_piece_gets_the_blank_of_its_own_size() -> None:
    slanted = Motion.rotation(np.radians(35.0)).polygon(box(0, 0, 2.0, 0.5))
    turned = squared(draft_of(slanted), 1.0, 6.0)
    assert turned.size_m() == pytest.approx((2.0, 0.5))
    assert turned.parts[0].polygon == slanted
    back = frozen([turned], ["S001"])[0].patches[0]
    assert back.at is not None
    image = back.at.to_blank(np.array(back.outline_m))
    assert image.min(axis=0) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert image.max(axis=0) == pytest.approx((2.0, 0.5))


def test_a_piece_is_not_turned_where_little_is_gained_or_the_roll_is_too_narrow() -> None:
    straight = draft_of(box(0, 0, 2.0, 0.5))
    assert squared(straight, 1.0, 6.0) is straight
    hardly = draft_of(Polygon([(0, 0), (2.0, 0.004), (2.0, 0.504), (0, 0.5)]))
    assert squared(hardly, 1.0, 6.0) is hardly
    wide = draft_of(Motion.rotation(np.pi / 4).polygon(box(0, 0, 1.4, 1.4)))
    assert squared(wide, 1.0, 6.0) is wide
    assert squared(wide, 1.5, 6.0).size_m() == pytest.approx((1.4, 1.4))


def test_a_strip_is_cut_where_it_gets_narrower() -> None:
    step = Polygon([(0, 0), (4.0, 0), (4.0, 0.3), (1.0, 0.3), (1.0, 1.0), (0, 1.0)])
    first, second = lengths_by_shape([step], (0.0, 0.0, 4.0, 1.0), RULES, [])
    assert (first[0], second[1]) == (0.0, 4.0)
    assert first[1] - second[0] == pytest.approx(0.06)
    assert second[0] >= 1.0 - 1e-5
    assert first[1] < 1.2
    kept_off = lengths_by_shape([step], (0.0, 0.0, 4.0, 1.0), RULES, [(0.9, 1.1)])
    assert kept_off[1][0] >= 1.1 - 1e-5
    assert lengths_by_shape([box(0, 0, 4.0, 1.0)], (0.0, 0.0, 4.0, 1.0), RULES, []) == [(0.0, 4.0)]


def test_a_strip_is_parted_beside_an_opening() -> None:
    with_door = Polygon([(0, 0), (3.0, 0), (3.0, 1.0), (0, 1.0)], [[(0.8, 0.25), (2.2, 0.25), (2.2, 0.8), (0.8, 0.8)]])
    lengths = lengths_by_shape([with_door], (0.0, 0.0, 3.0, 1.0), RULES, [])
    assert len(lengths) == 3
    assert 0.8 < lengths[1][0] < lengths[1][1] < 2.2
    low = Polygon([(0, 0), (3.0, 0), (3.0, 1.0), (0, 1.0)], [[(0.8, 0.25), (1.2, 0.25), (1.2, 0.8), (0.8, 0.8)]])
    assert lengths_by_shape([low], (0.0, 0.0, 3.0, 1.0), RULES, []) == [(0.0, 3.0)]


def test_lengths_stay_under_the_longest_and_lap() -> None:
    for found in (equal_lengths(0.0, 13.0, RULES), lengths_by_shape([box(0, 0, 13.0, 1.0)], (0.0, 0.0, 13.0, 1.0), RULES, [])):
        assert len(found) >= 3
        assert all(b - a <= RULES.longest_m + 1e-9 for a, b in found)
        assert all(end - start == pytest.approx(RULES.lap_m) for (_, end), (start, _) in pairwise(found))
        assert (found[0][0], found[-1][1]) == pytest.approx((0.0, 13.0))


def test_strips_of_a_field_can_all_be_narrow() -> None:
    room = planned(box_job()).room
    terrain = Terrain(room, 0.0635, lambda _a, _b: 0.0635)
    wall = next(f.id for f in room.facets if f.kind is FacetKind.WALL)
    field = develop(terrain, wall, ())
    assert field is not None
    rules = SheetRules(0.0635, 1.0, 6.0, "sheet", "membrane", frozenset(), 0.1, 0.08)
    first, all_narrow = (sorted(d.size_m()[1] for d in lay_strips(terrain, field, rules, Strips(UPRIGHT, False, 0.4, False, narrow)))
                         for narrow in (False, True))
    assert all_narrow[-1] <= 0.4 + 1e-9 < first[-1]
    assert len(all_narrow) > len(first)


def test_the_quick_length_is_that_of_a_cutting() -> None:
    sizes = [(2.2, 1.0), (2.2, 0.6), (0.4, 1.0), (1.1, 0.38), (0.9, 0.5), (0.5, 0.5)]
    blanks = [Blank(f"b{k}", a, b, True) for k, (a, b) in enumerate(sizes)]
    quick = quick_length_m(blanks, 1.0, 30.0)
    assert roll_bound(blanks, 1.0, 30.0).length_m <= quick + 1e-9
    assert sum(best_cut(blanks, 1.0, 30.0, work=40).cutting.used_length_m) <= quick + 1e-9
    assert quick < sum(b.length_m for b in blanks)
    with pytest.raises(InfeasibleError):
        quick_length_m([Blank("wide", 2.0, 1.2, True)], 1.0, 30.0)


def test_a_longer_search_saves_and_gives_the_same_layout_twice() -> None:
    short, long = (planned({**random_case(50).job, "covering": {"effort": n}}) for n in (0, 60))
    again = build(job_of({**random_case(50).job, "covering": {"effort": 60}}), CATALOG)
    assert long.covering.proof.tight
    assert long.covering.account.usd < 0.99 * short.covering.account.usd
    assert long.covering.scheme == again.covering.scheme
    assert long.covering.pieces == again.covering.pieces


def test_bands_stay_as_they_lie_on_their_narrow_roll() -> None:
    slanted = Motion.rotation(np.radians(35.0)).polygon(box(0, 0, 2.0, 0.5))
    band = Draft(Role.BAND, "band", "membrane", [Part("facet-01", slanted, Motion.identity())])
    assert squared(band, 1.0, 6.0) is band
