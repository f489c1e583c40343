// Outside air of a climate, in the units of the job.
import type { Climate } from "../api/types";

type Units = "inch" | "metric";
type Points = [number, number][];

export const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"] as const;

const degrees = (kelvin: number, units: Units): number => (units === "inch" ? (kelvin - 273.15) * 1.8 + 32 : kelvin - 273.15);
const shown = (kelvin: number, units: Units): string => `${Math.round(degrees(kelvin, units)).toString().replace("-", "−")} ${units === "inch" ? "°F" : "°C"}`;
const byMonth = (of: (month: number) => number): Points => MONTHS.map((_, month) => [month + 1, Math.round(of(month) * 10) / 10]);

/** What can be chosen: every climate with its coldest and warmest month, the usual one for a job that says nothing. */
export function choices(climates: readonly Climate[], units: Units): [string, string][] {
  const told = (c: Climate): string => `${c.name}: from ${shown(Math.min(...c.mean_k), units)} to ${shown(Math.max(...c.mean_k), units)} in the monthly mean`;
  const usual = climates.filter((c) => c.usual).map((c): [string, string] => ["", `usual, ${told(c)}`]);
  return [...usual, ...climates.map((c): [string, string] => [c.name, told(c)])];
}

/** The mean of every month, and what half the daily range lies over and under it. */
export function temperatureLines(climate: Climate, units: Units): { name: string; points: Points }[] {
  const line = (name: string, halves: number): { name: string; points: Points } =>
    ({ name, points: byMonth((m) => degrees((climate.mean_k[m] ?? 0) + halves * (climate.daily_range_k[m] ?? 0) / 2, units)) });
  return [line("mean", 0), line("by day", 1), line("by night", -1)];
}

export function humidityLines(climate: Climate): { name: string; points: Points }[] {
  return [{ name: "at the mean temperature", points: byMonth((m) => (climate.humidity_ratio[m] ?? 0) * 100) }];
}
