"""Compare the build-ups of a plan, and lay the result out as plain values."""

from __future__ import annotations

from collections.abc import Callable

from steamwright.buildup.catalog_model import Catalog
from steamwright.plan.model import Plan
from steamwright.plan.plain import Json, plain
from steamwright.vapor.case import Case
from steamwright.vapor.climate import Hours
from steamwright.vapor.compare import Comparison, compare

FORMAT = "steamwright-comparison"


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
        By base and alternatives.

    Raises
    ------
    InputError
        If no build-up has an alternative.

    References
    ----------
    own derivation
    """
    case = Case(plan.job.use, plan.buildups, plan.room, plan.finished, plan.covering, plan.job.room, catalog.materials)
    return compare(case, years, outside, tell=tell, clock=clock)


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
