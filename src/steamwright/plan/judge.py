"""Judges a plan by all rules."""

from __future__ import annotations

from collections.abc import Sequence

from steamwright.buildup.model import BuildUp
from steamwright.covering.boards.model import NO_BOARDS, Boards
from steamwright.covering.model import Covering
from steamwright.plan.facts import gather_facts
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.room.model import Solid
from steamwright.room.pan import PanReport
from steamwright.room.survey_model import SurveyReport
from steamwright.rules.engine import judge
from steamwright.rules.load import load_rules
from steamwright.rules.model import Finding


def judge_plan(job: Job, survey: SurveyReport, membrane: Solid, finished: Solid, framing: Solid, pan: PanReport,
               buildups: Sequence[BuildUp], covering: Covering,
               boards: Boards | None = None, mends: str = "") -> tuple[Finding, ...]:
    """Judge a plan by every rule that ships with the program. Local codes decide; every finding names its source.

    Parameters
    ----------
    job : Job
        What was said.
    survey : SurveyReport
        The adjusted survey.
    membrane : Solid
        The room on the membrane face.
    finished : Solid
        The room on the tile, on which slopes, headroom and widths are judged.
    framing : Solid
        The room on the framing face; no rule of today reads it.
    pan : PanReport
        The pan.
    buildups : sequence of BuildUp
        All build-ups, with their facets.
    covering : Covering
        Pieces and proof.
    boards : Boards, optional
        Boards on their framing.
    mends : str, optional
        What would make a covering lap-tight that is not.

    Returns
    -------
    findings : tuple of Finding
        In the order of the rules and places.

    Raises
    ------
    RuleError
        If a rule names a fact that was not gathered.

    References
    ----------
    own derivation
    """
    facts = gather_facts(job, survey, membrane, finished, pan, buildups, covering, boards or NO_BOARDS, mends=mends)
    return judge(facts, load_rules(), job.units)


def judge_alternatives(plan: Plan) -> tuple[Finding, ...]:
    """Judge the build-ups that are not built by the rules on build-ups: what each would bring if it were chosen.

    Parameters
    ----------
    plan : Plan
        A plan whose job names alternatives.

    Returns
    -------
    findings : tuple of Finding
        Their places are the alternatives; none of them counts among the findings of the plan.

    Raises
    ------
    RuleError
        If a rule names a fact that was not gathered.

    References
    ----------
    own derivation
    """
    facts = gather_facts(plan.job, plan.survey, plan.room, plan.finished, plan.pan, plan.buildups, plan.covering, plan.boards, True)
    return judge(facts, tuple(r for r in load_rules() if r.each == "buildups"), plan.job.units)
