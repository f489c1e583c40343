"""The drawing set of a plan: every sheet, and the files made of them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from steamwright.covering.model import is_one_piece
from steamwright.drawing.backends.svg import svg
from steamwright.drawing.digest import Digest
from steamwright.drawing.fronts import front_title, fronts
from steamwright.drawing.scene import Sheet
from steamwright.drawing.sheets.axonometric import axonometric
from steamwright.drawing.sheets.board_cuts import board_cuts
from steamwright.drawing.sheets.boards import drilling_sheets, framing_sheets
from steamwright.drawing.sheets.cautions import cautions
from steamwright.drawing.sheets.ceiling import ceiling
from steamwright.drawing.sheets.elevation import elevation
from steamwright.drawing.sheets.glazing import glazing
from steamwright.drawing.sheets.pan import pan
from steamwright.drawing.sheets.patterns import patterns
from steamwright.drawing.sheets.plan_view import plan_view
from steamwright.drawing.sheets.rolls import cut_sheets
from steamwright.drawing.sheets.schedule import schedule
from steamwright.drawing.sheets.section import section
from steamwright.drawing.sheets.small_facets import small_facets
from steamwright.drawing.sheets.templates import templates
from steamwright.drawing.sheets.title import title
from steamwright.room.model import FacetKind

Draw = Callable[[str, str], Sheet | tuple[Sheet, ...]]


def sheet_files(d: Digest) -> dict[str, bytes]:
    """All sheets of a plan as files.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    files : dict of str to bytes
        By path below the output folder: ``sheets/01-title.svg`` and so on.

    References
    ----------
    own derivation
    """
    return {f"sheets/{s.name}.svg": svg(s).encode() for s in sheet_set(d)}


def model_files(d: Digest) -> dict[str, bytes]:
    """What a plan is drawn as for other programs.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    files : dict of str to bytes
        By path below the output folder: ``room.dxf`` and ``room.glb``.

    References
    ----------
    own derivation
    """
    from steamwright.drawing.backends.dxf import dxf
    from steamwright.drawing.backends.gltf import glb

    return {"room.dxf": dxf(d), "room.glb": glb(d)}


def sheet_set(d: Digest) -> tuple[Sheet, ...]:
    """All sheets of a plan that is arranged already.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    sheets : tuple of Sheet
        The title first, the cautions last.

    References
    ----------
    own derivation
    """
    drawn: list[Sheet] = []
    for draw, slug in _parts(d):
        number = len({s.number.split(".")[0] for s in drawn}) + 2  # further sheets of one kind share its number
        made = draw(f"{number:02d}-{slug}", str(number))
        drawn.extend(made if isinstance(made, tuple) else (made,))
    contents = [(s.number, s.title) for s in drawn]
    return (*title(d, "01-title", "1", contents), *drawn)


def _parts(d: Digest) -> list[tuple[Draw, str]]:
    """What is drawn after the title, and how its file is called."""
    main = d.main_facets()
    walls = [f for f in main if f.kind is not FacetKind.CEILING]
    overhead = [f for f in main if f.kind is FacetKind.CEILING]
    parts: list[tuple[Draw, str]] = [(partial(plan_view, d), "plan"), (partial(section, d), "section"), (partial(axonometric, d), "room")]
    if d.plan.boards.supports:
        parts.append((partial(framing_sheets, d), "framing"))
    if d.plan.boards.pieces:
        parts.append((partial(board_cuts, d), "cut-boards"))
        parts.append((partial(drilling_sheets, d), "boards"))
    parts += [(partial(elevation, d, f), _slug(d.names[f.id])) for f in walls]
    parts += [(partial(glazing, d, front), _slug(front_title(front))) for front in fronts(d)]
    parts.append((partial(ceiling, d), "ceiling-falls"))
    parts += [(partial(elevation, d, f), _slug(d.names[f.id])) for f in overhead]
    if d.small_facets():
        parts.append((partial(small_facets, d), "small-surfaces"))
    parts.append((partial(pan, d), "pan"))
    parts += [(partial(cut_sheets, d, s), f"cut-{_slug(s.id)}") for s in d.plan.covering.stock if not is_one_piece(s)]
    parts += [(partial(patterns, d), "patterns"), (partial(schedule, d), "schedule")]
    parts += [(partial(templates, d), "templates"), (partial(cautions, d), "cautions")]
    return parts


def _slug(name: str) -> str:
    """A name as part of a file name."""
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in name.lower())
    return "-".join(p for p in kept.split("-") if p) or "facet"
