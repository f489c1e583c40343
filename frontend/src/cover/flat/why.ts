// Why a lap has no grip: bands and collars stay at their place, a leg goes where its joint is, two parts of one blank end where it is cut.
import type { Seam } from "../../api/types";
import { strokes } from "../scene/parts";
import { drop, inside, nearRing, roleWords, type CoveredRoom, type Lying, type OnFacet, type Point } from "../room";
import { gripOn, LEG_M, type Stretch } from "./grips";

export interface Staying {
  /** The upper and the lower piece, as they are called on the drawing. */
  pieces: string;
  why: string;
}

const BESIDE_M = 0.01;
const FINGER = [[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1], [0.7, 0.7], [0.7, -0.7], [-0.7, 0.7], [-0.7, -0.7]] as const;

/** Why the lap that lies nearest under a finger cannot be dragged; null where there is none, or one with a grip. */
export function whyStays(room: CoveredRoom, facet: string, [s, t]: Point, finger_m: number, seams: readonly Seam[]): Staying | null {
  const on = room.facets.get(facet);
  for (const [i, j] of FINGER) {
    const point: Point = [s + i * finger_m, t + j * finger_m];
    const pair = on === undefined ? null : lapAt(on, point);
    if (on !== undefined && pair !== null) return reason(room, on, pair, point, seams);
  }
  return null;
}

/** Every lap of two sheets on a facet that has no grip there, each reason once. */
export function stayingOn(room: CoveredRoom, facet: string, seams: readonly Seam[]): readonly Staying[] {
  const on = room.facets.get(facet);
  const found = new Map<string, Staying>();
  for (const upper of on?.lying ?? []) {
    for (const lower of on?.lying ?? []) {
      if (on === undefined || upper.piece.role !== "sheet" || lower.piece.role !== "sheet" || !liesOver(upper, lower)) continue;
      for (const [[ax, ay], [bx, by]] of strokes([upper.outline, lower.outline])) {
        const said = reason(room, on, [upper, lower], [(ax + bx) / 2, (ay + by) / 2], seams);
        if (said !== null) found.set(`${said.pieces} ${said.why}`, said);
      }
    }
  }
  return [...found.values()];
}

type Pair = readonly [upper: Lying, lower: Lying];

function lapAt(on: OnFacet, point: Point): Pair | null {
  const stack = on.lying.filter((one) => inside(point, one.outline) && !one.holes.some((hole) => inside(point, hole)));
  const upper = stack.at(-1);
  const lower = upper === undefined ? undefined : stack.slice(0, -1).reverse().find((one) => liesOver(upper, one));
  return upper === undefined || lower === undefined ? null : [upper, lower];
}

function liesOver(upper: Lying, lower: Lying): boolean {
  return upper.piece.over.includes(lower.piece.id) || (upper.piece.id === lower.piece.id && upper.part > lower.part);
}

function reason(room: CoveredRoom, on: OnFacet, [upper, lower]: Pair, point: Point, seams: readonly Seam[]): Staying | null {
  const seam = seams.find((one) => one.stretches.some((stretch) => stretch.facet === on.facet.id && within(stretch, point)));
  if (seam !== undefined && gripOn(seam, on.facet.id) !== null) return null;
  return { pieces: `${name(upper)} over ${name(lower)}`, why: seam === undefined ? whyNot(room, on, upper, lower, point) : elsewhere(room, seam) };
}

const name = (one: Lying): string => `${one.piece.id}${one.part}`;

/** Whether a point lies between the two edges of a seam. */
function within({ forward: [x, y], under_m, over_m }: Stretch, [s, t]: Point): boolean {
  const across = [...under_m, ...over_m].map(([a = 0, b = 0]) => a * x + b * y);
  const along = [...under_m, ...over_m].map(([a = 0, b = 0]) => b * x - a * y);
  const between = (at: number, all: readonly number[]): boolean => at > Math.min(...all) - BESIDE_M && at < Math.max(...all) + BESIDE_M;
  return between(s * x + t * y, across) && between(t * x - s * y, along);
}

function elsewhere(room: CoveredRoom, seam: Seam): string {
  const there = seam.stretches.find((stretch) => gripOn(seam, stretch.facet) !== null);
  const facet = there === undefined ? seam.surface : (room.facets.get(there.facet)?.facet.name ?? seam.surface);
  return `This is the short end of a seam that runs on round the corner. Take hold of it on ${facet}.`;
}

function whyNot(room: CoveredRoom, on: OnFacet, upper: Lying, lower: Lying, point: Point): string {
  const { role } = upper.piece;
  if (role !== "sheet") {
    const place = { band: "over its joint", corner_piece: "in its corner", collar: "round its pipe" }[role];
    return `A ${roleWords(upper.piece)} sits ${place} and stays there. Only seams between sheets can be dragged.`;
  }
  if (lower.piece.role !== "sheet") return `Here a sheet lies over a ${roleWords(lower.piece)}, which stays at its place. Only seams between sheets can be dragged.`;
  if (upper.piece.id === lower.piece.id) {
    return "Both are parts of one blank, parted by one cut. To move this seam the blank would have to be cut otherwise.";
  }
  if (isLeg(room, on, upper, point) || isLeg(room, on, lower, point)) {
    return "Here a leg is folded over from the surface beside. It lies where its joint is; whether it is folded, and which way, is chosen under Joints.";
  }
  return "The two edges do not run side by side in one straight line here, as at an opening or a slope. Turn the sheets, or drag the seam next to it.";
}

/** Whether a piece lies at a point only because it is turned over a joint near by. */
function isLeg(room: CoveredRoom, on: OnFacet, { piece }: Lying, point: Point): boolean {
  const others = new Set(piece.patches.map((patch) => patch.facet));
  return room.plan.room.joints.some(({ facets, start_m, end_m }) => {
    if (!facets.includes(on.facet.id) || !facets.some((id) => id !== on.facet.id && others.has(id))) return false;
    return nearRing(point, [drop(on.facet, start_m), drop(on.facet, end_m)]) < LEG_M;
  });
}
