// Where a seam can be taken hold of: once on a facet, on its longest stretch there, and not where only a leg of it is turned over.
import type { Seam } from "../../api/types";
import type { Point } from "../room";

export type Stretch = Seam["stretches"][number];

export const LEG_M = 0.2;

export function lengthOf(stretch: Stretch): number {
  const [[ax = 0, ay = 0] = [], [bx = 0, by = 0] = []] = stretch.under_m;
  return Math.hypot(ax - bx, ay - by);
}

/** The stretch of a seam on a facet that carries its grip; null where the facet has only a leg of it, or nothing. */
export function gripOn(seam: Seam, facet: string): Stretch | null {
  const longest = (stretches: readonly Stretch[]): Stretch | null => stretches.reduce<Stretch | null>((best, one) => (best === null || lengthOf(one) > lengthOf(best) ? one : best), null);
  const here = longest(seam.stretches.filter((stretch) => stretch.facet === facet));
  const anywhere = longest(seam.stretches);
  return here !== null && anywhere !== null && lengthOf(here) >= Math.min(LEG_M, lengthOf(anywhere)) ? here : null;
}

/** Where along a seam its grip stands, 0 to 1: in the middle, unless it would lie on the number of a piece there. */
export function gripShare([ax, ay]: Point, [bx, by]: Point, numbers: readonly { at: Point; chars: number }[], px: number): number {
  const clear = (share: number): boolean =>
    numbers.every(({ at: [x, y], chars }) => Math.abs(ax + share * (bx - ax) - x) > (17 + 4.5 * chars) * px || Math.abs(ay + share * (by - ay) - y) > 24 * px);
  return [0.5, 0.35, 0.65, 0.2, 0.8].find(clear) ?? 0.5;
}
