// Corners tapped on a grid, and the stations that they become: A, B, C … clockwise as seen from above.
import { isTable, rows, type Draft, type Json } from "../job/draft";
import { metres, type Units } from "./keypad";

export type Point = readonly [number, number];

const STRAIGHTENED_DEG = 14;
const NEAR_M = 0.02;

/** The spacing of the grid: half a foot, or ten centimetres. */
export function gridStep_m(units: Units): number {
  return units === "metric" ? 0.1 : 0.1524;
}

/** A tap moved onto the grid, and in line with the corner before where it nearly is. */
export function snapped(tap: Point, before: Point | undefined, step_m: number): Point {
  const onto = (v: number): number => Math.round(Math.round(v / step_m) * step_m * 1e4) / 1e4;
  let [x, y] = tap;
  if (before !== undefined) {
    const off = (Math.atan2(y - before[1], x - before[0]) * 180) / Math.PI;
    const turned = Math.abs(off - Math.round(off / 90) * 90);
    if (turned < STRAIGHTENED_DEG) {
      if (Math.round(off / 90) % 2 === 0) y = before[1];
      else x = before[0];
    }
  }
  return [onto(x), onto(y)];
}

/** Twice the signed area; negative where the corners run clockwise. */
export function turnSign(points: readonly Point[]): number {
  return points.reduce((sum, [x, y], i) => {
    const [nextX, nextY] = points[(i + 1) % points.length] as Point;
    return sum + x * nextY - nextX * y;
  }, 0);
}

/** The same corners run through clockwise, the first staying the first. */
export function clockwise(points: readonly Point[]): Point[] {
  const [first, ...rest] = points;
  if (first === undefined || turnSign(points) <= 0) return [...points];
  return [first, ...rest.reverse()];
}

/** Why corners cannot be a room, in words; empty if they can. */
export function sketchFault(points: readonly Point[]): string {
  const n = points.length;
  if (n < 3) return "A room has at least three corners";
  for (let i = 0; i < n; i += 1) {
    for (let j = i + 1; j < n; j += 1) {
      if (apart(points[i] as Point, points[j] as Point) < NEAR_M) return `Two corners lie on one another: move one of them`;
      const neighbours = j === i + 1 || (i === 0 && j === n - 1);
      if (!neighbours && crosses(points[i] as Point, points[(i + 1) % n] as Point, points[j] as Point, points[(j + 1) % n] as Point)) {
        return "Walls of the sketch cross: tap the corners in order round the room";
      }
    }
  }
  return Math.abs(turnSign(points)) < 1e-3 ? "All corners lie in one line" : "";
}

export function apart(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

function crosses(a: Point, b: Point, c: Point, d: Point): boolean {
  const side = (p: Point, q: Point, r: Point): number => Math.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]));
  return side(a, b, c) !== side(a, b, d) && side(c, d, a) !== side(c, d, b);
}

/** A to Z, then A1 to Z1 and so on. */
export function stationName(index: number): string {
  const turn = Math.floor(index / 26);
  return String.fromCharCode(65 + (index % 26)) + (turn > 0 ? String(turn) : "");
}

/** The survey of a sketch, without readings. */
export function surveyOf(points: readonly Point[]): Draft {
  const ordered = clockwise(points);
  const names = ordered.map((_, i) => stationName(i));
  return { face: "framing", stations: names, approximate: placed(names, ordered), reading: [] };
}

function placed(names: readonly string[], points: readonly Point[]): Draft {
  const [x0, y0] = points[0] ?? [0, 0];
  return Object.fromEntries(names.map((name, i) => {
    const [x, y] = points[i] as Point;
    return [name, [said(x - x0), said(y - y0)]];
  }));
}

function said(length_m: number): string {
  return `${Math.round(length_m * 1e4) / 1e4 + 0} m`;
}

export function stationsOf(draft: Draft): string[] {
  const survey = draft["survey"];
  const stations = isTable(survey) ? survey["stations"] : undefined;
  return Array.isArray(stations) ? stations.filter((s): s is string => typeof s === "string") : [];
}

/** Walls in order round the room: `A-B`. */
export function wallsOf(draft: Draft): string[] {
  const stations = stationsOf(draft);
  return stations.length < 3 ? [] : stations.map((s, i) => `${s}-${stations[(i + 1) % stations.length]}`);
}

/** Where the sketch puts the stations; undefined unless it says so for every one. */
export function sketchOf(draft: Draft, units: Units): Map<string, Point> | undefined {
  const survey = draft["survey"];
  const said = isTable(survey) ? survey["approximate"] : undefined;
  const found = new Map<string, Point>();
  for (const name of stationsOf(draft)) {
    const pair = isTable(said) ? said[name] : undefined;
    const [x, y] = Array.isArray(pair) ? pair.map((v) => (v === 0 ? 0 : metres(v, units))) : [];
    if (x === undefined || y === undefined) return undefined;
    found.set(name, [x, y]);
  }
  return found.size < 3 ? undefined : found;
}

/** Put a corner into a wall, half-way along it. Letters that stand on the walls already stay; the new one takes the next free one. */
export function addStation(draft: Draft, after: string, units: Units): string | null {
  const stations = stationsOf(draft);
  const i = stations.indexOf(after);
  const survey = draft["survey"];
  if (i < 0 || !isTable(survey)) return null;
  const next = stations[(i + 1) % stations.length] as string;
  let k = stations.length;
  while (stations.includes(stationName(k))) k += 1;
  const name = stationName(k);
  const sketch = sketchOf(draft, units);
  survey["stations"] = [...stations.slice(0, i + 1), name, ...stations.slice(i + 1)];
  if (sketch !== undefined && isTable(survey["approximate"])) {
    const [a, b] = [sketch.get(after) as Point, sketch.get(next) as Point];
    survey["approximate"][name] = [said((a[0] + b[0]) / 2), said((a[1] + b[1]) / 2)];
  }
  // what was taped along the old wall still runs from corner to corner, past the new one
  for (const reading of rows(draft, "survey.reading")) {
    if (reading["kind"] === "wall" && (reading["of"] === `${after}-${next}` || reading["of"] === `${next}-${after}`)) reading["kind"] = "tie";
  }
  return name;
}

/** Take a corner out, with all that was read to it. */
export function removeStation(draft: Draft, name: string): void {
  const survey = draft["survey"];
  const stations = stationsOf(draft);
  if (!isTable(survey) || stations.length <= 3) return;
  const left = stations.filter((s) => s !== name);
  survey["stations"] = left;
  for (const table of [survey["approximate"], survey["turns"]]) if (isTable(table)) delete table[name];
  survey["reading"] = rows(draft, "survey.reading").filter((r) => !String(r["of"] ?? "").split("-").includes(name));
  const neighbours = left.map((s, i) => [`${s}-${left[(i + 1) % left.length]}`, `${left[(i + 1) % left.length]}-${s}`]).flat();
  for (const reading of rows(draft, "survey.reading")) {
    if (reading["kind"] === "diagonal" && neighbours.includes(String(reading["of"]))) reading["kind"] = "tie";
  }
}

/** Move a corner of the sketch. */
export function moveStation(draft: Draft, name: string, to: Point): void {
  const survey = draft["survey"];
  if (isTable(survey) && isTable(survey["approximate"])) survey["approximate"][name] = [said(to[0]), said(to[1])] as Json;
}
