"""Folds that have no room: where a leg lies in another's way on its blank, the other side turns over, or a band closes the joint."""

from __future__ import annotations

from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import Scheme
from steamwright.covering.pricing import Pricing
from steamwright.covering.scheme import asked_fold

ROUNDS = 4
"""How often the legs are looked at again; what was mended may take the room of its neighbour. Own choice."""


def mended(pricing: Pricing, scheme: Scheme, wishes: CoveringWishes) -> Scheme:
    """Close joints in another way where a leg of a scheme had to leave them open.

    Parameters
    ----------
    pricing : Pricing
        Lays and prices schemes; what is left open has a heavy price.
    scheme : Scheme
        Folds everywhere, as a rough wish for folds makes it.
    wishes : CoveringWishes
        Joints that a person speaks of by name stay as asked.

    Returns
    -------
    mended : Scheme
        The same where every leg has room.

    References
    ----------
    own derivation
    """
    for _ in range(ROUNDS):
        before = scheme
        for name in sorted({j for d in pricing.drafts(scheme) for j, _ in d.torn}):
            joint = pricing.terrain.joints[name]
            if asked_fold(pricing.terrain, joint, wishes) is None:
                owners = [f for f in joint.facets if pricing.terrain.grounds[f].by_pieces]
                scheme = min([scheme, *(scheme.with_fold(name, owner) for owner in (*owners, None))], key=pricing.cost_usd)
        if scheme == before:
            break
    return scheme
