"""Rules against rooms: each passes in one and fails in another, and geometry says where."""

from __future__ import annotations

import copy
import dataclasses
import tomllib
from collections.abc import Callable, Set
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from shapely.affinity import translate

from steamwright.covering.boards.model import Boards, Remark
from steamwright.covering.model import Covering, Crowding, LayerCount, Patch, Piece, Placing, Proof, Role
from steamwright.dossier import tables
from steamwright.dossier.words import Words
from steamwright.plan.build import build
from steamwright.plan.comparison import compare_plan
from steamwright.plan.judge import judge_alternatives, judge_plan
from steamwright.plan.laid import band_leg_m, corner_reach_m, pan_joints
from steamwright.plan.model import Plan
from steamwright.plan.underfoot import falls_in, floor_plan
from steamwright.rules.coverage import rules_page
from steamwright.rules.load import load_rules
from steamwright.rules.model import Finding, Verdict
from tests import plans
from tests.built import CATALOG, example, job_of

ROOT = Path(__file__).parents[2]
Said = dict[str, Any]
Edit = Callable[[Said], None]


def said(example: str) -> Said:
    return tomllib.loads((ROOT / "examples" / f"{example}.toml").read_text("utf-8"))


def made(data: Said) -> Plan:
    return build(job_of(data), CATALOG)


def layers(*materials: str | tuple[str, str]) -> list[Said]:
    return [{"material": m} if isinstance(m, str) else {"material": m[0], "thickness": m[1]} for m in materials]


def judged(plan: Plan, covering: Covering, boards: Boards | None = None) -> tuple[Finding, ...]:
    return judge_plan(plan.job, plan.survey, plan.room, plan.finished, plan.framing, plan.pan, plan.buildups, covering,
                      boards or plan.boards)


def loosened(boards: Boards) -> Boards:
    """One board without its screws, and a butt in line with another."""
    held = {f.board for f in boards.fasteners}
    first = next(b for b in boards.pieces if b.id in held)
    remark = Remark(first.facet, "not_staggered", f"{first.facet}: two butts are in one line", (first.id,))
    return dataclasses.replace(boards, fasteners=tuple(f for f in boards.fasteners if f.board != first.id),
                               remarks=(*boards.remarks, remark))


def flat_and_careless(d: Said) -> None:
    d["room"]["ceiling"] = {"shape": "flat", "height": "78 in"}
    d["room"]["bench"][0] |= {"height": "40 in", "slope": "0 in/ft"}
    d["room"]["curb"][0]["height"] = "3 in"
    d["room"]["penetration"][2] |= {"along": "53 in", "up": "44 in", "seal_f": 180}
    del d["room"]["penetration"][2]["sleeve"]
    d["room"]["penetration"] = d["room"]["penetration"][:4]
    d["room"]["niche"][0]["depth"] = "4 in"
    d["room"]["pan"] |= {"pitch": "1/8 in/ft", "drain_diameter": "1 1/2 in", "bed_at_drain": "2 in"}
    for key in ("ending", "reach", "sealed_by"):
        del d["room"]["wall"][0][key]
    d["use"]["set_point"] = "130 degF"
    d["tile"]["floor_dcof"] = 0.3
    d["covering"] = {"lap_required": "1 in", "allowance": "1/8 in"}
    d["buildup"][0]["layers"] = layers("porcelain tile", ("modified dry-set mortar", "1/16 in"), "sheet membrane 2 perm",
                                       "gypsum-core glass-mat board 1/2 in", "air space")
    d["buildup"][0]["framing"] = {"kind": "steel stud", "depth": "3 5/8 in", "spacing": "24 in", "steel_mil": 25}


