// A covered room as a handful of merged meshes: one for each kind of piece, whatever the number of facets.
import type { Facet } from "../../api/types";
import { lift, normalOf, type CoveredRoom, type Lying, type Point, type Ring } from "../room";

export type Kind = "sheet_a" | "sheet_b" | "band" | "corner" | "collar" | "other" | "opening" | "faint";
export const KINDS: readonly Kind[] = ["sheet_a", "sheet_b", "band", "corner", "collar", "other", "opening", "faint"];

/** Triangles of one kind and lines of the whole room, with the facet that each vertex belongs to. */
export interface Part {
  positions: number[];
  uvs: number[];
  facetOf: number[];
  indices: number[];
}

export interface Lines {
  positions: number[];
  facetOf: number[];
}

export interface Parts {
  facets: readonly Facet[];
  meshes: ReadonlyMap<Kind, Part>;
  outlines: Lines;
  edges: Lines;
  laps: Lines;
  /** Middle of the room, and how far its farthest corner is. */
  middle: readonly [number, number, number];
  reach: number;
}

/** So that what lies over is seen over what lies under it, on paper-thin sheets. */
const LAYER_M = 0.0016;
const HATCH_M = 0.03;

type Triangulate = (outline: Ring, holes: readonly Ring[]) => readonly (readonly number[])[];

/** `only` names the pieces to be seen, as on the flat sheet: the others lie faint under them, without edges. Null shows all. */
export function partsOf(room: CoveredRoom, triangulate: Triangulate, only: ReadonlySet<string> | null = null): Parts {
  const facets = room.plan.room.facets;
  const meshes = new Map<Kind, Part>(KINDS.map((kind) => [kind, { positions: [], uvs: [], facetOf: [], indices: [] }]));
  const lines = (): Lines => ({ positions: [], facetOf: [] });
  const parts = { outlines: lines(), edges: lines(), laps: lines() };
  facets.forEach((facet, index) => {
    const at = (depth: number) => (p: Point): readonly number[] => raised(facet, p, depth);
    const outline = facet.outline_m.map((p): Point => [p[0] ?? 0, p[1] ?? 0]);
    const holes = facet.holes_m.map((ring) => ring.map((p): Point => [p[0] ?? 0, p[1] ?? 0]));
    const ground = facet.covering_by === "none" ? "opening" : "other";
    if (facet.covering_by !== "pieces") fill(meshes.get(ground) as Part, index, outline, holes, at(0), triangulate);
    for (const ring of [outline, ...holes]) closed(parts.outlines, index, ring, at(0));
    const [lying, faint] = apart(room.facets.get(facet.id)?.lying ?? [], only);
    for (const one of faint) fill(meshes.get("faint") as Part, index, one.outline, one.holes, at(0.5), triangulate);
    for (const one of lying) {
      fill(meshes.get(kindOf(one)) as Part, index, one.outline, one.holes, at(one.depth + 1), triangulate);
      for (const ring of [one.outline, ...one.holes]) closed(parts.edges, index, ring, at(one.depth + 1.5));
    }
    hatchLaps(parts.laps, index, lying, [...lying, ...faint], at);
  });
  return { facets, meshes, ...parts, ...extent(parts.outlines) };
}

function apart(lying: readonly Lying[], only: ReadonlySet<string> | null): readonly [readonly Lying[], readonly Lying[]] {
  const isSeen = ({ piece }: Lying): boolean => only === null || only.has(piece.id);
  return [lying.filter(isSeen), lying.filter((one) => !isSeen(one))];
}

export function kindOf({ piece, tone }: Lying): Kind {
  if (piece.role === "sheet") return tone === 0 ? "sheet_a" : "sheet_b";
  return piece.role === "corner_piece" ? "corner" : piece.role;
}

function raised(facet: Facet, [s, t]: Point, depth: number): readonly number[] {
  const n = normalOf(facet);
  return lift(facet, s, t).map((x, k) => x + depth * LAYER_M * (n[k] ?? 0));
}

