// One job on the desk: what was typed, what the server has of it, what was made of it. All stages work through this.
import { fileAddress, type Api } from "../api/client";
import type { Finding, JobTold, Laid, Mistake, Revision, Run, Saved } from "../api/types";
import { copyOf, put, same, type Draft, type Json } from "./draft";
import { merge, type Conflict, type Merged } from "./merging";
import { Notice } from "./notice";
import { keptPlans, planSource, type Watch } from "./plan_line";
import { Planner, type Planned } from "./planning";
import { SaveQueue, type SaveState, type Timer } from "./saving";
import type { UnsavedShelf } from "./unsaved";

/** How {@link JobDesk.edit} is told about a change. */
export interface EditOptions {
  /** Changes with the same word that follow each other are undone as one: typing in one field, dragging one seam. */
  merge?: string;
  /** Wait this long for more before saving: 20 ms, while somebody types into a field 150 ms. */
  wait_ms?: number;
}

interface Step {
  draft: Draft;
  label: string;
  merge: string;
}

export interface DeskMeans {
  api: Api;
  shelf: UnsavedShelf;
  timer?: Timer;
  watch?: Watch;
}

const WAIT_MS = 20;
const TYPING_MS = 150;
const MOST_STEPS = 200;
const LOOK_MS = 4000;

/**
 * A job that is open.
 *
 * Everything readable here is reactive in Svelte (in `$derived`, `$effect` and markup) and plain elsewhere; `listen`
 * tells other code of every change. Never change `draft` in place: hand a function to `edit`, which gets a copy.
 *
 * ```svelte
 * <script lang="ts">
 *   let { desk }: { desk: JobDesk } = $props();
 *   const wall = $derived(textAt(desk.draft, "survey.reading[0].is"));
 *   const wrong = $derived(desk.mistakesAt("survey.reading[0].is"));
 * </script>
 * <input value={wall} oninput={(e) => desk.set("survey.reading[0].is", e.currentTarget.value, "wall A-B")} />
 * ```
 */
export class JobDesk {
  readonly id: string;
  readonly api: Api;
  readonly readOnly: boolean;
  readonly #shelf: UnsavedShelf;
  readonly #notice = new Notice();
  readonly #queue: SaveQueue;
  readonly #planner: Planner;
  readonly #timer: Timer;
  #draft: Draft;
  #head: Revision;
  #conflict: Conflict | null = null;
  #changedBy = "";
  #back: Step[] = [];
  #forth: Step[] = [];
  #look: unknown = null;
  #closed = false;

  constructor(job: JobTold, means: DeskMeans) {
    this.id = job.id;
    this.api = means.api;
    this.readOnly = means.api.session?.role === "guest";
    this.#shelf = means.shelf;
    this.#head = job.revision;
    this.#draft = job.revision.draft as Draft;
    this.#timer = means.timer ?? { set: (run, after) => setTimeout(run, after), clear: (handle) => clearTimeout(handle as number) };
    const tell = (): void => this.#notice.tell();
    this.#planner = new Planner(this.readOnly ? keptPlans(this.id, means.api) : planSource(this.id, means.api, means.watch), tell, this.#timer);
    this.#queue = new SaveQueue(
      { save: (draft, basedOn, note) => this.api.save(this.id, draft, basedOn, note) },
      { onState: tell, onKept: (kept) => this.#kept(kept), onCollision: (yours, theirs) => void this.#collided(yours, theirs) },
      job.revision.number, this.#timer, WAIT_MS,
    );
  }

  /** Open a job: what was typed before and never reached the server is taken up again, and the plan is made or fetched. */
  static async open(id: string, means: DeskMeans): Promise<JobDesk> {
    const desk = new JobDesk(await means.api.job(id), means);
    desk.#takeUp();
    void desk.#planner.start(desk.revision);
    desk.#lookLater();
    return desk;
  }

  // ---- what is there -------------------------------------------------------------------------------------------

  /** What was typed, unsaved changes included. */
  get draft(): Draft {
    this.#notice.seen();
    return this.#draft;
  }

  /** The latest revision of the server that we know of. */
  get revision(): number {
    this.#notice.seen();
    return this.#head.number;
  }

  /** That revision with who saved it and when. */
  get head(): Revision {
    this.#notice.seen();
    return this.#head;
  }

  get name(): string {
    const name = this.draft["name"];
    return typeof name === "string" && name !== "" ? name : "Job without a name";
  }

  get units(): "inch" | "metric" {
    return this.draft["units"] === "metric" ? "metric" : "inch";
  }

  get saving(): SaveState {
    this.#notice.seen();
    return this.#queue.state;
  }

  /** Why a save was refused or is late, in words. */
  get refusal(): string {
    this.#notice.seen();
    return this.#queue.refusal;
  }

  /** Whether the browser's own storage is full, so that unsaved typing would not survive a reload. */
  get storageFull(): boolean {
    this.#notice.seen();
    return this.#shelf.full;
  }

  /** Set while two versions wait to be brought together; edits are kept meanwhile. */
  get conflict(): Conflict | null {
    this.#notice.seen();
    return this.#conflict;
  }

