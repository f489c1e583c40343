"""Remnants on hand, as a job lists them and as the file that goes from job to job."""

from __future__ import annotations

import json
from typing import Any

from steamwright.cutting.inventory import StockRemnant
from steamwright.plan.job import Job
from steamwright.plan.remnants import RemnantFile, read_remnants, remnants_after, remnants_text

Row = dict[str, str]


def remnants_listed(text: str) -> tuple[int, list[Row]]:
    """Read a file of remnants as the rows of a draft.

    Parameters
    ----------
    text : str
        Its content.

    Returns
    -------
    given, rows : int, list of dict
        How many ids have been given, and a row of `covering.remnant` for each that is on hand.

    Raises
    ------
    InputError
        If it cannot be read.

    References
    ----------
    own derivation
    """
    file = read_remnants(text, "the file")
    # through a millionth of a metre, so that a size said in inches comes back as the same sixteenth
    rows = [{"id": r.id, "material": r.material, "length": f"{r.length_m:.6f} m", "width": f"{r.width_m:.6f} m", "origin": r.origin}
            for r in file.remnant]
    return file.given, rows


def remnants_left(job: Job, document: bytes) -> str:
    """Write the file of remnants as it is once the pieces of a plan are cut.

    Parameters
    ----------
    job : Job
        What the plan was made from, with the remnants that were on hand.
    document : bytes
        plan.json.

    Returns
    -------
    text : str
        TOML; what the plan did not touch keeps its id, what it leaves gets new ones.

    References
    ----------
    own derivation
    """
    before = RemnantFile(given=job.covering.remnants_given, remnant=job.covering.remnant)
    said: list[dict[str, Any]] = json.loads(document)["covering"]["left"]
    return remnants_text(remnants_after(before, tuple(StockRemnant(**r) for r in said), job.name))
