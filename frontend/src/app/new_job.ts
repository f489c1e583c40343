// What a new job begins with.
import type { Shape, Sketch } from "../api/types";
import type { Draft } from "../job/draft";

/** A job with nothing in it. */
export function emptyJob(name: string): Draft {
  return { format: "steamwright-job", version: 1, name, units: "inch" };
}

/**
 * A job with the plan of a shape to begin with: stations and turns; every length is still to be taped.
 *
 * @param sketch what the server makes of the shape's corners
 */
export function jobOfShape(name: string, shape: Shape, sketch: Sketch): Draft {
  const approximate: Record<string, string[]> = {};
  for (const [station, [x_m, y_m]] of Object.entries(sketch.approximate_m)) approximate[station] = [`${x_m} m`, `${y_m} m`];
  return { ...emptyJob(name), note: `begun as: ${shape.name}`, survey: { face: "framing", stations: sketch.stations, approximate, reading: [] } };
}
