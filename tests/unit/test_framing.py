"""Studs, tracks, corners and screws: bounds by hand, and the dew point of the vapor at cold places."""

from __future__ import annotations

import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.model import BuildUp
from steamwright.buildup.stack import build_stacks
from steamwright.physics.heat_plane import solve_section
from steamwright.vapor.climate import climate_named
from steamwright.vapor.framing import FramingHeat, frame_of, framing_heat
from steamwright.vapor.framing_sections import INSIDE_K, OUTSIDE_K, corner_section, stud_section
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.monthly import completed
from steamwright.vapor.practice import practice
from steamwright.vapor.sides import side

CATALOG = load_catalog()
FAR = side("outdoors north", climate_named("cold humid"))
TIGHT = ({"material": "porcelain tile"}, {"material": "modified dry-set mortar", "thickness": "1/8 in"},
         {"material": "sheet membrane 0.5 perm"}, {"material": "cement board 1/2 in"}, {"material": "mineral wool batt"})
OPEN = tuple(layer for layer in TIGHT if "membrane" not in layer["material"])


def built(layers: tuple[dict[str, str], ...] = TIGHT, kind: str = "wood stud", depth: str = "3 1/2 in") -> BuildUp:
    framing = {"kind": kind, "depth": depth, "spacing": "16 in"} if kind.split()[-1] in ("stud", "joist") else {"kind": kind}
    covering = "sheet membrane" if layers is not OPEN else "none"
    (made,) = build_stacks([BuildUpChoice.model_validate({"name": "a", "on": ("walls",), "layers": layers, "framing": framing,
                                                          "covering": covering})], CATALOG)
    return made


def heat(b: BuildUp, **use: object) -> FramingHeat:
    found = framing_heat(b, FAR, SteamUse(**use), CATALOG.materials)  # type: ignore[arg-type]
    assert found is not None
    return found


def test_a_wood_stud_lies_between_both_bounds() -> None:
    b = built()
    got = heat(b)
    f = frame_of(b, completed(b, FAR, CATALOG.materials, False), 1.0 / FAR.film_w_m2k)
    assert f is not None
    share = practice("framing.wood_wide_m") / f.spacing_m
    films = f.inside_m2k_w + f.outside_m2k_w
    plain = [d / k for d, k in (*f.before, *f.behind)]
    bay, wood = f.bay[0] / f.bay[1], f.bay[0] / practice("framing.wood_w_mk")
    parallel = (1.0 - share) / (films + sum(plain) + bay) + share / (films + sum(plain) + wood)
    planes = 1.0 / (films + sum(plain) + 1.0 / ((1.0 - share) / bay + share / wood))
    assert parallel < got.u_w_m2k < planes
    assert got.u_between_w_m2k == pytest.approx(1.0 / (films + sum(plain) + bay))
    assert got.psi_stud_w_mk == pytest.approx((got.u_w_m2k - got.u_between_w_m2k) * f.spacing_m)
    assert got.halved_change < 0.002


def test_steel_costs_more_and_its_face_is_colder() -> None:
    wood, steel = heat(built()), heat(built(kind="steel stud", depth="3 5/8 in"))
    assert steel.psi_stud_w_mk > 2.0 * wood.psi_stud_w_mk
    assert steel.places[0].share < wood.places[0].share - 0.15
    # The corner loses more than its walls by inside measures, and is the coldest of all.
    assert min(steel.places, key=lambda p: p.share).name == "post in the corner"
    assert steel.psi_corner_w_mk is not None
    assert wood.psi_corner_w_mk is not None
    assert steel.psi_corner_w_mk > steel.psi_stud_w_mk
    assert 0.0 < wood.chi_screw_w_k < 0.005
    assert 0.3 * wood.u_between_w_m2k * 0.0889 < wood.psi_corner_w_mk < 0.1


def test_a_corner_without_posts_is_near_the_known_shape() -> None:
    # A square corner of one material, by inside measures: two walls and 0.54 of the material's conductivity.
    from steamwright.vapor.framing_sections import Frame

    one = Frame(((0.01, 0.5),), (0.28, 0.5), ((0.01, 0.5),), "wood", 0.001, 0.4, 1e-4, 1e-4, False)
    section = corner_section(one)
    blocks = tuple(b for b in section.blocks if b.conductivity_w_mk != practice("framing.wood_w_mk"))
    field = solve_section(type(section)(section.width_m, section.height_m, blocks, section.surfaces), 3)
    entering = sum(h for h in field.heat_w_m if h > 0.0) / (INSIDE_K - OUTSIDE_K)
    assert entering - 2.0 * one.u_w_m2k * 0.5 == pytest.approx(0.54 * 0.5, rel=0.04)


def test_the_stud_face_is_judged_by_the_vapor_that_gets_there() -> None:
    tight, leaky = heat(built(kind="steel stud")), heat(built(OPEN, kind="steel stud"), kind="continuous", continuous_h=24.0)
    assert {p.verdict for p in tight.places} == {"pass"}
    face = leaky.places[0]
    assert face.verdict == "fail"
    assert face.margin_steaming_k < 0.0
    assert face.dew_point_k > face.steaming_k
    assert face.steaming_k == pytest.approx(FAR.coldest_k + face.share * (318.15 - FAR.coldest_k), abs=12.0)


def test_joists_have_neither_track_nor_post() -> None:
    got = heat(built(kind="wood joist"))
    assert [p.name for p in got.places] == ["joist face behind the board", "screw head in the board"]
    assert got.psi_track_w_mk is None
    assert got.psi_corner_w_mk is None
    assert got.psi_stud_w_mk == pytest.approx(heat(built()).psi_stud_w_mk, rel=1e-6)


def test_a_wall_without_studs_has_none() -> None:
    b = built(TIGHT[:4], kind="concrete")
    assert framing_heat(b, FAR, SteamUse(), CATALOG.materials) is None


def test_a_section_repeats() -> None:
    b = built()
    f = frame_of(b, completed(b, FAR, CATALOG.materials, False), 1.0 / FAR.film_w_m2k)
    assert f is not None
    assert stud_section(f).width_m == pytest.approx(0.4064)
    assert heat(b) == heat(b)
