"""Every rule by its own cases, and the engine by what it must tell apart."""

from __future__ import annotations

import pytest

from steamwright.errors import DataError, RuleError
from steamwright.rules.engine import FROM_MEMORY, judge, judge_place, stated
from steamwright.rules.load import NUMERIC_OPS, PRACTICE, load_rules, load_vocabulary, read_rules, rules_digest
from steamwright.rules.model import Verdict
from steamwright.rules.rule import Compare, Condition, Every, Fact, Facts, Never, PlaceFacts, Rule, Some
from steamwright.sources import load_sources

RULES = load_rules()
CASES = [(rule, i) for rule in RULES for i in range(len(rule.cases))]


def rule(rule_id: str) -> Rule:
    return next(r for r in RULES if r.id == rule_id)


def comparisons(condition: Condition | None) -> list[Compare]:
    if isinstance(condition, Compare):
        return [condition]
    if isinstance(condition, Every | Some):
        return [c for part in condition.parts for c in comparisons(part)]
    return comparisons(condition.part) if isinstance(condition, Never) else []


@pytest.mark.parametrize(("one", "i"), CASES, ids=[f"{r.id}-{i}" for r, i in CASES])
def test_case(one: Rule, i: int) -> None:
    case = one.cases[i]
    names = {**load_vocabulary().room, **load_vocabulary().places.get(one.each, {})}
    words = {name: Fact("") for name in names if name not in case.facts and name not in needed(one)}
    finding = judge_place(one, PlaceFacts("here", {**words, **case.facts}))
    assert finding.verdict == case.verdict
    assert finding.sentence
    assert "{" not in finding.sentence + finding.fix
    if finding.verdict is Verdict.FAIL:
        assert finding.fix


def needed(one: Rule) -> set[str]:
    return {c.fact for c in comparisons(one.require)} if one.require is not None else set()


def test_there_are_enough_rules_and_kinds() -> None:
    auto = [r for r in RULES if r.check == "auto"]
    assert len(auto) >= 45
    assert sum(r.check == "manual" for r in RULES) >= 15
    assert {r.level for r in RULES} == {"required", "recommended", "house"}


def test_every_rule_names_a_source_that_exists_and_knows_it_no_better() -> None:
    rank = ["text", "abstract", "quoted", "memory"]
    sources = load_sources()
    for one in RULES:
        if one.source == PRACTICE:
            continue
        assert one.source in sources, one.id
        assert one.clause, one.id
        if one.how_known != "quoted":
            assert rank.index(one.how_known) >= rank.index(sources[one.source].how_known), one.id


def test_every_numeric_limit_has_cases_below_at_and_above() -> None:
    for one in RULES:
        if not isinstance(one.require, Compare) or one.require.op not in NUMERIC_OPS or one.require.of is not None:
            continue
        sides = set()
        for case in one.cases:
            fact = case.facts.get(one.require.fact)
            if fact is None or not isinstance(fact.value, float) or fact.uncertainty:
                continue
            finding = judge_place(one, PlaceFacts("here", {n: Fact("") for n in load_vocabulary().room} | dict(case.facts)))
            if finding.margin is not None:
                sides.add((finding.margin > 0) - (finding.margin < 0))
        assert sides == {-1, 0, 1}, one.id


def test_a_required_rule_from_memory_says_so() -> None:
    memory = [r for r in RULES if r.level == "required" and r.how_known == "memory"]
    assert memory
    steel = judge_place(rule("framing.steel"), PlaceFacts("wall", {"steel": Fact(True), "steel_m": Fact(0.001)}))
    assert FROM_MEMORY in steel.sentence
    slope = judge_place(rule("ceiling.slope"), PlaceFacts("ceiling", {"slope_ratio": Fact(0.2)}))
    assert FROM_MEMORY not in slope.sentence


def test_uncertainty_that_straddles_the_limit_is_marginal_on_both_sides() -> None:
    head = rule("headroom.standing")
    for inches, verdict in ((79.8, "fail"), (79.95, "marginal"), (80.05, "marginal"), (80.2, "pass")):
        fact = Fact(inches * 0.0254, 0.1 * 0.0254)
        assert judge_place(head, PlaceFacts("floor", {"clear_m": fact})).verdict == verdict


def test_finding_carries_numbers_in_the_unit_of_the_clause() -> None:
    finding = judge_place(rule("ceiling.slope"), PlaceFacts("ceiling", {"slope_ratio": Fact(0.1)}))
    assert (finding.provided, finding.required, finding.op, finding.unit) == (1.2, 2.0, ">=", "in/ft")
    assert finding.margin == pytest.approx(-0.8)
    assert (finding.source, finding.how_known, finding.where) == ("TCNA-SR614", "quoted", "ceiling")
    assert "1.2 in/ft" in finding.sentence


def place(where: str, **facts: float | str | bool | None) -> PlaceFacts:
    return PlaceFacts(where, {k: Fact(v) for k, v in facts.items()})


def test_each_place_is_judged_on_its_own() -> None:
    facts = Facts({}, {"ceilings": (place("ceiling", slope_ratio=0.2), place("soffit", slope_ratio=0.0))})
    found = judge(facts, [rule("ceiling.slope")])
    assert [(f.where, f.verdict) for f in found] == [("ceiling", Verdict.PASS), ("soffit", Verdict.FAIL)]


def test_no_place_at_all_is_not_applicable() -> None:
    (finding,) = judge(Facts({}, {"curbs": ()}), [rule("curb.least")])
    assert finding.verdict is Verdict.NOT_APPLICABLE


