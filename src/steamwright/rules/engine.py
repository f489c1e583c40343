"""Judges facts by rules. It knows no room: only facts, limits and words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from steamwright.errors import RuleError
from steamwright.rules.load import NUMERIC_OPS, load_vocabulary
from steamwright.rules.measure import from_si, span_from_si
from steamwright.rules.metric import is_metric, metric_text, metric_unit, sentence_in_metric, span_to_metric, to_metric
from steamwright.rules.model import Finding, Verdict
from steamwright.rules.predicates import PREDICATES
from steamwright.rules.rule import Ask, Compare, Condition, Every, Fact, Facts, Never, PlaceFacts, Rule, Some, Value
from steamwright.units import System

_GRAVITY = {Verdict.FAIL: 3, Verdict.MISSING_INPUT: 2, Verdict.MARGINAL: 1, Verdict.PASS: 0}
_OPPOSITE = {Verdict.FAIL: Verdict.PASS, Verdict.PASS: Verdict.FAIL}
FROM_MEMORY = "verify: from memory"


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a condition came out, with the comparison that decided."""

    verdict: Verdict
    provided: Value = None
    required: Value = None
    op: str = ""
    unit: str = ""
    margin: float | None = None
    fact: str = ""


def judge(facts: Facts, rules: Sequence[Rule], system: System = "inch") -> tuple[Finding, ...]:
    """Judge facts by rules.

    Parameters
    ----------
    facts : Facts
        Facts of the room and of its places.
    rules : sequence of Rule
        The rules.
    system : {"inch", "metric"}
        The units of the job, in which findings speak.

    Returns
    -------
    findings : tuple of Finding
        In the order of the rules and places; every rule gives at least one.

    Raises
    ------
    RuleError
        If a rule names a fact that was not gathered.

    References
    ----------
    own derivation
    """
    # a place knows the room's facts as well
    places = {each: [PlaceFacts(p.where, {**facts.room, **p.facts}) for p in some] for each, some in facts.places.items()}
    return tuple(finding for rule in rules for finding in _judge_rule(PlaceFacts("room", facts.room), places, rule, system))


def judge_place(rule: Rule, place: PlaceFacts, system: System = "inch") -> Finding:
    """Judge one rule at one place.

    Parameters
    ----------
    rule : Rule
        The rule.
    place : PlaceFacts
        The facts there, those of the room among them.
    system : {"inch", "metric"}
        The units of the job, in which findings speak.

    Returns
    -------
    finding : Finding
        With its sentence.

    Raises
    ------
    RuleError
        If the rule names a fact that is not there.

    References
    ----------
    own derivation
    """
    return _finding(rule, place, _outcome(rule, place), system)


def _outcome(rule: Rule, place: PlaceFacts) -> Outcome:
    if rule.when is not None:
        applies = _evaluate(rule.when, place, rule)
        if applies.verdict is Verdict.FAIL:
            return Outcome(Verdict.NOT_APPLICABLE)
        if applies.verdict is Verdict.MISSING_INPUT:
            return applies
    return Outcome(Verdict.MANUAL) if rule.require is None else _evaluate(rule.require, place, rule)


def _judge_rule(room: PlaceFacts, places: Mapping[str, Sequence[PlaceFacts]], rule: Rule, system: System) -> list[Finding]:
    if not rule.each:
        return [judge_place(rule, room, system)]
    if rule.each not in places:
        raise RuleError(f"no list of places {rule.each!r} was gathered", path=f"{rule.file}: {rule.id}: each")
    found = [(p, _outcome(rule, p)) for p in places[rule.each]]
    judged = [(p, o) for p, o in found if o.verdict is not Verdict.NOT_APPLICABLE]
    if not judged:
        return [_finding(rule, PlaceFacts("room", {}), Outcome(Verdict.NOT_APPLICABLE), system)]
    passing = [(p, o) for p, o in judged if o.verdict is Verdict.PASS]
    if rule.need == "one" and passing:
        return [_finding(rule, *passing[0], system)]
    return _gathered(rule, judged, system) if rule.gather else [_finding(rule, p, o, system) for p, o in judged]


