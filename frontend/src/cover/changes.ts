// What a new plan changed: pieces by number and shape, so that only that is shown which somebody has to look at again.
import type { Piece, Plan } from "../api/types";

export type ChangeKind = "new" | "changed" | "gone";

export interface PieceChange {
  id: string;
  kind: ChangeKind;
  role: Piece["role"];
  /** In words: what is other than before. */
  what: string;
  facets: readonly string[];
}

/** Less than this is the arithmetic's, not the tape's. */
export const SAME_M = 0.0004;

/** Compare two plans of one job, in the order in which pieces are set; pieces that are gone come last. */
export function changesBetween(before: Plan, after: Plan, show: (length_m: number) => string): readonly PieceChange[] {
  const was = new Map(before.covering.pieces.map((piece) => [piece.id, piece]));
  const now = new Set(after.covering.pieces.map((piece) => piece.id));
  const found: PieceChange[] = [];
  for (const piece of after.covering.pieces) {
    const old = was.get(piece.id);
    const what = old === undefined ? "not in the plan before" : difference(old, piece, show);
    if (what !== "") found.push(change(piece, old === undefined ? "new" : "changed", what));
  }
  for (const piece of before.covering.pieces) if (!now.has(piece.id)) found.push(change(piece, "gone", "no longer in the plan"));
  return found;
}

function change(piece: Piece, kind: ChangeKind, what: string): PieceChange {
  return { id: piece.id, kind, role: piece.role, what, facets: [...new Set(piece.patches.map((patch) => patch.facet))] };
}

/** In words what differs; empty where nothing does that a tape could tell. */
function difference(old: Piece, now: Piece, show: (length_m: number) => string): string {
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
  return now.patches.every((patch, k) => near(patch.outline_m, old.patches[k]?.outline_m ?? [])) ? "" : "lies or is cut otherwise";
}

/** Whether two rings say the same, wherever they begin. */
function near(one: readonly (readonly number[])[], other: readonly (readonly number[])[]): boolean {
  const close = (a: readonly number[], b: readonly number[]): boolean => Math.hypot((a[0] ?? 0) - (b[0] ?? 0), (a[1] ?? 0) - (b[1] ?? 0)) <= SAME_M;
  const apart = (from: readonly (readonly number[])[], to: readonly (readonly number[])[]): boolean => from.some((p) => !to.some((q) => close(p, q)));
  return !apart(one, other) && !apart(other, one);
}
