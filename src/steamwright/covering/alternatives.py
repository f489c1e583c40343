"""The best layouts that differ from one another, and what each takes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.cover import judged
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.leaning import leaning
from steamwright.covering.model import Account, Alternative, Covering, Piece, Role, SoFar
from steamwright.covering.trial import Trial, attempt
from steamwright.errors import ClashError
from steamwright.room.model import CoveredBy, Solid

WAYS: tuple[tuple[str, dict[str, str]], ...] = (
    ("best by the weights", {"layout": "best", "joints": "best"}),
    ("least material", {"layout": "least material", "joints": "best"}),
    ("shortest seams", {"layout": "shortest seams", "joints": "best"}),
    ("fewest pieces", {"layout": "fewest pieces", "joints": "best"}),
    ("walls upright", {"layout": "walls upright", "joints": "best"}),
    ("walls level", {"layout": "walls level", "joints": "best"}),
    ("bands on all joints", {"layout": "best", "joints": "band"}),
    ("each surface folded over", {"layout": "best", "joints": "fold"}),
)
OWN = "as chosen"
"""A layout that the job chooses by more than one of these."""
MOST = 3
DIFFERS_RATIO = 0.1
"""Two layouts are different where the sheets of at least this share of the surface are others."""
SAME_RATIO = 0.9
CHEAPER_USD = 0.005


@dataclass(frozen=True, slots=True)
class Laid:
    """A layout as it is compared: its pieces, what they take, and what the proof says."""

    pieces: tuple[Piece, ...]
    account: Account
    tight: bool
    least_lap_m: float | None


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to lay the room out: what the job says to get it, the trial and what its search was given; none where it is laid now."""

    name: str
    say: dict[str, str]
    account: Account
    pieces: tuple[Piece, ...]
    wishes: CoveringWishes
    made: tuple[Trial, CoveringWishes] | None = None


def find_alternatives(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str, mine: Covering,
                      progress: Callable[[str], None] | None = None) -> tuple[Alternative, ...]:
    """Lay the room out in every way that a job can choose and keep the three cheapest that differ.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses; pins and other wishes hold in every alternative.
    catalog : Catalog
        What can be ordered.
    code : str
        Code family.
    mine : Covering
        The plan's own layout, which is always among them.
    progress : callable, optional
        Told in words which way is tried.

    Returns
    -------
    alternatives : tuple of Alternative
        The cheapest by the job's weights first, every one proven; a layout that is not lap-tight is none.

    Raises
    ------
    InputError
        As `attempt`.

    References
    ----------
    own derivation
    """
    laid = Laid(mine.pieces, mine.account, mine.proof.tight, mine.proof.least_lap_m)
    ways = list(_other_ways(solid, wishes, catalog, code, progress or (lambda _: None), lambda: False))
    return tuple(a for a, _ in _kept(solid, wishes, code, laid, ways))


def find_layouts(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str, mine: Laid, times: int = 1,
                 progress: Callable[[str], None] | None = None, found: Callable[[SoFar], None] | None = None,
                 stop: Callable[[], bool] | None = None) -> tuple[tuple[Alternative, Covering | None], ...]:
    """Lay the room out afresh, as long as one likes, then in every other way that a job can choose; keep the best that differ.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses; pins and other wishes hold in every layout.
    catalog : Catalog
        What can be ordered.
    code : str
        Code family.
    mine : Laid
        What is laid now, which is always among them.
    times : int, optional
        How many times as long as the job says the fresh layout is searched (count), from 1.
    progress : callable, optional
        Told in words which way is tried.
    found : callable, optional
        Told in figures how good the fresh layout is so far, and the bound.
    stop : callable, optional
        Asked again and again; once it says True the best so far is kept and no further way is tried.

    Returns
    -------
    layouts : tuple of (Alternative, Covering or None)
        The cheapest by the job's weights first, every one proven, none dearer than what is laid now unless it differs; with
        the covering, that a plan can be made from, save for what is laid now.

    Raises
    ------
    InputError
        As `attempt`.

    References
    ----------
    own derivation
    """
    tell, ended = progress or (lambda _: None), stop or (lambda: False)
    name = "laid out afresh" if times == 1 else f"searched {times} times as long"
    tell(name)
    leant = leaning(solid, wishes.model_copy(update={"effort": wishes.effort * times}))
    fresh = attempt(solid, leant, catalog, code, stop=ended, found=found)
    account = fresh.account_by(solid, wishes, leant)
    ways = [_Way(name, {}, account, fresh.pieces, wishes, (fresh, leant))] if account.usd < mine.account.usd - CHEAPER_USD else []
    ways += _other_ways(solid, wishes, catalog, code, tell, ended)
    tell("proof")
    return tuple(_kept(solid, wishes, code, mine, ways))


