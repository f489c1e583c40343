"""What has to be bought."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of the order: what is needed, rounded up to packs, and the pieces it serves.

    ``need`` and ``pack`` are in ``unit``; ``usd`` is for all packs, ``None`` where no price is known.
    """

    item: str
    name: str
    need: float
    unit: str
    pack: float
    packs: int
    pieces: tuple[str, ...]
    usd: float | None
    reason: str
