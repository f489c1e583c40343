// The covering of a plan, arranged for looking at: what lies on which facet, in which order, and how each joint is closed.
import type { Facet, Joint, Piece, Plan } from "../api/types";

export type Point = readonly [number, number];
export type Point3 = readonly [number, number, number];
export type Ring = readonly Point[];

/** The part of a piece on one facet; `part` is its letter where two are cut from one blank. `depth` counts the layers below it, `tone` tells neighbouring sheets apart. */
export interface Lying {
  piece: Piece;
  part: "" | "a" | "b";
  outline: Ring;
  holes: readonly Ring[];
  depth: number;
  tone: 0 | 1;
}

export interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

/** How a joint is closed: the facet whose sheet turns over it, or by a band, or by nothing that we lay. */
export type Closing = { by: "fold"; piece: string } | { by: "band"; piece: string } | { by: "none" };

export interface Neighbour {
  joint: Joint;
  other: Facet;
  length_m: number;
  closing: Closing;
}

export interface OnFacet {
  facet: Facet;
  box: Box;
  lying: readonly Lying[];
}

const ROLE_WORDS = { sheet: "sheet", band: "band", corner_piece: "corner piece", collar: "collar" } as const;

export function roleWords(piece: Piece): string {
  return ROLE_WORDS[piece.role];
}

/** The letter of a patch's part where two parts are cut from one blank. */
export function partOf(piece: Piece, patch: number): "" | "a" | "b" {
  const second = piece.second_at ?? 0;
  return second === 0 ? "" : patch < second ? "a" : "b";
}

export function ringOf(points: readonly (readonly number[])[]): Ring {
  return points.map((p) => [p[0] ?? 0, p[1] ?? 0] as const);
}

export function boxOf(rings: readonly Ring[]): Box {
  const box = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
  for (const [x, y] of rings.flat()) {
    box.x0 = Math.min(box.x0, x);
    box.y0 = Math.min(box.y0, y);
    box.x1 = Math.max(box.x1, x);
    box.y1 = Math.max(box.y1, y);
  }
  return box;
}

/** A point of a facet's plane in the room. */
export function lift(facet: Facet, s: number, t: number): Point3 {
  const { origin_m: o, u, v } = facet;
  const at = (k: number): number => (o[k] ?? 0) + s * (u[k] ?? 0) + t * (v[k] ?? 0);
  return [at(0), at(1), at(2)];
}

/** A point of the room in a facet's plane. */
export function drop(facet: Facet, point: readonly number[]): Point {
  const from = [0, 1, 2].map((k) => (point[k] ?? 0) - (facet.origin_m[k] ?? 0));
  const along = (axis: readonly number[]): number => from.reduce((sum, x, k) => sum + x * (axis[k] ?? 0), 0);
  return [along(facet.u), along(facet.v)];
}

/** Into the air. */
export function normalOf({ u, v }: Facet): Point3 {
  const [a = 0, b = 0, c = 0] = u;
  const [d = 0, e = 0, f = 0] = v;
  return [b * f - c * e, c * d - a * f, a * e - b * d];
}

export class CoveredRoom {
  readonly plan: Plan;
  readonly facets: ReadonlyMap<string, OnFacet>;
  readonly pieces: ReadonlyMap<string, Piece>;

  constructor(plan: Plan, instead: readonly Piece[] = []) {
    this.plan = plan;
    const replaced = new Map(instead.map((piece) => [piece.id, piece]));
    const pieces = plan.covering.pieces.map((piece) => replaced.get(piece.id) ?? piece);
    this.pieces = new Map(pieces.map((piece) => [piece.id, piece]));
    const ordered = [...pieces].sort((a, b) => a.place_no - b.place_no);
    const depth = depthsOf(ordered);
    const tone = tonesOf(ordered);
    this.facets = new Map(plan.room.facets.map((facet) => {
      const lying = ordered.flatMap((piece) => piece.patches.filter((patch) => patch.facet === facet.id).map((patch): Lying => ({
        piece, part: partOf(piece, piece.patches.indexOf(patch)), outline: ringOf(patch.outline_m), holes: patch.holes_m.map(ringOf), depth: depth.get(piece.id) ?? 0, tone: tone.get(piece.id) ?? 0,
      })));
      return [facet.id, { facet, lying, box: boxOf([ringOf(facet.outline_m), ...lying.map((one) => one.outline)]) }];
    }));
  }

