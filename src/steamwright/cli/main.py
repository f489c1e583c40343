"""The command line: ``plan`` writes everything, ``check`` prints the findings alone, ``compare`` sets build-ups side by side."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from steamwright.cli.serving import commands
from steamwright.errors import DataError, InputError, OutOfRangeError, SteamwrightError

if TYPE_CHECKING:
    from steamwright.buildup.catalog_model import Catalog
    from steamwright.errors import Mistake
    from steamwright.plan.model import Plan
    from steamwright.plan.remnants import RemnantFile

RIGHT, FAILS, BAD_INPUT, FAULT = 0, 1, 2, 3
_JOB = Annotated[Path, typer.Argument(metavar="JOB.toml", help="The job file.", show_default=False)]
_JSON = Annotated[bool, typer.Option("--json", help="Print for machines, to standard output.")]

# Catalog files of a person's own, given before the command.
_OWN: ContextVar[tuple[Path, ...]] = ContextVar("own catalogs", default=())

app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False, rich_markup_mode=None)


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(version("steamwright"))
        raise typer.Exit


@app.callback()
def steamwright(
    catalogs: Annotated[
        list[Path] | None, typer.Option("--catalog", metavar="FILE", help="Materials of your own, in YAML; may be given again.",
                                        show_default=False)
    ] = None,
    _version_wanted: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """From a tape survey of a tiled steam room to a proven, orderable plan of its covering.

    Ends with 0 if all is right, 1 if a finding fails, 2 if the input is wrong, 3 if the program could not finish.
    """
    _OWN.set(tuple(catalogs or ()))


@app.command()
def plan(
    job: _JOB,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="The folder to write to.", show_default=False)],
    alternatives: Annotated[bool, typer.Option("--alternatives", help="Find other layouts and what they take.")] = False,
    seconds: Annotated[
        float | None, typer.Option("--seconds", min=0, help="End the search by the clock, with the best so far.", show_default=False)
    ] = None,
    remnants: Annotated[
        Path | None, typer.Option("--remnants", metavar="FILE", help="Remnants on hand, used before a roll is opened.", show_default=False)
    ] = None,
    write_back: Annotated[bool, typer.Option("--write-back", help="The pieces are cut now: write to FILE what is left.")] = False,
    machine: _JSON = False,
) -> None:
    """Plan the covering of a room: plan.json, drawings, order and dossier.

    The first Ctrl-C while the layout is searched takes the best so far.
    """
    asked = _Asked(out, alternatives, seconds, remnants, write_back)
    raise typer.Exit(_guarded(job, machine, lambda text, tell: _plan(text, asked, machine, tell)))


@app.command()
def check(job: _JOB, machine: _JSON = False) -> None:
    """Print the findings on a job and write nothing."""
    raise typer.Exit(_guarded(job, machine, lambda text, tell: _check(text, machine, tell)))


@app.command()
def compare(
    job: _JOB,
    years: Annotated[int, typer.Option("--years", min=0, max=30, help="Years of the hourly method; 0 leaves it out.")] = 2,
    weather: Annotated[
        Path | None, typer.Option("--weather", metavar="FILE", help="Hourly weather, EPW or TMY3.", show_default=False)
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Write the plan with the comparison in it, and its page in the dossier.",
                                  show_default=False)
    ] = None,
    machine: _JSON = False,
) -> None:
    """Set the alternative build-ups of a job side by side: vapor, moisture, steam load."""
    raise typer.Exit(_guarded(job, machine, lambda text, tell: _compare(text, years, weather, out, machine, tell)))


@app.command()
def pin(
    job: _JOB,
    pieces: Annotated[list[str], typer.Argument(metavar="PIECE...", help="Numbers of pieces, such as S3.", show_default=False)],
    cut: Annotated[bool, typer.Option("--cut", help="They are cut but not set yet.")] = False,
) -> None:
    """Print the lines that pin pieces as they are: cut or set, whatever is planned later."""
    raise typer.Exit(_guarded(job, False, lambda text, tell: _pin(text, pieces, "cut" if cut else "set", tell)))


@app.command()
def short(
    job: _JOB,
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="The number of the piece, such as S3.", show_default=False)],
    missing: Annotated[str, typer.Argument(metavar="LENGTH", help='How much is missing, such as "2 in".', show_default=False)],
    at_start: Annotated[bool, typer.Option("--at-start", help="It is missing at the blank's start, else at its end.")] = False,
    is_set: Annotated[bool, typer.Option("--set", help="The short piece is set already.")] = False,
    machine: _JSON = False,
) -> None:
    """Find what to do about a piece that was cut too short: patch it, cut it again, or order more."""
    raise typer.Exit(_guarded(job, machine, lambda text, tell: _short(text, (piece, missing, at_start, is_set), machine, tell)))


app.add_typer(commands)


def run() -> None:
    """Start the command line.

    References
    ----------
    own derivation
    """
    app()


def _guarded(job: Path, machine: bool, work: Callable[[str, Callable[[str], None]], int]) -> int:
    """Do the work; whatever goes wrong ends in words and an exit code."""
    from rich.console import Console

    from steamwright.cli.screen import telling
    from steamwright.plan.jobfile import place_mistakes

    errors = Console(stderr=True, highlight=False)
    text = ""
    try:
        text = _read(job)
        with telling(errors) as tell:
            return work(text, tell)
    except InputError as wrong:
        _complain(str(job), place_mistakes(wrong, text), machine)
        return BAD_INPUT
    except SteamwrightError as wrong:
        _give_up(wrong.sentence(), wrong.code, machine)
    except Exception as wrong:
        # A person at work gets one line; whoever mends the program asks for the rest.
        if os.environ.get("STEAMWRIGHT_TRACEBACK"):
            raise
        _give_up(f"a fault in the program: {type(wrong).__name__}: {wrong}", "fault", machine)
    return FAULT


def _read(job: Path) -> str:
    try:
        return job.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise InputError(f"{job} is not a text file in UTF-8", hint="save it as UTF-8") from wrong
    except OSError as wrong:
        raise InputError(f"cannot read {job}: {wrong.strerror}", hint="check the name of the job file") from wrong


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a person asks of a plan beside the job."""

    out: Path
    alternatives: bool
    seconds: float | None
    remnants: Path | None
    write_back: bool


