"""Two small plots of the steam page: the course of a session, and water in build-ups through the year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from steamwright.physics.moist_air import ZERO_CELSIUS_K
from steamwright.plan.model import Plan

WIDTH_MM, HEIGHT_MM = 84.0, 52.0
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 11.0, 3.0, 4.0, 10.0
STRIP_MM, ENDS_MM = 13.0, 15.0
INK, SOFT, FAINT = "#1d2429", "#5d6a72", "#c3cbcf"
PENS = (("#0b5f66", ""), ("#1d2429", "2.2 1.2"), ("#5d6a72", "0.8 0.9"), ("#a8123a", ""), ("#7fa8a6", ""))
MONTHS = "JFMAMJJASOND"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a plot with its name."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]


def session_svg(plan: Plan) -> bytes:
    """Draw air and surfaces through warm-up and session.

    Parameters
    ----------
    plan : Plan
        The plan, with its steam load.

    Returns
    -------
    svg : bytes
        A picture; empty axes where the plan has no steam load.

    References
    ----------
    own derivation
    """
    moments = plan.steam.history if plan.steam is not None else ()
    minutes = tuple(m.minute for m in moments)
    fahrenheit = plan.job.units == "inch"

    def shown(kelvin: float) -> float:
        celsius = kelvin - ZERO_CELSIUS_K
        return celsius * 1.8 + 32.0 if fahrenheit else celsius

    lines = [Line("air", minutes, tuple(shown(m.air_k) for m in moments)),
             Line("warmest surface", minutes, tuple(shown(m.warmest_k) for m in moments)),
             Line("coldest surface", minutes, tuple(shown(m.coldest_k) for m in moments))]
    return plotted(lines, "min from switching on", "°F" if fahrenheit else "°C")


def year_svg(plan: Plan) -> bytes:
    """Draw water that gathers in build-ups month by month, for those that are ever wet.

    Parameters
    ----------
    plan : Plan
        The plan, with its vapor report.

    Returns
    -------
    svg : bytes
        A picture; empty axes where nothing gathers.

    References
    ----------
    ISO-13788 clause 6
    """
    months = tuple(float(k) + 0.5 for k in range(12))
    lines = []
    for buildup in plan.vapor.buildups if plan.vapor is not None else ():
        for m in buildup.monthly:
            if m.peak_kg_m2 > 0.0:
                name = f"{m.side}{', retarder' if m.retarder else ''}"
                lines.append(Line(f"{buildup.name}: {name}", months, tuple(1e3 * w for w in m.water_by_month_kg_m2)))
    most = sorted(lines, key=lambda row: -max(row.y))[: len(PENS)]
    return plotted(most, "month", "g/m²", tuple(MONTHS), 0.0)


def plotted(lines: Sequence[Line], below: str, beside: str, ticks: tuple[str, ...] = (), base: float | None = None) -> bytes:
    """Draw lines over one pair of axes, their names below.

    Parameters
    ----------
    lines : sequence of Line
        As many as there are pens, or fewer.
    below : str
        What the level axis counts.
    beside : str
        What the upright axis counts.
    ticks : tuple of str
        Words under even places of the level axis, in place of numbers.
    base : float, optional
        Foot of the upright axis; the least value if not given.

    Returns
    -------
    svg : bytes
        A picture.

    References
    ----------
    own derivation
    """
    xs, ys = [v for row in lines for v in row.x], [v for row in lines for v in row.y]
    right = 12.0 if ticks else max(xs, default=1.0)
    low, high, step = _scale(min(ys, default=0.0) if base is None else base, max(ys, default=1.0))
    tall_mm = HEIGHT_MM + 3.6 * len(PENS)
    wide, tall = WIDTH_MM - LEFT_MM - RIGHT_MM, HEIGHT_MM - TOP_MM - BOTTOM_MM

    def at(x: float, y: float) -> str:
        return f"{LEFT_MM + wide * x / right:.2f},{TOP_MM + tall * (1.0 - (y - low) / (high - low)):.2f}"

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM:g}mm" height="{tall_mm:g}mm"'
             f' viewBox="0 0 {WIDTH_MM:g} {tall_mm:g}" font-family="Libertinus Serif" font-size="2.7">']
    for k in range(round((high - low) / step) + 1):
        y = low + k * step
        a, b = at(0.0, y), at(right, y)
        parts.append(f'<polyline points="{a} {b}" fill="none" stroke="{FAINT}" stroke-width="0.15"/>')
        parts.append(f'<text x="{LEFT_MM - 1.2:g}" y="{float(a.split(",")[1]) + 0.9:.2f}" text-anchor="end" fill="{SOFT}">{y:g}</text>')
    marks = [(k + 0.5, t) for k, t in enumerate(ticks)] or [(v, f"{v:g}") for v in _rounds(right)]
    foot = HEIGHT_MM - BOTTOM_MM
    for x, word in marks:
        parts.append(f'<text x="{at(x, low).split(",")[0]}" y="{foot + 3.6:g}" text-anchor="middle" fill="{SOFT}">{word}</text>')
    parts.append(f'<text x="{WIDTH_MM - RIGHT_MM:g}" y="{foot + 7.4:g}" text-anchor="end" fill="{SOFT}">{below}</text>')
    parts.append(f'<text x="1" y="{TOP_MM - 1.2:g}" fill="{SOFT}">{beside}</text>')
    for k, (row, (color, dash)) in enumerate(zip(lines, PENS, strict=False)):
        points = " ".join(at(x, y) for x, y in zip(row.x, row.y, strict=True))
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        parts.append(f'<polyline points="{points}" fill="none" stroke="{color}" stroke-width="0.45"{dashed}/>')
        y = HEIGHT_MM + 3.6 * k + 1.0
        sample = f"{LEFT_MM:g},{y:g} {LEFT_MM + 7:g},{y:g}"
        parts.append(f'<polyline points="{sample}" fill="none" stroke="{color}" stroke-width="0.45"{dashed}/>')
        parts.append(f'<text x="{LEFT_MM + 8.5:g}" y="{y + 0.9:g}" fill="{INK}">{escape(row.name)}</text>')
    if not lines:
        parts.append(f'<text x="{WIDTH_MM / 2:g}" y="{HEIGHT_MM / 2:g}" text-anchor="middle" fill="{SOFT}">nothing gathers</text>')
    return ("\n".join([*parts, "</svg>"]) + "\n").encode()


def stripped(lines: Sequence[Line], below: str, beside: str, limit: float, top: float) -> bytes:
    """Draw lines one under the other, each over an axis of its own with its name, and beside it what it lay between last year.

    Parameters
    ----------
    lines : sequence of Line
        As many as there are pens, or fewer; x in years.
    below : str
        What the level axis counts.
    beside : str
        What the upright axes count.
    limit : float
        A value that is marked in every strip.
    top : float
        Head of the upright axes; their foot is a round value under all lines and under the limit.

    Returns
    -------
    svg : bytes
        A picture.

    References
    ----------
    own derivation
    """
    right = max((v for row in lines for v in row.x), default=1.0)
    low = min(10.0 * (min((v for row in lines for v in row.y), default=limit) // 10.0), limit - 10.0)
    wide = WIDTH_MM - LEFT_MM - ENDS_MM
    tall_mm = TOP_MM + STRIP_MM * max(len(lines), 1) + BOTTOM_MM

    def at(k: int, x: float, y: float) -> str:
        foot = TOP_MM + STRIP_MM * (k + 1) - 1.0
        return f"{LEFT_MM + wide * x / right:.2f},{foot - (STRIP_MM - 5.5) * (y - low) / (top - low):.2f}"

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM:g}mm" height="{tall_mm:g}mm"'
             f' viewBox="0 0 {WIDTH_MM:g} {tall_mm:g}" font-family="Libertinus Serif" font-size="2.7">',
             f'<text x="1" y="{TOP_MM - 1.2:g}" fill="{SOFT}">{beside}</text>',
             f'<text x="{WIDTH_MM - 1.0:g}" y="{TOP_MM - 1.2:g}" text-anchor="end" fill="{SOFT}">last year</text>']
    for k, row in enumerate(lines):
        for y, dash in ((low, ""), (limit, ' stroke-dasharray="0.8 0.9"'), (top, "")):
            a, b = at(k, 0.0, y), at(k, right, y)
            parts.append(f'<polyline points="{a} {b}" fill="none" stroke="{FAINT}" stroke-width="0.15"{dash}/>')
            parts.append(f'<text x="{LEFT_MM - 1.2:g}" y="{float(a.split(",")[1]) + 0.9:.2f}" text-anchor="end" fill="{SOFT}">{y:g}</text>')
        points = " ".join(at(k, x, y) for x, y in zip(row.x, row.y, strict=True))
        parts.append(f'<polyline points="{points}" fill="none" stroke="{PENS[0][0]}" stroke-width="0.45"/>')
        head = TOP_MM + STRIP_MM * k + 2.6
        parts.append(f'<text x="{LEFT_MM:g}" y="{head:g}" fill="{INK}">{escape(row.name)}</text>')
        ends = " to ".join(dict.fromkeys((f"{min(row.y[-12:]):.0f}", f"{max(row.y[-12:]):.0f}")))
        parts.append(f'<text x="{WIDTH_MM - 1.0:g}" y="{head + STRIP_MM / 2.0:g}" text-anchor="end" fill="{INK}">{ends}</text>')
    foot = TOP_MM + STRIP_MM * max(len(lines), 1)
    parts += [f'<text x="{LEFT_MM + wide * x / right:.2f}" y="{foot + 2.6:g}" text-anchor="middle" fill="{SOFT}">{x:g}</text>'
              for x in _rounds(right)]
    parts.append(f'<text x="{WIDTH_MM - ENDS_MM:g}" y="{foot + 6.4:g}" text-anchor="end" fill="{SOFT}">{below}</text>')
    return ("\n".join([*parts, "</svg>"]) + "\n").encode()


def _scale(low: float, high: float) -> tuple[float, float, float]:
    """Round ends and a round step for about five marks."""
    span = max(high - low, 1e-6)
    step = next(m * 10.0**e for e in range(-7, 9) for m in (1.0, 2.0, 5.0) if span / (m * 10.0**e) <= 5.0)
    first = step * (low // step)
    last = first
    while last < high - 1e-9 * span:
        last += step
    return first, max(last, first + step), step


def _rounds(right: float) -> list[float]:
    _, last, step = _scale(0.0, right)
    return [k * step for k in range(round(last / step) + 1) if k * step <= right * 1.001]
