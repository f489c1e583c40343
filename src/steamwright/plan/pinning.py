"""A piece of a plan as the job pins it, and what can be done about one that was cut too short."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.cover import cover
from steamwright.covering.inputs import CoveringWishes, PiecePin, PinnedPatch, PinnedPlace
from steamwright.covering.model import Account, Covering, Patch, Piece
from steamwright.errors import InputError
from steamwright.plan.model import Plan
from steamwright.units import System, format_length

NEAR_M = 1e-6
State = Literal["cut", "set"]
End = Literal["start", "end"]


@dataclass(frozen=True, slots=True)
class ShortAnswer:
    """One way out when a piece was cut too short: what it takes more than the plan, its proof, and what the job has to say."""

    kind: Literal["patch", "again", "order"]
    sentence: str
    tight: bool
    least_lap_m: float | None
    failures: tuple[str, ...]
    cost: Account
    pieces: tuple[str, ...]
    pin: PiecePin


def piece_pin(plan: Plan, piece_id: str, state: State = "set") -> PiecePin:
    """Pin a piece of a plan as it lies there.

    Parameters
    ----------
    plan : Plan
        The plan that it was cut by.
    piece_id : str
        Its number.
    state : str, optional
        "cut" or "set".

    Returns
    -------
    pin : PiecePin
        A row of the job's table of pinned pieces; it holds the piece's shape and the names of its surfaces, so that later
        plans, in which numbers change, still find it.

    Raises
    ------
    InputError
        If the plan has no such piece.

    References
    ----------
    own derivation
    """
    piece = next((p for p in plan.covering.pieces if p.id == piece_id), None)
    if piece is None:
        raise InputError(f"the plan has no piece {piece_id}", path="piece", hint="the cutting sheets and the schedule name every piece")
    names = {f.id: f.name for f in plan.room.facets}
    return PiecePin(id=piece.id, state=state, role=piece.role.value, item=piece.item, material=piece.material, blank_m=piece.blank_m,
                    parting_m=piece.parting_m, second_at=piece.second_at, patch=tuple(_patch(p, names) for p in piece.patches))


def _patch(patch: Patch, names: dict[str, str]) -> PinnedPatch:
    at = patch.at
    place = None if at is None else PinnedPlace(x_m=at.x_m, y_m=at.y_m, angle_deg=at.angle_deg, flipped=at.flipped)
    return PinnedPatch(on=names[patch.facet], outline_m=patch.outline_m, holes_m=patch.holes_m, at=place)


def pin_row(pin: PiecePin) -> dict[str, Any]:
    """Write a pin as the row of a job file: lengths as text with their unit, defaults left out.

    Parameters
    ----------
    pin : PiecePin
        The pin.

    Returns
    -------
    row : dict
        Keys and values of ``[[covering.piece]]``.

    References
    ----------
    own derivation
    """
    row: dict[str, Any] = {"id": pin.id, "state": pin.state, "role": pin.role, "item": pin.item, "material": pin.material}
    if pin.blank_m is not None:
        row["blank"] = [_metres(v) for v in pin.blank_m]
    if pin.second_at:
        row |= {"parting": [[_metres(v) for v in p] for p in pin.parting_m], "second_at": pin.second_at}
    if pin.short_m is not None:
        row |= {"short": _metres(pin.short_m), "short_at": pin.short_at, "answer": pin.answer}
    row["patch"] = [_patch_row(p) for p in pin.patch]
    return row


def _patch_row(patch: PinnedPatch) -> dict[str, Any]:
    row: dict[str, Any] = {"on": patch.on, "outline": [[_metres(v) for v in p] for p in patch.outline_m]}
    if patch.holes_m:
        row["holes"] = [[[_metres(v) for v in p] for p in hole] for hole in patch.holes_m]
    if patch.at is not None:
        row["at"] = {"x": _metres(patch.at.x_m), "y": _metres(patch.at.y_m), "angle_deg": patch.at.angle_deg, "flipped": patch.at.flipped}
    return row


def _metres(value_m: float) -> str:
    return f"{value_m:.9f} m"


def short_answers(plan: Plan, catalog: Catalog, piece_id: str, short_m: float, at: End = "end", state: State = "cut",
                  progress: Callable[[str], None] | None = None) -> tuple[ShortAnswer, ...]:
    """Find what can be done about a piece that was cut too short: patch it, cut it again from what is left, or order more.

    Every way is laid out and proven; the other pieces stay where the plan has them.

    Parameters
    ----------
    plan : Plan
        The plan that it was cut by.
    catalog : Catalog
        What can be ordered.
    piece_id : str
        Its number.
    short_m : float
        How much is missing of its blank's length. [m]
    at : str, optional
        At which end of the blank it is missing, "start" or "end".
    state : str, optional
        "set" where the short piece lies in its mortar already: then it can only be patched.
    progress : callable, optional
        Told in words what is tried.

    Returns
    -------
    answers : tuple of ShortAnswer
        The cheapest first, those that are not lap-tight last.

    Raises
    ------
    InputError
        If there is no such piece, or it is not cut from a roll, or no longer than what is missing.

    References
    ----------
    own derivation
    """
    pin = piece_pin(plan, piece_id, state)
    if pin.blank_m is None:
        raise InputError(f"piece {piece_id} is ready-made and not cut from a roll", path="piece", hint="take another one from its pack")
    if not 0.0 < short_m < pin.blank_m[0]:
        raise InputError(f"piece {piece_id} is {format_length(pin.blank_m[0], plan.job.units)} long", path="short",
                         hint="say how much is missing, not how much is left")
    pin = pin.model_copy(update={"short_m": short_m, "short_at": at})
    answers = [_patched(plan, catalog, pin, progress)]
    if state == "cut":
        answers.append(_again(plan, catalog, pin.model_copy(update={"answer": "again"}), progress))
    return tuple(sorted(answers, key=lambda a: (not a.tight, round(a.cost.usd, 4))))


def _with(wishes: CoveringWishes, pin: PiecePin) -> CoveringWishes:
    others = tuple(p for p in wishes.piece if p.id != pin.id)
    return wishes.model_copy(update={"piece": (*others, pin)})


def _covered(plan: Plan, catalog: Catalog, pin: PiecePin, progress: Callable[[str], None] | None) -> Covering:
    return cover(plan.room, _with(plan.job.covering, pin), catalog, plan.job.use.code, progress, plan.covering)


def _patched(plan: Plan, catalog: Catalog, pin: PiecePin, progress: Callable[[str], None] | None) -> ShortAnswer:
    after = _covered(plan, catalog, pin, progress)
    fresh = tuple(p for p in _fresh(plan.covering.pieces, after.pieces) if p.id != pin.id)
    sizes = ", ".join(f"{p.id} of {_size(p, plan.job.units)} from {p.cut.stock if p.cut else 'a pack'}" for p in fresh if p.blank_m)
    sentence = f"keep {pin.id} and patch it with {sizes}" if sizes else f"keep {pin.id} as it is: its neighbours still lap it"
    if not after.proof.tight:
        sentence = f"a patch does not make {pin.id} good: {after.proof.failures[0]}"
    return ShortAnswer("patch", sentence, after.proof.tight, after.proof.least_lap_m, after.proof.failures,
                       after.account.less(plan.covering.account), tuple(p.id for p in fresh), pin)


def _again(plan: Plan, catalog: Catalog, pin: PiecePin, progress: Callable[[str], None] | None) -> ShortAnswer:
    """Cut again from what the plan leaves, the smallest rest that holds it; from a new roll where none does."""
    assert pin.blank_m is not None
    length_m, width_m = pin.blank_m
    rests = [r for r in plan.covering.left
             if r.material == pin.material and r.length_m >= length_m - NEAR_M and r.width_m >= width_m - NEAR_M]
    rest = min(rests, key=lambda r: (round(r.length_m * r.width_m, 6), r.id), default=None)
    after = _covered(plan, catalog, pin, progress)
    rolls = _rolls(after) - _rolls(plan.covering)
    weights = plan.job.covering.weights
    again_m2 = length_m * width_m
    minutes = weights.piece_min
    cost = Account(again_m2, 0.0, minutes, 0, again_m2 * weights.membrane_usd_m2 + minutes / 60.0 * weights.wage_usd_h)
    size = f"{format_length(length_m, plan.job.units)} by {format_length(width_m, plan.job.units)}"
    kind: Literal["again", "order"] = "again"
    if rest is not None:
        sentence = f"cut {pin.id} again, {size}, from {rest.id} ({rest.origin}); the short one becomes a remnant"
    else:
        kind = "order"
        sentence = f"nothing that is left holds {size}: order {max(rolls, 1)} more roll of {pin.item}, cut {pin.id} again from it"
    if not after.proof.tight:
        sentence = f"cutting {pin.id} again does not help: {after.proof.failures[0]}"
    return ShortAnswer(kind, sentence, after.proof.tight, after.proof.least_lap_m, after.proof.failures, cost, (pin.id,), pin)


def _rolls(covering: Covering) -> int:
    return sum(not s.on_hand for s in covering.stock)


def _fresh(before: tuple[Piece, ...], after: tuple[Piece, ...]) -> list[Piece]:
    """Pieces of a layout that were none, or others, before."""
    known = {_shape(p) for p in before}
    return [p for p in after if _shape(p) not in known]


def _shape(piece: Piece) -> tuple[object, ...]:
    patches = sorted((q.facet, *(round(v, 4) for v in q.polygon.bounds), round(q.polygon.area, 4)) for q in piece.patches)
    return piece.role, tuple(patches)


def _size(piece: Piece, units: System) -> str:
    assert piece.blank_m is not None
    return " by ".join(format_length(v, units) for v in piece.blank_m)
