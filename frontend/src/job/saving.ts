// The save queue: one save at a time, always of the latest draft, repeated until the server has it.
import { NoAnswer, Refusal, type SaveAnswer } from "../api/client";
import type { Mistake, Revision, Saved } from "../api/types";
import { same, type Draft } from "./draft";

/**
 * `saved` the server has everything; `waiting` typed a moment ago; `saving` on its way; `offline` the server cannot be
 * reached, it is tried again; `logged_out` the same after logging in; `refused` the server says why in `refusal`;
 * `conflict` somebody else saved in between. Whatever it is, what was typed is kept in the browser until it is `saved`.
 */
export type SaveState = "saved" | "waiting" | "saving" | "offline" | "logged_out" | "refused" | "conflict";

export interface SaveTarget {
  save(draft: Draft, basedOn: number, note: string): Promise<SaveAnswer>;
}

export interface Timer {
  set(run: () => void, after_ms: number): unknown;
  clear(handle: unknown): void;
}

export interface Outcome {
  onState(): void;
  onKept(saved: Saved): void;
  onCollision(yours: Revision, theirs: Revision): void;
}

const MOST_UNANSWERED = 8;
const RETRY_MS = [500, 1000, 2000, 4000, 8000];

export class SaveQueue {
  state: SaveState = "saved";
  refusal = "";
  mistakes: readonly Mistake[] = [];
  basedOn: number;
  /** What was sent and not answered yet. The server may have it: then it is no other person who changed the job in between. */
  unanswered: readonly Draft[] = [];
  readonly #target: SaveTarget;
  readonly #outcome: Outcome;
  readonly #timer: Timer;
  readonly #wait_ms: number;
  #next: { draft: Draft; note: string } | null = null;
  #sending = false;
  #failed = 0;
  #handle: unknown = null;
  #closed = false;

  constructor(target: SaveTarget, outcome: Outcome, basedOn: number, timer: Timer, wait_ms: number) {
    this.#target = target;
    this.#outcome = outcome;
    this.basedOn = basedOn;
    this.#timer = timer;
    this.#wait_ms = wait_ms;
  }

  /** Whether the server lacks something. */
  get pending(): boolean {
    return this.state !== "saved";
  }

  add(draft: Draft, note: string, wait_ms = this.#wait_ms): void {
    this.#next = { draft, note };
    if (this.state === "conflict") return;
    if (!this.#sending) {
      this.#say("waiting");
      this.#soon(wait_ms);
    }
  }

  /** Save at once what waits: before leaving a page, or because the line is back. */
  now(): void {
    if (this.#next === null || this.#sending || this.state === "conflict") return;
    this.#timer.clear(this.#handle);
    void this.#send();
  }

  /** Go on after a conflict, from what the other person saved. */
  settle(basedOn: number, draft: Draft | null): void {
    this.basedOn = basedOn;
    this.unanswered = [];
    this.#next = null;
    this.#say("saved");
    if (draft !== null) {
      this.add(draft, "two versions brought together", 0);
    }
  }

  close(): void {
    this.#closed = true;
    this.#timer.clear(this.#handle);
  }

  #soon(after_ms: number): void {
    this.#timer.clear(this.#handle);
    if (!this.#closed) this.#handle = this.#timer.set(() => void this.#send(), after_ms);
  }

  async #send(): Promise<void> {
    const going = this.#next;
    if (going === null || this.#sending || this.state === "conflict") return;
    this.#sending = true;
    this.unanswered = [...this.unanswered.slice(1 - MOST_UNANSWERED), going.draft];
    this.#say("saving");
    try {
      const answer = await this.#target.save(going.draft, this.basedOn, going.note);
      this.#sending = false;
      this.#failed = 0;
      if (!answer.collided) this.#kept(going.draft, answer.kept);
      else if (this.unanswered.some((sent) => same(sent, answer.theirs.draft as Draft))) this.#kept(answer.theirs.draft as Draft, { ...answer.theirs, run: null });
      else this.#collided(answer.yours, answer.theirs);
    } catch (wrong) {
      this.#sending = false;
      this.#failedWith(wrong);
    }
  }

  #kept(sent: Draft, saved: Saved): void {
    this.basedOn = saved.number;
    this.unanswered = [];
    this.refusal = "";
    this.mistakes = [];
    if (this.#next !== null && (this.#next.draft === sent || same(this.#next.draft, sent))) this.#next = null;
    this.state = this.#next === null ? "saved" : "waiting";
    this.#outcome.onKept(saved);
    this.#outcome.onState();
    if (this.#next !== null) this.#soon(0);
  }

  #collided(yours: Revision, theirs: Revision): void {
    this.state = "conflict";
    this.#outcome.onCollision(yours, theirs);
    this.#outcome.onState();
  }

  #failedWith(wrong: unknown): void {
    const lasting = wrong instanceof Refusal && wrong.status < 500 && wrong.status !== 429 && wrong.status !== 401;
    this.refusal = wrong instanceof Error ? wrong.message : String(wrong);
    this.mistakes = wrong instanceof Refusal ? wrong.mistakes : [];
    if (lasting) {
      this.#say("refused");
      return;
    }
    this.#say(wrong instanceof Refusal && wrong.status === 401 ? "logged_out" : wrong instanceof NoAnswer || wrong instanceof Refusal ? "offline" : "refused");
    this.#soon(RETRY_MS[Math.min(this.#failed++, RETRY_MS.length - 1)] ?? 8000);
  }

  #say(state: SaveState): void {
    this.state = state;
    this.#outcome.onState();
  }
}
