import { describe, expect, it } from "vitest";
import type { Climate } from "../api/types";
import { choices, humidityLines, temperatureLines } from "./climates";
import { unfit } from "./weather";

const cold: Climate = {
  name: "cold", usual: true, source: "TMY3", how_known: "text",
  mean_k: [263.15, ...Array<number>(10).fill(283.15), 293.15], humidity_ratio: Array<number>(12).fill(0.8), daily_range_k: Array<number>(12).fill(10),
};
const hot: Climate = { ...cold, name: "hot", usual: false, mean_k: Array<number>(12).fill(300.15) };

describe("a weather file", () => {
  it("is told to be too large, or empty, before it is sent", () => {
    expect(unfit({ name: "year.epw", size: 1_700_000 })).toBe("");
    expect(unfit({ name: "year.epw", size: 0 })).toBe("year.epw is empty.");
    expect(unfit({ name: "ten.epw", size: 17_000_000 })).toContain("ten.epw has 17.0 MB");
  });
});

describe("climates", () => {
  it("are chosen by name with their coldest and warmest month in the units of the job", () => {
    expect(choices([cold, hot], "inch")).toEqual([
      ["", "usual, cold: from 14 °F to 68 °F in the monthly mean"],
      ["cold", "cold: from 14 °F to 68 °F in the monthly mean"],
      ["hot", "hot: from 81 °F to 81 °F in the monthly mean"],
    ]);
    expect(choices([cold], "metric")[1]).toEqual(["cold", "cold: from −10 °C to 20 °C in the monthly mean"]);
  });

  it("are drawn by the month", () => {
    expect(temperatureLines(cold, "metric").map((l) => [l.name, l.points[0], l.points[11]])).toEqual([["mean", [1, -10], [12, 20]], ["by day", [1, -5], [12, 25]], ["by night", [1, -15], [12, 15]]]);
    expect(temperatureLines(cold, "inch")[1]?.points[0]).toEqual([1, 23]);
    expect(humidityLines(cold)[0]?.points[0]).toEqual([1, 80]);
  });
});
