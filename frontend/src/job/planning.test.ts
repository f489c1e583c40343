import { describe, expect, it } from "vitest";
import { NoAnswer, Refusal } from "../api/client";
import type { Laid, Plan, PlanParts, Problem, Run } from "../api/types";
import { Planner, type PlanSource } from "./planning";

function run(revision: number, changed: Partial<Run> = {}): Run {
  return { id: `run ${revision}`, job: "", revision, state: "running", step: "", steps: 0, files: [], mistakes: [], detail: "", so_far: null, ...changed };
}

const parts = (beside: string | null, of: Record<string, unknown>): PlanParts => ({ beside, parts: of as unknown as Partial<Plan> });
const settled = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** A line to the server on which a test answers when it likes. */
class Line implements PlanSource {
  awaited: { run: string; beside: string | null; answer: (told: PlanParts | undefined) => void; fail: (wrong: Error) => void }[] = [];
  foreseen: { run: string; answer: (laid: Laid | undefined) => void; fail: (wrong: Error) => void }[] = [];
  watched: { run: string; tell: (now: Run) => void }[] = [];
  stopped: string[] = [];
  waits: { run: () => void; after_ms: number }[] = [];
  timer = {
    set: (run: () => void, after_ms: number): unknown => this.waits[this.waits.push({ run, after_ms }) - 1],
    clear: (handle: unknown): void => void (this.waits = this.waits.filter((w) => w !== handle)),
  };
  startPlan = (revision: number): Promise<Run> => Promise.resolve(run(revision));
  stop = (id: string): Promise<Run> => Promise.resolve(run(this.stopped.push(id)));
  laidOf = (id: string): Promise<Laid | undefined> => new Promise((answer, fail) => this.foreseen.push({ run: id, answer, fail }));
  planOf = (id: string, beside: string | null): Promise<PlanParts | undefined> =>
    new Promise((answer, fail) => this.awaited.push({ run: id, beside, answer, fail }));
  plan = (): Promise<never> => new Promise(() => undefined);
  watch = (id: string, tell: (now: Run) => void): (() => void) => {
    this.watched.push({ run: id, tell });
    return () => (this.watched = this.watched.filter((w) => w.tell !== tell));
  };

  planner = new Planner(this, () => undefined, this.timer);

  async planned(revision: number, told: PlanParts): Promise<void> {
    this.planner.follow(run(revision));
    this.awaited.at(-1)?.answer(told);
    await settled();
  }
}

