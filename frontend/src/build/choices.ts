// Build-ups in a draft: the usual ones to begin with, and changes to their lists.
import { copyOf, isTable, rows, type Draft, type Json, type Table } from "../job/draft";

const TILED: Json[] = [
  { material: "porcelain tile" },
  { material: "modified dry-set mortar", thickness: "1/8 in" },
  { material: "sheet membrane 0.5 perm" },
  { material: "modified dry-set mortar", thickness: "1/16 in" },
];
const ON: Json[] = ["walls", "ceiling", "benches", "niches", "curbs"];

/** Build-ups to begin with: common ways to build, no source. */
export const USUAL: readonly Table[] = [
  { name: "tile over cement board", on: ON, layers: [...TILED, { material: "cement board 1/2 in" }, { material: "mineral wool batt" }], framing: { kind: "wood stud", depth: "3 1/2 in", spacing: "16 in" } },
  { name: "tile over foam-core board", on: ON, layers: [...TILED, { material: "foam-core coated board 1/2 in" }, { material: "mineral wool batt" }], framing: { kind: "wood stud", depth: "3 1/2 in", spacing: "16 in" } },
  { name: "tile over masonry", on: ["walls"], layers: [...TILED, { material: "concrete masonry" }], framing: { kind: "masonry" } },
];

/** Add a build-up under a name of its own. */
export function addBuildUp(draft: Draft, from: Table, alternativeTo?: string): string {
  const made = copyOf(from);
  const taken = new Set(rows(draft, "buildup").map((row) => row["name"]));
  const wanted = alternativeTo === undefined ? String(made["name"] ?? "build-up") : `${alternativeTo}, alternative`;
  let name = wanted;
  for (let i = 2; taken.has(name); i++) name = `${wanted} ${i}`;
  made["name"] = name;
  if (alternativeTo === undefined) delete made["alternative_to"];
  else made["alternative_to"] = alternativeTo;
  const list = draft["buildup"];
  if (Array.isArray(list)) list.push(made);
  else draft["buildup"] = [made];
  return name;
}

/** Take a build-up away, and with it the alternatives that lean on it. */
export function removeBuildUp(draft: Draft, index: number): void {
  const list = draft["buildup"];
  if (!Array.isArray(list)) return;
  const [gone] = list.splice(index, 1);
  const name = isTable(gone) ? gone["name"] : undefined;
  draft["buildup"] = list.filter((row) => !isTable(row) || name === undefined || row["alternative_to"] !== name);
}

/** Rename a build-up; alternatives follow. */
export function renameBuildUp(draft: Draft, index: number, name: string): void {
  const all = rows(draft, "buildup");
  const row = all[index];
  if (row === undefined) return;
  for (const other of all) if (other["alternative_to"] === row["name"]) other["alternative_to"] = name;
  row["name"] = name;
}

export function layersOf(row: Table | undefined): Table[] {
  const list = row?.["layers"];
  return Array.isArray(list) ? list.filter(isTable) : [];
}

/** Move a layer one place; out of the list it stays. */
export function moveLayer(row: Table, from: number, by: number): void {
  const list = row["layers"];
  if (!Array.isArray(list) || from + by < 0 || from + by >= list.length) return;
  const [layer] = list.splice(from, 1);
  if (layer !== undefined) list.splice(from + by, 0, layer);
}

/** Put a build-up on a group of facets or take it off. */
export function toggleOn(row: Table, group: string): void {
  const on = Array.isArray(row["on"]) ? row["on"] : [];
  row["on"] = on.includes(group) ? on.filter((g) => g !== group) : [...on, group];
}
