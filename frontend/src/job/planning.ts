// Plans in the background: the plan of the latest saved revision is awaited and followed, older ones are let go.
import { NoAnswer, Refusal } from "../api/client";
import type { Laid, Mistake, Plan, PlanParts, PlanTold, Run } from "../api/types";
import type { Timer } from "./saving";

/** A plan as far as it is made. Files can be fetched as soon as they are named. */
export interface Planned {
  revision: number;
  plan: Plan;
  /** The run that made it. */
  run: string;
  files: readonly string[];
  /** Summary, list of sheets and sizes; null until the whole plan is there. */
  told: PlanTold | null;
}

export interface PlanSource {
  /** Begin the plan of a revision, from a found layout if one is named. The run that comes back may be of an earlier one, for who cannot begin any. */
  startPlan(revision: number, layout?: string): Promise<Run>;
  stop(run: string): Promise<Run>;
  /** How the pieces of a run lie, as soon as they are cut; undefined where its plan is there already or nothing is known. */
  laidOf(run: string): Promise<Laid | undefined>;
  /** The plan of a run as soon as it is made; undefined where that takes long or it ended without one. */
  planOf(run: string, beside: string | null): Promise<PlanParts | undefined>;
  plan(revision: number): Promise<PlanTold>;
  /** Follow a run until it is over; the returned function stops listening. */
  watch(run: string, tell: (run: Run) => void, lost: () => void): () => void;
}

/** A plan that is there sooner than this is shown without a word about its steps. */
const WATCH_AFTER_MS = 300;
/** How long to wait before a plan is asked for again from a server that does not answer or forgot it: ever longer. */
const AGAIN_MS = [500, 1000, 2000, 4000, 8000] as const;
/** A plan that took the server down so often is not begun again by itself. */
const RESTARTS = 3;

export class Planner {
  /** The last plan that was made; of an earlier revision while a new one is on its way. */
  planned: Planned | null = null;
  /** How the pieces of the plan that is on its way will lie, before it is proven. */
  laid: Laid | null = null;
  /** Whether somebody looks at the pieces: only then they are asked for before their proof. */
  showsPieces = false;
  /** How far the planning of the latest revision is; null when nothing is going on. */
  run: Run | null = null;
  /** What keeps the latest revision from being planned, by place in the draft. */
  mistakes: readonly Mistake[] = [];
  /** Why planning failed, where it is no mistake of the draft. */
  trouble = "";
  /** Whether the server is gone or was started anew; planning goes on by itself once it answers. */
  waits = false;
  readonly #source: PlanSource;
  readonly #told: () => void;
  readonly #timer: Timer;
  #wanted = 0;
  #unwatch: () => void = () => undefined;
  #waiting: unknown = null;
  #taking: Promise<void> | null = null;
  #layout = "";
  /** How often the server was asked again since it last answered, the run it was asked after, and how often it had to begin anew. */
  #asked = 0;
  #lostRun = "";
  #restarts = 0;

  constructor(source: PlanSource, told: () => void, timer: Timer) {
    this.#source = source;
    this.#told = told;
    this.#timer = timer;
  }

  /** Plan a revision, from a layout that was found for it if one is named. */
  async start(revision: number, layout = ""): Promise<void> {
    this.#restarts = 0;
    this.#lostRun = "";
    this.#asked = 0;
    await this.#begin(revision, layout);
  }

