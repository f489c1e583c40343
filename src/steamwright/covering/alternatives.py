"""The best layouts that differ from one another, and what each takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.account import account_of
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.leaning import leaning
from steamwright.covering.model import Account, Alternative, Covering, Piece, Role
from steamwright.covering.proof import prove
from steamwright.covering.trial import attempt
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
MOST = 3
DIFFERS_RATIO = 0.1
"""Two layouts are different where the sheets of at least this share of the surface are others."""
SAME_RATIO = 0.9


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
    tell = progress or (lambda _: None)
    found: list[tuple[Account, str, dict[str, str], tuple[Piece, ...], bool]] = []
    for name, choose in WAYS:
        own = all(getattr(wishes, key) == value for key, value in choose.items())
        if own:
            found.append((mine.account, name, choose, mine.pieces, True))
            continue
        tell(name)
        asked: dict[str, Any] = dict(choose)
        try:
            trial = attempt(solid, leaning(solid, wishes.model_copy(update=asked)), catalog, code)
        except ClashError:
            continue
        found.append((account_of(solid, trial.pieces, trial.stock, wishes), name, choose, trial.pieces, False))
    return _kept(solid, wishes, mine, sorted(found, key=lambda f: (round(f[0].usd, 2), not f[4])))


def _kept(solid: Solid, wishes: CoveringWishes, mine: Covering,
          found: Sequence[tuple[Account, str, dict[str, str], tuple[Piece, ...], bool]]) -> tuple[Alternative, ...]:
    lap_m = wishes.lap_required_m
    own = next((f for f in found if f[4]), None)
    kept: list[tuple[Alternative, tuple[Piece, ...]]] = []
    for account, name, choose, pieces, chosen in found:
        room_for = MOST - (0 if own is None or any(a.chosen for a, _ in kept) else 1)
        if not chosen and (len(kept) >= room_for or differing_ratio(solid, mine.pieces, pieces) < DIFFERS_RATIO):
            continue
        if len(kept) >= MOST or any(differing_ratio(solid, other, pieces) < DIFFERS_RATIO for _, other in kept):
            continue
        proof = mine.proof if chosen else prove(solid, pieces, lap_m, lap_m + wishes.allowance_m)
        if chosen or proof.tight:
            differs = differing_ratio(solid, kept[0][1], pieces) if kept else 0.0
            # what the job says anyway need not be said again
            say = {key: value for key, value in choose.items() if getattr(wishes, key) != value}
            kept.append((Alternative(name, say, account, proof.tight, proof.least_lap_m, differs, chosen), pieces))
    return tuple(a for a, _ in kept)


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
