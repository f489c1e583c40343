"""From a plan and its drawings to one PDF."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from steamwright.dossier.comparison import humidity_svg, water_svg
from steamwright.dossier.contents import contents, drawing_file
from steamwright.dossier.cutaway import cutaway_svg
from steamwright.dossier.steam_plot import session_svg, year_svg
from steamwright.errors import SteamwrightError
from steamwright.plan.model import Plan

MAIN = "main.typ"
_SIZE = re.compile(rb'<svg\b[^>]*?\b(width|height)="([\d.]+)mm"[^>]*?\b(width|height)="([\d.]+)mm"', re.DOTALL)


class DossierError(SteamwrightError):
    """The dossier cannot be set."""

    code = "dossier"


def dossier_pdf(plan: Plan, drawings: Mapping[str, bytes]) -> bytes:
    """Set the dossier: cover, findings, survey, build-ups, pieces, rolls, order, crew page, and every drawing as a page.

    Parameters
    ----------
    plan : Plan
        The plan.
    drawings : mapping of str to bytes
        Drawing files by name; those that end in ``.svg`` are bound in this order, each on a page of its own size in
        millimetres. Others, such as DXF, are passed over.

    Returns
    -------
    pdf : bytes
        The same plan, drawings and fonts give the same bytes.

    Raises
    ------
    DossierError
        If a drawing does not state its size in millimetres, or the templates cannot be set.

    References
    ----------
    own derivation
    """
    import typst

    bound = {name: svg for name, svg in drawings.items() if name.endswith(".svg")}
    sizes = tuple(size_mm(name, svg) for name, svg in bound.items())
    data = json.dumps(contents(plan, sizes), sort_keys=True, ensure_ascii=False).encode()
    sources = {**templates(), "data.json": data, "cutaway.svg": cutaway_svg(plan.framing)}
    sources |= {"session.svg": session_svg(plan), "year.svg": year_svg(plan)}
    sources |= {"water.svg": water_svg(plan), "humidity.svg": humidity_svg(plan)}
    sources |= {drawing_file(n): svg for n, svg in enumerate(bound.values())}
    try:
        # the package takes a table of files too, which its stub forgets
        pdf: bytes = typst.compile(sources, format="pdf", timestamp=0)  # type: ignore[call-overload]
    except typst.TypstError as wrong:
        raise DossierError(f"the dossier cannot be set: {wrong}", hint="this is a fault of the program, not of the job") from wrong
    return pdf


def size_mm(name: str, svg: bytes) -> tuple[float, float]:
    """Read the size of a drawing from its head.

    Parameters
    ----------
    name : str
        Name of the drawing, for the error.
    svg : bytes
        The drawing.

    Returns
    -------
    size_mm : tuple of float
        Width and height. [mm]

    Raises
    ------
    DossierError
        If the head does not state them in millimetres.

    References
    ----------
    own derivation
    """
    found = _SIZE.search(svg[:2000])
    if found is None or found[1] == found[3]:
        raise DossierError(f"the drawing {name} does not state its size in millimetres", path=f"drawings.{name}")
    sizes = {found[1]: float(found[2]), found[3]: float(found[4])}
    return sizes[b"width"], sizes[b"height"]


@cache
def templates() -> dict[str, bytes]:
    """The Typst templates by file name; the main one first.

    Returns
    -------
    sources : dict
        File contents.

    References
    ----------
    own derivation
    """
    folder = files("steamwright.dossier").joinpath("templates")
    names = sorted((f.name for f in folder.iterdir() if f.name.endswith(".typ")), key=lambda n: (n != MAIN, n))
    return {name: folder.joinpath(name).read_bytes() for name in names}
