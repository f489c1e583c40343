// What layouts take and wishes cost, in the words and units of the job.
import type { Units } from "../measure/keypad";
import { area } from "../units/tape";

export interface Takes {
  material_m2: number;
  seam_m: number;
  minutes: number;
  pieces: number;
  usd: number;
}

/** Metres of lap are counted, not cut: whole feet, or tenths of a metre. */
export function lapLength(length_m: number, units: Units): string {
  return units === "metric" ? `${length_m.toFixed(1)} m` : `${Math.round(length_m / 0.3048)} ft`;
}

/** Working time: minutes up to an hour and a half, then hours. */
export function time(minutes: number): string {
  return minutes < 90 ? `${Math.round(minutes)} min` : `${(minutes / 60).toFixed(1)} h`;
}

/** What a layout takes, one text a column: roll, lap, time, pieces, cost. */
export function takesCells(takes: Takes, units: Units): readonly string[] {
  return [area(takes.material_m2, units), lapLength(takes.seam_m, units), time(takes.minutes), String(takes.pieces), `${takes.usd.toFixed(0)} USD`];
}

const SAME = { material_m2: 0.005, seam_m: 0.05, minutes: 0.5, pieces: 0.5, usd: 0.5 } as const;

/** What something costs more, or less, than something else: "12.1 ft² of roll more, 3 min less"; empty where nobody could tell. */
export function differenceWords(more: Takes, units: Units): string {
  const said = ([
    [more.material_m2, SAME.material_m2, `${area(Math.abs(more.material_m2), units)} of roll`],
    [more.seam_m, SAME.seam_m, `${lapLength(Math.abs(more.seam_m), units)} of lap`],
    [more.minutes, SAME.minutes, time(Math.abs(more.minutes))],
    [more.pieces, SAME.pieces, `${Math.abs(more.pieces)} ${Math.abs(more.pieces) === 1 ? "piece" : "pieces"}`],
    [more.usd, SAME.usd, `${Math.abs(more.usd).toFixed(0)} USD`],
  ] as const).filter(([by, least]) => Math.abs(by) >= least).map(([by, , text]) => `${text} ${by > 0 ? "more" : "less"}`);
  return said.join(", ");
}
