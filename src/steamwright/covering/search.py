"""Finding a good scheme: merge fields, choose how strips lie and who closes each joint, then cut and compare.

Work is counted in fields laid out, so the same job gives the same layout on every machine.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

from steamwright.covering.model import LEVEL, UPRIGHT, FieldChoice, Scheme, Strips
from steamwright.covering.pricing import Pricing
from steamwright.covering.scheme import asked_fold, directions, merged, parted, simple_scheme, stands_alone, wished_folds
from steamwright.room.model import Joint

FIRST_RATIOS = (1.0, 0.75, 0.5)
RANDOM_RATIOS = (1.0, 1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)
SEED = 1
DEARER_RATIO = 0.02
TURN_RATIO = 0.4
MOVED_RATIO = 0.7
TRIES_RATIO = 4
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
    """

    def __init__(self, pricing: Pricing, effort_count: int, tell: Callable[[str], None],
                 start: Scheme | None = None, stop: Callable[[], bool] | None = None, lower_m2: float | None = None) -> None:
        self.bound_words = "" if lower_m2 is None else f"; no layout takes less than {lower_m2:.1f} m²"
        self.stop, self.stopped = stop or (lambda: False), False
        self.pricing, self.effort_count, self.tell = pricing, effort_count, tell
        self.terrain, self.wishes = pricing.terrain, pricing.wishes
        simple = simple_scheme(self.terrain, self.wishes)
        folded = Scheme(simple.fields, tuple(sorted(wished_folds(self.terrain, self.wishes, everywhere=True).items())))
        self.start = start if start is not None and all(pricing.field(c) is not None for c in start.fields) else None
        self.best = self.start or folded

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
        self._merge()
        for _ in range(3):
            before = self.pricing.cost_usd(self.best)
            self._close_joints()
            self._strips()
            self._part()
            if self.spent or before - self.pricing.cost_usd(self.best) < GAIN_USD:
                break
        self._mend()
        self._roam()
        return self.best

    def _roam(self) -> None:
        """With what effort is left, change the best at random; a little dearer steps are taken too, ever smaller ones."""
        chance = random.Random(SEED)
        now, began, tries = self.best, self.pricing.laid_count, 0
        while not self.spent and tries < TRIES_RATIO * self.effort_count:
            tries += 1
            there = self._neighbor(now, chance)
            if there is None or there == now:
                continue
            left = 1.0 - (self.pricing.laid_count - began) / max(self.effort_count - began, 1)
            usd = self.pricing.cost_usd(there)
            if usd <= self.pricing.cost_usd(now) + DEARER_RATIO * left * chance.random() * self.pricing.cost_usd(self.best):
                now = there
                self._try(there)

    def _neighbor(self, scheme: Scheme, chance: random.Random) -> Scheme | None:
        """A scheme that differs in one field or one joint; ``None`` where the change drawn is not possible."""
        kind = chance.random()
        choice = scheme.fields[int(chance.random() * len(scheme.fields))]
        rest = tuple(c for c in scheme.fields if c != choice)
        if kind < TURN_RATIO:
            allowed = directions(self.terrain, choice.root, self.wishes)
            strips = Strips(allowed[int(chance.random() * len(allowed))], chance.random() < 0.5,
                            RANDOM_RATIOS[int(chance.random() * len(RANDOM_RATIOS))], chance.random() < 0.5, chance.random() < 0.25)
            return replace(scheme, fields=(*rest, replace(choice, strips=strips)))
        joints = list(self.terrain.joints.values())
        joint = joints[int(chance.random() * len(joints))]
        if asked_fold(self.terrain, joint, self.wishes) is not None:
            return None
        if joint.id in scheme.inner_joints():
            whole = next(c for c in scheme.fields if joint.id in c.inner)
            near, far = parted(self.terrain, whole, joint.id)
            owner = joint.facets[int(chance.random() * 2)]
            apart = replace(scheme.with_fold(joint.id, owner), fields=(*(c for c in scheme.fields if c != whole), near, far))
            return self._moved(apart, (near, far)[chance.random() < 0.5], joint, chance) if chance.random() < MOVED_RATIO else apart
        if chance.random() < 0.5:
            owners = [f for f in joint.facets if self.terrain.grounds[f].by_pieces]
            return scheme.with_fold(joint.id, owners[int(chance.random() * len(owners))])
        return self._joined(scheme, joint, chance.random() < 0.5)

    def _moved(self, scheme: Scheme, part: FieldChoice, cut: Joint, chance: random.Random) -> Scheme | None:
        """A field that was parted from another joined to a third."""
        facets = self._facets(part)
        ways = [j for j in self.terrain.joints.values() if j != cut and (j.facets[0] in facets) != (j.facets[1] in facets)
                and asked_fold(self.terrain, j, self.wishes) is None]
        return self._joined(scheme, ways[int(chance.random() * len(ways))], chance.random() < 0.5) if ways else None

    def _joined(self, scheme: Scheme, joint: Joint, turned: bool) -> Scheme | None:
        """The fields on both sides of a joint as one."""
        if any(stands_alone(self.terrain, f, self.wishes) for f in joint.facets):
            return None
        first, second = (next((c for c in scheme.fields if f in self._facets(c)), None) for f in joint.facets)
        if first is None or second is None or first == second:
            return None
        if len(self._facets(first)) < len(self._facets(second)):
            first, second = second, first
        found = merged(self.terrain, first, second, joint)
        if found is None:
            return None
        rest = tuple(c for c in scheme.fields if c not in (first, second))
        strips = _lies(first.strips)[turned]
        return replace(scheme.with_fold(joint.id, None), fields=(*rest, replace(found[0], strips=strips)))

    def _mend(self) -> None:
        """Where a leg has no room, let the other side's sheets turn over, or a band: a valid layout comes before a cheap one."""
        for joint in sorted({j for d in self.pricing.drafts(self.best) for j, _ in d.torn}):
            owners = [f for f in self.terrain.joints[joint].facets if self.terrain.grounds[f].by_pieces]
            ways = [self.best.with_fold(joint, owner) for owner in (*owners, None)]
            self.best = min([self.best, *ways], key=self.pricing.cost_usd)

    def _try(self, scheme: Scheme) -> bool:
        """Take a scheme if it is cheaper."""
        if self.spent or self.pricing.cost_usd(scheme) > self.pricing.cost_usd(self.best) - GAIN_USD:
            return False
        self.best = scheme
        usd, used_m2 = self.pricing.cost_usd(scheme), self.pricing.used_m2(scheme)
        self.tell(f"layout at {usd:.0f} usd, {used_m2:.1f} m² of roll{self.bound_words}")
        return True

    def _merge(self) -> None:
        """Develop facets together over the longest joints first: each such joint saves its lap."""
        joints = sorted(self.terrain.joints.values(), key=lambda j: (-round(_length(j.start_m, j.end_m), 4), j.id))
        for joint in joints:
            if self.spent:
                return
            alone = any(stands_alone(self.terrain, f, self.wishes) for f in joint.facets)
            if alone or asked_fold(self.terrain, joint, self.wishes) is not None:
                continue
            owners = [next((c for c in self.best.fields if f in self._facets(c)), None) for f in joint.facets]
            first, second = owners
            if first is None or second is None or first == second:
                continue
            if len(self._facets(first)) < len(self._facets(second)):
                first, second = second, first
            found = merged(self.terrain, first, second, joint)
            if found is None:
                continue
            rest = tuple(c for c in self.best.fields if c not in (first, second))
            closed = self.best.with_fold(joint.id, None)
            for strips in _lies(first.strips):
                self._try(replace(closed, fields=(*rest, replace(found[0], strips=strips))))

    def _part(self) -> None:
        """Cut fields in two again where that has become cheaper."""
        for choice in self.best.fields:
            for joint_id in choice.inner:
                if choice not in self.best.fields:
                    break
                near, far = parted(self.terrain, choice, joint_id)
                rest = tuple(c for c in self.best.fields if c != choice)
                for owner in self.terrain.joints[joint_id].facets:
                    self._try(replace(self.best.with_fold(joint_id, owner), fields=(*rest, near, far)))

    def _strips(self) -> None:
        """For each field, the best direction, starting side and first width."""
        for choice in self.best.fields:
            current = choice
            for strips in (replace(choice.strips, by_shape=not choice.strips.by_shape), *self._ways(choice)):
                other = replace(choice, strips=strips)
                fields = tuple(other if c == current else c for c in self.best.fields)
                if self._try(replace(self.best, fields=fields)):
                    current = other

    def _ways(self, choice: FieldChoice) -> list[Strips]:
        allowed = directions(self.terrain, choice.root, self.wishes)
        ways = [Strips(d, high, ratio) for d in allowed for ratio in FIRST_RATIOS for high in (False, True)]
        return [w for w in ways if w != choice.strips]

    def _close_joints(self) -> None:
        """For each joint that no field runs over: sheets of one side, of the other, or a band."""
        inner = self.best.inner_joints()
        for joint in self.terrain.joints.values():
            if joint.id in inner or asked_fold(self.terrain, joint, self.wishes) is not None:
                continue
            for owner in (*joint.facets, None):
                if owner is None or self.terrain.grounds[owner].by_pieces:
                    self._try(self.best.with_fold(joint.id, owner))

    def _facets(self, choice: FieldChoice) -> tuple[str, ...]:
        field = self.pricing.field(choice)
        return field.facets if field is not None else ()


def _lies(strips: Strips) -> tuple[Strips, ...]:
    """The same strips and the other direction."""
    return strips, replace(strips, direction=LEVEL if strips.direction == UPRIGHT else UPRIGHT)


def _length(a: tuple[float, float, float], b: tuple[float, float, float]) -> float:
    return float(sum((p - q) ** 2 for p, q in zip(a, b, strict=True)) ** 0.5)
