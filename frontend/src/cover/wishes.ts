// What a person wants of the covering, written into the job: seams, directions, folds and bands, forbidden stretches, pieces cut or set.
import type { Facet, Piece } from "../api/types";
import { at, isTable, put, rows, type Draft, type Json, type Table } from "../job/draft";

export type Direction = "best" | "upright" | "level";
export type Across = "along" | "up";
export type PieceState = "planned" | "cut" | "set";
export type JointWish = { by: "best" } | { by: "band" } | { by: "fold"; from: string; onto: string };

/** A length as a job file says it: exact to a tenth of a millimetre, whatever the person's units are. */
export function metres(length_m: number): string {
  return `${Number(length_m.toFixed(4))} m`;
}

const exact = (length_m: number): string => `${Number(length_m.toFixed(7))} m`;

export function surfaceOf(facet: Facet): string {
  return facet.surface ?? facet.name;
}

function replaced(draft: Draft, path: string, keep: (row: Table) => boolean, add: readonly Table[]): void {
  const left = [...rows(draft, path).filter(keep), ...add];
  put(draft, path, left.length > 0 ? left : undefined);
  tidy(draft);
}

function tidy(draft: Draft): void {
  const covering = at(draft, "covering");
  if (isTable(covering) && Object.keys(covering).length === 0) put(draft, "covering", undefined);
}

/** Take one wish back, by the place that the plan names: `covering.fold[1]`. */
export function dropWish(draft: Draft, path: string): void {
  const [, list = "", place = ""] = /^(.+)\[(\d+)\]$/.exec(path) ?? [];
  const gone = rows(draft, list)[Number(place)];
  if (gone !== undefined) replaced(draft, list, (row) => row !== gone, []);
}

/** Say in the job what gets a layout; what comes out best anyway is not said. */
export function chooseLayout(draft: Draft, choose: Readonly<Record<string, string>>): void {
  for (const [key, value] of Object.entries(choose)) put(draft, `covering.${key}`, value === "best" ? undefined : value);
  tidy(draft);
}

// ---- direction ---------------------------------------------------------------------------------------------------

export function directionOf(draft: Draft, surface: string): Direction {
  const said = rows(draft, "covering.direction").filter((row) => row["on"] === surface).at(-1)?.["sheets"];
  return said === "upright" || said === "level" ? said : "best";
}

export function setDirection(draft: Draft, surface: string, direction: Direction): void {
  replaced(draft, "covering.direction", (row) => row["on"] !== surface, direction === "best" ? [] : [{ on: surface, sheets: direction }]);
}

// ---- fold or band ------------------------------------------------------------------------------------------------

function between(row: Table, one: string, other: string): boolean {
  return (row["from"] === one && row["onto"] === other) || (row["from"] === other && row["onto"] === one);
}

export function jointWishOf(draft: Draft, one: string, other: string): JointWish {
  const said = rows(draft, "covering.fold").filter((row) => between(row, one, other)).at(-1);
  if (said === undefined) return { by: "best" };
  return said["by"] === "band" ? { by: "band" } : { by: "fold", from: String(said["from"]), onto: String(said["onto"]) };
}

export function setJointWish(draft: Draft, one: string, other: string, wish: JointWish): void {
  const row: Table[] = wish.by === "best" ? [] : wish.by === "band" ? [{ from: one, onto: other, by: "band" }] : [{ from: wish.from, onto: wish.onto, by: "fold" }];
  replaced(draft, "covering.fold", (said) => !between(said, one, other), row);
}

// ---- no seam here ------------------------------------------------------------------------------------------------

export interface Zone {
  from: string;
  to: string;
  measured: "across" | Across;
}

export function zonesOf(draft: Draft, surface: string): readonly Zone[] {
  return rows(draft, "covering.no_seam").filter((row) => row["on"] === surface).map((row) => ({
    from: String(row["from"] ?? ""), to: String(row["to"] ?? ""), measured: row["measured"] === "along" || row["measured"] === "up" ? row["measured"] : "across",
  }));
}

export function addZone(draft: Draft, surface: string, zone: Zone): void {
  const row: Table = { on: surface, from: zone.from, to: zone.to };
  if (zone.measured !== "across") row["measured"] = zone.measured;
  replaced(draft, "covering.no_seam", () => true, [row]);
}

