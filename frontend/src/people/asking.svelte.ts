// One question to the server at a time, and in words what became of it.
import { Refusal } from "../api/client";
import type { Mistake } from "../api/types";
import { words } from "../ui/says";

export class Asking {
  busy = $state(false);
  /** What went wrong and belongs to no field. */
  wrong = $state("");
  mistakes = $state.raw<readonly Mistake[]>([]);
  done = $state("");

  /** Ask, and say `done` once it went well; whether it did. Mistakes of the named fields are told there, all others here. */
  async ask(work: () => Promise<unknown>, done: string, fields: readonly string[] = []): Promise<boolean> {
    if (this.busy) return false;
    this.busy = true;
    this.wrong = this.done = "";
    this.mistakes = [];
    try {
      await work();
      this.done = done;
      return true;
    } catch (told) {
      this.mistakes = told instanceof Refusal ? told.mistakes.filter((mistake) => fields.includes(mistake.path)) : [];
      if (this.mistakes.length === 0) this.wrong = words(told);
      return false;
    } finally {
      this.busy = false;
    }
  }
}
