"""What a rule says about a plan."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """How a rule came out."""

    PASS = "pass"
    FAIL = "fail"
    MARGINAL = "marginal"
    NOT_APPLICABLE = "not_applicable"
    MISSING_INPUT = "missing_input"
    MANUAL = "manual"


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule judged at one place. Numbers are in ``unit``; ``margin`` is positive on the safe side."""

    rule: str
    verdict: Verdict
    provided: float | str | bool | None
    required: float | str | bool | None
    op: str
    unit: str
    margin: float | None
    source: str
    clause: str
    how_known: str
    level: str
    where: str
    sentence: str
    fix: str
