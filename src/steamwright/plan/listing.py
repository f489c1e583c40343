"""The plan's lists in the order in which people read them."""

from __future__ import annotations

from steamwright.covering.model import Covering, Piece
from steamwright.plan.model import Plan
from steamwright.rules.model import Finding, Verdict

URGENCY = (Verdict.FAIL, Verdict.MARGINAL, Verdict.MISSING_INPUT, Verdict.MANUAL, Verdict.PASS, Verdict.NOT_APPLICABLE)
FROM_MEMORY = "verify: from memory"
VERDICT_WORDS = {
    Verdict.FAIL: "fails",
    Verdict.MARGINAL: "too close to tell",
    Verdict.MISSING_INPUT: "not said",
    Verdict.MANUAL: "to do by hand",
    Verdict.PASS: "holds",
    Verdict.NOT_APPLICABLE: "does not apply",
}
"""The one set of words for verdicts on screen, on drawings, in the dossier and in tables."""


def most_urgent_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Sort findings: fails, doubtful, unjudged, to be done by hand, passed, not applicable; else as they came.

    Parameters
    ----------
    findings : tuple of Finding
        In any order.

    Returns
    -------
    sorted_findings : tuple of Finding
        The same findings.

    References
    ----------
    own derivation
    """
    return tuple(sorted(findings, key=lambda f: URGENCY.index(f.verdict)))


def verdict_counts(findings: tuple[Finding, ...]) -> dict[Verdict, int]:
    """Count findings by verdict, most urgent first; verdicts that do not occur are left out.

    Parameters
    ----------
    findings : tuple of Finding
        In any order.

    Returns
    -------
    counts : dict
        Number of findings by verdict.

    References
    ----------
    own derivation
    """
    return {v: n for v in URGENCY if (n := sum(f.verdict is v for f in findings))}


def known_as(finding: Finding) -> str:
    """Say how the rule of a finding is known; a required rule that rests on memory alone asks to be verified.

    Parameters
    ----------
    finding : Finding
        Any finding.

    Returns
    -------
    words : str
        ``text``, ``abstract``, ``quoted``, ``practice``, or the warning.

    References
    ----------
    own derivation
    """
    return FROM_MEMORY if finding.how_known == "memory" and finding.level == "required" else finding.how_known


def in_setting_order(covering: Covering) -> tuple[Piece, ...]:
    """Pieces in the order in which they are set.

    Parameters
    ----------
    covering : Covering
        The placed pieces.

    Returns
    -------
    pieces : tuple of Piece
        By place number; pieces without one come last, by id.

    References
    ----------
    own derivation
    """
    return tuple(sorted(covering.pieces, key=lambda p: (p.place_no <= 0, p.place_no, p.id)))


def under(covering: Covering) -> dict[str, tuple[str, ...]]:
    """For every piece, the pieces that lie over it.

    Parameters
    ----------
    covering : Covering
        The placed pieces.

    Returns
    -------
    over_me : dict
        Ids by id of the piece, in the covering's order; empty where nothing lies over it.

    References
    ----------
    own derivation
    """
    above: dict[str, list[str]] = {p.id: [] for p in covering.pieces}
    for piece in covering.pieces:
        for lower in piece.over:
            above.setdefault(lower, []).append(piece.id)
    return {k: tuple(v) for k, v in above.items()}


def cuts_of(covering: Covering, stock: str) -> tuple[Piece, ...]:
    """Pieces of one roll in cutting order: along the roll from its end, then across it.

    Parameters
    ----------
    covering : Covering
        The placed pieces.
    stock : str
        Id of the roll.

    Returns
    -------
    pieces : tuple of Piece
        Those with a place on the roll.

    References
    ----------
    own derivation
    """
    placed = [(p.cut.x_m, p.cut.y_m, p.id, p) for p in covering.pieces if p.cut is not None and p.cut.stock == stock]
    return tuple(p for *_, p in sorted(placed, key=lambda row: row[:3]))


def facet_names(plan: Plan) -> dict[str, str]:
    """Names of the facets by id.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    names : dict
        What a person calls each facet.

    References
    ----------
    own derivation
    """
    return {f.id: f.name for f in plan.room.facets}
