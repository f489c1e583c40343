"""The linear program over patterns: each has a cost and gives pieces; demand is met at least cost.

Columns are added as they are priced out, demands and limits change while diving, and the basis is kept throughout. The
solver's thread count is set before the first run and never again: changing it later makes a run fail and leaves the old answer.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import NotConvergedError

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


class Master:
    """Least cost of patterns that meet a demand.

    Parameters
    ----------
    demand : array of int, shape (n,)
        Pieces wanted of each item (count).
    """

    def __init__(self, demand: Ints) -> None:
        import highspy

        self._none = highspy.kHighsInf
        self._optimal = highspy.HighsModelStatus.kOptimal
        self._failed = highspy.HighsStatus.kError
        make: Any = highspy.Highs
        self.solver = make()
        for name, value in (("output_flag", False), ("threads", 1), ("presolve", "off"), ("solver", "simplex"), ("random_seed", 1)):
            self.solver.setOptionValue(name, value)
        for d in demand:
            self.solver.addRow(float(d), self._none, 0, np.array([], dtype=np.int32), np.array([]))
        self.patterns: list[Ints] = []
        self.costs: list[float] = []
        self._known: set[bytes] = set()
        self._rows = np.arange(len(demand), dtype=np.int32)
        self.solves = 0

    def add(self, pattern: Ints, cost: float, kind: int = 0) -> bool:
        """Add a column unless it is known.

        Parameters
        ----------
        pattern : array of int, shape (n,)
            Pieces of each item (count).
        cost : float
            What it costs (ratio).
        kind : int
            Tells alike patterns of different stock apart (count).

        Returns
        -------
        new : bool
            Whether it was added.

        References
        ----------
        own derivation
        """
        key = pattern.tobytes() + kind.to_bytes(4, "little")
        if key in self._known:
            return False
        self._known.add(key)
        at = np.flatnonzero(pattern).astype(np.int32)
        self.solver.addCol(float(cost), 0.0, self._none, len(at), at, pattern[at].astype(np.float64))
        self.patterns.append(pattern)
        self.costs.append(cost)
        return True

    def demand(self, demand: Ints) -> None:
        """Set what is still wanted; patterns that give more of an item than that are closed, the others opened.

        Parameters
        ----------
        demand : array of int, shape (n,)
            Pieces still wanted (count).

        References
        ----------
        own derivation
        """
        n = len(demand)
        self.solver.changeRowsBounds(n, self._rows, demand.astype(np.float64), np.full(n, self._none))
        if self.patterns:
            open_: NDArray[np.bool_] = np.all(np.array(self.patterns) <= demand, axis=1)
            count = len(open_)
            self.solver.changeColsBounds(count, np.arange(count, dtype=np.int32), np.zeros(count), np.where(open_, self._none, 0.0))

    def solve(self) -> tuple[float, Floats, Floats]:
        """Solve it.

        Returns
        -------
        value : float
            Least cost (ratio).
        uses : array of float
            How often each pattern is used (count).
        prices : array of float, shape (n,)
            Dual price of one piece of each item (ratio).

        Raises
        ------
        NotConvergedError
            If the solver says anything but optimal.

        References
        ----------
        own derivation
        """
        self.solves += 1
        if self.solver.run() == self._failed or self.solver.getModelStatus() != self._optimal:
            raise NotConvergedError(f"the linear program over patterns ended with {self.solver.getModelStatus()}",
                                    hint="allow more work, or take the best cutting found so far")
        solution = self.solver.getSolution()
        value: float = self.solver.getInfo().objective_function_value
        return value, np.array(solution.col_value), np.maximum(np.array(solution.row_dual), 0.0)