def _gathered(rule: Rule, judged: Sequence[tuple[PlaceFacts, Outcome]], system: System) -> list[Finding]:
    """Fold the places where a rule passes, or is to be seen to by hand, into one finding: the first, or the one with the least margin.

    Where the rule compares words, only places with the same words are folded.
    """
    single: list[Finding] = []
    folded: dict[tuple[Verdict, str], list[tuple[PlaceFacts, Outcome]]] = {}
    for place, o in judged:
        if o.verdict in (Verdict.PASS, Verdict.MANUAL):
            said = _plain(o.provided)
            words = said if o.margin is None and isinstance(said, str) else ""
            folded.setdefault((o.verdict, words), []).append((place, o))
        else:
            single.append(_finding(rule, place, o, system))
    out: list[Finding] = []
    for same in sorted(folded.values(), key=lambda g: g[0][1].verdict is Verdict.MANUAL):
        least = _finding(rule, *min(same, key=lambda x: float("inf") if x[1].margin is None else x[1].margin), system)
        more = "" if len(same) == 1 else f" So at {len(same)} places" + (", this the tightest." if least.margin is not None else ".")
        out.append(replace(least, sentence=least.sentence + more))
    return single + out


def _fact(name: str, place: PlaceFacts, rule: Rule) -> Fact:
    found = place.facts.get(name)
    if found is None:
        raise RuleError(f"fact {name!r} was not gathered at {place.where!r}", path=f"{rule.file}: {rule.id}")
    return found


def _evaluate(condition: Condition, place: PlaceFacts, rule: Rule) -> Outcome:
    if isinstance(condition, Compare):
        return _compare(condition, place, rule)
    if isinstance(condition, Every | Some):
        outcomes = [_evaluate(part, place, rule) for part in condition.parts]
        order = [(_GRAVITY[o.verdict], -(o.margin if o.margin is not None else 0.0), -k) for k, o in enumerate(outcomes)]
        return outcomes[order.index(max(order) if isinstance(condition, Every) else min(order))]
    if isinstance(condition, Never):
        inner = _evaluate(condition.part, place, rule)
        return replace(inner, verdict=_OPPOSITE.get(inner.verdict, inner.verdict), margin=None if inner.margin is None else -inner.margin)
    return _ask(condition, place, rule)


def _ask(condition: Ask, place: PlaceFacts, rule: Rule) -> Outcome:
    values = [_fact(name, place, rule).value for name in condition.facts]
    answer = PREDICATES[condition.predicate](*values)
    if answer is None:
        return Outcome(Verdict.MISSING_INPUT, fact=next((n for n, v in zip(condition.facts, values, strict=True) if v is None), ""))
    provided = ", ".join(values[0]) if isinstance(values[0], tuple) else answer
    return Outcome(Verdict.PASS if answer else Verdict.FAIL, provided, True, condition.predicate, fact=condition.facts[0])


def _compare(c: Compare, place: PlaceFacts, rule: Rule) -> Outcome:
    fact = _fact(c.fact, place, rule)
    if c.op == "known":
        known = fact.value not in (None, "")
        stated = from_si(fact.value, c.unit) if isinstance(fact.value, float) else fact.value
        return Outcome(Verdict.PASS if known else Verdict.FAIL, stated if known else None, "known", c.op, c.unit, fact=c.fact)
    limit = _fact(c.of, place, rule).value if c.of is not None else c.limit
    if fact.value is None or limit is None:
        absent = c.fact if fact.value is None else c.of or ""
        return Outcome(Verdict.MISSING_INPUT, None, limit if c.of is None else None, c.op, c.unit, fact=absent)
    if c.op in NUMERIC_OPS:
        return _compare_numbers(c, fact, limit)
    value: Value = fact.value
    if isinstance(value, float):
        value = from_si(value, c.unit)
    holds = {"==": value == limit, "!=": value != limit, "in": isinstance(limit, tuple) and value in limit,
             "contains": isinstance(value, str | tuple) and str(limit) in value}[c.op]
    return Outcome(Verdict.PASS if holds else Verdict.FAIL, value, limit, c.op, c.unit, fact=c.fact)


def _compare_numbers(c: Compare, fact: Fact, limit: Value) -> Outcome:
    if not isinstance(fact.value, float | int) or not isinstance(limit, float | int):
        raise RuleError(f"{c.fact} {c.op}: {fact.value!r} against {limit!r}", path=c.fact, hint="both must be numbers")
    value = from_si(float(fact.value), c.unit)
    against = from_si(float(limit), c.unit) if c.of is not None else float(limit)
    margin = float(f"{(value - against if c.op in ('>=', '>') else against - value):.6g}")
    spread = span_from_si(fact.uncertainty, c.unit)
    safe = margin >= 0.0 if c.op in (">=", "<=") else margin > 0.0
    straddles = spread > 0.0 and -spread <= margin < spread
    verdict = Verdict.MARGINAL if straddles else Verdict.PASS if safe else Verdict.FAIL
    return Outcome(verdict, value, against, c.op, c.unit, margin, c.fact)


