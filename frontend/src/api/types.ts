// Short names of what goes over the wire; the types themselves are made from docs/reference at every build.
import type { components as InPlan } from "./plan";
import type { components } from "./schema";

type Schemas = components["schemas"];
export type Account = Schemas["AccountTold"];
export type AccountChange = Schemas["AccountChangeSent"];
export type Checked = Schemas["CheckedTold"];
export type Climate = Schemas["ClimateTold"];
export type Collision = Schemas["CollisionTold"];
export type Comparison = Schemas["ComparisonTold"];
export type Example = Schemas["ExampleTold"];
export type GuestLink = Schemas["GuestLinkTold"];
export type JobRow = Schemas["JobRowTold"];
export type JobTold = Schemas["JobTold"];
export type Mistake = Schemas["MistakeTold"];
export type NewAccount = Schemas["AccountSent"];
export type PlanTold = Schemas["PlanTold"];
export type Problem = Schemas["Problem"];
export type PlanParts = Omit<Schemas["PlanPartsTold"], "parts"> & { parts: Partial<Plan> };
export type Revision = Schemas["RevisionTold"];
export type RevisionRow = Schemas["RevisionRowTold"];
export type Rule = Schemas["RuleTold"];
export type Run = Schemas["RunTold"];
export type Saved = Schemas["SavedTold"];
export type Session = Schemas["SessionTold"];
export type Shape = Schemas["ShapeTold"];
export type Sheet = Schemas["SheetTold"];
export type Sketch = Schemas["SketchTold"];
export type Survey = Schemas["SurveyTold"];
export type Judged = Schemas["JudgedTold"];
export type Seam = Schemas["SeamTold"];
export type Remnants = Schemas["RemnantsTold"];
export type FoundLayouts = Schemas["FoundTold"];
export type Layout = Schemas["LayoutTold"];

type Parts = InPlan["schemas"];
/** plan.json. More names stand beside those described; reach them with `plan["name"]`. */
export type Plan = Parts["plan"];
export type Facet = Parts["facet"];
export type Joint = Parts["joint"];
export type Rim = Parts["rim"];
export type Piece = Parts["piece"];
export type BuildUp = Parts["buildup"];
export type Layer = Parts["layer"];
export type Stock = Parts["stock"];
export type OrderLine = Parts["order_line"];
export type Finding = Parts["finding"];
export type Proof = Parts["proof"];
