"""Coverings read back from where they are kept."""

from __future__ import annotations

import pickle
from io import BytesIO
from typing import Any

from steamwright.covering.model import Covering
from steamwright.errors import InputError

_MODULES = ("steamwright.covering.model", "steamwright.cutting.inventory", "steamwright.cutting.rolls")


class _Values(pickle.Unpickler):
    """Makes values of coverings and nothing else: who can write a database must not be able to run anything by it."""

    def find_class(self, module: str, name: str) -> Any:
        if (module in _MODULES and isinstance(super().find_class(module, name), type)) or (module, name) == ("shapely.io", "from_wkb"):
            return super().find_class(module, name)
        raise pickle.UnpicklingError(f"{module}.{name} is no part of a covering")


def kept_covering(content: bytes) -> Covering:
    """Read a covering that this program kept.

    Parameters
    ----------
    content : bytes
        As it was pickled.

    Returns
    -------
    covering : Covering
        The same one.

    Raises
    ------
    InputError
        If it is anything else.

    References
    ----------
    own derivation
    """
    try:
        found = _Values(BytesIO(content)).load()
    except (pickle.UnpicklingError, AttributeError, EOFError, ImportError, IndexError, TypeError, ValueError):
        found = None
    if not isinstance(found, Covering):
        raise InputError("this layout cannot be read any more", path="layout", hint="look for other layouts once more")
    return found
