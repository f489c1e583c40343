"""What is answered at once, keeping nothing: checks, the survey, sketches, and what the program knows."""

from __future__ import annotations

from functools import cache
from typing import Any

from fastapi import APIRouter

from steamwright.plan.job import Job
from steamwright.plan.plain import plain
from steamwright.room.sketch import sketch_plan
from steamwright.rules.coverage import limit_words
from steamwright.rules.load import load_rules
from steamwright.service.checking import catalog, kept_draft, mistakes_in
from steamwright.service.examples import examples
from steamwright.service.remnants import remnants_listed
from steamwright.service.shapes import shapes
from steamwright.service.surveying import survey_answer
from steamwright.vapor.climate import climates
from steamwright.vapor.inputs import SteamUse
from steamwright.web.begin_models import ExampleTold, RuleTold, ShapeTold, SketchSent, SketchTold
from steamwright.web.climate_models import ClimateTold, climate_told
from steamwright.web.guard import Reads
from steamwright.web.layout_models import RemnantRow, RemnantsTold
from steamwright.web.models import (
    CheckedTold,
    DraftSent,
    ImportSent,
    MistakeTold,
    ReadingToTake,
    SurveyTold,
)

router = APIRouter(prefix="/api", tags=["measure"])


@router.post("/check")
def check_draft(body: DraftSent, _who: Reads) -> CheckedTold:
    """All mistakes of a draft."""
    found = mistakes_in(kept_draft(body.draft))
    return CheckedTold(complete=not found, mistakes=[MistakeTold.model_validate(m) for m in found])


@router.post("/survey")
def adjust_survey(body: DraftSent, _who: Reads) -> SurveyTold:
    """The readings of a draft adjusted: what to tape again, and what to take next."""
    found = survey_answer(kept_draft(body.draft))
    return SurveyTold(report=found.report, tape_again=list(found.tape_again), next=[ReadingToTake(kind=k, of=of) for k, of in found.next],
                      mistakes=[MistakeTold.model_validate(m) for m in found.mistakes])


@router.get("/shapes")
def list_shapes(_who: Reads) -> list[ShapeTold]:
    """Plan shapes to begin with."""
    return [ShapeTold.model_validate(s) for s in shapes()]


@router.get("/examples")
def list_examples(_who: Reads) -> list[ExampleTold]:
    """Example jobs to begin with."""
    return [ExampleTold.model_validate(e) for e in examples()]


@router.post("/sketch")
def sketch(body: SketchSent, _who: Reads) -> SketchTold:
    """Stations made of tapped corners, and what to tape."""
    plan = sketch_plan(body.points_m)
    return SketchTold(stations=list(plan.stations), walls=list(plan.walls), turns=dict(plan.turns),
                      approximate_m=dict(zip(plan.stations, plan.approximate_m, strict=True)),
                      readings=[ReadingToTake(kind=k, of=of) for k, of in plan.readings])


@router.post("/remnants")
def read_remnants(body: ImportSent, _who: Reads) -> RemnantsTold:
    """A file of remnants as a job lists them."""
    given, rows = remnants_listed(body.toml)
    return RemnantsTold(given=given, remnant=[RemnantRow(**row) for row in rows])


@router.get("/catalog")
def show_catalog(_who: Reads) -> dict[str, Any]:
    """Materials for build-ups, and things that a covering is ordered from."""
    found: dict[str, Any] = plain(catalog())
    return found


@router.get("/climates")
def list_climates(_who: Reads) -> list[ClimateTold]:
    """Outside air that a job can name, by the month."""
    usual = SteamUse().climate
    return [climate_told(c, usual) for c in climates().values()]


@router.get("/rules")
def list_rules(_who: Reads) -> list[RuleTold]:
    """What is judged, by which clause, and how well it is known."""
    return [RuleTold(id=r.id, title=r.title, limit="" if r.require is None else limit_words(r.require), level=r.level, check=r.check,
                     source=r.source, clause=r.clause, how_known=r.how_known, chapter=r.file.removesuffix(".yaml")) for r in load_rules()]


@router.get("/schema/job")
def job_schema(_who: Reads) -> dict[str, Any]:
    """The JSON Schema of a whole job."""
    return _job_schema()


@cache
def _job_schema() -> dict[str, Any]:
    return Job.model_json_schema()
