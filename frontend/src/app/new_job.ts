// What a new job begins with.
import type { Shape } from "../api/types";
import type { Draft } from "../job/draft";
import { surveyOf } from "../measure/stations";

/** A job with nothing in it. */
export function emptyJob(name: string): Draft {
  return { format: "steamwright-job", version: 1, name, units: "inch" };
}

/** A job with the plan of a shape to begin with: stations clockwise; every length is still to be taped. */
export function jobOfShape(name: string, shape: Shape): Draft {
  return { ...emptyJob(name), note: `begun as: ${shape.name}`, survey: surveyOf(shape.points_m as [number, number][]) };
}
