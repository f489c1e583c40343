"""The one door to the compiler: typed, cached on disk, and free of the interpreter's lock."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile a function of plain arrays on its first call and keep the result beside the module.

    Parameters
    ----------
    function : callable
        Uses numbers and arrays only.

    Returns
    -------
    function : callable
        The same function, compiled; it runs without the interpreter's lock, so walls run side by side in threads.

    References
    ----------
    own derivation
    """
    return cast(F, numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract", "nsz", "arcp"})(function))


def inlined(function: F) -> F:
    """Compile a small function into its callers.

    Parameters
    ----------
    function : callable
        Uses numbers and arrays only.

    Returns
    -------
    function : callable
        The same function, compiled where it is called.

    References
    ----------
    own derivation
    """
    return cast(F, numba.njit(nogil=True, error_model="numpy", fastmath={"contract", "nsz", "arcp"}, forceinline=True)(function))
