// Every facet laid flat on one wide sheet: walls in a row as one turns round in the room, what hangs over above, what lies below under them.
import type { Facet } from "../../api/types";
import type { Box, OnFacet } from "../room";

/** Where a facet's box lies on the sheet: `x`, `y` of its lower left corner, y upward. [m] */
export interface Place {
  facet: string;
  x: number;
  y: number;
  box: Box;
}

export interface Sheet {
  places: ReadonlyMap<string, Place>;
  width: number;
  height: number;
}

type Row = "over" | "wall" | "under";

const ROWS: Record<Facet["kind"], Row> = {
  ceiling: "over", soffit: "over", head: "over",
  wall: "wall", column: "wall", niche_side: "wall", niche_back: "wall", jamb: "wall", opening: "wall", sill: "wall",
  floor: "under", bench_top: "under", bench_face: "under", curb_top: "under", curb_face: "under", half_wall_top: "under",
};
const GAP_M = 0.28;
const SMALL_M2 = 0.4;
/** So that the name over a narrow facet does not run into the next one. */
const NARROWEST_M = 0.75;

/** Lay out facets; small ones stand over one another so that the sheet does not grow long. */
export function arrange(facets: readonly OnFacet[]): Sheet {
  const places = new Map<string, Place>();
  let y = 0;
  let width = 0;
  for (const row of ["under", "wall", "over"] as const) {
    const mine = facets.filter((one) => ROWS[one.facet.kind] === row);
    const tallest = Math.max(0, ...mine.map((one) => one.box.y1 - one.box.y0));
    let x = 0;
    for (const column of columnsOf(mine, tallest)) {
      let up = y;
      for (const one of column) {
        places.set(one.facet.id, { facet: one.facet.id, x, y: up, box: one.box });
        up += one.box.y1 - one.box.y0 + GAP_M;
      }
      x += Math.max(NARROWEST_M, ...column.map((one) => one.box.x1 - one.box.x0)) + GAP_M;
    }
    width = Math.max(width, x - GAP_M);
    if (mine.length > 0) y += tallest + GAP_M;
  }
  return { places, width: Math.max(width, 0.1), height: Math.max(y - GAP_M, 0.1) };
}

function columnsOf(facets: readonly OnFacet[], tallest: number): OnFacet[][] {
  const columns: OnFacet[][] = [];
  let left = 0;
  for (const one of facets) {
    const height = one.box.y1 - one.box.y0;
    const last = columns.at(-1);
    const small = one.facet.area_m2 < SMALL_M2;
    if (small && last !== undefined && (last[0]?.facet.area_m2 ?? 1) < SMALL_M2 && left >= height + GAP_M) {
      last.push(one);
      left -= height + GAP_M;
    } else {
      columns.push([one]);
      left = tallest - height;
    }
  }
  return columns;
}
