"""A scheme: which facets are sheeted together, how the strips lie, and how every other joint is closed."""

from __future__ import annotations

from dataclasses import replace

from steamwright.covering.fields import Field, develop
from steamwright.covering.ground import Terrain
from steamwright.covering.inputs import CoveringWishes, FoldWish
from steamwright.covering.model import LEVEL, UPRIGHT, FieldChoice, Scheme, Strips
from steamwright.covering.pins import pinned_directions
from steamwright.room.model import FacetKind, Joint


def simple_scheme(terrain: Terrain, wishes: CoveringWishes) -> Scheme:
    """Every facet by itself; bands on every joint, or folds where a person or ``joints = "fold"`` asks for them.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        Folds and directions asked for.

    Returns
    -------
    scheme : Scheme
        One field a facet.

    References
    ----------
    common practice, no source
    """
    fields = tuple(FieldChoice(g.facet.id, (), Strips(directions(terrain, g.facet.id, wishes)[0]))
                   for g in terrain.grounds.values() if g.by_pieces)
    return Scheme(fields, tuple(sorted(wished_folds(terrain, wishes, everywhere=wishes.joints == "fold").items())))


def wished_folds(terrain: Terrain, wishes: CoveringWishes, *, everywhere: bool) -> dict[str, str]:
    """The facet whose sheets turn over each folded joint, by the person's wishes; a later wish overrules an earlier one.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        What a person asks for.
    everywhere : bool
        Fold joints that no wish names, too.

    Returns
    -------
    folds : dict
        Facet by joint.

    References
    ----------
    common practice, no source
    """
    chosen: dict[str, str] = {}
    for joint in terrain.joints.values():
        turning = default_fold(terrain, joint) if everywhere else None
        asked = asked_fold(terrain, joint, wishes)
        if asked is not None:
            turning = asked or None
        if turning is not None and terrain.grounds[turning].by_pieces:
            chosen[joint.id] = turning
    return chosen


def asked_fold(terrain: Terrain, joint: Joint, wishes: CoveringWishes) -> str | None:
    """Ask what a person wants of a joint.

    Parameters
    ----------
    terrain : Terrain
        The room.
    joint : Joint
        A joint.
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    asked : str or None
        The facet whose sheets turn over it, "" for a band, ``None`` for no wish.

    References
    ----------
    own derivation
    """
    asked = None
    for wish in wishes.fold:
        way = asked_way(terrain, joint, wish)
        asked = asked if way is None else way
    return asked


def asked_way(terrain: Terrain, joint: Joint, wish: FoldWish) -> str | None:
    """See what one wish asks of a joint.

    Parameters
    ----------
    terrain : Terrain
        The room.
    joint : Joint
        A joint.
    wish : FoldWish
        A wish for a fold or a band.

    Returns
    -------
    asked : str or None
        The facet whose sheets turn over it, "" for a band, ``None`` where the wish means another joint.

    References
    ----------
    own derivation
    """
    for mine, other in (joint.facets[::-1], joint.facets):
        if terrain.grounds[mine].facet.called(wish.from_surface) and terrain.grounds[other].facet.called(wish.onto):
            return mine if wish.by == "fold" else ""
    return None


def default_fold(terrain: Terrain, joint: Joint) -> str | None:
    """Sheets turn from the wall onto floor and ceiling, and from the smaller surface onto the larger elsewhere.

    Parameters
    ----------
    terrain : Terrain
        The room.
    joint : Joint
        A joint.

    Returns
    -------
    facet : str or None
        The facet whose sheets turn over; ``None`` where others make both sides tight.

    References
    ----------
    common practice, no source
    """
    a, b = (terrain.grounds[f] for f in joint.facets)
    if not (a.by_pieces or b.by_pieces):
        return None
    if not (a.by_pieces and b.by_pieces):
        return a.facet.id if a.by_pieces else b.facet.id
    level = (FacetKind.FLOOR, FacetKind.CEILING)
    if (a.facet.kind in level) != (b.facet.kind in level):
        return b.facet.id if a.facet.kind in level else a.facet.id
    return min((a, b), key=lambda g: (round(g.facet.area_m2, 6), g.facet.id)).facet.id


def directions(terrain: Terrain, facet: str, wishes: CoveringWishes) -> tuple[str, ...]:
    """List the strip directions that a person leaves open for a surface.

    Parameters
    ----------
    terrain : Terrain
        The room.
    facet : str
        Id of a facet of the surface.
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    ways : tuple of str
        One or both.

    References
    ----------
    own derivation
    """
    said = [w.sheets for w in wishes.direction if terrain.grounds[facet].facet.called(w.on)]
    return (said[-1],) if said else pinned_directions(terrain, facet, wishes) or (UPRIGHT, LEVEL)


def stands_alone(terrain: Terrain, facet: str, wishes: CoveringWishes) -> bool:
    """See whether a surface has a direction or forbidden stretch of its own and is not developed with others.

    Parameters
    ----------
    terrain : Terrain
        The room.
    facet : str
        Id of a facet of the surface.
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    alone : bool
        True where it lies by itself.

    References
    ----------
    own derivation
    """
    on = {*(w.on for w in wishes.direction), *(w.on for w in wishes.no_seam)}
    return any(terrain.grounds[facet].facet.called(name) for name in on)


def merged(terrain: Terrain, first: FieldChoice, second: FieldChoice, joint: Joint) -> tuple[FieldChoice, Field] | None:
    """Two fields developed as one over a joint; the larger one's strips go on.

    Parameters
    ----------
    terrain : Terrain
        The room.
    first, second : FieldChoice
        Fields on either side.
    joint : Joint
        The joint between them.

    Returns
    -------
    choice, field : FieldChoice and Field, or None
        ``None`` where they do not lie flat together.

    References
    ----------
    own derivation
    """
    choice = FieldChoice(first.root, tuple(sorted((*first.inner, *second.inner, joint.id))), first.strips)
    field = develop(terrain, choice.root, choice.inner)
    return None if field is None else (choice, field)


def parted(terrain: Terrain, choice: FieldChoice, joint_id: str) -> tuple[FieldChoice, FieldChoice]:
    """A field cut in two at one of its folds.

    Parameters
    ----------
    terrain : Terrain
        The room.
    choice : FieldChoice
        A field with that fold.
    joint_id : str
        The fold.

    Returns
    -------
    near, far : FieldChoice
        The part with the root, and the other.

    References
    ----------
    own derivation
    """
    left = [j for j in choice.inner if j != joint_id]
    near, inner = {choice.root}, []
    grown = True
    while grown:
        grown = False
        for j in left:
            facets = terrain.joints[j].facets
            if j not in inner and (facets[0] in near or facets[1] in near):
                near |= set(facets)
                inner.append(j)
                grown = True
    far_root = next(f for f in terrain.joints[joint_id].facets if f not in near)
    far = tuple(j for j in left if j not in inner)
    return replace(choice, inner=tuple(sorted(inner))), FieldChoice(far_root, far, choice.strips)
