"""Build-ups of one job side by side: what each lets through, keeps, warms and weighs, and the reasons that speak for each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from steamwright.buildup.model import BuildUp
from steamwright.errors import InputError
from steamwright.physics.mold import LIMIT_INDEX
from steamwright.vapor.case import Case, Group, groups_of
from steamwright.vapor.cautions import Caution, cautions_of
from steamwright.vapor.climate import Hours, climate_named, hours_of
from steamwright.vapor.framing import FramingHeat, framing_heat
from steamwright.vapor.hourly import BAND, Hourly, compile_march, hourly
from steamwright.vapor.hourly_wall import Question
from steamwright.vapor.material_functions import function_of
from steamwright.vapor.monthly import Monthly
from steamwright.vapor.outlet import Outlet, outlets
from steamwright.vapor.panels import THINNEST_M
from steamwright.vapor.report import BuildUpVapor, Limit, base_of, retarders_behind, sides_before, vapor_report
from steamwright.vapor.seams import Seams
from steamwright.vapor.steam_load import steam_load
from steamwright.vapor.steam_model import SteamLoad

# Differences smaller than this are not called differences. [1]
SAME = 0.05


@dataclass(frozen=True, slots=True)
class Variant:
    """One build-up in place of its base: properties, vapor, moisture, and the steam load of the room with it.

    ``between_studs`` says that R and U are those between steel studs; ``framing`` counts the studs in, before each other side.
    """

    buildup: str
    name: str
    base: str
    is_base: bool
    permeance_kg_pa_s_m2: float | None
    safety: float | None
    r_m2k_w: float
    u_w_m2k: float
    mass_kg_m2: float
    area_m2: float
    monthly: tuple[Monthly, ...]
    hourly: tuple[Hourly, ...]
    steam: SteamLoad
    between_studs: bool = False
    framing: tuple[FramingHeat, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def u_framed_w_m2k(self) -> float:
        """Transmittance with the studs, before the first other side; that of the layers where there are none. [W/(m2 K)]"""
        return self.framing[0].u_w_m2k if self.framing else self.u_w_m2k

    @property
    def coldest_surface_k(self) -> float | None:
        """Coldest steady surface while it steams, over all its other sides. [K]"""
        return min((m.surface_at_steam_k for m in self.monthly), default=None)


@dataclass(frozen=True, slots=True)
class Family:
    """A build-up and its alternatives on the same facets, with sentences on where they differ and why."""

    base: str
    variants: tuple[Variant, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything that `compare` sets side by side; ``hourly_years`` is 0 where the hourly part was left out."""

    limit: Limit
    seams: Seams | None
    families: tuple[Family, ...]
    cautions: tuple[Caution, ...]
    outlets: tuple[Outlet, ...]
    hourly_years: int
    climate: str
    assumptions: tuple[str, ...]


def compare(case: Case, years: int = 2, outside: Hours | None = None, workers: int = 2, tell: Callable[[str], None] | None = None,
            everything: bool = False, clock: Callable[[], float] | None = None) -> Comparison:  # fmt: skip
    """Set build-ups side by side.

    Parameters
    ----------
    case : Case
        The room with all build-ups of the job.
    years : int
        Years of the hourly method; 0 leaves it out.
    outside : Hours, optional
        A year of outside air; made of the job's climate if not given.
    workers : int
        Threads of the hourly method.
    tell : callable, optional
        Told in words what runs.
    everything : bool
        Show build-ups without an alternative too.
    clock : callable, optional
        Seconds, to tell how long the first run compiled.

    Returns
    -------
    comparison : Comparison
        Families in the order of the job.

    Raises
    ------
    InputError
        If no build-up has an alternative, or the climate is unknown.
    MissingPartError
        If the hourly method is asked for and its compiler is not installed.

    References
    ----------
    ISO-13788; EN-15026; own derivation
    """
    say = tell or (lambda _: None)
    families = [[b for b in case.buildups if base_of(b, case.buildups) is base] for base in case.buildups if base.alternative_to is None]
    chosen = families if everything else [f for f in families if len(f) > 1]
    if not chosen:
        raise InputError("no build-up of this job has an alternative", path="buildup",
                         hint='add one with alternative_to = "' + (case.buildups[0].name if case.buildups else "...") + '"')
    say("vapor month by month")
    report = vapor_report(case)
    groups = groups_of(case)
    marched: dict[str, list[Hourly]] = {}
    if years > 0:
        questions = _questions([b for f in chosen for b in f], case, groups)
        compile_march(say, clock)
        say(f"moisture hour by hour: {len(questions)} walls, {years} years")
        for row in hourly(questions, case.use, case.materials, outside or hours_of(climate_named(case.use.climate)), years, workers):
            marched.setdefault(row.buildup, []).append(row)
    say("steam load")
    found = tuple(_family(f, case, groups, report.buildups, marched) for f in chosen)
    source = f"hourly weather {outside.name!r} ({outside.source})" if outside is not None else f"climate {case.use.climate!r}"
    cautions = cautions_of(case.use.set_point_k)
    hot = outlets(case)
    return Comparison(report.limit, report.seams, found, cautions, hot, years, source, report.assumptions + _notes(years))


def _notes(years: int) -> tuple[str, ...]:
    if years == 0:
        return ("the hourly part was left out",)
    return ("the hourly method takes tile and joints as wet during a session and for hours after it, mortar as fresh and cement board as"
            " dampened at the start; each wall says what of sun, rain and leaking air it knows",
            "where material functions are estimated, walls are run as stated, more open and tighter: a band")


