"""Starting the server."""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Callable

from steamwright.errors import InputError
from steamwright.service.desk import Desk

DEFAULT_PORT = 8000
_NO_ACCOUNT = "other machines may only come in by an account, and there is none of the office yet"


def serve(database: str, host: str = "127.0.0.1", port: int | None = None, workers: int | None = None,
          tell: Callable[[str], None] | None = None) -> None:
    """Serve the page and the API until stopped.

    Parameters
    ----------
    database : str
        Address of the database.
    host : str
        Address to listen on; any but this machine's own demands accounts.
    port : int or None
        Port; else PORT of the environment, else 8000. [count]
    workers : int or None
        How many plans are made at once; else one less than there are processors. [count]
    tell : callable, optional
        Told where the page is.

    Raises
    ------
    InputError
        If the port is none, or accounts are demanded and there is none.

    References
    ----------
    own derivation
    """
    import uvicorn

    from steamwright.web.app import make_app

    chosen = _port() if port is None else port
    local = is_local(host)
    desk = Desk(database, workers or max((os.cpu_count() or 2) - 1, 1))
    if not local and not desk.door.people.any_office():
        desk.close()
        raise InputError(_NO_ACCOUNT, path="--host", hint="add one: steamwright account NAME --role office")
    if tell is not None:
        tell(f"http://{'[' + host + ']' if ':' in host else host}:{chosen}")
    desk.planning.warm()
    uvicorn.run(make_app(desk, local=local), host=host, port=chosen, log_level="warning", access_log=False, server_header=False,
                timeout_graceful_shutdown=3)


def is_local(host: str) -> bool:
    """Tell whether only this machine can come in by an address.

    Parameters
    ----------
    host : str
        Name or address.

    Returns
    -------
    local : bool
        True for ``localhost`` and loopback addresses.

    References
    ----------
    common practice, no source
    """
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _port() -> int:
    said = os.environ.get("PORT", str(DEFAULT_PORT))
    if not said.isdecimal() or not 0 <= int(said) <= 65535:
        raise InputError(f"“{said}” is no port", path="PORT", hint="set it to a number up to 65535")
    return int(said)
