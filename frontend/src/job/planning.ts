// Plans in the background: the plan of the latest saved revision is followed, older ones are stopped.
import { NoAnswer, Refusal } from "../api/client";
import type { Mistake, Plan, PlanTold, Run } from "../api/types";

/** A plan as far as it is made. Files can be fetched as soon as they are named. */
export interface Planned {
  revision: number;
  plan: Plan;
  files: readonly string[];
  /** Summary, list of sheets and sizes; null until the whole plan is there. */
  told: PlanTold | null;
}

export interface PlanSource {
  startPlan(revision: number): Promise<Run>;
  stop(run: string): Promise<Run>;
  planDocument(revision: number): Promise<Plan>;
  plan(revision: number): Promise<PlanTold>;
  /** Follow a run until it is over; the returned function stops listening. */
  watch(run: string, tell: (run: Run) => void, lost: () => void): () => void;
}

export class Planner {
  /** The last plan that was made; of an earlier revision while a new one is on its way. */
  planned: Planned | null = null;
  /** How far the planning of the latest revision is; null when nothing is going on. */
  run: Run | null = null;
  /** What keeps the latest revision from being planned, by place in the draft. */
  mistakes: readonly Mistake[] = [];
  /** Why planning failed, where it is no mistake of the draft. */
  trouble = "";
  readonly #source: PlanSource;
  readonly #told: () => void;
  #wanted = 0;
  #unwatch: () => void = () => undefined;

  constructor(source: PlanSource, told: () => void) {
    this.#source = source;
    this.#told = told;
  }

  /** Plan a revision; what goes on for another one is stopped. */
  async start(revision: number): Promise<void> {
    this.#wanted = revision;
    this.#leave();
    try {
      const run = await this.#source.startPlan(revision);
      if (this.#wanted !== revision) {
        if (!over(run)) void this.#source.stop(run.id).catch(() => undefined);
        return;
      }
      this.mistakes = [];
      this.trouble = "";
      this.#hear(revision, run);
      if (!over(run)) this.#unwatch = this.#source.watch(run.id, (now) => this.#hear(revision, now), () => this.#lost(revision));
    } catch (wrong) {
      if (this.#wanted === revision) this.#fail(wrong);
    }
  }

  /** Stop what is going on; what is made stays. */
  stop(): void {
    this.#wanted = 0;
    this.#leave();
    this.#told();
  }

  close(): void {
    this.#unwatch();
  }

  #leave(): void {
    this.#unwatch();
    this.#unwatch = () => undefined;
    if (this.run !== null && !over(this.run)) void this.#source.stop(this.run.id).catch(() => undefined);
    this.run = null;
  }

  #hear(revision: number, run: Run): void {
    if (this.#wanted !== revision) return;
    this.run = over(run) ? null : run;
    if (run.state === "failed") {
      this.mistakes = run.mistakes;
      this.trouble = run.mistakes.length > 0 ? "" : run.detail;
    }
    if (run.files.includes("plan.json")) void this.#take(revision, run);
    this.#told();
  }

  async #take(revision: number, run: Run): Promise<void> {
    try {
      if (this.planned?.revision !== revision) {
        const plan = await this.#source.planDocument(revision);
        if (this.#wanted !== revision) return;
        if (this.planned?.revision !== revision) this.planned = { revision, plan, files: run.files, told: null };
        this.#told();
      }
      if (run.files.length > (this.planned?.files.length ?? 0)) this.planned = { ...(this.planned as Planned), files: run.files };
      if (run.state === "done" && this.planned?.told == null) {
        const told = await this.#source.plan(revision);
        if (this.#wanted === revision && this.planned?.revision === revision) this.planned = { ...this.planned, told };
      }
      this.#told();
    } catch (wrong) {
      if (this.#wanted === revision) this.#fail(wrong);
    }
  }

  #lost(revision: number): void {
    if (this.#wanted === revision) this.#fail(new NoAnswer("the line to the server broke while it planned"));
  }

  #fail(wrong: unknown): void {
    this.run = null;
    this.mistakes = wrong instanceof Refusal ? wrong.mistakes : [];
    this.trouble = wrong instanceof Refusal && wrong.mistakes.length > 0 ? "" : wrong instanceof Error ? wrong.message : String(wrong);
    this.#told();
  }
}

function over(run: Run): boolean {
  return run.state === "done" || run.state === "failed" || run.state === "stopped";
}