def _show(value: Value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{round(value, 3):.6g}"
    if isinstance(value, tuple):
        return ", ".join(value)
    return "nothing" if value in (None, "") else str(value)


class _Words(dict[str, str]):
    """What a sentence may name: the outcome, and every fact of the place, written only when it is asked for."""

    def __init__(self, place: PlaceFacts, outcome: Outcome) -> None:
        super().__init__(where=place.where, unit=outcome.unit)
        self.facts, self.outcome = place.facts, outcome

    def __missing__(self, name: str) -> str:
        if name == "provided":
            return stated(self.outcome.provided, self.outcome.unit, self.outcome.required)
        return stated(self.outcome.required, self.outcome.unit) if name == "required" else _show(self.facts[name].value)


def stated(value: Value, unit: str, against: Value = None) -> str:
    """Print a value of a finding as people of the trade read it.

    Parameters
    ----------
    value : float, str, bool, tuple of str or None
        The value.
    unit : str
        Its unit, that of the clause or a metric one; inches are printed in sixteenths.
    against : float, str, bool, tuple of str or None
        The limit: a value that rounding would bring onto it keeps its decimals.

    Returns
    -------
    text : str
        Such as ``75 7/16``.

    References
    ----------
    own derivation
    """
    if isinstance(value, float) and is_metric(unit):
        return metric_text(value, unit, against if isinstance(against, float) else None)
    if unit == "R" and isinstance(value, float) and round(value, 1) != against:
        return _show(round(value, 1))
    if not isinstance(value, float) or unit not in ("in", "in/ft"):
        return _show(value)
    parts = next((n for n in (16, 32) if abs(value - round(value * n) / n) < 1e-6), 16)
    near = round(value * parts) / parts
    if (unit == "in/ft" and abs(near - value) > 0.005) or (isinstance(against, float) and near == against and abs(value - near) > 1e-6):
        return _show(value) if isinstance(against, float) and round(value, 2) == round(against, 2) else f"{round(value, 2):g}"
    whole, part = divmod(abs(Fraction(near)), 1)
    return ("-" if near < 0 else "") + (" ".join(str(x) for x in (whole, part) if x) or "0")


def _in_metric(outcome: Outcome) -> Outcome:
    def carried(value: Value) -> Value:
        return to_metric(value, outcome.unit) if isinstance(value, float) else value

    margin = None if outcome.margin is None else span_to_metric(outcome.margin, outcome.unit)
    provided, required = carried(outcome.provided), carried(outcome.required)
    return replace(outcome, provided=provided, required=required, margin=margin, unit=metric_unit(outcome.unit))


def _finding(rule: Rule, place: PlaceFacts, outcome: Outcome, system: System) -> Finding:
    if system == "metric":
        outcome = _in_metric(outcome)
    plain = {"provided": _plain(outcome.provided), "required": _plain(outcome.required)}
    words = _Words(place, outcome)

    def said(text: str) -> str:
        return (sentence_in_metric(text) if system == "metric" else text).format_map(words)

    sentence = _sentence(rule, outcome, said)
    if rule.how_known == "memory" and rule.level == "required" and outcome.verdict is not Verdict.NOT_APPLICABLE:
        sentence += f" ({FROM_MEMORY})"
    fix = said(rule.say["fix"]) if outcome.verdict in (Verdict.FAIL, Verdict.MARGINAL) and "fix" in rule.say else ""
    return Finding(rule=rule.id, verdict=outcome.verdict, op=outcome.op, unit=outcome.unit, margin=outcome.margin, source=rule.source,
                   clause=rule.clause, how_known=rule.how_known, level=rule.level, where=place.where, sentence=sentence, fix=fix, **plain)


def _sentence(rule: Rule, outcome: Outcome, said: Callable[[str], str]) -> str:
    if outcome.verdict is Verdict.NOT_APPLICABLE:
        return said(rule.title) + ": does not apply here."
    if outcome.verdict is Verdict.MANUAL:
        return said(rule.say["do"])
    if outcome.verdict is Verdict.MISSING_INPUT:
        kind = load_vocabulary().find(outcome.fact, rule.each)
        return said(rule.say.get("missing", f"{{where}}: not judged, since {kind.label if kind else 'a fact'} is not known."))
    text = said(rule.say["pass" if outcome.verdict is Verdict.PASS else "fail"])
    return f"Too close to tell: {text}" if outcome.verdict is Verdict.MARGINAL else text


def _plain(value: Value) -> float | str | bool | None:
    return ", ".join(value) if isinstance(value, tuple) else value
