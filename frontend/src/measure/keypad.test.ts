import { describe, expect, it } from "vitest";
import { metres, press, read, typed, type Key } from "./keypad";

const keys = (text: string, ...pressed: Key[]): string => pressed.reduce(press, text);
const d = (digit: string): Key => ({ digit });
const f = (sixteenths: number): Key => ({ sixteenths });

describe("keys", () => {
  it("puts digits before the fraction, in whatever order they come", () => {
    expect(keys("", d("7"), d("2"), f(1))).toBe("72 1/16");
    expect(keys("", f(1), d("7"), d("2"))).toBe("72 1/16");
    expect(keys("72 1/16", f(8))).toBe("72 1/2");
  });
  it("makes feet of what was typed, and inches of what follows", () => {
    expect(keys("", d("6"), "feet", d("3"), f(8))).toBe("6' 3 1/2");
    expect(keys("", d("6"), "feet")).toBe("6'");
  });
  it("takes back a fraction whole, a digit, a foot mark", () => {
    expect(keys("6' 3 1/2", "back")).toBe("6' 3");
    expect(keys("6' 3", "back", "back")).toBe("6");
    expect(keys("6' 3 1/2", "clear")).toBe("");
  });
  it("lets a keyboard and the keys share one text", () => {
    expect(press("75 in", "back")).toBe("75 i");
  });
});

describe("reading", () => {
  it.each([
    ["72 1/16", 1.8303875], ["72 1/16 in", 1.8303875], ["6' 3 1/2\"", 1.9177], ["6 ft 3 1/2 in", 1.9177], ["6-3 1/2", 1.9177], ["6'", 1.8288],
    ["75.5", 1.9177], ["1/2", 0.0127], ["½", 0.0127], ["6½", 0.1651], ["1918 mm", 1.918], ["1.918 m", 1.918], ["-3/8", -0.009525],
  ])("understands %s as the core does", (text, length_m) => {
    expect(metres(text, "inch")).toBeCloseTo(length_m, 9);
  });
  it("takes bare millimetres in a metric job", () => {
    expect(read("1918", "metric")).toMatchObject({ text: "1918 mm" });
    expect(metres("1918", "metric")).toBeCloseTo(1.918, 9);
  });
  it.each(["6' 13", "75 17/16", "3/0", "2,30", "long", ""])("refuses %s and says why", (text) => {
    const said = read(text, "inch");
    expect("wrong" in said && said.wrong.length > 10).toBe(true);
  });
  it("writes what the job keeps and shows it as it was typed", () => {
    expect(read("6' 3 1/2", "inch")).toMatchObject({ text: "6 ft 3 1/2 in" });
    expect(typed("6 ft 3 1/2 in", "inch")).toBe("6' 3 1/2");
    expect(typed("72 1/16 in", "inch")).toBe("72 1/16");
    expect(typed("6 ft", "inch")).toBe("6'");
  });
});
