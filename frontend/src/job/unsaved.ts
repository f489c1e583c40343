// What is typed and not yet with the server, kept in the browser so that a reload, a crash or a lost line loses nothing.
import { isTable, type Draft } from "./draft";

export interface Unsaved {
  draft: Draft;
  /** The revision that was changed. */
  basedOn: number;
  note: string;
  /** What was sent before and never answered. */
  sent: readonly Draft[];
  at_ms: number;
}

export type Keep = Pick<Storage, "getItem" | "setItem" | "removeItem" | "key" | "length">;

const PREFIX = "steamwright.unsaved.";
/** A tab that is alive and reaches the server has handed its typing over long before. */
const LEFT_BEHIND_MS = 5000;

/** The unsaved typing of one tab, one entry a job; other tabs of the same browser have their own. */
export class UnsavedShelf {
  readonly #keep: Keep;
  readonly #tab: string;
  readonly #now: () => number;
  /** Set when the browser would not keep something. */
  full = false;

  constructor(keep: Keep, tab: string, now: () => number = Date.now) {
    this.#keep = keep;
    this.#tab = tab;
    this.#now = now;
  }

  put(job: string, draft: Draft, basedOn: number, note: string, sent: readonly Draft[]): void {
    const entry: Unsaved = { draft, basedOn, note, sent, at_ms: this.#now() };
    try {
      this.#keep.setItem(this.#name(job), JSON.stringify(entry));
      this.full = false;
    } catch {
      this.full = true;
    }
  }

  drop(job: string): void {
    this.#keep.removeItem(this.#name(job));
  }

  /** What was left of a job: of this tab first, else of tabs that are gone, the latest first. */
  left(job: string): Unsaved[] {
    const own = this.#read(this.#name(job));
    const others = this.#names(job)
      .map((name) => this.#read(name))
      .filter((entry): entry is Unsaved => entry !== null && entry.at_ms < this.#now() - LEFT_BEHIND_MS)
      .sort((a, b) => b.at_ms - a.at_ms);
    return own === null ? others : [own, ...others];
  }

  /** Take over what another tab left: it stands under our name from now on. */
  takeOver(job: string, entry: Unsaved): void {
    this.put(job, entry.draft, entry.basedOn, entry.note, entry.sent);
    if (this.full) return;
    for (const name of this.#names(job)) {
      const there = this.#read(name);
      if (there !== null && there.at_ms === entry.at_ms) this.#keep.removeItem(name);
    }
  }

  #name(job: string): string {
    return `${PREFIX}${job}.${this.#tab}`;
  }

  #names(job: string): string[] {
    const found: string[] = [];
    for (let i = 0; i < this.#keep.length; i++) {
      const name = this.#keep.key(i);
      if (name?.startsWith(`${PREFIX}${job}.`) && name !== this.#name(job)) found.push(name);
    }
    return found;
  }

  #read(name: string): Unsaved | null {
    try {
      const said = JSON.parse(this.#keep.getItem(name) ?? "null") as Partial<Unsaved> | null;
      if (said === null || !isTable(said.draft) || typeof said.basedOn !== "number") return null;
      return { draft: said.draft, basedOn: said.basedOn, note: said.note ?? "", sent: said.sent ?? [], at_ms: said.at_ms ?? 0 };
    } catch {
      return null;
    }
  }
}

/** The name of this tab, the same after a reload. */
export function tabName(session: Pick<Storage, "getItem" | "setItem">): string {
  const there = session.getItem("steamwright.tab");
  if (there !== null) return there;
  const made = Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(16).padStart(2, "0")).join("");
  session.setItem("steamwright.tab", made);
  return made;
}
