// What a person has typed so far: tables and keys of a job file as JSON. It may lack anything and hold anything.

export type Json = string | number | boolean | null | Json[] | { [key: string]: Json };
export type Table = { [key: string]: Json };
export type Draft = Table;

/** A copy that shares nothing with the original, so that a change of one leaves the other alone. */
export function copyOf<T extends Json>(value: T): T {
  return structuredClone(value);
}

export function isTable(value: Json | undefined): value is Table {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** The value at a path such as `survey.reading[2].is`, undefined where there is none. */
export function at(draft: Json, path: string): Json | undefined {
  let here: Json | undefined = draft;
  for (const step of steps(path)) {
    if (typeof step === "number") here = Array.isArray(here) ? here[step] : undefined;
    else here = isTable(here) ? here[step] : undefined;
  }
  return here;
}

/** Set the value at a path, making tables and lists on the way; undefined takes the key away. */
export function put(draft: Draft, path: string, value: Json | undefined): void {
  const way = steps(path);
  const last = way.pop();
  if (last === undefined) return;
  let here: Json = draft;
  way.forEach((step, i) => {
    const next = i + 1 < way.length ? way[i + 1] : last;
    here = entered(here, step, typeof next === "number" ? [] : {});
  });
  if (Array.isArray(here) && typeof last === "number") {
    if (value === undefined) here.splice(last, 1);
    else here[last] = value;
  } else if (isTable(here) && typeof last === "string") {
    if (value === undefined) delete here[last];
    else here[last] = value;
  }
}

function entered(here: Json, step: string | number, otherwise: Json): Json {
  if (Array.isArray(here) && typeof step === "number") {
    const there = here[step];
    return typeof there === "object" && there !== null ? there : (here[step] = otherwise);
  }
  if (isTable(here) && typeof step === "string") {
    const there = here[step];
    return typeof there === "object" && there !== null ? there : (here[step] = otherwise);
  }
  throw new TypeError("a path leads through a value that is neither table nor list");
}

/** The rows of a list of tables, such as `room.wall`; empty where there is none. */
export function rows(draft: Json, path: string): Table[] {
  const found = at(draft, path);
  return Array.isArray(found) ? found.filter(isTable) : [];
}

/** The text at a path, empty where there is none. */
export function textAt(draft: Json, path: string): string {
  const found = at(draft, path);
  return typeof found === "string" ? found : typeof found === "number" || typeof found === "boolean" ? String(found) : "";
}

/** The steps of a path. Keys that are no bare words stand in quotes: `prices.item."sheet 0.5 perm".usd`. */
export function steps(path: string): (string | number)[] {
  const found: (string | number)[] = [];
  for (const [, quoted, index, bare] of path.matchAll(/"((?:[^"\\]|\\.)*)"|\[(\d+)\]|([^.[\]"]+)/g)) {
    if (index !== undefined) found.push(Number(index));
    else if (quoted !== undefined) found.push(JSON.parse(`"${quoted}"`) as string);
    else if (bare !== undefined) found.push(bare);
  }
  return found;
}

/** Whether two values say the same, whatever the order of their keys. */
export function same(one: Json | undefined, other: Json | undefined): boolean {
  if (one === other) return true;
  if (Array.isArray(one) && Array.isArray(other)) return one.length === other.length && one.every((value, i) => same(value, other[i]));
  if (!isTable(one) || !isTable(other)) return false;
  const keys = Object.keys(one);
  return keys.length === Object.keys(other).length && keys.every((key) => key in other && same(one[key], other[key]));
}
