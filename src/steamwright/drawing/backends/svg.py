"""A sheet as SVG, without any package. Lettering stays lettering."""

from __future__ import annotations

import math
from xml.sax.saxutils import escape, quoteattr

from steamwright.drawing.pens import HATCHES, PAPER, PENS, Hatch
from steamwright.drawing.scene import Arc, Area, Circle, Item, Line, Paper, Polyline, Sheet, Text
from steamwright.drawing.text import CAP_EM, FONT


def svg(sheet: Sheet) -> str:
    """Write a sheet as an SVG document in paper millimetres.

    Parameters
    ----------
    sheet : Sheet
        A finished sheet.

    Returns
    -------
    document : str
        SVG 1.1 text; the same sheet gives the same text.

    References
    ----------
    own derivation
    """
    body: list[str] = []
    pens: set[str] = set()
    hatches: set[str] = set()
    for layer in sheet.layers:
        body.append(f"<g data-layer={quoteattr(layer.name)}>")
        body.extend(_element(item, sheet.name, pens, hatches) for item in layer.items)
        body.append("</g>")
    w, h = _n(sheet.width_mm), _n(sheet.height_mm)
    head = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" font-family="{FONT}">',
        f"<title>{escape(sheet.number)} {escape(sheet.title)}</title>",
        "<style>" + "".join(_pen_style(p) for p in sorted(pens)) + "</style>",
        "<defs>" + "".join(_pattern(HATCHES[n], sheet.name) for n in sorted(hatches)) + "</defs>",
        f'<rect width="{w}" height="{h}" fill="{PAPER}"/>',
    ]
    return "\n".join((*head, *body, "</svg>", ""))


def _n(value: float) -> str:
    """A number with at most two decimals and no trailing zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _pen_style(name: str) -> str:
    pen = PENS[name]
    dash = f";stroke-dasharray:{','.join(_n(d) for d in pen.dash_mm)}" if pen.dash_mm else ""
    cap = ";stroke-linecap:round" if pen.round_ends else ""
    return f".{name}{{stroke:{pen.color};stroke-width:{_n(pen.width_mm)};stroke-linejoin:round{dash}{cap}}}"


def _pattern(hatch: Hatch, prefix: str) -> str:
    d, w = _n(hatch.spacing_mm), hatch.width_mm
    stroke = f'stroke="{hatch.color}" stroke-width="{_n(w)}"'
    lines = f'<path d="M0 {_n(hatch.spacing_mm / 2)}H{d}" {stroke}/>'
    if hatch.crossed:
        lines += f'<path d="M{_n(hatch.spacing_mm / 2)} 0V{d}" {stroke}/>'
    return (
        f'<pattern id="{prefix}-{hatch.name}" width="{d}" height="{d}" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate({_n(-hatch.angle_deg)})">{lines}</pattern>'
    )


def _path(points_mm: tuple[Paper, ...], closed: bool) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points_mm) + ("Z" if closed else "")


def _element(item: Item, prefix: str, pens: set[str], hatches: set[str]) -> str:
    if isinstance(item, Text):
        return _text(item)
    if item.pen is not None:
        pens.add(item.pen)
    look = f' class="{item.pen}"' if item.pen else ""
    if isinstance(item, Line):
        (x1, y1), (x2, y2) = item.start_mm, item.end_mm
        return f'<path d="M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}"{look}/>'
    if isinstance(item, Polyline):
        return f'<path d="{_path(item.points_mm, False)}" fill="none"{look}/>'
    if isinstance(item, Circle):
        x, y = item.center_mm
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(item.radius_mm)}" fill="{item.fill or "none"}"{look}/>'
    if isinstance(item, Arc):
        return f'<path d="{_arc(item)}" fill="none"{look}/>'
    return _area(item, prefix, hatches, look)


def _area(item: Area, prefix: str, hatches: set[str], look: str) -> str:
    path = "".join(_path(r, True) for r in item.rings_mm)
    rule = ' fill-rule="evenodd"' if len(item.rings_mm) > 1 else ""
    if item.hatch is None:
        return f'<path d="{path}" fill="{item.fill or "none"}"{rule}{look}/>'
    hatches.add(item.hatch)
    ground = f'<path d="{path}" fill="{item.fill}"{rule}/>' if item.fill else ""
    return f'{ground}<path d="{path}" fill="url(#{prefix}-{item.hatch})"{rule}{look}/>'


def _arc(item: Arc) -> str:
    (x, y), r = item.center_mm, item.radius_mm
    a, b = math.radians(item.start_deg), math.radians(item.end_deg)
    large = 1 if (item.end_deg - item.start_deg) % 360 > 180 else 0
    start = f"{_n(x + r * math.cos(a))} {_n(y - r * math.sin(a))}"
    return f"M{start}A{_n(r)} {_n(r)} 0 {large} 0 {_n(x + r * math.cos(b))} {_n(y - r * math.sin(b))}"


def _text(item: Text) -> str:
    x, y = _n(item.at_mm[0]), _n(item.at_mm[1])
    anchor = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
    weight = ' font-weight="bold"' if item.bold else ""
    turn = f' transform="rotate({_n(-item.turn_deg)} {x} {y})"' if item.turn_deg else ""
    size = _n(item.height_mm / CAP_EM)
    return f'<text x="{x}" y="{y}" font-size="{size}" fill="{item.color}"{anchor}{weight}{turn}>{escape(item.content)}</text>'
