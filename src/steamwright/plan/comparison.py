"""Compare the build-ups of a plan, and lay the result out as plain values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from steamwright.buildup.catalog_model import Catalog
from steamwright.plan.judge import judge_alternatives
from steamwright.plan.model import Plan
from steamwright.plan.plain import Json, plain
from steamwright.rules.model import Finding, Verdict
from steamwright.vapor.case import Case
from steamwright.vapor.climate import Hours
from steamwright.vapor.compare import Comparison, Family, compare

FORMAT = "steamwright-comparison"
AGAINST = {Verdict.FAIL: "would fail if it were built", Verdict.MARGINAL: "would be too close to call if it were built",
           Verdict.MISSING_INPUT: "could not be judged if it were built"}


def compare_plan(plan: Plan, catalog: Catalog, years: int = 2, outside: Hours | None = None,
                 tell: Callable[[str], None] | None = None, clock: Callable[[], float] | None = None) -> Comparison:  # fmt: skip
    """Set the build-ups of a plan side by side.

    Parameters
    ----------
    plan : Plan
        A plan whose job names alternatives.
    catalog : Catalog
        What it was made with.
    years : int
        Years of the hourly method; 0 leaves it out.
    outside : Hours, optional
        A year of outside air in place of the job's climate.
    tell : callable, optional
        Told in words what runs.
    clock : callable, optional
        Seconds, to tell how long the first run compiled.

    Returns
    -------
    comparison : Comparison
        By base and alternatives, with the rules that an alternative would not hold.

    Raises
    ------
    InputError
        If no build-up has an alternative.

    References
    ----------
    own derivation
    """
    case = Case(plan.job.use, plan.buildups, plan.room, plan.finished, plan.covering, plan.job.room, catalog.materials)
    found = compare(case, years, outside, tell=tell, clock=clock)
    against = [f for f in judge_alternatives(plan) if f.verdict in AGAINST]
    return replace(found, families=tuple(_with_rules(family, against) for family in found.families))


def _with_rules(family: Family, against: Sequence[Finding]) -> Family:
    """A family that also says which rules its alternatives would not hold; the plan, which builds none of them, has no finding on them."""
    names = {v.name for v in family.variants if not v.is_base}
    said = tuple(f"{AGAINST[f.verdict]}: {f.sentence}" for f in against if f.where in names)
    return replace(family, reasons=family.reasons + said)


def comparison_document(comparison: Comparison) -> dict[str, Json]:
    """Lay a comparison out as JSON values.

    Parameters
    ----------
    comparison : Comparison
        From `compare_plan`.

    Returns
    -------
    document : dict
        SI values under the names of the model.

    References
    ----------
    own derivation
    """
    return {"format": FORMAT, "version": 1} | dict(plain(comparison))
