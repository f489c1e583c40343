"""Lengths cut from new rolls and old remnants so that least is bought, least is scrapped, and few leftovers are kept.

The three wishes are met one after the other, each proven before the next is begun: the length of new rolls opened, then the
scrap (rests too short to keep), then the number of leftovers kept. All lengths are whole numbers of one unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from steamwright.errors import InfeasibleError

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, CpSolver, IntVar


@dataclass(frozen=True, slots=True)
class LengthDemand:
    """So many pieces of one length, in whole units."""

    length: int
    count: int


@dataclass(frozen=True, slots=True)
class LengthCut:
    """One roll or remnant that is cut: its length, the pieces in decreasing length, and the rest."""

    length: int
    remnant: int | None
    pieces: tuple[int, ...]
    rest: int


@dataclass(frozen=True, slots=True)
class LeftoverCutting:
    """What is cut from what; ``proven`` says which of the three values are proven the least given those before them."""

    new_length: int
    scrap: int
    kept: int
    cuts: tuple[LengthCut, ...]
    proven: tuple[bool, bool, bool]
    work: float


def cut_keeping_leftovers(demands: Sequence[LengthDemand], new_rolls: Sequence[int], remnants: Sequence[int], least_kept: int,
                          work: float = 60.0, seed: int = 1) -> LeftoverCutting:
    """Cut lengths so that least new roll is opened, then least is scrapped, then fewest leftovers are kept.

    Parameters
    ----------
    demands : sequence of LengthDemand
        What is needed, lengths in whole units.
    new_rolls : sequence of int
        Lengths of new rolls, as many of each as wanted (count of units).
    remnants : sequence of int
        Lengths on hand, each once and free; those not used count nothing (count of units).
    least_kept : int
        A rest at least this long is kept, a shorter one is scrap (count of units).
    work : float
        Most work for each of the three searches, in the solver's own measure, which no clock enters (ratio).
    seed : int
        Seed of the search (count).

    Returns
    -------
    cutting : LeftoverCutting
        Always a valid one; proven as far as its own field says.

    Raises
    ------
    InfeasibleError
        If a piece is longer than every roll and remnant, or what is on hand does not suffice and no roll is sold.

    References
    ----------
    own derivation
    """
    demands = [d for d in demands if d.count > 0]
    longest = max((*new_rolls, *remnants), default=0)
    for d in demands:
        if d.length > longest:
            raise InfeasibleError(f"a piece of {d.length} is longer than any roll or remnant (longest {longest})",
                                  hint="choose a longer roll, or join the piece")
    if not demands:
        return LeftoverCutting(0, 0, 0, (), (True, True, True), 0.0)
    model = _Model(demands, new_rolls, remnants, least_kept)
    proven: list[bool] = []
    spent = 0.0
    answer: _Answer | None = None
    for goal in (model.bought, model.scrap, model.kept):
        model.cp.minimize(goal)
        found, done, used = _solve(model, work, seed, answer)
        spent += used
        proven.append(done and all(proven))
        if found is None:
            if answer is None:
                raise InfeasibleError("what is on hand does not suffice", hint="name a roll that is sold, or allow more work")
            break
        answer = found
        model.cp.add(goal <= answer.value)
    if answer is None:
        raise InfeasibleError("no cutting was found", hint="allow more work")
    return model.read(answer, (*proven, *[False] * (3 - len(proven))), spent)


@dataclass(frozen=True, slots=True)
class _Answer:
    value: int
    hint: tuple[int, ...]


def _solve(model: _Model, work: float, seed: int, hint: _Answer | None) -> tuple[_Answer | None, bool, float]:
    from ortools.sat.python import cp_model

    solver: CpSolver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    solver.parameters.symmetry_level = 2
    solver.parameters.linearization_level = 2
    model.cp.clear_hints()  # type: ignore[no-untyped-call]
    if hint is not None:
        for variable, value in zip(model.variables, hint.hint, strict=True):
            model.cp.add_hint(variable, value)
    status = solver.solve(model.cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, False, solver.response_proto.deterministic_time
    values = tuple(int(solver.value(v)) for v in model.variables)
    return _Answer(round(solver.objective_value), values), status == cp_model.OPTIMAL, solver.response_proto.deterministic_time


class _Model:
    """Counts of every length in every roll that might be cut; rolls of one length in order of what is in them."""

    def __init__(self, demands: Sequence[LengthDemand], new_rolls: Sequence[int], remnants: Sequence[int], least_kept: int) -> None:
        from ortools.sat.python import cp_model

        self.cp: CpModel = cp_model.CpModel()
        self.demands = sorted(demands, key=lambda d: -d.length)
        self.sources = [(length, k) for k, length in enumerate(remnants)] + _openable(self.demands, new_rolls)
        self.variables: list[IntVar] = []
        self.counts: list[list[IntVar]] = []
        used: list[IntVar] = []
        scraps: list[IntVar] = []
        keeps: list[IntVar] = []
        for number, (length, _) in enumerate(self.sources):
            counts = [self._whole(min(d.count, length // d.length), f"x{number}_{k}") for k, d in enumerate(self.demands)]
            opened, keeps_rest = self._whole(1, f"u{number}"), self._whole(1, f"k{number}")
            scrap, rest = self._whole(max(0, least_kept - 1), f"s{number}"), self._whole(length, f"r{number}")
            filled = sum(c * d.length for c, d in zip(counts, self.demands, strict=True))
            # What is opened ends as pieces, scrap or one kept rest.
            self.cp.add(filled + scrap + rest == length * opened)
            self.cp.add(rest >= least_kept * keeps_rest)
            self.cp.add(rest <= length * keeps_rest)
            self.cp.add(scrap <= max(0, least_kept - 1) * (1 - keeps_rest))
            self.cp.add(sum(counts) >= opened)
            self.counts.append(counts)
            used.append(opened)
            scraps.append(scrap)
            keeps.append(keeps_rest)
        for k, d in enumerate(self.demands):
            self.cp.add(sum(row[k] for row in self.counts) == d.count)
        self._order(used)
        self.bought: Any = sum(u * s[0] for u, s in zip(used, self.sources, strict=True) if s[1] is None)
        self.scrap: Any = sum(scraps)
        self.kept: Any = sum(keeps)

    def _whole(self, most: int, name: str) -> IntVar:
        variable = self.cp.new_int_var(0, most, name)
        self.variables.append(variable)
        return variable

    def _order(self, used: Sequence[IntVar]) -> None:
        """Rolls of one length are alike: the fuller first."""
        alike: dict[tuple[int, bool], list[int]] = {}
        for number, (length, remnant) in enumerate(self.sources):
            alike.setdefault((length, remnant is None), []).append(number)
        for group in alike.values():
            for a, b in pairwise(group):
                self.cp.add(used[a] >= used[b])
                self.cp.add(self.counts[a][0] >= self.counts[b][0])

    def read(self, answer: _Answer, proven: tuple[bool, ...], work: float) -> LeftoverCutting:
        """The cuts that an answer stands for."""
        per_source = len(self.demands) + 4
        cuts = []
        bought = scrap = kept = 0
        for number, (length, remnant) in enumerate(self.sources):
            at = number * per_source
            pieces = tuple(d.length for k, d in enumerate(self.demands) for _ in range(answer.hint[at + k]))
            if not pieces:
                continue
            rest = length - sum(pieces)
            keeps_rest = answer.hint[at + len(self.demands) + 1] == 1
            bought += length if remnant is None else 0
            kept += keeps_rest
            scrap += 0 if keeps_rest else rest
            cuts.append(LengthCut(length, remnant, pieces, rest))
        return LeftoverCutting(bought, scrap, kept, tuple(cuts), (proven[0], proven[1], proven[2]), work)


def _openable(demands: Sequence[LengthDemand], new_rolls: Sequence[int]) -> list[tuple[int, int | None]]:
    """So many rolls of every length as the cheapest first-fit cutting could pay for."""
    pieces = [d.length for d in demands for _ in range(d.count)]
    costs = []
    for length in sorted(set(new_rolls), reverse=True):
        if pieces[0] <= length:
            rests: list[int] = []
            for p in pieces:
                k = next((k for k, r in enumerate(rests) if r >= p), None)
                if k is None:
                    rests.append(length - p)
                else:
                    rests[k] -= p
            costs.append(length * len(rests))
    # Without one roll that holds every piece, a roll for each piece is the safe number.
    most = min(costs, default=sum(max((length for length in new_rolls), default=0) for _ in pieces))
    return [(length, None) for length in sorted(set(new_rolls), reverse=True) for _ in range(min(len(pieces), most // length))]