def _catalog() -> Catalog:
    """The shipped catalog with what a person adds; a mistake there is wrong input, not a fault of the program."""
    from steamwright.buildup.catalog import load_catalog

    own = _OWN.get()
    try:
        return load_catalog([_read(path) for path in own])
    except (DataError, OutOfRangeError) as wrong:
        raise InputError(wrong.detail, path=wrong.path, hint=wrong.hint or f"mend {', '.join(str(p) for p in own)}") from wrong


def _build(text: str, tell: Callable[[str], None], alternatives: bool = False, stop: Callable[[], bool] | None = None,
           on_hand: RemnantFile | None = None) -> Plan:
    tell("reading the job")
    from steamwright.plan.jobfile import read_job

    catalog = _catalog()
    job = read_job(text, catalog.materials)
    if on_hand is not None:
        from steamwright.plan.remnants import with_remnants

        job = with_remnants(job, on_hand)
    from steamwright.plan.build import build

    return build(job, catalog, tell, stop=stop, alternatives=alternatives)


def _files(built: Plan, tell: Callable[[str], None]) -> dict[str, bytes]:
    """Everything that a plan is delivered as, by its path in the folder."""
    tell("plan.json")
    from steamwright.plan.document import plan_json

    files = {"plan.json": plan_json(built)}
    tell("drawings")
    from steamwright.dossier.compile import dossier_pdf
    from steamwright.drawing.digest import digest
    from steamwright.drawing.render import model_files, sheet_files

    arranged = digest(built)
    sheets = sheet_files(arranged)
    # the dossier is set outside the interpreter, which meanwhile makes the rest
    with ThreadPoolExecutor(1) as aside:
        dossier = aside.submit(dossier_pdf, built, sheets)
        tell("order")
        from steamwright.exchange.spreadsheet import order_xlsx
        from steamwright.exchange.tables import order_csv

        files |= sheets | model_files(arranged) | {"order.xlsx": order_xlsx(built), "order.csv": order_csv(built)}
        tell("dossier")
        return files | {"dossier.pdf": dossier.result()}


def _on_hand(asked: _Asked) -> RemnantFile | None:
    if asked.remnants is None:
        if asked.write_back:
            raise InputError("there is no file to write to", path="--write-back", hint="name it with --remnants FILE")
        return None
    from steamwright.plan.remnants import RemnantFile, read_remnants

    missing = asked.write_back and not asked.remnants.exists()
    return RemnantFile() if missing else read_remnants(_read(asked.remnants), asked.remnants.name)


