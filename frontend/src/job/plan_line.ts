// The line to the server by which plans are asked for and followed.
import { fileAddress, type Api } from "../api/client";
import type { Plan, PlanParts, Run } from "../api/types";
import type { PlanSource } from "./planning";

/** The plans of one job for who only reads: none is started, the latest that is kept is shown. */
export function keptPlans(job: string, api: Api): PlanSource {
  const latest = async (head: number): Promise<Run> => {
    const kept = (await api.revisions(job)).find((row) => row.planned && !row.aside && row.number <= head);
    const files = kept === undefined ? [] : (await api.plan(job, kept.number)).files.map((file) => file.path);
    return { id: String(kept?.number ?? head), job, revision: kept?.number ?? head, state: kept === undefined ? "stopped" : "done", step: "", steps: 0, files, mistakes: [], detail: "", so_far: null };
  };
  const whole = async (run: string): Promise<PlanParts> => ({ beside: null, parts: await api.json<Plan>(fileAddress(job, Number(run), "plan.json")) });
  return { ...planSource(job, api, () => () => undefined), startPlan: latest, planOf: whole };
}

/** Follow a run until it is over; the returned function stops listening. */
export type Watch = PlanSource["watch"];

/** Where the plans of one job come from. */
export function planSource(job: string, api: Api, watch: Watch = watchPlan): PlanSource {
  return {
    startPlan: (revision, layout) => api.startPlan(job, revision, layout),
    stop: (run) => api.stop(run),
    laidOf: (run) => api.laidOf(run),
    planOf: (run, beside) => api.planOf(run, beside),
    plan: (revision) => api.plan(job, revision),
    watch,
  };
}

/** Follow a run by server-sent events; a line that breaks is taken up again by itself. */
export const watchRun: Watch = (run, tell, lost) => follow(run, tell, lost, true);

/** The same for who asks anew anyway: a line that breaks is told at once, or a server that is gone would never be missed. */
const watchPlan: Watch = (run, tell, lost) => follow(run, tell, lost, false);

function follow(run: string, tell: (run: Run) => void, lost: () => void, patient: boolean): () => void {
  const source = new EventSource(`/api/runs/${run}/events`);
  source.addEventListener("run", (event) => {
    const now = JSON.parse((event as MessageEvent<string>).data) as Run;
    if (now.state !== "waiting" && now.state !== "running") source.close();
    tell(now);
  });
  source.addEventListener("error", () => {
    if (!patient) source.close();
    if (source.readyState === EventSource.CLOSED) lost();
  });
  return () => source.close();
}
