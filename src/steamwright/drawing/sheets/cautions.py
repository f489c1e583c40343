"""The caution card: where the work and the room can hurt someone, and who decides."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from steamwright.drawing.digest import Digest
from steamwright.drawing.frame import Page, open_page
from steamwright.drawing.pens import INK, SOFT, TEAL
from steamwright.drawing.scene import Sheet
from steamwright.drawing.text import wrap
from steamwright.sources import HowKnown, source

UNSOURCED = "common practice, no source"
TEXT_MM = 3.6
SOURCE_MM = 2.3
MOST_GAP_MM = 14.0


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard: what it is, what to do, and the keys of the sources it is known from."""

    title: str
    text: str
    sources: tuple[str, ...]

    def known_from(self) -> str:
        """The sources in words, with those named that rest on memory."""
        found = [source(k) for k in self.sources]
        words = [f"{s.title}, {s.edition}" + (" (verify: from memory)" if s.how_known is HowKnown.MEMORY else "") for s in found]
        return "; ".join(words) or UNSOURCED


@lru_cache(maxsize=1)
def read_cautions() -> tuple[Caution, ...]:
    """Read the cautions that every drawing set carries.

    Returns
    -------
    cautions : tuple of Caution
        In the order of the card.

    References
    ----------
    hospital-scald; NAC-444; OSHA-cement; CFR-29-1926.1153; NIOSH-lifting; CFR-29-1926.1053; ASTM-D5957; EPA-mold; IRC-M1505;
    HSE-HSG274; IRC-P2708; common practice, no source
    """
    rows = tomllib.loads(files("steamwright.drawing").joinpath("data/cautions.toml").read_text(encoding="utf-8"))["caution"]
    return tuple(Caution(r["title"], r["text"], tuple(r["sources"])) for r in rows)


def cautions(d: Digest, name: str, number: str) -> Sheet:
    """Draw the caution card.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    name : str
        File name without suffix.
    number : str
        What the title block shows.

    Returns
    -------
    sheet : Sheet
        One block a hazard, each with its source.

    References
    ----------
    own derivation
    """
    page = open_page(d, name, number, "Cautions")
    f, card = page.field, read_cautions()
    wide = (f.width_mm - 12.0) / 2
    half = (len(card) + 1) // 2
    for column, part in enumerate((card[:half], card[half:])):
        tall = [_tall_mm(c, wide) for c in part]
        gap = (f.height_mm - sum(tall)) / max(1, len(part) - 1)
        y = f.y0_mm
        for c, h in zip(part, tall, strict=True):
            _block(page, c, f.x0_mm + column * (wide + 12.0), y, wide, h)
            y += h + min(gap, MOST_GAP_MM)
    page.heading("Who decides")
    page.note("Local codes, the authority having jurisdiction and licensed practice decide, whatever this sheet says.", 3.5)
    page.heading("What is proven")
    page.note("The lap-tight proof speaks of laps only. Water in the pan proves the pan; nothing proves the walls.", 3.5)
    page.heading("How it is known")
    page.note("Each caution names its source, or says that it is common practice. Sources that nobody could read are marked “from memory”.")
    return page.finish()


def _lines(c: Caution, wide_mm: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return wrap(c.text, TEXT_MM, wide_mm - 8.0), wrap(c.known_from(), SOURCE_MM, wide_mm - 8.0)


def _tall_mm(c: Caution, wide_mm: float) -> float:
    text, known = _lines(c, wide_mm)
    return 9.0 + 6.2 * len(text) + 4.2 * len(known)


def _block(page: Page, c: Caution, x_mm: float, y_mm: float, wide_mm: float, tall_mm: float) -> None:
    sketch = page.sketch
    text, known = _lines(c, wide_mm)
    sketch.rect("frame", x_mm, y_mm, 1.2, tall_mm, fill=TEAL)
    y = y_mm + 6.2
    sketch.write("labels", (x_mm + 6.0, y), c.title, 5.0, color=INK, bold=True)
    y += 1.8
    for line in text:
        y += 6.2
        sketch.write("labels", (x_mm + 6.0, y), line, TEXT_MM)
    y += 0.4
    for line in known:
        y += 4.2
        sketch.write("labels", (x_mm + 6.0, y), line, SOURCE_MM, color=SOFT)
