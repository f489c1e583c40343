import { describe, expect, it } from "vitest";
import type { Survey } from "../api/types";
import { rows, type Draft } from "../job/draft";
import { adviceOf } from "./advice";
import { onWall, planOf, runsClockwise, thingsOf } from "./picture";
import { forget, isTaken, placesOf, take, wanted, type Slot } from "./readings";
import { addStation, apart, clockwise, removeStation, sketchFault, snapped, stationName, stationsOf, surveyOf, wallsOf, type Point } from "./stations";

const SQUARE: Point[] = [[0, 0], [2, 0], [2, 1], [0, 1]];
const job = (): Draft => ({ name: "a job", survey: surveyOf(SQUARE) });
const wall = (of: string): Slot => ({ kind: "wall", of });
const taken = (draft: Draft, slot: Slot, text: string, again = false): string => take(draft, { slot, field: "is", text, face: "framing", again }, "inch");
type Asked = NonNullable<Survey["report"]>["measure"][number];
const told = (measure: Asked[], mistakes: Survey["mistakes"] = []): Survey => (
  { report: { measure } as Survey["report"], tape_again: measure.map((one) => one.sentence), next: [], mistakes }
);

describe("sketch", () => {
  it("names corners clockwise as seen from above, the first staying the first", () => {
    expect(clockwise(SQUARE)).toEqual([[0, 0], [0, 1], [2, 1], [2, 0]]);
    expect(runsClockwise(planOf(job(), null, "inch"))).toBe(true);
    expect([0, 25, 26, 53].map(stationName)).toEqual(["A", "Z", "A1", "B2"]);
  });
  it("straightens what is nearly square and leaves a clear slant", () => {
    expect(snapped([1.0, 0.1], [0, 0], 0.1)).toEqual([1, 0]);
    expect(snapped([1.0, 0.6], [0, 0], 0.1)).toEqual([1, 0.6]);
  });
  it("refuses crossing walls and corners on one another", () => {
    expect(sketchFault(SQUARE)).toBe("");
    expect(sketchFault([[0, 0], [2, 1], [2, 0], [0, 1]])).toMatch(/cross/);
    expect(sketchFault([[0, 0], [2, 0], [2, 0.001], [0, 1]])).toMatch(/on one another/);
  });
  it("puts a corner in without renaming the others, and keeps what was taped along the old wall", () => {
    const draft = job();
    taken(draft, wall("A-B"), "72 in");
    expect(addStation(draft, "A", "inch")).toBe("E");
    expect(wallsOf(draft)).toEqual(["A-E", "E-B", "B-C", "C-D", "D-A"]);
    expect(rows(draft, "survey.reading")[0]).toMatchObject({ kind: "tie", of: "A-B", is: "72 in" });
    removeStation(draft, "E");
    expect(stationsOf(draft)).toEqual(["A", "B", "C", "D"]);
  });
});

describe("readings", () => {
  it("leads round the walls, then across, then the heights", () => {
    const order = wanted(job(), [{ kind: "diagonal", of: "A-C" }, { kind: "diagonal", of: "B-D" }]);
    expect(order.slice(0, 7).map((s) => `${s.kind} ${s.of}`)).toEqual(
      ["wall A-B", "wall B-C", "wall C-D", "wall D-A", "diagonal A-C", "diagonal B-D", "down A"]);
  });
  it("types over, confirms, and lets a different second reading take the place of the first", () => {
    const draft = job();
    expect(taken(draft, wall("A-B"), "72 in")).toBe("new");
    expect(taken(draft, wall("A-B"), "71 in")).toBe("changed");
    expect(taken(draft, wall("B-A"), "71 1/16 in", true)).toBe("confirmed");
    expect(placesOf(draft, wall("A-B"))).toHaveLength(2);
    expect(taken(draft, wall("A-B"), "73 in", true)).toBe("corrected");
    expect(rows(draft, "survey.reading").map((r) => r["is"])).toEqual(["73 in"]);
    forget(draft, wall("A-B"));
    expect(isTaken(draft, wall("A-B"))).toBe(false);
  });
  it("keeps the face where it is not the usual one", () => {
    const draft = job();
    take(draft, { slot: wall("A-B"), field: "is", text: "72 in", face: "board", again: false }, "inch");
    expect(rows(draft, "survey.reading")[0]?.["face"]).toBe("board");
    taken(draft, wall("A-B"), "72 in");
    expect(rows(draft, "survey.reading")[0]?.["face"]).toBeUndefined();
  });
  it("keeps that a laser was used, since it reads finished faces better", () => {
    const draft = job();
    take(draft, { slot: wall("A-B"), field: "is", text: "72 in", face: "tile", laser: true, again: false }, "inch");
    expect(rows(draft, "survey.reading")[0]).toEqual({ kind: "wall", of: "A-B", is: "72 in", face: "tile", instrument: "laser" });
    taken(draft, wall("A-B"), "72 in");
    expect(rows(draft, "survey.reading")[0]).toEqual({ kind: "wall", of: "A-B", is: "72 in" });
  });
  it("takes a plumb line in three values", () => {
    const draft = job();
    const slot: Slot = { kind: "plumb", of: "A-B" };
    for (const field of ["bottom", "middle"]) take(draft, { slot, field, text: "1 in", face: "framing", again: false }, "inch");
    expect(isTaken(draft, slot)).toBe(false);
    take(draft, { slot, field: "top", text: "1 1/8 in", face: "framing", again: false }, "inch");
    expect(isTaken(draft, slot)).toBe(true);
    expect(rows(draft, "survey.reading")).toHaveLength(1);
  });
});

