import { ShapeUtils, Vector2 } from "three";
import { beforeAll, describe, expect, it } from "vitest";
import type { Judged, Seam } from "../api/types";
import { same } from "../job/draft";
import { changesBetween } from "./changes";
import { examples, type Example } from "./example_plan";
import { arrange } from "./flat/arrange";
import { gripOn, gripShare } from "./flat/grips";
import { stayingOn, whyStays } from "./flat/why";
import { forPeople, spotIn } from "./flat/places";
import { closeUp, panned, zoomed } from "./flat/window";
import { Judge, quickLap } from "./judge";
import { boxOf, CoveredRoom, drop, heartOf, inside, lift, normalOf, ringOf, type Point, type Ring } from "./room";
import { Fingers, Orbit } from "./scene/orbit";
import { partsOf, strokes } from "./scene/parts";
import { FILLS, pixels } from "./scene/patterns";
import { addZone, directionOf, dropZone, jointWishOf, pieceWishOf, pinAt, pinSeam, seamPinsOf, setDirection, setJointWish, setPieceWish, unpinSeam, zonesOf } from "./wishes";

let home: Example;
let later: Example;
let tiers: Example;
let hair: Example;
let slopes: Example;

beforeAll(() => {
  // the later reading finds the long wall half an inch longer
  [home, later, tiers, hair, slopes] = examples([["home-alcove", []], ["home-alcove", [[2, "72 13/16 in"], [0, "72 9/16 in"], [4, "87 1/8 in"], [5, "87 1/16 in"]]], ["commercial-tiers", []], ["home-alcove", [[2, "72.33 in"]]], ["rafter-slope", []]]) as [Example, Example, Example, Example, Example];
}, 120_000);

const triangles = (outline: Ring, holes: readonly Ring[]): readonly (readonly number[])[] =>
  ShapeUtils.triangulateShape(outline.map(([x, y]) => new Vector2(x, y)), holes.map((ring) => ring.map(([x, y]) => new Vector2(x, y))));

function areaOf(ring: Ring): number {
  return Math.abs(ring.reduce((sum, [x, y], k) => sum + x * (ring[(k + 1) % ring.length]?.[1] ?? 0) - y * (ring[(k + 1) % ring.length]?.[0] ?? 0), 0)) / 2;
}

describe("a covered room", () => {
  it("has every patch of the plan on its facet, in setting order, with what lies under it counted", () => {
    const room = new CoveredRoom(home.plan);
    const patches = home.plan.covering.pieces.reduce((sum, piece) => sum + piece.patches.length, 0);
    expect([...room.facets.values()].reduce((sum, on) => sum + on.lying.length, 0)).toBe(patches);
    for (const { lying } of room.facets.values()) {
      expect(lying.map((one) => one.piece.place_no)).toEqual(lying.map((one) => one.piece.place_no).sort((a, b) => a - b));
      for (const one of lying) for (const below of lying) if (one.piece.over.includes(below.piece.id)) expect(one.depth).toBeGreaterThan(below.depth);
    }
  });

  it("lifts into the room and drops back", () => {
    for (const { facet } of new CoveredRoom(tiers.plan).facets.values()) {
      const [s, t] = drop(facet, lift(facet, 0.4, 0.7));
      expect(s).toBeCloseTo(0.4, 9);
      expect(t).toBeCloseTo(0.7, 9);
      expect(Math.hypot(...normalOf(facet))).toBeCloseTo(1, 9);
    }
  });

  it("tells how joints are closed: by the sheet or the band that lies on both sides", () => {
    const room = new CoveredRoom(home.plan);
    const closings = room.plan.room.joints.map((joint) => room.closing(joint));
    expect(closings.filter((closing) => closing.by === "none")).toEqual([]);
    for (const joint of room.plan.room.joints) {
      const closing = room.closing(joint);
      const piece = closing.by === "none" ? undefined : room.pieces.get(closing.piece);
      expect(piece?.role).toBe(closing.by === "band" ? "band" : "sheet");
      expect(joint.facets.every((facet) => piece?.patches.some((patch) => patch.facet === facet))).toBe(true);
    }
  });

  it("writes numbers where their piece is", () => {
    for (const { lying } of new CoveredRoom(tiers.plan).facets.values()) {
      for (const one of lying.filter((l) => areaOf(l.outline) > 0.01)) expect(inside(heartOf(one.outline, one.holes), one.outline)).toBe(true);
    }
  });
});

