// Readings of the survey as places to fill: what can be taped, what is taped already, where it stands in the job.
import { at, isTable, rows, type Draft, type Json, type Table } from "../job/draft";
import { metres, type Units } from "./keypad";
import { stationsOf, wallsOf } from "./stations";

export type Kind = "wall" | "diagonal" | "tie" | "up" | "down" | "plumb" | "gap";
/** Something to read: a kind and what it is read of. */
export interface Slot {
  kind: Kind;
  of: string;
}

export const FACES = [["framing", "Studs"], ["slab", "Slab"], ["existing", "Old finish"], ["board", "Board"], ["tile", "Tile"]] as const;
export type FaceWord = (typeof FACES)[number][0];
/** Two readings of one length that lie further apart are not the same reading: 3 standard deviations of 1/16 in, times the root of two. */
export const DIFFERENT_M = 0.0254 / 4;
const LENGTHS: readonly string[] = ["wall", "diagonal", "tie"];

/** The values of a reading, in the order in which they are taken. */
export function fieldsOf(kind: Kind): readonly string[] {
  if (kind === "plumb") return ["bottom", "middle", "top"];
  return kind === "gap" ? ["is", "under"] : ["is"];
}

export function slotKey(slot: Slot): string {
  return `${LENGTHS.includes(slot.kind) ? "length" : slot.kind} ${LENGTHS.includes(slot.kind) ? ends(slot.of) : slot.of}`;
}

function ends(of: string): string {
  return of.split("-").sort().join("-");
}

/** The readings of a slot, by their place in the job: one, or more where it was taped again. */
export function placesOf(draft: Draft, slot: Slot): number[] {
  const key = slotKey(slot);
  const readings = at(draft, "survey.reading");
  if (!Array.isArray(readings)) return [];
  return readings.flatMap((r, i) => (isTable(r) && slotKey(slotOf(r)) === key ? [i] : []));
}

export function slotOf(reading: Table): Slot {
  return { kind: String(reading["kind"] ?? "wall") as Kind, of: String(reading["of"] ?? "") };
}

export function pathOf(draft: Draft, slot: Slot): string | undefined {
  const place = placesOf(draft, slot).at(-1);
  return place === undefined ? undefined : `survey.reading[${place}]`;
}

/** Whether all values of a slot are taken. */
export function isTaken(draft: Draft, slot: Slot): boolean {
  const path = pathOf(draft, slot);
  return path !== undefined && fieldsOf(slot.kind).every((field) => at(draft, `${path}.${field}`) !== undefined);
}

export function readingText(draft: Draft, slot: Slot, field: string): string {
  const path = pathOf(draft, slot);
  const found = path === undefined ? undefined : at(draft, `${path}.${field}`);
  return typeof found === "string" ? found : "";
}

export interface Taken {
  slot: Slot;
  field: string;
  text: string;
  face: string;
  /** Read by a laser instead of a tape. */
  laser?: boolean;
  /** It was taken once already and is taken once more, to see which one was wrong. */
  again: boolean;
}

/** What became of a value: first one, typed over, confirmed by a second one, or found to have been wrong. */
export type Became = "new" | "changed" | "confirmed" | "corrected";

/** Write a value into the job. */
export function take(draft: Draft, taken: Taken, units: Units): Became {
  const places = placesOf(draft, taken.slot);
  const last = places.at(-1);
  const list = readingList(draft);
  if (last !== undefined && !(taken.again && fieldsOf(taken.slot.kind).length === 1)) {
    const reading = list[last] as Table;
    const before = reading[taken.field];
    reading[taken.field] = taken.text;
    setFace(reading, taken, draft);
    return before === undefined ? "new" : "changed";
  }
  const made: Table = { kind: taken.slot.kind, of: taken.slot.of, [taken.field]: taken.text };
  if (taken.slot.kind === "plumb") made["at"] = "middle";
  setFace(made, taken, draft);
  const now = metres(taken.text, units);
  const wrong = last === undefined || now === undefined ? [] : places.filter((i) => Math.abs((metres((list[i] as Table)["is"], units) ?? now) - now) > DIFFERENT_M);
  // readings that the new one contradicts are the ones that were in doubt: it takes their place
  const kept = list.filter((_, i) => !wrong.includes(i));
  kept.push(made);
  (draft["survey"] as Table)["reading"] = kept;
  return last === undefined ? "new" : wrong.length > 0 ? "corrected" : "confirmed";
}

