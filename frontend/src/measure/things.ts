// What stands in the room, hangs in it or goes through its walls: the fields of each, in words, with a usual start.
import { isTable, rows, type Draft, type Json, type Table } from "../job/draft";
import { read, type Units } from "./keypad";
import { wallsOf } from "./stations";

export type FieldKind = "length" | "slope" | "text" | "wall" | "surface" | "station" | "choice" | "check" | "point" | "number";
export interface FieldSaid {
  key: string;
  label: string;
  kind: FieldKind;
  hint?: string;
  choices?: readonly (readonly [string, string])[];
  /** What it says while nothing is chosen. */
  empty?: string;
  /** Shown only where another field has one of these values. */
  where?: readonly [string, readonly string[]];
}
export interface ThingKind {
  /** Under `room` in the job. */
  key: string;
  one: string;
  many: string;
  /** There is one of it in every room. */
  single?: boolean;
  fields: readonly FieldSaid[];
  /** What a new one begins with; lengths in inches, slopes in inches a foot. */
  usual: Readonly<Record<string, string | number | boolean>>;
}

const field = (key: string, label: string, kind: FieldKind, more: Partial<FieldSaid> = {}): FieldSaid => ({ key, label, kind, ...more });
const NAME = field("name", "Name", "text");
const WALL = field("wall", "On the wall", "wall", { empty: "Choose" });
const FROM = field("from", "Begins at", "length", { hint: "Along the wall from its first corner." });
const TO = field("to", "Ends at", "length", { hint: "Empty: runs to the end of the wall." });
const SLOPE = field("slope", "Fall of the top", "slope", { hint: "Into the room." });
const FACES: FieldSaid["choices"] = [["framing", "Studs"], ["slab", "Slab"], ["existing", "Old finish"], ["board", "Board"], ["tile", "Finished tile"]];
export const BEYOND: FieldSaid["choices"] = [
  ["heated room", "Heated room"], ["outdoors north", "Outdoors, north"], ["outdoors east", "Outdoors, east"], ["outdoors south", "Outdoors, south"],
  ["outdoors west", "Outdoors, west"], ["attic", "Attic"], ["garage", "Garage"], ["basement", "Basement"], ["ground", "Ground"], ["steam room", "Another steam room"],
];
const ENDS: readonly FieldSaid[] = [
  field("ending", "How the covering ends there", "text", { hint: "Such as: past the jamb, under the frame." }),
  field("reach", "How far it reaches past the edge", "length"),
  field("sealed_by", "Sealed by", "text", { hint: "Such as: silicone sealant behind the frame." }),
];

