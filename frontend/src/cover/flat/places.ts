// Sentences of the proof that name a place, and where that is.
import type { Facet } from "../../api/types";
import type { Point } from "../room";

export interface Spot {
  facet: string;
  at: Point;
}

/** The place that a sentence names, null where it names none: `bare: ceiling 1, … (s 0.340 m, t 0.065 m); …`. */
export function spotIn(sentence: string, facets: readonly Facet[]): Spot | null {
  const said = /\(s (-?[\d.]+) m, t (-?[\d.]+) m\)/.exec(sentence);
  if (said === null) return null;
  const before = sentence.slice(0, said.index);
  // the longest name wins, since "bench" begins "bench top"
  const named = facets.filter((facet) => before.includes(`: ${facet.name},`)).sort((a, b) => b.name.length - a.name.length)[0];
  return named === undefined ? null : { facet: named.id, at: [Number(said[1]), Number(said[2])] };
}

/** The same sentence without coordinates and millimetres, for people who have a tape and read the number beside it. */
export function forPeople(sentence: string): string {
  return sentence.replace(/ \(s -?[\d.]+ m, t -?[\d.]+ m\)/g, "").replace(/^lap of [^:]*: /, "least at ").replace(/^lap short, [^:]*: /, "lap short at ");
}
