"""The one door to the compiler: typed, cached on disk, and free of the interpreter's lock.

The cache of a compiled function knows only its own source file, not those of the functions that it takes in. So the
folder of the cache carries a digest of all compiled sources: after any change of any of them everything is compiled anew.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])

_MARKS = (b"@compiled", b"@inlined")
_CONFIG: Any = numba.config
_JIT = cast(Callable[..., Any], numba.njit)
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract", "nsz", "arcp"}}


@cache
def cache_folder() -> Path:
    """Where compiled code is kept: in the user's cache, apart for every state of the compiled sources.

    Returns
    -------
    folder : Path
        May not exist yet.

    References
    ----------
    own derivation
    """
    digest = hashlib.sha256()
    for source in sorted(Path(__file__).parent.glob("*.py")):
        text = source.read_bytes()
        if any(mark in text for mark in _MARKS):
            digest.update(text)
    base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "steamwright" / f"compiled-{digest.hexdigest()[:16]}"


def compiled(function: F) -> F:
    """Compile a function of plain arrays on its first call and keep the result on disk, where there is room for it.

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
    before = _CONFIG.CACHE_DIR
    try:
        _CONFIG.CACHE_DIR = str(cache_folder())
        result = _JIT(cache=True, **_OPTIONS)(function)
    except (RuntimeError, OSError):  # nowhere to write: compile in every process
        result = _JIT(**_OPTIONS)(function)
    finally:
        _CONFIG.CACHE_DIR = before
    return cast(F, result)


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
    return cast(F, _JIT(forceinline=True, **_OPTIONS)(function))