describe("the meshes", () => {
  it("are a handful, whatever the room, hold every patch whole, and look into the air", () => {
    const room = new CoveredRoom(tiers.plan);
    const parts = partsOf(room, triangles);
    expect(parts.meshes.size + 3).toBeLessThan(200);
    let area = 0;
    for (const part of parts.meshes.values()) {
      for (let i = 0; i < part.indices.length; i += 3) {
        const corner = (k: number): number[] => part.positions.slice(3 * (part.indices[i + k] as number), 3 * (part.indices[i + k] as number) + 3);
        const [a, b, c] = [corner(0), corner(1), corner(2)] as [number[], number[], number[]];
        const [p, q] = [b.map((x, k) => x - (a[k] as number)), c.map((x, k) => x - (a[k] as number))] as [number[], number[]];
        const n = [0, 1, 2].map((k) => (p[(k + 1) % 3] as number) * (q[(k + 2) % 3] as number) - (p[(k + 2) % 3] as number) * (q[(k + 1) % 3] as number));
        const facet = parts.facets[part.facetOf[part.indices[i] as number] as number] as (typeof parts.facets)[number];
        expect(n.reduce((sum, x, k) => sum + x * (normalOf(facet)[k] ?? 0), 0)).toBeGreaterThan(-1e-12);
        area += Math.hypot(...n) / 2;
      }
    }
    const patches = tiers.plan.covering.pieces.flatMap((piece) => piece.patches);
    const lying = patches.reduce((sum, patch) => sum + areaOf(ringOf(patch.outline_m)) - patch.holes_m.reduce((s, hole) => s + areaOf(ringOf(hole)), 0), 0);
    const bare = tiers.plan.room.facets.filter((facet) => facet.covering_by !== "pieces").reduce((sum, facet) => sum + facet.area_m2, 0);
    expect(area).toBeCloseTo(lying + bare, 3);
  });

  it("show only what changed, with the rest faint under it and without edges", () => {
    const changed = new Set(changesBetween(home.plan, later.plan, String).filter((change) => change.kind !== "gone").map((change) => change.id));
    const room = new CoveredRoom(later.plan);
    const [whole, parts] = [partsOf(room, triangles), partsOf(room, triangles, changed)];
    const count = (of: typeof parts, faint: boolean): number => [...of.meshes].reduce((sum, [kind, part]) => sum + ((kind === "faint") === faint ? part.facetOf.length : 0), 0);
    expect(count(whole, true)).toBe(0);
    const rest = later.plan.covering.pieces.filter((piece) => !changed.has(piece.id)).flatMap((piece) => piece.patches);
    expect(count(parts, true)).toBe(rest.reduce((sum, patch) => sum + patch.outline_m.length + patch.holes_m.flat().length, 0));
    expect(count(parts, true) + count(parts, false)).toBe(count(whole, false));
    expect(parts.edges.facetOf.length).toBeLessThan(whole.edges.facetOf.length);
    expect(parts.edges.facetOf.length).toBeGreaterThan(0);
  });

  it("hatch only where two rings overlap", () => {
    const square: Ring = [[0, 0], [1, 0], [1, 1], [0, 1]];
    const strip: Ring = [[0.9, -1], [2, -1], [2, 2], [0.9, 2]];
    const drawn = strokes([square, strip]);
    expect(drawn.length).toBeGreaterThan(10);
    for (const [a, b] of drawn) {
      const middle: Point = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
      expect(inside(middle, square) && inside(middle, strip)).toBe(true);
    }
    expect(strokes([square, [[3, 3], [4, 3], [4, 4]]])).toEqual([]);
  });

  it("tell kinds apart without colour, and none of them is orange", () => {
    const inked = (kind: keyof typeof FILLS): number => {
      const bytes = pixels(FILLS[kind], 32);
      return Array.from({ length: 1024 }, (_, i) => bytes[4 * i]).filter((red) => red === FILLS[kind].ink[0]).length / 1024;
    };
    const shares = [inked("band"), inked("corner"), inked("collar")];
    expect(new Set(shares.map((share) => share.toFixed(1))).size).toBe(3);
    for (const { paper, ink } of Object.values(FILLS)) for (const [red, green, blue] of [paper, ink]) expect(red > green + 20 && green > blue + 20).toBe(false);
  });
});