def behind_the_board(d: Said) -> None:
    d["room"]["curb"][0]["height"] = "13 in"
    d["room"]["pan"]["pitch"] = "5/8 in/ft"
    d["room"]["wall"][0]["reach"] = "1 in"
    d["use"] |= {"kind": "continuous", "place": "commercial", "set_point": "126 degF"}
    d["tile"]["floor_dcof"] = 0.45
    d["buildup"][0]["on"] = ["walls", "ceiling", "benches", "curbs", "floor"]  # and the pan is a liner
    d["buildup"][0]["layers"] = layers("porcelain tile", ("modified dry-set mortar", "1/8 in"), "cement board 1/2 in",
                                       "sheet membrane 0.5 perm, procedure A", "polyethylene film 6 mil", "mineral wool batt")
    d["buildup"].append({"name": "bare niche", "on": ["niches"], "covering": "none", "layers": layers("cement board 1/2 in")})


def open_to_vapor(d: Said) -> None:
    d["use"] |= {"kind": "continuous", "code": "UPC"}
    d["room"]["wall"][0] |= {"ending": "over the dam", "reach": "3 in"}
    d["covering"] = {"membrane": "sheet membrane 2 perm"}
    d["buildup"][0]["layers"][2]["material"] = "sheet membrane 2 perm"
    d["buildup"].append({"name": "other way", "on": ["walls"], "covering": "liquid membrane", "alternative_to": "tile over cement board",
                         "layers": layers("porcelain tile", "cement board 1/2 in"), "framing": d["buildup"][0]["framing"]})


def under_the_roof(code: str) -> Edit:
    def edit(d: Said) -> None:
        d["use"]["code"] = code
        d["room"]["ceiling"] |= {"height": "6 in", "pitch": "16 in/ft"}
        d["room"]["penetration"] = [p for p in d["room"]["penetration"] if p["kind"] == "steam_outlet"]
        del d["room"]["niche"]
        d["buildup"][0]["on"] = ["ceiling", "benches", "curbs", "openings"]
        d["buildup"].append(d["buildup"][0] | {"name": "bare walls", "on": ["walls"], "covering": "none"})
        d["room"]["bench"][0] |= {"wall": "B-C", "depth": "12 in", "height": "20 in"}
    return edit


def narrow(code: str) -> Edit:
    def edit(d: Said) -> None:
        d["use"]["code"] = code
        short = {"A-B": "30 in", "B-C": "30 in", "C-D": "30 in", "D-A": "30 in", "A-C": "42 7/16 in"}
        d["survey"]["reading"] = [{"kind": "diagonal" if k == "A-C" else "wall", "of": k, "is": v} for k, v in short.items()]
        d["room"] = {"ceiling": d["room"]["ceiling"], "wall": [], "pan": {}, "opening": [
            {"name": "door", "kind": "door", "wall": "A-B", "from": "5 in", "width": "20 in",
             "bottom": "2 in", "top": "70 in", "setback": "4 in", "sill_slope": "0 in/ft", "swing": "in",
             "ending": "past the jamb", "reach": "1 in", "sealed_by": "sealant"}]}
        d["room"]["ceiling"]["low_wall"] = "A-B"
        d["buildup"][0]["on"] = ["walls", "ceiling", "openings"]
    return edit


def rough_walls(edge: str) -> Edit:
    def edit(d: Said) -> None:
        d["tile"]["longest_edge"] = edge
        d["survey"]["reading"][-1]["is"] = "3/8 in"
        d["survey"]["reading"].append({"kind": "gap", "of": "D-E", "is": "1/64 in", "under": "48 in", "at": "middle"})
        wall = next(w for w in d["room"]["wall"] if w["side"] == "F-A")
        wall["studs"] = ["14 in", "30 in", "44 in"] if edge == "2 in" else ["14 in", "32 in", "44 in"]
    return edit


def by_the_upc(d: Said) -> None:
    d["use"]["code"] = "UPC"


def far_drain(d: Said) -> None:
    d["room"]["curb"][0]["height"] = "4 in"
    d["room"]["pan"] |= {"membrane": "bonded", "perimeter": "constant pitch", "pitch": "3/4 in/ft", "flat": "8 in",
                         "drain_at": ["44 in", "38 in"]}
    d["buildup"][0]["on"].append("floor")


