"""Everything that the dossier's templates set, as one JSON value."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from steamwright.covering.places import in_units
from steamwright.dossier import tables
from steamwright.dossier.comparison import comparison
from steamwright.dossier.steam import steam
from steamwright.dossier.takes import takes
from steamwright.dossier.words import Words, breakable
from steamwright.drawing.digest import Digest, digest
from steamwright.estimate.quantities import mortar_need, quantity
from steamwright.plan.listing import VERDICT_WORDS, verdict_counts
from steamwright.plan.model import Plan
from steamwright.plan.summary import first_failure
from steamwright.room.model import CoveredBy
from steamwright.rules.model import Verdict
from steamwright.sources import load_sources
from steamwright.units import FOOT_M

LEGAL = (
    "Local codes, the authority having jurisdiction and licensed practice decide. Lap-tight speaks of laps only: water in the pan proves"
    " the pan, and nothing proves the walls."
)
OPEN_TIME_MIN = 20.0


def drawing_file(number: int) -> str:
    """Name under which the templates find a drawing.

    Parameters
    ----------
    number : int
        Its place among the drawings, from 0.

    Returns
    -------
    name : str
        A file name.

    References
    ----------
    own derivation
    """
    return f"drawing-{number + 1:03d}.svg"


def contents(plan: Plan, pages_mm: Sequence[tuple[float, float]]) -> dict[str, Any]:
    """Gather the dossier's data.

    Parameters
    ----------
    plan : Plan
        The plan.
    pages_mm : sequence of tuple of float
        Width and height of every drawing in the order in which they are bound. [mm]

    Returns
    -------
    data : dict
        Plain JSON values.

    References
    ----------
    own derivation
    """
    words, look = Words(plan.job.units), digest(plan)
    return {
        "name": plan.job.name,
        "note": plan.job.note,
        "paper": "us-letter" if plan.job.units == "inch" else "a4",
        "use": f"{plan.job.use.place}, {plan.job.use.kind} use, {plan.job.use.code} family of codes",
        "legal": LEGAL,
        "hash": plan.hashes.job[:12],
        "stopped_early": plan.stopped_early,
        "figures": figures(plan, words),
        "verdicts": [[VERDICT_WORDS[v], v.value, n] for v, n in verdict_counts(plan.findings).items()],
        "failing": failing(plan),
        "tight": tight(plan, words),
        "findings": tables.findings(plan),
        "survey": tables.survey(plan, words),
        "buildups": tables.buildups(plan, words, look.names),
        "areas": areas(plan, words, look),
        "pieces": tables.pieces(plan, words, look),
        "takes": takes(plan, words),
        "crowded": [breakable(c.sentence) for c in plan.covering.crowded],
        "thick": [f"{look.names[c.facet]}: {c.most}" for c in plan.covering.layers if c.most > 3],
        "pan": tables.pan(plan, words),
        "rolls": tables.rolls(plan, words, look),
        "order": tables.order(plan, look),
        "mortar": mortar(plan, words),
        "cautions": cautions(),
        "steam": steam(plan, words),
        "comparison": comparison(plan),
        "drawings": [{"file": drawing_file(n), "width": w, "height": h} for n, (w, h) in enumerate(pages_mm)],
    }


def figures(plan: Plan, words: Words) -> list[list[str]]:
    """Key figures of the cover.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    pairs : list of list of str
        Number and what it is.

    References
    ----------
    own derivation
    """
    c = plan.covering
    area = sum(f.area_m2 for f in plan.room.facets if f.covering_by is CoveredBy.PIECES)
    return [
        [words.volume(plan.finished.volume_m3), "of air inside the tile"],
        [words.area(area), "to be covered by pieces"],
        [str(len(c.pieces)), "pieces"],
        [str(len(c.stock)), "rolls to open"],
        [words.lap(c.proof.least_lap_m) if c.proof.least_lap_m is not None else "–", f"least lap; {words.lap(c.lap_required_m)} required"],
        [str(sum(f.verdict is Verdict.FAIL for f in plan.findings)), "findings fail"],
    ]


def failing(plan: Plan) -> str:
    """What stands first on the cover where something fails.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    sentence : str
        How many findings fail and the first of them; empty where none does.

    References
    ----------
    own derivation
    """
    first = first_failure(plan.findings)
    count = sum(f.verdict is Verdict.FAIL for f in plan.findings)
    if first is None:
        return ""
    return f"{'1 finding fails' if count == 1 else f'{count} findings fail'}: order and cut nothing until settled. First: {first.sentence}"


def tight(plan: Plan, words: Words) -> dict[str, Any]:
    """What the shrink test says, in words.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    data : dict
        Verdict, sentence and failures.

    References
    ----------
    own derivation
    """
    c, proof = plan.covering, plan.covering.proof
    if proof.tight and proof.least_lap_m is not None:
        spare = proof.least_lap_m - c.lap_required_m
        sentence = (f"The covering is lap-tight: every lap is at least {words.lap(proof.least_lap_m)}, {words.lap(spare)} more than the"
                    f" {words.lap(c.lap_required_m)} required. The least is {in_units(proof.where, plan.job.units)}.")
    elif proof.tight:
        sentence = f"The covering is lap-tight for the {words.lap(c.lap_required_m)} required."
    else:
        sentence = f"The covering is not lap-tight for the {words.lap(c.lap_required_m)} required: {len(proof.failures)} places fail."
    planned = f"Laps are planned at {words.lap(c.lap_planned_m)}, since hands wander."
    bound = c.bound
    used = (f"{words.area(bound.used_m2)} of material is used; no layout can use less than {words.area(bound.lower_m2)} ({bound.method})."
            if bound else "")
    return {"tight": proof.tight, "sentence": breakable(sentence), "planned": planned, "used": breakable(used),
            "failures": [breakable(in_units(f, plan.job.units)) for f in proof.failures]}


def areas(plan: Plan, words: Words, look: Digest) -> list[list[str]]:
    """Every facet with its area and who makes it tight.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.
    look : Digest
        Names of the facets.

    Returns
    -------
    rows : list of list of str
        Name, kind, area, covering.

    References
    ----------
    own derivation
    """
    who = {CoveredBy.PIECES: "pieces", CoveredBy.OTHER: "other", CoveredBy.NONE: "none"}
    return [[breakable(look.names[f.id]), f.kind.value.replace("_", " "), words.area(f.area_m2),
             breakable(who[f.covering_by] + (f": {f.reason}" if f.reason else ""))] for f in plan.room.facets]


def mortar(plan: Plan, words: Words) -> dict[str, str]:
    """Mortar for the crew: how much, how thick, how much at a time.

    Parameters
    ----------
    plan : Plan
        The plan.
    words : Words
        How numbers are printed.

    Returns
    -------
    data : dict
        Texts.

    References
    ----------
    common practice, no source
    """
    need = mortar_need(plan.covering)
    bag_m2 = quantity("bag_wet_volume_m3") / need.bed_m
    return {"area": words.area(need.area_m2), "mass": words.mass(need.mass_kg), "bed": f"{need.bed_m * 1000:.1f} mm",
            "bags": f"{need.mass_kg / quantity('bag_mass_kg'):.1f}", "bag": f"{bag_m2 / FOOT_M**2:.0f} ft² ({bag_m2:.1f} m²)",
            "open": f"{OPEN_TIME_MIN:.0f}"}


@cache
def cautions() -> list[dict[str, str]]:
    """What can hurt someone on the job, each with its source.

    Returns
    -------
    rows : list of dict
        Title, text, source, clause and how the source is known.

    Raises
    ------
    KeyError
        If a caution names a source that does not exist.

    References
    ----------
    own derivation
    """
    text = files("steamwright.dossier").joinpath("cautions.toml").read_text("utf-8")
    known = load_sources()
    rows = []
    for row in tomllib.loads(text)["caution"]:
        practice = row["source"] == "common practice, no source"
        how = "" if practice else f", {known[row['source']].how_known.value}"
        clause = f" {row['clause']}" if row["clause"] else ""
        rows.append({"title": row["title"], "text": row["text"], "source": f"{row['source']}{clause}{how}"})
    return rows
