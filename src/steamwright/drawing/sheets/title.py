"""The first sheet: the room, what it comes to, and what the rules found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest
from steamwright.drawing.frame import COLUMN_MM, Field, Page, continued, open_page
from steamwright.drawing.pens import CRIMSON, INK, SLATE, SOFT, TEAL
from steamwright.drawing.scene import Sheet
from steamwright.drawing.sheets.axonometric import Axonometry, draw_room
from steamwright.drawing.text import width_mm, wrap
from steamwright.plan.listing import VERDICT_WORDS as WORDS
from steamwright.room.model import CoveredBy
from steamwright.rules.model import Finding, Verdict
from steamwright.units import FOOT_M, format_length

SHOWN = (Verdict.FAIL, Verdict.MARGINAL, Verdict.MISSING_INPUT, Verdict.MANUAL)
COLORS = {Verdict.FAIL: CRIMSON, Verdict.MARGINAL: INK, Verdict.MISSING_INPUT: SLATE, Verdict.MANUAL: SLATE}


def title(d: Digest, name: str, number: str, contents: Sequence[tuple[str, str]]) -> tuple[Sheet, ...]:
    """Draw the title sheet and as many further sheets as the findings need.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    name : str
        File name of the first sheet without suffix.
    number : str
        What the title block shows.
    contents : sequence of (str, str)
        Numbers and titles of the other sheets.

    Returns
    -------
    sheets : tuple of Sheet
        At least one.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "Title and findings")
    f = page.field
    half = f.width_mm * 0.42
    _job(page, half)
    draw_room(page.sketch, d, Axonometry(d, Field(f.x0_mm + 4.0, f.y0_mm + 46.0, f.x0_mm + half - 8.0, f.y1_mm - 70.0)))
    _figures(page, half)
    rows = sorted((x for x in d.plan.findings if x.verdict in SHOWN), key=lambda x: SHOWN.index(x.verdict))
    at = _findings(page, f.x0_mm + half + 6.0, f.y0_mm, f.x1_mm, rows, True)
    page.heading("Sheets")
    listed = list_of_sheets(contents, int(page.room_mm() / (1.85 * 2.4)) - 1)
    stop = 14.0 if all("–" not in number for number, _ in listed) else 20.0
    height = next((h for h in (2.9, 2.6) if len(listed) * 1.85 * h < page.room_mm() - h
                   and all(width_mm(words, h) < COLUMN_MM - stop for _, words in listed)), 2.4)  # fmt: skip
    page.table(listed, (0.0, stop), height, bold_first=True)
    sheets = [page.finish()]
    while at < len(rows):
        page = open_page(d, *continued(name, number, len(sheets)), "Findings, continued")
        middle = (page.field.x0_mm + page.field.x1_mm) / 2
        before = at
        at += _findings(page, page.field.x0_mm, f.y0_mm, middle - 5.0, rows[at:], False)
        at += _findings(page, middle + 5.0, f.y0_mm, page.field.x1_mm, rows[at:], False)
        sheets.append(page.finish())
        if at == before:
            break
    return tuple(sheets)


def list_of_sheets(contents: Sequence[tuple[str, str]], most: int) -> list[tuple[str, str]]:
    """List sheets by number and title; where they are too many, those of one kind in one row.

    Parameters
    ----------
    contents : sequence of (str, str)
        Numbers and titles, the further sheets of one kind numbered on after a dot.
    most : int
        How many rows there is room for (count).

    Returns
    -------
    rows : list of (str, str)
        Such as ``21–21.4`` and the titles that these bear.

    References
    ----------
    own derivation
    """
    rows = [(number, title.partition(", seen ")[0]) for number, title in contents]
    if len(rows) <= most:
        return rows
    kinds: dict[str, list[tuple[str, str]]] = {}
    for number, title in rows:
        kinds.setdefault(number.partition(".")[0], []).append((number, title))
    return [(f[0][0] if len(f) == 1 else f"{f[0][0]}–{f[-1][0]}", "; ".join(dict.fromkeys(title for _, title in f)))
            for f in kinds.values()]


def _job(page: Page, wide_mm: float) -> None:
    f, job = page.field, page.digest.plan.job
    y = f.y0_mm
    failed = [x for x in page.digest.plan.findings if x.verdict is Verdict.FAIL]
    if failed:
        count = "1 finding fails" if len(failed) == 1 else f"{len(failed)} findings fail"
        lines = wrap(f"{count}: order and cut nothing until they are settled.", 4.6, wide_mm - 14.0, True)
        page.sketch.rect("frame", f.x0_mm, y, wide_mm - 6.0, 4.0 + 7.4 * len(lines), "fail")
        for n, words in enumerate(lines):
            page.sketch.write("labels", (f.x0_mm + 4.0, y + 7.2 + 7.4 * n), words, 4.6, color=CRIMSON, bold=True)
        y += 6.0 + 7.4 * len(lines)
    top = y
    for line in wrap(job.name, 8.0, wide_mm - 4.0, True)[:2]:
        y += 10.5 if y == top else 14.0
        page.sketch.write("labels", (f.x0_mm, y), line, 8.0, bold=True)
    use = f"{job.use.kind} use, {job.use.place}, code family {job.use.code}"
    page.sketch.write("labels", (f.x0_mm, y + 9.0), use, 4.0, color=SOFT)


