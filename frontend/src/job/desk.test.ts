import { beforeEach, describe, expect, it } from "vitest";
import { Api } from "../api/client";
import type { Revision, Run } from "../api/types";
import { JobDesk, type DeskMeans } from "./desk";
import { copyOf, type Draft } from "./draft";
import { UnsavedShelf, type Keep } from "./unsaved";

const JOB = "0".repeat(32);
const MISTAKES = [{ path: "survey.reading[0].is", detail: "60 has no unit", hint: "", line: null, code: "input" }];

/** A server that keeps revisions as the real one does, and can be unplugged. */
class Server {
  revisions: Revision[] = [];
  plugged = true;
  /** The request arrives, the answer is lost. */
  cutsAnswers = false;
  csrf = "word";
  role = "office";
  asked: string[] = [];

  constructor(draft: Draft) {
    this.keep(draft, 0, false, "ann");
  }

  keep(draft: Draft, based_on: number, aside: boolean, saved_by: string): Revision {
    const revision: Revision = { number: this.revisions.length + 1, based_on, aside, saved_at: "2026-01-01T00:00:00Z", saved_by, note: "", digest: "", planned: false, draft: copyOf(draft) };
    this.revisions.push(revision);
    return revision;
  }

  /** A job with mistakes is saved and not planned. */
  refused(revision: number): Run {
    return { id: "1".repeat(32), job: JOB, revision, state: "failed", step: "", steps: 0, files: [], mistakes: MISTAKES, detail: "", so_far: null };
  }

  get head(): Revision {
    return this.revisions.filter((r) => !r.aside).at(-1) as Revision;
  }

  fetch = (address: string, init: RequestInit): Promise<Response> => {
    if (!this.plugged) return Promise.reject(new TypeError("Failed to fetch"));
    this.asked.push(`${init.method} ${address}`);
    const answer = this.answer(address, init);
    return this.cutsAnswers ? Promise.reject(new TypeError("cut")) : Promise.resolve(answer);
  };

  answer(address: string, init: RequestInit): Response {
    const json = (value: unknown, status = 200): Response => new Response(JSON.stringify(value), { status });
    if (address === "/api/session") return json({ name: "bob", role: this.role, job: null, csrf: this.csrf, accounts: false });
    if (init.method !== "GET" && (init.headers as Record<string, string>)["x-csrf-token"] !== this.csrf) return json({ detail: "load it again", status: 403, code: "forbidden" }, 403);
    if (address === `/api/jobs/${JOB}` && init.method === "GET") return json({ id: JOB, archived: false, head: this.head.number, revision: this.head, mistakes: [] });
    if (address === `/api/jobs/${JOB}`) {
      const sent = JSON.parse(init.body as string) as { draft: Draft; based_on: number };
      const saved = (revision: Revision): Response => json({ ...revision, run: this.refused(revision.number) });
      if (JSON.stringify(sent.draft) === JSON.stringify(this.head.draft)) return saved(this.head);
      if (sent.based_on === this.head.number) return saved(this.keep(sent.draft, sent.based_on, false, "bob"));
      const theirs = this.head;
      return json({ status: 409, code: "store.collision", detail: "changed", mistakes: [], yours: this.keep(sent.draft, sent.based_on, true, "bob"), theirs }, 409);
    }
    if (address === `/api/jobs/${JOB}/revisions`) return json([...this.revisions].reverse());
    const kept = /\/revisions\/(\d+)\/(plan|files\/plan.json)$/.exec(address);
    if (kept !== null && init.method === "GET" && this.revisions[Number(kept[1]) - 1]?.planned === true) return json({ of: Number(kept[1]), files: [{ path: "plan.json" }] });
    const opened = /\/revisions\/(\d+)$/.exec(address);
    if (opened !== null) return json(this.revisions[Number(opened[1]) - 1]);
    const planned = /\/revisions\/(\d+)\/plan$/.exec(address);
    if (planned !== null) return json({ detail: "the job has mistakes", status: 422, code: "input", mistakes: MISTAKES }, 422);
    return json({ detail: "unknown", status: 404, code: "unknown" }, 404);
  }
}

class Shelf implements Keep {
  readonly #kept = new Map<string, string>();
  get length(): number {
    return this.#kept.size;
  }
  getItem = (name: string): string | null => this.#kept.get(name) ?? null;
  setItem = (name: string, value: string): void => void this.#kept.set(name, value);
  removeItem = (name: string): void => void this.#kept.delete(name);
  key = (i: number): string | null => [...this.#kept.keys()][i] ?? null;
}

/** Timers that run when told to. */
class Clock {
  #waiting: { run: () => void; at: number }[] = [];
  now = 0;
  set = (run: () => void, after: number): unknown => {
    const entry = { run, at: this.now + after };
    this.#waiting.push(entry);
    return entry;
  };
  clear = (handle: unknown): void => {
    this.#waiting = this.#waiting.filter((w) => w !== handle);
  };