  /** Who changed the job while it was open here and untouched; empty once told with `noticed()`. */
  get changedBy(): string {
    this.#notice.seen();
    return this.#changedBy;
  }

  /** The last plan that was made; of an earlier revision while a new one is on its way, null if there was none yet. */
  get planned(): Planned | null {
    this.#notice.seen();
    return this.#planner.planned;
  }

  /** How the pieces of the plan that is on its way will lie; only while `showPieces` is on. */
  get laid(): Laid | null {
    this.#notice.seen();
    return this.#planner.laid;
  }

  /** Whether `planned` is the plan of all that was typed. */
  get planIsCurrent(): boolean {
    return this.planned?.revision === this.revision && this.saving === "saved";
  }

  /** How far planning is: `state`, `step` in words, `steps`, `files`; null when nothing is going on. */
  get run(): Run | null {
    this.#notice.seen();
    return this.#planner.run;
  }

  /** Whether the server is gone while a plan is wanted, which goes on by itself once it answers. */
  get planWaits(): boolean {
    this.#notice.seen();
    return this.#planner.waits;
  }

  /** Why planning failed where it is no mistake of the draft. */
  get trouble(): string {
    this.#notice.seen();
    return this.#planner.trouble;
  }

  /** Findings of the last plan, the most urgent first as plan.json lists them. */
  get findings(): readonly Finding[] {
    return (this.planned?.plan.findings ?? []) as readonly Finding[];
  }

  /** What keeps the draft from being a whole job, by place. */
  get mistakes(): readonly Mistake[] {
    this.#notice.seen();
    return this.#queue.mistakes.length > 0 ? this.#queue.mistakes : this.#planner.mistakes;
  }

  /** Mistakes at a path of the draft, and of all that lies below it unless `exactly`. */
  mistakesAt(path: string, exactly = false): readonly Mistake[] {
    return this.mistakes.filter((m) => m.path === path || (!exactly && (m.path.startsWith(`${path}.`) || m.path.startsWith(`${path}[`))));
  }

  /** The address of a file of the last plan, such as `sheets/01-title.svg`; null until it is made. */
  fileAddress(path: string): string | null {
    const planned = this.planned;
    return planned?.files.includes(path) === true ? fileAddress(this.id, planned.revision, path) : null;
  }

  listen(listener: () => void): () => void {
    return this.#notice.listen(listener);
  }

  // ---- what a person does --------------------------------------------------------------------------------------