def _figures(page: Page, wide_mm: float) -> None:
    """The figures of the room in large lettering."""
    d, f = page.digest, page.field
    plan = d.plan
    inch = d.system == "inch"
    area = sum(x.area_m2 for x in plan.room.facets if x.covering_by is CoveredBy.PIECES)
    counts = Counter(p.role for p in plan.covering.pieces)
    proof = plan.covering.proof
    least = "none" if proof.least_lap_m is None else format_length(proof.least_lap_m, d.system)
    spare = "" if proof.least_lap_m is None else format_length(proof.least_lap_m - plan.covering.lap_required_m, d.system)
    figures = (
        ("air inside the tile", f"{plan.finished.volume_m3 / FOOT_M**3:.0f} ft³" if inch else f"{plan.finished.volume_m3:.2f} m³"),
        ("to cover", f"{area / FOOT_M**2:.0f} ft²" if inch else f"{area:.1f} m²"),
        ("pieces", f"{len(plan.covering.pieces)}"),
        ("rolls", f"{len(plan.covering.stock)}"),
        ("least lap", least),
        ("spare", spare or "none"),
    )
    step = wide_mm / 3
    for n, (what, value) in enumerate(figures):
        x, y = f.x0_mm + (n % 3) * step, f.y1_mm - 44.0 + (n // 3) * 22.0
        page.sketch.write("labels", (x, y), value, 6.0 if width_mm(value, 6.0, True) < step - 3.0 else 4.2, color=INK, bold=True)
        page.sketch.write("labels", (x, y + 6.5), what, 3.2, color=SOFT)
    words = ", ".join(f"{counts[r]} {r.value.replace('_', ' ')}{'s' if counts[r] != 1 else ''}" for r in Role if counts[r])
    page.sketch.write("labels", (f.x0_mm, f.y1_mm - 0.5), words, 3.0, color=SOFT)
    tight = "Lap-tight" if proof.tight else "NOT lap-tight"
    page.sketch.write("labels", (f.x0_mm, f.y1_mm - 58.0), tight, 6.0, color=TEAL if proof.tight else CRIMSON, bold=True)
    if not proof.tight:
        page.sketch.rect("frame", f.x0_mm - 4.0, f.y1_mm - 65.0, 1.6, 8.0, fill=CRIMSON)


def _findings(page: Page, x0: float, y0: float, x1: float, rows: Sequence[Finding], first: bool) -> int:
    """Write findings under each other; says how many fitted."""
    sketch, f, y = page.sketch, page.field, y0
    if first:
        counts = Counter(x.verdict for x in page.digest.plan.findings)
        y += 6.0
        sketch.write("labels", (x0, y), "Findings", 5.0, color=TEAL, bold=True)
        words = "; ".join(f"{WORDS[v]} {counts[v]}" for v in WORDS if counts[v])
        y += 1.5
        for line in wrap(words or "no rule was judged", 3.4, x1 - x0):
            y += 6.2
            sketch.write("labels", (x0, y), line, 3.4, color=SOFT)
        y += 4.0
        if not rows:
            sketch.write("labels", (x0, y + 8.0), "Nothing fails and nothing is left to check.", 4.0)
    for n, finding in enumerate(rows):
        color = COLORS[finding.verdict]
        source = ", ".join(x for x in (finding.source, finding.clause) if x and x != "-")
        known = ", verify: from memory" if finding.how_known == "memory" else ""
        body = [(s, 3.2, INK) for s in wrap(finding.sentence, 3.2, x1 - x0 - 39.0)]
        if finding.fix and finding.verdict is not Verdict.MANUAL:
            body += [(s, 3.2, TEAL) for s in wrap("→ " + finding.fix, 3.2, x1 - x0 - 39.0)]
        body += [(s, 2.3, SOFT) for s in wrap(f"{finding.rule} · {finding.where}: {source}{known}", 2.3, x1 - x0 - 39.0)[:2]]
        tall = sum(h * 1.7 for _, h, _ in body) + 4.0
        if y + tall > f.y1_mm:
            return n
        w = width_mm(WORDS[finding.verdict], 3.2, True)
        if finding.verdict is Verdict.FAIL:
            sketch.rect("frame", x0, y + 0.6, w + 4.0, 6.4, "fail_thin")
        sketch.write("labels", (x0 + 2.0, y + 5.4), WORDS[finding.verdict], 3.2, color=color, bold=True)
        for line, h, tone in body:
            y += h * 1.7
            sketch.write("labels", (x0 + 39.0, y), line, h, color=tone)
        y += 4.0
    return len(rows)
