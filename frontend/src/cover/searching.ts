// Other layouts of a job, looked for in the background: how far that is, what was found, and which one is looked at.
import type { Api } from "../api/client";
import type { FoundLayouts, Layout, Run } from "../api/types";
import { Notice } from "../job/notice";
import { watchRun, type Watch } from "../job/plan_line";
import { words } from "../ui/says";

export type SearchSource = Pick<Api, "searchLayouts" | "layouts" | "stop">;

/** Searches of one job; what is found stays until something else is looked for, also where the page or the server was started anew. */
export class LayoutSearch {
  readonly #job: string;
  readonly #source: SearchSource;
  readonly #watch: Watch;
  readonly #notice = new Notice();
  #run: Run | null = null;
  #ending = false;
  #found: readonly Layout[] = [];
  #revision = 0;
  #ended = false;
  #trouble = "";

  constructor(job: string, source: SearchSource, watch: Watch = watchRun) {
    this.#job = job;
    this.#source = source;
    this.#watch = watch;
  }

  /** How far the search is; null when none goes on. */
  get run(): Run | null {
    this.#notice.seen();
    return this.#run;
  }

  /** Whether a search was asked to end and has not yet. */
  get ending(): boolean {
    this.#notice.seen();
    return this.#ending;
  }

  /** What the last search found, the cheapest first, the plan's own layout among them. */
  get found(): readonly Layout[] {
    this.#notice.seen();
    return this.#found;
  }

  /** The revision beside whose plan it was looked. */
  get revision(): number {
    this.#notice.seen();
    return this.#revision;
  }

  /** Whether the last search was ended by hand before it was through. */
  get endedEarly(): boolean {
    this.#notice.seen();
    return this.#ended;
  }

  get trouble(): string {
    this.#notice.seen();
    return this.#trouble;
  }

  /** Take up the search that is on its way, or what was found for a revision before this page was opened. */
  async recall(revision: number): Promise<void> {
    try {
      const { going, ...kept } = await this.#source.layouts(this.#job);
      if (this.#run !== null || this.#found.length > 0) return;
      if (going !== null) {
        this.#revision = going.revision;
        this.#follow(going);
      } else if (kept.revision === revision) this.#keep(kept);
    } catch {
      // it can be looked for once more
    }
  }

  /** Look for layouts beside the plan of a revision; the fresh one so many times as long as its plan was searched. */
  async start(revision: number, times: number): Promise<void> {
    if (this.#run !== null) return;
    this.#found = [];
    this.#revision = revision;
    this.#trouble = "";
    this.#ended = false;
    this.#ending = false;
    try {
      this.#follow(await this.#source.searchLayouts(this.#job, revision, times));
    } catch (wrong) {
      this.#fail(words(wrong));
    }
  }

  /** End the search and keep its best. */
  async stop(): Promise<void> {
    if (this.#run === null) return;
    this.#ending = true;
    this.#notice.tell();
    try {
      this.#hear(await this.#source.stop(this.#run.id));
    } catch (wrong) {
      this.#fail(words(wrong));
    }
  }

  /** Forget what was found. */
  forget(): void {
    this.#found = [];
    this.#trouble = "";
    this.#notice.tell();
  }

  #follow(began: Run): void {
    this.#hear(began);
    if (this.#run !== null) this.#watch(began.id, (run) => this.#hear(run), () => this.#fail("the line to the server broke while it searched; start the search again"));
  }

  #keep(found: Pick<FoundLayouts, "layouts" | "revision" | "ended_early">): void {
    this.#found = found.layouts;
    this.#revision = found.revision;
    this.#ended = found.ended_early;
    this.#notice.tell();
  }

  #hear(run: Run): void {
    if (this.#run !== null && this.#run.id !== run.id) return;
    const over = run.state !== "waiting" && run.state !== "running";
    this.#run = over ? null : run;
    if (run.state === "failed") this.#trouble = run.mistakes[0]?.detail ?? run.detail;
    else if (over && this.#found.length === 0) {
      this.#ended = run.state === "stopped";
      void this.#fetch(run.id);
    }
    this.#notice.tell();
  }

  async #fetch(run: string): Promise<void> {
    try {
      const kept = await this.#source.layouts(this.#job);
      // a search that was ended while it waited for its turn has found nothing
      if (kept.run === run) this.#keep(kept);
      else if (!this.#ended) this.#trouble = "the plan is laid otherwise since the search began; look once more";
    } catch (wrong) {
      this.#trouble = words(wrong);
    }
    this.#notice.tell();
  }

  #fail(why: string): void {
    this.#run = null;
    this.#trouble = why;
    this.#notice.tell();
  }
}

const open = new WeakMap<object, LayoutSearch>();

/** The searches of a job that is open; they go on while another stage is looked at. */
export function searchOf(job: { id: string; api: Api; revision: number }): LayoutSearch {
  const there = open.get(job);
  if (there !== undefined) return there;
  const made = new LayoutSearch(job.id, job.api);
  open.set(job, made);
  void made.recall(job.revision);
  return made;
}