describe("turning about", () => {
  it("stands farther off as the room is pulled apart", () => {
    const orbit = new Orbit(2);
    const far = (larger?: number): number => {
      const { eye, target } = orbit.stand([1, 2, 3], larger);
      return Math.hypot(...eye.map((x, k) => x - (target[k] ?? 0)));
    };
    expect(far()).toBeCloseTo(orbit.eye.distance, 9);
    expect(far(1.5)).toBeCloseTo(1.5 * orbit.eye.distance, 9);
  });

  it("goes by finger, pinch and key, and home again", () => {
    const orbit = new Orbit(2);
    const begin = { ...orbit.eye };
    const fingers = new Fingers();
    fingers.begin(1, 100, 100);
    fingers.move(orbit, 1, 160, 100, 400, false);
    expect(orbit.eye.yaw).toBeLessThan(begin.yaw);
    expect(fingers.end(1)).toBe(false);
    fingers.begin(1, 100, 100);
    fingers.begin(2, 200, 100);
    fingers.move(orbit, 2, 300, 100, 400, false);
    expect(orbit.eye.distance).toBeCloseTo(begin.distance / 2, 6);
    fingers.end(1);
    fingers.end(2);
    fingers.begin(3, 5, 5);
    expect(fingers.end(3)).toBe(true);
    expect(orbit.key("ArrowUp", false)).toBe(true);
    expect(orbit.key("x", false)).toBe(false);
    orbit.key("Home", false);
    expect(orbit.eye).toEqual(begin);
  });

  it("never tips over", () => {
    const orbit = new Orbit(2);
    for (let i = 0; i < 50; i++) orbit.key("ArrowUp", false);
    expect(orbit.eye.pitch).toBeLessThan(Math.PI / 2);
  });
});

