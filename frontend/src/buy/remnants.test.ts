import { describe, expect, it } from "vitest";
import type { Plan } from "../api/types";
import type { Draft } from "../job/draft";
import { addRemnant, drawnBy, dropRemnant, leftOf, nextId, remnantsOf, sizeWords, takeIn } from "./remnants";

const made = (id: string): { id: string; material: string; length: string; width: string } => ({ id, material: "sheet", length: "62 in", width: "18 in" });
const row = (id: string): { id: string; material: string; length: string; width: string; origin: string } => ({ id, material: "sheet", length: "1.5748 m", width: "0.4572 m", origin: "job" });

describe("remnants on hand", () => {
  it("are listed under ids that nothing had before, and leave no trace when they are taken off", () => {
    const draft: Draft = { name: "a job" };
    expect(nextId(draft)).toBe("M1");
    addRemnant(draft, made("M1"));
    addRemnant(draft, made(nextId(draft)));
    expect(remnantsOf(draft).map((one) => one.id)).toEqual(["M1", "M2"]);
    dropRemnant(draft, 0);
    expect(remnantsOf(draft).map((one) => one.id)).toEqual(["M2"]);
    dropRemnant(draft, 0);
    expect(draft).toEqual({ name: "a job" });
  });
  it("of a file come in once, and its count of ids with them", () => {
    const draft: Draft = {};
    addRemnant(draft, made("M4"));
    expect(takeIn(draft, { given: 9, remnant: [row("M4"), row("M7")] })).toBe(1);
    expect(remnantsOf(draft).map((one) => one.length)).toEqual(["62 in", "1.5748 m"]);
    expect(takeIn(draft, { given: 3, remnant: [row("M7")] })).toBe(0);
    expect((draft["covering"] as Draft)["remnants_given"]).toBe(9);
    expect(nextId(draft)).toBe("M10");
  });
  it("keep a size that was typed and say one of a file by the tape", () => {
    expect([sizeWords("62 in", "inch"), sizeWords("1.574800 m", "inch"), sizeWords("1.5748 m", "metric")]).toEqual(["62 in", "5' 2\"", "1575 mm"]);
  });
});

describe("what a plan leaves", () => {
  it("names what it does not touch, the largest first, and what it cuts from", () => {
    const one = { material: "sheet", width_m: 0.4, origin: "" };
    const plan = {
      job: { covering: { remnant: [{ id: "M1" }, { id: "M2" }] } },
      covering: { left: [{ id: "M1", length_m: 1, ...one }, { id: "R1 end", length_m: 9, ...one }], stock: [{ id: "M2", on_hand: true }, { id: "R1", on_hand: false }] },
    } as unknown as Plan;
    expect(leftOf(plan).map((left) => [left.id, left.untouched])).toEqual([["R1 end", false], ["M1", true]]);
    expect([...drawnBy(plan)]).toEqual(["M2"]);
  });
});
