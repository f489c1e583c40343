import { describe, expect, it } from "vitest";
import { dayAfter, endOf, lastDay, LINK_DAYS } from "./days";

describe("the day on which a link ends", () => {
  it("is counted by the calendar, over months, leap days and changes of the clock", () => {
    expect(dayAfter(new Date(2027, 10, 30, 23, 59), LINK_DAYS)).toBe("2028-02-28");
    expect(dayAfter(new Date(2028, 1, 28, 0, 1), 1)).toBe("2028-02-29");
    expect(dayAfter(new Date(2027, 2, 13, 12), 1)).toBe("2027-03-14");
  });
  it("counts whole, and is said as it was chosen", () => {
    const end = endOf("2027-12-31");
    expect(new Date(end).getTime()).toBe(new Date(2028, 0, 1).getTime());
    expect(lastDay(end)).toBe(new Date(2027, 11, 31).toLocaleDateString(undefined, { dateStyle: "medium" }));
  });
  it("is none where nothing is typed", () => {
    expect(endOf("")).toBe("");
  });
});
