// Days as the date field of a browser takes them, by the clock on the wall.

/** How long a guest link lets in unless another day is chosen; common practice, no source. */
export const LINK_DAYS = 90;
/** The server takes no more than three years. */
export const MOST_DAYS = 3 * 365;

/** The day that is so many days from a moment. */
export function dayAfter(now: Date, days: number): string {
  const then = new Date(now.getFullYear(), now.getMonth(), now.getDate() + days);
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${then.getFullYear()}-${two(then.getMonth() + 1)}-${two(then.getDate())}`;
}

/** The end of a day, as the server is told it; empty where it is no day. */
export function endOf(day: string): string {
  const [year, month, date] = day.split("-").map(Number);
  const end = new Date(year ?? NaN, (month ?? NaN) - 1, (date ?? NaN) + 1);
  return Number.isNaN(end.getTime()) ? "" : end.toISOString();
}

/** The last day up to a moment, in words. */
export function lastDay(ends_at: string): string {
  return new Date(new Date(ends_at).getTime() - 1).toLocaleDateString(undefined, { dateStyle: "medium" });
}
