// The proof while a seam is dragged: one question at a time, always about the latest place; what lies in between is skipped.
import type { Judged, Seam } from "../api/types";

export type Ask = (moved: readonly { seam: string; by_m: number }[]) => Promise<Judged>;

/** What can be said at once, before the proof answers: a sheet is no wider than its roll, the rest is taken from the lap. */
export interface Quick {
  lap_m: number;
  short: boolean;
}

export function quickLap(seam: Seam, by_m: number, wide: (piece: string) => number, required_m: number): Quick {
  const lost = Math.max(0, ...seam.edges.map(([edge, sign]) => {
    const grows = sign * by_m;
    return grows <= 0 ? 0 : Math.max(0, grows - Math.max(0, wide(String(edge["piece"]))));
  }));
  const lap_m = Math.max(0, seam.lap_m - lost);
  return { lap_m, short: lap_m < required_m - 1e-5 };
}

export class Judge {
  readonly #ask: Ask;
  readonly #tell: (judged: Judged, by_m: number) => void;
  readonly #fail: (wrong: unknown) => void;
  #next: { seam: string; by_m: number } | null = null;
  #asking = false;
  #round = 0;

  constructor(ask: Ask, tell: (judged: Judged, by_m: number) => void, fail: (wrong: unknown) => void) {
    this.#ask = ask;
    this.#tell = tell;
    this.#fail = fail;
  }

  /** Ask about a place; a place that was not asked about yet is forgotten for it. */
  about(seam: string, by_m: number): void {
    this.#next = { seam, by_m };
    void this.#go();
  }

  /** Forget what is asked; answers that are on their way are not told any more. */
  stop(): void {
    this.#next = null;
    this.#round++;
  }

  async #go(): Promise<void> {
    if (this.#asking) return;
    this.#asking = true;
    while (this.#next !== null) {
      const asked = this.#next;
      const round = this.#round;
      this.#next = null;
      try {
        const judged = await this.#ask([asked]);
        if (round === this.#round) this.#tell(judged, asked.by_m);
      } catch (wrong) {
        if (round === this.#round) this.#fail(wrong);
      }
    }
    this.#asking = false;
  }
}
