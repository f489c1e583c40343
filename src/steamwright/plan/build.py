"""The one pipeline: a job and a catalog in, a plan out, and nothing else touched."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from math import dist

from steamwright.buildup.catalog_model import Catalog
from steamwright.buildup.faces import Faces
from steamwright.buildup.model import BuildUp
from steamwright.buildup.stack import build_stacks, with_facets
from steamwright.covering.alternatives import find_alternatives
from steamwright.covering.boards.lay import lay_boards
from steamwright.covering.boards.model import Boards
from steamwright.covering.boards.practice import practice
from steamwright.covering.cover import cover
from steamwright.covering.model import Covering, Piece
from steamwright.covering.wish_costs import said_wishes, wish_costs
from steamwright.errors import SteamwrightError
from steamwright.estimate.order import order_lines
from steamwright.plan.job import Job
from steamwright.plan.judge import judge_plan
from steamwright.plan.mends import mend
from steamwright.plan.model import Hashes, Plan
from steamwright.plan.plain import content_hash
from steamwright.plan.priced import refuse_unknown_items
from steamwright.room.bed import slab_plane
from steamwright.room.inputs import Wall
from steamwright.room.model import Face, FacetKind, Solid
from steamwright.room.pan import PanReport, pan_report
from steamwright.room.solid import build_solid
from steamwright.room.survey import adjust
from steamwright.room.survey_model import SurveyReport
from steamwright.rules.load import rules_digest
from steamwright.vapor.case import Case
from steamwright.vapor.report import vapor_report
from steamwright.vapor.steam_load import steam_load

MEND_EFFORT = 20
"""Layouts tried for each change that could make a covering lap-tight. Own choice."""


def build(job: Job, catalog: Catalog, progress: Callable[[str], None] | None = None, before: Plan | None = None,
          stop: Callable[[], bool] | None = None, weigh: bool | None = None, alternatives: bool = False,
          layout: Covering | None = None, cut: Callable[[Solid, Sequence[Piece]], None] | None = None) -> Plan:
    """Derive everything from one job. Pure: same arguments, same plan.

    Parameters
    ----------
    job : Job
        What a person says about one room.
    catalog : Catalog
        What it can be built with and ordered from.
    progress : callable, optional
        Told in words which step runs.
    before : Plan, optional
        An earlier plan of this room: where the surfaces are still the same ones, its sheets and bands stay where they
        were and only their sizes follow the readings; boards keep their direction while that takes no more of them.
        Where nothing of the room, the build-ups and the covering has changed, all these are taken
        over as they are; what its wishes cost stays too while they are the same.
    stop : callable, optional
        Asked again and again while the covering is searched; when it says True the best so far is taken and the plan says
        ``stopped_early``. Without it the search ends by counted work.
    weigh : bool, optional
        Lay the room out again without each wish to see what it costs; unless said, where no earlier plan told it.
    alternatives : bool, optional
        Look for other layouts and what they take.
    layout : Covering, optional
        A layout found for this room, which the covering begins from in place of the earlier plan's.
    cut : callable, optional
        Handed the room and its pieces as soon as they are cut anew, long before they are proven.

    Returns
    -------
    plan : Plan
        Survey, room on three faces, build-ups, covering with its proof, boards on their framing, order, findings, vapor by the
        monthly method and the steam load; the hourly method is left to `compare`.

    Raises
    ------
    InputError
        If the job describes no possible room or covering, or prices what cannot be ordered; a failed rule is a finding, not an error.

    References
    ----------
    own derivation
    """
    tell = progress or (lambda _: None)
    refuse_unknown_items(job.prices, catalog)
    tell("build-ups")
    stacks = build_stacks(job.buildup, catalog)
    faces = Faces(stacks, liner_pan=job.room.pan.membrane == "liner")
    survey, room, framing, finished, pan = _measured(job, faces, before, tell)
    buildups = with_facets(stacks, [(f.buildup, f.id) for f in room.facets if f.buildup is not None])
    laid = before if before is not None and layout is None and room is before.room and _lies_alike(job, catalog, before) else None
    start = layout or (before.covering if before is not None else None)
    covering = laid.covering if laid is not None else cover(
        room, job.covering, catalog, job.use.code, progress, start, stop, None if cut is None else partial(cut, room))
    covering = _compared(job, catalog, room, covering, progress, before if layout is None else None, weigh, alternatives)
    tell("boards")
    boards = laid.boards if laid is not None else _boards(
        survey, framing, room, pan, buildups, catalog, covering, job.room.wall, before.boards if before is not None else None)
    tell("rules")
    mends = before.mends if before is not None and laid is not None else "" if weigh is False else _mends(
        job, catalog, survey, faces, room, covering, tell)
    findings = judge_plan(job, survey, room, finished, framing, pan, buildups, covering, boards, mends)
    tell("order")
    order = order_lines(covering, catalog, job.prices, boards, room, pan, job.units)
    tell("vapor and steam")
    case = Case(job.use, buildups, room, finished, covering, job.room, catalog.materials)
    return Plan(job, _hashes(job, catalog), survey, room, framing, finished, pan, buildups, covering, order, findings,
                covering.stopped_early, boards, vapor_report(case), steam_load(case), mends=mends)


def _measured(job: Job, faces: Faces, before: Plan | None,
              tell: Callable[[str], None]) -> tuple[SurveyReport, Solid, Solid, Solid, PanReport]:
    """Survey, room on membrane, framing and tile, and pan: those of an earlier plan, as far as they depend on nothing new."""
    tell("survey")
    same = before is not None and (before.job.survey, before.job.tile) == (job.survey, job.tile) \
        and tuple(replace(b, facets=()) for b in before.buildups) == faces.buildups
    if before is not None and same:
        survey = before.survey
    else:
        survey = adjust(job.survey, lambda side, face: faces.depth_m(side, FacetKind.WALL, face), job.tile.longest_edge_m)
    tell("room")
    if before is not None and same and (before.job.room, before.job.use.code) == (job.room, job.use.code):
        return survey, before.room, before.framing, before.finished, before.pan
    room, framing, finished = (_solid(job, survey, faces, face) for face in (Face.MEMBRANE, Face.FRAMING, Face.TILE))
    faces.refuse_unmet_names([(f.surface, f.kind) for f in room.facets])
    pan = pan_report(survey, job.room, room, lambda surface, kind: faces.depth_m(surface, kind, Face.MEMBRANE), job.use.code)
    return survey, room, framing, finished, pan


def _lies_alike(job: Job, catalog: Catalog, before: Plan) -> bool:
    """Whether sheets and boards of an earlier plan of the same room are those of this job too: nothing that shapes them has changed."""
    return (job.covering == before.job.covering and job.use.code == before.job.use.code and catalog.digest == before.hashes.catalog
            and not before.stopped_early and not before.covering.alternatives)


def _solid(job: Job, survey: SurveyReport, faces: Faces, face: Face) -> Solid:
    return build_solid(survey, job.room, lambda surface, kind: faces.depth_m(surface, kind, face), face, faces.covering, faces.depth_m)


def _boards(survey: SurveyReport, framing: Solid, room: Solid, pan: PanReport, buildups: tuple[BuildUp, ...], catalog: Catalog,
            covering: Covering, walls: Sequence[Wall], before: Boards | None) -> Boards:
    """Boards keep their screws over the liner of a pan, which stands up behind them."""
    dry_z_m = None
    if pan.membrane == "liner":
        drains = [room.facet(p.facet).frame.lift([p.center_m])[0][2] for p in room.penetrations if p.kind == "drain"]
        low = [f.frame.lift(f.outline_m)[:, 2].min() for f in room.facets if f.kind is FacetKind.FLOOR]
        if drains or low:
            dry_z_m = float((drains or [min(low)])[0]) + pan.flood_line_over_drain_m + practice("screw", "over_flood_m")
    stations = {s.id: (s.x_m, s.y_m) for s in survey.stations}
    studs = {w.side: w.studs for w in walls if w.studs}
    return lay_boards(framing, room, buildups, catalog, covering.pieces, stations, dry_z_m, studs, before, slab_plane(survey))


def _compared(job: Job, catalog: Catalog, room: Solid, covering: Covering, progress: Callable[[str], None] | None,
              before: Plan | None, weigh: bool | None, alternatives: bool) -> Covering:
    """The covering with what its wishes cost and what else could be laid."""
    told = before.covering.wish_costs if before is not None and weigh is None else ()
    if before is not None and weigh is None and [(c.path, c.says) for c in told] == said_wishes(job.covering, job.units):
        covering = replace(covering, wish_costs=told)
    elif weigh is not False and not covering.stopped_early:
        costs = wish_costs(room, job.covering, catalog, job.use.code, covering.account, progress, job.units)
        covering = replace(covering, wish_costs=costs)
    if alternatives:
        covering = replace(covering, alternatives=find_alternatives(room, job.covering, catalog, job.use.code, covering, progress))
    return covering


def _mends(job: Job, catalog: Catalog, survey: SurveyReport, faces: Faces, room: Solid, covering: Covering,
           tell: Callable[[str], None]) -> str:
    """What would make a covering lap-tight that is not; nothing is tried where a person has stopped the search."""
    if covering.proof.tight or covering.stopped_early:
        return ""
    at = {s.id: (s.x_m, s.y_m) for s in survey.stations}

    def wall_m(name: str) -> float:
        first, second = name.split("-")
        return dist(at[first], at[second])

    def is_tight(changed: Job) -> bool:
        tell("what would mend it")  # before each: who is told may want no more of it
        wishes = changed.covering.model_copy(update={"effort": min(changed.covering.effort, MEND_EFFORT)})
        try:
            solid = room if changed.room == job.room else _solid(changed, survey, faces, Face.MEMBRANE)
            return cover(solid, wishes, catalog, changed.use.code).proof.tight
        except SteamwrightError:
            return False

    return mend(job, room, covering.proof.failures, wall_m, is_tight)


def _hashes(job: Job, catalog: Catalog) -> Hashes:
    return Hashes(content_hash(job.model_dump(mode="json")), catalog.digest, rules_digest())


