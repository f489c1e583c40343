"""Wishes about the covering that contradict each other as they are written, whatever the room is."""

from __future__ import annotations

from collections.abc import Iterator

from steamwright.covering.inputs import CoveringWishes
from steamwright.errors import Mistake


def wish_clashes(wishes: CoveringWishes) -> Iterator[Mistake]:
    """Find wishes that no room can meet together.

    Parameters
    ----------
    wishes : CoveringWishes
        What a person says about the covering.

    Yields
    ------
    mistake : Mistake
        Which wish clashes with which.

    References
    ----------
    own derivation
    """
    yield from _seams(wishes)
    yield from _directions(wishes)
    yield from _folds(wishes)
    yield from _pieces(wishes)


def _seams(wishes: CoveringWishes) -> Iterator[Mistake]:
    lying: dict[str, tuple[int, str]] = {}
    for i, seam in enumerate(wishes.seam):
        path = f"covering.seam[{i}]"
        if (seam.along_m is None) == (seam.up_m is None):
            yield Mistake(path, f"the seam on {seam.on} is to lie at one distance, along or up", 'write such as along = "40 in"')
            continue
        way = "upright" if seam.along_m is not None else "level"
        first, other = lying.setdefault(seam.on, (i, way))
        if other != way:
            yield Mistake(path, f"the seam on {seam.on} lays its sheets {way}, covering.seam[{first}] lays them {other}",
                          "keep one of the two")
        for k, direction in enumerate(wishes.direction):
            if direction.on == seam.on and direction.sheets != way:
                yield Mistake(path, f"the seam on {seam.on} lays its sheets {way}, covering.direction[{k}] wants them {direction.sheets}",
                              "take the direction out: the seam says it already")


def _directions(wishes: CoveringWishes) -> Iterator[Mistake]:
    said: dict[str, tuple[int, str]] = {}
    for i, wish in enumerate(wishes.direction):
        first, sheets = said.setdefault(wish.on, (i, wish.sheets))
        if sheets != wish.sheets:
            yield Mistake(f"covering.direction[{i}]", f"the sheets of {wish.on} are to lie {wish.sheets}, covering.direction[{first}] wants"
                          f" them {sheets}", "keep one of the two")


def _folds(wishes: CoveringWishes) -> Iterator[Mistake]:
    said: dict[frozenset[str], tuple[int, tuple[str, str, str]]] = {}
    for i, wish in enumerate(wishes.fold):
        mine = ("", "", "band") if wish.by == "band" else (wish.from_surface, wish.onto, "fold")
        first, other = said.setdefault(frozenset((wish.from_surface, wish.onto)), (i, mine))
        if other != mine:
            yield Mistake(f"covering.fold[{i}]", f"the joint of {wish.from_surface} and {wish.onto} is closed in another way by"
                          f" covering.fold[{first}]", "keep one of the two")


def _pieces(wishes: CoveringWishes) -> Iterator[Mistake]:
    seen: set[str] = set()
    for i, piece in enumerate(wishes.piece):
        path = f"covering.piece[{i}]"
        if piece.id in seen:
            yield Mistake(f"{path}.id", f"piece {piece.id} is pinned twice", "keep one of the two")
        seen.add(piece.id)
        if piece.blank_m is None and (piece.short_m is not None or piece.role in ("sheet", "band")):
            yield Mistake(path, f"piece {piece.id} needs its blank", 'write such as blank = ["84 in", "36 in"]')
        if piece.blank_m is not None and any(patch.at is None for patch in piece.patch):
            yield Mistake(f"{path}.patch", f"piece {piece.id} does not say where its patches lie on the blank", "copy “at” from plan.json")
        if piece.answer == "again" and piece.state == "set":
            yield Mistake(f"{path}.answer", f"piece {piece.id} is set and cannot be cut again", 'write answer = "patch", or state = "cut"')
    held: set[str] = set()
    for i, remnant in enumerate(wishes.remnant):
        if remnant.id in held:
            yield Mistake(f"covering.remnant[{i}].id", f"the remnant {remnant.id} is listed twice", "give every remnant its own id")
        held.add(remnant.id)
