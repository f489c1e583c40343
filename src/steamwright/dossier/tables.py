"""What stands in the dossier's tables: rows of short texts, ready to be set."""

from __future__ import annotations

from typing import Any

from steamwright.buildup.model import BuildUp
from steamwright.covering.model import Piece, Role
from steamwright.dossier.words import Words, breakable, value
from steamwright.drawing.digest import Digest
from steamwright.plan.listing import VERDICT_WORDS, cuts_of, in_setting_order, known_as, most_urgent_first, under
from steamwright.plan.model import Plan
from steamwright.room.flood import flood_words
from steamwright.room.model import FacetKind
from steamwright.rules.model import Finding
from steamwright.sources import load_sources
from steamwright.units import format_slope

Data = dict[str, Any]
SIGNS = {">=": "≥", "<=": "≤", ">": ">", "<": "<", "==": "=", "!=": "≠"}
ROLE_WORDS = {Role.SHEET: "sheet", Role.BAND: "band", Role.CORNER_PIECE: "corner piece", Role.COLLAR: "collar"}


def findings(plan: Plan) -> list[Data]:
    """Findings as rows, fails first.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    rows : list of dict
        Verdict, sentence, fix, numbers, and the rule with source, clause and how it is known.

    References
    ----------
    own derivation
    """
    titles = {k: f"{s.title}" for k, s in load_sources().items()}
    return [
        {
            "verdict": f.verdict.value,
            "word": VERDICT_WORDS[f.verdict],
            "rule": f.rule,
            "where": breakable(_led_by(f)[0]),
            "sentence": breakable(_led_by(f)[1]),
            "fix": breakable(f.fix),
            "provided": breakable(value(f.provided, f.unit, f.required)),
            "op": SIGNS.get(f.op, "") if f.provided is not None and f.required is not None else "",
            "required": breakable(value(f.required, f.unit)),
            "source": breakable(f.source),
            "title": breakable(titles.get(f.source, "")),
            "clause": breakable(f.clause),
            "known": known_as(f),
        }
        for f in most_urgent_first(plan.findings)
    ]


def _led_by(finding: Finding) -> tuple[str, str]:
    """Where and sentence; a sentence that starts with its place gives it up, so that it is not said twice."""
    where, sentence = finding.where, finding.sentence
    if where and sentence.startswith(where):
        return where, sentence[len(where):].lstrip(" :,")
    return where, sentence


def survey(plan: Plan, words: Words) -> Data:
    """The survey report as rows.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    data : dict
        Stations, readings, walls, flatness, shims, advice, and the global test.

    References
    ----------
    own derivation
    """
    s = plan.survey
    return {
        "face": s.face.value,
        "stations": [[x.id, words.length(x.x_m), words.length(x.y_m), words.fine(x.sd_m).lstrip("+")] for x in s.stations],
        "readings": [
            {
                "cells": [x.id, x.kind, breakable(x.of), x.face.value, words.length(x.measured_m), words.length(x.adjusted_m),
                          words.fine(x.residual_m), f"{x.standardized:+.1f}", f"{x.redundancy:.2f}"],
                "suspect": x.suspect,
            }
            for x in s.readings
        ],
        "walls": [
            [w.side, f"{1000 * w.tilt_ratio:+.1f}", words.fine(w.middle_bow_m), words.fine(w.twist_m).lstrip("+"),
             "yes" if w.parted else "no"]
            for w in s.walls
        ],
        "flatness": [
            [breakable(f.of), words.fine(f.gap_m).lstrip("+"), words.length(f.under_m), words.fine(f.allowed_m).lstrip("+"),
             "flat enough" if f.flat_enough else "BUILD OUT"]
            for f in s.flatness
        ],
        "shims": [[x.side, breakable(x.at), words.fine(x.depth_m).lstrip("+")] for x in s.shims],
        "advice": [breakable(a) for a in s.advice],
        "dof": s.dof,
        "chi2": f"{s.chi2:.2f}",
        "limits": f"{s.chi2_low:.2f} to {s.chi2_high:.2f}",
        "consistent": s.consistent,
        "suspect": next((f"{x.id} ({x.of})" for x in s.readings if x.id == s.suspect), s.suspect),
    }


def _tight_by(plan: Plan, buildup: BuildUp) -> str:
    """How a build-up is made tight: over a liner the floor is by that, whatever its build-up says."""
    on = [plan.room.facet(f).kind is FacetKind.FLOOR for f in buildup.facets]
    if plan.pan.membrane != "liner" or not any(on):
        return buildup.covering
    return "pan liner" if all(on) else f"{buildup.covering}, the floor by the pan liner"


