"""The whole step: lay out, cut from rolls, prove."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.bound import material_bound
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.layers import deepest_layers
from steamwright.covering.layout import Layout, Materials, choose_materials, lay_out
from steamwright.covering.model import Covering, Cut, Piece, Role, Stock
from steamwright.covering.proof import prove
from steamwright.cutting.rolls import Blank, Cutting, cut_rolls
from steamwright.room.model import Solid


def cover(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str = "IRC", progress: Callable[[str], None] | None = None,
          before: Covering | None = None) -> Covering:
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

    Returns
    -------
    covering : Covering
        Pieces, stock, proof and bound.

    Raises
    ------
    InputError
        If the catalog has no such membrane or the roll is too narrow.
    InfeasibleError
        If a blank is larger than a roll.

    References
    ----------
    own derivation
    """
    tell = progress or (lambda _: None)
    chosen = choose_materials(wishes, catalog, code)
    key = ground_key(solid, wishes, code)
    start = before.scheme if before is not None and before.ground_key == key else None
    layout = lay_out(solid, wishes, catalog, code, progress, start)
    tell("cutting")
    pieces, stock, cuttings = _cut(layout, wishes, chosen)
    tell("proof")
    lap_m = wishes.lap_required_m
    proof = prove(solid, pieces, lap_m, lap_m + wishes.allowance_m)
    tell("layers")
    return Covering(lap_m, lap_m + wishes.allowance_m, pieces, stock, proof, material_bound(solid, pieces, stock, wishes),
                    deepest_layers(solid, pieces), layout.crowded, cuttings, layout.scheme, key)


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
    said = wishes.model_dump_json(exclude={"piece", "remnant"})
    return hashlib.sha256(repr((facets, joints, said, code)).encode()).hexdigest()


def _cut(layout: Layout, wishes: CoveringWishes, chosen: Materials) -> tuple[tuple[Piece, ...], tuple[Stock, ...], tuple[Cutting, ...]]:
    """Sheets and folded corner pieces from the wide rolls, bands from the narrow ones."""
    rolls = ((chosen.sheet.item, chosen.sheet.material, wishes.roll_width_m, wishes.roll_length_m, "R"),
             *((b.item, b.material, b.width_m, wishes.band_roll_length_m, f"Q{k}-") for k, b in enumerate(chosen.bands, start=1)))
    pinned = {w.id for w in wishes.piece}
    cut_before = [(p, p.blank_m) for p in layout.pieces if p.id in pinned and p.blank_m is not None]
    cuts = {p.id: Cut(f"{p.id} as cut", 0.0, 0.0) for p, _ in cut_before}
    stock = [Stock(f"{p.id} as cut", p.item, p.material, length, width, length, on_hand=True) for p, (length, width) in cut_before]
    cuttings: list[Cutting] = []
    for item, material, width, length, letter in rolls:
        blanks = [Blank(p.id, p.blank_m[0], p.blank_m[1], p.role is not Role.SHEET) for p in layout.pieces
                  if p.blank_m is not None and p.item == item and p.id not in pinned]
        if not blanks:
            continue
        cutting = cut_rolls(blanks, width, length)
        cuttings.append(cutting)
        names = [f"{letter}{k + 1}" for k in range(len(cutting.used_length_m))]
        stock += [Stock(n, item, material, length, width, u) for n, u in zip(names, cutting.used_length_m, strict=True)]
        cuts |= {s.blank: Cut(names[s.roll], s.x_m, s.y_m, s.turned) for s in cutting.spots}
    return tuple(replace(p, cut=cuts.get(p.id)) for p in layout.pieces), tuple(stock), tuple(cuttings)
