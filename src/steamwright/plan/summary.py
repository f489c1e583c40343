"""The short account of a plan: what a person wants to know before opening a file."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from steamwright.rules.model import Finding, Verdict

if TYPE_CHECKING:
    from steamwright.covering.model import Account
    from steamwright.plan.model import Plan

URGENCY = (Verdict.FAIL, Verdict.MARGINAL, Verdict.MISSING_INPUT, Verdict.MANUAL, Verdict.PASS, Verdict.NOT_APPLICABLE)


def plan_summary(plan: Plan) -> dict[str, Any]:
    """Gather the figures of a plan.

    Parameters
    ----------
    plan : Plan
        Everything derived from one job.

    Returns
    -------
    summary : dict
        JSON values; lengths, areas and volumes in SI with the unit in the name.

    References
    ----------
    own derivation
    """
    covering = plan.covering
    least_m = covering.proof.least_lap_m
    areas: dict[str, float] = {}
    for facet in plan.room.facets:
        if facet.covering_by != "none":
            areas[facet.kind.value] = areas.get(facet.kind.value, 0.0) + facet.area_m2
    first = first_failure(plan.findings)
    return {
        "job": plan.job.name,
        "units": plan.job.units,
        "volume_m3": round(plan.room.volume_m3, 6),
        "tiled_volume_m3": round(plan.finished.volume_m3, 6),
        "areas_m2": {kind: round(area, 6) for kind, area in areas.items()},
        "pieces": dict(Counter(piece.role.value for piece in covering.pieces)),
        "rolls": [
            {"id": s.id, "material": s.material, "width_m": s.width_m, "used_length_m": round(s.used_length_m, 6), "on_hand": s.on_hand}
            for s in covering.stock
        ],
        "takes": account_row(covering.account),
        "wishes": [{"path": w.path, "says": w.says} | account_row(w.cost) for w in covering.wish_costs],
        "alternatives": [
            {"name": a.name, "choose": a.choose, "tight": a.tight, "differs_ratio": round(a.differs_ratio, 4), "chosen": a.chosen}
            | account_row(a.account)
            for a in covering.alternatives
        ],
        "stopped_early": plan.stopped_early,
        "tight": covering.proof.tight,
        "lap_required_m": covering.lap_required_m,
        "least_lap_m": least_m,
        "least_lap_where": covering.proof.where,
        "spare_m": None if least_m is None else round(least_m - covering.lap_required_m, 6),
        "findings": {verdict.value: sum(f.verdict is verdict for f in plan.findings) for verdict in Verdict},
        "fails_first": None if first is None else {"rule": first.rule, "where": first.where, "sentence": first.sentence, "fix": first.fix},
    }


def account_row(account: Account) -> dict[str, Any]:
    """What a layout takes, or costs more than another, as JSON values.

    Parameters
    ----------
    account : Account
        What it takes.

    Returns
    -------
    row : dict
        The names of plan.json.

    References
    ----------
    own derivation
    """
    digits = {"material_m2": 4, "seam_m": 3, "minutes": 1, "pieces": 0, "usd": 2}
    return {name: round(getattr(account, name), n) if n else getattr(account, name) for name, n in digits.items()}


def in_urgency(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Put findings in the order in which a person should read them.

    Parameters
    ----------
    findings : tuple of Finding
        As judged.

    Returns
    -------
    ordered : tuple of Finding
        Failures first, required before the rest, then as judged.

    References
    ----------
    own derivation
    """
    return tuple(sorted(findings, key=lambda f: (URGENCY.index(f.verdict), f.level != "required")))


def first_failure(findings: tuple[Finding, ...]) -> Finding | None:
    """Find the failure to deal with first.

    Parameters
    ----------
    findings : tuple of Finding
        As judged.

    Returns
    -------
    failure : Finding or None
        ``None`` if nothing fails.

    References
    ----------
    own derivation
    """
    return next((f for f in in_urgency(findings) if f.verdict is Verdict.FAIL), None)


def finding_row(finding: Finding) -> dict[str, Any]:
    """One finding as JSON values.

    Parameters
    ----------
    finding : Finding
        A judged rule.

    Returns
    -------
    row : dict
        The names of plan.json.

    References
    ----------
    own derivation
    """
    names = ("rule", "provided", "required", "op", "unit", "margin", "source", "clause", "how_known", "level", "where", "sentence", "fix")
    return {"verdict": finding.verdict.value} | {name: getattr(finding, name) for name in names}
