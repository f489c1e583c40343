"""The order: packs rounded up, every piece on exactly one line."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steamwright.buildup.catalog import load_catalog
from steamwright.covering.boards.lay import lay_boards
from steamwright.covering.model import Cut, Piece
from steamwright.errors import JobError, SolveError
from steamwright.estimate.inputs import Prices
from steamwright.estimate.order import may_be_ordered, order_lines, orderable, packs_for
from steamwright.estimate.quantities import bead_per_cartridge_m, mortar_need, square_notch_bed_m, v_notch_bed_m
from steamwright.plan.priced import refuse_unknown_items
from steamwright.room.model import Face
from tests import plans

INCH_M = 0.0254
SHIPPED = load_catalog()
BOARDS = lay_boards(plans.box(Face.FRAMING, 0.0132), plans.box(), (plans.buildup(),), SHIPPED, plans.covering().pieces, {}, None)
CATALOG = replace(SHIPPED, corner_pieces=tuple(replace(c, pack=4.0) for c in SHIPPED.corner_pieces))


def lines(covering=None, prices=None, solid=None):
    return order_lines(covering or plans.covering(), CATALOG, prices or Prices(), BOARDS, solid or plans.box(), plans.pan())


@given(st.floats(0, 1e5), st.floats(1e-3, 1e4))
def test_packs_cover_the_need_and_no_pack_is_too_many(need, pack):
    packs = packs_for(need, pack)
    assert packs * pack >= need
    assert packs == 0 or (packs - 1) * pack < need


@pytest.mark.parametrize(("need", "pack", "packs"), [(0.1 * 3, 0.1, 3), (8.0, 4.0, 2), (8.0001, 4.0, 3), (0.0, 5.0, 0), (0.01, 5.0, 1)])
def test_packs_at_the_edge(need, pack, packs):
    assert packs_for(need, pack) == packs


@pytest.mark.parametrize(("need", "pack"), [(-1.0, 1.0), (1.0, 0.0), (1.0, -2.0), (float("nan"), 1.0)])
def test_what_cannot_be_bought_is_refused(need, pack):
    with pytest.raises(ValueError, match="cannot be bought"):
        packs_for(need, pack)


def test_every_piece_stands_on_exactly_one_line():
    covering = plans.covering()
    listed = [p for line in lines(covering) for p in line.pieces]
    assert sorted(listed) == sorted([*(p.id for p in covering.pieces), *(b.id for b in BOARDS.pieces)])


def test_pieces_stand_on_the_line_of_their_roll():
    by_item = {line.item: line for line in lines()}
    assert by_item["sheet 0.5 perm"].pieces == ("S1",)
    assert by_item["band 5 in 0.5 perm"].pieces == ("B1",)
    assert by_item["sheet 0.5 perm"].unit == "roll"
    assert by_item["sheet 0.5 perm"].packs == 1


def test_ready_made_pieces_are_counted_and_rounded_up_to_the_catalogs_pack():
    covering = plans.covering()
    corner = next(p for p in covering.pieces if p.id == "K1")
    more = tuple(replace(corner, id=f"K{n}") for n in range(2, 6))
    line = next(x for x in lines(replace(covering, pieces=covering.pieces + more)) if x.item == "corner inside 90")
    assert (line.need, line.pack, line.packs) == (5.0, 4.0, 2)
    assert line.pieces == ("K1", "K2", "K3", "K4", "K5")
    assert line.name == "inside corner piece, 90 deg"


def test_prices_and_packs_of_the_job_win():
    prices = Prices.model_validate({"item": {"corner inside 90": {"usd": 7.25, "pack": 1}, "membrane mortar": {"usd": 31.0}}})
    by_item = {line.item: line for line in lines(prices=prices)}
    assert by_item["corner inside 90"].usd == pytest.approx(7.25)
    assert by_item["membrane mortar"].usd == pytest.approx(31.0 * by_item["membrane mortar"].packs)
    assert by_item["sheet 0.5 perm"].usd is None


def test_a_blank_without_a_roll_is_refused():
    covering = plans.covering()
    lost: tuple[Piece, ...] = tuple(replace(p, cut=Cut("roll-9", 0.0, 0.0)) if p.id == "S1" else p for p in covering.pieces)
    with pytest.raises(SolveError, match="S1"):
        lines(replace(covering, pieces=lost))


def test_mortar_follows_area_and_bed():
    need = mortar_need(plans.covering())
    area = sum(p.polygon.area for piece in plans.covering().pieces for p in piece.patches)
    assert need.area_m2 == pytest.approx(area)
    assert need.bed_m == pytest.approx(3 / 16 * INCH_M * 2**-0.5 / 2)
    assert need.mass_kg == pytest.approx(area * need.bed_m / (0.55 * 0.3048**3) * 22.68, rel=1e-6)


def test_sealant_follows_the_rims_that_a_sealant_closes():
    by_item = {line.item: line for line in lines()}
    solid = plans.box()
    inside = sum(math.dist(j.start_m, j.end_m) for j in solid.joints if j.kind == "inside")
    assert inside > 5.0
    assert by_item["sealant"].need == pytest.approx(2 * (0.4 + 0.5) + inside)
    clamped = replace(solid, rims=tuple(replace(r, sealed_by="clamped to the flange") for r in solid.rims), joints=())
    assert "sealant" not in {line.item for line in lines(solid=clamped)}


def test_a_job_in_inches_is_ordered_in_pounds_feet_and_cubic_feet() -> None:
    args = (plans.covering(), CATALOG, Prices(), BOARDS, plans.box(), plans.pan())
    inch, metric = ({line.item: line for line in order_lines(*args, system)} for system in ("inch", "metric"))
    for item, unit, si in (("membrane mortar", "lb", 0.45359237), ("sealant", "ft", 0.3048), ("pan bed mortar", "ft³", 28.316847)):
        assert inch[item].unit == unit
        assert inch[item].need * si == pytest.approx(metric[item].need, rel=1e-3)
        assert inch[item].packs == metric[item].packs
    words = " ".join(line.reason for line in inch.values())
    assert not re.search(r"\d (mm|m²|L|kg)\b", words)


def test_boards_and_screws_are_counted():
    by_item = {line.item: line for line in lines()}
    board = by_item["cement board 1/2 in"]
    assert board.need == board.packs == len(BOARDS.stock)
    assert set(board.pieces) == {b.id for b in BOARDS.pieces}
    assert board.need * 0.9144 * 1.524 > sum(b.patch.polygon.area for b in BOARDS.pieces) > 8.0
    screws = [line for line in lines() if line.item.startswith("screw")]
    assert [line.need for line in screws] == [len(BOARDS.fasteners)]
    assert not any("washer" in line.item for line in lines())


@pytest.mark.parametrize(("w", "d", "s", "inches"), [(0.25, 0.25, 0.25, 0.0884), (0.25, 0.375, 0.25, 0.1326), (0.5, 0.5, 0.5, 0.1768)])
def test_square_notch_against_its_printed_values(w, d, s, inches):
    assert square_notch_bed_m(w * INCH_M, d * INCH_M, s * INCH_M, 45.0) / INCH_M == pytest.approx(inches, abs=5e-5)


def test_notches_out_of_range_are_refused():
    for bad in (lambda: v_notch_bed_m(0.0, 45.0), lambda: v_notch_bed_m(0.01, 91.0), lambda: square_notch_bed_m(0.0, 0.01, 0.01, 45.0)):
        with pytest.raises(ValueError, match="mortar"):
            bad()


def test_a_cartridge_gives_the_printed_length():
    assert bead_per_cartridge_m() / 0.3048 == pytest.approx(24.3, abs=0.05)


def test_the_bed_of_the_pan_is_ordered_by_its_volume():
    line = next(x for x in lines() if x.item == "pan bed mortar")
    assert line.need == pytest.approx(plans.pan().bed_volume_m3 * 1000)
    assert line.packs == 4  # 50 L in bags of 14.16 L


def test_prices_of_what_no_order_has_are_told_all_at_once_with_what_was_meant():
    known = ("sheet 0.5 perm", "sealant", "membrane mortar", "washer 1 1/4 in", "pan bed mortar", 'wood screw, 1 5/8", corrosion-resistant')
    refuse_unknown_items(Prices.model_validate({"item": {name: {"usd": 1.0} for name in known}}), SHIPPED)
    said = Prices.model_validate({"item": {"corner insde 90": {"usd": 1.0}, "sealant": {"usd": 2.0}, "grout": {"pack": 3.0}}})
    with pytest.raises(JobError) as caught:
        refuse_unknown_items(said, SHIPPED)
    first, second = caught.value.mistakes
    assert (first.path, second.path) == ("prices.item.corner insde 90", "prices.item.grout")
    assert "corner inside 90" in first.hint


def test_every_line_may_be_priced():
    assert all(may_be_ordered(line.item, orderable(CATALOG)) for line in lines())
