"""What of plan.json is not as it was in an earlier one: a page that has that one needs no more."""

from __future__ import annotations

import re

_NEXT = re.compile(rb",\n (?=\")")
_BEGIN, _END = b"{\n ", b"\n}\n"


def changed_parts(document: bytes, before: bytes) -> bytes | None:
    """Leave out of plan.json every outermost member that says in an earlier one, byte for byte, what it says now.

    Parameters
    ----------
    document : bytes
        plan.json as it is now, every outermost member beginning a line.
    before : bytes
        plan.json as it was.

    Returns
    -------
    parts : bytes or None
        One JSON object; laid over the earlier document it gives this one. None where that cannot be, as a member is gone.

    References
    ----------
    own derivation
    """
    now, then = _members(document), _members(before)
    if not now.keys() >= then.keys():
        return None
    return b"{" + b",".join(text for name, text in now.items() if then.get(name) != text) + b"}"


def _members(document: bytes) -> dict[bytes, bytes]:
    """The outermost members by name, with their name. Lines further in begin with more than one space, and text holds no line end."""
    inner = document.removeprefix(_BEGIN).removesuffix(_END)
    return {member.partition(b":")[0]: member for member in _NEXT.split(inner)}
