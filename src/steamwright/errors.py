"""Everything that can go wrong, as one small tree.

SteamwrightError
├── InputError(ValueError)      what a person typed: always with its place and the way out
│   ├── UnitError               a quantity that cannot be read
│   ├── SurveyError             readings that cannot make a room
│   ├── GeometryError           a room that cannot exist
│   ├── OutOfRangeError         a value outside the range in which a formula holds
│   ├── ClashError              wishes that contradict each other, a rule or the room
│   └── JobError                several mistakes of one job file, gathered
├── DataError                   a fault in data that ships with the program or in a user's catalog
│   ├── SourceError
│   └── RuleError
└── SolveError                  a computation that did not end well
    ├── NotConvergedError
    └── InfeasibleError
"""

from __future__ import annotations

from dataclasses import dataclass


class SteamwrightError(Exception):
    """Base of all errors of this program.

    Parameters
    ----------
    detail : str
        What is wrong, in a tradesperson's words.
    path : str
        The place inside the input, such as ``room.openings[0].width``.
    hint : str
        What to do about it.
    """

    code = "steamwright"

    def __init__(self, detail: str, *, path: str = "", hint: str = "") -> None:
        self.detail, self.path, self.hint = detail, path, hint
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """The error as one line of text: place, what is wrong, way out.

        Returns
        -------
        line : str
            Never empty.

        References
        ----------
        own derivation
        """
        place = f"{self.path}: " if self.path else ""
        return f"{place}{self.detail}" + (f" ({self.hint})" if self.hint else "")


class InputError(SteamwrightError, ValueError):
    """Something a person typed is wrong."""

    code = "input"


class UnitError(InputError):
    """A quantity cannot be read."""

    code = "input.unit"


class SurveyError(InputError):
    """Readings cannot make a room."""

    code = "input.survey"


class GeometryError(InputError):
    """A room as described cannot exist."""

    code = "input.geometry"


class OutOfRangeError(InputError):
    """A value lies outside the range in which a formula holds."""

    code = "input.range"


class ClashError(InputError):
    """Two wishes, or a wish and a rule, cannot both be met; the hint is the nearest that can."""

    code = "input.clash"


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake of a job file: where it is, what is wrong, what to write instead."""

    path: str
    detail: str
    hint: str = ""
    line: int | None = None
    code: str = "input"


class JobError(InputError):
    """All mistakes of one job file, gathered so that one run shows them all."""

    code = "input.job"

    def __init__(self, mistakes: tuple[Mistake, ...]) -> None:
        self.mistakes = mistakes
        count = len(mistakes)
        super().__init__(f"the job has {count} mistake{'s' if count != 1 else ''}")


class DataError(SteamwrightError):
    """Data that ships with the program, or a user's catalog, is at fault."""

    code = "data"


class SourceError(DataError):
    """A source key is unknown or a source row is incomplete."""

    code = "data.source"


class RuleError(DataError):
    """A rule file is at fault."""

    code = "data.rule"


class SolveError(SteamwrightError):
    """A computation did not end well."""

    code = "solve"


class NotConvergedError(SolveError):
    """An iteration did not converge."""

    code = "solve.not_converged"


class InfeasibleError(SolveError):
    """Wishes and rules leave no solution."""

    code = "solve.infeasible"
