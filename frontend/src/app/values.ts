import { isTable, type Json } from "../job/draft";

/** A value of a draft in a line: what was typed, or what a table holds. */
export function valueText(value: unknown): string {
  const said = value as Json | undefined;
  if (said === null || said === undefined) return "—";
  if (Array.isArray(said)) return said.map(valueText).join(", ");
  if (isTable(said)) return Object.entries(said).map(([key, inner]) => `${key} ${valueText(inner)}`).join(", ");
  return typeof said === "number" ? String(Number(said.toPrecision(7))) : String(said);
}
