"""The survey alone, answered while a person is still measuring."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from steamwright.buildup.faces import Faces
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.stack import build_stacks
from steamwright.errors import InputError, Mistake, SteamwrightError
from steamwright.plan.phrasing import mistakes_of
from steamwright.room.inputs import Survey
from steamwright.room.model import Face, FacetKind
from steamwright.room.sketch import sketch_plan
from steamwright.room.survey import adjust
from steamwright.room.survey_model import SurveyReport
from steamwright.service.checking import catalog, mistakes_of_error, under
from steamwright.store.model import Draft

_TILE_EDGE_M = 0.3048


@dataclass(frozen=True, slots=True)
class SurveyAnswer:
    """What can be said of a survey. ``next`` are pairs of kind and stations still to take, in the order of a walk."""

    report: SurveyReport | None
    tape_again: tuple[str, ...]
    next: tuple[tuple[str, str], ...]
    mistakes: tuple[Mistake, ...]


def survey_answer(draft: Draft) -> SurveyAnswer:
    """Adjust the readings of a draft, however much of the rest is missing.

    Parameters
    ----------
    draft : dict
        What was typed so far.

    Returns
    -------
    answer : SurveyAnswer
        The report, or the mistakes that stand in its way.

    References
    ----------
    own derivation
    """
    said = draft.get("survey")
    if not isinstance(said, dict):
        return SurveyAnswer(None, (), (), (Mistake("survey", "there is no survey yet", "sketch the plan", code="input.missing"),))
    ahead = _next(said)
    try:
        survey = Survey.model_validate(said, context={"typed": True})
    except ValidationError as error:
        return SurveyAnswer(None, (), ahead, under("survey", mistakes_of(error, Survey, said, {})))
    try:
        report = adjust(survey, _depths(draft), system="metric" if draft.get("units") == "metric" else "inch")
    except InputError as wrong:
        return SurveyAnswer(None, (), ahead, mistakes_of_error(wrong))
    except SteamwrightError as wrong:
        return SurveyAnswer(None, (), ahead, (Mistake("survey.reading", wrong.detail, wrong.hint, code=wrong.code),))
    return SurveyAnswer(report, report.advice, ahead, ())


def _depths(draft: Draft) -> Callable[[str, Face], float]:
    """Thicknesses in front of the framing; the build-ups are read only when a reading asks for them."""
    known: list[Faces] = []

    def depth_m(side: str, face: Face) -> float:
        if not known:
            known.append(Faces(build_stacks(_build_ups(draft.get("buildup")), catalog())))
        return known[0].depth_m(side, FacetKind.WALL, face)

    return depth_m


class _BuildUps(BaseModel):
    buildup: tuple[BuildUpChoice, ...]


def _build_ups(said: object) -> tuple[BuildUpChoice, ...]:
    try:
        return _BuildUps.model_validate({"buildup": said or ()}, context={"typed": True}).buildup
    except ValidationError as error:
        raise InputError("a reading was taken on board or tile, and what lies behind it is not known yet", path="buildup",
                         hint="choose the build-up of the walls") from error


def _next(said: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """The readings of a plan that are not taken yet: walls, ties, then the floor's height at every station."""
    stations = said.get("stations")
    if not isinstance(stations, list) or len(stations) < 3 or not all(isinstance(s, str) for s in stations):
        return ()
    wanted = [*_lengths(said, stations), *(("down", s) for s in stations)]
    readings = said.get("reading")
    taken = {(r.get("kind"), r.get("of")) for r in readings if isinstance(r, dict) and isinstance(r.get("of"), str)
             and isinstance(r.get("kind"), str)} if isinstance(readings, list) else set()
    lengths = {_ends(str(of)) for kind, of in taken if kind in ("wall", "diagonal", "tie")}
    floors = {of for kind, of in taken if kind == "down"}
    return tuple((kind, of) for kind, of in wanted if (of not in floors if kind == "down" else _ends(of) not in lengths))


def _lengths(said: Mapping[str, Any], stations: Sequence[str]) -> list[tuple[str, str]]:
    n = len(stations)
    try:
        survey = Survey.model_validate({"stations": stations, "reading": (), "approximate": said.get("approximate") or {}})
        sketch = sketch_plan([survey.approximate[s] for s in stations])
    except (ValidationError, KeyError, InputError):
        walls = [("wall", f"{stations[i]}-{stations[(i + 1) % n]}") for i in range(n)]
        return [*walls, *(("diagonal", f"{stations[i]}-{stations[i + 2]}") for i in range(n - 2))]
    called = dict(zip(sketch.stations, stations, strict=True))
    return [(kind, "-".join(called[part] for part in of.split("-"))) for kind, of in sketch.readings]


def _ends(of: str) -> frozenset[str]:
    return frozenset(of.split("-", 1))
