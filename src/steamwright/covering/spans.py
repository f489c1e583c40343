"""Stretches along a line: joined, shared, left over."""

from __future__ import annotations

Span = tuple[float, float]


def merged(spans_m: list[Span]) -> list[Span]:
    """Join stretches that overlap or touch.

    Parameters
    ----------
    spans_m : list of (float, float)
        Starts and ends, in any order. [m]

    Returns
    -------
    merged_m : list of (float, float)
        The same ground as stretches apart from one another, in order. [m]

    References
    ----------
    own derivation
    """
    if len(spans_m) < 2:
        return spans_m
    out: list[Span] = []
    for low, high in sorted(spans_m):
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def shared(a_m: list[Span], b_m: list[Span]) -> list[Span]:
    """Find the stretches that lie in both of two lists.

    Parameters
    ----------
    a_m : list of (float, float)
        Stretches. [m]
    b_m : list of (float, float)
        Stretches. [m]

    Returns
    -------
    shared_m : list of (float, float)
        What both cover, merged. [m]

    References
    ----------
    own derivation
    """
    return merged([(max(p, r), min(q, s)) for p, q in a_m for r, s in b_m if min(q, s) > max(p, r)])


def missing(spans_m: list[Span], length_m: float) -> list[Span]:
    """Find what merged stretches leave uncovered of a line.

    Parameters
    ----------
    spans_m : list of (float, float)
        Merged stretches from the line's start. [m]
    length_m : float
        The line's length. [m]

    Returns
    -------
    missing_m : list of (float, float)
        The stretches between them, in order. [m]

    References
    ----------
    own derivation
    """
    out: list[Span] = []
    at = 0.0
    for low, high in spans_m:
        if low > at:
            out.append((at, low))
        at = max(at, high)
    return [*out, (at, length_m)] if at < length_m else out


def total(spans_m: list[Span]) -> float:
    """Add up stretches that do not overlap.

    Parameters
    ----------
    spans_m : list of (float, float)
        The stretches. [m]

    Returns
    -------
    total_m : float
        Their length. [m]

    References
    ----------
    own derivation
    """
    return sum(high - low for low, high in spans_m)
