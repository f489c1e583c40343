"""Which reading is wrong, whether the readings can tell, and which further reading would decide."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from steamwright.geometry.frame import Floats
from steamwright.room.chi_square import chi_square_quantile
from steamwright.room.inputs import Survey
from steamwright.room.least_squares import Assessment, fit
from steamwright.room.network import Network, area_sign, jacobian, predict
from steamwright.room.possible import tie_network
from steamwright.room.survey_model import Advice
from steamwright.room.taping import LengthReading
from steamwright.units import System, format_length

LIMIT = 3.0  # standardized residual over which a reading is doubted
APART = 9.0  # chi2 by which leaving one reading out must beat leaving out any other: a likelihood of 90 to 1
WEAK_M = 0.0127  # a station that is known no better than to half an inch


@dataclass(frozen=True, slots=True)
class Judgement:
    """The doubted reading, if one can be singled out, and what to measure, in words."""

    suspect: int | None
    advice: tuple[Advice, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Extra:
    """A reading that could be taken: its row of the design, and the stations it is taken between."""

    row: Floats
    of: str
    again: int | None

    @property
    def name(self) -> str:
        """Such as ``B to D``."""
        return self.of.replace("-", " to ", 1)

    def told(self, sentence: str) -> Advice:
        """Advice to take it."""
        return Advice(sentence, "length", self.of, self.again is not None)


def doubted(found: Assessment) -> tuple[int, ...]:
    """Readings that may be the wrong one: those whose removal mends the rest about as well as any.

    Parameters
    ----------
    found : Assessment
        The adjusted net.

    Returns
    -------
    readings : tuple of int
        Indices; empty if no standardized residual is over 3.

    References
    ----------
    Baarda-1968 (data snooping); the bound of 9 between rivals: own derivation
    """
    w2 = found.standardized**2
    if not len(w2) or w2.max() <= LIMIT**2:
        return ()
    return tuple(int(i) for i in np.flatnonzero(w2 > w2.max() - APART) if w2[i] > 1.0)


def _extras(survey: Survey, readings: tuple[LengthReading, ...], network: Network, found: Assessment, points_m: Floats) -> list[_Extra]:
    """Everything that could be measured next: each tie not yet read, each reading once more."""
    ties = tie_network(network)
    ids = survey.stations
    extras = []
    if len(ties.start):
        rows = jacobian(ties, points_m, area_sign(points_m)) / ties.sd_m[:, None]
        extras = [_Extra(row, f"{ids[a]}-{ids[b]}", None) for row, a, b in zip(rows, ties.start, ties.end, strict=True)]
    again = [_Extra(found.design[i], f"{ids[r.start]}-{ids[r.end]}", i) for i, r in enumerate(readings)]
    return extras + again


def _deciding(extra: _Extra, found: Assessment, rivals: tuple[int, ...]) -> tuple[int, float]:
    """How well a further reading would tell the rivals apart: how many clearly, and by how much in all."""
    q = found.cofactor
    qa = q @ extra.row
    q = q - np.outer(qa, qa) / (1.0 + float(extra.row @ qa))
    design = np.vstack([found.design, extra.row])
    r = np.eye(len(design)) - design @ q @ design.T
    index = np.array(rivals)
    own = np.diag(r)[index]
    part = r[np.ix_(index, index)]
    blunder = found.standardized[index] / np.sqrt(found.redundancy[index])
    apart = blunder[:, None] ** 2 * (own[:, None] - part**2 / own[None, :])
    np.fill_diagonal(apart, np.inf)
    clear = int((apart.min(axis=1) > APART).sum())
    return clear, float(np.minimum(apart[np.isfinite(apart)], 100.0).sum())


def _best_extras(extras: list[_Extra], found: Assessment, rivals: tuple[int, ...]) -> list[_Extra]:
    """Further readings, the most deciding first.

    Where several readings taken again decide alike (each only about itself), the one comes first that needs the smallest
    error to explain the misfit; else equals keep their order.
    """

    def rank(k: int) -> tuple[int, float, float, int]:
        clear, apart = _deciding(extras[k], found, rivals)
        i = extras[k].again
        error = 0.0 if i is None else abs(float(found.residual_m[i])) / max(float(found.redundancy[i]), 1e-9)
        return clear, -round(error, 6), round(apart, 6), -k

    return [extras[k] for k in sorted(range(len(extras)), key=rank, reverse=True)]


def _should_read_m(network: Network, found: Assessment, i: int) -> float:
    """What a reading would be if it alone were wrong: what the others say."""
    return float(network.measured_m[i] + found.residual_m[i] / found.redundancy[i])


def judge(survey: Survey, readings: tuple[LengthReading, ...], network: Network, found: Assessment, points_m: Floats,
          high: float, system: System) -> Judgement:
    """Name the wrong reading where the readings can tell, else the reading that would decide.

    Parameters
    ----------
    survey : Survey
        What was said.
    readings : tuple of LengthReading
        Distances between stations.
    network : Network
        The same as a net.
    found : Assessment
        The adjusted net.
    points_m : ndarray, shape (n, 2)
        Adjusted stations. [m]
    high : float
        Upper limit of chi2; 0 without redundancy. [1]
    system : {"inch", "metric"}
        How lengths are printed.

    Returns
    -------
    judgement : Judgement
        Suspect and advice.

    References
    ----------
    Baarda-1968 (data snooping, separability); choice of the deciding reading: own derivation
    """
    advice: list[Advice] = []
    suspect: int | None = None
    rivals = doubted(found)
    if len(rivals) == 1:
        suspect = rivals[0]
        advice.append(_named(readings[suspect], network, points_m, suspect, system))
    elif rivals:
        advice.append(_undecided(survey, readings, network, found, points_m, rivals, system))
    elif found.dof > 0 and found.chi2 > high:
        advice.append(Advice("The readings scatter more than their tape should, but none stands out: measure all of them once more, "
                             "or give a larger standard deviation."))
    if found.dof == 0:
        advice.append(_unchecked(survey, readings, network, found, points_m))
    weak = int(np.argmax(found.sd_m))
    if found.sd_m[weak] > WEAK_M:
        advice.append(_weak(survey, readings, network, found, points_m, weak, system))
    return Judgement(suspect, tuple(advice))


def _without(network: Network, i: int) -> Network:
    """The net without one reading."""
    keep = np.arange(len(network.start)) != i
    return replace(network, start=network.start[keep], end=network.end[keep], measured_m=network.measured_m[keep],
                   sd_m=network.sd_m[keep], face=network.face[keep])


def _named(reading: LengthReading, network: Network, points_m: Floats, i: int, system: System) -> Advice:
    """Advice where one reading is singled out: what it would be if the others alone placed the stations."""
    others = _without(network, i)
    found = fit(others, points_m)
    a, b = reading.of.split("-", 1)
    should_m = float(predict(network, found.points_m, area_sign(points_m)).real[i])
    text = (f"The {reading.kind} {a} to {b} reads {format_length(reading.measured_m, system)}, but the other readings make it "
            f"{format_length(should_m, system)}: measure {a} to {b} again.")
    fits = others.dof < 1 or found.chi2 <= chi_square_quantile(0.975, others.dof)
    return Advice(text + ("" if fits else " More than one reading may be wrong."), "length", reading.of, again=True)


def _undecided(survey: Survey, readings: tuple[LengthReading, ...], network: Network, found: Assessment, points_m: Floats,
               rivals: tuple[int, ...], system: System) -> Advice:
    """Advice where several readings may be the wrong one."""
    best = _best_extras(_extras(survey, readings, network, found, points_m), found, rivals)
    least = min(rivals, key=lambda i: abs(_should_read_m(network, found, i) - readings[i].measured_m))
    off = format_length(abs(_should_read_m(network, found, least) - readings[least].measured_m), system)
    names = ", ".join(dict.fromkeys(readings[i].of.replace("-", " to ", 1) for i in rivals))
    text = (f"The readings do not fit one another: at least one is off by {off} or more, and these readings cannot tell which one "
            f"of {names}. ")
    first = best[0]
    if first.again is None:
        return first.told(text + f"Measure the tie {first.name} as well: that decides.")
    second = next((e for e in best[1:] if e.name != first.name), None)
    text += f"Measure {first.name} once more: a different length shows that this one was wrong"
    return first.told(text + (f"; if it comes out the same, take {second.name} once more." if second is not None else "."))


def _unchecked(survey: Survey, readings: tuple[LengthReading, ...], network: Network, found: Assessment, points_m: Floats) -> Advice:
    """Advice where no reading checks another: the tie that sees the most."""
    extras = [e for e in _extras(survey, readings, network, found, points_m) if e.again is None]
    text = "No reading checks another, so a misread tape would not show: "
    if not extras:
        return Advice(text + "take every reading a second time.")

    def shown(extra: _Extra) -> float:
        """Sum of squares of what each reading's error would show in the new tie."""
        share = found.design @ (found.cofactor @ extra.row)
        return float(np.abs(share).min()) + 1e-3 * float(np.abs(share).sum())

    best = max(extras, key=lambda e: round(shown(e), 9))
    return best.told(text + f"measure {best.name} as well.")


def _weak(survey: Survey, readings: tuple[LengthReading, ...], network: Network, found: Assessment, points_m: Floats, weak: int,
          system: System) -> Advice:
    """Advice where a station is held badly: the tie that mends it most."""
    ids = survey.stations
    text = (f"Station {ids[weak]} is known only to about {format_length(float(found.sd_m[weak]), system)}, since the readings meet "
            "there at too flat an angle")
    extras = [e for e in _extras(survey, readings, network, found, points_m) if e.again is None]
    if not extras:
        return Advice(text + ".")
    k = slice(2 * weak, 2 * weak + 2)

    def mended(extra: _Extra) -> float:
        """By how much the variance of the station falls."""
        qa = found.cofactor @ extra.row
        return float((qa[k] ** 2).sum() / (1.0 + extra.row @ qa))

    best = max(extras, key=lambda e: round(mended(e), 12))
    return best.told(text + f": measure {best.name} as well.")
