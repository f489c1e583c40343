"""Loops over arrays made fast. Modules that use it are imported only where they run, since the compiler is slow to load."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile a function of numbers and arrays on its first call, and keep the result on disk.

    Parameters
    ----------
    function : callable
        Calls nothing of ours but compiled functions of its own module, whose changes alone the cache sees.

    Returns
    -------
    function : callable
        The same function, compiled.

    References
    ----------
    own derivation
    """
    jit = cast(Callable[..., Any], numba.njit)
    return cast(F, jit(cache=True, nogil=True)(function))
