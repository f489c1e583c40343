import { describe, expect, it } from "vitest";
import { NoAnswer } from "../api/client";
import type { FoundLayouts, Layout, Run } from "../api/types";
import type { Draft } from "../job/draft";
import { LayoutSearch, type SearchSource } from "./searching";
import { differenceWords, lapLength, takesCells, time } from "./takes";
import { chooseLayout, dropWish } from "./wishes";

const run = (state: Run["state"], more: Partial<Run> = {}): Run => ({
  id: "r", job: "j", revision: 2, state, step: "walls level", steps: 1, files: [], mistakes: [], detail: "", so_far: null, ...more,
});
const ROW = { id: "", name: "best by the weights", chosen: true } as Layout;

class Service implements SearchSource {
  asked: string[] = [];
  tell: (run: Run) => void = () => undefined;
  lost: () => void = () => undefined;
  after: Run = run("running");
  found: Layout[] | null = [ROW];
  searchLayouts = (job: string, revision: number, times: number): Promise<Run> => {
    this.asked.push(`search ${job} ${revision} ${times}`);
    return Promise.resolve(run("waiting"));
  };
  going: Run | null = null;
  layouts = (id: string): Promise<FoundLayouts> => {
    this.asked.push(`layouts ${id}`);
    const layouts = this.found ?? [];
    return Promise.resolve({ going: this.going, run: layouts.length > 0 ? "r" : "", revision: 2, ended_early: this.after.state === "stopped", layouts });
  };
  stop = (id: string): Promise<Run> => {
    this.asked.push(`stop ${id}`);
    return Promise.resolve(this.after);
  };
  search = new LayoutSearch("j", this, (_, tell, lost) => {
    [this.tell, this.lost] = [tell, lost];
    return () => undefined;
  });
}

describe("a search for layouts", () => {
  it("tells its best while it runs and fetches what it found when it is through", async () => {
    const service = new Service();
    await service.search.start(2, 10);
    expect(service.search.run?.state).toBe("waiting");
    service.tell(run("running", { so_far: { used_m2: 16, lower_m2: 13 } }));
    expect(service.search.run?.so_far?.used_m2).toBe(16);
    service.tell(run("done"));
    await Promise.resolve();
    expect([service.search.run, service.search.found, service.search.revision, service.search.endedEarly]).toEqual([null, [ROW], 2, false]);
    expect(service.asked).toEqual(["search j 2 10", "layouts j"]);
  });
  it("asks for one search at a time", async () => {
    const service = new Service();
    await service.search.start(2, 10);
    await service.search.start(2, 1);
    expect(service.asked).toEqual(["search j 2 10"]);
  });
  it("goes on for a moment once it is to end, and keeps its best", async () => {
    const service = new Service();
    await service.search.start(2, 40);
    service.tell(run("running"));
    await service.search.stop();
    service.after = run("stopped");
    expect([service.search.ending, service.search.run?.state]).toEqual([true, "running"]);
    service.tell(run("stopped"));
    await Promise.resolve();
    expect([service.search.run, service.search.endedEarly, service.search.found.length, service.search.trouble]).toEqual([null, true, 1, ""]);
  });
  it("is no trouble when it is ended before its turn, and one when the line breaks", async () => {
    const service = new Service();
    service.found = null;
    service.after = run("stopped");
    await service.search.start(2, 40);
    await service.search.stop();
    await Promise.resolve();
    expect([service.search.run, service.search.trouble, service.search.found]).toEqual([null, "", []]);
    await service.search.start(2, 40);
    service.lost();
    expect(service.search.trouble).toMatch(/line/);
    service.searchLayouts = () => Promise.reject(new NoAnswer("the server cannot be reached"));
    await service.search.start(2, 1);
    expect(service.search.trouble).toMatch(/cannot be reached/);
  });
});

describe("what was found before the page was opened", () => {
  it("is there again for the revision that it was found for, and for no other", async () => {
    const service = new Service();
    await service.search.recall(3);
    expect(service.search.found).toEqual([]);
    await service.search.recall(2);
    expect([service.search.found, service.search.revision]).toEqual([[ROW], 2]);
  });
  it("is left aside where a search is on its way, which is followed to its end", async () => {
    const service = new Service();
    service.going = run("running", { revision: 2 });
    await service.search.recall(2);
    expect([service.search.run?.state, service.search.found]).toEqual(["running", []]);
    service.going = null;
    service.tell(run("done"));
    await Promise.resolve();
    expect([service.search.run, service.search.found]).toEqual([null, [ROW]]);
  });
});

describe("what layouts take", () => {
  const takes = { material_m2: 16.47, seam_m: 21.8, minutes: 95, pieces: 16, usd: 370.96 };
  it("is said in the units of the job", () => {
    expect(takesCells(takes, "inch")).toEqual(["177.3 ft²", "72 ft", "1.6 h", "16", "371 USD"]);
    expect(takesCells(takes, "metric")).toEqual(["16.47 m²", "21.8 m", "1.6 h", "16", "371 USD"]);
    expect([time(89.4), lapLength(0.3, "inch")]).toEqual(["89 min", "1 ft"]);
  });
  it("is compared by what somebody could tell, with its direction in words", () => {
    expect(differenceWords({ material_m2: -0.76, seam_m: 0.01, minutes: 3, pieces: -1, usd: -19.7 }, "metric")).toBe("0.76 m² of roll less, 3 min more, 1 piece less, 20 USD less");
    expect(differenceWords({ material_m2: 0, seam_m: 0, minutes: 0, pieces: 0, usd: 0 }, "inch")).toBe("");
  });
});

describe("wishes", () => {
  it("are taken back by the place that the plan names, and nothing else is", () => {
    const draft: Draft = { covering: { fold: [{ from: "a" }, { from: "b" }], effort: 60 } };
    dropWish(draft, "covering.fold[1]");
    expect(draft).toEqual({ covering: { fold: [{ from: "a" }], effort: 60 } });
    dropWish(draft, "covering.fold[7]");
    dropWish(draft, "covering.fold[0]");
    expect(draft).toEqual({ covering: { effort: 60 } });
  });
  it("choose a layout by what differs from the best, and go back to it without a trace", () => {
    const draft: Draft = { name: "a job" };
    chooseLayout(draft, { layout: "walls level", joints: "best" });
    expect(draft).toEqual({ name: "a job", covering: { layout: "walls level" } });
    chooseLayout(draft, { layout: "best" });
    expect(draft).toEqual({ name: "a job" });
  });
});