  /**
   * Change the draft. It is shown at once, kept in the browser at once, saved and planned in the background.
   *
   * @param label what was done, in words for history and undo: "wall A-B", "niche added"
   * @param change changes the copy that it is given
   */
  edit(label: string, change: (draft: Draft) => void, options: EditOptions = {}): void {
    if (this.readOnly) return;
    const made = copyOf(this.#draft);
    change(made);
    if (same(made, this.#draft)) return;
    const last = this.#back.at(-1);
    const goesOn = options.merge !== undefined && last?.merge === options.merge && this.#forth.length === 0;
    if (!goesOn) this.#back.push({ draft: this.#draft, label, merge: options.merge ?? "" });
    if (this.#back.length > MOST_STEPS) this.#back.shift();
    this.#forth = [];
    this.#take(made, label, options.wait_ms);
  }

  /** Set one value; undefined takes it away. Typing in one field is one step of undo. */
  set(path: string, value: Json | undefined, label: string): void {
    this.edit(label, (draft) => put(draft, path, value), { merge: `set ${path}`, wait_ms: typeof value === "string" ? TYPING_MS : WAIT_MS });
  }

  /** Take back the last change; its label, or null if there is none. */
  undo(): string | null {
    return this.#step(this.#back, this.#forth, "take back");
  }

  redo(): string | null {
    return this.#step(this.#forth, this.#back, "do again");
  }

  get canUndo(): string | null {
    this.#notice.seen();
    return this.#back.at(-1)?.label ?? null;
  }

  get canRedo(): string | null {
    this.#notice.seen();
    return this.#forth.at(-1)?.label ?? null;
  }

  /** Save at once what waits: a field is left, Enter is pressed, the page is left. */
  saveNow(): void {
    this.#queue.now();
  }

  /** Plan what was saved last once more, after it was stopped or failed. */
  planNow(): void {
    void this.#planner.start(this.#head.number);
  }

  /** Plan what was saved last from a layout that a search found for it. */
  takeLayout(layout: string): void {
    if (!this.readOnly) void this.#planner.start(this.#head.number, layout);
  }

  /** Stop planning; what is made stays. */
  stopPlanning(): void {
    this.#planner.stop();
  }

  /** Say whether somebody looks at the pieces, and wants them before their proof. */
  showPieces(shows: boolean): void {
    this.#planner.showsPieces = shows;
  }

  noticed(): void {
    this.#changedBy = "";
    this.#notice.tell();
  }

  /** Go back to an earlier revision: its content becomes a new head. Nothing in between is lost. */
  async goBack(number: number): Promise<void> {
    const answer = await this.api.restore(this.id, number, this.#head.number);
    if (answer.collided) await this.#collided(answer.yours, answer.theirs);
    else {
      this.#back.push({ draft: this.#draft, label: `back to revision ${number}`, merge: "" });
      this.#forth = [];
      this.#draft = answer.kept.draft as Draft;
      this.#queue.basedOn = answer.kept.number;
      this.#kept(answer.kept);
    }
  }

  /** Both versions brought together, with what both changed. `choose` decides there. */
  merged(choose: (path: string) => "yours" | "theirs"): Merged | null {
    const conflict = this.#conflict;
    return conflict === null ? null : merge(conflict.base, this.#draft, conflict.theirs.draft as Draft, choose);
  }

  /** End a conflict with this draft; null takes what the other person saved. Both versions stay in the history. */
  settle(draft: Draft | null): void {
    const conflict = this.#conflict;
    if (conflict === null) return;
    const theirs = conflict.theirs;
    this.#conflict = null;
    this.#back.push({ draft: this.#draft, label: "bringing two versions together", merge: "" });
    this.#forth = [];
    this.#head = theirs;
    const takesTheirs = draft === null || same(draft, theirs.draft as Draft);
    this.#draft = takesTheirs ? (theirs.draft as Draft) : draft;
    if (takesTheirs) this.#shelf.drop(this.id);
    else this.#shelf.put(this.id, this.#draft, theirs.number, "two versions brought together", []);
    this.#queue.settle(theirs.number, takesTheirs ? null : this.#draft);
    if (takesTheirs) void this.#planner.start(theirs.number);
    this.#notice.tell();
  }

  /** Leave the job. What is not saved stays in the browser and is taken up again. */
  close(): void {
    this.#closed = true;
    this.#queue.now();
    this.#queue.close();
    this.#planner.close();
    this.#timer.clear(this.#look);
  }

  // ---- how it is kept ------------------------------------------------------------------------------------------

  #take(draft: Draft, label: string, wait_ms?: number): void {
    this.#draft = draft;
    this.#shelf.put(this.id, draft, this.#queue.basedOn, label, this.#queue.unanswered);
    this.#queue.add(draft, label.slice(0, 200), wait_ms);
    this.#notice.tell();
  }

  #step(from: Step[], onto: Step[], word: string): string | null {
    const step = from.pop();
    if (step === undefined || this.readOnly) return null;
    onto.push({ draft: this.#draft, label: step.label, merge: "" });
    this.#take(copyOf(step.draft), `${word}: ${step.label}`, 0);
    return step.label;
  }

  #kept(saved: Saved): void {
    this.#head = saved;
    if (this.#queue.state === "saved") this.#shelf.drop(this.id);
    else this.#shelf.put(this.id, this.#draft, saved.number, "", []);
    if (!this.#closed && saved.run !== null) this.#planner.follow(saved.run);
    this.#notice.tell();
  }

  async #collided(yours: Revision, theirs: Revision): Promise<void> {
    let base: Draft = {};
    try {
      base = (await this.api.revision(this.id, yours.based_on)).draft as Draft;
    } catch {
      // without what both began with, every difference is asked
    }
    this.#conflict = { yours, theirs, base };
    this.#notice.tell();
  }

  /** What this tab, or one that is gone, typed and never handed over. */
  #takeUp(): void {
    if (this.readOnly) return;
    const [entry] = this.#shelf.left(this.id);
    if (entry === undefined) return;
    if (same(entry.draft, this.#draft)) {
      this.#shelf.takeOver(this.id, entry);
      this.#shelf.drop(this.id);
      return;
    }
    this.#shelf.takeOver(this.id, entry);
    this.#back.push({ draft: this.#draft, label: "what was typed before and not saved", merge: "" });
    this.#draft = entry.draft;
    this.#queue.basedOn = entry.basedOn;
    this.#queue.unanswered = entry.sent;
    this.#queue.add(entry.draft, entry.note, 0);
  }

  #lookLater(): void {
    if (!this.#closed) this.#look = this.#timer.set(() => void this.#lookForOthers(), LOOK_MS);
  }

  /** Somebody else may have saved while nothing was typed here; then his version is shown, and who it was. */
  async #lookForOthers(): Promise<void> {
    const hidden = typeof document !== "undefined" && document.hidden;
    if (!hidden && this.#queue.state === "saved") {
      try {
        const job = await this.api.job(this.id);
        if (job.head > this.#head.number && this.#queue.state === "saved" && !this.#closed) {
          this.#back.push({ draft: this.#draft, label: `what ${job.revision.saved_by} changed`, merge: "" });
          this.#forth = [];
          this.#head = job.revision;
          this.#draft = job.revision.draft as Draft;
          this.#queue.basedOn = job.head;
          this.#changedBy = job.revision.saved_by;
          void this.#planner.start(job.head);
          this.#notice.tell();
        } else if (this.readOnly && !this.planIsCurrent) void this.#planner.start(job.head);
      } catch {
        // the next look, or the next save, tells
      }
    }
    this.#lookLater();
  }
}
