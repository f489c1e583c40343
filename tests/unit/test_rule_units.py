"""Findings speak in the units of the job: no inch in a metric job, no millimetre in an inch job, and the same verdict in both."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from steamwright.plan.build import build
from steamwright.plan.jobfile import read_job
from steamwright.plan.model import Plan
from steamwright.rules.engine import judge_place
from steamwright.rules.load import load_rules, load_vocabulary
from steamwright.rules.metric import metric_text, sentence_in_metric, to_metric
from steamwright.rules.model import Finding
from steamwright.rules.rule import Fact, PlaceFacts, Rule
from steamwright.service.checking import catalog
from steamwright.units import System

SYSTEMS: tuple[System, ...] = ("inch", "metric")
EXAMPLES = Path(__file__).parents[2] / "examples"
TRADE = re.compile(r"\d['\"](?!\w)"
                   r"|(?<![A-Za-z])\d[\d/. ]* ?(?:in|inch|inches|ft|feet|foot|mils?|perms?|°?F|psi|lbs?|cfm|gal|Btu)\b(?! 10 ft)"
                   r"|\b(?:in/ft|in2|ft2|lb/ft2|R-\d)|every inch|per foot")
METRIC = re.compile(r"\d ?(?:mm|cm|m|m2|m²|kg|°?C|ng|Pa|W|L|L/s)\b|\d %(?! of| relative)|m2 K/W|m²K/W|ng/")
AS_TYPED = ("brass sleeve with a 1/4 in clearance", "stainless sleeve with a 1/4 in clearance")
"""What a person wrote in the job, and names of materials below, are repeated as they stand."""


def foreign(finding: Finding, system: System) -> list[str]:
    text = f"{finding.sentence} {finding.fix} {finding.where} 1 {finding.unit}"
    for name in (*AS_TYPED, *sorted(catalog().materials, key=len, reverse=True)):
        text = text.replace(name, "")
    return [m[0] for m in (TRADE if system == "metric" else METRIC).finditer(text)]


@pytest.fixture(scope="module", params=["home-alcove", "commercial-tiers"])
def both(request: pytest.FixtureRequest) -> tuple[Plan, Plan]:
    text = (EXAMPLES / f"{request.param}.toml").read_text("utf-8")
    inch, metric = (read_job(t, catalog().materials) for t in (text, text.replace('units = "inch"', 'units = "metric"')))
    return build(inch, catalog()), build(metric, catalog())


def test_every_finding_of_a_plan_speaks_in_the_units_of_its_job(both: tuple[Plan, Plan]) -> None:
    for plan, system in zip(both, SYSTEMS, strict=True):
        assert len(plan.findings) > 40
        wrong = {f.rule: (foreign(f, system), f.sentence) for f in plan.findings if foreign(f, system)}
        assert wrong == {}


def test_units_change_words_and_no_verdict(both: tuple[Plan, Plan]) -> None:
    inch, metric = both
    assert [(f.rule, f.verdict, f.where, f.op) for f in inch.findings] == [(f.rule, f.verdict, f.where, f.op) for f in metric.findings]
    told = [(f.provided, g.provided) for f, g in zip(inch.findings, metric.findings, strict=True) if f.unit == "in" and g.unit == "mm"]
    assert len(told) > 5
    for a, b in told:
        assert isinstance(a, float) == isinstance(b, float)
        if isinstance(a, float) and isinstance(b, float):
            assert b == pytest.approx(a * 25.4, rel=1e-5)


@pytest.mark.parametrize("one", load_rules(), ids=lambda r: r.id)
def test_every_case_of_every_rule_speaks_in_one_system(one: Rule) -> None:
    names = {**load_vocabulary().room, **load_vocabulary().places.get(one.each, {})}
    for case in one.cases:
        facts = {**{name: Fact("") for name in names}, **{n: Fact(None) for n in names if names[n].unit not in ("text", "texts", "bool")}}
        # texts come from the job or the catalog, and from sentences that are carried over where facts are gathered
        typed = any(re.search(r"\d ?(in|perm)\b", str(f.value)) for f in case.facts.values())
        for system in SYSTEMS:
            found = judge_place(one, PlaceFacts("here", {**facts, **case.facts}), system)
            assert found.verdict == case.verdict
            assert typed or foreign(found, system) == [], found.sentence


def test_sentences_are_carried_over_with_their_ranges_and_tokens() -> None:
    pattern = "{where} falls {provided} in/ft; 1/4 in/ft is the least."
    assert sentence_in_metric(pattern) == "{where} falls {provided} %; 2.08 % is the least."
    assert sentence_in_metric("17 to 19 in high, 30 by 60 in, within 6 ft") == "431.8 to 482.6 mm high, 762 by 1524 mm, within 1.83 m"
    assert sentence_in_metric("flat to 1/4 in in 10 ft, from 125 F, R-13") == "flat to 6.4 mm in 3.05 m, from 51.7 °C, 2.29 m2 K/W"
    # a fall that is to be typed into the job is not rounded below the least
    assert sentence_in_metric('Write pitch = "1/4 in/ft" under') == 'Write pitch = "2.09 %" under'


def test_a_value_just_beside_its_limit_keeps_its_decimals() -> None:
    assert metric_text(50.8, "mm", 50.8) == "50.8"
    assert metric_text(50.79, "mm", 50.8) == "50.79"
    assert metric_text(to_metric(33.0, "mil"), "mm") == "0.84"
    assert metric_text(2105.4, "mm", 2032.0) == "2105"
    assert metric_text(to_metric(0.5, "perm"), "ng/(Pa s m2)") == "28.6"
    assert to_metric(212.0, "F") == 100.0