  /** Facets that somebody covers, in the order of the plan. */
  get covered(): readonly OnFacet[] {
    return [...this.facets.values()].filter((one) => one.facet.covering_by !== "none");
  }

  neighbours(facet: string): readonly Neighbour[] {
    return this.plan.room.joints.filter((joint) => joint.facets.includes(facet)).map((joint) => {
      const other = joint.facets.find((id) => id !== facet) ?? facet;
      const length_m = Math.hypot(...[0, 1, 2].map((k) => (joint.end_m[k] ?? 0) - (joint.start_m[k] ?? 0)));
      return { joint, length_m, other: this.facets.get(other)?.facet as Facet, closing: this.closing(joint) };
    });
  }

  /** The band, or the sheet, that lies on both sides of a joint at its middle. */
  closing(joint: Joint): Closing {
    const [a = "", b = ""] = joint.facets;
    const middle = joint.start_m.map((x, k) => (x + (joint.end_m[k] ?? 0)) / 2);
    const here = (id: string): Set<string> => {
      const on = this.facets.get(id);
      if (on === undefined) return new Set();
      const point = drop(on.facet, middle);
      return new Set(on.lying.filter((one) => nearRing(point, one.outline) < 2e-3 || inside(point, one.outline)).map((one) => one.piece.id));
    };
    const there = here(b);
    const both = [...here(a)].filter((id) => there.has(id)).map((id) => this.pieces.get(id) as Piece);
    const band = both.find((piece) => piece.role === "band");
    const sheet = both.find((piece) => piece.role === "sheet");
    if (band !== undefined) return { by: "band", piece: band.id };
    return sheet !== undefined ? { by: "fold", piece: sheet.id } : { by: "none" };
  }
}

/** How many layers lie below each piece, at most. */
function depthsOf(ordered: readonly Piece[]): Map<string, number> {
  const depth = new Map<string, number>();
  for (const piece of ordered) depth.set(piece.id, 1 + Math.max(-1, ...piece.over.map((id) => depth.get(id) ?? 0)));
  return depth;
}

/** Two tones, so that a sheet seldom has the tone of one that it lies over. */
function tonesOf(ordered: readonly Piece[]): Map<string, 0 | 1> {
  const tone = new Map<string, 0 | 1>();
  for (const piece of ordered) {
    if (piece.role !== "sheet") continue;
    const below = piece.over.map((id) => tone.get(id)).filter((t) => t !== undefined);
    tone.set(piece.id, below.filter((t) => t === 0).length > below.filter((t) => t === 1).length ? 1 : 0);
  }
  return tone;
}

export function inside([x, y]: Point, ring: Ring): boolean {
  let odd = false;
  ring.forEach(([x0, y0], k) => {
    const [x1, y1] = ring[(k + 1) % ring.length] ?? [0, 0];
    if (y0 > y !== y1 > y && x < ((x1 - x0) * (y - y0)) / (y1 - y0) + x0) odd = !odd;
  });
  return odd;
}

export function nearRing(point: Point, ring: Ring): number {
  return Math.min(...ring.map((from, k) => nearSegment(point, from, ring[(k + 1) % ring.length] ?? from)));
}

function nearSegment([x, y]: Point, [x0, y0]: Point, [x1, y1]: Point): number {
  const length2 = (x1 - x0) ** 2 + (y1 - y0) ** 2;
  const share = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length2));
  return Math.hypot(x - x0 - share * (x1 - x0), y - y0 - share * (y1 - y0));
}

/** A place inside a ring that is far from its sides: where a number can stand. */
export function heartOf(outline: Ring, holes: readonly Ring[] = []): Point {
  const box = boxOf([outline]);
  let best: Point = [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2];
  let far = -Infinity;
  for (let i = 1; i < 12; i++) {
    for (let j = 1; j < 12; j++) {
      const point: Point = [box.x0 + ((box.x1 - box.x0) * i) / 12, box.y0 + ((box.y1 - box.y0) * j) / 12];
      if (!inside(point, outline) || holes.some((hole) => inside(point, hole))) continue;
      // a little dearer away from the middle, so that equal places do not jump
      const pull = 0.05 * Math.hypot(point[0] - (box.x0 + box.x1) / 2, point[1] - (box.y0 + box.y1) / 2);
      const room = Math.min(...[outline, ...holes].map((ring) => nearRing(point, ring))) - pull;
      if (room > far + 1e-9) [far, best] = [room, point];
    }
  }
  return best;
}
