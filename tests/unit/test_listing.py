"""The plan's lists in the order in which people read them."""

from __future__ import annotations

from dataclasses import replace

from steamwright.covering.model import Cut
from steamwright.plan.listing import cuts_of, facet_names, in_setting_order, known_as, most_urgent_first, under, verdict_counts
from steamwright.rules.model import Verdict
from tests import plans


def test_fails_come_first_and_nothing_is_lost():
    findings = plans.findings()
    ordered = most_urgent_first(findings[::-1])
    assert ordered[0].verdict is Verdict.FAIL
    assert ordered[-1].verdict is Verdict.NOT_APPLICABLE
    assert sorted(f.rule for f in ordered) == sorted(f.rule for f in findings)


def test_counts_leave_out_what_does_not_occur():
    counts = verdict_counts(plans.findings()[:2] * 2)
    assert counts == {Verdict.FAIL: 2, Verdict.PASS: 2}


def test_a_required_rule_from_memory_asks_to_be_verified():
    finding = plans.findings()[0]
    assert known_as(finding) == "quoted"
    assert known_as(replace(finding, how_known="memory")) == "verify: from memory"
    assert known_as(replace(finding, how_known="memory", level="advice")) == "memory"


def test_setting_order_with_unplaced_pieces_last():
    covering = plans.covering()
    first, *rest = covering.pieces
    shuffled = replace(covering, pieces=(*rest[::-1], replace(first, place_no=0)))
    assert [p.id for p in in_setting_order(shuffled)] == ["B1", "K1", "C1", "S1"]


def test_under_is_over_read_backwards():
    assert under(plans.covering()) == {"S1": ("B1", "K1"), "B1": ("K1",), "K1": (), "C1": ()}


def test_cuts_run_along_the_roll():
    covering = plans.covering()
    s, b, *rest = covering.pieces
    moved = replace(covering, pieces=(replace(s, cut=Cut("roll-1", 2.0, 0.0)), replace(b, cut=Cut("roll-1", 0.5, 0.2)), *rest))
    assert [p.id for p in cuts_of(moved, "roll-1")] == ["B1", "S1"]
    assert cuts_of(moved, "roll-2") == ()


def test_names_of_facets():
    assert facet_names(plans.plan())["facet-03"] == "A-B"
