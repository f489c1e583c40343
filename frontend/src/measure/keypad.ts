// What a person reads off a tape, as text that keys and keyboards change alike, and as the length that it says.

export type Units = "inch" | "metric";
export type Key = { digit: string } | { sixteenths: number } | "feet" | "point" | "back" | "clear";
/** A length that was understood, and how it is written in the job; or why it was not. */
export type Said = { length_m: number; text: string } | { wrong: string };

const INCH_M = 0.0254;
const GLYPHS: Record<string, string> = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const ENTRY = /^(?:(\d+)' ?)?(\d*\.?\d*)(?: ?(\d+\/\d+))?$/;
const NUMBER = String.raw`(?:\d+\s+\d+\/\d+|\d+\/\d+|\d+\.?\d*|\.\d+)`;
const FEET_AND = new RegExp(`^(${NUMBER})\\s*(?:'|ft\\.?|feet|foot)(?:\\s*-?\\s*(${NUMBER})\\s*(?:"|''|in\\.?|inch|inches)?)?$`, "i");
const INCHES = new RegExp(`^(${NUMBER})\\s*(?:"|''|in\\.?|inch|inches)$`, "i");
const DASHED = new RegExp(`^(\\d+)\\s*-\\s*(${NUMBER})\\s*(?:"|in\\.?)?$`, "i");
const METRIC = /^(\d+\.?\d*|\.\d+)\s*(mm|cm|m)$/i;
const BARE = new RegExp(`^${NUMBER}$`);

/** The text after one key. Digits belong to the inches and a fraction replaces the one before, in whatever order they come. */
export function press(text: string, key: Key): string {
  if (key === "clear") return "";
  const match = ENTRY.exec(text.trim());
  if (match === null) return pressFreely(text, key);
  const [, feet, whole = "", fraction] = match;
  if (key === "back") return fraction !== undefined ? made(feet, whole, undefined) : whole !== "" ? made(feet, whole.slice(0, -1), undefined) : feet ?? "";
  if (key === "feet") return feet === undefined && whole !== "" && !whole.includes(".") ? made(whole, "", fraction) : text;
  if (key === "point") return whole.includes(".") || fraction !== undefined ? text : made(feet, `${whole === "" ? "0" : whole}.`, fraction);
  if ("sixteenths" in key) return made(feet, whole.replace(/\..*$/, ""), fractionText(key.sixteenths) || undefined);
  return made(feet, (whole + key.digit).replace(/^0+(?=\d)/, ""), fraction);
}

function pressFreely(text: string, key: Key): string {
  if (key === "back") return text.slice(0, -1);
  if (key === "feet") return `${text}' `;
  if (key === "point") return `${text}.`;
  if (key === "clear") return "";
  return "digit" in key ? text + key.digit : `${text.trimEnd()} ${fractionText(key.sixteenths)}`;
}

function made(feet: string | undefined, whole: string, fraction: string | undefined): string {
  const rest = [whole, fraction ?? ""].filter((part) => part !== "").join(" ");
  return feet === undefined ? rest : `${feet}' ${rest}`.trimEnd();
}

/** Sixteenths as they stand on a tape: 4 is `1/4`, 0 is nothing. */
export function fractionText(sixteenths: number): string {
  if (sixteenths <= 0) return "";
  let [over, of] = [sixteenths, 16];
  while (over % 2 === 0) [over, of] = [over / 2, of / 2];
  return `${over}/${of}`;
}

/** Understand what was typed. Without a unit it is inches, or millimetres in a metric job. */
export function read(typed: string, units: Units): Said {
  const text = plain(typed);
  if (text === "") return { wrong: "Nothing is typed yet" };
  if (/\d,\d/.test(text)) return { wrong: `Write a point instead of the comma: ${text.replaceAll(",", ".")}` };
  const negative = text.startsWith("-");
  const said = positive(negative ? text.slice(1).trim() : text, units);
  if ("wrong" in said || !negative) return said;
  return { length_m: -said.length_m, text: `-${said.text}` };
}

function positive(text: string, units: Units): Said {
  const metric = METRIC.exec(text);
  if (metric !== null) {
    const unit = (metric[2] as string).toLowerCase();
    return { length_m: Number(metric[1]) * (unit === "mm" ? 0.001 : unit === "cm" ? 0.01 : 1), text: `${metric[1]} ${unit}` };
  }
  if (units === "metric" && /^(\d+\.?\d*|\.\d+)$/.test(text)) return { length_m: Number(text) * 0.001, text: `${text} mm` };
  const footed = FEET_AND.exec(text) ?? DASHED.exec(text);
  if (footed !== null) return feetAndInches(text, footed[1] as string, footed[2]);
  const inches = INCHES.exec(text)?.[1] ?? (units === "inch" && BARE.test(text) ? text : undefined);
  if (inches === undefined) {
    return { wrong: units === "metric" ? "Write millimetres such as 1918, or 1.918 m" : "Write inches such as 75 1/2, or feet and inches such as 6' 3 1/2\"" };
  }
  const value = number(inches);
  return typeof value === "string" ? { wrong: value } : { length_m: value * INCH_M, text: `${inches} in` };
}

function feetAndInches(text: string, feet: string, inches: string | undefined): Said {
  const [whole, rest] = [number(feet), number(inches ?? "0")];
  if (typeof whole === "string") return { wrong: whole };
  if (typeof rest === "string") return { wrong: rest };
  if (rest >= 12) return { wrong: `${text} has ${rest} inches after the feet: carry every 12 over into a foot, or give inches alone` };
  return { length_m: (whole * 12 + rest) * INCH_M, text: inches === undefined || rest === 0 ? `${feet} ft` : `${feet} ft ${inches} in` };
}

/** The value of `6`, `6.5`, `1/2` or `6 1/2`, or what is wrong with it. */
function number(text: string): number | string {
  if (!text.includes("/")) return Number(text);
  const parts = text.split(/\s+/);
  const [over, of] = (parts.pop() as string).split("/").map(Number) as [number, number];
  if (of === 0) return `${text} has a fraction over nothing`;
  if (parts.length > 0 && over >= of) return `${text} has a fraction of one or more after a whole number`;
  return over / of + (parts.length > 0 ? Number(parts[0]) : 0);
}

function plain(text: string): string {
  const spelled = text.replace(/[½¼¾⅛⅜⅝⅞]/g, (glyph) => ` ${GLYPHS[glyph] ?? ""}`);
  return spelled.replace(/[′’]/g, "'").replace(/[″”“]/g, '"').replace(/[−–]/g, "-").replace(/⁄/g, "/").replace(/\s+/g, " ").trim();
}

/** The length that a text of the job says, undefined where there is none or it cannot be understood. */
export function metres(text: unknown, units: Units): number | undefined {
  if (typeof text !== "string") return undefined;
  const said = read(text, units);
  return "wrong" in said ? undefined : said.length_m;
}

/** A text of the job as it is typed: `75 1/2 in` as `75 1/2`, `6 ft 3 in` as `6' 3`. */
export function typed(text: string, units: Units): string {
  if (units === "metric") return text.replace(/\s*mm$/, "");
  return text.replace(/\s*ft\b\s*/, "' ").replace(/\s*(?:in|")$/, "").trimEnd();
}

/** A slope as it is kept: without a unit it is inches a foot, or per cent in a metric job. Other units stand as they are typed. */
export function readSlope(text: string, units: Units): Said {
  const said = plain(text);
  if (said === "") return { wrong: "Nothing is typed yet" };
  return { length_m: 0, text: BARE.test(said) ? `${said} ${units === "metric" ? "%" : "in/ft"}` : said };
}

export function typedSlope(text: string, units: Units): string {
  return text.replace(units === "metric" ? /\s*%$/ : /\s*in\/ft$/, "");
}
