import { createSubscriber } from "svelte/reactivity";

/** Says that something changed. What reads `seen()` first is run again by Svelte; plain code may listen. */
export class Notice {
  readonly #listeners = new Set<() => void>();
  readonly #subscribe = createSubscriber((update) => this.listen(update));

  seen(): void {
    this.#subscribe();
  }

  listen(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  tell(): void {
    for (const listener of [...this.#listeners]) listener();
  }
}
