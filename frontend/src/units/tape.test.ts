import { describe, expect, it } from "vitest";
import { inUnits, inches, tape, thickness } from "./tape";

describe("a sentence of the proof", () => {
  it("is said in the units of the job", () => {
    const said = `bench top, 11 15/16" along and 1' 2 3/4" across; wall, 3/4" right, 2' up and 9" in; lap short, 49.9 mm`;
    expect(inUnits(said, "metric")).toBe("bench top, 303 mm along and 375 mm across; wall, 19 mm right, 610 mm up and 229 mm in; lap short, 49.9 mm");
    expect(inUnits("lap short, 49.9 mm of 50.8 mm", "inch")).toBe("lap short, 1.964 in of 2.000 in");
  });
});

describe("lengths", () => {
  it.each([
    [0, "0\""], [0.0254 / 16, "1/16\""], [0.0254 / 2, "1/2\""], [0.3048, "1'"], [0.3048 - 0.0254 / 40, "1'"], [0.3048 - 0.0254 / 16, "11 15/16\""],
    [1.9177, "6' 3 1/2\""], [-0.0254, "−1\""], [-0.0001, "0\""],
  ])("%f m is %s", (length, words) => expect(tape(length, "inch")).toBe(words));

  it("are millimetres in a metric job", () => {
    expect(tape(1.9177, "metric")).toBe("1918 mm");
    expect(inches(0.0127, "metric")).toBe("12.7 mm");
  });

  it("of a thin layer are not called nothing", () => {
    expect(thickness(0.0005, "inch")).toBe("0.020 in");
    expect(thickness(0.003175, "inch")).toBe("1/8\"");
  });
});

describe("sentences of the proof", () => {
  it("say lengths in the units of the job and round no short lap up to a whole one", () => {
    const said = "its blank of 1.2700 m × 0.9144 m is too small by 50.7 mm, on 2 m² of wall";
    expect(inUnits(said, "inch")).toBe("its blank of 50.000 in × 36.000 in is too small by 1.996 in, on 2 m² of wall");
    expect(inUnits(said, "metric")).toBe(said);
  });
});
