"""Random rooms that are possible by construction, as job files in their parsed form.

``random_case(seed)`` draws one; nothing is drawn twice or thrown away. The kind of plan, the ceiling and the fixtures go
by the seed in turn, so that any long run of seeds holds its shares (``QUOTAS``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random
from typing import Any

import numpy as np
from shapely import Point, Polygon

from steamwright.geometry.frame import Floats

NAMES = "ABCDEFGHIJKLMNOP"
QUOTAS = {"reflex": 0.30, "not rectangular": 0.25, "ceiling not flat": 0.25, "bench and niche": 0.30, "penetration near a joint": 1.0}
CLEAR_M = 0.2
NEAR_M = 0.1524
"""Six inches."""
PLANS = ("rectangle", "ell", "convex", "tee", "rectangle", "zed", "skew ell", "rectangle", "convex", "cup",
         "rectangle", "ell", "quadrilateral", "notched", "triangle", "rectangle", "tee", "twelve", "convex", "skew ell")
CEILINGS = ("flat", "slope", "ridge", "flat", "rafter", "hip", "flat", "slope", "valley", "slope", "flat", "hip")


@dataclass(slots=True)
class Case:
    """A job and what it was drawn from; ``points_m`` are the stations in the order of the job."""

    job: dict[str, Any]
    points_m: Floats
    facts: set[str] = field(default_factory=set)


def random_job(seed: int) -> dict[str, Any]:
    """A random job as the mapping that a job file holds."""
    return random_case(seed).job


def metres(value: float) -> str:
    """A length as a person would type it, exact to the nanometre."""
    return f"{value:.9f} m"


def random_case(seed: int) -> Case:
    """A random job with the plan it was drawn from."""
    rng = Random(seed)
    kind = PLANS[seed % len(PLANS)]
    points = _square_up(_plan(kind, rng), rng)
    clockwise = seed % 4 == 1
    shape = _Room(points, kind, rng, seed)
    room = shape.furnish()
    if clockwise:
        points = points * np.array([1.0, -1.0])
        room = mirrored_room(room)
    job = {"name": f"random room {seed}", "survey": _survey(points), "room": room, "buildup": _buildups()}
    case = Case(job, points, shape.facts | {"penetration near a joint"})
    if clockwise:
        case.facts.add("clockwise")
    if _turns(points).min() < 0 < _turns(points).max():
        case.facts.add("reflex")
    if kind != "rectangle":
        case.facts.add("not rectangular")
    return case


def mirrored_room(room: dict[str, Any]) -> dict[str, Any]:
    """The same room seen in a mirror across the first wall: plan points and turns change their sign."""
    def plan(p: list[str]) -> list[str]:
        return [p[0], p[1][1:] if p[1].startswith("-") else "-" + p[1]]

    out = {k: [dict(x) for x in v] if isinstance(v, list) else dict(v) for k, v in room.items()}
    for row in (*out.get("penetration", []), *out.get("column", [])):
        if "at" in row:
            row["at"] = plan(row["at"])
        if "turned_deg" in row:
            row["turned_deg"] = -row["turned_deg"]
    if "apex_at" in out["ceiling"]:
        out["ceiling"]["apex_at"] = plan(out["ceiling"]["apex_at"])
    if isinstance(out["pan"].get("drain_at"), list):
        out["pan"]["drain_at"] = plan(out["pan"]["drain_at"])
    return out


def mirrored(case: Case) -> Case:
    """The mirror image of a case."""
    points = case.points_m * np.array([1.0, -1.0])
    return Case({**case.job, "survey": _survey(points), "room": mirrored_room(case.job["room"])}, points, case.facts)


def _plan(kind: str, rng: Random) -> list[tuple[float, float]]:
    """Corners, counter-clockwise. [m]"""
    u = rng.uniform
    w, d = u(1.9, 3.2), u(1.6, 2.8)
    if kind == "rectangle":
        return [(0, 0), (w, 0), (w, d), (0, d)]
    if kind in ("ell", "skew ell"):
        a, b = u(0.9, w - 0.8), u(0.8, d - 0.7)
        p = [(0, 0), (w, 0), (w, b), (a, b), (a, d), (0, d)]
        return p if kind == "ell" else [(x + u(-0.08, 0.08), y + u(-0.08, 0.08)) for x, y in p]
    if kind == "tee":
        w, d, a, b = w + 1.0, d + 0.3, u(0.9, 1.1), u(0.8, 1.0)
        c = u(0.6, w - a - 0.6)
        return [(0, 0), (w, 0), (w, b), (c + a, b), (c + a, d), (c, d), (c, b), (0, b)]
    if kind == "zed":
        a, b, c = u(1.7, 2.0), u(0.85, 1.0), u(0.6, 0.8)
        return [(0, 0), (a, 0), (a, b), (a + c, b), (a + c, 2 * b + 0.1), (c, 2 * b + 0.1), (c, b + 0.02), (0, b + 0.02)] if a - c > 0.8 \
            else [(0, 0), (a, 0), (a, d), (0, d)]
    if kind == "cup":
        w, d, arm, back = u(2.9, 3.4), u(2.0, 2.6), u(0.9, 1.05), u(0.9, 1.1)
        return [(0, 0), (w, 0), (w, d), (w - arm, d), (w - arm, back), (arm, back), (arm, d), (0, d)]
    if kind == "twelve":
        s, a = u(0.8, 1.0), u(0.7, 0.8)
        return [(a, 0), (a + s, 0), (a + s, a), (2 * a + s, a), (2 * a + s, a + s), (a + s, a + s), (a + s, 2 * a + s), (a, 2 * a + s),
                (a, a + s), (0, a + s), (0, a), (a, a)]
    if kind == "notched":
        c = u(0.5, 0.7)
        return [(0, 0), (w, 0), (w, d), (c, d), (c, d - c), (0, d - c)]
    if kind == "triangle":
        return [(0, 0), (u(2.6, 3.2), 0), (u(0.9, 1.8), u(2.2, 2.7))]
    if kind == "quadrilateral":
        return [(u(-0.1, 0.1) + x, u(-0.1, 0.1) + y) for x, y in ((0, 0), (w, 0), (w + u(-0.3, 0.3), d), (0, d))]
    n, r = rng.choice((5, 6, 7, 8)), u(1.3, 1.6)
    turn = [2 * math.pi * (k + u(-0.12, 0.12)) / n for k in range(n)]
    return [(r * math.cos(t), r * math.sin(t)) for t in turn]


def _square_up(points: list[tuple[float, float]], rng: Random) -> Floats:
    """Start at a random corner, which goes to the origin, the second onto the x axis."""
    p = np.asarray(points, float)
    p = np.roll(p, -rng.randrange(len(p)), axis=0)
    d = p[1] - p[0]
    c, s = d / np.hypot(*d)
    p = (p - p[0]) @ np.array([[c, -s], [s, c]])
    p[np.abs(p) < 1e-12] = 0.0
    return p


def _turns(p: Floats) -> Floats:
    d, e = p - np.roll(p, 1, axis=0), np.roll(p, -1, axis=0) - p
    return np.arctan2(d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0], np.einsum("ij,ij->i", d, e))


def _survey(p: Floats) -> dict[str, Any]:
    """Exact readings: all walls, and ties over two and over three stations, those from the first to all others."""
    n = len(p)
    pairs = [(i, (i + 1) % n) for i in range(n)]
    ties = {(i, (i + k) % n) for k in (2, 3) for i in range(n)} | {(0, k) for k in range(2, n - 1)}
    seen = {frozenset(q) for q in pairs}
    rows = []
    for a, b in [*pairs, *sorted(ties)]:
        if (a, b) not in pairs:
            if a == b or frozenset((a, b)) in seen:
                continue
            seen.add(frozenset((a, b)))
        kind = "wall" if (a, b) in pairs else "tie"
        rows.append({"kind": kind, "of": f"{NAMES[a]}-{NAMES[b]}", "is": f"{math.dist(p[a], p[b]):.12f} m"})
    return {"stations": list(NAMES[:n]), "reading": rows,
            "approximate": {NAMES[i]: [f"{x:.2f} m", f"{y:.2f} m"] for i, (x, y) in enumerate(p + 0.0)}}


def _buildups() -> list[dict[str, Any]]:
    layers = [{"material": "porcelain tile"}, {"material": "modified dry-set mortar", "thickness": "1/8 in"},
              {"material": "sheet membrane 0.5 perm"}, {"material": "modified dry-set mortar", "thickness": "1/16 in"},
              {"material": "cement board 1/2 in"}, {"material": "mineral wool batt"}]
    names = ["walls", "ceiling", "floor", "benches", "niches", "openings", "curbs", "half walls", "columns", "soffits"]
    return [{"name": "tile over cement board", "on": names, "layers": layers,
             "framing": {"kind": "wood stud", "depth": "3 1/2 in", "spacing": "16 in"}}]


class _Room:
    """Furnishes a counter-clockwise plan, keeping what it has used of every wall."""

    def __init__(self, points: Floats, kind: str, rng: Random, seed: int) -> None:
        self.p, self.kind, self.rng, self.seed = points, kind, rng, seed
        self.n = len(points)
        self.turns = _turns(points)
        self.length = [math.dist(points[i], points[(i + 1) % self.n]) for i in range(self.n)]
        self.shape = Polygon(points)
        self.facts: set[str] = set()
        self.used: set[int] = set()
        self.room: dict[str, Any] = {}
        self.low_m, self.ceiling_at = 2.2, lambda _p: 2.2

    def wall(self, i: int) -> str:
        return f"{NAMES[i]}-{NAMES[(i + 1) % self.n]}"

    def along(self, i: int) -> Floats:
        return (self.p[(i + 1) % self.n] - self.p[i]) / self.length[i]

    def inward(self, i: int) -> Floats:
        a = self.along(i)
        return np.array([-a[1], a[0]])

    def outer(self) -> list[int]:
        """Walls before which the whole room lies."""
        return [i for i in range(self.n) if ((self.p - self.p[i]) @ self.inward(i)).min() > -1e-9]

    def furnish(self) -> dict[str, Any]:
        self.room["ceiling"] = self._ceiling(CEILINGS[(self.seed * 7 + self.seed // 12) % len(CEILINGS)])
        if self.room["ceiling"]["shape"] != "flat":
            self.facts.add("ceiling not flat")
        benches = self._benches() if self.seed % 5 != 4 else False
        self._front()
        niche = self._niche() if self.seed % 7 != 6 else False
        if benches and niche:
            self.facts.add("bench and niche")
        if self.kind == "rectangle" and self.seed % 3 == 0:
            self._overhead()
        self.room["pan"] = self._pan()
        self._penetrations()
        return self.room

    def _ceiling(self, kind: str) -> dict[str, Any]:
        u, four = self.rng.uniform, self.kind == "rectangle"
        low, pitch = u(2.1, 2.3), u(0.168, 0.21)
        if kind == "hip" and self.turns.min() > 0:
            return self._hip(low)
        if kind == "ridge" and four:
            i = self.rng.randrange(4)
            half = self.length[(i + 1) % 4] / 2
            top = low + pitch * half
            self.low_m = low
            return {"shape": "ridge", "along": self.wall(i), "height": metres(top), "pitch": f"1:{1 / pitch:.9f}"}
        if kind == "rafter" and four:
            return self._rafter()
        if kind == "valley" and four:
            return self._valley(low)
        if kind == "flat":
            self.low_m = low
            self.ceiling_at = lambda _p: low
            return {"shape": "flat", "height": metres(low)}
        i = self.rng.choice(self.outer())
        n, foot = self.inward(i), self.p[i]
        pitch = float(f"{1 / pitch:.9f}") ** -1
        self.low_m = low
        self.ceiling_at = lambda q: low + pitch * float((q - foot) @ n)
        return {"shape": "slope", "low_wall": self.wall(i), "height": metres(low), "pitch": f"1:{1 / pitch:.9f}"}

    def _hip(self, low: float) -> dict[str, Any]:
        self.low_m = low
        w = sorted(self.length[:2])
        if self.kind == "rectangle" and w[1] - w[0] > 0.4 and self.seed % 2:
            return {"shape": "hip", "height": metres(low), "pitch": "2 in/ft"}
        c = self.shape.centroid
        runs = [float(self.inward(i) @ (np.array([c.x, c.y]) - self.p[i])) for i in range(self.n)]
        apex = low + max(runs) * self.rng.uniform(0.17, 0.2)
        return {"shape": "hip", "height": metres(low), "apex": metres(apex), "apex_at": [metres(c.x), metres(c.y)]}

    def _rafter(self) -> dict[str, Any]:
        """A knee wall, a slope up from it, and a slope back from the top so that nothing is level."""
        i = self.rng.randrange(4)
        a, b, c, d = (NAMES[(i + k) % 4] for k in range(4))
        run = self.length[(i + 1) % 4]
        knee, far = 1.5, 2.1
        break_at = run * self.rng.uniform(0.4, 0.55)
        top = far + 0.17 * (run - break_at)
        rise = (top - knee) / break_at
        over = knee + rise * run
        back = top + 0.17 * break_at
        self.low_m = 1.5
        return {"shape": "planes", "plane": [
            {"spots": [[a, metres(knee)], [b, metres(knee)], [c, metres(over)]]},
            {"spots": [[c, metres(far)], [d, metres(far)], [a, metres(back)]]}]}

    def _valley(self, low: float) -> dict[str, Any]:
        i = self.rng.randrange(4)
        a, b, c, d = (NAMES[(i + k) % 4] for k in range(4))
        side = self.length[(i + 1) % 4]
        high, under = low + 0.18 * side / 2, low - 0.18 * side / 2
        self.low_m = low
        return {"shape": "planes", "join": "highest", "plane": [
            {"spots": [[a, metres(high)], [b, metres(high)], [c, metres(under)]]},
            {"spots": [[c, metres(high)], [d, metres(high)], [a, metres(under)]]}]}

    def _bench_walls(self, depth: float) -> list[int]:
        """Outer walls between inside corners whose neighbours are long enough for a bench to end on them."""
        out = []
        for i in self.outer():
            k = (i + 1) % self.n
            room_left = []
            for corner, neighbour in ((i, (i - 1) % self.n), (k, k)):
                angle = math.pi - self.turns[corner]
                room_left.append(self.turns[corner] > 0.05 and depth / math.sin(angle) + CLEAR_M < self.length[neighbour])
            far = self.inward(i) * (depth + 0.35)
            strip = Polygon([self.p[i], self.p[k], self.p[k] + far, self.p[i] + far])
            deep = ((self.p - self.p[i]) @ self.inward(i)).max() > depth + 0.75
            front = self.length[i] + depth / math.tan(math.pi - self.turns[i]) * -1 + depth / math.tan(math.pi - self.turns[k]) * -1
            if all(room_left) and deep and front > 0.4 and strip.intersection(self.shape).area > 0.6 * strip.area:
                out.append(i)
        return out

    def _benches(self) -> bool:
        u, depth = self.rng.uniform, self.rng.uniform(0.36, 0.44)
        walls = self._bench_walls(depth)
        if not walls:
            return False
        i = self.rng.choice(walls)
        height, slope = u(0.42, 0.48), self.rng.choice(("0 in/ft", "1/4 in/ft"))
        row = {"name": "bench 1", "wall": self.wall(i), "depth": metres(depth), "height": metres(height), "slope": slope}
        self.used.add(i)
        rows = [row]
        k = (i + 1) % self.n
        if self.seed % 6 == 1 and self.length[i] > 1.4:
            row["to"] = metres(self.length[i] * 0.6)
        elif self.kind == "rectangle" and self.seed % 6 == 2 and self.length[i] > 1.5 and self.length[k] > 1.7:
            rows.append({**row, "name": "bench 2", "wall": self.wall(k)})
            self.used.add(k)
        elif self.kind == "rectangle" and self.seed % 6 == 3 and self.length[k] > 2.2:
            rows.append({**row, "name": "bench 2", "height": metres(height * 2), "depth": metres(depth)})
            row["depth"] = metres(2 * depth)
        self.room["bench"] = rows
        return True

    def _front(self) -> None:
        """A door, or a front of glass, with what stands before it."""
        free = [i for i in range(self.n) if i not in self.used and self.length[i] > 1.05]
        if not free or self.seed % 8 == 7:
            return
        ending = {"ending": "under the frame", "reach": "2 in", "sealed_by": "silicone sealant"}
        glass = [i for i in free if self.kind == "rectangle" and not {(i - 1) % 4, (i + 1) % 4} <= self.used]
        if glass and self.seed % 2 == 0:
            i = self.rng.choice(glass)
            self.room["wall"] = [{"side": self.wall(i), "kind": "glass", **ending}]
            if self.seed % 4 == 0:
                self.room["curb"] = [{"name": "curb", "wall": self.wall(i), "width": "4 1/2 in", "height": "5 in", "slope": "1/4 in/ft"}]
            elif not self.room.get("bench"):
                self.room["half_wall"] = [{"name": "half wall", "wall": self.wall(i), "thickness": "5 in", "height": "36 in",
                                           "to": metres(self.length[i] / 2)}]
            self.used.add(i)
            return
        i = self.rng.choice(free)
        width = self.rng.uniform(0.58, 0.62)
        beside = {(i - 1) % self.n, (i + 1) % self.n} & self.used
        if beside and self.length[i] < width + 0.45 + 2 * CLEAR_M:
            return
        first, last = CLEAR_M, self.length[i] - width - CLEAR_M
        if (i - 1) % self.n in self.used:
            first = min(last, 0.95)
        if (i + 1) % self.n in self.used:
            last = max(first, last - 0.75)
            first = min(first, last)
        start = first if (i + 1) % self.n in self.used else last if (i - 1) % self.n in self.used else self.rng.uniform(first, last)
        if self._hits_bench(i, start, width):
            return
        row = {"name": "door", "kind": "door", "wall": self.wall(i), "from": metres(start), "width": metres(width), "setback": "4 in",
               "bottom": self.rng.choice(("0 m", "0.3 m")), "top": metres(min(1.9, self.low_m - 0.22)), **ending}
        if row["bottom"] == "0 m":
            row["curbless"] = True
        self.room["opening"] = [row]
        self.used.add(i)

    def _hits_bench(self, i: int, start: float, width: float) -> bool:
        """Whether a bench on a neighbouring wall would end in an opening, or nearer to it than five inches."""
        a, b = (self.p[i] + self.along(i) * x for x in (start - 0.15, start + width + 0.15))
        edge = Polygon([a, b, b + self.inward(i) * 0.05, a + self.inward(i) * 0.05])
        return any(edge.intersects(g) for g in self._bench_shapes())

    def _bench_shapes(self) -> list[Polygon]:
        out = []
        for row in self.room.get("bench", []):
            i = NAMES.index(row["wall"][0])
            depth = self.inward(i) * float(row["depth"].split()[0])
            a, b = self.p[i] - self.along(i), self.p[(i + 1) % self.n] + self.along(i)
            out.append(Polygon([a, b, b + depth, a + depth]).intersection(self.shape.buffer(0.01)))
        return out

    def _niche(self) -> bool:
        walls = [i for i in range(self.n) if i not in self.used and self.length[i] > 0.3 + 2 * (CLEAR_M + 0.12)]
        if not walls or (self.low_m < 1.9 and self.kind != "rectangle"):
            return False
        i = self.rng.choice(walls)
        width = 0.3
        start = self.rng.uniform(CLEAR_M + 0.12, self.length[i] - width - CLEAR_M - 0.12)
        high = len(self.room.get("bench", [])) and any(float(b["height"].split()[0]) > 0.6 for b in self.room["bench"])
        bottom, height = (1.1, 0.3) if high and self.low_m > 1.7 else (0.95, 0.34)
        if high and self.low_m <= 1.7:
            return False
        self.room["niche"] = [{"name": "niche", "wall": self.wall(i), "from": metres(start), "bottom": metres(bottom),
                               "width": metres(width), "height": metres(height), "depth": "3 1/2 in",
                               "sill_slope": self.rng.choice(("0 in/ft", "1/4 in/ft"))}]
        self.used.add(i)
        return True

    def _overhead(self) -> None:
        """A soffit over a wall, or a column in the middle of a large room."""
        if self.room["ceiling"]["shape"] != "flat":
            return
        free = [i for i in range(4) if i not in self.used]
        if free:
            i = free[0]
            self.room["soffit"] = [{"name": "soffit", "wall": self.wall(i), "depth": "0.3 m", "underside": metres(self.low_m - 0.2)}]

    def _pan(self) -> dict[str, Any]:
        door_up = any(o["bottom"] != "0 m" for o in self.room.get("opening", []))
        if self.kind in ("rectangle", "convex") and not self.room.get("bench") and self.seed % 2:
            return {"membrane": "bonded", "drain": "point", "pitch": "1/4 in/ft", "flat": "10 in"}
        if self.kind in ("rectangle", "quadrilateral") and self.seed % 3 == 1 and not door_up:
            return {"membrane": "bonded", "drain": "line", "drain_wall": self.wall(0), "pitch": "1/4 in/ft"}
        return {"membrane": "liner", "drain": "point"}

    def _penetrations(self) -> None:
        """A pipe within six inches of a corner or, where no wall has a free end, of the wall's top; a light where it is level."""
        taken = {o["wall"] for o in self.room.get("opening", [])} | {w["side"] for w in self.room.get("wall", [])}
        glass = {w["side"] for w in self.room.get("wall", [])}
        free = [i for i in range(self.n) if self.wall(i) not in taken]
        inside = [i for i in free if self.turns[i] > 0.2 and self.wall(i - 1 if i else self.n - 1) not in glass] or free
        i = self.rng.choice(inside)
        tiers = any(float(b["height"].split()[0]) > 0.6 for b in self.room.get("bench", []))
        up = self.rng.uniform(1.05, 1.2) if tiers else self.rng.uniform(0.7, 1.2)
        rows = [{"name": "pipe", "kind": "pipe", "on": self.wall(i), "along": metres(self.rng.uniform(0.09, 0.14)), "up": metres(up),
                 "diameter": self.rng.choice(("1 in", "1 1/8 in", "3/4 in"))}]
        if self.room["ceiling"]["shape"] == "flat" and "soffit" not in self.room:
            q = self.shape.representative_point()
            if self.shape.exterior.distance(Point(q.x, q.y)) > 0.25:
                rows.append({"name": "light", "kind": "light", "on": "ceiling", "at": [metres(q.x), metres(q.y)], "diameter": "4 in"})
        self.room["penetration"] = rows
