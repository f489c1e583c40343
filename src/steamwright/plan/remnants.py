"""The file of remnants on hand: read before a plan draws from it, written when what was planned is cut."""

from __future__ import annotations

import json
import tomllib
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from steamwright.covering.inputs import RemnantOnHand
from steamwright.cutting.inventory import StockRemnant
from steamwright.errors import InputError
from steamwright.plan.job import Job
from steamwright.said import Said

HEAD = """# Remnants on hand. A remnant keeps its id for life; no id is given twice.
"""


class RemnantFile(Said):
    """All remnants on hand, and how many ids have been given."""

    format: Literal["steamwright-remnants"] = "steamwright-remnants"
    given: Annotated[int, Field(ge=0)] = 0
    remnant: tuple[RemnantOnHand, ...] = ()


def read_remnants(text: str, name: str = "remnants") -> RemnantFile:
    """Read the file.

    Parameters
    ----------
    text : str
        Its content, TOML; an empty file means that nothing is on hand.
    name : str, optional
        What to call it in complaints.

    Returns
    -------
    file : RemnantFile
        What is on hand.

    Raises
    ------
    InputError
        If it cannot be read.

    References
    ----------
    own derivation
    """
    try:
        found = RemnantFile.model_validate(tomllib.loads(text), context={"typed": True})
    except tomllib.TOMLDecodeError as wrong:
        raise InputError(f"{name} cannot be read: {wrong}", path=name, hint="it is TOML, one [[remnant]] a remnant") from wrong
    except ValidationError as wrong:
        first = wrong.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        hint = 'a remnant has id, material, length and width, such as "62 in"'
        raise InputError(f"{name}: {first['msg']}", path=place, hint=hint) from wrong
    ids = [r.id for r in found.remnant]
    twice = next((i for i in ids if ids.count(i) > 1), None)
    if twice is not None:
        raise InputError(f"{name}: the remnant {twice} is listed twice", path="remnant", hint="give every remnant its own id")
    return found


def with_remnants(job: Job, file: RemnantFile) -> Job:
    """Let a job draw from what is on hand.

    Parameters
    ----------
    job : Job
        The job.
    file : RemnantFile
        What is on hand beside what the job itself lists.

    Returns
    -------
    job : Job
        The same with its list of remnants longer.

    Raises
    ------
    InputError
        If the job lists a remnant of that id too.

    References
    ----------
    own derivation
    """
    own = {r.id for r in job.covering.remnant}
    both = [r.id for r in file.remnant if r.id in own]
    if both:
        raise InputError(f"the remnant {both[0]} is in the job and in the file", path="covering.remnant", hint="keep it in one of the two")
    given = max(job.covering.remnants_given, file.given)
    covering = job.covering.model_copy(update={"remnant": (*job.covering.remnant, *file.remnant), "remnants_given": given})
    return job.model_copy(update={"covering": covering})


def remnants_after(file: RemnantFile, left: tuple[StockRemnant, ...], job_name: str) -> RemnantFile:
    """List what is on hand once a plan is cut: what it did not touch keeps its id, what it leaves gets new ones.

    Parameters
    ----------
    file : RemnantFile
        What was on hand before.
    left : tuple of StockRemnant
        What the plan leaves.
    job_name : str
        Where new remnants come from.

    Returns
    -------
    after : RemnantFile
        The new content of the file.

    References
    ----------
    own derivation
    """
    before = {r.id: r for r in file.remnant}
    given, rows = file.given, []
    for r in left:
        old = before.get(r.id)
        if old is not None:
            rows.append(old)
            continue
        given += 1
        while f"M{given}" in before:
            given += 1
        origin = f"{job_name}: {r.origin}"
        rows.append(RemnantOnHand(id=f"M{given}", material=r.material, length_m=r.length_m, width_m=r.width_m, origin=origin))
    return RemnantFile(given=given, remnant=tuple(rows))


def remnants_text(file: RemnantFile) -> str:
    """Write the file.

    Parameters
    ----------
    file : RemnantFile
        What is on hand.

    Returns
    -------
    text : str
        TOML; sizes rounded down to a tenth of a millimetre.

    References
    ----------
    own derivation
    """
    lines = [HEAD, f'format = "{file.format}"', f"given = {file.given}"]
    for r in file.remnant:
        lines += ["", "[[remnant]]", f"id = {json.dumps(r.id)}", f"material = {json.dumps(r.material, ensure_ascii=False)}",
                  f'length = "{_down(r.length_m)} m"', f'width = "{_down(r.width_m)} m"',
                  f"origin = {json.dumps(r.origin, ensure_ascii=False)}"]
    return "\n".join(lines) + "\n"


def _down(value_m: float) -> str:
    return f"{int(value_m * 1e4 + 1e-6) / 1e4:.4f}"