describe("the flat sheet", () => {
  it("has every facet once, and none over another", () => {
    const facets = new CoveredRoom(tiers.plan).covered;
    const sheet = arrange(facets);
    const places = [...sheet.places.values()].map(({ x, y, box }) => ({ x0: x, y0: y, x1: x + box.x1 - box.x0, y1: y + box.y1 - box.y0 }));
    expect(places.length).toBe(facets.length);
    places.forEach((a, i) => places.slice(i + 1).forEach((b) => expect(a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0).toBe(true)));
    for (const place of places) expect(place.x1 <= sheet.width + 1e-9 && place.y1 <= sheet.height + 1e-9).toBe(true);
  });

  it("zooms about a point and pans as a finger does", () => {
    const [place] = arrange(new CoveredRoom(home.plan).covered).places.values();
    const window = closeUp(place as NonNullable<typeof place>, { width: 800, height: 600 });
    const near = zoomed(window, 2, 100, 50);
    expect(near.x + 100 * near.m_per_px).toBeCloseTo(window.x + 100 * window.m_per_px, 9);
    expect(near.y - 50 * near.m_per_px).toBeCloseTo(window.y - 50 * window.m_per_px, 9);
    expect(panned(window, 10, 0).x).toBeCloseTo(window.x - 10 * window.m_per_px, 9);
  });

  it("finds the place that the proof names", () => {
    const spot = spotIn(home.plan.covering.proof.where, home.plan.room.facets);
    expect(home.plan.room.facets.find((facet) => facet.id === spot?.facet)?.name).toBe("bench top");
    expect(forPeople(home.plan.covering.proof.where)).not.toMatch(/ mm|\(s /);
    expect(spotIn("no collar holds the valve", home.plan.room.facets)).toBeNull();
  });

  it("keeps a facet's own extent in its box", () => {
    for (const on of new CoveredRoom(home.plan).covered) {
      const own = boxOf([ringOf(on.facet.outline_m)]);
      expect(on.box.x0).toBeLessThanOrEqual(own.x0);
      expect(on.box.y1).toBeGreaterThanOrEqual(own.y1);
    }
  });
});

describe("what a late reading changed", () => {
  const show = (m: number): string => `${(m * 1000).toFixed(1)} mm`;

  it("is nothing between a plan and itself", () => {
    expect(changesBetween(home.plan, structuredClone(home.plan), show)).toEqual([]);
  });

  it("is the sheets that grew, and not the pieces that nobody has to touch", () => {
    const changes = changesBetween(home.plan, later.plan, show);
    expect(changes.length).toBeGreaterThan(0);
    expect(changes.length).toBeLessThan(later.plan.covering.pieces.length);
    expect(changes.some((change) => change.role === "sheet" && change.what.includes("wider"))).toBe(true);
    expect(changes.filter((change) => change.what.startsWith("0.0"))).toEqual([]);
  });

  it("is nothing where less changed than anybody can tape", () => {
    expect(changesBetween(home.plan, hair.plan, show)).toEqual([]);
  });

  it("says which piece is new, which is gone, and by how much a blank is longer", () => {
    const after = structuredClone(home.plan);
    const [first, second] = after.covering.pieces as [(typeof after.covering.pieces)[number], (typeof after.covering.pieces)[number]];
    first.blank_m = [(first.blank_m?.[0] ?? 0) + 0.0127, first.blank_m?.[1] ?? 0];
    const old = second.id;
    second.id = "S901";
    expect(changesBetween(home.plan, after, show).map(({ id, kind, what }) => [id, kind, what])).toEqual([
      [first.id, "changed", "12.7 mm longer"], ["S901", "new", "not in the plan before"], [old, "gone", "no longer in the plan"],
    ]);
  });
});

describe("wishes in the job", () => {
  it("come in, are read back, and leave nothing behind", () => {
    const draft = structuredClone(home.draft);
    setDirection(draft, "C-D", "level");
    setJointWish(draft, "C-D", "ceiling", { by: "band" });
    setJointWish(draft, "B-C", "C-D", { by: "fold", from: "C-D", onto: "B-C" });
    addZone(draft, "C-D", { from: "10 in", to: "20 in", measured: "along" });
    addZone(draft, "D-A", { from: "1 in", to: "2 in", measured: "across" });
    pinSeam(draft, "C-D", "along", 0.8507);
    expect(directionOf(draft, "C-D")).toBe("level");
    expect(jointWishOf(draft, "ceiling", "C-D")).toEqual({ by: "band" });
    expect(jointWishOf(draft, "B-C", "C-D")).toEqual({ by: "fold", from: "C-D", onto: "B-C" });
    expect(zonesOf(draft, "C-D")).toEqual([{ from: "10 in", to: "20 in", measured: "along" }]);
    expect(seamPinsOf(draft, "C-D")).toEqual([{ across: "along", at: "0.8507 m" }]);
    expect(pinAt(draft, "C-D", "along", 0.851)).toBe(0);
    expect(pinAt(draft, "C-D", "along", 0.86)).toBe(-1);
    setDirection(draft, "C-D", "best");
    setJointWish(draft, "ceiling", "C-D", { by: "best" });
    setJointWish(draft, "C-D", "B-C", { by: "best" });
    dropZone(draft, "C-D", 0);
    dropZone(draft, "D-A", 0);
    unpinSeam(draft, "C-D", 0);
    expect(same(draft, home.draft)).toBe(true);
  });

  it("hold a piece as it is in the plan, however often its state changes", () => {
    const draft = structuredClone(home.draft);
    const piece = home.plan.covering.pieces.find((one) => one.patches.length > 2) as (typeof home.plan.covering.pieces)[number];
    const name = (id: string): string => home.plan.room.facets.find((facet) => facet.id === id)?.name ?? "";
    setPieceWish(draft, piece, name, { state: "cut", short: "", shortAt: "end", answer: "patch" });
    const moved = structuredClone(piece);
    (moved.patches[0] as (typeof moved.patches)[number]).outline_m = [[0, 0], [1, 0], [1, 1]];
    setPieceWish(draft, moved, name, { state: "set", short: "3/4 in", shortAt: "start", answer: "again" });
    expect(pieceWishOf(draft, piece.id)).toEqual({ state: "set", short: "3/4 in", shortAt: "start", answer: "again" });
    const rows = (draft["covering"] as { piece: { patch: { on: string; outline: string[][] }[] }[] }).piece;
    expect(rows.length).toBe(1);
    expect(rows[0]?.patch.map((patch) => patch.on)).toEqual(piece.patches.map((patch) => name(patch.facet)));
    expect(rows[0]?.patch[0]?.outline.length).toBe(piece.patches[0]?.outline_m.length);
    setPieceWish(draft, piece, name, { state: "planned", short: "", shortAt: "end", answer: "patch" });
    expect(same(draft, home.draft)).toBe(true);
  });
});

describe("the proof while a seam is dragged", () => {
  const seam = { id: "seam-01", lap_m: 0.0635, edges: [[{ piece: "S001" }, -1], [{ piece: "S002" }, 1]] } as unknown as Seam;
  const wide = (piece: string): number => (piece === "S001" ? 0 : 0.4);

  it("is foretold at once: a sheet as wide as its roll pays with the lap", () => {
    expect(quickLap(seam, 0.02, wide, 0.0508)).toEqual({ lap_m: 0.0635, short: false });
    const back = quickLap(seam, -0.02, wide, 0.0508);
    expect(back.lap_m).toBeCloseTo(0.0435, 9);
    expect(back.short).toBe(true);
    expect(quickLap(seam, -0.0127, wide, 0.0508).short).toBe(false);
  });

  it("is gripped once on a facet, and not where only a leg of it is turned over", () => {
    const stretch = (facet: string, length: number): object => ({ facet, forward: [1, 0], under_m: [[0, 0], [0, length]], over_m: [[0.06, length], [0.06, 0]] });
    const wide = { ...seam, stretches: [stretch("wall", 0.5), stretch("wall", 0.9), stretch("floor", 0.064)] } as unknown as Seam;
    expect(gripOn(wide, "wall")).toBe(wide.stretches[1]);
    expect(gripOn(wide, "floor")).toBeNull();
    expect(gripOn(wide, "ceiling")).toBeNull();
    const curb = { ...seam, stretches: [stretch("curb", 0.13), stretch("floor", 0.064)] } as unknown as Seam;
    expect(gripOn(curb, "curb")).toBe(curb.stretches[0]);
  });

  it("is gripped beside the numbers of the pieces", () => {
    const numbers = [{ at: [0.05, 0.5] as Point, chars: 3 }];
    expect(gripShare([0, 0], [0, 1], [], 0.002)).toBe(0.5);
    expect(gripShare([0, 0], [0, 1], numbers, 0.002)).toBe(0.35);
    expect(gripShare([0, 0], [0, 1], [...numbers, { at: [0, 0.33], chars: 4 }], 0.002)).toBe(0.65);
    expect(gripShare([0, 0.49], [0, 0.52], numbers, 0.002), "where there is no room beside them").toBe(0.5);
  });

  it("says of every lap without a grip why it stays", () => {
    for (const { plan, seams } of [home, tiers, slopes]) {
      const room = new CoveredRoom(plan);
      for (const on of room.covered) {
        for (const upper of on.lying) {
          for (const lower of on.lying.filter((one) => upper.piece.over.includes(one.piece.id))) {
            for (const [[ax, ay], [bx, by]] of strokes([upper.outline, lower.outline])) {
              const at: Point = [(ax + bx) / 2, (ay + by) / 2];
              const gripped = seams.some((seam) => gripOn(seam, on.facet.id) !== null);
              if (!gripped) expect(whyStays(room, on.facet.id, at, 0.002, seams), `${upper.piece.id} ${on.facet.name}`).not.toBeNull();
            }
          }
        }
        for (const seam of seams) {
          const main = gripOn(seam, on.facet.id);
          if (main === null) continue;
          const middle = [0, 1].map((k) => [...main.under_m, ...main.over_m].reduce((sum, p) => sum + (p[k] ?? 0), 0) / 4) as [number, number];
          const over = room.facets.get(on.facet.id)?.lying.filter((one) => inside(middle, one.outline)).at(-1);
          if (over?.piece.role === "sheet") expect(whyStays(room, on.facet.id, middle, 0, seams)).toBeNull();
        }
      }
      // a place with one layer is no lap
      expect(whyStays(room, room.covered[0]?.facet.id ?? "", [-9, -9], 0.01, seams)).toBeNull();
    }
  });

  it("tells two parts of one blank, a leg and a short end apart", () => {
    const room = new CoveredRoom(slopes.plan);
    const said = room.covered.flatMap((on) => stayingOn(room, on.facet.id, slopes.seams));
    const parted = said.filter(({ why }) => why.startsWith("Both are parts of one blank"));
    expect(parted.length).toBeGreaterThan(0);
    for (const { pieces } of parted) expect(pieces).toMatch(/^(S\d+)b over \1a$/);
    expect(said.some(({ why }) => why.startsWith("Here a leg is folded over"))).toBe(true);
    for (const { why } of said.filter((one) => one.why.startsWith("This is the short end"))) {
      expect(room.covered.some((on) => why.endsWith(`Take hold of it on ${on.facet.name}.`))).toBe(true);
    }
  });

  it("asks one question at a time, always the latest, and forgets what was put back", async () => {
    const asked: number[] = [];
    const open: ((judged: Judged) => void)[] = [];
    const told: number[] = [];
    const judge = new Judge((moved) => new Promise((answer) => { asked.push(moved[0]?.by_m ?? 0); open.push(answer); }), (_, by_m) => told.push(by_m), () => undefined);
    const settle = async (): Promise<void> => { for (let i = 0; i < 5; i++) await Promise.resolve(); };
    for (const by_m of [1, 2, 3, 4]) judge.about("seam-01", by_m);
    expect(asked).toEqual([1]);
    open[0]?.({} as Judged);
    await settle();
    expect(asked).toEqual([1, 4]);
    expect(told).toEqual([1]);
    judge.stop();
    open[1]?.({} as Judged);
    await settle();
    expect(told).toEqual([1]);
  });
});