def high_benches(d: Said) -> None:
    for bench in d["room"]["bench"]:
        if bench["height"] != "39 in":
            bench["height"] = "26 in"
    d["room"]["penetration"][0] |= {"along": "50 in", "up": "20 in"}


VARIANTS: dict[str, tuple[str, Edit]] = {
    "flat and careless": ("home-alcove", flat_and_careless), "behind the board": ("home-alcove", behind_the_board),
    "open to vapor": ("home-alcove", open_to_vapor), "under the roof": ("home-alcove", under_the_roof("IRC")),
    "under the roof, UPC": ("home-alcove", under_the_roof("UPC")), "narrow": ("home-alcove", narrow("IRC")),
    "narrow, UPC": ("home-alcove", narrow("UPC")), "rough walls": ("remodel-curbless", rough_walls("2 in")),
    "rough walls, large tile": ("remodel-curbless", rough_walls("24 in")), "glass by the UPC": ("home-alcove", by_the_upc),
    "far drain": ("home-alcove", far_drain), "high benches": ("commercial-tiers", high_benches),
}
EXAMPLES = ("commercial-tiers", "half-wall-crowded", "home-alcove", "octagon-hip", "rafter-slope", "remodel-curbless")


@cache
def room(name: str) -> Plan:
    if name in EXAMPLES:
        return example(name)
    of, edit = VARIANTS[name]
    data = copy.deepcopy(said(of))
    edit(data)
    data.setdefault("covering", {})["effort"] = 0  # it is rooms and build-ups that differ
    return made(data)


def findings(name: str, rule: str) -> list[Finding]:
    return [f for f in room(name).findings if f.rule == rule]


def one(name: str, rule: str) -> Finding:
    (finding,) = findings(name, rule)
    return finding


@cache
def tampered() -> tuple[Finding, ...]:
    """A plan by the UPC whose bands are too narrow, whose corner pieces are too small, and one of whose pipes is crowded."""
    plan = room("glass by the UPC")
    band = Piece("B900", Role.BAND, "band", plans.SHEET, strip(plan, 0.04), (0.5, 0.08))
    at_curb = Piece("B901", Role.BAND, "band", plans.SHEET, strip(plan, 0.06, {"bench front", "curb front"}), (0.1, 0.12))
    corner = next(p for p in plan.covering.pieces if p.role is Role.CORNER_PIECE and "floor" in on(plan, p))
    small = shrunk_corner(plan, corner)
    covering = dataclasses.replace(
        plan.covering, pieces=(*(p for p in plan.covering.pieces if p is not corner), band, at_curb, small),
        crowded=(Crowding(plan.room.penetrations[1].id, 0.02, "its collar and the next one overlap; move it by 3/4 in"),),
        layers=(LayerCount(plan.room.facets[0].id, 3, (0.1, 0.1)),), proof=Proof(False, 0.03, "joint-01", ("joint-01: bare",)))
    return judged(plan, covering, loosened(plan.boards))


def on(plan: Plan, piece: Piece) -> list[str]:
    return [plan.room.facet(p.facet).name for p in piece.patches]


def strip(plan: Plan, leg_m: float, names: Set[str] = frozenset({"C-D", "D-A"})) -> tuple[Patch, ...]:
    """Two rectangles of ``leg_m`` on either side of the joint of two upright facets."""
    joint = next(j for j in plan.room.joints if {plan.room.facet(f).name for f in j.facets} == names)
    patches = []
    for name in joint.facets:
        f = plan.room.facet(name)
        (ax, ay), (_, by) = f.frame.drop([joint.start_m, joint.end_m])
        side = 1.0 if f.polygon.centroid.x > ax else -1.0
        xs = sorted((ax, ax + side * leg_m))
        low, high = sorted((ay, by))
        patches.append(Patch(name, ((xs[0], low), (xs[1], low), (xs[1], high), (xs[0], high)), (), Placing(0.0, 0.0, 0.0)))
    return tuple(patches)


