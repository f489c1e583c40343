"""What the command line shows of pins: the rows for a job file, and the ways out for a piece that was cut too short."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from steamwright.cli.screen import cost_words
from steamwright.plan.pinning import ShortAnswer, pin_row
from steamwright.plan.summary import account_row
from steamwright.service.toml_writing import toml_of
from steamwright.units import System, format_length


def rows_text(rows: Sequence[dict[str, Any]]) -> str:
    """Write pinned pieces as lines of a job file.

    Parameters
    ----------
    rows : sequence of dict
        As `pin_row` gives them.

    Returns
    -------
    text : str
        TOML, to be added to the job file.

    References
    ----------
    own derivation
    """
    return toml_of({"covering": {"piece": list(rows)}}).replace("[covering]\n", "", 1)


def answer_row(answer: ShortAnswer) -> dict[str, Any]:
    """One way out as JSON values.

    Parameters
    ----------
    answer : ShortAnswer
        The way out.

    Returns
    -------
    row : dict
        With the row for the job file under ``job``.

    References
    ----------
    own derivation
    """
    return {"kind": answer.kind, "sentence": answer.sentence, "tight": answer.tight, "least_lap_m": answer.least_lap_m,
            "failures": list(answer.failures), "pieces": list(answer.pieces), "cost": account_row(answer.cost), "job": pin_row(answer.pin)}


def show_answers(console: Console, answers: Sequence[ShortAnswer], system: System) -> None:
    """Print the ways out, the cheapest that is lap-tight first, and what the job has to say for it.

    Parameters
    ----------
    console : Console
        Where to print.
    answers : sequence of ShortAnswer
        As `short_answers` gives them.
    system : System
        Units to print in.

    References
    ----------
    own derivation
    """
    for k, answer in enumerate(answers, start=1):
        console.print(Text(f"{k}. {answer.sentence}", style="bold" if answer.tight else "red"))
        lap = "not lap-tight" if not answer.tight or answer.least_lap_m is None else \
            f"lap-tight: least lap {format_length(answer.least_lap_m, system)}"
        console.print(Padding(Text(f"{lap}; {cost_words(account_row(answer.cost), system)}"), (0, 0, 0, 3)))
    if answers and answers[0].tight:
        console.print(Text("for the first, add to the job file:", style="dim"))
        console.print(rows_text([pin_row(answers[0].pin)]), markup=False, soft_wrap=True)
