import { describe, expect, it } from "vitest";
import { at, put, same, steps, type Draft } from "./draft";
import { merge } from "./merging";

describe("a path", () => {
  it("leads through tables, lists and names that are no bare words", () => {
    expect(steps('prices.item."sheet 0.5 perm".usd')).toEqual(["prices", "item", "sheet 0.5 perm", "usd"]);
    const draft: Draft = {};
    put(draft, "room.wall[1].side", "B-C");
    put(draft, 'prices.item."sheet 0.5 perm".usd', 420);
    expect(draft).toEqual({ room: { wall: [undefined, { side: "B-C" }] }, prices: { item: { "sheet 0.5 perm": { usd: 420 } } } });
    expect(at(draft, "room.wall[1].side")).toBe("B-C");
    expect(at(draft, "room.wall[7].side")).toBeUndefined();
    put(draft, "room.wall[0]", undefined);
    put(draft, 'prices.item."sheet 0.5 perm".usd', undefined);
    expect(draft).toEqual({ room: { wall: [{ side: "B-C" }] }, prices: { item: { "sheet 0.5 perm": {} } } });
  });

  it("makes a table where text stood", () => {
    const draft: Draft = { name: "x" };
    put(draft, "name.first", "y");
    expect(draft).toEqual({ name: { first: "y" } });
  });
});

describe("two drafts", () => {
  it("are the same whatever the order of keys, and not otherwise", () => {
    expect(same({ a: 1, b: [1, { c: null }] }, { b: [1, { c: null }], a: 1 })).toBe(true);
    expect(same({ a: 1 }, { a: 1, b: 2 })).toBe(false);
    expect(same([1, 2], [2, 1])).toBe(false);
  });

  it("are brought together by name, and a thing that one took away and the other changed is asked", () => {
    const base = { room: { bench: [{ name: "low", depth: "16 in" }, { name: "high", depth: "18 in" }] } };
    const yours = { room: { bench: [{ name: "high", depth: "18 in" }, { name: "new", depth: "12 in" }] } };
    const theirs = { room: { bench: [{ name: "low", depth: "20 in" }, { name: "high", depth: "19 in" }] } };
    const { draft, clashes } = merge(base, yours, theirs);
    expect(clashes).toEqual([{ path: "room.bench[low]", yours: undefined, theirs: { name: "low", depth: "20 in" } }]);
    expect(draft).toEqual({ room: { bench: [{ name: "low", depth: "20 in" }, { name: "high", depth: "19 in" }, { name: "new", depth: "12 in" }] } });
  });
});