def shrunk_corner(plan: Plan, piece: Piece) -> Piece:
    """The same corner piece, half as large, about its corner."""
    rings = {p.facet: plan.room.facet(p.facet).frame.lift(p.outline_m) for p in piece.patches}
    points = [tuple(c) for ring in rings.values() for c in ring]
    corner = min(points, key=lambda c: max(min(float(((r - c) ** 2).sum()) for r in ring) for ring in rings.values()))
    patches = []
    for p in piece.patches:
        frame = plan.room.facet(p.facet).frame
        (a, b), = frame.drop([corner])
        patches.append(dataclasses.replace(p, outline_m=tuple((a + 0.5 * (x - a), b + 0.5 * (y - b)) for x, y in p.outline_m)))
    return dataclasses.replace(piece, patches=tuple(patches))


def test_every_rule_passes_in_one_room_and_fails_in_another() -> None:
    seen: dict[str, set[Verdict]] = {}
    rooms = [room(name) for name in (*EXAMPLES, *VARIANTS)]
    for finding in [f for r in rooms for f in (*r.findings, *judge_alternatives(r))] + list(tampered()):
        seen.setdefault(finding.rule, set()).add(finding.verdict)
    for rule in load_rules():
        wanted = {Verdict.PASS, Verdict.FAIL} if rule.check == "auto" else {Verdict.MANUAL}
        if rule.id not in NEVER_IN_THESE_ROOMS:
            assert wanted <= seen[rule.id], rule.id


def test_a_liner_under_a_build_up_with_a_membrane_is_told_and_the_page_says_what_is_laid() -> None:
    finding = one("behind the board", "liner.one-membrane")
    assert finding.verdict is Verdict.FAIL
    assert "sheet membrane 0.5 perm, procedure A on the floor" in finding.sentence
    row = tables.buildups(room("behind the board"), Words("inch"), {})[0]
    assert row["covering"].endswith(", the floor by the pan liner")
    assert one("home-alcove", "liner.one-membrane").verdict is Verdict.PASS
    assert "liner" not in tables.buildups(room("home-alcove"), Words("inch"), {})[0]["covering"]


NEVER_IN_THESE_ROOMS = {"membrane.second-retarder", "covering.not-proven"}


def test_examples_fail_nothing_but_what_they_show() -> None:
    for name in EXAMPLES:
        failed = {f.rule for f in room(name).findings if f.verdict is Verdict.FAIL}
        assert failed == ({"survey.consistent", "survey.suspect"} if name == "remodel-curbless" else set()), name


def test_every_finding_is_complete() -> None:
    for finding in (*room("flat and careless").findings, *room("commercial-tiers").findings):
        assert finding.source
        assert finding.clause
        assert finding.how_known in ("text", "abstract", "quoted", "memory", "practice")
        assert finding.sentence
        assert "{" not in finding.sentence
        assert bool(finding.fix) == (finding.verdict in (Verdict.FAIL, Verdict.MARGINAL)), finding.rule


def test_a_narrow_band_is_found_by_its_name_and_width() -> None:
    (finding,) = [f for f in tampered() if f.rule == "band.leg" and f.verdict is Verdict.FAIL]
    assert finding.where == "B900"
    assert finding.provided == pytest.approx(0.04 / 0.0254, abs=0.01)
    assert finding.required == pytest.approx(2.0)


def test_legs_and_reaches_are_those_of_the_geometry() -> None:
    plan = room("home-alcove")
    band = Piece("B900", Role.BAND, "band", plans.SHEET, strip(plan, 0.0635), (0.5, 0.127))
    assert band_leg_m(band, plan.room) == pytest.approx(0.0635, abs=1e-4)
    assert band_leg_m(dataclasses.replace(band, patches=band.patches[:1]), plan.room) == pytest.approx(0.0635)
    corner = next(p for p in plan.covering.pieces if p.role is Role.CORNER_PIECE and "floor" in on(plan, p))
    reach = corner_reach_m(corner, plan.room)
    assert reach == pytest.approx(0.1016, abs=1e-3)
    assert corner_reach_m(shrunk_corner(plan, corner), plan.room) == pytest.approx(reach / 2, abs=1e-3)


