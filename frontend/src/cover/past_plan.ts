// The plan before the one that is shown: as it was seen here, or as the server kept it.
import type { Plan, RevisionRow } from "../api/types";

export interface PastSource {
  revisions(): Promise<readonly RevisionRow[]>;
  planDocument(revision: number): Promise<Plan>;
}

export interface PastPlan {
  revision: number;
  plan: Plan;
}

/** Remembers, for as long as a job is open, the last two plans that differ. */
export class PastPlans {
  #now: PastPlan | null = null;
  #before: PastPlan | null = null;
  readonly #source: PastSource;

  constructor(source: PastSource) {
    this.#source = source;
  }

  /** Take note of a plan that is shown; the plan before it, null if there was none. */
  async see(revision: number, plan: Plan): Promise<PastPlan | null> {
    // a revision is planned anew where another layout was taken for it
    if (this.#now !== null && (this.#now.revision !== revision || this.#now.plan !== plan)) {
      if (pieces(this.#now.plan) !== pieces(plan)) this.#before = this.#now;
      this.#now = { revision, plan };
    } else if (this.#now === null) {
      this.#now = { revision, plan };
      this.#before = await this.#kept(revision);
    }
    return this.#before;
  }

  async #kept(revision: number): Promise<PastPlan | null> {
    try {
      const rows = await this.#source.revisions();
      const row = rows.filter((one) => one.planned && !one.aside && one.number < revision).sort((a, b) => b.number - a.number)[0];
      return row === undefined ? null : { revision: row.number, plan: await this.#source.planDocument(row.number) };
    } catch {
      return null; // without it nothing is called changed, and everything is shown
    }
  }
}

function pieces(plan: Plan): string {
  return JSON.stringify(plan.covering.pieces);
}

const open = new WeakMap<object, PastPlans>();

/** The memory of a job that is open; it outlives going to another stage and back. */
export function pastPlansOf(job: object, source: PastSource): PastPlans {
  const there = open.get(job) ?? new PastPlans(source);
  open.set(job, there);
  return there;
}
