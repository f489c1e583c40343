"""Rectangles from rolls by edge-to-edge cuts: cross cuts, then rips, then trims.

Blanks are sorted by length; a stretch of roll as long as the longest that is left takes further blanks side by side and
behind each other in its columns (first fit, decreasing length). Stretches fill rolls first fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from steamwright.errors import InfeasibleError

NEAR_M = 1e-7


@dataclass(frozen=True, slots=True)
class Blank:
    """A rectangle to be cut; ``length_m`` along the roll unless it may turn."""

    id: str
    length_m: float
    width_m: float
    may_turn: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a blank lies: roll number from 0, distance from the roll's end, distance from its edge."""

    blank: str
    roll: int
    x_m: float
    y_m: float
    turned: bool


@dataclass(frozen=True, slots=True)
class Remnant:
    """A rectangle left over that is worth keeping."""

    roll: int
    x_m: float
    y_m: float
    length_m: float
    width_m: float


@dataclass(frozen=True, slots=True)
class Cutting:
    """A cutting plan: spots, used length of each roll, remnants. ``waste_ratio`` is waste over used area."""

    spots: tuple[Spot, ...]
    used_length_m: tuple[float, ...]
    remnants: tuple[Remnant, ...]
    waste_ratio: float


@dataclass(slots=True)
class _Column:
    y_m: float
    width_m: float
    filled_m: float
    entries: list[tuple[str, float, bool]] = field(default_factory=list)


@dataclass(slots=True)
class _Stretch:
    length_m: float
    columns: list[_Column] = field(default_factory=list)

    def ripped_m(self) -> float:
        """Width taken by columns. [m]"""
        return sum(c.width_m for c in self.columns)


def cut_rolls(blanks: Sequence[Blank], roll_width_m: float, roll_length_m: float, least_remnant_m: float = 0.3) -> Cutting:
    """Give every blank a place on rolls of one size.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed.
    roll_width_m, roll_length_m : float
        Size of a roll. [m]
    least_remnant_m : float
        Shortest side of a remnant that is worth keeping. [m]

    Returns
    -------
    cutting : Cutting
        Blanks apart, inside their rolls, parted by edge-to-edge cuts.

    Raises
    ------
    InfeasibleError
        If a blank is larger than a roll.

    References
    ----------
    own derivation: first fit by decreasing length on stretches
    """
    laid = [_lying(b, roll_width_m, roll_length_m) for b in blanks]
    stretches: list[_Stretch] = []
    for blank_id, length, width, turned in sorted(laid, key=lambda r: (-round(r[1], 6), -round(r[2], 6), r[0])):
        _place(stretches, (blank_id, length, width, turned), roll_width_m)
    return _onto_rolls(stretches, laid, roll_width_m, roll_length_m, least_remnant_m)


def _lying(blank: Blank, roll_width_m: float, roll_length_m: float) -> tuple[str, float, float, bool]:
    """Length along and width across the roll: the longer side along it where the blank may turn."""
    length, width = blank.length_m, blank.width_m
    turned = False
    if blank.may_turn and (width > length or width > roll_width_m + NEAR_M) and length <= roll_width_m + NEAR_M:
        length, width, turned = width, length, True
    if width > roll_width_m + NEAR_M or length > roll_length_m + NEAR_M:
        raise InfeasibleError(f"blank {blank.id} of {blank.length_m:.3f} × {blank.width_m:.3f} m does not fit a roll of "
                              f"{roll_length_m:.2f} × {roll_width_m:.3f} m", hint="choose a wider or longer roll, or part the surface")
    return blank.id, length, width, turned


def _place(stretches: list[_Stretch], entry: tuple[str, float, float, bool], roll_width_m: float) -> None:
    """Behind others in a column, else beside them, else in a new stretch."""
    blank_id, length, width, turned = entry
    for stretch in stretches:
        for column in stretch.columns:
            if width <= column.width_m + NEAR_M and column.filled_m + length <= stretch.length_m + NEAR_M:
                column.entries.append((blank_id, column.filled_m, turned))
                column.filled_m += length
                return
        if stretch.ripped_m() + width <= roll_width_m + NEAR_M and length <= stretch.length_m + NEAR_M:
            stretch.columns.append(_Column(stretch.ripped_m(), width, length, [(blank_id, 0.0, turned)]))
            return
    stretches.append(_Stretch(length, [_Column(0.0, width, length, [(blank_id, 0.0, turned)])]))


def _onto_rolls(stretches: list[_Stretch], laid: Sequence[tuple[str, float, float, bool]], roll_width_m: float, roll_length_m: float,
                least_remnant_m: float) -> Cutting:
    """Stretches onto rolls, first fit; what is left of each is measured."""
    used: list[float] = []
    spots: list[Spot] = []
    remnants: list[Remnant] = []
    for stretch in stretches:
        roll = next((k for k, u in enumerate(used) if u + stretch.length_m <= roll_length_m + NEAR_M), len(used))
        if roll == len(used):
            used.append(0.0)
        x = used[roll]
        used[roll] += stretch.length_m
        for c in stretch.columns:
            spots += [Spot(i, roll, x + at, c.y_m, turned) for i, at, turned in c.entries]
            if min(stretch.length_m - c.filled_m, c.width_m) >= least_remnant_m:
                remnants.append(Remnant(roll, x + c.filled_m, c.y_m, stretch.length_m - c.filled_m, c.width_m))
        ripped = stretch.ripped_m()
        if min(roll_width_m - ripped, stretch.length_m) >= least_remnant_m:
            remnants.append(Remnant(roll, x, ripped, stretch.length_m, roll_width_m - ripped))
    needed = sum(length * width for _, length, width, _ in laid)
    total = sum(used) * roll_width_m
    return Cutting(tuple(spots), tuple(used), tuple(remnants), 1.0 - needed / total if total > 0.0 else 0.0)
