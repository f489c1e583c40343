"""The drawing set of a plan: every sheet, and the files made of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from steamwright.drawing.backends.svg import svg
from steamwright.drawing.digest import Digest, digest
from steamwright.drawing.scene import Sheet
from steamwright.drawing.sheets.axonometric import axonometric
from steamwright.drawing.sheets.cautions import cautions
from steamwright.drawing.sheets.ceiling import ceiling
from steamwright.drawing.sheets.elevation import elevation
from steamwright.drawing.sheets.pan import pan
from steamwright.drawing.sheets.plan_view import plan_view
from steamwright.drawing.sheets.rolls import cut_sheets
from steamwright.drawing.sheets.schedule import schedule
from steamwright.drawing.sheets.section import section
from steamwright.drawing.sheets.small_facets import small_facets
from steamwright.drawing.sheets.templates import templates
from steamwright.drawing.sheets.title import title

if TYPE_CHECKING:
    from steamwright.plan.model import Plan


def drawing_files(plan: Plan) -> dict[str, bytes]:
    """All drawing files of a plan.

    Parameters
    ----------
    plan : Plan
        Everything derived from one job.

    Returns
    -------
    files : dict of str to bytes
        By path below the output folder: ``sheets/01-title.svg`` and so on, ``room.dxf``, ``room.glb``.

    References
    ----------
    own derivation
    """
    from steamwright.drawing.backends.dxf import dxf
    from steamwright.drawing.backends.gltf import glb

    d = digest(plan)
    files = {f"sheets/{s.name}.svg": svg(s).encode() for s in sheet_set(d)}
    files["room.dxf"] = dxf(d)
    files["room.glb"] = glb(d)
    return files


def sheets(plan: Plan) -> tuple[Sheet, ...]:
    """All sheets of a plan in order.

    Parameters
    ----------
    plan : Plan
        Everything derived from one job.

    Returns
    -------
    sheets : tuple of Sheet
        The title first, the cautions last.

    References
    ----------
    own derivation
    """
    return sheet_set(digest(plan))


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
        number = len({s.number.rstrip("abcdefghijklmnopqrstuvwxyz") for s in drawn}) + 2
        made = draw(f"{number:02d}-{slug}", str(number))
        drawn.extend(made if isinstance(made, tuple) else (made,))
    contents = [(s.number, s.title) for s in drawn]
    return (*title(d, "01-title", "1", contents), *drawn)


def _parts(d: Digest) -> list[tuple[Callable[[str, str], Sheet | tuple[Sheet, ...]], str]]:
    """What is drawn after the title, and how its file is called."""
    parts: list[tuple[Callable[[str, str], Sheet | tuple[Sheet, ...]], str]] = [
        (lambda n, k: plan_view(d, n, k), "plan"),
        (lambda n, k: section(d, n, k), "section"),
        (lambda n, k: axonometric(d, n, k), "room"),
    ]
    walls = [f for f in d.main_facets() if f.kind.value != "ceiling"]
    overhead = [f for f in d.main_facets() if f.kind.value == "ceiling"]
    parts += [(lambda n, k, f=f: elevation(d, f, n, k), _slug(d.names[f.id])) for f in walls]
    parts.append((lambda n, k: ceiling(d, n, k), "ceiling"))
    parts += [(lambda n, k, f=f: elevation(d, f, n, k), _slug(d.names[f.id])) for f in overhead]
    if d.small_facets():
        parts.append((lambda n, k: small_facets(d, n, k), "small-facets"))
    parts.append((lambda n, k: pan(d, n, k), "pan"))
    parts += [(lambda n, k, s=s: cut_sheets(d, s, n, k), f"cut-{_slug(s.id)}") for s in d.plan.covering.stock]
    parts.append((lambda n, k: schedule(d, n, k), "schedule"))
    parts.append((lambda n, k: templates(d, n, k), "templates"))
    parts.append((lambda n, k: cautions(d, n, k), "cautions"))
    return parts


def _slug(name: str) -> str:
    """A name as part of a file name."""
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in name.lower())
    return "-".join(p for p in kept.split("-") if p) or "facet"
