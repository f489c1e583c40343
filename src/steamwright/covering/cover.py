"""The whole step: lay out, cut from rolls, prove."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.bound import material_bound
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.layers import deepest_layers
from steamwright.covering.leaning import leaning
from steamwright.covering.model import Covering, Piece
from steamwright.covering.proof import prove
from steamwright.covering.trial import Trial, attempt
from steamwright.room.model import Solid


def cover(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str = "IRC", progress: Callable[[str], None] | None = None,
          before: Covering | None = None, stop: Callable[[], bool] | None = None,
          cut: Callable[[Sequence[Piece]], None] | None = None) -> Covering:
    """Cover a room with pieces cut from rolls, and have the result judged.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses.
    catalog : Catalog
        What can be ordered.
    code : str, optional
        Code family, which may ask for longer legs at pan and dam.
    progress : callable, optional
        Told in words what is being done.
    before : Covering, optional
        An earlier covering; where it speaks of the same surfaces its scheme is kept.
    stop : callable, optional
        Asked again and again; the search ends with its best so far when it says True.
    cut : callable, optional
        Handed the pieces as soon as they are cut, before anything is said about them.

    Returns
    -------
    covering : Covering
        Pieces, stock, proof and bound.

    Raises
    ------
    InputError
        If the catalog has no such membrane, the roll is too narrow, a piece is larger than it, or wishes clash.

    References
    ----------
    own derivation
    """
    tell = progress or (lambda _: None)
    key = ground_key(solid, wishes, code)
    start = before if before is not None and before.ground_key == key else None
    leant = leaning(solid, wishes)
    trial = attempt(solid, leant, catalog, code, progress, start, stop)
    if cut is not None:
        cut(trial.pieces)
    tell("proof")
    return judged(solid, wishes, code, trial, leant)


def judged(solid: Solid, wishes: CoveringWishes, code: str, trial: Trial, leant: CoveringWishes) -> Covering:
    """Have a layout judged by those who did not make it: proof, bound, layers.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses.
    code : str
        Code family.
    trial : Trial
        The layout, cut.
    leant : CoveringWishes
        What the search was given.

    Returns
    -------
    covering : Covering
        Its account is in the job's own weights, whatever the search leant to.

    References
    ----------
    own derivation
    """
    lap_m = wishes.lap_required_m
    pieces, stock = trial.pieces, trial.stock
    proof = prove(solid, pieces, lap_m, lap_m + wishes.allowance_m)
    bound, layers = material_bound(solid, pieces, stock, wishes), deepest_layers(solid, pieces)
    return Covering(lap_m, lap_m + wishes.allowance_m, pieces, stock, proof, bound, layers, trial.layout.crowded,
                    trial.cuttings, trial.layout.scheme, ground_key(solid, wishes, code), trial.account_by(solid, wishes, leant),
                    trial.left, trial.layout.stopped)


def ground_key(solid: Solid, wishes: CoveringWishes, code: str) -> str:
    """Name what a scheme speaks of: facets, joints, who covers what, and the wishes. Sizes and pieces already cut do not enter.

    Parameters
    ----------
    solid : Solid
        The room.
    wishes : CoveringWishes
        What a person chooses.
    code : str
        Code family.

    Returns
    -------
    key : str
        Equal keys mean that a scheme of one room can be laid in the other.

    References
    ----------
    own derivation
    """
    facets = [(f.id, f.surface, f.kind.value, f.covering_by.value) for f in solid.facets]
    joints = [(j.id, j.facets) for j in solid.joints]
    said = wishes.model_dump_json(exclude={"piece", "remnant", "remnants_given"})
    return hashlib.sha256(repr((facets, joints, said, code)).encode()).hexdigest()