  async #begin(revision: number, layout: string): Promise<void> {
    this.#want(revision);
    this.#layout = layout;
    try {
      const run = await this.#source.startPlan(revision, layout);
      if (this.#wanted !== revision) return;
      if (this.#lostRun !== "" && this.#lostRun !== run.id) this.#restarts += 1;
      this.#lostRun = "";
      this.#follow(run);
    } catch (wrong) {
      if (this.#wanted === revision) this.#fail(wrong);
    }
  }

  /** Follow the run that plans a revision. The server has stopped what was on its way for an earlier one. */
  follow(run: Run): void {
    this.#restarts = 0;
    this.#lostRun = "";
    this.#layout = "";
    this.#follow(run);
  }

  #follow(run: Run): void {
    this.#want(run.revision);
    this.#asked = 0;
    this.mistakes = [];
    this.trouble = "";
    this.#hear(run);
    if (over(run)) return;
    void this.#take(run);
    if (this.showsPieces && this.planned !== null) void this.#foresee(run);
    this.#waiting = this.#timer.set(() => {
      this.#unwatch = this.#source.watch(run.id, (now) => this.#hear(now), () => this.#lost(run.revision));
    }, WATCH_AFTER_MS);
  }

  /** Stop what is going on; what is made stays. */
  stop(): void {
    if (this.run !== null) void this.#source.stop(this.run.id).catch(() => undefined);
    this.#want(0);
    this.#told();
  }

  close(): void {
    this.#want(0);
  }

  #want(revision: number): void {
    this.#wanted = revision;
    this.#timer.clear(this.#waiting);
    this.#unwatch();
    this.#unwatch = () => undefined;
    this.#taking = null;
    this.laid = null;
    this.run = null;
    this.waits = false;
  }

  #hear(run: Run): void {
    if (this.#wanted !== run.revision) return;
    // a server that is being shut down says so
    if (run.state === "stopped" && run.detail !== "") return this.#lost(run.revision);
    this.run = over(run) ? null : run;
    if (over(run)) this.laid = null;
    if (run.state === "failed") {
      this.mistakes = run.mistakes;
      this.trouble = run.mistakes.length > 0 ? "" : run.detail;
    }
    if (run.files.includes("plan.json")) void this.#fill(run);
    this.#told();
  }

  /** Once at a time, however often it is heard that there is a plan. */
  #take(run: Run): Promise<void> {
    if (this.#taking !== null) return this.#taking;
    const taking = this.#fetch(run).finally(() => {
      if (this.#taking === taking) this.#taking = null;
    });
    return (this.#taking = taking);
  }

  /** The pieces ahead of their proof; that they do not come keeps nothing up. */
  async #foresee(run: Run): Promise<void> {
    const laid = await this.#source.laidOf(run.id).catch(() => undefined);
    if (laid === undefined || this.#wanted !== run.revision || this.run?.id !== run.id || this.planned?.run === run.id) return;
    this.laid = laid;
    this.#told();
  }

  /** The plan itself. What is in it as it was in the one before stays the same object, so that it is not drawn again. */
  async #fetch(run: Run): Promise<void> {
    const before = this.planned;
    try {
      const told = await this.#source.planOf(run.id, before?.run ?? null);
      if (told === undefined || this.#wanted !== run.revision || this.planned?.run === run.id) return;
      const plan = { ...(told.beside === null ? {} : before?.plan), ...told.parts } as Plan;
      this.planned = { revision: run.revision, plan, run: run.id, files: ["plan.json"], told: null };
      this.laid = null;
      this.trouble = "";
      this.#told();
    } catch (wrong) {
      if (this.#wanted === run.revision) this.#fail(wrong);
    }
  }

  /** What is made beside the plan. */
  async #fill(run: Run): Promise<void> {
    // a revision is planned anew where another layout was taken for it
    if (this.planned?.run !== run.id) await this.#take(run);
    if (this.#wanted !== run.revision || this.planned?.run !== run.id) return;
    if (run.files.length > this.planned.files.length) this.planned = { ...this.planned, files: run.files };
    try {
      if (run.state === "done" && this.planned.told === null) {
        const told = await this.#source.plan(run.revision);
        if (this.#wanted === run.revision && this.planned.run === run.id) this.planned = { ...this.planned, told };
      }
      this.#told();
    } catch (wrong) {
      if (this.#wanted === run.revision) this.#fail(wrong);
    }
  }

  #lost(revision: number): void {
    if (this.#wanted === revision) this.#fail(new NoAnswer("the server stopped while it planned this"));
  }

  /** Ask for the same plan again in a while. A server that still makes it answers with the run that is on its way. */
  #again(): void {
    const [revision, layout] = [this.#wanted, this.#layout];
    this.#want(revision);
    this.waits = true;
    this.trouble = "";
    this.#waiting = this.#timer.set(() => void this.#begin(revision, layout), AGAIN_MS[Math.min(this.#asked++, AGAIN_MS.length - 1)] as number);
    this.#told();
  }

  #fail(wrong: unknown): void {
    this.#lostRun = this.run?.id ?? this.#lostRun;
    const gone = wrong instanceof NoAnswer || (this.run !== null && wrong instanceof Refusal && wrong.status === 404);
    if (gone && this.#restarts < RESTARTS) return this.#again();
    this.run = null;
    this.laid = null;
    this.mistakes = wrong instanceof Refusal ? wrong.mistakes : [];
    this.trouble = wrong instanceof Refusal && wrong.mistakes.length > 0 ? "" : wrong instanceof Error ? wrong.message : String(wrong);
    this.#told();
  }
}

function over(run: Run): boolean {
  return run.state === "done" || run.state === "failed" || run.state === "stopped";
}