/** Take away everything that was read of a slot. */
export function forget(draft: Draft, slot: Slot): void {
  const places = placesOf(draft, slot);
  (draft["survey"] as Table)["reading"] = readingList(draft).filter((_, i) => !places.includes(i));
}

function readingList(draft: Draft): Json[] {
  const survey = (isTable(draft["survey"]) ? draft["survey"] : (draft["survey"] = {})) as Table;
  const list = survey["reading"];
  return Array.isArray(list) ? list : (survey["reading"] = []);
}

function setFace(reading: Table, taken: Taken, draft: Draft): void {
  if (taken.slot.kind === "plumb" || taken.slot.kind === "gap") return;
  if (taken.laser === true) reading["instrument"] = "laser";
  else delete reading["instrument"];
  if (taken.face === usualFace(draft)) delete reading["face"];
  else reading["face"] = taken.face;
}

/** The face of readings that do not say their own. */
export function usualFace(draft: Draft): string {
  const face = at(draft, "survey.face");
  return typeof face === "string" ? face : "framing";
}

export function faceOf(draft: Draft, slot: Slot): string {
  const path = pathOf(draft, slot);
  const face = path === undefined ? undefined : at(draft, `${path}.face`);
  return typeof face === "string" ? face : usualFace(draft);
}

export function laserOf(draft: Draft, slot: Slot): boolean {
  const path = pathOf(draft, slot);
  return path !== undefined && at(draft, `${path}.instrument`) === "laser";
}

/** All that is worth taping, in the order of a walk round the room: walls, ties, heights, plumb, flatness. */
export function wanted(draft: Draft, ties: readonly Slot[] | null): Slot[] {
  const [stations, walls] = [stationsOf(draft), wallsOf(draft)];
  const n = stations.length;
  // the server knows which ties hold the plan; until it answers, every second corner
  const across: Slot[] = ties !== null ? [...ties] : n < 4 ? []
    : stations.slice(0, n - 2).map((s, i) => ({ kind: "diagonal" as const, of: `${s}-${stations[i + 2]}` }));
  const known = rows(draft, "survey.reading").map(slotOf).filter((s) => s.kind === "diagonal" || s.kind === "tie");
  const all: Slot[] = [
    ...walls.map((of) => ({ kind: "wall" as const, of })), ...known, ...across,
    ...stations.map((of) => ({ kind: "down" as const, of })), ...stations.map((of) => ({ kind: "up" as const, of })),
    ...walls.map((of) => ({ kind: "plumb" as const, of })), ...walls.map((of) => ({ kind: "gap" as const, of })),
  ];
  const seen = new Set<string>();
  return all.filter((slot) => !seen.has(slotKey(slot)) && seen.add(slotKey(slot)));
}

/** What a person does for a slot, as a sentence. */
export function sentence(slot: Slot): string {
  const [a, b] = slot.of.split("-") as [string, string];
  switch (slot.kind) {
    case "wall": return `Tape the wall from ${a} to ${b}`;
    case "diagonal": case "tie": return `Tape across the room from ${a} to ${b}`;
    case "down": return `At ${a}, from the level line down to the floor`;
    case "up": return `At ${a}, from the level line up to the ceiling`;
    case "plumb": return `Wall ${a} to ${b}: from a plumb line to the wall`;
    case "gap": return `Wall ${a} to ${b}: the widest gap under a straightedge`;
  }
}

export const GROUPS: readonly { name: string; kinds: readonly Kind[]; needed: boolean; why: string }[] = [
  { name: "Walls", kinds: ["wall"], needed: true, why: "Walk clockwise, one wall after the other." },
  { name: "Across", kinds: ["diagonal", "tie"], needed: true, why: "These hold the corners and catch a misread tape." },
  { name: "Floor", kinds: ["down"], needed: false, why: "From one level line round the room: shows where the floor falls." },
  { name: "Ceiling", kinds: ["up"], needed: false, why: "From the same level line." },
  { name: "Plumb", kinds: ["plumb"], needed: false, why: "Hang a plumb line: shows a wall that leans." },
  { name: "Flat", kinds: ["gap"], needed: false, why: "Lay a straightedge on the wall: large tile needs a flat one." },
];

export const FIELD_WORDS: Record<string, string> = { is: "", bottom: "at the bottom", middle: "half-way up", top: "at the top", under: "length of the straightedge" };
