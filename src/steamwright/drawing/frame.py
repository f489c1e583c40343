"""Our own sheet: a drawing field and, at its right, a column with number, title, scale, notes and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from steamwright.drawing.digest import Digest
from steamwright.drawing.labels import upright_box
from steamwright.drawing.pens import INK, PAPER, SOFT, TEAL
from steamwright.drawing.scene import Sheet
from steamwright.drawing.sketch import Sketch
from steamwright.drawing.text import width_mm, wrap
from steamwright.units import FOOT_M

MARGIN_MM = 12.0
COLUMN_MM = 92.0
GUTTER_MM = 8.0
HEADING_MM = 10.7  # of the column
INCH_SCALES = ((1 / 4, "3\" = 1' 0\""), (1 / 8, "1 1/2\" = 1' 0\""), (1 / 12, "1\" = 1' 0\""), (1 / 16, "3/4\" = 1' 0\""),
               (1 / 24, "1/2\" = 1' 0\""), (1 / 32, "3/8\" = 1' 0\""), (1 / 48, "1/4\" = 1' 0\""), (1 / 64, "3/16\" = 1' 0\""),
               (1 / 96, "1/8\" = 1' 0\""), (1 / 192, "1/16\" = 1' 0\""))  # fmt: skip
METRIC_SCALES = tuple((1 / n, f"1 : {n}") for n in (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 200))
Bounds = tuple[float, float, float, float]
LOCAL_CODES = "Local codes, the authority having jurisdiction and licensed practice decide."


@dataclass(frozen=True, slots=True)
class Field:
    """The drawing field: left, top, right, bottom. [mm]"""

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float

    @property
    def width_mm(self) -> float:
        """Its width. [mm]"""
        return self.x1_mm - self.x0_mm

    @property
    def height_mm(self) -> float:
        """Its height. [mm]"""
        return self.y1_mm - self.y0_mm


@dataclass(slots=True)
class Page:
    """A sheet while it is drawn: its sketch, its field, and the column that fills from above."""

    digest: Digest
    name: str
    number: str
    title: str
    sketch: Sketch = field(default_factory=Sketch)
    cursor_mm: float = 0.0
    foot_mm: float = 0.0

    @property
    def field(self) -> Field:
        """The room for the drawing itself."""
        w, h = self.digest.paper_mm
        return Field(MARGIN_MM, MARGIN_MM, w - MARGIN_MM - COLUMN_MM - GUTTER_MM, h - MARGIN_MM)

    @property
    def column_x_mm(self) -> float:
        """Left edge of the column. [mm]"""
        return self.digest.paper_mm[0] - MARGIN_MM - COLUMN_MM

    def heading(self, content: str) -> None:
        """A small heading in the column."""
        self.cursor_mm += HEADING_MM - 2.2
        self.sketch.write("frame", (self.column_x_mm, self.cursor_mm), content, 3.5, color=TEAL, bold=True)
        self.cursor_mm += 2.2

    def note(self, content: str, height_mm: float = 3.0, color: str = INK, bold: bool = False) -> None:
        """A paragraph in the column."""
        for line in wrap(content, height_mm, COLUMN_MM, bold):
            self.cursor_mm += height_mm * 1.75
            self.sketch.write("frame", (self.column_x_mm, self.cursor_mm), line, height_mm, color=color, bold=bold)
        self.cursor_mm += height_mm * 0.5

    def room_mm(self) -> float:
        """What is left of the column above its foot. [mm]"""
        return self.foot_mm - self.cursor_mm

    def table(self, rows: Sequence[Sequence[str]], stops_mm: Sequence[float], height_mm: float = 3.0, bold_first: bool = False) -> int:
        """Rows of short texts at tab stops, as many as the column holds; says how many were written."""
        for n, row in enumerate(rows):
            last = n == len(rows) - 1
            if self.room_mm() < height_mm * (1.85 if last else 3.8):
                return n
            self.cursor_mm += height_mm * 1.85
            ends = [*stops_mm[1:], COLUMN_MM]
            for k, (content, stop) in enumerate(zip(row, stops_mm, strict=False)):
                fit = shorten(content, height_mm, ends[k] - stop - 1.5 if k < len(ends) - 1 else COLUMN_MM - stop)
                self.sketch.write("frame", (self.column_x_mm + stop, self.cursor_mm), fit, height_mm, bold=bold_first and k == 0)
        return len(rows)

    def finish(self) -> Sheet:
        """The finished sheet."""
        w, h = self.digest.paper_mm
        return self.sketch.finish(self.name, self.number, self.title, w, h)


def notes_mm(notes: Sequence[str], height_mm: float) -> float:
    """How much of the column paragraphs take.

    Parameters
    ----------
    notes : sequence of str
        The paragraphs.
    height_mm : float
        Height of their capitals. [mm]

    Returns
    -------
    tall_mm : float
        From where the first begins. [mm]

    References
    ----------
    own derivation
    """
    return sum(height_mm * (1.75 * len(wrap(note, height_mm, COLUMN_MM)) + 0.5) for note in notes)


def shorten(content: str, height_mm: float, room_mm: float, bold: bool = False) -> str:
    """Cut a text so that it fits, with an ellipsis where something is left out.

    Parameters
    ----------
    content : str
        The lettering.
    height_mm : float
        Height of the capitals. [mm]
    room_mm : float
        Greatest width. [mm]
    bold : bool
        Whether it is bold.

    Returns
    -------
    shorter : str
        The text itself where it fits.

    References
    ----------
    own derivation
    """
    if width_mm(content, height_mm, bold) <= room_mm:
        return content
    while content and width_mm(content + "…", height_mm, bold) > room_mm:
        content = content[:-1]
    return content.rstrip() + "…"


def open_page(d: Digest, name: str, number: str, title: str) -> Page:
    """Begin a sheet: frame, number, title, job and the standing notes.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    name : str
        File name without suffix.
    number : str
        What stands in the title block, such as ``4``.
    title : str
        What the sheet shows.

    Returns
    -------
    page : Page
        Ready to be drawn on; its column goes on below the title.

    References
    ----------
    own derivation
    """
    page = Page(d, name, number, title)
    h = d.paper_mm[1]
    x, sketch = page.column_x_mm, page.sketch
    sketch.line("frame", (x - GUTTER_MM / 2 - 1.5, MARGIN_MM), (x - GUTTER_MM / 2 - 1.5, h - MARGIN_MM), "rule")
    sketch.rect("frame", x, MARGIN_MM, COLUMN_MM, 1.2, fill=TEAL)
    page.cursor_mm = MARGIN_MM + 14.0
    sketch.write("frame", (x, page.cursor_mm), number, 8.0, color=TEAL, bold=True)
    left = x + max(16.0, width_mm(number, 8.0, True) + 5.0)
    y = MARGIN_MM + 10.5
    for line in wrap(title, 4.6, x + COLUMN_MM - left, True)[:3]:
        sketch.write("frame", (left, y), line, 4.6, bold=True)
        y += 7.4
    page.cursor_mm = max(page.cursor_mm, y - 7.4) + 2.0
    page.note(d.plan.job.name, 3.5, SOFT)
    page.foot_mm = _foot(page, h)
    return page


def _foot(page: Page, height_mm: float) -> float:
    """The standing notes at the foot of the column; says where they begin."""
    x, sketch = page.column_x_mm, page.sketch
    lines = [(line, SOFT, False) for line in wrap(LOCAL_CODES, 2.6, COLUMN_MM)]
    if "invented" in page.digest.plan.job.note.lower():
        lines = [("Invented data: no real room", INK, True), *lines]
    y = height_mm - MARGIN_MM - 4.6 * (len(lines) - 1)
    top = y - 7.0
    for content, color, bold in lines:
        sketch.write("frame", (x, y - 0.8), content, 2.6, color=color, bold=bold)
        y += 4.6
    sketch.line("frame", (x, top), (x + COLUMN_MM, top), "rule")
    return top - 2.0


def continued(name: str, number: str, before: int) -> tuple[str, str]:
    """Name and number of the next sheet of one kind, so that files sort as they are bound.

    Parameters
    ----------
    name : str
        File name of the first one.
    number : str
        Number of the first one.
    before : int
        How many there are already (count).

    Returns
    -------
    names : (str, str)
        Such as ``16-templates_02`` and ``16.2``.

    References
    ----------
    own derivation
    """
    return (f"{name}_{before + 1:02d}", f"{number}.{before + 1}") if before else (name, number)


def choose_scale(d: Digest, width_m: float, height_m: float, room_w_mm: float, room_h_mm: float) -> tuple[float, str]:
    """The largest usual scale at which something fits.

    Parameters
    ----------
    d : Digest
        Decides between inch and metric scales.
    width_m : float
        Size of what is drawn. [m]
    height_m : float
        Size of what is drawn. [m]
    room_w_mm : float
        Room on the paper. [mm]
    room_h_mm : float
        Room on the paper. [mm]

    Returns
    -------
    scale : tuple of float and str
        Paper per room [mm/m] and how it is written; the smallest scale where nothing fits.

    References
    ----------
    own derivation
    """
    return choose_scale_around(d, [((0.0, 0.0, width_m, height_m), 0.0)], room_w_mm, room_h_mm)


def choose_scale_around(d: Digest, boxes: Sequence[tuple[Bounds, float]], room_w_mm: float, room_h_mm: float) -> tuple[float, str]:
    """The largest usual scale at which boxes fit, each with its own margin of paper round it.

    Parameters
    ----------
    d : Digest
        Decides between inch and metric scales.
    boxes : sequence of (bounds, float)
        Lowest and highest corner of each [m] and the paper that stays free round it [mm].
    room_w_mm : float
        Room on the paper. [mm]
    room_h_mm : float
        Room on the paper. [mm]

    Returns
    -------
    scale : tuple of float and str
        Paper per room [mm/m] and how it is written; the smallest scale where nothing fits.

    References
    ----------
    own derivation
    """
    scales = INCH_SCALES if d.system == "inch" else METRIC_SCALES
    for ratio, label in scales:
        k = 1000.0 * ratio
        x0, y0, x1, y1 = reach_mm(boxes, k)
        if x1 - x0 <= room_w_mm and y1 - y0 <= room_h_mm:
            return k, label
    return 1000.0 * scales[-1][0], scales[-1][1]


def reach_mm(boxes: Sequence[tuple[Bounds, float]], scale_mm_per_m: float) -> Bounds:
    """What boxes with their margins take on paper.

    Parameters
    ----------
    boxes : sequence of (bounds, float)
        Lowest and highest corner of each [m] and the paper that stays free round it [mm].
    scale_mm_per_m : float
        Paper per room. [mm/m]

    Returns
    -------
    bounds_mm : tuple of float
        Lowest and highest corner. [mm]

    References
    ----------
    own derivation
    """
    k = scale_mm_per_m
    return (min(b[0] * k - m for b, m in boxes), min(b[1] * k - m for b, m in boxes),
            max(b[2] * k + m for b, m in boxes), max(b[3] * k + m for b, m in boxes))  # fmt: skip


def scale_note(page: Page, scale_mm_per_m: float, label: str) -> None:
    """Write the scale and draw a scale bar in the column.

    Parameters
    ----------
    page : Page
        The sheet.
    scale_mm_per_m : float
        Paper per room. [mm/m]
    label : str
        How the scale is written.

    References
    ----------
    own derivation
    """
    x, sketch = page.column_x_mm, page.sketch
    unit_m, unit = (FOOT_M, "ft") if page.digest.system == "inch" else (0.5, "m")
    step = unit_m * scale_mm_per_m
    while step < 9.0:
        step, unit_m = 2 * step, 2 * unit_m
    while step > 40.0 and unit == "m":
        step, unit_m = step / 5, unit_m / 5
    count = max(1, min(4, int(66.0 // step)))
    page.heading("Scale " + label)
    page.cursor_mm += 3.0
    y = page.cursor_mm
    for n in range(count):
        sketch.rect("frame", x + n * step, y, step, 2.0, "thin", INK if n % 2 == 0 else PAPER)
    per = unit_m / FOOT_M if unit == "ft" else unit_m
    page.cursor_mm = y + 7.0
    sketch.write("frame", (x, page.cursor_mm), "0", 2.6)
    end = f"{per * count:g} {unit}"
    sketch.write("frame", (x + count * step, page.cursor_mm), end, 2.6, "middle" if count * step < COLUMN_MM - 10 else "end")


def missing(page: Page, content: str) -> None:
    """Say in the middle of an empty field why it is empty.

    Parameters
    ----------
    page : Page
        The sheet.
    content : str
        The reason.

    References
    ----------
    own derivation
    """
    f = page.field
    y = (f.y0_mm + f.y1_mm) / 2
    for line in wrap(content, 5.0, f.width_mm * 0.7):
        page.sketch.write("labels", ((f.x0_mm + f.x1_mm) / 2, y), line, 5.0, "middle", SOFT)
        y += 9.0


def reserve(page: Page, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> None:
    """Keep labels out of a rectangle.

    Parameters
    ----------
    page : Page
        The sheet.
    x0_mm : float
        Left. [mm]
    y0_mm : float
        Top. [mm]
    x1_mm : float
        Right. [mm]
    y1_mm : float
        Bottom. [mm]

    References
    ----------
    own derivation
    """
    page.sketch.placer.take(upright_box(x0_mm, y0_mm, x1_mm, y1_mm))
