"""The commands round the web application: ``serve`` and ``account``."""

from __future__ import annotations

import importlib
import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from steamwright.errors import InputError, SteamwrightError

BAD_INPUT, FAULT = 2, 3
commands = typer.Typer()
_NOT_INSTALLED = "the web application is not installed (install it with: pip install 'steamwright[web]')"
_DATABASE = Annotated[
    str, typer.Option("--database", envvar="STEAMWRIGHT_DATABASE", help="Where jobs are kept: sqlite:///FILE or postgresql://…")
]


def default_database() -> str:
    """Where jobs are kept if nothing is said: a file in the folder in which the command runs.

    Returns
    -------
    url : str
        Address of an SQLite file.

    References
    ----------
    own derivation
    """
    return f"sqlite:///{Path.cwd() / 'steamwright.db'}"


@commands.command()
def serve(
    database: _DATABASE = "",
    host: Annotated[str, typer.Option(help="Address to listen on; others than 127.0.0.1 demand accounts.")] = "127.0.0.1",
    port: Annotated[int | None, typer.Option(help="Port; else PORT of the environment, else 8000.", show_default=False)] = None,
    workers: Annotated[int | None, typer.Option(min=1, help="How many plans are made at once.", show_default=False)] = None,
) -> None:
    """Serve the web application on this machine."""
    # Several plans are made at once: threads of linear algebra on top of them would wait for one another. Workers read it from here.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        # The doors of the program do not know each other; this one is opened by its name, and may not be installed.
        door = importlib.import_module("steamwright.web.serve")
        door.serve(database or default_database(), host, port, workers, lambda address: typer.echo(f"Steamwright is at {address}"))
    except ModuleNotFoundError as wrong:
        raise _gave_up(_not_installed(wrong), FAULT) from wrong
    except SteamwrightError as wrong:
        raise _gave_up(wrong.sentence(), BAD_INPUT if isinstance(wrong, InputError) else FAULT) from wrong


@commands.command()
def account(
    name: Annotated[str, typer.Argument(help="Name to log in by.")],
    role: Annotated[str, typer.Option(help="office or crew.")] = "crew",
    database: _DATABASE = "",
) -> None:
    """Add an account, or give one a new password; the password is asked for, or read from standard input."""
    if role not in ("office", "crew"):
        raise _gave_up(f"there is no role “{role}”: write office or crew", BAD_INPUT)
    asks = sys.stdin.isatty()
    password = typer.prompt("Password", hide_input=True, confirmation_prompt=True) if asks else sys.stdin.readline().rstrip("\n")
    try:
        from steamwright.service.log_in import keep_account

        keep_account(database or default_database(), name, "office" if role == "office" else "crew", password)
    except ModuleNotFoundError as wrong:
        raise _gave_up(_not_installed(wrong), FAULT) from wrong
    except SteamwrightError as wrong:
        raise _gave_up(wrong.sentence(), BAD_INPUT if isinstance(wrong, InputError) else FAULT) from wrong
    typer.echo(f"{name} can log in as {role}")


def _not_installed(wrong: ModuleNotFoundError) -> str:
    """A package of ours that is missing is a fault, a package of others is what was not installed."""
    if (wrong.name or "").startswith("steamwright"):
        raise wrong
    return _NOT_INSTALLED


def _gave_up(sentence: str, code: int) -> typer.Exit:
    sys.stderr.write(f"steamwright could not finish: {sentence}\n")
    return typer.Exit(code)
