// The line to the server by which plans are asked for and followed.
import type { Api } from "../api/client";
import type { Run } from "../api/types";
import type { PlanSource } from "./planning";

/** Follow a run until it is over; the returned function stops listening. */
export type Watch = PlanSource["watch"];

/** Where the plans of one job come from. */
export function planSource(job: string, api: Api, watch: Watch = watchRun): PlanSource {
  return {
    startPlan: (revision) => api.startPlan(job, revision),
    stop: (run) => api.stop(run),
    planOf: (run, beside) => api.planOf(run, beside),
    plan: (revision) => api.plan(job, revision),
    watch,
  };
}

/** Follow a run by server-sent events. */
export function watchRun(run: string, tell: (run: Run) => void, lost: () => void): () => void {
  const source = new EventSource(`/api/runs/${run}/events`);
  source.addEventListener("run", (event) => {
    const now = JSON.parse((event as MessageEvent<string>).data) as Run;
    if (now.state !== "waiting" && now.state !== "running") source.close();
    tell(now);
  });
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) lost();
  });
  return () => source.close();
}
