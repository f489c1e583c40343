// What the server says of build-ups side by side, and how it is put in a table.

import { LB_FT2_KG_M2, LB_KG, R_M2K_W } from "../units/heat";

export interface Band {
  still: number;
  stirred: number;
}

export interface Monthly {
  side: string;
  retarder: boolean;
  planes: unknown[];
  peak_kg_m2: number;
  dries_out: boolean;
  water_by_month_kg_m2: number[];
  first_month: number;
}

export interface Hourly {
  side: string;
  retarder: boolean;
  functions: string;
  interfaces: { between: string; hours_over_80: number; hours_over_95: number; mold_index: number }[];
  behind_by_year_kg_m2: number[];
  steady: boolean;
  mold_index: number;
}

export interface Variant {
  buildup: string;
  name: string;
  is_base: boolean;
  permeance_kg_pa_s_m2: number | null;
  safety: number | null;
  r_m2k_w: number;
  u_w_m2k: number;
  mass_kg_m2: number;
  area_m2: number;
  between_studs: boolean;
  notes: string[];
  monthly: Monthly[];
  hourly: Hourly[];
  steam: {
    generator_w: Band | null;
    hold_w: Band;
    water_kg_h: Band;
    condensate_kg_h: Band;
    history: { minute: number; air_k: number; warmest_k: number; coldest_k: number }[];
  };
}

export interface Comparison {
  format: "steamwright-comparison";
  families: { base: string; variants: Variant[]; reasons: string[] }[];
  cautions: { kind: string; sentence: string; source: string }[];
  limit: { permeance_kg_pa_s_m2: number; source: string; how_known: string };
  assumptions: string[];
  hourly_years: number;
  climate: string;
}

/** How many years by the hour the most thorough comparison among the files of a plan runs over; null if there is none. */
export function keptComparison(files: readonly string[]): string | null {
  const kept = files.map((file) => /^comparison-(\d+)(?:-[0-9a-f]{12})?\.json$/.exec(file)).filter((said) => said !== null);
  const most = Math.max(...kept.map((said) => Number(said[1])));
  return kept.filter((said) => Number(said[1]) === most).at(-1)?.[0] ?? null;
}

const PERM = 5.72134946709e-11; // ASTM E96: 1 perm [kg/(Pa s m²)]

export function permeance(value: number | null, units: "inch" | "metric"): string {
  if (value === null) return "none known";
  return units === "inch" ? `${Number((value / PERM).toPrecision(3))} perm` : `${Number((value * 1e12).toPrecision(3))} ng/(Pa s m²)`;
}

/** What two numbers of a reason are multiplied by, and the unit that they then have. */
const SAID: Record<"inch" | "metric", Record<string, [number, string]>> = {
  inch: { "W/(m² K)": [R_M2K_W, "Btu/(h ft² °F)"], "kg/m²": [1 / LB_FT2_KG_M2, "lb/ft²"], "kg/(Pa s m²)": [1 / PERM, "perm"], "kg/h": [1 / LB_KG, "lb/h"] },
  metric: { "kg/(Pa s m²)": [1e12, "ng/(Pa s m²)"] },
};

/** What speaks for a build-up, in the units of the job; the plan says it in SI. */
export function reason(sentence: string, units: "inch" | "metric"): string {
  return sentence.replace(/(\S+) against (\S+) ([^:]+)$/, (whole, low: string, high: string, unit: string) => {
    const [scale, said] = SAID[units][unit] ?? [1, ""];
    const shown = (value: string): string => String(Number((Number(value) * scale).toPrecision(3)));
    return said === "" ? whole : `${shown(low)} against ${shown(high)} ${said}`;
  });
}

/** What kilograms an hour are multiplied by, and the unit that they then have. */
export function massRate(units: "inch" | "metric"): [number, string] {
  return units === "inch" ? [1 / LB_KG, "lb/h"] : [1, "kg/h"];
}

export function temperature(kelvin: number, units: "inch" | "metric"): string {
  return units === "inch" ? `${((kelvin - 273.15) * 1.8 + 32).toFixed(0)} °F` : `${(kelvin - 273.15).toFixed(0)} °C`;
}

/** A band between still and stirred air. */
export function band(of: Band | null, scale: number, unit: string): string {
  if (of === null) return "none warms it in time";
  const [low, high] = [of.still * scale, of.stirred * scale].sort((a, b) => a - b);
  return `${low?.toFixed(1)} to ${high?.toFixed(1)} ${unit}`;
}

export function side(row: { side: string; retarder: boolean }): string {
  return `to ${row.side}${row.retarder ? ", retarder behind" : ""}`;
}

export function monthlyText(row: Monthly | undefined): string {
  if (row === undefined) return "—";
  if (row.planes.length === 0) return "dry all year";
  return `${(row.peak_kg_m2 * 1000).toFixed(0)} g/m² at most, ${row.dries_out ? "dries out" : "does not dry out"}`;
}

/** The hourly result of one side; where functions are estimated, the spread of the runs. */
export function hourlyText(rows: readonly Hourly[]): string {
  if (rows.length === 0) return "—";
  const spread = (values: number[], digits: number): string => {
    const [low, high] = [Math.min(...values).toFixed(digits), Math.max(...values).toFixed(digits)];
    return low === high ? low : `${low} to ${high}`;
  };
  const over = rows.map((row) => Math.max(0, ...row.interfaces.map((f) => f.hours_over_80)));
  const trend = rows.every((r) => r.steady) ? "steady" : rows.some((r) => r.steady) ? "steady or wetter" : "gets wetter";
  return `${spread(over, 0)} h over 80 %, mold index ${spread(rows.map((r) => r.mold_index), 1)}, ${trend}`;
}

/** The sides that any of the variants faces, in the order in which they come. */
export function sides<T extends { side: string; retarder: boolean }>(variants: readonly Variant[], of: (v: Variant) => readonly T[]): { side: string; retarder: boolean }[] {
  const found = new Map<string, { side: string; retarder: boolean }>();
  for (const v of variants) for (const row of of(v)) found.set(side(row), { side: row.side, retarder: row.retarder });
  return [...found.values()];
}
