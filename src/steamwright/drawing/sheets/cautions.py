"""The caution card: where the work and the room can hurt someone, and who decides."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.drawing.digest import Digest
from steamwright.drawing.frame import open_page
from steamwright.drawing.pens import INK, SOFT, TEAL
from steamwright.drawing.scene import Sheet
from steamwright.drawing.text import wrap


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard: what it is, what to do, and where that is known from."""

    title: str
    text: str
    source: str


CAUTIONS = (
    Caution("Scald and heat stress", "Water at 140 °F (60 °C) burns in under 5 s, at 120 °F (49 °C) in over 5 min. Steam leaves its outlet at "
            "over 200 °F (93 °C): keep it away from seats and feet, and shield it. Heat is a risk with heart disease, pregnancy, alcohol and "
            "for children.", "children's hospital safety sheet; outlet: common practice, no source; NAC 444.234"),
    Caution("Mains electricity", "Work de-energised. Licensed electrician, permit and inspection for the generator circuit and every device near "
            "water.", "common practice, no source; the local electrical code decides"),
    Caution("Wet cement", "Mortar is caustic and holds chromates; burns may come late and without pain. Gloves, long sleeves, rinse at once, do not "
            "kneel in it.", "OSHA guidance on Portland cement and skin"),
    Caution("Silica dust", "Cut board and tile wet or with a shroud and vacuum. Limit 50 µg/m³, action level 25 µg/m³ over 8 h. A hand-held saw "
            "indoors needs a respirator as well.", "29 CFR 1926.1153 (d) and Table 1, as quoted"),
    Caution("Lifting overhead", "Boards and sheets overhead: two people or a lift. 51 lb (23 kg) is the most under ideal conditions, less overhead.",
            "NIOSH lifting equation, verify: from memory"),
    Caution("Ladders", "Foot out a quarter of the working length, 3 ft (0.9 m) above a landing, secured, three points of contact.",
            "29 CFR 1926.1053 (b), as quoted"),
    Caution("Weight on the floor", "Ponded water weighs 5.19 lb/ft² for each inch (1 kg/m² for each mm); the mortar bed, tile and people come on "
            "top. Have the structure checked before mortar and before the flood test.", "ASTM D5957 note 1, as quoted"),
    Caution("Trapped moisture, mold", "Between two vapour-tight layers moisture stays. Dry wet materials within 24 to 48 h; keep the air beside the room "
            "under 60 % RH; ventilate after use.", "US EPA guidance; IRC M1505.4.4, as quoted"),
    Caution("Legionella", "Multiplies in water at 25 to 45 °C (77 to 113 °F). Drain feed and steam lines, no dead legs; cold under 20 °C (68 °F), "
            "hot store at least 60 °C (140 °F).", "WHO text as quoted; HSG274 part 2"),
    Caution("Doors", "Open outward, no lock, safety glass. Commercial rooms: alarm and emergency stop within reach.",
            "IRC P2708.1 as quoted; rest: common practice, no source"),
)  # fmt: skip


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
    f, sketch = page.field, page.sketch
    wide = (f.width_mm - 12.0) / 2
    half = (len(CAUTIONS) + 1) // 2
    step = f.height_mm / half
    for n, c in enumerate(CAUTIONS):
        x = f.x0_mm + (n // half) * (wide + 12.0)
        y = f.y0_mm + (n % half) * step
        top = y
        y += 6.5
        sketch.write("labels", (x + 6.0, y), c.title, 5.2, color=INK, bold=True)
        y += 2.0
        for line in wrap(c.text, 3.7, wide - 8.0):
            y += 6.4
            sketch.write("labels", (x + 6.0, y), line, 3.7)
        for line in wrap(c.source, 2.4, wide - 8.0):
            y += 4.7
            sketch.write("labels", (x + 6.0, y), line, 2.4, color=SOFT)
        sketch.rect("frame", x, top, 1.2, y + 1.0 - top, fill=TEAL)
    page.heading("Who decides")
    page.note("Local codes, the authority having jurisdiction and licensed practice decide, whatever this sheet says.", 3.5)
    page.heading("What is proven")
    page.note("The lap-tight proof speaks of laps only. Water in the pan proves the pan; nothing proves the walls.", 3.5)
    page.heading("How it is known")
    page.note("Each caution names its source. “As quoted” means that the text was read as quoted by others, “from memory” that nobody could read it.")
    return page.finish()
