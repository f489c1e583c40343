"""Stacks of layers: faces, permeance, mass, and which build-up lies where."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.faces import GROUP_OF_KIND, Faces
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.model import BuildUp
from steamwright.buildup.stack import build_stacks, series_permeance_kg_pa_s_m2, with_facets
from steamwright.errors import InputError, OutOfRangeError
from steamwright.room.model import CoveredBy, Face, FacetKind
from steamwright.units import INCH_M, PERM_KG_PA_S_M2

STEAM = ("porcelain tile", "modified dry-set mortar", "sheet membrane 0.5 perm", "modified dry-set mortar", "cement board 1/2 in")
BEHIND = ("mineral wool batt", "gypsum board 1/2 in")
WOOD = {"kind": "wood stud", "depth": "3 1/2 in", "spacing": "16 in"}


def choice(layers: tuple[Any, ...], name: str = "walls", on: tuple[str, ...] = ("walls",), **more: Any) -> BuildUpChoice:
    rows = [row if isinstance(row, dict) else {"material": row} for row in layers]
    return BuildUpChoice.model_validate({"name": name, "on": on, "layers": rows, "framing": WOOD} | more, context={"typed": True})


def stack(*choices: BuildUpChoice) -> tuple[BuildUp, ...]:
    return build_stacks(choices, load_catalog())


def test_faces_run_from_the_framing_into_the_air() -> None:
    (b,) = stack(choice(STEAM + BEHIND))
    assert b.to_board_m == pytest.approx(0.0127)
    assert b.to_membrane_m == pytest.approx(0.0127 + 0.0024 + 0.0005)
    assert b.to_tile_m == pytest.approx(b.to_membrane_m + 0.0024 + 0.0095)


def test_rigid_insulation_before_a_filled_cavity_stands_in_front_of_the_framing() -> None:
    rigid = {"material": "extruded polystyrene board", "thickness": "1 in"}
    front, = stack(choice((*STEAM, rigid, *BEHIND)))
    inside, = stack(choice((*STEAM, rigid, "gypsum board 1/2 in")))
    assert front.to_board_m == pytest.approx(0.0127 + 0.0254)
    assert inside.to_board_m == pytest.approx(0.0127)


def test_on_concrete_all_that_is_before_the_concrete_stands_in_front() -> None:
    rigid = {"material": "extruded polystyrene board", "thickness": "2 in"}
    b, = stack(choice((*STEAM, rigid, {"material": "concrete", "thickness": "8 in"}), framing={"kind": "concrete"}))
    assert b.to_membrane_m == pytest.approx(0.0508 + 0.0127 + 0.0029)


def test_the_bed_of_a_floor_belongs_to_the_pan() -> None:
    bed = {"material": "bed mortar", "thickness": "1 1/2 in"}
    floor = (*STEAM[:4], bed, "plywood 3/4 in")
    on_floor, on_bench = stack(choice(floor, on=("floor",)), choice(floor, name="benches", on=("benches",)))
    assert on_bench.to_membrane_m - on_floor.to_membrane_m == pytest.approx(1.5 * INCH_M)


def test_mass_is_that_of_all_layers() -> None:
    b, = stack(choice(STEAM + BEHIND))
    assert b.mass_kg_m2 == pytest.approx(0.0095 * 2300 + 2 * 0.0024 * 1600 + 0.0005 * 600 + 0.0127 * 1150 + 0.0889 * 30 + 0.0127 * 640)


def test_permeance_of_two_equal_layers_is_half() -> None:
    assert series_permeance_kg_pa_s_m2([4e-11, 4e-11]) == pytest.approx(2e-11)
    assert series_permeance_kg_pa_s_m2([4e-11, None]) == pytest.approx(4e-11)
    assert series_permeance_kg_pa_s_m2([None]) is None
    assert series_permeance_kg_pa_s_m2([4e-11, 0.0]) == 0.0


def test_tile_is_given_no_vapor_resistance() -> None:
    tiled, bare = stack(choice(STEAM, framing={"kind": "none"}), choice(STEAM[1:], name="bare", framing={"kind": "none"}))
    assert tiled.permeance_kg_pa_s_m2 == bare.permeance_kg_pa_s_m2
    assert tiled.layers[0].permeance_kg_pa_s_m2 is None


def test_the_membrane_keeps_its_own_permeance_and_procedure() -> None:
    b, = stack(choice(STEAM + BEHIND))
    assert b.membrane_permeance_kg_pa_s_m2 is not None
    assert b.membrane_permeance_kg_pa_s_m2 / PERM_KG_PA_S_M2 == pytest.approx(0.5, rel=1e-6)
    assert b.membrane_procedure == "ASTM E96 procedure E"
    assert b.permeance_kg_pa_s_m2 is not None
    assert b.permeance_kg_pa_s_m2 < b.membrane_permeance_kg_pa_s_m2


FIXED = sorted(m.id for m in load_catalog().materials.values() if m.thickness_m is not None and m.role != "membrane")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(FIXED), min_size=1, max_size=6), st.sampled_from(FIXED))
def test_a_layer_more_never_lets_more_vapor_or_heat_through(layers: list[str], more: str) -> None:
    base, thick = stack(choice(("sheet membrane 2 perm", *layers), framing={"kind": "none"}),
                        choice(("sheet membrane 2 perm", *layers, more), name="more", framing={"kind": "none"}))
    assert thick.permeance_kg_pa_s_m2 is not None
    assert base.permeance_kg_pa_s_m2 is not None
    assert thick.permeance_kg_pa_s_m2 <= base.permeance_kg_pa_s_m2
    assert thick.r_m2k_w >= base.r_m2k_w
    assert thick.mass_kg_m2 > base.mass_kg_m2


def test_unknown_material_names_its_place_and_its_neighbours() -> None:
    with pytest.raises(InputError) as caught:
        stack(choice(STEAM), choice((*STEAM[:4], "cement bord 1/2 in"), name="other"))
    assert caught.value.path == "buildup[1].layers[4].material"
    assert "cement board 1/2 in" in caught.value.hint


def test_a_thickness_that_is_missing_or_does_not_exist() -> None:
    with pytest.raises(InputError) as caught:
        stack(choice((*STEAM, "expanded polystyrene board")))
    assert caught.value.path == "buildup[0].layers[5].thickness"
    with pytest.raises(OutOfRangeError) as out:
        stack(choice((*STEAM[:2], {"material": "sheet membrane 0.5 perm", "thickness": "1/8 in"})))
    assert out.value.path == "buildup[0].layers[2].thickness"


def test_a_cavity_is_as_thick_as_its_framing() -> None:
    b, = stack(choice(STEAM + BEHIND))
    assert b.layers[5].thickness_m == pytest.approx(3.5 * INCH_M)
    with pytest.raises(InputError, match="give the framing a depth"):
        stack(choice(STEAM + BEHIND, framing={"kind": "wood stud"}))


@pytest.mark.parametrize(("layers", "more", "words"), [
    (("porcelain tile", "cement board 1/2 in"), {}, "no layer of it is one"),
    ((*STEAM, "sheet membrane 0.1 perm"), {}, "has 2 membranes"),
    (STEAM, {"alternative_to": "nowhere"}, "no other build-up is named 'nowhere'"),
])
def test_stacks_that_cannot_be(layers: tuple[str, ...], more: dict[str, str], words: str) -> None:
    with pytest.raises(InputError, match=words):
        stack(choice(layers, **more))


def test_two_of_one_name() -> None:
    with pytest.raises(InputError) as caught:
        stack(choice(STEAM), choice(STEAM))
    assert caught.value.path == "buildup[1].name"


def test_steel_studs_say_what_the_r_value_leaves_out() -> None:
    wood, steel = stack(choice(STEAM + BEHIND), choice(STEAM + BEHIND, name="s", framing=WOOD | {"kind": "steel stud"}))
    assert "steel framing lowers it" in steel.notes[0]
    assert "wood framing is taken as 20%" in wood.notes[0] or "19%" in wood.notes[0]
    assert wood.r_m2k_w < steel.r_m2k_w


def test_the_exact_surface_wins_over_fixture_and_group() -> None:
    walls, wall, bench, ceiling = stack(choice(STEAM), choice(STEAM, "special", ("A-B",)), choice(STEAM, "bench", ("bench 1",)),
                                        choice(STEAM, "ceiling", ("ceiling", "benches")))
    faces = Faces((walls, wall, bench, ceiling))
    assert faces.buildup_of("A-B", FacetKind.WALL) == wall
    assert faces.buildup_of("B-C", FacetKind.WALL) == walls
    assert faces.buildup_of("bench 1 top", FacetKind.BENCH_TOP) == bench
    assert faces.buildup_of("bench 10 top", FacetKind.BENCH_TOP) == ceiling
    nested = Faces((dataclasses.replace(walls, on=("bench",)), bench))
    assert nested.buildup_of("bench 1 top", FacetKind.BENCH_TOP) == bench
    assert faces.buildup_of("niche 1 back", FacetKind.NICHE_BACK) is None


def test_every_covered_kind_has_a_group() -> None:
    assert set(FacetKind) - set(GROUP_OF_KIND) == {FacetKind.OPENING}


def test_depths_by_face() -> None:
    b, = stack(choice(STEAM + BEHIND))
    faces = Faces((b,))
    depths = [faces.depth_m("A-B", FacetKind.WALL, f) for f in (Face.FRAMING, Face.BOARD, Face.MEMBRANE, Face.TILE)]
    assert depths == pytest.approx([0.0, 0.0127, 0.0156, 0.0275])
    assert faces.depth_m("door", FacetKind.OPENING, Face.TILE) == 0.0


def test_a_covered_surface_without_build_up_is_named() -> None:
    faces = Faces(stack(choice(STEAM)))
    with pytest.raises(InputError) as caught:
        faces.covering("ceiling", FacetKind.CEILING)
    assert "'ceiling'" in caught.value.detail
    with pytest.raises(InputError, match="bench 1 top"):
        faces.depth_m("bench 1 top", FacetKind.BENCH_TOP, Face.MEMBRANE)


def test_who_makes_a_surface_tight() -> None:
    foam = ("porcelain tile", "modified dry-set mortar", "foam-core coated board 1/2 in")
    sheet, board, liquid = stack(choice(STEAM), choice(foam, "ceiling", ("ceiling",), covering="sealed foam board"),
                                 choice(foam, "bench", ("benches",), covering="liquid membrane"))
    faces = Faces((sheet, board, liquid), liner_pan=True)
    assert faces.covering("A-B", FacetKind.WALL) == (CoveredBy.PIECES, "", sheet.id)
    by, reason, buildup = faces.covering("ceiling", FacetKind.CEILING)
    assert (by, buildup) == (CoveredBy.OTHER, board.id)
    assert reason.startswith("not proven by this tool")
    assert faces.covering("bench 1 top", FacetKind.BENCH_TOP)[1].startswith("not proven by this tool: liquid")
    assert faces.covering("door", FacetKind.OPENING) == (CoveredBy.NONE, "", None)
    by, reason, buildup = faces.covering("floor", FacetKind.FLOOR)
    assert (by, buildup) == (CoveredBy.OTHER, None)
    assert "liner" in reason
    assert faces.depth_m("floor", FacetKind.FLOOR, Face.MEMBRANE) == 0.0


def test_one_surface_under_two_build_ups_is_refused_but_an_alternative_is_not() -> None:
    with pytest.raises(InputError, match="covered by two build-ups"):
        Faces(stack(choice(STEAM), choice(STEAM, "again")))
    first, other = stack(choice(STEAM), choice(STEAM, "again", alternative_to="walls"))
    assert Faces((first, other)).buildup_of("A-B", FacetKind.WALL) == first


def test_names_that_meet_nothing_are_told() -> None:
    faces = Faces(stack(choice(STEAM, on=("walls", "A-Q", "bench 1"))))
    assert faces.unused_names([("A-B", FacetKind.WALL), ("bench 1 top", FacetKind.BENCH_TOP)]) == ("A-Q",)
    with pytest.raises(InputError) as caught:
        faces.refuse_unmet_names([("A-B", FacetKind.WALL), ("bench 1 top", FacetKind.BENCH_TOP)])
    assert caught.value.path == "buildup[0].on[1]"
    assert "'A-B'" in caught.value.hint


def test_facets_are_noted_on_their_build_up() -> None:
    a, b = with_facets(stack(choice(STEAM), choice(STEAM, "b", ("ceiling",))), [("buildup-02", "facet-09"), ("buildup-01", "facet-01")])
    assert (a.facets, b.facets) == (("facet-01",), ("facet-09",))


def test_a_board_that_is_not_in_the_catalog_brings_the_list_of_boards():
    said = {"name": "x", "on": ["walls"], "layers": [{"material": "backer board 5/8"}]}
    choice = BuildUpChoice.model_validate(said, context={"typed": True})
    with pytest.raises(InputError) as caught:
        build_stacks([choice], load_catalog())
    boards = [m.id for m in load_catalog().materials.values() if m.role == "board"]
    assert len(boards) > 2
    assert all(b in str(caught.value) for b in boards)
