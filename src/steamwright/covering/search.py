"""Finding a good scheme: merge fields, choose how strips lie and who closes each joint, then cut and compare.

Work is counted in fields laid out, so the same job gives the same layout on every machine.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from steamwright.covering.bound import LONGEST_LEG_M
from steamwright.covering.model import LEVEL, UPRIGHT, FieldChoice, Scheme, SoFar, Strips
from steamwright.covering.pricing import Pricing
from steamwright.covering.scheme import asked_fold, directions, merged, parted, simple_scheme, stands_alone, wished_folds
from steamwright.room.model import Joint

FIRST_RATIOS = (1.0, 0.75, 0.5)
FINE_RATIOS = (1.0, 11 / 12, 5 / 6, 0.75, 2 / 3, 0.5, 1 / 3, 1 / 6)
SEED = 1
DEARER_RATIO = 0.005
HOPELESS_RATIO = 0.012
"""What is dearer by more once loosened fields are joined again will not get cheaper than before."""
SHORT_RATIO = 0.3
TRIES_RATIO = 0.5
GAIN_USD = 1e-6


class Search:
    """An anytime search over schemes; ``best`` is valid at every moment.

    Parameters
    ----------
    pricing : Pricing
        Prices fields and bands.
    effort_count : int
        How many fields may be laid out.
    tell : callable
        Told in words where the search is.
    start : Scheme, optional
        A scheme of the same surfaces, found before: it is mended where it does not fit and otherwise kept, so that a late
        reading changes no more than it has to.
    stop : callable, optional
        Says True when the search shall end from outside.
    lower_m2 : float, optional
        What any layout takes of the rolls at least, told beside the best so far. [m²]
    found : callable, optional
        Told as figures whenever something better is found.
    """

    def __init__(self, pricing: Pricing, effort_count: int, tell: Callable[[str], None],
                 start: Scheme | None = None, stop: Callable[[], bool] | None = None, lower_m2: float | None = None,
                 found: Callable[[SoFar], None] | None = None) -> None:
        self.lower_m2, self.found = lower_m2, found or (lambda _: None)
        self.bound_words = "" if lower_m2 is None else f"; no layout takes less than {lower_m2:.1f} m²"
        self.stop, self.stopped = stop or (lambda: False), False
        self.pricing, self.effort_count, self.tell = pricing, effort_count, tell
        self.terrain, self.wishes = pricing.terrain, pricing.wishes
        self.start = start if start is not None and all(pricing.field(c) is not None for c in start.fields) else None
        self.best = self.now = self.start or self._folded()

    def _folded(self) -> Scheme:
        """Every facet by itself, and folds wherever they may be."""
        folds = wished_folds(self.terrain, self.wishes, everywhere=True)
        fields = tuple(replace(c, strips=_shaped(c.strips.direction)) for c in simple_scheme(self.terrain, self.wishes).fields)
        return Scheme(fields, tuple(sorted(folds.items())))

    @property
    def spent(self) -> bool:
        """True when the effort is used up or the search is stopped."""
        if self.stop():
            self.stopped = True
        return self.stopped or self.pricing.laid_count >= self.effort_count

    def run(self) -> Scheme:
        """Improve until the effort is spent or nothing gets cheaper.

        Returns
        -------
        scheme : Scheme
            The best found.

        References
        ----------
        own derivation: greedy merging by joint length, then local improvement
        """
        self._mend()
        if self.start is not None:
            return self.best
        self._merge(sorted(self.terrain.joints.values(), key=lambda j: (-round(_length(j.start_m, j.end_m), 4), j.id)))
        for _ in range(3):
            before = self.pricing.cost_usd(self.best)
            self._close_joints(self.terrain.joints.values())
            self._strips(self.best.fields)
            self._part()
            if self.spent or before - self.pricing.cost_usd(self.best) < GAIN_USD:
                break
        self._mend()
        self._loosen()
        self._refine()
        return self.best

    def _loosen(self) -> None:
        """With what effort is left, take some fields apart and join them anew, again and again; a little dearer is kept at times."""
        chance = random.Random(SEED)
        began, tries = self.pricing.laid_count, 0
        while not self.spent and tries < TRIES_RATIO * self.effort_count:
            tries += 1
            kept, usd = self.now, self.pricing.cost_usd(self.now)
            loose = self._loosened(kept, chance)
            near = [j for j in self.terrain.joints.values() if loose.intersection(j.facets)]
            weight = {j.id: chance.uniform(SHORT_RATIO, 2.0 - SHORT_RATIO) for j in near}
            self._merge(sorted(near, key=lambda j: (-round(_length(j.start_m, j.end_m) * weight[j.id], 4), j.id)))
            if self.pricing.cost_usd(self.now) < usd * (1.0 + HOPELESS_RATIO):
                self._close_joints(near)
                self._strips([c for c in self.now.fields if c not in kept.fields])
            left = 1.0 - (self.pricing.laid_count - began) / max(self.effort_count - began, 1)
            if self.pricing.cost_usd(self.now) > usd * (1.0 + DEARER_RATIO * left * chance.random()):
                self.now = kept

    def _loosened(self, scheme: Scheme, chance: random.Random) -> frozenset[str]:
        """Take a field, or two that meet, apart into their facets, and tell which these are."""
        joints = [j for j in self.terrain.joints.values() if all(self.terrain.grounds[f].by_pieces for f in j.facets)]
        if not joints:
            return frozenset()
        joint = joints[int(chance.random() * len(joints))]
        taken = [c for c in scheme.fields if set(self._facets(c)) & set(joint.facets)]
        loose = frozenset(f for c in taken for f in self._facets(c))
        singles = []
        for facet in sorted(loose):
            allowed = directions(self.terrain, facet, self.wishes)
            singles.append(FieldChoice(facet, (), _shaped(allowed[int(chance.random() * len(allowed))])))
        self.now = replace(scheme, fields=(*(c for c in scheme.fields if c not in taken), *singles))
        for inner in (j for c in taken for j in c.inner):
            owners = self.terrain.joints[inner].facets
            self.now = self.now.with_fold(inner, owners[int(chance.random() * 2)])
        return loose

    def _mend(self) -> None:
        """Where a leg has no room, let the other side's sheets turn over, or a band: a valid layout comes before a cheap one."""
        for joint in sorted({j for d in self.pricing.drafts(self.best) for j, _ in d.torn}):
            owners = [f for f in self.terrain.joints[joint].facets if self.terrain.grounds[f].by_pieces]
            ways = [self.best.with_fold(joint, owner) for owner in (*owners, None)]
            self.best = min([self.best, *ways], key=self.pricing.cost_usd)
        self.now = self.best

    def _try(self, scheme: Scheme) -> bool:
        """Take a scheme if it is cheaper than the one at hand."""
        if self.spent or self.pricing.cost_usd(scheme) > self.pricing.cost_usd(self.now) - GAIN_USD:
            return False
        self.now = scheme
        if self.pricing.cost_usd(scheme) > self.pricing.cost_usd(self.best) - GAIN_USD:
            return True
        self.best = scheme
        usd, used_m2 = self.pricing.cost_usd(scheme), self.pricing.used_m2(scheme)
        self.tell(f"layout at {usd:.0f} usd, {used_m2:.1f} m² of roll{self.bound_words}")
        self.found(SoFar(used_m2, self.lower_m2))
        return True

    def _merge(self, joints: Sequence[Joint]) -> None:
        """Develop facets together over one joint after the other: each such joint saves its lap."""
        for joint in joints:
            if self.spent:
                return
            alone = any(stands_alone(self.terrain, f, self.wishes) for f in joint.facets)
            if alone or asked_fold(self.terrain, joint, self.wishes) is not None:
                continue
            owners = [next((c for c in self.now.fields if f in self._facets(c)), None) for f in joint.facets]
            first, second = owners
            if first is None or second is None or first == second:
                continue
            if len(self._facets(first)) < len(self._facets(second)):
                first, second = second, first
            found = merged(self.terrain, first, second, joint)
            if found is None:
                continue
            rest = tuple(c for c in self.now.fields if c not in (first, second))
            closed = self.now.with_fold(joint.id, None)
            for strips in _lies(first.strips):
                self._try(replace(closed, fields=(*rest, replace(found[0], strips=strips))))

    def _part(self) -> None:
        """Cut fields in two again where that has become cheaper."""
        for choice in self.now.fields:
            for joint_id in choice.inner:
                if choice not in self.now.fields:
                    break
                near, far = parted(self.terrain, choice, joint_id)
                rest = tuple(c for c in self.now.fields if c != choice)
                for owner in self.terrain.joints[joint_id].facets:
                    self._try(replace(self.now.with_fold(joint_id, owner), fields=(*rest, near, far)))

    def _refine(self) -> None:
        """With what effort is still left, lay every field anew with other first widths, cut in two at its folds, joined to others.

        Apart, two halves may want other strips and other folds at their edges than together, and together others than apart.
        """
        for choice in self.best.fields:
            self._anew(self.best, (choice,))
        for joint in sorted(self.terrain.joints.values(), key=lambda j: j.id):
            owners = [f for f in joint.facets if self.terrain.grounds[f].by_pieces]
            for owner in (*owners, None):
                on = [next((c for c in self.best.fields if f in self._facets(c)), None) for f in joint.facets]
                first, second = on
                if first is None or second is None or self.spent or asked_fold(self.terrain, joint, self.wishes) is not None:
                    continue
                rest = tuple(c for c in self.best.fields if c not in on)
                if first == second and joint.id in first.inner:
                    halves = parted(self.terrain, first, joint.id)
                    self._anew(replace(self.best.with_fold(joint.id, owner), fields=(*rest, *halves)), halves)
                elif first != second and not any(stands_alone(self.terrain, f, self.wishes) for f in joint.facets):
                    whole = merged(self.terrain, first, second, joint)
                    if whole is not None:
                        self._anew(replace(self.best.with_fold(joint.id, None), fields=(*rest, whole[0])), whole[:1])

    def _anew(self, scheme: Scheme, fields: Sequence[FieldChoice]) -> None:
        """From a scheme on, every way to lay the first of some fields, and the best found after each for the others and their joints."""
        first, others = fields[0], fields[1:]
        facets = {f for c in fields for f in self._facets(c)}
        near = [j for j in self.terrain.joints.values() if facets.intersection(j.facets)]
        ways = self._ways(first, FINE_RATIOS)
        for strips in (first.strips, *ways, *(replace(s, by_shape=not s.by_shape) for s in ways)):
            if self.spent:
                return
            laid = replace(first, strips=strips)
            self.now = replace(scheme, fields=tuple(laid if c == first else c for c in scheme.fields))
            self._close_joints(near)
            self._strips(others, FINE_RATIOS)
            self._close_joints(near)
            if self.pricing.cost_usd(self.now) < self.pricing.cost_usd(self.best) - GAIN_USD:
                self.best = self.now

    def _strips(self, choices: Sequence[FieldChoice], ratios: Sequence[float] = FIRST_RATIOS) -> None:
        """For each of some fields, the best direction, starting side and first width."""
        for choice in choices:
            current = choice
            for strips in self._ways(choice, ratios):
                other = replace(choice, strips=strips)
                fields = tuple(other if c == current else c for c in self.now.fields)
                if self._try(replace(self.now, fields=fields)):
                    current = other

    def _ways(self, choice: FieldChoice, ratios: Sequence[float] = FIRST_RATIOS) -> list[Strips]:
        """Other strips; of a field that one strip covers, legs and all, they have no side to begin at and no first width."""
        allowed = directions(self.terrain, choice.root, self.wishes)
        rules = self.pricing.rules
        one = {d: self.pricing.across_m(choice, d) + 2 * LONGEST_LEG_M <= rules.roll_width_m for d in (UPRIGHT, LEVEL)}
        ways: list[Strips] = []
        for d in allowed if not all(one.values()) else ():
            ways += [_shaped(d)] if one[d] else [_shaped(d, high, ratio) for ratio in ratios for high in (False, True)]
        return [w for w in ways if w != choice.strips]

    def _close_joints(self, joints: Iterable[Joint]) -> None:
        """For each joint that no field runs over: sheets of one side, of the other, or a band."""
        inner = self.now.inner_joints()
        for joint in joints:
            if joint.id in inner or asked_fold(self.terrain, joint, self.wishes) is not None:
                continue
            for owner in (*joint.facets, None):
                if owner is None or self.terrain.grounds[owner].by_pieces:
                    self._try(self.now.with_fold(joint.id, owner))

    def _facets(self, choice: FieldChoice) -> tuple[str, ...]:
        field = self.pricing.field(choice)
        return field.facets if field is not None else ()


def _shaped(direction: str, from_high: bool = False, first_ratio: float = 1.0) -> Strips:
    """Strips that are cut across wherever that takes less roll."""
    return Strips(direction, from_high, first_ratio, by_shape=True)


def _lies(strips: Strips) -> tuple[Strips, ...]:
    """The same strips and the other direction."""
    return strips, replace(strips, direction=LEVEL if strips.direction == UPRIGHT else UPRIGHT)


def _length(a: tuple[float, float, float], b: tuple[float, float, float]) -> float:
    return float(sum((p - q) ** 2 for p, q in zip(a, b, strict=True)) ** 0.5)
