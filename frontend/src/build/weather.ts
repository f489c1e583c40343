// A file of hourly weather before it is sent: what is too large to be one is told at once.

/** A year of hours takes some 1.7 MB; the server takes no more than this. */
export const MOST_BYTES = 3_500_000;

/** What is wrong with a file before anybody reads it; empty where nothing is. */
export function unfit(file: { name: string; size: number }): string {
  if (file.size === 0) return `${file.name} is empty.`;
  if (file.size > MOST_BYTES) return `${file.name} has ${(file.size / 1e6).toFixed(1)} MB, and a year of hourly weather has under ${MOST_BYTES / 1e6} MB. Take the file of one year.`;
  return "";
}