def _other_ways(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str, tell: Callable[[str], None],
                ended: Callable[[], bool]) -> Iterator[_Way]:
    """Every way that a job can choose and has not chosen, until somebody ends it."""
    for name, choose in WAYS:
        # what the job says anyway need not be said again
        say = {key: value for key, value in choose.items() if getattr(wishes, key) != value}
        if not say:
            continue
        if ended():
            return
        tell(name)
        asked: dict[str, Any] = dict(say)
        chosen = wishes.model_copy(update=asked)
        leant = leaning(solid, chosen)
        try:
            trial = attempt(solid, leant, catalog, code, stop=ended)
        except ClashError:
            continue
        yield _Way(name, say, trial.account_by(solid, wishes, leant), trial.pieces, chosen, (trial, leant))


def _kept(solid: Solid, wishes: CoveringWishes, code: str, mine: Laid, ways: Sequence[_Way]) -> list[tuple[
        Alternative, Covering | None]]:
    own = next((name for name, choose in WAYS if all(getattr(wishes, key) == value for key, value in choose.items())), OWN)
    laid = _Way(own, {}, mine.account, mine.pieces, wishes)
    kept: list[tuple[Alternative, Covering | None]] = []
    shown: list[_Way] = []
    for way in sorted([laid, *ways], key=lambda w: (round(w.account.usd, 2), w.made is not None)):
        chosen = way.made is None
        room_for = MOST - (0 if any(a.chosen for a, _ in kept) else 1)
        others = [w for w in shown if w.made is not None]
        if way.say:
            others.append(laid)
        if not chosen and (len(kept) >= room_for or any(differing_ratio(solid, w.pieces, way.pieces) < DIFFERS_RATIO for w in others)):
            continue
        covering = None if way.made is None else judged(solid, way.wishes, code, *way.made)
        tight, least_m = (mine.tight, mine.least_lap_m) if covering is None else (covering.proof.tight, covering.proof.least_lap_m)
        if chosen or tight:
            differs = differing_ratio(solid, shown[0].pieces, way.pieces) if shown else 0.0
            kept.append((Alternative(way.name, way.say, way.account, tight, least_m, differs, chosen), covering))
            shown.append(way)
    return kept


def differing_ratio(solid: Solid, one: Sequence[Piece], other: Sequence[Piece]) -> float:
    """Measure how much of the covered surface has other sheets in one layout than in another.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    one, other : sequence of Piece
        Two layouts of it.

    Returns
    -------
    ratio : float
        Share of the area of the first layout's sheets that lie nowhere alike in the second.

    References
    ----------
    own derivation
    """
    covered = {f.id for f in solid.facets if f.covering_by is CoveredBy.PIECES}
    first, second = ([(q.facet, q.polygon) for p in pieces if p.role is Role.SHEET for q in p.patches if q.facet in covered]
                     for pieces in (one, other))
    total = sum(g.area for _, g in first)
    alike = 0.0
    for facet, shape in first:
        best = max((shape.intersection(g).area / shape.union(g).area for f, g in second if f == facet), default=0.0)
        alike += shape.area if best > SAME_RATIO else 0.0
    return 1.0 - alike / total if total > 0.0 else 0.0