def test_gathered_passes_show_the_tightest_and_hide_no_failure() -> None:
    room = {"lap_required_m": Fact(0.05)}
    legs = (("B1", 0.06), ("B2", 0.05), ("B3", 0.04), ("B4", 0.07))
    found = judge(Facts(room, {"bands": tuple(place(n, leg_m=leg) for n, leg in legs)}), [rule("band.leg")])
    assert [(f.where, f.verdict) for f in found] == [("B3", Verdict.FAIL), ("B2", Verdict.PASS)]
    assert "3 places" in found[1].sentence


def test_places_that_are_covered_otherwise_are_not_counted_together() -> None:
    by = ("pan liner", "pieces of membrane", "pieces of membrane")
    found = judge(Facts({}, {"surfaces": tuple(place(f"f{n}", covered_by=b, reason="") for n, b in enumerate(by))}),
                  [rule("membrane.continuous")])
    assert [f.sentence for f in found] == ["f0 is covered: pan liner.", "f1 is covered: pieces of membrane. So at 2 places."]


@pytest.mark.parametrize(("value", "unit", "against", "text"), [
    (75.4351, "in", 1.0, "75 7/16"), (0.09375, "in", None, "3/32"), (1.99, "in", 2.0, "1.99"), (1.9999, "in", 2.0, "2"),
    (0.25, "in/ft", 0.25, "1/4"), (0.402, "in/ft", 0.5, "0.4"), (0.249, "in/ft", 0.25, "0.249"), (4.0, "in", 2.0, "4"),
    (16.4, "mil", 20.0, "16.4"), (14.022, "R", 13.0, "14"),
    (12.98, "R", 13.0, "12.98"), (-0.5, "in", 0.0, "-1/2")])
def test_inches_are_printed_in_sixteenths_and_not_rounded_onto_the_limit(value: float, unit: str, against: float, text: str) -> None:
    assert stated(value, unit, against) == text


def test_one_bench_is_enough_where_one_is_needed() -> None:
    room = {"place": Fact("commercial")}
    good, bad = place("low", height_m=0.45, depth_m=0.55, length_m=1.5), place("high", height_m=0.9, depth_m=0.55, length_m=1.5)
    assert [f.verdict for f in judge(Facts(room, {"benches_access": (bad, good)}), [rule("access.bench")])] == ["pass"]
    assert [f.verdict for f in judge(Facts(room, {"benches_access": (bad,)}), [rule("access.bench")])] == ["fail"]


def test_missing_facts_are_told_apart_from_facts_that_nobody_gathered() -> None:
    finding = judge_place(rule("slip.home"), place("room", place="home", dcof=None))
    assert finding.verdict is Verdict.MISSING_INPUT
    assert "DCOF" in finding.sentence
    with pytest.raises(RuleError, match="'dcof' was not gathered"):
        judge_place(rule("slip.home"), place("room", place="home"))


CHAPTER = """
standard: s
edition: e
rules:
  - id: a.b
    title: t
    source: {key: TCNA-SR614, clause: c, how_known: quoted}
    level: required
    check: auto
    each: ceilings
    require: {fact: slope_ratio, op: ">=", value: 2.0, unit: in/ft}
    say: {pass: p, fail: f, fix: x}
    cases:
      - {facts: {slope_ratio: 1.9}, verdict: fail}
      - {facts: {slope_ratio: 2.0}, verdict: pass}
"""


def test_the_chapter_itself_is_sound() -> None:
    assert [r.id for r in read_rules([("x.yaml", CHAPTER)], load_vocabulary())] == ["a.b"]


@pytest.mark.parametrize(("old", "new", "words"), [
    ("    level: required\n", "    levle: required\n", ("x.yaml", "a.b", "unknown key 'levle'")),
    ("    level: required\n", "    level: required\n    level: house\n", ("given twice",)),
    ("fact: slope_ratio, op", "fact: slop, op", ("no fact 'slop'", "a.b")),
    ("unit: in/ft", "unit: in", ("slope_ratio is in ratio",)),
    ("unit: in/ft", "unit: furlong", ("'furlong' is not known",)),
    ('op: ">="', 'op: "=>"', ("'=>' is not known",)),
    ("each: ceilings", "each: roofs", ("no list of places 'roofs'",)),
    ("verdict: fail", "verdict: pass", ("one that fails",)),
    ("how_known: quoted", "how_known: practice", ("goes with how_known practice",)),
    ("clause: c, ", "", ("'clause' is missing",)),
    ("check: auto", "check: manual", ("an auto rule has a requirement",)),
    ("value: 2.0", "value: 2.0, of: slope_ratio", ("either value or of",)),
    ("{pass: p, fail: f, fix: x}", "{pass: p, fail: f}", ("'fix' is missing",)),
    ("edition: e\n", "", ("exactly standard, edition and rules",)),
])
def test_faulty_rules_are_refused_with_their_place(old: str, new: str, words: tuple[str, ...]) -> None:
    assert old in CHAPTER
    with pytest.raises(DataError) as caught:
        read_rules([("x.yaml", CHAPTER.replace(old, new, 1))], load_vocabulary())
    for word in words:
        assert word in str(caught.value)


def test_an_id_is_used_once() -> None:
    with pytest.raises(RuleError, match="is taken"):
        read_rules([("x.yaml", CHAPTER), ("y.yaml", CHAPTER)], load_vocabulary())


def test_digest_is_that_of_the_data() -> None:
    assert len(rules_digest()) == 64
    assert rules_digest() == rules_digest()
