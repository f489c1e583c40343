"""What a rule is: a condition, a requirement, words for each way it can come out, and cases that hold it to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Value = float | str | bool | tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Fact:
    """A value in SI with its uncertainty (two standard deviations), ``None`` where nobody has said it."""

    value: Value
    uncertainty: float = 0.0


@dataclass(frozen=True, slots=True)
class PlaceFacts:
    """Facts that hold at one place of the room."""

    where: str
    facts: Mapping[str, Fact]


@dataclass(frozen=True, slots=True)
class Facts:
    """All that rules may ask: facts of the whole room, and lists of places with facts of their own."""

    room: Mapping[str, Fact]
    places: Mapping[str, tuple[PlaceFacts, ...]]


@dataclass(frozen=True, slots=True)
class Compare:
    """A fact against a limit in ``unit``, or against another fact (``of``)."""

    fact: str
    op: str
    limit: Value
    of: str | None
    unit: str


@dataclass(frozen=True, slots=True)
class Ask:
    """A named predicate over facts."""

    predicate: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Every:
    """All of some conditions."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Some:
    """At least one of some conditions."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Never:
    """The opposite of a condition."""

    part: Condition


Condition = Compare | Ask | Every | Some | Never


@dataclass(frozen=True, slots=True)
class Case:
    """Facts, numbers in the unit of the rule, and the verdict that they must give."""

    facts: Mapping[str, Fact]
    verdict: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of one clause.

    ``each`` names the list of places at which it is judged; ``need`` is "all" of them or "one" of them. ``gather`` folds
    the places where it passes into one finding. ``level`` is required, recommended or house; ``check`` auto or manual.
    """

    id: str
    title: str
    source: str
    clause: str
    how_known: str
    level: str
    check: str
    each: str
    need: str
    gather: bool
    when: Condition | None
    require: Condition | None
    say: Mapping[str, str]
    cases: tuple[Case, ...]
    file: str


@dataclass(frozen=True, slots=True)
class FactKind:
    """What the vocabulary says about a fact: its SI unit and what a person calls it."""

    name: str
    unit: str
    label: str


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every fact that a rule may name, for the room and for each list of places."""

    room: Mapping[str, FactKind]
    places: Mapping[str, Mapping[str, FactKind]] = field(default_factory=dict)

    def find(self, name: str, each: str) -> FactKind | None:
        """The fact of that name at a place of the list ``each``, else of the room."""
        return self.places.get(each, {}).get(name) or self.room.get(name)