def test_legs_at_the_pan_are_those_that_were_planned() -> None:
    plan = room("remodel-curbless")
    legs = pan_joints(plan.covering.pieces, plan.room)
    assert legs
    assert min(leg for _, leg in legs) == pytest.approx(plan.covering.lap_planned_m, abs=2e-3)
    (short,) = [f for f in tampered() if f.rule == "pan.leg-upc" and f.verdict is Verdict.FAIL]
    assert short.where in ("bench front and curb front", "curb front and bench front")
    assert short.provided == pytest.approx(0.06 / 0.0254, abs=0.01)


def test_a_crowded_pipe_says_where_to_go() -> None:
    (finding,) = [f for f in tampered() if f.rule == "collar.room" and f.verdict is Verdict.FAIL]
    assert "move it by 3/4 in" in finding.sentence
    assert finding.where == room("home-alcove").room.penetrations[1].name


def test_the_fall_ends_where_the_geometry_says() -> None:
    assert "ends on D-A" in one("home-alcove", "ceiling.drip").sentence
    assert [f.sentence.split(" ends ")[1].split(":")[0] for f in findings("commercial-tiers", "ceiling.drip")] == ["on B-C", "on D-A"]
    behind = [f.sentence for f in findings("commercial-tiers", "ceiling.run-down") if f.verdict is Verdict.MANUAL]
    assert ["upper bench B-C" in behind[0], "upper bench D-A" in behind[1]] == [True, True]
    octagon = findings("octagon-hip", "ceiling.drip")
    assert len(octagon) == 8
    assert all(f.verdict is Verdict.PASS for f in octagon)


def test_a_level_ceiling_drips_on_the_bench() -> None:
    finding = one("flat and careless", "ceiling.drip")
    assert finding.verdict is Verdict.FAIL
    assert finding.provided == "bench top"


def test_water_that_runs_to_the_door_wall_drips_from_the_door_head() -> None:
    finding = one("narrow", "ceiling.drip")
    assert finding.verdict is Verdict.FAIL
    assert finding.provided == "door"


def soffit_over_the_bench(d: Said) -> None:
    d["room"]["soffit"] = [{"name": "soffit", "wall": "B-C", "depth": "12 in", "underside": "78 in", "slope": "2 1/4 in/ft"}]
    d["buildup"][0]["on"] += ["soffits"]


def valley_over_the_room(d: Said) -> None:
    d["room"]["ceiling"] = {"shape": "planes", "join": "highest", "plane": [
        {"spots": [[["0 in", "0 in"], "100 in"], [["0 in", "48 in"], "100 in"], [["60 in", "0 in"], "88 in"]]},
        {"spots": [[["72 in", "0 in"], "91 in"], [["72 in", "48 in"], "91 in"], [["60 in", "0 in"], "88 in"]]}]}


def test_a_soffit_drips_from_its_free_edge_on_the_bench() -> None:
    data = said("home-alcove")
    soffit_over_the_bench(data)
    (finding,) = [f for f in made(data).findings if f.rule == "ceiling.drip" and f.where.startswith("soffit")]
    assert "free edge" in finding.sentence
    assert finding.provided == "bench top"


def test_a_valley_drips_on_the_bench_under_it() -> None:
    data = said("home-alcove")
    valley_over_the_room(data)
    found = [f for f in made(data).findings if f.rule == "ceiling.drip"]
    assert [f.verdict for f in found] == [Verdict.FAIL, Verdict.FAIL]
    assert all("in a valley with" in f.sentence and f.provided == "bench top" for f in found)


