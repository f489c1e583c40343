// Real plans and their seams for tests, made by the program itself from the examples.
import { execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import type { Plan, Seam } from "../api/types";
import type { Draft } from "../job/draft";

const root = fileURLToPath(new URL("../../../", import.meta.url));
const SAY = `
import json, sys, tomllib
from dataclasses import asdict
from steamwright.covering.ground import Terrain
from steamwright.covering.seams import find_seams
from steamwright.plan.build import build
from steamwright.plan.document import plan_document
from steamwright.service.checking import catalog, job_of
made, first = [], {}
for name, changes in json.loads(sys.argv[1]):
    draft = tomllib.loads(open(f"examples/{name}.toml", encoding="utf-8").read())
    for reading, said in changes:
        draft["survey"]["reading"][reading]["is"] = said
    plan = build(job_of(draft), catalog(), before=first.get(name))
    first.setdefault(name, plan)
    seams = find_seams(Terrain(plan.room), plan.covering.pieces, 2 * plan.covering.lap_planned_m)
    made.append({"draft": draft, "plan": plan_document(plan), "seams": [asdict(seam) for seam in seams]})
json.dump(made, sys.stdout, allow_nan=False)
`;

export interface Example {
  draft: Draft;
  plan: Plan;
  seams: readonly Seam[];
}

/** Plan examples, each with some readings said otherwise; what comes later of one example is planned from its first plan, as the server does. */
export function examples(asked: readonly (readonly [string, readonly (readonly [number, string])[]])[]): readonly Example[] {
  const own = `${root}.venv/bin/python`;
  const python = process.env["STEAMWRIGHT_PYTHON"] ?? (existsSync(own) ? own : "python3");
  const env = { ...process.env, PYTHONPATH: `${root}src` };
  return JSON.parse(execFileSync(python, ["-c", SAY, JSON.stringify(asked)], { cwd: root, env, encoding: "utf8", maxBuffer: 2 ** 28 })) as Example[];
}

