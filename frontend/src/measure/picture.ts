// Where the stations stand on the screen: as sketched, then to scale as the lengths come, then as adjusted.
import { at, rows, textAt, type Draft, type Table } from "../job/draft";
import type { Survey } from "../api/types";
import { metres, type Units } from "./keypad";
import { apart, sketchOf, stationsOf, turnSign, type Point } from "./stations";

export type Points = ReadonlyMap<string, Point>;

/** The stations as well as they are known. */
export function planOf(draft: Draft, survey: Survey | null, units: Units): Points {
  const stations = stationsOf(draft);
  const sketch = sketchOf(draft, units) ?? ring(stations, draft);
  const told = new Map<string, Point>((survey?.report?.stations ?? []).map((s) => [s.id, [s.x_m, s.y_m]]));
  if (stations.length > 0 && stations.every((s) => told.has(s))) return turnedOnto(new Map(stations.map((s) => [s, told.get(s) as Point])), sketch);
  return scaled(draft, sketch, units);
}

/** Corners on a circle, for a job whose plan was never sketched. */
function ring(stations: readonly string[], draft: Draft): Map<string, Point> {
  const way = Object.values((at(draft, "survey.turns") ?? {}) as Table).filter((t) => t === "right").length * 2 > stations.length ? -1 : 1;
  return new Map(stations.map((name, i) => {
    const angle = -0.75 * Math.PI + (way * i * 2 * Math.PI) / stations.length;
    return [name, [1.5 * Math.cos(angle), 1.5 * Math.sin(angle)] as Point];
  }));
}

/** The sketch with every wall as long as it was taped; what is left over is shared out among the walls not taped yet. */
function scaled(draft: Draft, sketch: Points, units: Units): Points {
  const names = [...sketch.keys()];
  const points = names.map((name) => sketch.get(name) as Point);
  const n = names.length;
  const taped = names.map((a, i) => wallLength(draft, a, names[(i + 1) % n] as string, units));
  const drawn = points.map((p, i) => apart(p, points[(i + 1) % n] as Point));
  const known = taped.flatMap((t, i) => (t === undefined ? [] : [t / Math.max(drawn[i] ?? 1, 1e-6)]));
  if (known.length === 0) return sketch;
  const ratio = known.reduce((a, b) => a + b, 0) / known.length;
  const legs = points.map((p, i) => {
    const next = points[(i + 1) % n] as Point;
    const grown = (taped[i] ?? (drawn[i] as number) * ratio) / Math.max(drawn[i] as number, 1e-6);
    return [(next[0] - p[0]) * grown, (next[1] - p[1]) * grown] as const;
  });
  const gap = [legs.reduce((s, l) => s + l[0], 0), legs.reduce((s, l) => s + l[1], 0)] as const;
  const weights = legs.map((l, i) => (taped[i] === undefined || taped.every((t) => t !== undefined) ? Math.hypot(l[0], l[1]) : 0));
  const total = weights.reduce((a, b) => a + b, 0);
  const found = new Map<string, Point>();
  let [x, y] = points[0] as Point;
  names.forEach((name, i) => {
    found.set(name, [x, y]);
    const share = total > 0 ? (weights[i] as number) / total : 0;
    const leg = legs[i] as readonly [number, number];
    [x, y] = [x + leg[0] - gap[0] * share, y + leg[1] - gap[1] * share];
  });
  return found;
}

function wallLength(draft: Draft, a: string, b: string, units: Units): number | undefined {
  const read = rows(draft, "survey.reading").findLast((r) => r["of"] === `${a}-${b}` || r["of"] === `${b}-${a}`);
  const length = read === undefined ? undefined : metres(read["is"], units);
  return length !== undefined && length > 0.02 ? length : undefined;
}

/** Points turned and moved, never mirrored, so that they lie as the sketch does. */
function turnedOnto(points: Points, sketch: Points): Points {
  const names = [...points.keys()].filter((name) => sketch.has(name));
  if (names.length < 2) return points;
  const middle = (from: Points): Point => {
    const all = names.map((name) => from.get(name) as Point);
    return [all.reduce((s, p) => s + p[0], 0) / all.length, all.reduce((s, p) => s + p[1], 0) / all.length];
  };
  const [c, d] = [middle(points), middle(sketch)];
  let [along, across] = [0, 0];
  for (const name of names) {
    const [p, q] = [points.get(name) as Point, sketch.get(name) as Point];
    const [px, py, qx, qy] = [p[0] - c[0], p[1] - c[1], q[0] - d[0], q[1] - d[1]];
    along += px * qx + py * qy;
    across += px * qy - py * qx;
  }
  const turn = Math.atan2(across, along);
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  return new Map([...points].map(([name, [x, y]]) => [name, [d[0] + cos * (x - c[0]) - sin * (y - c[1]), d[1] + sin * (x - c[0]) + cos * (y - c[1])]]));
}

