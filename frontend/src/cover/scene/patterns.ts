// Fills that are told apart without colour: the tones of the drawings, with strokes for bands, crosses for corner pieces, dots for collars.
import type { Kind } from "./parts";

export interface Fill {
  paper: readonly [number, number, number];
  ink: readonly [number, number, number];
  /** Whether a point of the pattern, 0 to 1 both ways, is inked. */
  inked: (x: number, y: number) => boolean;
  /** How large one pattern is in the room. [m] */
  size_m: number;
}

const near = (value: number, level: number, half: number): boolean => Math.abs((((value - level) % 1) + 1.5) % 1 - 0.5) < half;
const SLATE = [70, 84, 98] as const;

export const FILLS: Record<Kind, Fill> = {
  sheet_a: { paper: [230, 242, 241], ink: [230, 242, 241], inked: () => false, size_m: 0.1 },
  sheet_b: { paper: [207, 229, 227], ink: [207, 229, 227], inked: () => false, size_m: 0.1 },
  band: { paper: [194, 202, 211], ink: SLATE, inked: (x, y) => near(x + y, 0, 0.07), size_m: 0.03 },
  corner: { paper: [163, 175, 187], ink: SLATE, inked: (x, y) => near(x + y, 0, 0.07) || near(x - y, 0, 0.07), size_m: 0.03 },
  collar: { paper: [163, 175, 187], ink: SLATE, inked: (x, y) => Math.hypot(x - 0.5, y - 0.5) < 0.2, size_m: 0.025 },
  other: { paper: [241, 244, 244], ink: [150, 160, 166], inked: (_x, y) => near(y, 0, 0.05), size_m: 0.06 },
  faint: { paper: [247, 249, 248], ink: [247, 249, 248], inked: () => false, size_m: 0.1 },
  opening: { paper: [250, 252, 252], ink: [11, 95, 102], inked: (x, y) => near(x - y, 0, 0.02), size_m: 0.3 },
};

/** The pattern as pixels, red green blue alpha. */
export function pixels(fill: Fill, side = 64): Uint8Array {
  const out = new Uint8Array(side * side * 4);
  for (let j = 0; j < side; j++) {
    for (let i = 0; i < side; i++) {
      const color = fill.inked((i + 0.5) / side, (j + 0.5) / side) ? fill.ink : fill.paper;
      out.set([...color, 255], (j * side + i) * 4);
    }
  }
  return out;
}
