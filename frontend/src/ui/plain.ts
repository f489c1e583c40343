// Mistakes are worded for job files too; here nobody sees a file, so its words become those of a form.
import type { Mistake } from "../api/types";
import { THINGS as FORMS } from "../measure/things";

const KEYS: Record<string, string> = {
  low_wall: "the lowest wall", along: "the wall that the ridge runs along", pitch: "a fall", apex: "the height of the highest point", height: "a height",
  drain_wall: "the wall of the drain", at: "its place on the plan", up: "its height over the floor", from: "where it begins", to: "where it ends", is: "a length",
  room: "the ceiling", survey: "a plan", buildup: "what the walls are built of", ceiling: "the ceiling", shape: "its shape", setback: "how far back the leaf or pane stands",
  top: "its top", bottom: "its bottom", width: "a width", depth: "a depth", diameter: "a diameter", name: "a name", kind: "its kind", wall: "the wall it stands on", on: "what it goes through",
  side: "the wall", thickness: "a thickness", underside: "the height of its underside",
};
const THINGS: Record<string, string> = {
  opening: "opening", bench: "bench", niche: "niche", curb: "curb", half_wall: "half wall", penetration: "pipe or fitting", pan: "pan", ceiling: "ceiling", wall: "wall", column: "column", soffit: "soffit",
};

/** What is missing or wrong, without the words of a file. */
export function plainDetail(mistake: Mistake): string {
  const missing = /^(?:the table )?“(\w+)” is missing$|^there is no “(\w+)”$/.exec(mistake.detail);
  const key = missing?.[1] ?? missing?.[2];
  let text = key === undefined ? mistake.detail : `${where(mistake.path)}${KEYS[key] ?? key.replaceAll("_", " ")} is missing`;
  if (text.startsWith("“” ")) text = "nothing is typed here yet";
  text = text.replace(/a ceiling of shape “(\w+)” needs “(\w+)”/, (_, shape: string, need: string) => `a ${shape} ceiling needs ${KEYS[need] ?? need}`)
    .replace(/“(along|up|at|pitch|apex|drain_wall|bottom|top|from|to)”/g, (_, word: string) => KEYS[word] ?? word)
    .replace("its plan point its place on the plan", "its place on the plan");
  return title(text);
}

/** What is missing or wrong, said at its own place: what it is of need not be named there. */
export function plainAtPlace(mistake: Mistake): string {
  const [detail, of] = [plainDetail(mistake), where(mistake.path)];
  return of !== "" && detail.toLowerCase().startsWith(of) ? title(detail.slice(of.length)) : detail;
}

/** What mends a finding: what would be written into a job file is set in a form here. */
export function plainFix(fix: string): string {
  return fix.split(/(?<=\[\[room\.\w+\]\]|(?<!\[)\[room\.\w+\])/).map((part) => {
    const of = FORMS.find((thing) => thing.key === /\[room\.(\w+)\]\]?$/.exec(part)?.[1]);
    if (of === undefined) return part;
    return part.replace(/ under \[?\[room\.\w+\]\]?$/, ` (Measure, ${of.one})`).replace(/^Write (?=\w+ = )/, "Set ")
      .replace(/(\w+) = ("[^"]*"|\[[^\]]*\])/g, (_, key: string, written: string) => {
        const field = of.fields.find((one) => one.key === key);
        const value = written.replace(/["[\]]/g, "");
        return `“${field?.label ?? key}” to ${field?.choices?.find(([known]) => known === value)?.[1] ?? value}`;
      });
  }).join("");
}

/** Words with a capital letter first: `measure` as `Measure`. */
export function title(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function where(path: string): string {
  const thing = /^room\.(\w+)(?:\[(\d+)\])?\./.exec(path);
  const word = thing === null ? undefined : THINGS[thing[1] ?? ""];
  return word === undefined ? "" : `${word}${thing?.[2] === undefined ? "" : ` ${Number(thing[2]) + 1}`}: `;
}

/** What to do about it; empty where only a file would need telling. */
export function plainHint(mistake: Mistake): string {
  if (/^begin (?:it|each) with \[|^write it in quotes|^write it in square brackets|^write it without quotes|^put both into one table/.test(mistake.hint)) return "";
  if (/ = (?:…|\[…\]|\{…\}|"…")/.test(mistake.hint)) return "";
  if (!/\w+ = ["\[\d]/.test(mistake.hint)) return mistake.hint.replace(/^give (.*) in quotes with its unit, such as "(.*)"$/, "give $1 with its unit, such as $2");
  return mistake.hint.replace(/^write such as /, "such as ").replace(/\b\w+ = /g, "").replace(/"([^"]*)"/g, "$1");
}