export const THINGS: readonly ThingKind[] = [
  { key: "ceiling", one: "Ceiling", many: "Ceiling", single: true, usual: {}, fields: [
    field("shape", "Shape", "choice", { choices: [["slope", "Falls to one wall"], ["ridge", "Falls both ways from a ridge"], ["hip", "Falls to every wall"], ["flat", "Flat"], ["planes", "Through spot heights"]],
      empty: "Choose", hint: "A flat steam ceiling drips on the people under it." }),
    field("height", "Height", "length", { hint: "Floor to ceiling: at the low wall, under the ridge, or at the walls of a hip.", where: ["shape", ["flat", "slope", "ridge", "hip"]] }),
    field("pitch", "Fall", "slope", { where: ["shape", ["slope", "ridge", "hip"]] }),
    field("low_wall", "Lowest at the wall", "wall", { empty: "Choose", where: ["shape", ["slope"]] }),
    field("along", "Ridge runs along", "wall", { empty: "Choose", where: ["shape", ["ridge"]] }),
    field("apex", "Height of the highest point", "length", { where: ["shape", ["hip"]] }),
    field("face", "Measured on", "choice", { choices: FACES, empty: "Same as the walls" }),
    field("beyond", "What lies over it", "choice", { choices: BEYOND, empty: "Not known yet" }),
  ] },
  { key: "opening", one: "Door or window", many: "Doors and windows", usual: { kind: "door", swing: "out", ending: "past the jamb, under the frame", reach: "3 in", sealed_by: "silicone sealant behind the frame" }, fields: [
    NAME, field("kind", "Kind", "choice", { choices: [["door", "Door"], ["window", "Window"], ["transom", "Transom"], ["glass", "Fixed glass"]] }), WALL,
    field("from", "Begins at", "length", { hint: "Along the wall from its first corner." }), field("width", "Width", "length"),
    field("bottom", "Bottom over the floor", "length"), field("top", "Top over the floor", "length"),
    field("setback", "Leaf or pane behind the wall's face", "length", { hint: "Jambs are that deep." }), field("sill_slope", "Fall of the sill", "slope"),
    field("swing", "Opens", "choice", { choices: [["out", "Outward"], ["in", "Inward"], ["none", "Does not open"]], hint: "A steam room door opens outward, so that nobody is shut in." }),
    field("hinge", "Hinges, seen from inside", "choice", { choices: [["left", "Left"], ["right", "Right"], ["none", "None"]] }),
    field("curbless", "No curb under it", "check"), ...ENDS,
  ] },
  { key: "bench", one: "Bench", many: "Benches", usual: { depth: "18 in", height: "18 in", slope: "1/4 in/ft" }, fields: [
    NAME, WALL, FROM, TO, field("depth", "Depth", "length"), field("height", "Height of the seat", "length"), SLOPE,
    field("past_glass", "Runs on past the glass by", "length", { hint: "Only where a bench leaves the room under glass." }),
  ] },
  { key: "niche", one: "Niche", many: "Niches", usual: { depth: "3 1/2 in", sill_slope: "1/4 in/ft" }, fields: [
    NAME, WALL, field("from", "Begins at", "length", { hint: "Rough opening, along the wall from its first corner." }), field("bottom", "Bottom over the floor", "length"),
    field("width", "Width", "length"), field("height", "Height", "length"), field("depth", "Depth", "length"), field("sill_slope", "Fall of the sill", "slope"),
  ] },
  { key: "curb", one: "Curb", many: "Curbs", usual: { width: "4 1/2 in", height: "5 in", slope: "1/4 in/ft" }, fields: [
    NAME, WALL, FROM, TO, field("width", "Width", "length"), field("height", "Height", "length"), SLOPE,
  ] },
  { key: "half_wall", one: "Half wall", many: "Half walls", usual: { thickness: "4 1/2 in", slope: "1/4 in/ft" }, fields: [
    NAME, WALL, FROM, TO, field("thickness", "Thickness on the steam side of the glass", "length"), field("height", "Height", "length"), SLOPE,
  ] },
  { key: "penetration", one: "Pipe or fitting", many: "Pipes and fittings", usual: {}, fields: [
    NAME,
    field("kind", "Kind", "choice", { choices: [["valve", "Valve"], ["pipe", "Pipe"], ["steam_outlet", "Steam outlet"], ["sensor", "Sensor"], ["light", "Light"], ["drain", "Drain"],
      ["niche_box", "Niche box"], ["hinge", "Hinge"], ["clamp", "Glass clamp"], ["bar", "Grab bar"], ["blocking_screw", "Screw into blocking"], ["other", "Something else"]] }),
    field("on", "Goes through", "surface", { empty: "Choose" }), field("along", "Along the wall", "length", { hint: "From the wall's first corner to the middle." }),
    field("up", "Over the floor", "length"), field("at", "On floor or ceiling", "point"), field("diameter", "Diameter", "length"),
    field("sleeve", "Sleeve", "text", { where: ["kind", ["steam_outlet"]] }),
    field("seal_f", "Sealant good for, °F", "number", { where: ["kind", ["steam_outlet"]], hint: "Steam is 212 °F where it comes out: it scalds." }),
  ] },
  { key: "pan", one: "Pan and drain", many: "Pan and drain", single: true, usual: {}, fields: [
    field("membrane", "Membrane of the floor", "choice", { choices: [["liner", "A liner under the bed, by others"], ["bonded", "Bonded on the sloped bed"]] }),
    field("drain", "Drain", "choice", { choices: [["point", "Point drain"], ["line", "Line drain along a wall"]] }),
    field("drain_wall", "Along the wall", "wall", { empty: "Choose", where: ["drain", ["line"]] }), field("drain_at", "Middle of the drain", "point", { where: ["drain", ["point"]], hint: "Empty: in the middle of the floor." }),
    field("drain_diameter", "Diameter of the drain", "length", { where: ["drain", ["point"]] }), field("pitch", "Fall of the floor", "slope"),
    field("bed_at_drain", "Bed thickness at the drain", "length"),
    field("perimeter", "Along the walls", "choice", { choices: [["level", "The bed is level"], ["constant pitch", "The pitch is constant"]] }),
    field("beyond", "What lies under it", "choice", { choices: BEYOND, empty: "Not known yet" }),
  ] },
  { key: "wall", one: "Behind a wall", many: "What lies behind the walls", usual: {}, fields: [
    field("side", "Wall", "wall", { empty: "Choose" }), field("kind", "Made of", "choice", { choices: [["framed", "Framing or masonry"], ["glass", "Glass from wall to wall"]] }),
    field("beyond", "What lies behind it", "choice", { choices: BEYOND, empty: "Not known yet" }),
    field("radius", "Curved with a radius of", "length", { hint: "Empty: straight." }), field("bulge", "Curves", "choice", { choices: [["outward", "Out of the room"], ["inward", "Into the room"]] }), ...ENDS.map((f) => ({ ...f, where: ["kind", ["glass"]] as const })),
  ] },
  { key: "column", one: "Column", many: "Columns", usual: {}, fields: [NAME, field("at", "Middle", "point"), field("size", "Sides", "point"), field("turned_deg", "Turned by, degrees", "number")] },
  { key: "soffit", one: "Soffit", many: "Soffits", usual: {}, fields: [
    NAME, WALL, FROM, TO, field("depth", "Depth", "length"), field("underside", "Underside over the floor, at the wall", "length"), field("slope", "Fall of the underside", "slope"),
  ] },
];