describe("advice", () => {
  it.each([
    [{ kind: "length", of: "B-D", again: true }, "Tape B to D again", { kind: "diagonal", of: "B-D" }],
    [{ kind: "length", of: "D-A", again: true }, "Tape D to A again", { kind: "wall", of: "D-A" }],
    [{ kind: "length", of: "B-D", again: false }, "Tape B to D as well", { kind: "diagonal", of: "B-D" }],
    [{ kind: "down", of: "C", again: true }, "Measure down at C again", { kind: "down", of: "C" }],
  ])("makes an order of %o", (one, headline, slot) => {
    expect(adviceOf(job(), told([{ ...one, sentence: "why" }]))).toEqual({ headline, slot, again: one.again, why: "why" });
  });
  it("passes over what is no station of the plan any more", () => {
    const gone = { kind: "length", of: "B-F", again: true, sentence: "" };
    expect(adviceOf(job(), told([gone, { ...gone, of: "A-C" }]))).toMatchObject({ headline: "Tape A to C again" });
    expect(adviceOf(job(), told([gone]))).toBeNull();
  });
  it("makes an order of a length that cannot be", () => {
    const draft = job();
    taken(draft, wall("A-B"), "172 in");
    const mistake = { path: "survey.reading[0].is", detail: "longer than the way round", hint: "", line: null, code: "input.survey" };
    expect(adviceOf(draft, told([], [mistake]))).toMatchObject({ headline: "Tape A to B again", slot: wall("A-B") });
    expect(adviceOf(draft, told([]))).toBeNull();
  });
});

describe("picture", () => {
  it("draws to scale as soon as a length is there, and stays closed", () => {
    const draft = job();
    taken(draft, wall("A-B"), "48 in");
    const points = planOf(draft, null, "inch");
    expect(apart(points.get("A") as Point, points.get("B") as Point)).toBeCloseTo(1.2192, 6);
    expect(apart(points.get("B") as Point, points.get("C") as Point)).toBeCloseTo(2 * 1.2192, 6);
  });
  it("turns the adjusted stations onto the sketch without mirroring them", () => {
    const report = { stations: [["A", 0, 0], ["B", 1, 0], ["C", 1, -2], ["D", 0, -2]].map(([id, x_m, y_m]) => ({ id, x_m, y_m, sd_m: 0 })) };
    const points = planOf(job(), { ...told([]), report } as unknown as Survey, "inch");
    const [a, b] = [points.get("A") as Point, points.get("B") as Point];
    expect([b[0] - a[0], b[1] - a[1]].map((v) => Math.round(v * 1e6) / 1e6)).toEqual([0, 1]);
    expect(runsClockwise(points)).toBe(true);
  });
  it("puts things on the room's side of their wall, from the first-named station", () => {
    const draft = job();
    const points = planOf(draft, null, "inch");
    expect(onWall(points, "A-B", 0.25, 0.1)?.map((v) => Math.round(v * 1e6) / 1e6)).toEqual([0.1, 0.25]);
    expect(onWall(points, "B-A", 0.25, 0.1)?.map((v) => Math.round(v * 1e6) / 1e6)).toEqual([0.1, 0.75]);
    draft["room"] = { bench: [{ name: "bench", wall: "B-C", depth: "18 in" }] };
    expect(thingsOf(draft, points, "inch")[0]?.outline[2]?.map((v) => Math.round(v * 1e4) / 1e4)).toEqual([2, 0.5428]);
  });
});