def _questions(buildups: list[BuildUp], case: Case, groups: tuple[Group, ...]) -> list[Question]:
    rows = []
    for b in buildups:
        guessed = any(function_of(layer.material, case.materials[layer.material].like).estimated for layer in b.layers
                      if layer.thickness_m >= THINNEST_M)
        rows += [Question(b, side, retarder, spread) for side in sides_before(b, case, groups) for retarder in retarders_behind(b)
                 for spread in (BAND if guessed else BAND[:1])]  # fmt: skip
    return rows


def _family(buildups: list[BuildUp], case: Case, groups: tuple[Group, ...], vapor: tuple[BuildUpVapor, ...],
            marched: dict[str, list[Hourly]]) -> Family:  # fmt: skip
    base = buildups[0] if buildups[0].alternative_to is None else base_of(buildups[0], case.buildups)
    ordered = [base] + [b for b in buildups if b is not base]
    area = sum(g.area_m2 for g in groups if g.buildup == base.id)
    rows = []
    for b in ordered:
        said = next(v for v in vapor if v.buildup == b.id)
        sides = (framing_heat(b, side, case.use, case.materials) for side in sides_before(b, case, groups))
        framed = tuple(f for f in sides if f is not None)
        rows.append(Variant(b.id, b.name, base.id, b is base, b.membrane_permeance_kg_pa_s_m2, said.safety, b.r_m2k_w, said.u_w_m2k,
                            b.mass_kg_m2, area, said.monthly, tuple(marched.get(b.id, ())), steam_load(with_buildup(case, base, b)),
                            b.framing_kind.startswith("steel"), framed, b.notes))
    return Family(base.id, tuple(rows), _reasons(rows))


def with_buildup(case: Case, base: BuildUp, other: BuildUp) -> Case:
    """The same room with another build-up where one lies; surfaces stay where they are.

    Parameters
    ----------
    case : Case
        The room.
    base : BuildUp
        What lies there.
    other : BuildUp
        What is to lie there.

    Returns
    -------
    case : Case
        The changed room, for heat and vapor: the difference in thickness moves no facet.

    References
    ----------
    own derivation
    """
    if other is base:
        return case
    facets = tuple(replace(f, buildup=other.id) if f.buildup == base.id else f for f in case.finished.facets)
    return replace(case, finished=replace(case.finished, facets=facets))


def _reasons(rows: list[Variant]) -> tuple[str, ...]:
    """Sentences on differences that can be told apart, each with its numbers; where there is none, none is made up."""
    first, found = rows[0], []
    for other in rows[1:]:
        if first.steam.generator_w and other.steam.generator_w:
            found += _less("needs a smaller generator", other, first, other.steam.generator_w.stirred / 1e3,
                           first.steam.generator_w.stirred / 1e3, "kW")
        found += _less("condenses less steam while it is held", other, first, other.steam.condensate_kg_h.stirred,
                       first.steam.condensate_kg_h.stirred, "kg/h")
        if (other.framing and first.framing) or other.between_studs == first.between_studs:
            found += _less("loses less heat when steady, studs counted", other, first, other.u_framed_w_m2k, first.u_framed_w_m2k,
                           "W/(m² K)")
        else:
            steel = other if other.between_studs else first
            found.append(f"R and U do not compare: those of {steel.name} hold between its steel studs, which lower R by a third to a half")
        found += _less("is lighter", other, first, other.mass_kg_m2, first.mass_kg_m2, "kg/m²")
        found += _less("has the tighter membrane", other, first, other.permeance_kg_pa_s_m2, first.permeance_kg_pa_s_m2, "kg/(Pa s m²)")
        found += _drying(other, first)
    for v in rows:
        bad = [h for h in v.hourly if h.mold_index >= LIMIT_INDEX]
        if bad:
            worst = max(bad, key=lambda h: h.mold_index)
            found.append(f"{v.name}: mold index {worst.mold_index:.1f}, over {LIMIT_INDEX:g}, to {worst.side}"
                         f"{', with a retarder behind' if worst.retarder else ''}")
        found += [f"{v.name}: {p.name} {'stays' if p.verdict == 'fail' else 'can fall'} under the dew point of the vapor there, to {f.side}"
                  for f in v.framing for p in f.places if p.verdict != "pass"]
        wetter = sorted({f"{h.side}{', with a retarder behind' if h.retarder else ''}" for h in v.hourly if not h.steady})
        if wetter:
            found.append(f"{v.name}: still gets wetter in the last year to {'; '.join(wetter)}")
    return tuple(found)


def _less(what: str, a: Variant, b: Variant, of_a: float | None, of_b: float | None, unit: str) -> list[str]:
    if of_a is None or of_b is None or abs(of_a - of_b) <= SAME * max(abs(of_a), abs(of_b)):
        return []
    better, worse, low, high = (a, b, of_a, of_b) if of_a < of_b else (b, a, of_b, of_a)
    return [f"{better.name} {what} than {worse.name}: {low:.3g} against {high:.3g} {unit}"]


def _drying(a: Variant, b: Variant) -> list[str]:
    found = []
    for m in a.monthly:
        n = next((x for x in b.monthly if x.side == m.side and x.retarder == m.retarder), None)
        if n is None or m.dries_out == n.dries_out:
            continue
        dry, wet = (a, b) if m.dries_out else (b, a)
        where = f"{m.side}{', with a retarder behind' if m.retarder else ''}"
        found.append(f"by the monthly method {dry.name} dries out within a year to {where}, {wet.name} does not")
    return found
