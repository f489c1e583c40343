// What a new plan changed: pieces by number and shape, so that only that is shown which somebody has to look at again.
import type { Piece, Plan } from "../api/types";
import { boxOf, nearRing, ringOf, type Box, type Point } from "./room";

export type ChangeKind = "new" | "changed" | "gone";

export interface PieceChange {
  id: string;
  kind: ChangeKind;
  role: Piece["role"];
  /** In words: what is other than before. */
  what: string;
  facets: readonly string[];
}

/** Half a sixteenth of an inch: less than this nobody can tape or cut. */
export const SAME_M = 0.0008;

/** Compare two plans of one job, in the order in which pieces are set; pieces that are gone come last. */
export function changesBetween(before: Plan, after: Plan, show: (length_m: number) => string): readonly PieceChange[] {
  const was = new Map(before.covering.pieces.map((piece) => [piece.id, piece]));
  const now = new Set(after.covering.pieces.map((piece) => piece.id));
  const found: PieceChange[] = [];
  const boxes = [boxesOf(before), boxesOf(after)] as const;
  for (const piece of after.covering.pieces) {
    const old = was.get(piece.id);
    const what = old === undefined ? "not in the plan before" : difference(old, piece, boxes, show);
    if (what !== "") found.push(change(piece, old === undefined ? "new" : "changed", what));
  }
  for (const piece of before.covering.pieces) if (!now.has(piece.id)) found.push(change(piece, "gone", "no longer in the plan"));
  return found;
}

type Patch = Piece["patches"][number];
type Boxes = ReadonlyMap<string, Box>;

function boxesOf({ room }: Plan): Boxes {
  return new Map(room.facets.map((facet) => [facet.id, boxOf([ringOf(facet.outline_m)])]));
}

function change(piece: Piece, kind: ChangeKind, what: string): PieceChange {
  return { id: piece.id, kind, role: piece.role, what, facets: [...new Set(piece.patches.map((patch) => patch.facet))] };
}

/** In words what differs; empty where nothing does that a tape could tell. */
function difference(old: Piece, now: Piece, boxes: readonly [Boxes, Boxes], show: (length_m: number) => string): string {
  if (old.role !== now.role || old.item !== now.item) return `another piece: ${now.item} in place of ${old.item}`;
  const facets = (piece: Piece): string => piece.patches.map((patch) => patch.facet).join(" ");
  if (facets(old) !== facets(now)) return "lies on other surfaces";
  if (old.blank_m !== null && now.blank_m !== null) {
    const [length = 0, width = 0] = now.blank_m;
    const [oldLength = 0, oldWidth = 0] = old.blank_m;
    const parts = [
      Math.abs(length - oldLength) > SAME_M ? `${show(Math.abs(length - oldLength))} ${length > oldLength ? "longer" : "shorter"}` : "",
      Math.abs(width - oldWidth) > SAME_M ? `${show(Math.abs(width - oldWidth))} ${width > oldWidth ? "wider" : "narrower"}` : "",
    ].filter((part) => part !== "");
    if (parts.length > 0) return parts.join(", ");
  }
  const pairs = now.patches.map((patch, k) => [old.patches[k] ?? patch, patch] as const);
  // ready-made pieces have one shape; where their facets meet at another angle by a hair they are bent and not cut
  if (now.blank_m !== null && !pairs.every(([was, is]) => near(onBlank(was), onBlank(is)))) return "cut to another outline";
  return pairs.every(([was, is]) => liesAlike(was, is, boxes)) ? "" : "lies elsewhere on its surface";
}

/** The outline of a patch on its blank, which is what is cut. */
function onBlank({ outline_m, at }: Patch): readonly Point[] {
  if (at === null) return ringOf(outline_m);
  const turn = (at.angle_deg * Math.PI) / 180;
  return ringOf(outline_m).map(([s, t]) => {
    const x = at.flipped ? -s : s;
    return [at.x_m + Math.cos(turn) * x - Math.sin(turn) * t, at.y_m + Math.sin(turn) * x + Math.cos(turn) * t];
  });
}

/** A patch lies as before if it still is as far from one end of its facet, each way, as somebody would tape it. */
function liesAlike(was: Patch, is: Patch, [before, after]: readonly [Boxes, Boxes]): boolean {
  const [a, b] = [before.get(was.facet), after.get(is.facet)];
  if (a === undefined || b === undefined) return false;
  const [p, q] = [boxOf([ringOf(was.outline_m)]), boxOf([ringOf(is.outline_m)])];
  const alike = (one: number, other: number): boolean => Math.abs(one - other) <= SAME_M;
  return (alike(p.x0 - a.x0, q.x0 - b.x0) || alike(a.x1 - p.x1, b.x1 - q.x1)) && (alike(p.y0 - a.y0, q.y0 - b.y0) || alike(a.y1 - p.y1, b.y1 - q.y1));
}

/** Whether two outlines are one, whatever their corners are; a corner cut by less than the tape shows is none. */
function near(one: readonly Point[], other: readonly Point[]): boolean {
  return one.every((p) => nearRing(p, other) <= SAME_M) && other.every((p) => nearRing(p, one) <= SAME_M);
}