describe("a plan", () => {
  it("is awaited with the first word of its run, not asked for once it is made", async () => {
    const line = new Line();
    line.planner.follow(run(1));
    expect(line.awaited.map((a) => a.run)).toEqual(["run 1"]);
    line.awaited[0]?.answer(parts(null, { room: 1 }));
    await settled();
    expect(line.planner.planned).toMatchObject({ revision: 1, plan: { room: 1 }, files: ["plan.json"] });
    expect(line.watched).toEqual([]);
  });

  it("keeps what has not changed as the same object", async () => {
    const line = new Line();
    const room = { facets: [] };
    await line.planned(1, parts(null, { room, findings: [1] }));
    await line.planned(2, parts("run 1", { findings: [2] }));
    expect(line.awaited[1]?.beside).toBe("run 1");
    expect(line.planner.planned).toMatchObject({ revision: 2, run: "run 2", plan: { findings: [2] } });
    expect(line.planner.planned?.plan.room).toBe(room);
  });

  it("that comes whole holds nothing of the one before", async () => {
    const line = new Line();
    await line.planned(1, parts(null, { comparison: 1 }));
    await line.planned(2, parts(null, { room: 2 }));
    expect(line.planner.planned?.plan).toEqual({ room: 2 });
  });

  it("of an earlier revision that comes late is left aside", async () => {
    const line = new Line();
    line.planner.follow(run(1));
    line.planner.follow(run(2));
    line.awaited[1]?.answer(parts(null, { room: 2 }));
    line.awaited[0]?.answer(parts(null, { room: 1 }));
    await settled();
    expect(line.planner.planned?.revision).toBe(2);
  });

  it("that takes long is watched, and fetched once when it is told of", async () => {
    const line = new Line();
    line.planner.follow(run(1));
    line.awaited[0]?.answer(undefined);
    await settled();
    expect(line.waits.map((w) => w.after_ms)).toEqual([300]);
    line.waits[0]?.run();
    line.watched[0]?.tell(run(1, { step: "room" }));
    expect(line.awaited.length).toBe(1);
    line.watched[0]?.tell(run(1, { files: ["plan.json"] }));
    line.watched[0]?.tell(run(1, { files: ["plan.json", "room.glb"] }));
    expect(line.awaited.length).toBe(2);
    line.awaited[1]?.answer(parts(null, { room: 1 }));
    await settled();
    expect(line.planner.planned?.files).toEqual(["plan.json", "room.glb"]);
  });

  it("shows its pieces ahead of their proof to who looks at them, until it is there", async () => {
    const line = new Line();
    const laid = { room: 2, pieces: [2] } as unknown as Laid;
    await line.planned(1, parts(null, { room: 1 }));
    line.planner.follow(run(2));
    expect(line.foreseen).toEqual([]);
    line.planner.showsPieces = true;
    line.planner.follow(run(3));
    line.foreseen[0]?.answer(laid);
    await settled();
    expect([line.planner.laid, line.planner.planned?.revision]).toEqual([laid, 1]);
    line.awaited.at(-1)?.answer(parts("run 1", { room: 3 }));
    await settled();
    expect([line.planner.laid, line.planner.planned?.revision]).toEqual([null, 3]);
  });

  it("is not kept up by pieces that come late, for another revision or not at all", async () => {
    const line = new Line();
    const laid = { room: 2, pieces: [2] } as unknown as Laid;
    line.planner.showsPieces = true;
    await line.planned(1, parts(null, { room: 1 }));
    await line.planned(2, parts("run 1", { room: 2 }));
    line.foreseen[0]?.answer(laid);
    await settled();
    expect(line.planner.laid).toBe(null);
    line.planner.follow(run(3));
    line.foreseen[1]?.fail(new NoAnswer("the server cannot be reached"));
    line.planner.follow(run(4));
    await settled();
    expect([line.planner.laid, line.planner.trouble, line.planner.waits]).toEqual([null, "", false]);
    line.planner.follow(run(5));
    line.foreseen[2]?.answer(laid);
    await settled();
    expect(line.planner.laid).toBe(null);
    line.foreseen[3]?.answer(laid);
    await settled();
    expect(line.planner.laid).toBe(laid);
    line.planner.stop();
    expect(line.planner.laid).toBe(null);
  });

  it("that is no longer wanted is not watched", () => {
    const line = new Line();
    line.planner.follow(run(1));
    line.waits[0]?.run();
    line.planner.follow(run(2));
    expect([line.watched.length, line.waits.length, line.stopped]).toEqual([0, 1, []]);
    line.planner.stop();
    expect([line.waits.length, line.stopped]).toEqual([0, ["run 2"]]);
  });

  it("whose line broke goes on by itself once the line is back", async () => {
    const line = new Line();
    line.planner.follow(run(1));
    line.awaited[0]?.fail(new NoAnswer("the server cannot be reached"));
    await settled();
    expect([line.planner.trouble, line.planner.waits, line.waits.length]).toEqual(["", true, 1]);
    line.waits[0]?.run();
    await settled();
    expect([line.planner.waits, line.planner.run?.id]).toEqual([false, "run 1"]);
    line.awaited[1]?.answer(parts(null, { room: 1 }));
    await settled();
    expect([line.planner.trouble, line.planner.planned?.revision]).toEqual(["", 1]);
  });

  it("that a new server does not know is begun again, ever later, and not for ever", async () => {
    const line = new Line();
    const gone = (): Error => new Refusal({ status: 404, detail: "this run is not known", code: "not_kept", mistakes: [] } as unknown as Problem);
    let begun = 0;
    line.startPlan = () => Promise.resolve(run(1, { id: `run ${++begun}` }));
    line.planner.follow(run(1, { id: "run of the server before" }));
    for (let k = 0; k < 3; k++) {
      line.awaited.at(-1)?.fail(gone());
      await settled();
      expect(line.planner.waits).toBe(true);
      line.waits.at(-1)?.run();
      await settled();
      expect(line.planner.run?.state).toBe("running");
    }
    line.awaited.at(-1)?.fail(gone());
    await settled();
    expect([line.planner.waits, line.planner.trouble]).toEqual([false, "this run is not known"]);
  });

  it("is asked for again after ever longer, as long as nobody answers, and let go when it is stopped", async () => {
    const line = new Line();
    line.startPlan = () => Promise.reject(new NoAnswer("the server cannot be reached"));
    await line.planner.start(1);
    const pauses: number[] = [];
    for (let k = 0; k < 6; k++) {
      pauses.push(line.waits.at(-1)?.after_ms ?? 0);
      line.waits.at(-1)?.run();
      await settled();
    }
    expect(pauses).toEqual([500, 1000, 2000, 4000, 8000, 8000]);
    line.planner.stop();
    expect([line.waits.length, line.planner.waits]).toEqual([0, false]);
  });

  it("that a server says it drops as it shuts down is waited for; one that somebody stopped is not", async () => {
    const line = new Line();
    line.planner.follow(run(1, { state: "stopped" }));
    expect(line.planner.waits).toBe(false);
    line.planner.follow(run(1, { state: "stopped", detail: "the server is shutting down" }));
    expect(line.planner.waits).toBe(true);
  });

  it("that cannot be made says why at its places", () => {
    const line = new Line();
    const mistakes = [{ path: "room", detail: "is missing", hint: "", line: null, code: "input" }];
    line.planner.follow(run(1, { state: "failed", mistakes }));
    expect([line.planner.mistakes, line.planner.trouble, line.planner.run, line.awaited.length]).toEqual([mistakes, "", null, 0]);
  });
});