def test_headroom_is_the_height_of_the_low_wall_less_floor_and_tile() -> None:
    """Ten inches off the tile of the low wall, which is 82 in high, a ceiling of 2 1/4 in/ft; the bed of the pan falls to
    the drain and tile lies on floor, wall and ceiling."""
    data = said("home-alcove")
    data["survey"]["reading"] = [r for r in data["survey"]["reading"] if r["kind"] in ("wall", "diagonal")]
    plan = made(data)
    tile = plan.buildups[0].to_tile_m / 0.0254
    ceiling = 82.0 + (10.0 + tile) * 2.25 / 12.0 - tile * (1.0 + (2.25 / 12.0) ** 2) ** 0.5
    floor = 1.5 + plan.pan.fall_m / 0.0254 + 0.375 + 0.09375
    (finding,) = [f for f in plan.findings if f.rule == "headroom.standing"]
    assert finding.provided == pytest.approx(ceiling - floor, abs=0.02)


def test_a_ledge_that_falls_to_the_wall_does_not_fall_in() -> None:
    plan = room("home-alcove")
    bench = next(f for f in plan.finished.facets if f.name == "bench top")
    floor = floor_plan(plan.finished)
    assert falls_in(bench, floor)
    assert not falls_in(bench, translate(floor, xoff=5.0))


def test_clear_width_of_a_door_is_that_between_finished_jambs() -> None:
    plan = room("commercial-tiers")
    tiled = 34.0 - 2 * plan.buildups[0].to_tile_m / 0.0254
    assert one("commercial-tiers", "door.clear-width").provided == pytest.approx(tiled, abs=0.05)


def test_alternatives_are_no_findings_of_what_is_built_and_told_where_they_are_compared() -> None:
    """Nobody is stopped from cutting by a build-up that is not built; who compares it hears what it would fail."""
    plan = room("open to vapor")
    names = {b.name for b in plan.buildups if b.alternative_to is not None}
    assert names == {"tile over foam-core board", "other way"}
    assert [f for f in plan.findings if f.where in names or any(n in f.sentence for n in names)] == []
    (held,) = findings("open to vapor", "membrane.vapor-proof")
    assert (held.where, held.verdict) == ("tile over cement board", Verdict.PASS)
    assert "places" not in one("open to vapor", "framing.deflection").sentence
    judged = {f.where: f for f in judge_alternatives(plan) if f.rule == "membrane.vapor-proof"}
    assert {n: f.verdict for n, f in judged.items()} == {"tile over foam-core board": Verdict.PASS, "other way": Verdict.FAIL}
    assert "A118.10" in judged["other way"].sentence
    (family,) = compare_plan(plan, CATALOG, years=0).families
    assert f"would fail if it were built: {judged['other way'].sentence}" in family.reasons
    assert not [r for r in family.reasons if "tile over cement board" in r.partition("built: ")[2]]


def liquid_niche(d: Said) -> None:
    d["use"]["kind"] = "continuous"
    d["buildup"][0]["on"].remove("niches")
    d["buildup"][0]["layers"] = layers("porcelain tile", ("modified dry-set mortar", "1/8 in"), "sheet membrane 1.0 perm",
                                       "cement board 1/2 in", "polyethylene film 6 mil", "mineral wool batt")
    d["buildup"].append({"name": "niche", "on": ["niches"], "covering": "liquid membrane", "layers": layers("cement board 1/2 in")})


def test_what_this_tool_cannot_prove_or_judge_is_left_to_people() -> None:
    data = said("home-alcove")
    liquid_niche(data)
    found = {f.rule: f for f in made(data).findings if f.verdict is Verdict.MANUAL}
    assert "not proven by this tool: liquid-applied membrane" in found["covering.not-proven"].sentence
    assert "polyethylene" in found["membrane.second-retarder"].sentence


def test_the_page_of_rules_is_the_one_in_the_docs() -> None:
    page = rules_page(load_rules())
    assert page == (ROOT / "docs" / "reference" / "rules.md").read_text("utf-8")
    for rule in load_rules():
        assert f"| {rule.id} |" in page


def test_a_permeance_that_is_only_stated_is_shown_in_its_unit() -> None:
    found = [f for f in room("home-alcove").findings if f.rule == "membrane.vapor-proof"]
    assert found
    for finding in found:
        assert finding.unit == "perm"
        assert isinstance(finding.provided, float)
        assert 0.4 < finding.provided < 0.6
