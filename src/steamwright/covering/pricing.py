"""What a scheme costs: every field and every band by itself, remembered, so that a change prices only what it touches."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.covering.bands import lay_band
from steamwright.covering.draft import Draft
from steamwright.covering.fields import Field, develop
from steamwright.covering.ground import Terrain
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import FieldChoice, Scheme
from steamwright.covering.sheets import SheetRules, lay_strips
from steamwright.room.model import FacetKind

TORN_USD_M = 1e5
OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)


@dataclass(frozen=True, slots=True)
class BandRules:
    """The band: half its width, and the longest one that is cut. [m]"""

    leg_m: float
    longest_m: float
    item: str
    material: str


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
    """

    def __init__(self, terrain: Terrain, wishes: CoveringWishes, rules: SheetRules, band: BandRules) -> None:
        self.terrain, self.wishes, self.rules, self.band = terrain, wishes, rules, band
        self.laid_count = 0
        self._fields: dict[tuple[str, tuple[str, ...]], Field | None] = {}
        self._drafts: dict[tuple[FieldChoice, frozenset[tuple[str, str]]], list[Draft]] = {}
        self._costs: dict[tuple[FieldChoice, frozenset[tuple[str, str]]], float] = {}
        self._bands: dict[str, list[Draft]] = {}

    def field(self, choice: FieldChoice) -> Field | None:
        """The developed field of a choice; ``None`` where it does not lie flat."""
        key = choice.root, choice.inner
        if key not in self._fields:
            self._fields[key] = develop(self.terrain, choice.root, choice.inner)
        return self._fields[key]

    def sheets(self, choice: FieldChoice, scheme: Scheme) -> list[Draft]:
        """The strips of a field under the folds of a scheme."""
        key = choice, self._folds_of(choice, scheme)
        if key not in self._drafts:
            field = self.field(choice)
            assert field is not None
            self.laid_count += 1
            zones = tuple((w.from_m, w.to_m) for w in self.wishes.no_seam if w.on == self.terrain.grounds[choice.root].facet.surface)
            overhead = any(self.terrain.grounds[f].facet.kind in OVERHEAD for f in field.facets)
            longest = self.wishes.longest_overhead_m if overhead else self.wishes.longest_m
            r = self.rules
            rules = SheetRules(r.lap_m, r.roll_width_m, min(longest, r.longest_m), r.item, r.material, key[1], r.seam_clear_m)
            self._drafts[key] = lay_strips(self.terrain, field, rules, choice.strips, zones)
        return self._drafts[key]

    def bands(self, joint_id: str) -> list[Draft]:
        """The bands over a joint."""
        if joint_id not in self._bands:
            b = self.band
            joint = self.terrain.joints[joint_id]
            self._bands[joint_id] = lay_band(self.terrain, joint, b.leg_m, self.rules.lap_m, b.longest_m, b.item, b.material)
        return self._bands[joint_id]

    def drafts(self, scheme: Scheme) -> list[Draft]:
        """Sheets and bands of a scheme."""
        closed = scheme.inner_joints() | {j for j, _ in scheme.folds}
        sheets = [d for f in scheme.fields for d in self.sheets(f, scheme)]
        return sheets + [d for j in self.terrain.joints if j not in closed for d in self.bands(j)]

    def cost_usd(self, scheme: Scheme) -> float:
        """Material by blank area, laps and pieces by minutes; what rolls leave over is priced elsewhere."""
        closed = scheme.inner_joints() | {j for j, _ in scheme.folds}
        sheets = sum(self.field_cost_usd(f, scheme) for f in scheme.fields)
        return sheets + sum(self.band_cost_usd(j) for j in self.terrain.joints if j not in closed)

    def field_cost_usd(self, choice: FieldChoice, scheme: Scheme) -> float:
        """Cost of one field under the folds of a scheme."""
        key = choice, self._folds_of(choice, scheme)
        if key not in self._costs:
            self._costs[key] = sum(self.draft_cost_usd(d) for d in self.sheets(choice, scheme))
        return self._costs[key]

    def band_cost_usd(self, joint_id: str) -> float:
        """Cost of the bands over a joint."""
        return sum(self.draft_cost_usd(d) for d in self.bands(joint_id))

    def draft_cost_usd(self, draft: Draft) -> float:
        """Cost of one piece: its blank, half its edge as lap, and itself."""
        w = self.wishes.weights
        length, width = draft.size_m()
        overhead = any(self.terrain.grounds[p.facet].facet.kind in OVERHEAD for p in draft.parts)
        minutes = (w.piece_min + w.lap_min_m * (length + width)) * (w.overhead_ratio if overhead else 1.0)
        return length * width * w.membrane_usd_m2 + minutes / 60.0 * w.wage_usd_h + sum(m for _, m in draft.torn) * TORN_USD_M

    def _folds_of(self, choice: FieldChoice, scheme: Scheme) -> frozenset[tuple[str, str]]:
        field = self.field(choice)
        facets = set(field.facets) if field is not None else set()
        return frozenset(f for f in scheme.folds if f[1] in facets)
