// The way to the server: one function a request, errors as one class, the word against forged requests in every header.
import type {
  Account, AccountChange, Checked, Climate, Collision, Comparison, Example, FoundLayouts, GuestLink, JobRow, JobTold, Judged, Laid, Mistake, NewAccount, Plan, PlanParts, PlanTold,
  Problem, Remnants, Revision,
  RevisionRow, Rule, Run, Saved, Session, Shape, Sketch, Survey, Weather,
} from "./types";
import type { Draft } from "../job/draft";

/** The server answered that a request was not done. */
export class Refusal extends Error {
  readonly status: number;
  readonly code: string;
  readonly mistakes: readonly Mistake[];
  readonly problem: Problem;
  readonly waitS: number | null;

  constructor(problem: Problem, waitS: number | null = null) {
    super(problem.detail);
    this.status = problem.status;
    this.code = problem.code;
    this.mistakes = problem.mistakes;
    this.problem = problem;
    this.waitS = waitS;
  }
}

/** The server could not be reached, or its answer was lost on the way. */
export class NoAnswer extends Error {}

/** What {@link Api.save} comes back with: kept, or kept beside what somebody else saved in between. */
export type SaveAnswer = { collided: false; kept: Saved } | { collided: true; yours: Revision; theirs: Revision };

type Fetch = (address: string, init: RequestInit) => Promise<Response>;

/** A line that is neither up nor down counts as lost after this: what was to be saved is then sent again. */
const PATIENCE_MS = 20_000;

export class Api {
  session: Session | null = null;
  /** Called when the server no longer knows who asks. */
  onLoggedOut: () => void = () => undefined;
  readonly #fetch: Fetch;
  readonly #patience_ms: number;

  constructor(fetch: Fetch = (address, init) => globalThis.fetch(address, init), patience_ms = PATIENCE_MS) {
    this.#fetch = fetch;
    this.#patience_ms = patience_ms;
  }

