"""What goes into the order's tables: the same rows for the spreadsheet and for CSV."""

from __future__ import annotations

import csv
import io

from steamwright.drawing.digest import piece_marks
from steamwright.estimate.model import OrderLine
from steamwright.plan.listing import VERDICT_WORDS, cuts_of, facet_names, in_setting_order, known_as, most_urgent_first
from steamwright.plan.model import Plan
from steamwright.units import format_length

Cell = str | float | int | None
ORDER_HEAD = ("Item", "Name", "Need", "Unit", "Pack", "Packs", "Price of a pack, USD", "Cost, USD", "Pieces", "Reason")
PIECE_HEAD = (
    "Piece",
    "Mark on the drawings",
    "Set as no.",
    "Role",
    "Item",
    "On",
    "Lies over",
    "Blank length",
    "Blank width",
    "Roll",
    "Mark from the roll's end",
    "Mark across",
)
ROLL_HEAD = ("Roll", "Item", "Length, m", "Width, m", "Used length, m", "Left over, m", "Pieces in cutting order")
FINDING_HEAD = (
    "Verdict",
    "Rule",
    "Where",
    "Provided",
    "Is",
    "Required",
    "Unit",
    "Source",
    "Clause",
    "How known",
    "What it says",
    "What to do",
)


def pack_price_usd(line: OrderLine) -> float | None:
    """Price of one pack of an order line.

    Parameters
    ----------
    line : OrderLine
        A line of the order.

    Returns
    -------
    price_usd : float or None
        ``None`` where no price is known or nothing is bought. [USD]

    References
    ----------
    own derivation
    """
    return None if line.usd is None or line.packs == 0 else round(line.usd / line.packs, 4)


def piece_rows(plan: Plan) -> list[tuple[Cell, ...]]:
    """Rows of the table of pieces, in setting order.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    rows : list of tuple
        One row a piece, columns as in ``PIECE_HEAD``.

    References
    ----------
    own derivation
    """
    names, marks, system = facet_names(plan), piece_marks(plan.covering.pieces), plan.job.units
    rows: list[tuple[Cell, ...]] = []
    for p in in_setting_order(plan.covering):
        on = "; ".join(", ".join(dict.fromkeys(names.get(x.facet, x.facet) for x in patches)) for patches in p.members())
        blank = [format_length(v, system) for v in p.blank_m] if p.blank_m else ["ready-made", ""]
        cut = [p.cut.stock, format_length(p.cut.x_m, system), format_length(p.cut.y_m, system)] if p.cut else ["", "", ""]
        rows.append((p.id, marks[p.id], p.place_no, p.role.value.replace("_", " "), p.item, on, ", ".join(p.over), *blank, *cut))
    return rows


def roll_rows(plan: Plan) -> list[tuple[Cell, ...]]:
    """Rows of the table of rolls.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    rows : list of tuple
        One row a roll, columns as in ``ROLL_HEAD``; what is left over is left to a formula.

    References
    ----------
    own derivation
    """
    return [
        (s.id, s.item, s.length_m, s.width_m, round(s.used_length_m, 4), None, ", ".join(p.id for p in cuts_of(plan.covering, s.id)))
        for s in plan.covering.stock
    ]


def finding_rows(plan: Plan) -> list[tuple[Cell, ...]]:
    """Rows of the table of findings, fails first.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    rows : list of tuple
        One row a finding, columns as in ``FINDING_HEAD``.

    References
    ----------
    own derivation
    """
    return [
        (
            VERDICT_WORDS[f.verdict],
            f.rule,
            f.where,
            _shown(f.provided),
            f.op,
            _shown(f.required),
            f.unit,
            f.source,
            f.clause,
            known_as(f),
            f.sentence,
            f.fix,
        )
        for f in most_urgent_first(plan.findings)
    ]


def _shown(value: float | str | bool | None) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return float(f"{value:.6g}") if isinstance(value, float) else value


def _cents(usd: float | None) -> str:
    return "" if usd is None else f"{usd:.2f}"


def order_csv(plan: Plan) -> bytes:
    """Write the order as comma-separated values, UTF-8 with a header row, for other programs to read.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    table : bytes
        The same plan gives the same bytes.

    References
    ----------
    own derivation
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(ORDER_HEAD)
    for line in plan.order:
        writer.writerow(
            (
                line.item,
                line.name,
                float(f"{line.need:.4g}"),
                line.unit,
                float(f"{line.pack:.4g}"),
                line.packs,
                _cents(pack_price_usd(line)),
                _cents(line.usd),
                " ".join(line.pieces),
                line.reason,
            )
        )
    return out.getvalue().encode()
