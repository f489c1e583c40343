import { describe, expect, it } from "vitest";
import { mistakeAtField, mistakeText } from "./says";
import { plainDetail, plainFix, plainHint } from "./plain";

const mistake = (path: string, detail: string, hint: string) => ({ path, detail, hint, line: null, code: "input" });

describe("mistakes without a file's words", () => {
  it.each([
    [mistake("room.bench[0].height", "“height” is missing", 'write such as height = "90.5 in"'), "Bench 1: a height is missing: such as 90.5 in"],
    [mistake("room.ceiling", "a ceiling of shape “slope” needs “low_wall”", 'write such as low_wall = "A-B"'), "A slope ceiling needs the lowest wall: such as A-B"],
    [mistake("room", "the table “room” is missing", "begin it with [room]"), "The ceiling is missing"],
    [mistake("survey.reading[0].at", "“x” is no place for a plumb line", 'write at = "start", "middle" or "end"'), "“x” is no place for a plumb line: write start, middle or end"],
    [mistake("survey.reading[0]", "the plumb reading needs two of bottom, middle and top", 'write such as bottom = "1 in", top = "1 1/8 in"'), "The plumb reading needs two of bottom, middle and top: such as 1 in, 1 1/8 in"],
  ])("%o", (told, said) => expect(mistakeText(told)).toBe(said));
  it("do not say at a field what it is of", () => {
    expect(mistakeAtField(mistake("room.bench[0].height", "“height” is missing", 'write such as height = "90.5 in"'))).toBe("A height is missing: such as 90.5 in");
    expect(mistakeAtField(mistake("room.bench[0]", "bench runs 3.0 in past the end of wall A-B", ""))).toBe("Bench runs 3.0 in past the end of wall A-B");
  });
  it.each([
    ['Write pitch = "5/16 in/ft" under [room.pan]', "Set “Fall of the floor” to 5/16 in/ft (Measure, Pan and drain)"],
    ['Write drain_at = ["30 in", "20 1/2 in"] and pitch = "3/8 in/ft" under [room.pan]', "Set “Middle of the drain” to 30 in, 20 1/2 in and “Fall of the floor” to 3/8 in/ft (Measure, Pan and drain)"],
    ['Write drain = "line", drain_wall = "A-B" under [room.pan]', "Set “Drain” to Line drain along a wall, “Along the wall” to A-B (Measure, Pan and drain)"],
    ['Write height = "4 3/4 in" for curb under [[room.curb]], move the drain nearer to it, or write a lesser pitch under [room.pan]',
      "Set “Height” to 4 3/4 in for curb (Measure, Curb), move the drain nearer to it, or write a lesser pitch (Measure, Pan and drain)"],
    ["Slope door sill into the room.", "Slope door sill into the room."],
  ])("what mends a finding: %s", (fix, said) => expect(plainFix(fix)).toBe(said));
  it("leaves sentences of the trade as they are", () => {
    const told = mistake("room.bench[0]", "bench runs 3.0 in past the end of wall A-B", "the wall is 72.0 in long");
    expect([plainDetail(told), plainHint(told)]).toEqual(["Bench runs 3.0 in past the end of wall A-B", "the wall is 72.0 in long"]);
  });
});
