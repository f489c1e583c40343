import { describe, expect, it } from "vitest";
import { arealMass, resistance, transmittance } from "../units/heat";
import { band, keptComparison, massRate, reason } from "./comparison";

describe("a comparison", () => {
  it("says its reasons in the units of the job", () => {
    expect(reason("A is lighter than B: 35.1 against 41 kg/m²", "inch")).toBe("A is lighter than B: 7.19 against 8.4 lb/ft²");
    expect(reason("A is lighter than B: 35.1 against 41 kg/m²", "metric")).toBe("A is lighter than B: 35.1 against 41 kg/m²");
    expect(reason("A has less condensate in still air than B: 2 against 3 kg/h", "inch")).toBe("A has less condensate in still air than B: 4.41 against 6.61 lb/h");
    expect(band({ still: 3, stirred: 2 }, ...massRate("inch"))).toBe("4.4 to 6.6 lb/h");
    expect(reason("A loses less heat when steady, studs counted than B: 0.4 against 0.5 W/(m² K)", "inch")).toContain("0.0704 against 0.0881 Btu/(h ft² °F)");
    expect(reason("A has the tighter membrane than B: 2.86e-11 against 5.72e-11 kg/(Pa s m²)", "inch")).toContain("0.5 against 1 perm");
    expect(reason("A has the tighter membrane than B: 2.86e-11 against 5.72e-11 kg/(Pa s m²)", "metric")).toContain("28.6 against 57.2 ng/(Pa s m²)");
    expect(reason("A: mold index 3.2, over 3, to outdoors", "inch")).toBe("A: mold index 3.2, over 3, to outdoors");
    expect(reason("A needs a smaller generator than B: 5.1 against 6.2 kW", "inch")).toBe("A needs a smaller generator than B: 5.1 against 6.2 kW");
  });

  it("prints resistance, transmittance and mass", () => {
    expect([resistance(2.31, "inch"), resistance(2.31, "metric")]).toEqual(["R 13.1", "2.31 m²K/W"]);
    expect([transmittance(0.43, "inch"), transmittance(0.43, "metric")]).toEqual(["0.076 Btu/(h ft² °F)", "0.43 W/(m²K)"]);
    expect([arealMass(41, "inch"), arealMass(41, "metric")]).toEqual(["8.4 lb/ft²", "41.0 kg/m²"]);
  });

  it("is found among the files of a plan, the most thorough first", () => {
    expect(keptComparison(["plan.json"])).toBeNull();
    expect(keptComparison(["plan.json", "comparison-2.json", "comparison-0.json"])).toBe("comparison-2.json");
    // of two as thorough ones, the one that was made last: in a measured year, say
    expect(keptComparison(["comparison-2.json", "comparison-2-0123456789ab.json", "comparison-0.json"])).toBe("comparison-2-0123456789ab.json");
  });
});