  async whoAmI(): Promise<Session> {
    return (this.session = await this.#ask<Session>("GET", "/session"));
  }

  async logIn(name: string, password: string): Promise<Session> {
    return (this.session = await this.#ask<Session>("POST", "/session", { name, password }));
  }

  async logOut(): Promise<Session> {
    return (this.session = await this.#ask<Session>("DELETE", "/session"));
  }

  jobs = (archived = false): Promise<JobRow[]> => this.#ask("GET", `/jobs?archived=${archived}`);
  job = (id: string): Promise<JobTold> => this.#ask("GET", `/jobs/${id}`);
  create = (draft: Draft, note = ""): Promise<JobTold> => this.#ask("POST", "/jobs", { draft, note });
  importToml = (toml: string): Promise<JobTold> => this.#ask("POST", "/jobs/import", { toml });
  archive = (id: string, archived: boolean): Promise<JobTold> => this.#ask("PATCH", `/jobs/${id}`, { archived });
  revisions = (id: string): Promise<RevisionRow[]> => this.#ask("GET", `/jobs/${id}/revisions`);
  revision = (id: string, number: number): Promise<Revision> => this.#ask("GET", `/jobs/${id}/revisions/${number}`);
  compare = (id: string, one: number, other: number): Promise<Comparison> => this.#ask("GET", `/jobs/${id}/compare?one=${one}&other=${other}`);

  /** Save, and begin to plan what is saved. */
  save(id: string, draft: Draft, basedOn: number, note = ""): Promise<SaveAnswer> {
    return this.#kept("PUT", `/jobs/${id}`, { draft, based_on: basedOn, note, plan: true });
  }

  restore(id: string, number: number, basedOn: number): Promise<SaveAnswer> {
    return this.#kept("POST", `/jobs/${id}/revisions/${number}/restore`, { based_on: basedOn, plan: true });
  }

  check = (draft: Draft): Promise<Checked> => this.#ask("POST", "/check", { draft });
  survey = (draft: Draft): Promise<Survey> => this.#ask("POST", "/survey", { draft });
  sketch = (points_m: [number, number][]): Promise<Sketch> => this.#ask("POST", "/sketch", { points_m });
  /** A file of remnants as a job lists them. */
  readRemnants = (toml: string): Promise<Remnants> => this.#ask("POST", "/remnants", { toml });
  examples = (): Promise<Example[]> => this.#ask("GET", "/examples");
  shapes = (): Promise<Shape[]> => this.#ask("GET", "/shapes");
  rules = (): Promise<Rule[]> => this.#ask("GET", "/rules");
  climates = (): Promise<Climate[]> => this.#ask("GET", "/climates");
  /** The file of hourly weather in which a job's build-ups are compared; null where its climate stands for it. */
  weather = (id: string): Promise<Weather | null> => this.#ask("GET", `/jobs/${id}/weather`);
  keepWeather = (id: string, name: string, text: string): Promise<Weather> => this.#ask("PUT", `/jobs/${id}/weather`, { name, text });
  dropWeather = (id: string): Promise<void> => this.#ask("DELETE", `/jobs/${id}/weather`);
  catalog = (): Promise<Record<string, unknown>> => this.#ask("GET", "/catalog");
  jobSchema = (): Promise<Record<string, unknown>> => this.#ask("GET", "/schema/job");

  /** Plan a revision; from a layout that was found for it, if one is named. */
  startPlan = (id: string, number: number, layout = ""): Promise<Run> => this.#ask("POST", `/jobs/${id}/revisions/${number}/plan${layout === "" ? "" : `?layout=${layout}`}`);
  plan = (id: string, number: number): Promise<PlanTold> => this.#ask("GET", `/jobs/${id}/revisions/${number}/plan`);
  planDocument = (id: string, number: number): Promise<Plan> => this.#ask("GET", `/jobs/${id}/revisions/${number}/files/plan.json`);
  /** Compare the build-ups of a revision; the result is its file `comparison-<years>.json`. */
  startComparison = (id: string, number: number, years: number): Promise<Run> => this.#ask("POST", `/jobs/${id}/revisions/${number}/comparison?years=${years}`);
  /** Look for other layouts beside the plan of a revision; stopping the run keeps its best. */
  searchLayouts = (id: string, number: number, times: number): Promise<Run> => this.#ask("POST", `/jobs/${id}/revisions/${number}/layouts?times=${times}`);
  layouts = (id: string): Promise<FoundLayouts> => this.#ask("GET", `/jobs/${id}/layouts`);
  /** The proof of a plan with seams moved from where it has them. */
  proof = (id: string, number: number, moved: readonly { seam: string; by_m: number }[]): Promise<Judged> =>
    this.#ask("POST", `/jobs/${id}/revisions/${number}/proof`, { moved });
  /** How the pieces of a run lie, as soon as they are cut and before they are proven. */
  laidOf = (run: string): Promise<Laid | undefined> => this.#ask("GET", `/runs/${run}/laid`);
  /** The plan of a run as soon as it is made; of a plan that is here already only what differs. Undefined where there is none yet. */
  planOf = (run: string, beside: string | null): Promise<PlanParts | undefined> => this.#ask("GET", `/runs/${run}/plan${beside === null ? "" : `?beside=${beside}`}`);
  stop = (id: string): Promise<Run> => this.#ask("DELETE", `/runs/${id}`);

  async changePassword(password: string, new_password: string): Promise<Session> {
    return (this.session = await this.#ask<Session>("PUT", "/session/password", { password, new_password }));
  }

  accounts = (): Promise<Account[]> => this.#ask("GET", "/accounts");
  addAccount = (account: NewAccount): Promise<Account> => this.#ask("POST", "/accounts", account);
  changeAccount = (name: string, change: Partial<AccountChange>): Promise<Account> => this.#ask("PATCH", `/accounts/${encodeURIComponent(name)}`, change);
  guestLinks = (id: string): Promise<GuestLink[]> => this.#ask("GET", `/jobs/${id}/guest-links`);
  addGuestLink = (id: string, label: string, ends_at: string): Promise<GuestLink> => this.#ask("POST", `/jobs/${id}/guest-links`, { label, ends_at });
  dropGuestLink = (id: string, link: string): Promise<void> => this.#ask("DELETE", `/jobs/${id}/guest-links/${link}`);

  /** A file that holds JSON. */
  async json<T>(address: string): Promise<T> {
    return (await (await this.#answer("GET", address)).json()) as T;
  }

  /** A file as text, such as a sheet of the drawings. */
  async text(address: string): Promise<string> {
    return (await this.#answer("GET", address)).text();
  }

  async #kept(method: string, path: string, body: object): Promise<SaveAnswer> {
    try {
      return { collided: false, kept: await this.#ask<Saved>(method, path, body) };
    } catch (wrong) {
      if (!(wrong instanceof Refusal) || wrong.status !== 409) throw wrong;
      const { yours, theirs } = wrong.problem as Collision;
      return { collided: true, yours, theirs };
    }
  }

  async #ask<T>(method: string, path: string, body?: object): Promise<T> {
    const response = await this.#answer(method, `/api${path}`, body);
    try {
      return (response.status === 204 ? undefined : await response.json()) as T;
    } catch {
      throw new NoAnswer("the answer was cut off");
    }
  }

  async #answer(method: string, address: string, body?: object, again = true): Promise<Response> {
    const headers: Record<string, string> = { accept: "application/json, */*" };
    if (body !== undefined) headers["content-type"] = "application/json";
    if (method !== "GET" && this.session !== null) headers["x-csrf-token"] = this.session.csrf;
    const init: RequestInit = { method, headers, credentials: "same-origin", signal: AbortSignal.timeout(this.#patience_ms) };
    if (body !== undefined) init.body = JSON.stringify(body);
    let response: Response;
    try {
      response = await this.#fetch(address, init);
    } catch {
      throw new NoAnswer("the server cannot be reached");
    }
    if (response.ok) return response;
    // A server that was started anew has a new word; what was asked is asked once more with it.
    if (response.status === 403 && method !== "GET" && again) {
      const before = this.session?.csrf;
      await this.whoAmI();
      if (this.session !== null && this.session.csrf !== before) return this.#answer(method, address, body, false);
    }
    const refusal = await refusalOf(response);
    if (refusal.status === 401) this.onLoggedOut();
    throw refusal;
  }
}

async function refusalOf(response: Response): Promise<Refusal> {
  const waitS = response.headers.get("retry-after");
  try {
    const told = (await response.json()) as Problem;
    if (typeof told.detail === "string") return new Refusal({ ...told, mistakes: told.mistakes ?? [] }, waitS === null ? null : Number(waitS));
  } catch {
    // whatever stands between us and the server answered in its own words
  }
  const detail = `the server answered ${response.status}`;
  return new Refusal({ type: "about:blank", title: response.statusText, status: response.status, code: "http", detail, mistakes: [] });
}

/** The address of a file of the plan of a revision. */
export function fileAddress(job: string, revision: number, path: string): string {
  return `/api/jobs/${job}/revisions/${revision}/files/${path}`;
}
