// Sentences that several screens say.
import type { Finding, Mistake } from "../api/types";
import { plainAtPlace, plainDetail, plainHint } from "./plain";

/** A mistake as one sentence with the way out. */
export function mistakeText(mistake: Mistake): string {
  const [text, hint] = [plainDetail(mistake), plainHint(mistake)];
  return hint === "" ? text : `${text}: ${hint}`;
}

/** The same beside the field that it belongs to. */
export function mistakeAtField(mistake: Mistake): string {
  const [text, hint] = [plainAtPlace(mistake), plainHint(mistake)];
  return hint === "" ? text : `${text}: ${hint}`;
}

export function words(wrong: unknown): string {
  return wrong instanceof Error ? wrong.message : String(wrong);
}

export function when(time: string): string {
  return new Date(time).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

export const VERDICTS = ["fail", "marginal", "missing_input", "manual", "pass", "not_applicable"] as const;
export type Verdict = (typeof VERDICTS)[number];
export const VERDICT_WORDS: Record<Verdict, string> = {
  fail: "Fails", marginal: "Too close to call", missing_input: "Not known yet", manual: "Do by hand", pass: "Holds", not_applicable: "Does not apply",
};

/** Findings in the order in which they should be read: what fails first, required before the rest. */
export function inUrgency(findings: readonly Finding[]): Finding[] {
  const rank = (f: Finding): number => VERDICTS.indexOf(f.verdict as Verdict) * 2 + (f.level === "required" ? 0 : 1);
  return [...findings].sort((a, b) => rank(a) - rank(b));
}

/** How a rule is known, where that is a reason to look it up before relying on it. */
export function knownText(finding: Finding): string {
  if (finding.how_known === "memory") return "verify: from memory";
  if (finding.how_known === "practice") return "common practice, no source";
  return "";
}