/** Whether the stations run clockwise as seen from above. */
export function runsClockwise(points: Points): boolean {
  return turnSign([...points.values()]) < 0;
}

export interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}

/** What to show: all points with a margin for letters and lengths; y runs down as on a screen. */
export function boxOf(points: Iterable<Point>, margin = 0.28): Box {
  const all = [...points];
  if (all.length === 0) return { x: -2, y: -2, width: 4, height: 4 };
  const [xs, ys] = [all.map((p) => p[0]), all.map((p) => -p[1])];
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const rim = Math.max(right - left, bottom - top, 0.5) * margin;
  return { x: left - rim, y: top - rim, width: right - left + 2 * rim, height: bottom - top + 2 * rim };
}

/** A point along a wall from its first-named station, and out from it into the room. */
export function onWall(points: Points, wall: string, along_m: number, out_m: number): Point | undefined {
  const [first, second] = wall.split("-") as [string, string | undefined];
  const [a, b] = [points.get(first), points.get(second ?? "")];
  if (a === undefined || b === undefined) return undefined;
  const length = Math.max(apart(a, b), 1e-6);
  const [ex, ey] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  const names = [...points.keys()];
  const forward = names[(names.indexOf(first) + 1) % names.length] === second;
  const into = runsClockwise(points) === forward ? -1 : 1;
  return [a[0] + ex * along_m - ey * into * out_m, a[1] + ey * along_m + ex * into * out_m];
}

/** A thing of the room as it is drawn on the plan. */
export interface Drawn {
  path: string;
  kind: "opening" | "block" | "niche" | "dot";
  name: string;
  outline: Point[];
}

const STANDING: Record<string, string> = { bench: "depth", curb: "width", half_wall: "thickness", soffit: "depth" };

/** Openings, benches, curbs, niches and holes, as far as they can be drawn yet. */
export function thingsOf(draft: Draft, points: Points, units: Units): Drawn[] {
  const found: Drawn[] = [];
  const strip = (path: string, kind: Drawn["kind"], thing: Table, from: number, to: number, near: number, far: number): void => {
    const wall = String(thing["wall"] ?? "");
    const corners = [onWall(points, wall, from, near), onWall(points, wall, to, near), onWall(points, wall, to, far), onWall(points, wall, from, far)];
    if (corners.every((c) => c !== undefined)) found.push({ path, kind, name: String(thing["name"] ?? ""), outline: corners });
  };
  const length = (wall: unknown): number => {
    const [a, b] = String(wall ?? "").split("-").map((s) => points.get(s));
    return a === undefined || b === undefined ? 0 : apart(a, b);
  };
  const say = (thing: Table, key: string): number | undefined => metres(thing[key], units);
  for (const [kind, deep] of Object.entries(STANDING)) {
    rows(draft, `room.${kind}`).forEach((t, i) => strip(`room.${kind}[${i}]`, "block", t, say(t, "from") ?? 0, say(t, "to") ?? length(t["wall"]), 0, say(t, deep) ?? 0.3));
  }
  rows(draft, "room.opening").forEach((t, i) => {
    const from = say(t, "from") ?? 0;
    strip(`room.opening[${i}]`, "opening", t, from, from + (say(t, "width") ?? 0.6), 0, -(say(t, "setback") ?? 0.09));
  });
  rows(draft, "room.niche").forEach((t, i) => {
    const from = say(t, "from") ?? 0;
    strip(`room.niche[${i}]`, "niche", t, from, from + (say(t, "width") ?? 0.3), 0, -(say(t, "depth") ?? 0.09));
  });
  rows(draft, "room.penetration").forEach((t, i) => {
    const along = say(t, "along");
    const here = along === undefined ? undefined : onWall(points, textAt(t, "on"), along, 0);
    if (here !== undefined) found.push({ path: `room.penetration[${i}]`, kind: "dot", name: String(t["name"] ?? ""), outline: [here] });
  });
  return found;
}