def buildups(plan: Plan, words: Words, names: dict[str, str]) -> list[Data]:
    """Build-ups as rows of layers, steam side first.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.
    names : dict
        Names of the facets by id.

    Returns
    -------
    stacks : list of dict
        Head figures and layers of every build-up.

    References
    ----------
    own derivation
    """
    return [
        {
            "name": breakable(b.name),
            "on": breakable(", ".join(dict.fromkeys(names.get(f, f) for f in b.facets)) or ", ".join(b.on)),
            "covering": _tight_by(plan, b),
            "alternative": breakable(b.alternative_to or ""),
            "permeance": words.permeance(b.permeance_kg_pa_s_m2),
            "membrane": words.permeance(b.membrane_permeance_kg_pa_s_m2),
            "procedure": breakable(b.membrane_procedure),
            "r": words.resistance(b.r_m2k_w),
            "mass": words.areal_mass(b.mass_kg_m2),
            "framing": b.framing_kind + (f" at {words.length(b.framing_spacing_m)}" if b.framing_spacing_m else ""),
            "layers": [
                [breakable(x.name), x.role,
                 words.length(x.thickness_m) if x.thickness_m >= 0.003 else words.fine(x.thickness_m).lstrip("+"),
                 words.permeance(x.permeance_kg_pa_s_m2) if x.permeance_kg_pa_s_m2 is not None else "–", words.resistance(x.r_m2k_w),
                 breakable(f"{x.source} ({x.how_known})")]
                for x in b.layers
            ],
        }
        for b in plan.buildups
    ]


def pieces(plan: Plan, words: Words, look: Digest) -> list[list[str]]:
    """The schedule of pieces in setting order.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.
    look : Digest
        Marks of the pieces and names of the facets.

    Returns
    -------
    rows : list of list of str
        Number, mark, role and item, facets, blank, over, under, roll.

    References
    ----------
    own derivation
    """
    above = under(plan.covering)
    def marks(ids: tuple[str, ...]) -> str:
        return " ".join(look.marks.get(i, i) for i in ids) or "–"
    return [
        [str(p.place_no), look.marks[p.id], _what(p), breakable(look.surfaces(p).replace(" + ", ", ")),
         " × ".join(words.length(v) for v in p.blank_m) if p.blank_m else "ready-made", marks(p.over), marks(above[p.id]),
         breakable(p.cut.stock) if p.cut else "–"]
        for p in in_setting_order(plan.covering)
    ]


def _what(piece: Piece) -> str:
    return breakable(ROLE_WORDS[piece.role] if piece.blank_m else piece.item)


def rolls(plan: Plan, words: Words, look: Digest) -> list[Data]:
    """Every roll with its cuts along the tape from the roll's end.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.
    look : Digest
        Marks of the pieces.

    Returns
    -------
    rolls : list of dict
        Size, used length, what is left, and the cuts in order.

    References
    ----------
    own derivation
    """
    out = []
    for s in plan.covering.stock:
        cuts = []
        for p in cuts_of(plan.covering, s.id):
            if p.cut is None or p.blank_m is None:
                continue
            along, across = p.blank_m[::-1] if p.cut.turned else p.blank_m
            cuts.append([words.length(p.cut.x_m), words.length(p.cut.x_m + along), words.length(p.cut.y_m), look.marks[p.id],
                         f"{words.length(along)} × {words.length(across)}"])
        out.append({"id": breakable(s.id), "item": breakable(s.item), "size": f"{words.length(s.width_m)} × {words.length(s.length_m)}",
                    "used": words.length(s.used_length_m), "left": words.length(s.length_m - s.used_length_m), "cuts": cuts})
    return out


def order(plan: Plan, look: Digest) -> Data:
    """The order as rows, and its total where every line has a price.

    Parameters
    ----------
    plan : Plan
        The plan.
    look : Digest
        Marks of the pieces.

    Returns
    -------
    data : dict
        Rows and the total in words.

    References
    ----------
    own derivation
    """
    rows = [
        {
            "item": breakable(x.item),
            "name": breakable(x.name),
            "need": f"{_amount(x.need, 4)} {x.unit}",
            "pack": _amount(x.pack, 3),
            "packs": str(x.packs),
            "usd": "–" if x.usd is None else f"{x.usd:,.2f}",
            "pieces": " ".join(look.marks.get(p, p) for p in x.pieces),
            "reason": breakable(x.reason),
        }
        for x in plan.order
    ]
    known = [x.usd for x in plan.order if x.usd is not None]
    missing = len(plan.order) - len(known)
    total = f"{sum(known):,.2f} USD" + (f"; lines without a price: {missing}" if missing else "")
    return {"rows": rows, "total": total if known else "No prices were given."}


def _amount(value: float, digits: int) -> str:
    return f"{value:.0f}" if value >= 1000.0 else f"{value:.{digits}g}"


def pan(plan: Plan, words: Words) -> Data:
    """The pan's falls, heights round the wall, and the water of its flood test.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    data : dict
        Sentence, head figures and rows.

    References
    ----------
    own derivation
    """
    p = plan.pan
    def slope(value: float) -> str:
        return format_slope(value, words.system)
    return {
        "sentence": breakable(p.sentence),
        "feasible": p.feasible,
        "figures": [
            [f"{slope(p.slope_least)} to {slope(p.slope_most)}", "falls to the drain"],
            [f"{words.length(p.bed_at_drain_m)} to {words.length(p.bed_at_perimeter_m)}", "bed over the bare floor, drain to wall"],
            [words.volume(p.bed_volume_m3), "of bed"],
            [words.mass(p.flood_mass_kg), f"of water in the flood test, filled {flood_words(p, words.system)}"],
        ],
        "falls": [[breakable(f.start), words.length(f.distance_m), slope(f.slope)] for f in (*p.walls, *p.corners)],
        "heights": [[breakable(h.at), words.length(h.over_drain_m), words.length(h.bed_m)] for h in p.heights],
    }
