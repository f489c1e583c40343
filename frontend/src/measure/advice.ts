// What the adjustment of the survey asks for, in one line to act on; the reasons are a tap away.
import type { Mistake, Survey } from "../api/types";
import { slotOf, type Kind, type Slot } from "./readings";
import { rows, type Draft } from "../job/draft";
import type { Units } from "./keypad";
import { stationsOf } from "./stations";

/** What to do next about readings that do not fit. */
export interface Advice {
  /** `Tape B to D again` */
  headline: string;
  slot: Slot;
  /** Taken before and in doubt, or never taken. */
  again: boolean;
  why: string;
}

/** What the survey names to measure, the most urgent first, as an order. */
export function adviceOf(draft: Draft, survey: Survey | null): Advice | null {
  if (survey === null) return null;
  for (const one of survey.report?.measure ?? []) {
    const found = asked(draft, one);
    if (found !== null) return found;
  }
  for (const mistake of survey.mistakes) {
    const found = clash(draft, mistake);
    if (found !== null) return found;
  }
  return null;
}

type Told = NonNullable<Survey["report"]>["measure"][number];

function asked(draft: Draft, { kind, of, again, sentence: why }: Told): Advice | null {
  if (kind !== "length") return { headline: `Measure ${kind} at ${of} again`, slot: { kind: kind as Kind, of }, again, why };
  const [a = "", b = ""] = of.split("-");
  // what was taken away while the answer was on its way is asked no more
  if (!stationsOf(draft).includes(a) || !stationsOf(draft).includes(b)) return null;
  return { headline: `Tape ${a} to ${b} ${again ? "again" : "as well"}`, slot: lengthSlot(draft, a, b), again, why };
}

/** A reading that cannot be, such as a side longer than the way round. */
function clash(draft: Draft, mistake: Mistake): Advice | null {
  const place = /^survey\.reading\[(\d+)\]\.is$/.exec(mistake.path)?.[1];
  const reading = place === undefined ? undefined : rows(draft, "survey.reading")[Number(place)];
  if (reading === undefined || mistake.code !== "input.survey" && mistake.code !== "input") return null;
  const slot = slotOf(reading);
  const [a, b] = slot.of.split("-");
  if (b === undefined) return { headline: `Measure ${slot.kind} at ${a} again`, slot, again: false, why: mistake.detail };
  return { headline: `Tape ${a} to ${b} again`, slot, again: false, why: mistake.detail };
}

function lengthSlot(draft: Draft, a: string, b: string): Slot {
  const stations = stationsOf(draft);
  const gap = Math.abs(stations.indexOf(a) - stations.indexOf(b));
  return { kind: gap === 1 || gap === stations.length - 1 ? "wall" : "diagonal", of: `${a}-${b}` };
}

/** How the readings fit, in words for somebody who holds a tape. */
export function fitWords(survey: Survey, units: Units): string {
  const report = survey.report;
  if (report === null) return "";
  if (report.dof <= 0) return "Nothing checks these lengths yet: one more tie across the room would.";
  if (survey.tape_again.length > 0 || !report.consistent) return "The lengths do not fit one another.";
  const worst = Math.max(0, ...report.readings.map((r) => Math.abs(r.residual_m)));
  return `The room closes: no length is off by more than ${offWords(worst, units)}.`;
}

function offWords(length_m: number, units: Units): string {
  if (units === "metric") return `${Math.max(1, Math.ceil(length_m * 1000 - 1e-9))} mm`;
  const marks = Math.max(1, Math.ceil(length_m / (0.0254 / 16) - 1e-9));
  return marks === 1 ? "a sixteenth of an inch" : `${marks} sixteenths of an inch`;
}