export function kindOf(key: string): ThingKind {
  return THINGS.find((t) => t.key === key) ?? (THINGS[0] as ThingKind);
}

/** A thing to begin with, with its usual sizes and a name of its own. */
export function newThing(draft: Draft, kind: ThingKind, wall: string | undefined, units: Units): Table {
  const made: Table = {};
  const words = kind.one.toLowerCase();
  if (kind.fields.some((f) => f.key === "name")) made["name"] = freeName(draft, kind.key === "opening" ? "door" : kind.key === "penetration" ? "pipe" : words);
  const place = wall ?? wallsOf(draft)[0];
  for (const key of ["wall", "side", "on"]) if (place !== undefined && kind.fields.some((f) => f.key === key)) made[key] = place;
  for (const [key, value] of Object.entries(kind.usual)) made[key] = typeof value === "string" ? inUnits(value, units) : value;
  if (kind.key === "penetration") made["kind"] = "pipe";
  return made;
}

/** A usual value in the units of the job. */
export function inUnits(value: string, units: Units): string {
  if (units === "inch") return value;
  if (value.endsWith(" in/ft")) return "2 %";
  if (!value.endsWith(" in")) return value;
  const said = read(value, "inch");
  return "wrong" in said ? value : `${Math.round(said.length_m * 1000)} mm`;
}

function freeName(draft: Draft, word: string): string {
  const taken = THINGS.flatMap((kind) => (kind.single === true ? [] : rows(draft, `room.${kind.key}`).map((t) => t["name"])));
  for (let n = 1; ; n += 1) {
    const name = n === 1 ? word : `${word} ${n}`;
    if (!taken.includes(name)) return name;
  }
}

/** What a penetration can go through. */
export function surfacesOf(draft: Draft): string[] {
  const blocks = ["bench", "curb", "half_wall", "niche"].flatMap((kind) => rows(draft, `room.${kind}`).map((t) => String(t["name"] ?? "")));
  return [...wallsOf(draft), "ceiling", "floor", ...blocks.filter((name) => name !== "")];
}

/** Whether a field belongs to what was chosen so far. */
export function isAsked(thing: Json | undefined, said: FieldSaid, draft: Draft): boolean {
  const table = isTable(thing) ? thing : {};
  if (said.key === "along" || said.key === "up" || said.key === "at") {
    const on = table["on"];
    if (on !== undefined) return (said.key === "at") !== wallsOf(draft).includes(String(on));
  }
  if (said.where === undefined) return true;
  const [key, values] = said.where;
  const chosen = table[key] ?? (key === "drain" ? "point" : undefined);
  return values.includes(String(chosen));
}

/** A build-up that is common for a steam room on wood studs, to begin with; common practice, no source. */
export function usualBuildUp(draft: Draft, units: Units): Json {
  const layer = (material: string, thickness?: string): Table => (thickness === undefined ? { material } : { material, thickness: inUnits(thickness, units) });
  const bonded = isTable(draft["room"]) && isTable(draft["room"]["pan"]) && draft["room"]["pan"]["membrane"] === "bonded";
  const above = [layer("porcelain tile"), layer("modified dry-set mortar", "1/8 in"), layer("sheet membrane 0.5 perm"), layer("modified dry-set mortar", "1/16 in")];
  const walls: Table = {
    name: "tile over cement board", on: ["walls", "ceiling", "benches", "niches", "openings", "curbs", "half walls", "columns", "soffits"],
    layers: [...above, layer("cement board 1/2 in"), layer("mineral wool batt")],
    framing: { kind: "wood stud", depth: inUnits("3 1/2 in", units), spacing: inUnits("16 in", units) },
  };
  const pan: Table = { name: "bonded pan", on: ["floor"], layers: [...structuredClone(above), layer("bed mortar", "1 1/2 in")], framing: { kind: "none" } };
  return bonded ? [walls, pan] : [walls];
}
