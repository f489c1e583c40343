"""Survey reports made from coordinates, and rooms built on them, for tests."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from steamwright.room.inputs import Room
from steamwright.room.model import CoveredBy, Face, FacetKind, Solid
from steamwright.room.solid import build_solid
from steamwright.room.survey_model import StationFix, SurveyReport, WallFix

NAMES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def report(points: Any, walls: Sequence[WallFix] = (), floor: Sequence[tuple[str, float]] = (),
           ceiling: Sequence[tuple[str, float]] = ()) -> SurveyReport:
    """A survey that found exactly these stations on the framing."""
    stations = tuple(StationFix(n, float(x), float(y), 0.001) for n, (x, y) in zip(NAMES, points, strict=False))
    return SurveyReport(Face.FRAMING, stations, (), tuple(walls), tuple(floor), tuple(ceiling), (), dof=0, chi2=0.0, chi2_low=0.0,
                        chi2_high=0.0, consistent=True, suspect=None, advice=(), flatness=(), shims=())


def all_pieces(_surface: str, kind: FacetKind) -> tuple[CoveredBy, str, str | None]:
    """Sheets on everything but openings."""
    return (CoveredBy.NONE, "", None) if kind is FacetKind.OPENING else (CoveredBy.PIECES, "", "buildup-01")


def solid(points: Any, room: dict[str, Any], depth_m: float = 0.0, **more: Any) -> Solid:
    """A room on a face that stands ``depth_m`` before the framing everywhere but at openings."""
    said = Room.model_validate(room, context={"typed": True})
    return build_solid(report(points, **more), said, lambda _s, k: 0.0 if k is FacetKind.OPENING else depth_m, Face.MEMBRANE, all_pieces)
