"""Ending a search from outside: by the clock, or by the first Ctrl-C."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def stoppable(seconds: float | None) -> Iterator[Callable[[], bool]]:
    """Give a search something to ask whether it shall end.

    Parameters
    ----------
    seconds : float or None
        After how long it ends by the clock; never where there is none. [s]

    Yields
    ------
    stop : callable
        True once the time is up or Ctrl-C was pressed; the second Ctrl-C ends the program as ever.

    References
    ----------
    own derivation
    """
    end = None if seconds is None else time.monotonic() + seconds
    pressed = False
    before = signal.getsignal(signal.SIGINT)

    def remember(number: int, frame: FrameType | None) -> None:
        nonlocal pressed
        pressed = True
        signal.signal(signal.SIGINT, before)

    try:
        signal.signal(signal.SIGINT, remember)
    except ValueError:  # only the main thread may listen
        yield lambda: end is not None and time.monotonic() >= end
        return
    try:
        yield lambda: pressed or (end is not None and time.monotonic() >= end)
    finally:
        signal.signal(signal.SIGINT, before)
