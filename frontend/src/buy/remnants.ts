// Remnants: what is on hand before a job and what it leaves, as the job says them and as somebody with a tape does.
import type { Plan } from "../api/types";
import { put, rows, type Draft, type Table } from "../job/draft";
import type { Units } from "../measure/keypad";
import { tape } from "../units/tape";

export interface OnHand {
  id: string;
  material: string;
  length: string;
  width: string;
  origin: string;
}

export interface Left {
  id: string;
  material: string;
  length_m: number;
  width_m: number;
  origin: string;
  /** It was on hand before and this job does not touch it. */
  untouched: boolean;
}

const PATH = "covering.remnant";

export function remnantsOf(draft: Draft): readonly OnHand[] {
  const text = (row: Table, key: string): string => String(row[key] ?? "");
  return rows(draft, PATH).map((row) => ({ id: text(row, "id"), material: text(row, "material"), length: text(row, "length"), width: text(row, "width"), origin: text(row, "origin") }));
}

/** The next id that no remnant of this job has had. */
export function nextId(draft: Draft): string {
  const taken = new Set(remnantsOf(draft).map((one) => one.id));
  const covering = draft["covering"] as Table | undefined;
  let k = Math.max(Number(covering?.["remnants_given"] ?? 0), taken.size) + 1;
  while (taken.has(`M${k}`)) k++;
  return `M${k}`;
}

export function addRemnant(draft: Draft, made: { id: string; material: string; length: string; width: string }): void {
  put(draft, PATH, [...rows(draft, PATH), { ...made }]);
}

export function dropRemnant(draft: Draft, which: number): void {
  const left = rows(draft, PATH).filter((_, k) => k !== which);
  put(draft, PATH, left.length > 0 ? left : undefined);
  const covering = draft["covering"] as Table;
  if (Object.keys(covering).length === 0) delete draft["covering"];
}

/** Take a file of remnants in; what the job lists under an id already stays as it says. How many came in. */
export function takeIn(draft: Draft, file: { given: number; remnant: readonly OnHand[] }): number {
  const taken = new Set(remnantsOf(draft).map((one) => one.id));
  const fresh = file.remnant.filter((one) => !taken.has(one.id)).map((one): Table => ({ ...one }));
  if (fresh.length > 0) put(draft, PATH, [...rows(draft, PATH), ...fresh]);
  const given = Math.max(file.given, Number((draft["covering"] as Table | undefined)?.["remnants_given"] ?? 0));
  if (given > 0) put(draft, "covering.remnants_given", given);
  return fresh.length;
}

/** A size as somebody with a tape says it; what he typed himself stays. */
export function sizeWords(said: string, units: Units): string {
  const metres = /^([\d.]+) m$/.exec(said)?.[1];
  return metres === undefined ? said : tape(Number(metres), units);
}

/** What is on hand once the pieces of a plan are cut, the largest first. */
export function leftOf(plan: Plan): readonly Left[] {
  const listed = new Set(rows(plan.job as unknown as Draft, PATH).map((row) => String(row["id"])));
  return [...(plan.covering.left ?? [])].map((one) => ({
    id: String(one.id), material: String(one.material), length_m: Number(one.length_m), width_m: Number(one.width_m), origin: String(one.origin), untouched: listed.has(String(one.id)),
  })).sort((a, b) => b.length_m * b.width_m - a.length_m * a.width_m);
}

/** Ids of the remnants that a plan draws from. */
export function drawnBy(plan: Plan): ReadonlySet<string> {
  return new Set(plan.covering.stock.filter((stock) => stock.on_hand === true).map((stock) => stock.id));
}
