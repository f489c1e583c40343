// Two versions of a draft that grew from one: what only one of them changed is taken, what both changed is asked.
import type { Revision } from "../api/types";
import { copyOf, isTable, same, type Draft, type Json, type Table } from "./draft";

/** Two versions of one job: what was typed here (kept aside by the server too) and what somebody else saved in between. */
export interface Conflict {
  yours: Revision;
  theirs: Revision;
  /** What both began with. */
  base: Draft;
}

/** A value that both changed, each in his own way; undefined where one of them took it away. */
export interface Clash {
  path: string;
  yours: Json | undefined;
  theirs: Json | undefined;
}

export interface Merged {
  draft: Draft;
  clashes: Clash[];
}

/**
 * Bring two versions together.
 *
 * @param base what both began with
 * @param yours what was typed here
 * @param theirs what somebody else saved in between
 * @param choose which of the two stands where both changed the same
 */
export function merge(base: Draft, yours: Draft, theirs: Draft, choose: (path: string) => "yours" | "theirs" = () => "theirs"): Merged {
  const clashes: Clash[] = [];
  const draft = mergedTable(base, yours, theirs, "", { clashes, choose });
  return { draft: copyOf(draft), clashes };
}

interface Asking {
  clashes: Clash[];
  choose: (path: string) => "yours" | "theirs";
}

function merged(base: Json | undefined, yours: Json | undefined, theirs: Json | undefined, path: string, asking: Asking): Json | undefined {
  if (same(yours, theirs)) return theirs;
  if (same(base, yours)) return theirs;
  if (same(base, theirs)) return yours;
  if (isTable(yours) && isTable(theirs)) return mergedTable(isTable(base) ? base : {}, yours, theirs, path, asking);
  if (Array.isArray(yours) && Array.isArray(theirs)) {
    const list = mergedList(Array.isArray(base) ? base : [], yours, theirs, path, asking);
    if (list !== null) return list;
  }
  asking.clashes.push({ path, yours, theirs });
  return asking.choose(path) === "yours" ? yours : theirs;
}

function mergedTable(base: Table, yours: Table, theirs: Table, path: string, asking: Asking): Table {
  const made: Table = {};
  for (const key of [...Object.keys(theirs), ...Object.keys(yours).filter((k) => !(k in theirs))]) {
    const value = merged(base[key], yours[key], theirs[key], path === "" ? key : `${path}.${/^[\w-]+$/.test(key) ? key : JSON.stringify(key)}`, asking);
    if (value !== undefined) made[key] = value;
  }
  return made;
}

/** Lists of tables that are called something are brought together by what they are called; other lists stand or fall whole. */
function mergedList(base: Json[], yours: Json[], theirs: Json[], path: string, asking: Asking): Json[] | null {
  const [b, y, t] = [called(base), called(yours), called(theirs)];
  if (b === null || y === null || t === null) return null;
  const names = [...t.keys(), ...[...y.keys()].filter((name) => !t.has(name))];
  const made: Json[] = [];
  for (const name of names) {
    const value = merged(b.get(name), y.get(name), t.get(name), `${path}[${name}]`, asking);
    if (value !== undefined) made.push(value);
  }
  return made;
}

function called(list: Json[]): Map<string, Json> | null {
  const found = new Map<string, Json>();
  for (const value of list) {
    const name = nameOf(value);
    if (name === null || found.has(name)) return null;
    found.set(name, value);
  }
  return found;
}

function nameOf(value: Json): string | null {
  if (!isTable(value)) return null;
  if (typeof value["of"] === "string") return `${String(value["kind"])} ${value["of"]}`;
  for (const key of ["name", "side", "item"]) if (typeof value[key] === "string") return value[key];
  return null;
}