function fill(part: Part, index: number, outline: Ring, holes: readonly Ring[], at: (p: Point) => readonly number[], triangulate: Triangulate): void {
  const first = part.facetOf.length;
  for (const p of [outline, ...holes].flat()) {
    part.positions.push(...at(p));
    part.uvs.push(p[0], p[1]);
    part.facetOf.push(index);
  }
  for (const [a = 0, b = 0, c = 0] of triangulate(outline, holes)) {
    const ring = [outline, ...holes].flat();
    const [pa, pb, pc] = [ring[a], ring[b], ring[c]] as [Point, Point, Point];
    const left = (pb[0] - pa[0]) * (pc[1] - pa[1]) - (pb[1] - pa[1]) * (pc[0] - pa[0]) > 0;
    // counter-clockwise seen from the air, so that a wall between the eye and the room is not drawn
    part.indices.push(first + a, first + (left ? b : c), first + (left ? c : b));
  }
}

function closed(lines: Lines, index: number, ring: Ring, at: (p: Point) => readonly number[]): void {
  ring.forEach((p, k) => {
    lines.positions.push(...at(p), ...at(ring[(k + 1) % ring.length] ?? p));
    lines.facetOf.push(index, index);
  });
}

/** Slanted strokes where a piece lies over another one: laps are told apart without colour. */
function hatchLaps(lines: Lines, index: number, lying: readonly Lying[], all: readonly Lying[], at: (depth: number) => (p: Point) => readonly number[]): void {
  for (const upper of lying) {
    for (const lower of all) {
      if (!upper.piece.over.includes(lower.piece.id) || upper.piece.role !== "sheet" || lower.piece.role !== "sheet") continue;
      for (const [a, b] of strokes([upper.outline, lower.outline])) {
        lines.positions.push(...at(upper.depth + 1.5)(a), ...at(upper.depth + 1.5)(b));
        lines.facetOf.push(index, index);
      }
    }
  }
}

/** Strokes at 45 degrees inside all of some rings, by where they cross their sides. */
export function strokes(rings: readonly Ring[], spacing = HATCH_M): readonly (readonly [Point, Point])[] {
  const turned = rings.map((ring) => ring.map(([x, y]): Point => [(x + y) * Math.SQRT1_2, (y - x) * Math.SQRT1_2]));
  const low = Math.max(...turned.map((ring) => Math.min(...ring.map((p) => p[1]))));
  const high = Math.min(...turned.map((ring) => Math.max(...ring.map((p) => p[1]))));
  const found: (readonly [Point, Point])[] = [];
  for (let level = Math.ceil(low / spacing) * spacing + 1e-7; level < high; level += spacing) {
    for (const [a, b] of turned.map((ring) => spans(ring, level)).reduce(shared)) {
      if (b - a > 0.004) found.push([back(a, level), back(b, level)]);
    }
  }
  return found;
}

function back(x: number, y: number): Point {
  return [(x - y) * Math.SQRT1_2, (x + y) * Math.SQRT1_2];
}

type Span = readonly [number, number];

function spans(ring: Ring, level: number): readonly Span[] {
  const cross: number[] = [];
  ring.forEach(([x0, y0], k) => {
    const [x1, y1] = ring[(k + 1) % ring.length] ?? [x0, y0];
    if (y0 > level !== y1 > level) cross.push(x0 + ((level - y0) / (y1 - y0)) * (x1 - x0));
  });
  cross.sort((a, b) => a - b);
  return cross.flatMap((x, k): readonly Span[] => (k % 2 === 0 && cross[k + 1] !== undefined ? [[x, cross[k + 1] as number]] : []));
}

function shared(one: readonly Span[], other: readonly Span[]): readonly Span[] {
  return one.flatMap(([a, b]) => other.map(([c, d]): Span => [Math.max(a, c), Math.min(b, d)])).filter(([a, b]) => b > a);
}

function extent({ positions }: Lines): { middle: readonly [number, number, number]; reach: number } {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  positions.forEach((x, i) => {
    low[i % 3] = Math.min(low[i % 3] as number, x);
    high[i % 3] = Math.max(high[i % 3] as number, x);
  });
  const middle = [0, 1, 2].map((k) => ((low[k] as number) + (high[k] as number)) / 2) as [number, number, number];
  return { middle, reach: Math.hypot(...[0, 1, 2].map((k) => ((high[k] as number) - (low[k] as number)) / 2)) };
}
