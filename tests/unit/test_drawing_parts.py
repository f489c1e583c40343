"""What sheets are put together from: lettering, labels, dimensions, scales."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.drawing.arcs import arcs_of
from steamwright.drawing.digest import digest, piece_marks
from steamwright.drawing.dimension import Mark, Row, running, single, slope_text
from steamwright.drawing.frame import INCH_SCALES, choose_scale, shorten
from steamwright.drawing.labels import Placer, around, outward_first, readable_turn_deg, spread, upright_box
from steamwright.drawing.pens import BAND, CORNER, HATCHES, PENS, SHEET_A, SHEET_B
from steamwright.drawing.scene import Text
from steamwright.drawing.sheets.patterns import spots_of
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import Box, text_box, width_mm, wrap
from tests import drawing_room

WORDS = st.text(alphabet="abcdefgh mnop 0123456789'\"/", min_size=1, max_size=120)


@given(st.lists(st.tuples(st.floats(0, 300), st.floats(2, 40)), min_size=1, max_size=12))
@settings(max_examples=150, deadline=None)
def test_spread_labels_never_touch_and_stay_in_order(labels: list[tuple[float, float]]) -> None:
    labels.sort()
    wanted, sizes = [x for x, _ in labels], [w for _, w in labels]
    middles = spread(wanted, sizes, 0.0, 300.0, 2.0)
    for (a, wa), (b, wb) in zip(zip(middles, sizes, strict=True), list(zip(middles, sizes, strict=True))[1:], strict=False):
        assert b - a >= (wa + wb) / 2 + 2.0 - 1e-6
    if sum(sizes) + 2.0 * (len(sizes) - 1) <= 300.0:
        assert middles[0] - sizes[0] / 2 >= -1e-6
        assert middles[-1] + sizes[-1] / 2 <= 300.0 + 1e-6


def test_spread_leaves_labels_that_have_room_where_they_are() -> None:
    assert spread([10.0, 50.0, 90.0], [10.0, 10.0, 10.0], 0.0, 100.0, 2.0) == pytest.approx((10.0, 50.0, 90.0))
    assert spread([50.0, 50.0], [10.0, 10.0], 0.0, 100.0, 2.0) == pytest.approx((44.0, 56.0))


@given(WORDS, st.floats(20, 120))
@settings(max_examples=120, deadline=None)
def test_wrapped_lines_fit_and_lose_no_letter(words: str, room: float) -> None:
    lines = wrap(words, 3.0, room)
    assert all(width_mm(line, 3.0) <= room + 1e-9 for line in lines)
    assert "".join("".join(lines).split()) == "".join(words.split())


@given(st.floats(16, 120))
@settings(max_examples=60, deadline=None)
def test_no_line_ends_within_a_length_that_it_could_hold(room: float) -> None:
    whole = ['2 1/16";', "1' 9 3/16\"", "0.4 in/ft.", "360 lb"]
    lines = wrap(f"Bed at its thickest {whole[0]} across {whole[1]}, at {whole[2]} Water: {whole[3]} in all", 3.0, room)
    for one in whole:
        assert any(one in line for line in lines) or width_mm(one + ",", 3.0) > room
    assert wrap("1' 9 3/16\"", 3.0, 12.0) == ("1' 9", '3/16"')


@given(WORDS)
@settings(max_examples=60, deadline=None)
def test_shortened_lettering_fits(words: str) -> None:
    assert width_mm(shorten(words, 3.0, 40.0), 3.0) <= 40.0
    assert shorten(words, 3.0, 1e4) == words


def test_widths_are_those_of_the_font() -> None:
    try:
        font = TTFont("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf")
    except OSError:
        pytest.skip("the font is not installed")
    advance = sum(font["hmtx"][font.getBestCmap()[ord(c)]][0] for c in "7' 6 1/2\" wall") / 2048
    assert width_mm("7' 6 1/2\" wall", 0.729) == pytest.approx(advance, abs=1e-3)


def test_turned_boxes_that_cross_overlap_and_neighbours_do_not() -> None:
    level = text_box(Text((0.0, 0.0), "level line", 5.0, "middle"))
    assert level.overlaps(text_box(Text((0.0, -2.5), "upright", 5.0, "middle", turn_deg=90.0)))
    assert not level.overlaps(text_box(Text((0.0, 20.0), "level line", 5.0, "middle")))
    diagonal = Box(((0.0, 0.0), (10.0, 10.0), (9.0, 11.0), (-1.0, 1.0)))
    assert not diagonal.overlaps(upright_box(6.0, 0.0, 10.0, 4.0)), "their upright boxes overlap, they do not"


def test_a_taken_place_is_not_given_away() -> None:
    placer = Placer()
    first = placer.put(around(50.0, 50.0, "B12", 8.0, 5.0))
    second = placer.put(around(50.0, 50.0, "B13", 8.0, 5.0))
    assert first is not None
    assert second is not None
    assert not text_box(first).overlaps(text_box(second))
    placer.take(upright_box(-500.0, -500.0, 500.0, 500.0))
    assert placer.put(around(50.0, 50.0, "B14", 8.0, 5.0)) is None


def test_lettering_keeps_off_strokes_while_it_has_another_place() -> None:
    on, clear = Text((50.0, 52.0), "bench", 4.0, "middle"), Text((50.0, 80.0), "bench", 4.0, "middle")
    placer = Placer()
    placer.keep_off((0.0, 50.0), (100.0, 50.0))
    assert placer.put([on, clear]) == clear
    assert placer.put([on]) == on, "crossing a stroke is better than saying nothing"
    assert placer.put([on]) is None


def test_labels_are_sought_outward_first() -> None:
    texts = outward_first(around(0.0, 0.0, "x", 5.0, 5.0), 0.0, 0.0, 100.0, 0.0)
    assert texts[0].at_mm[0] < 0


@given(st.floats(-720, 720))
@settings(max_examples=60, deadline=None)
def test_lettering_reads_from_below_or_from_the_right(turn: float) -> None:
    read = readable_turn_deg(turn)
    assert -80.0 <= read < 100.0
    assert math.isclose(math.sin(math.radians(2 * (read - turn))), 0.0, abs_tol=1e-9)
    assert math.isclose(math.cos(math.radians(2 * (read - turn))), 1.0, abs_tol=1e-9)


def test_a_running_dimension_measures_from_its_origin() -> None:
    sketch = Sketch()
    running(sketch, Row(False, 100.0, 1, 50.0, 0.0, 300.0, 62.5, "inch"), [Mark(50.0 + 62.5 * v, 90.0, v) for v in (-0.3048, 0.6096, 0.0)])
    page = sketch.finish("x", "1", "x", 400.0, 300.0)
    assert sorted(m.content for m in page.measures) == ["1' 0\"", "2' 0\""]
    assert {m.start_mm for m in page.measures} == {(50.0, 100.0)}


def test_a_single_dimension_finds_no_room_on_a_full_sheet() -> None:
    sketch = Sketch()
    sketch.placer.take(upright_box(-900.0, -900.0, 900.0, 900.0))
    assert single(sketch, (0.0, 0.0), (100.0, 0.0), 10.0, 1.0, 100.0, "metric") is None
    assert sketch.finish("x", "1", "x", 400.0, 300.0).layers == ()


def test_slopes_are_read_to_the_sixteenth() -> None:
    assert slope_text(0.0208351, "inch") == "1/4 in/ft"
    assert slope_text(1 / 6, "inch") == "2 in/ft"
    assert slope_text(0.0278, "inch") == "0.33 in/ft"
    assert slope_text(1 / 6, "metric") == "16.67 %"


def test_the_largest_scale_that_fits_is_taken() -> None:
    d = digest(drawing_room.plan())
    k, label = choose_scale(d, 2.4, 2.0, 200.0, 200.0)
    assert label == '1" = 1\' 0"'
    assert 2.4 * k <= 200.0 < 2.4 * 1000 * INCH_SCALES[1][0]


def test_marks_are_short_and_never_twice() -> None:
    pieces = drawing_room.covering(drawing_room.solid()).pieces
    marks = piece_marks(pieces)
    assert marks["S001"] == "S1"
    assert len(set(marks.values())) == len(pieces)
    twins = (pieces[0], type(pieces[0])("S1", pieces[0].role, "", "", (), None))
    assert piece_marks(twins) == {"S001": "S001", "S1": "S1"}


def test_pieces_are_told_apart_without_colour() -> None:
    def gray(color: str) -> float:
        r, g, b = (int(color[k : k + 2], 16) for k in (1, 3, 5))
        return 0.299 * r + 0.587 * g + 0.114 * b

    tones = [gray(c) for c in (SHEET_A, SHEET_B, BAND, CORNER)]
    assert all(a - b > 12 for a, b in pairwise(tones))
    hatches = [(HATCHES[n].angle_deg, HATCHES[n].crossed) for n in ("lap", "band_lap", "corner_lap")]
    assert len(set(hatches)) == 3
    assert PENS["hidden"].dash_mm
    assert not PENS["edge"].dash_mm
    assert PENS["outline"].width_mm >= 2 * PENS["edge"].width_mm


@pytest.mark.parametrize("start", range(0, 40, 7))
def test_a_round_notch_is_an_arc_wherever_its_ring_begins(start: int) -> None:
    plate = shapely.box(0.0, 0.0, 0.7, 1.0).difference(shapely.Point(0.03, 0.3).buffer(0.0635, quad_segs=16))
    ring = list(plate.exterior.coords[:-1])
    ring = ring[start:] + ring[:start]
    (arc,) = arcs_of(ring)
    assert arc.center_m == pytest.approx((0.03, 0.3), abs=1e-5)
    assert arc.radius_m == pytest.approx(0.0635, abs=1e-5)
    ends = [ring[arc.first], ring[(arc.first + arc.count - 1) % len(ring)]]
    assert [x for x, _ in ends] == pytest.approx([0.0, 0.0], abs=1e-9)
    pattern = [s for s in spots_of(ring, "cut", 0.7, 1.0) if s.what == "arc"]
    assert [s.diameter_m for s in pattern] == pytest.approx([0.127], abs=1e-5)
    assert len(spots_of(ring, "cut", 0.7, 1.0)) == 4 + 2 + 1
    assert len(spots_of(ring, "cut", 0.02, 1.0)) == len(ring)  # the middle lies off the blank


def test_only_what_is_round_is_an_arc() -> None:
    (hole,) = arcs_of(shapely.Point(0.2, 0.1).buffer(0.0127, quad_segs=8).exterior.coords[:-1])
    assert hole.whole
    assert 2 * hole.radius_m == pytest.approx(0.0254)
    assert arcs_of(shapely.box(0.0, 0.0, 0.1, 0.1).exterior.coords[:-1]) == ()
    octagon = [(0.3 * math.cos(k * math.pi / 4), 0.3 * math.sin(k * math.pi / 4)) for k in range(8)]
    assert arcs_of(octagon) == ()
    teeth = [(0.02 * k, 0.01 * (k % 2)) for k in range(12)]
    assert arcs_of([*teeth, (0.24, 1.0), (0.0, 1.0)]) == ()
