// The one place that the keypad writes to: the length that is being taped, or the field of a form that has the focus.
import type { Key } from "./keypad";

export interface Target {
  press(key: Key): void;
  take(): void;
  /** Put in a whole length, as it stands in the job. */
  fill(text: string): void;
  name: string;
}

export class Entry {
  target = $state.raw<Target | null>(null);
  /** The last length that was taken, as it stands in the job. */
  last = $state("");

  aim(target: Target): void {
    this.target = target;
  }

  leave(target: Target): void {
    if (this.target === target) this.target = null;
  }
}

/** Things half done, kept in the browser: typed and not taken, tapped and not closed, skipped. */
export class HalfDone {
  readonly #prefix: string;

  constructor(job: string) {
    this.#prefix = `steamwright.measure.${job}.`;
  }

  get<T>(name: string, otherwise: T): T {
    try {
      const text = localStorage.getItem(this.#prefix + name);
      return text === null ? otherwise : (JSON.parse(text) as T);
    } catch {
      return otherwise;
    }
  }

  put(name: string, value: unknown): void {
    try {
      if (value === null || value === "") localStorage.removeItem(this.#prefix + name);
      else localStorage.setItem(this.#prefix + name, JSON.stringify(value));
    } catch {
      // a full storage is told where the job itself is kept
    }
  }
}