  async pass(ms: number): Promise<void> {
    const until = this.now + ms;
    for (;;) {
      await settled();
      const next = this.#waiting.filter((w) => w.at <= until).sort((a, b) => a.at - b.at)[0];
      if (next === undefined) break;
      this.now = next.at;
      this.clear(next);
      next.run();
    }
    this.now = until;
  }
}

const settled = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

let server: Server;
let browser: Shelf;
let clock: Clock;

async function open(tab: string): Promise<JobDesk> {
  const api = new Api(server.fetch);
  await api.whoAmI();
  const watch = (_run: string, _tell: (run: Run) => void): (() => void) => () => undefined;
  const means: DeskMeans = { api, shelf: new UnsavedShelf(browser, tab, () => clock.now), timer: clock, watch };
  const desk = await JobDesk.open(JOB, means);
  await settled();
  return desk;
}

beforeEach(() => {
  server = new Server({ name: "Alcove", survey: { reading: [{ kind: "wall", of: "A-B", is: "72 in" }] } });
  browser = new Shelf();
  clock = new Clock();
});

describe("edits", () => {
  it("are there at once, saved a moment later as one revision, and lead to mistakes by field", async () => {
    const desk = await open("one");
    desk.set("survey.reading[0].is", "6", "wall A-B");
    desk.set("survey.reading[0].is", "60", "wall A-B");
    expect(desk.draft).toEqual({ name: "Alcove", survey: { reading: [{ kind: "wall", of: "A-B", is: "60" }] } });
    expect(desk.saving).toBe("waiting");
    await clock.pass(200);
    expect(desk.saving).toBe("saved");
    expect(server.revisions.map((r) => r.number)).toEqual([1, 2]);
    expect(desk.revision).toBe(2);
    expect(desk.mistakesAt("survey.reading[0]").map((m) => m.detail)).toEqual(["60 has no unit"]);
    expect(desk.mistakesAt("survey.reading[0]", true)).toEqual([]);
    expect(browser.length).toBe(0);
  });

  it("are taken back and done again, typing in one field as one step", async () => {
    const desk = await open("one");
    desk.set("name", "A", "name");
    desk.set("name", "Ab", "name");
    desk.edit("note", (d) => void (d["note"] = "x"));
    expect(desk.undo()).toBe("note");
    expect(desk.draft["name"]).toBe("Ab");
    expect(desk.undo()).toBe("name");
    expect(desk.draft["name"]).toBe("Alcove");
    expect(desk.undo()).toBeNull();
    expect(desk.redo()).toBe("name");
    expect(desk.draft["name"]).toBe("Ab");
    await clock.pass(200);
    expect(server.head.draft["name"]).toBe("Ab");
  });

  it("do not change what is on the screen by the back door", async () => {
    const desk = await open("one");
    const before = desk.draft;
    desk.edit("name", (d) => void (d["name"] = "B"));
    expect(before["name"]).toBe("Alcove");
  });
});

describe("a lost line", () => {
  it("keeps what was typed and saves it when the line is back", async () => {
    const desk = await open("one");
    server.plugged = false;
    desk.set("name", "Typed in the cellar", "name");
    await clock.pass(3000);
    expect(desk.saving).toBe("offline");
    server.plugged = true;
    await clock.pass(9000);
    expect(desk.saving).toBe("saved");
    expect(server.head.draft["name"]).toBe("Typed in the cellar");
  });

  it("keeps what was typed through a reload", async () => {
    const desk = await open("one");
    server.plugged = false;
    desk.set("name", "Typed in the cellar", "name");
    await clock.pass(1000);
    desk.close();
    server.plugged = true;
    const again = await open("one");
    expect(again.draft["name"]).toBe("Typed in the cellar");
    await clock.pass(200);
    expect(server.head.draft["name"]).toBe("Typed in the cellar");
    expect(browser.length).toBe(0);
  });

  it("is taken up by another tab after the first is gone, not while it may live", async () => {
    const desk = await open("one");
    server.plugged = false;
    desk.set("name", "Typed in the cellar", "name");
    desk.close();
    server.plugged = true;
    expect((await open("two")).draft["name"]).toBe("Alcove");
    clock.now += 6000;
    expect((await open("three")).draft["name"]).toBe("Typed in the cellar");
    await clock.pass(200);
    expect(server.head.draft["name"]).toBe("Typed in the cellar");
    expect(browser.length).toBe(0);
  });

  it("that cut off the answer alone makes no conflict and no second revision", async () => {
    const desk = await open("one");
    server.cutsAnswers = true;
    desk.set("name", "Kept, but not told", "name");
    await clock.pass(300);
    expect(desk.saving).toBe("offline");
    server.cutsAnswers = false;
    await clock.pass(9000);
    expect(desk.saving).toBe("saved");
    expect(desk.conflict).toBeNull();
    expect(server.revisions.length).toBe(2);
  });

  it.each([["in one page", false], ["through a reload", true]])("that cut off the answer before more was typed makes no conflict with oneself, %s", async (_, reloads) => {
    const desk = await open("one");
    server.cutsAnswers = true;
    desk.set("name", "Kept, but not told", "name");
    await clock.pass(300);
    server.plugged = false;
    desk.set("note", "typed meanwhile", "note");
    if (reloads) desk.close();
    server.plugged = true;
    server.cutsAnswers = false;
    const after = reloads ? await open("one") : desk;
    await clock.pass(9000);
    expect([after.saving, after.conflict]).toEqual(["saved", null]);
    expect(server.head.draft).toMatchObject({ name: "Kept, but not told", note: "typed meanwhile" });
    expect(browser.length).toBe(0);
  });

  it("to a server started anew asks for its new word once", async () => {
    const desk = await open("one");
    server.csrf = "another";
    desk.set("name", "B", "name");
    await clock.pass(200);
    expect(desk.saving).toBe("saved");
  });
});

describe("two people", () => {
  it("collide: the later gets both versions and what both changed, and nothing is lost", async () => {
    const [one, two] = [await open("one"), await open("two")];
    one.edit("wall and note", (d) => {
      ((d["survey"] as Draft)["reading"] as Draft[])[0] = { kind: "wall", of: "A-B", is: "73 in" };
      d["note"] = "by one";
    });
    await clock.pass(200);
    two.edit("wall and units", (d) => {
      ((d["survey"] as Draft)["reading"] as Draft[])[0] = { kind: "wall", of: "A-B", is: "74 in" };
      d["units"] = "metric";
    });
    await clock.pass(200);
    expect(two.saving).toBe("conflict");
    two.set("name", "Typed meanwhile", "name");
    const merged = two.merged((path) => (path.includes("A-B") ? "yours" : "theirs"));
    expect(merged?.clashes).toEqual([{ path: "survey.reading[wall A-B].is", yours: "74 in", theirs: "73 in" }]);
    two.settle(merged?.draft ?? null);
    await clock.pass(200);
    expect(two.saving).toBe("saved");
    expect(server.head.draft).toEqual({ name: "Typed meanwhile", note: "by one", units: "metric", survey: { reading: [{ kind: "wall", of: "A-B", is: "74 in" }] } });
    expect(server.revisions.find((r) => r.aside)?.draft["units"]).toBe("metric");
  });

  it("see what the other saved when nothing is typed here", async () => {
    const [one, two] = [await open("one"), await open("two")];
    one.set("name", "B", "name");
    await clock.pass(9000);
    expect(two.draft["name"]).toBe("B");
    expect(two.changedBy).toBe("bob");
    expect(browser.length).toBe(0);
  });
});

describe("a guest", () => {
  const looks = 9000;

  it("asks for no plan, sees the latest that is kept, and the next one when somebody has made it", async () => {
    server.keep({ name: "B" }, 1, false, "ann");
    server.keep({ name: "C" }, 2, false, "ann");
    server.keep({ name: "aside" }, 1, true, "ann").planned = true;
    server.revisions[1]!.planned = true;
    server.role = "guest";
    const desk = await open("one");
    await clock.pass(0);
    expect(desk.readOnly).toBe(true);
    expect([desk.planned?.revision, desk.planned?.plan]).toEqual([2, { of: 2, files: [{ path: "plan.json" }] }]);
    expect([desk.planIsCurrent, desk.trouble, desk.mistakes]).toEqual([false, "", []]);
    server.revisions[2]!.planned = true;
    await clock.pass(looks);
    expect([desk.planned?.revision, desk.planIsCurrent]).toEqual([3, true]);
    expect(server.asked.filter((line) => !line.startsWith("GET"))).toEqual([]);
    const often = server.asked.length;
    await clock.pass(looks);
    expect(server.asked.slice(often).every((line) => line === `GET /api/jobs/${JOB}`)).toBe(true);
  });

  it("of a job that nobody planned is told of no trouble", async () => {
    server.role = "guest";
    const desk = await open("one");
    await clock.pass(looks);
    expect([desk.planned, desk.run, desk.trouble, desk.mistakes]).toEqual([null, null, "", []]);
    desk.set("name", "changed", "name");
    expect(desk.draft["name"]).toBe("Alcove");
  });
});
