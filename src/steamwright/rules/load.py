"""Reads the rules: one file per standard, edition and chapter; refuses what it does not know, naming file, id and key."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any

from steamwright.errors import RuleError
from steamwright.rules.measure import MEASURES, to_si
from steamwright.rules.model import Verdict
from steamwright.rules.predicates import PREDICATES
from steamwright.rules.rule import Ask, Case, Compare, Condition, Every, Fact, FactKind, Never, Rule, Some, Value, Vocabulary
from steamwright.yaml_text import Row, read_yaml

PRACTICE = "common practice, no source"
NUMERIC_OPS = (">=", "<=", ">", "<")
_OPS = (*NUMERIC_OPS, "==", "!=", "in", "contains", "known")
_HOW_KNOWN = ("text", "abstract", "quoted", "memory", "practice")
_UNITLESS = ("text", "bool", "texts")


def load_rules() -> tuple[Rule, ...]:
    """Read all rules that ship with the program.

    Returns
    -------
    rules : tuple of Rule
        In the order of their files and rows.

    Raises
    ------
    RuleError
        If a row has an unknown, missing or duplicate key, an id that is taken, an unknown fact, unit or operator, no
        source, or too few cases; names file, id and key.

    References
    ----------
    own derivation
    """
    return _shipped_rules()


@cache
def _shipped_rules() -> tuple[Rule, ...]:
    return read_rules(_texts(), load_vocabulary())


@cache
def load_vocabulary() -> Vocabulary:
    """Read the list of facts that rules may name.

    Returns
    -------
    vocabulary : Vocabulary
        Facts of the room and of each list of places.

    Raises
    ------
    RuleError
        If the list is at fault.

    References
    ----------
    own derivation
    """
    return read_vocabulary("facts.yaml", (_data() / "facts.yaml").read_text("utf-8"))


@cache
def rules_digest() -> str:
    """Content hash of all rule data.

    Returns
    -------
    digest : str
        SHA-256, hexadecimal.

    References
    ----------
    own derivation
    """
    whole = hashlib.sha256((_data() / "facts.yaml").read_bytes())
    for name, text in _texts():
        whole.update(f"{name}\n{text}\n".encode())
    return whole.hexdigest()


def read_vocabulary(file: str, text: str) -> Vocabulary:
    """Read a vocabulary from its text.

    Parameters
    ----------
    file : str
        Name to show in errors.
    text : str
        YAML: lists of places, each with fact name, SI unit and label.

    Returns
    -------
    vocabulary : Vocabulary
        The facts.

    Raises
    ------
    RuleError
        If a unit is unknown.

    References
    ----------
    own derivation
    """
    units = {m.si for m in MEASURES.values()} | set(_UNITLESS)
    lists: dict[str, Mapping[str, FactKind]] = {}
    for each, rows in read_yaml(file, text).items():
        kinds = {}
        for name, (unit, label) in rows.items():
            if unit not in units:
                raise RuleError(f"unit {unit!r} is not known", path=f"{file}: {each}: {name}", hint=f"one of {', '.join(sorted(units))}")
            kinds[name] = FactKind(name, unit, label)
        lists[each] = MappingProxyType(kinds)
    return Vocabulary(lists.pop("room"), MappingProxyType(lists))


def read_rules(texts: Sequence[tuple[str, str]], vocabulary: Vocabulary) -> tuple[Rule, ...]:
    """Read rules from texts.

    Parameters
    ----------
    texts : sequence of (str, str)
        File name and YAML text of each chapter.
    vocabulary : Vocabulary
        The facts that they may name.

    Returns
    -------
    rules : tuple of Rule
        In the order of the texts.

    Raises
    ------
    RuleError
        As ``load_rules``.

    References
    ----------
    own derivation
    """
    rules: dict[str, Rule] = {}
    for file, text in texts:
        data = read_yaml(file, text)
        if sorted(data) != ["edition", "rules", "standard"]:
            raise RuleError("a chapter holds exactly standard, edition and rules", path=file)
        for raw in data["rules"]:
            rule = _Reader(Row(file, str(raw.get("id", "?")), raw), vocabulary).rule()
            if rule.id in rules:
                raise RuleError(f"id {rule.id!r} is taken", path=f"{file}: {rule.id}", hint=f"see {rules[rule.id].file}")
            rules[rule.id] = rule
    return tuple(rules.values())


def _data() -> Traversable:
    return files("steamwright.rules") / "data"


@cache
def _texts() -> tuple[tuple[str, str], ...]:
    def walk(folder: Traversable, prefix: str) -> Iterator[tuple[str, str]]:
        for entry in sorted(folder.iterdir(), key=lambda e: e.name):
            if entry.is_dir():
                yield from walk(entry, f"{prefix}{entry.name}/")
            elif entry.name.endswith(".yaml") and prefix:
                yield prefix + entry.name, entry.read_text("utf-8")

    return tuple(walk(_data(), ""))


class _Reader:
    """Reads one row into a rule."""

    def __init__(self, row: Row, vocabulary: Vocabulary) -> None:
        self.row, self.vocabulary = row, vocabulary
        self.units: dict[str, str] = {}
        self.each = str(row.raw.get("each", "")) if isinstance(row.raw, dict) else ""

    def rule(self) -> Rule:
        f = self.row.fields(required=("id", "title", "source", "level", "check", "say", "cases"),
                            optional=("each", "need", "gather", "when", "require"))
        source = Row(self.row.file, f"{self.row.id}.source", f["source"])
        source.fields(required=("key", "clause", "how_known"))
        check = self.row.choice("check", ("auto", "manual"))
        if (check == "auto") != ("require" in f):
            raise self._fault("require", "an auto rule has a requirement and a manual one has none")
        if self.each and self.each not in self.vocabulary.places:
            raise self._fault("each", f"no list of places {self.each!r}", f"one of {', '.join(self.vocabulary.places)}")
        how_known = source.choice("how_known", _HOW_KNOWN)
        if (f["source"]["key"] == PRACTICE) != (how_known == "practice"):
            raise self._fault("source", f"{PRACTICE!r} goes with how_known practice, and only that")
        if len(str(f["title"])) > 100:
            raise self._fault("title", "longer than 100 characters")
        when = self._condition(f["when"], "when") if "when" in f else None
        require = self._condition(f["require"], "require") if "require" in f else None
        return Rule(id=str(f["id"]), title=str(f["title"]), source=source.text("key"), clause=str(f["source"]["clause"]),
                    how_known=how_known, level=self.row.choice("level", ("required", "recommended", "house")), check=check,
                    each=self.each, need=str(f.get("need", "all")), gather=bool(f.get("gather", False)), when=when, require=require,
                    say=self._say(f["say"], check), cases=self._cases(f["cases"], check), file=self.row.file)

    def _say(self, raw: Any, check: str) -> Mapping[str, str]:
        say = Row(self.row.file, f"{self.row.id}.say", raw)
        required = ("pass", "fail", "fix") if check == "auto" else ("do",)
        return MappingProxyType({k: str(v) for k, v in say.fields(required, optional=("missing",)).items()})

    def _condition(self, raw: Any, key: str) -> Condition:
        if not isinstance(raw, dict):
            raise self._fault(key, "a condition is a mapping")
        if "all" in raw or "any" in raw:
            word = "all" if "all" in raw else "any"
            parts = tuple(self._condition(part, f"{key}.{word}") for part in raw[word])
            return Every(parts) if word == "all" else Some(parts)
        if "not" in raw:
            return Never(self._condition(raw["not"], f"{key}.not"))
        if "predicate" in raw:
            if raw["predicate"] not in PREDICATES:
                raise self._fault(key, f"no predicate {raw['predicate']!r}", f"one of {', '.join(PREDICATES)}")
            for name in raw["facts"]:
                self._known(name, key)
            return Ask(str(raw["predicate"]), tuple(raw["facts"]))
        return self._compare(Row(self.row.file, f"{self.row.id}.{key}", raw), key)

    def _compare(self, row: Row, key: str) -> Compare:
        f = row.fields(required=("fact", "op"), optional=("value", "of", "unit"))
        kind = self._known(f["fact"], key)
        op = row.choice("op", _OPS)
        if op != "known" and ("value" in f) == ("of" in f):
            raise self._fault(key, "give either value or of")
        unit = str(f.get("unit", ""))
        if unit not in MEASURES:
            raise self._fault(f"{key}.unit", f"unit {unit!r} is not known", f"one of {', '.join(u for u in MEASURES if u)}")
        if kind.unit not in _UNITLESS and op != "known" and MEASURES[unit].si != kind.unit:
            raise self._fault(f"{key}.unit", f"{kind.name} is in {kind.unit}, which {unit or 'no unit'!r} does not measure")
        if "of" in f:
            self._known(f["of"], key)
        for name in (f["fact"], f.get("of")):
            if name is not None:
                self.units.setdefault(name, unit)
        return Compare(kind.name, op, _value(f.get("value")), f.get("of"), unit)

    def _known(self, name: str, key: str) -> FactKind:
        kind = self.vocabulary.find(name, self.each)
        if kind is None:
            raise self._fault(key, f"no fact {name!r} at {self.each or 'the room'}", "add it to facts.yaml")
        return kind

    def _cases(self, raw: Any, check: str) -> tuple[Case, ...]:
        cases = []
        for i, one in enumerate(raw):
            row = Row(self.row.file, f"{self.row.id}.cases[{i}]", one)
            f = row.fields(required=("facts", "verdict"))
            facts = {name: self._case_fact(name, value) for name, value in f["facts"].items()}
            cases.append(Case(MappingProxyType(facts), row.choice("verdict", tuple(Verdict))))
        verdicts = {c.verdict for c in cases}
        if check == "auto" and not {Verdict.PASS, Verdict.FAIL} <= verdicts:
            raise self._fault("cases", "there must be a case that passes and one that fails")
        if check == "manual" and Verdict.MANUAL not in verdicts:
            raise self._fault("cases", "there must be a case in which it is to be done")
        return tuple(cases)

    def _case_fact(self, name: str, raw: Any) -> Fact:
        self._known(name, "cases")
        unit = self.units.get(name, "")
        value, spread = (raw["value"], float(raw["pm"])) if isinstance(raw, dict) else (raw, 0.0)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return Fact(to_si(float(value), unit), spread * MEASURES[unit].factor)
        return Fact(_value(value))

    def _fault(self, key: str, detail: str, hint: str = "") -> RuleError:
        return RuleError(detail, path=self.row.place(key), hint=hint)


def _value(raw: Any) -> Value:
    if isinstance(raw, list):
        return tuple(str(r) for r in raw)
    return float(raw) if isinstance(raw, int | float) and not isinstance(raw, bool) else raw