export function dropZone(draft: Draft, surface: string, which: number): void {
  let count = -1;
  replaced(draft, "covering.no_seam", (row) => row["on"] !== surface || ++count !== which, []);
}

// ---- pinned seams ------------------------------------------------------------------------------------------------

export interface SeamPin {
  across: Across;
  at: string;
}

export function seamPinsOf(draft: Draft, surface: string): readonly SeamPin[] {
  return rows(draft, "covering.seam").filter((row) => row["on"] === surface).map((row) => (
    row["along"] !== undefined ? { across: "along", at: String(row["along"]) } : { across: "up", at: String(row["up"] ?? "") }
  ));
}

/** The pin that holds a seam whose middle is here, if there is one. */
export function pinAt(draft: Draft, surface: string, across: Across, middle_m: number): number {
  return seamPinsOf(draft, surface).findIndex((pin) => pin.across === across && Math.abs(metresOf(pin.at) - middle_m) < 0.002);
}

function metresOf(said: string): number {
  const [, number = "", unit = "m"] = /^(-?[\d.]+) *(m|mm|in)?$/.exec(said) ?? [];
  return number === "" ? NaN : Number(number) * (unit === "mm" ? 0.001 : unit === "in" ? 0.0254 : 1);
}

export function pinSeam(draft: Draft, surface: string, across: Across, middle_m: number): void {
  // all pinned seams of a surface lie the same way, since its sheets do
  replaced(draft, "covering.seam", (row) => row["on"] !== surface || row[across] !== undefined, [{ on: surface, [across]: metres(middle_m) }]);
}

export function unpinSeam(draft: Draft, surface: string, which: number): void {
  let count = -1;
  replaced(draft, "covering.seam", (row) => row["on"] !== surface || ++count !== which, []);
}

// ---- pieces that are cut or set ----------------------------------------------------------------------------------

export interface PieceWish {
  state: PieceState;
  short: string;
  shortAt: "start" | "end";
  answer: "patch" | "again";
}

export function pieceWishOf(draft: Draft, id: string): PieceWish {
  const row = rows(draft, "covering.piece").find((said) => said["id"] === id);
  if (row === undefined) return { state: "planned", short: "", shortAt: "end", answer: "patch" };
  return {
    state: row["state"] === "cut" ? "cut" : "set", short: String(row["short"] ?? ""),
    shortAt: row["short_at"] === "start" ? "start" : "end", answer: row["answer"] === "again" ? "again" : "patch",
  };
}

/** Mark a piece: it stays as the plan has it now, with its number, and the rest is planned round it. */
export function setPieceWish(draft: Draft, piece: Piece, nameOf: (facet: string) => string, wish: PieceWish): void {
  const there = rows(draft, "covering.piece").find((row) => row["id"] === piece.id);
  const row: Table = { ...(there ?? pinned(piece, nameOf)), state: wish.state };
  delete row["short"];
  delete row["short_at"];
  delete row["answer"];
  if (wish.short !== "") Object.assign(row, { short: wish.short, short_at: wish.shortAt, answer: wish.answer });
  replaced(draft, "covering.piece", (said) => said["id"] !== piece.id, wish.state === "planned" ? [] : [row]);
}

function pinned(piece: Piece, nameOf: (facet: string) => string): Table {
  const ring = (points: readonly (readonly number[])[]): Json => points.map((p) => [exact(p[0] ?? 0), exact(p[1] ?? 0)]);
  const patch = piece.patches.map((one): Table => {
    const row: Table = { on: nameOf(one.facet), outline: ring(one.outline_m) };
    if (one.holes_m.length > 0) row["holes"] = one.holes_m.map(ring);
    if (one.at !== null) row["at"] = { x: exact(one.at.x_m), y: exact(one.at.y_m), angle_deg: one.at.angle_deg, flipped: one.at.flipped };
    return row;
  });
  const row: Table = { id: piece.id, role: piece.role, item: piece.item, material: piece.material, patch };
  if (piece.blank_m !== null) row["blank"] = piece.blank_m.map(exact);
  if (piece.second_at) Object.assign(row, { parting: ring(piece.parting_m ?? []), second_at: piece.second_at });
  return row;
}