def _plan(text: str, asked: _Asked, machine: bool, tell: Callable[[str], None]) -> int:
    from steamwright.cli.delivery import deliver
    from steamwright.cli.stopping import stoppable
    from steamwright.plan.summary import plan_summary

    on_hand = _on_hand(asked)
    with stoppable(asked.seconds) as stop:
        built = _build(text, tell, asked.alternatives, stop, on_hand)
    files = _files(built, tell)
    tell("writing")
    deliver(files, asked.out)
    if on_hand is not None and asked.write_back and asked.remnants is not None:
        from steamwright.plan.remnants import remnants_after, remnants_text

        after = remnants_after(on_hand, built.covering.left, built.job.name)
        deliver({asked.remnants.name: remnants_text(after).encode()}, asked.remnants.parent)
    summary = plan_summary(built)
    code = FAILS if summary["fails_first"] else RIGHT
    if machine:
        _print_json({"ok": code == RIGHT} | summary | {"files": sorted(files)})
    else:
        from rich.console import Console

        from steamwright.cli.screen import counted, show_alternatives, show_summary

        console = Console(highlight=False)
        show_summary(console, summary)
        if summary["alternatives"]:
            show_alternatives(console, summary["alternatives"], summary["units"])
        console.print(f"{counted(len(files), 'file')} written to {asked.out}", style="dim", markup=False, soft_wrap=True)
    return code


def _pin(text: str, pieces: list[str], state: Literal["cut", "set"], tell: Callable[[str], None]) -> int:
    from steamwright.cli.pinning import rows_text
    from steamwright.plan.pinning import piece_pin, pin_row

    built = _build(text, tell)
    sys.stdout.write(rows_text([pin_row(piece_pin(built, piece, state)) for piece in pieces]))
    return RIGHT


def _short(text: str, said: tuple[str, str, bool, bool], machine: bool, tell: Callable[[str], None]) -> int:
    from steamwright.cli.pinning import answer_row, show_answers
    from steamwright.plan.pinning import short_answers
    from steamwright.units import parse_length_m

    piece, missing, at_start, is_set = said
    short_m = parse_length_m(missing)
    built = _build(text, tell)
    answers = short_answers(built, _catalog(), piece, short_m, "start" if at_start else "end", "set" if is_set else "cut", tell)
    good = any(answer.tight for answer in answers)
    if machine:
        _print_json({"ok": good, "job": built.job.name, "answers": [answer_row(answer) for answer in answers]})
    else:
        from rich.console import Console

        show_answers(Console(highlight=False), answers, built.job.units)
    return RIGHT if good else FAILS


def _check(text: str, machine: bool, tell: Callable[[str], None]) -> int:
    from steamwright.plan.summary import finding_row, first_failure, in_urgency

    built = _build(text, tell)
    code = FAILS if first_failure(built.findings) else RIGHT
    if machine:
        _print_json({"ok": code == RIGHT, "job": built.job.name, "findings": [finding_row(f) for f in in_urgency(built.findings)]})
    else:
        from rich.console import Console

        from steamwright.cli.screen import show_findings

        show_findings(Console(highlight=False), built.findings)
    return code


def _compare(text: str, years: int, weather: Path | None, out: Path | None, machine: bool, tell: Callable[[str], None]) -> int:
    from dataclasses import replace
    from time import perf_counter

    from steamwright.plan.comparison import compare_plan, comparison_document
    from steamwright.vapor.weather_files import read_weather

    outside = read_weather(_read(weather), weather.name) if weather is not None else None
    built = _build(text, tell)
    found = compare_plan(built, _catalog(), years, outside, tell, perf_counter)
    if out is not None:
        from steamwright.cli.delivery import deliver

        deliver(_files(replace(built, comparison=found), tell), out)
    if machine:
        _print_json({"ok": True, "job": built.job.name} | comparison_document(found))
    else:
        from rich.console import Console

        from steamwright.cli.comparing import show_comparison

        show_comparison(Console(highlight=False), built.job.name, found, built.job.units)
    return RIGHT


def _complain(file: str, mistakes: tuple[Mistake, ...], machine: bool) -> None:
    from dataclasses import asdict

    if machine:
        _print_json({"ok": False, "file": file, "mistakes": [asdict(mistake) for mistake in mistakes]})
    else:
        from rich.console import Console

        from steamwright.cli.screen import show_mistakes

        show_mistakes(Console(stderr=True, highlight=False), file, mistakes)


def _give_up(sentence: str, code: str, machine: bool) -> None:
    if machine:
        _print_json({"ok": False, "code": code, "error": sentence})
    else:
        sys.stderr.write(f"steamwright could not finish: {sentence}\n")


def _print_json(document: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(document, indent=1, ensure_ascii=False) + "\n")
