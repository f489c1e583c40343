"""How a job's wishes lean the search: to less material, shorter seams, fewer pieces, or walls laid one way."""

from __future__ import annotations

from steamwright.covering.inputs import CoveringWishes, DirectionWish
from steamwright.room.model import CoveredBy, FacetKind, Solid

HEAVIER = 5.0
"""By how much a layout that leans to one side weighs that side more."""


def leaning(solid: Solid, wishes: CoveringWishes) -> CoveringWishes:
    """Turn the chosen layout into the weights and directions that a search keeps to.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    leaning : CoveringWishes
        The same where the layout is "best". Walls that have a direction or a pinned seam of their own keep it.

    References
    ----------
    own derivation
    """
    weights = wishes.weights
    if wishes.layout == "least material":
        return wishes.model_copy(update={"weights": weights.model_copy(update={"membrane_usd_m2": weights.membrane_usd_m2 * HEAVIER})})
    if wishes.layout == "shortest seams":
        return wishes.model_copy(update={"weights": weights.model_copy(update={"lap_min_m": weights.lap_min_m * HEAVIER})})
    if wishes.layout == "fewest pieces":
        return wishes.model_copy(update={"weights": weights.model_copy(update={"piece_min": weights.piece_min * HEAVIER})})
    if wishes.layout in ("walls upright", "walls level"):
        sheets = "upright" if wishes.layout == "walls upright" else "level"
        own = {w.on for w in wishes.direction} | {w.on for w in wishes.seam}
        walls = dict.fromkeys(f.surface for f in solid.facets if f.kind is FacetKind.WALL and f.covering_by is CoveredBy.PIECES)
        rows = tuple(DirectionWish(on=w, sheets=sheets) for w in walls if w not in own)
        return wishes.model_copy(update={"direction": (*rows, *wishes.direction)})
    return wishes
