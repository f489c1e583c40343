"""What a scheme costs: every field and every band by itself, remembered, so that a change prices only what it touches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from steamwright.buildup.catalog_model import BandItem
from steamwright.covering.bands import lay_band
from steamwright.covering.clashes import in_zone
from steamwright.covering.draft import Draft
from steamwright.covering.fields import Field, develop
from steamwright.covering.ground import Terrain
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.legs import cramped_m, unheld_m
from steamwright.covering.model import UPRIGHT, FieldChoice, Role, Scheme, Strips
from steamwright.covering.pins import NO_PINS, Pins, around, level_m
from steamwright.covering.sheets import SheetRules, lay_strips
from steamwright.covering.squaring import squared
from steamwright.cutting.best_cut import quick_length_m
from steamwright.cutting.rolls import Blank
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import FacetKind

TORN_USD_M = 1e5
UNMET_USD = 1e4
"""What a seam in a forbidden zone, or strips across a pinned seam, cost in a search: less than an open fold, more than any wish."""
DEAREST_PIECE_M2 = 1.0
Zones = tuple[tuple[float, float], ...]
OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)


@dataclass(frozen=True, slots=True)
class BandRules:
    """The bands, narrow ones first, and the longest that is cut. [m]"""

    bands: tuple[BandItem, ...]
    longest_m: float

    def over(self, leg_m: float) -> BandItem:
        """The narrowest band whose legs are long enough; ``choose_materials`` has seen that there is one."""
        return next(b for b in self.bands if b.width_m >= 2 * leg_m - 1e-9)


@dataclass(frozen=True, slots=True)
class Laid:
    """Drafts with the sizes of their blanks (length, width) and what it takes to set them."""

    drafts: tuple[Draft, ...]
    blanks_m: tuple[tuple[float, float], ...]
    work_usd: float


@dataclass(frozen=True, slots=True)
class _One:
    """A draft, kept so that its identity is not given to another, the same as it lies on its blank, and what it takes."""

    given: Draft
    draft: Draft
    blank_m: tuple[float, float]
    work_usd: float


def further_piece_m2(wishes: CoveringWishes) -> float:
    """What a further piece takes beside its material, in roll material: its minutes and those of its lap across a strip.

    Parameters
    ----------
    wishes : CoveringWishes
        Weights and width of the roll.

    Returns
    -------
    piece_m2 : float
        At most what a whole strip's width saves. [m²]

    References
    ----------
    own derivation
    """
    w = wishes.weights
    usd = (w.piece_min + w.lap_min_m * wishes.roll_width_m) / 60.0 * w.wage_usd_h
    return min(usd / w.membrane_usd_m2, DEAREST_PIECE_M2) if w.membrane_usd_m2 > 0.0 else DEAREST_PIECE_M2


class Pricing:
    """Lays out fields and bands on demand and prices them in dollars by a job's weights.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        Laps, weights, limits.
    rules : SheetRules
        Lap and roll of the sheets; its ``folds`` are replaced by those of the scheme at hand.
    band : BandRules
        The band.
    fixed : sequence of Draft
        Corner pieces and collars, which no scheme changes but which are cut from the same rolls.
    pins : Pins, optional
        What a person has fixed: everything is laid around it.
    """

    def __init__(self, terrain: Terrain, wishes: CoveringWishes, rules: SheetRules, band: BandRules, fixed: Sequence[Draft],
                 pins: Pins = NO_PINS) -> None:
        self.pins = pins
        self.terrain, self.wishes, self.rules, self.band = terrain, wishes, rules, band
        self.laid_count = 0
        self._ones: dict[int, _One] = {}
        self._fixed = self._laid(fixed)
        self._fields: dict[tuple[str, tuple[str, ...]], Field | None] = {}
        self._sheets: dict[tuple[FieldChoice, frozenset[tuple[str, str]]], Laid] = {}
        self._bands: dict[str, Laid] = {}
        self._costs: dict[Scheme, float] = {}
        self._across: dict[tuple[str, tuple[str, ...], str], float] = {}
        self._used_m2: dict[Scheme, float] = {}

    def field(self, choice: FieldChoice) -> Field | None:
        """The developed field of a choice; ``None`` where it does not lie flat."""
        key = choice.root, choice.inner
        if key not in self._fields:
            self._fields[key] = develop(self.terrain, choice.root, choice.inner)
        return self._fields[key]

    def sheets(self, choice: FieldChoice, scheme: Scheme) -> Laid:
        """The strips of a field under the folds of a scheme."""
        field = self.field(choice)
        assert field is not None
        facets = set(field.facets)
        key = choice, frozenset(f for f in scheme.folds if f[1] in facets)
        if key not in self._sheets:
            self.laid_count += 1
            overhead = any(self.terrain.grounds[f].facet.kind in OVERHEAD for f in field.facets)
            longest = min(self.wishes.longest_overhead_m if overhead else self.wishes.longest_m, self.rules.longest_m)
            rules = replace(self.rules, longest_m=longest, folds=key[1])
            across, along = self._zones(choice)
            ways = (self._laid(around(strips, self.pins, self.rules.lap_m)) for strips in
                    (lay_strips(self.terrain, field, rules, choice.strips, across, lines, along)
                     for lines in self.pins.line_sets(field.facets)))
            laid = min(ways, key=self._rough_usd)
            laid = self._with_unheld(laid, field, key[1])
            breaches = sum(len(in_zone(self.terrain, zone, choice, laid.drafts)) for zone in self.wishes.no_seam)
            if breaches or not self._seams_lie(field, choice.strips):
                laid = replace(laid, work_usd=laid.work_usd + UNMET_USD * max(breaches, 1))
            self._sheets[key] = laid
        return self._sheets[key]

    def _with_unheld(self, laid: Laid, field: Field, folds: frozenset[tuple[str, str]]) -> Laid:
        """Note where the sheets of a field end on a narrow surface over whose far side they do not turn."""
        held = {*folds, *((j, f) for j in field.inner for f in self.terrain.joints[j].facets)}
        torn = [t for j in sorted(field.inner) for t in unheld_m(self.terrain, self.terrain.joints[j], held)]
        if torn and laid.drafts:
            # other layouts have the same draft
            first = replace(laid.drafts[0], torn=[*laid.drafts[0].torn, *torn])
            laid = replace(laid, drafts=(first, *laid.drafts[1:]), work_usd=laid.work_usd + TORN_USD_M * sum(m for _, m in torn))
        return laid

    def bands(self, joint_id: str) -> Laid:
        """The bands over a joint."""
        if joint_id not in self._bands:
            joint = self.terrain.joints[joint_id]
            b = self.band.over(self.terrain.legs_m[joint_id])
            drafts = lay_band(self.terrain, joint, b.width_m / 2, self.rules.lap_m, self.band.longest_m, b.item, b.material)
            cramped = sum(cramped_m(self.terrain, joint, f) for f in joint.facets)
            if cramped > 0.0 and drafts:
                drafts[0].torn.append((joint_id, cramped))
            self._bands[joint_id] = self._laid(around(drafts, self.pins, self.rules.lap_m))
        return self._bands[joint_id]

    def drafts(self, scheme: Scheme) -> list[Draft]:
        """Sheets and bands of a scheme."""
        return [d for laid in self._parts(scheme) for d in laid.drafts]

    def cost_usd(self, scheme: Scheme) -> float:
        """Used roll area with the rolls really cut, laps and pieces by minutes, and a heavy price on open folds."""
        if scheme not in self._costs:
            parts = self._parts(scheme)
            if any(min(blank) > self.rules.roll_width_m + 1e-9 for p in parts for blank in p.blanks_m):
                self._costs[scheme] = float("inf")
                return self._costs[scheme]
            on: dict[float, list[tuple[float, float]]] = {self.rules.roll_width_m: list(self._fixed.blanks_m)}
            for p in parts:
                is_band = bool(p.drafts) and p.drafts[0].role is Role.BAND
                on.setdefault(self._band_width_m(p) if is_band else self.rules.roll_width_m, []).extend(p.blanks_m)
            used_m2 = sum(_used_m2(blanks, width, self.wishes.roll_length_m if width == self.rules.roll_width_m
                                   else self.wishes.band_roll_length_m) for width, blanks in on.items())
            self._used_m2[scheme] = used_m2
            self._costs[scheme] = used_m2 * self.wishes.weights.membrane_usd_m2 + sum(p.work_usd for p in parts)
        return self._costs[scheme]

    def nearest(self, scheme: Scheme, most: int, within_ratio: float) -> list[Scheme]:
        """Schemes tried that cost hardly more than one, cheap ones first, none that costs the same as another."""
        known = {round(self.cost_usd(scheme), 6)}
        found: list[Scheme] = []
        for other, usd in sorted(self._costs.items(), key=lambda c: c[1]):
            if len(found) >= most or usd > self.cost_usd(scheme) * (1.0 + within_ratio):
                break
            if round(usd, 6) not in known:
                known.add(round(usd, 6))
                found.append(other)
        return found

    def across_m(self, choice: FieldChoice, direction: str) -> float:
        """How wide a field is across its strips. [m]"""
        key = choice.root, choice.inner, direction
        if key not in self._across:
            field = self.field(choice)
            assert field is not None
            k = 0 if direction == UPRIGHT else 1
            boxes = [m.polygon(self.terrain.grounds[f].net).bounds for f, m in field.parts]
            self._across[key] = max(b[k + 2] for b in boxes) - min(b[k] for b in boxes)
        return self._across[key]

    def used_m2(self, scheme: Scheme) -> float:
        """Roll that a scheme takes; infinite where a piece is wider than the roll. [m²]"""
        self.cost_usd(scheme)
        return self._used_m2.get(scheme, float("inf"))

    def _band_width_m(self, laid: Laid) -> float:
        return next(b.width_m for b in self.band.bands if b.item == laid.drafts[0].item)

    def _parts(self, scheme: Scheme) -> list[Laid]:
        closed = scheme.inner_joints() | {j for j, _ in scheme.folds}
        return [self.sheets(f, scheme) for f in scheme.fields] + [self.bands(j) for j in self.terrain.joints if j not in closed]

    def _laid(self, drafts: Sequence[Draft]) -> Laid:
        rows = [self._one(d) for d in drafts]
        cut = [r for r in rows if not r.draft.moulded]
        return Laid(tuple(r.draft for r in rows), tuple(r.blank_m for r in cut), sum(r.work_usd for r in cut))

    def _one(self, draft: Draft) -> _One:
        """A draft as it lies on its blank, remembered: layouts share most of their drafts."""
        if id(draft) not in self._ones:
            lying = squared(draft, self.rules.roll_width_m, self.rules.longest_m)
            a, b = (0.0, 0.0) if draft.moulded else lying.size_m()
            self._ones[id(draft)] = _One(draft, lying, (a, b), 0.0 if draft.moulded else self._work_usd(lying, a, b))
        return self._ones[id(draft)]

    def _zones(self, choice: FieldChoice) -> tuple[Zones, Zones]:
        """Forbidden stretches across the strips of a field and along them."""
        upright = choice.strips.direction == UPRIGHT
        root = self.terrain.grounds[choice.root].facet
        said = [w for w in self.wishes.no_seam if root.called(w.on)]
        across, along = ((w for w in said if w.measured in names) for names in
                         (("across", "along" if upright else "up"), ("up" if upright else "along",)))
        return tuple((w.from_m, w.to_m) for w in across), tuple((w.from_m, w.to_m) for w in along)

    def _seams_lie(self, field: Field, strips: Strips) -> bool:
        """True where strips run along every seam that a person wants on the field."""
        turn = Motion.rotation(-np.pi / 2 if strips.direction == UPRIGHT else 0.0)
        return all(level_m(motion.then(turn), line) is not None for facet, motion in field.parts for line in self.pins.lines
                   if line.facet == facet and line.wish is not None)

    def _rough_usd(self, laid: Laid) -> float:
        """Blanks without the waste of cutting them."""
        return laid.work_usd + sum(a * b for a, b in laid.blanks_m) * self.wishes.weights.membrane_usd_m2

    def _work_usd(self, draft: Draft, length_m: float, width_m: float) -> float:
        """Minutes for the piece and for half its edge as lap."""
        w = self.wishes.weights
        overhead = any(self.terrain.grounds[p.facet].facet.kind in OVERHEAD for p in draft.parts)
        minutes = (w.piece_min + w.lap_min_m * (length_m + width_m)) * (w.overhead_ratio if overhead else 1.0)
        return minutes / 60.0 * w.wage_usd_h + sum(m for _, m in draft.torn) * TORN_USD_M


def _used_m2(blanks_m: list[tuple[float, float]], width_m: float, length_m: float) -> float:
    if not blanks_m:
        return 0.0
    return quick_length_m([Blank(str(k), a, b, True) for k, (a, b) in enumerate(blanks_m)], width_m, length_m) * width_m
