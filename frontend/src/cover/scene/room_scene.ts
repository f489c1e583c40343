// The room in three dimensions, on a canvas. It knows no framework: hand it a room, tell it what to show, hear what is picked.
import {
  BufferAttribute, BufferGeometry, Color, DataTexture, FrontSide, LinearFilter, LinearMipmapLinearFilter, LineBasicMaterial, LineSegments, Mesh,
  MeshBasicMaterial, PerspectiveCamera, Plane, Raycaster, RepeatWrapping, Scene, ShapeUtils, SRGBColorSpace, Vector2, Vector3, WebGLRenderer, type Intersection,
} from "three";
import { normalOf, type CoveredRoom, type Ring } from "../room";
import { Fingers, Orbit } from "./orbit";
import { KINDS, partsOf, type Kind, type Lines, type Parts } from "./parts";
import { FILLS, pixels } from "./patterns";

export type SectionAxis = "none" | "x" | "y" | "z";

export interface SceneMeans {
  onPick?: (facet: string | null) => void;
  /** For tests without a screen. */
  renderer?: Pick<WebGLRenderer, "render" | "setSize" | "setPixelRatio" | "dispose" | "info"> & { clippingPlanes: Plane[] };
}

const INK = 0x1d2429;
const TEAL = 0x0b5f66;
const CRIMSON = 0xa8123a;

/** Show a covered room. Draw calls stay the same however many facets it has. */
export class RoomScene {
  readonly #canvas: HTMLCanvasElement;
  readonly #means: SceneMeans;
  readonly #renderer: NonNullable<SceneMeans["renderer"]>;
  readonly #scene = new Scene();
  readonly #camera = new PerspectiveCamera(35, 1, 0.05, 200);
  readonly #fingers = new Fingers();
  readonly #meshes: Mesh<BufferGeometry, MeshBasicMaterial>[] = [];
  readonly #lines: LineSegments<BufferGeometry, LineBasicMaterial>[] = [];
  readonly #plane = new Plane(new Vector3(0, 0, -1), 0);
  readonly #stop = new AbortController();
  #picked: LineSegments<BufferGeometry, LineBasicMaterial> | null = null;
  #failing: LineSegments<BufferGeometry, LineBasicMaterial> | null = null;
  #orbit: Orbit | null = null;
  #parts: Parts | null = null;
  #explode = 0;
  #highlight: string | null = null;
  #fails: string | null = null;
  readonly #textures = new Map<Kind, DataTexture>();
  #asked = 0;
  #sliding = false;
  #seen = "";

  constructor(canvas: HTMLCanvasElement, means: SceneMeans = {}) {
    this.#canvas = canvas;
    this.#means = means;
    this.#renderer = means.renderer ?? new WebGLRenderer({ canvas, antialias: true, alpha: false, preserveDrawingBuffer: false });
    this.#scene.background = new Color(0xfbfaf6);
    this.#camera.up.set(0, 0, 1);
    this.#listen();
  }

  /** Show a room, whole or only some of its pieces; the eye stays where it is unless this is the first one. */
  show(room: CoveredRoom, only: ReadonlySet<string> | null = null): void {
    const parts = partsOf(room, triangles, only);
    this.#clear();
    this.#parts = parts;
    this.#orbit ??= new Orbit(parts.reach);
    for (const kind of KINDS) {
      const part = parts.meshes.get(kind);
      if (part === undefined || part.indices.length === 0) continue;
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(new Float32Array(part.positions), 3));
      geometry.setAttribute("uv", new BufferAttribute(new Float32Array(part.uvs).map((x) => x / FILLS[kind].size_m), 2));
      geometry.setIndex(part.indices);
      geometry.userData = { facetOf: part.facetOf, at: Float32Array.from(part.positions) };
      const material = new MeshBasicMaterial({ map: this.#texture(kind), side: FrontSide, transparent: kind === "opening", opacity: kind === "opening" ? 0.45 : 1 });
      material.polygonOffset = true;
      material.polygonOffsetFactor = 1;
      const mesh = new Mesh(geometry, material);
      mesh.frustumCulled = false;
      this.#meshes.push(mesh);
      this.#scene.add(mesh);
    }
    this.#line(parts.edges, INK, 1, 0.75);
    this.#line(parts.laps, TEAL, 1, 0.6);
    this.#line(parts.outlines, INK, 2, 1);
    this.explode(this.#explode);
  }

  /** Outline a facet, or none. */
  highlight(facet: string | null): void {
    this.#highlight = facet;
    this.#picked = this.#mark(this.#picked, facet, TEAL);
    this.draw();
  }

  /** Outline a facet where the covering fails. */
  fail(facet: string | null): void {
    this.#fails = facet;
    this.#failing = this.#mark(this.#failing, facet, CRIMSON);
    this.draw();
  }

  /** Draw the facets apart: 0 where they are, 1 as far as half the room. */
  explode(share: number): void {
    this.#explode = share;
    const parts = this.#parts;
    if (parts === null) return;
    const shifts = parts.facets.map((facet) => normalOf(facet).map((x) => -x * share * parts.reach * 0.5));
    for (const drawn of [...this.#meshes, ...this.#lines]) {
      const { facetOf, at } = drawn.geometry.userData as { facetOf: number[]; at: Float32Array };
      const position = drawn.geometry.getAttribute("position") as BufferAttribute;
      facetOf.forEach((facet, i) => {
        const by = shifts[facet] as number[];
        for (let k = 0; k < 3; k++) position.array[3 * i + k] = (at[3 * i + k] as number) + (by[k] as number);
      });
      position.needsUpdate = true;
      drawn.geometry.boundingSphere = null;
    }
    this.highlight(this.#highlight);
    this.fail(this.#fails);
  }

  /** Cut the room by a plane across an axis, at a share of its extent. */
  section(axis: SectionAxis, share: number): void {
    const parts = this.#parts;
    if (axis === "none" || parts === null) this.#renderer.clippingPlanes = [];
    else {
      const k = { x: 0, y: 1, z: 2 }[axis];
      const along = parts.outlines.positions.filter((_, i) => i % 3 === k);
      const [low, high] = [Math.min(...along), Math.max(...along)];
      this.#plane.normal.set(k === 0 ? -1 : 0, k === 1 ? -1 : 0, k === 2 ? -1 : 0);
      this.#plane.constant = low + (high - low) * share + 1e-4;
      this.#renderer.clippingPlanes = [this.#plane];
    }
    this.draw();
  }

  home(): void {
    this.#orbit?.home();
    this.draw();
  }

  /** What a key does; false if nothing. */
  key(key: string, shift: boolean): boolean {
    const done = this.#orbit?.key(key, shift) ?? false;
    if (done) this.draw();
    return done;
  }

  /** The facet under a point of the canvas, counted from its upper left corner in pixels. */
  facetAt(x: number, y: number): string | null {
    const box = this.#canvas.getBoundingClientRect();
    const ray = new Raycaster();
    this.#aim();
    this.#camera.updateMatrixWorld();
    ray.setFromCamera(new Vector2((x / box.width) * 2 - 1, 1 - (y / box.height) * 2), this.#camera);
    const hits = ray.intersectObjects(this.#meshes, false).filter((hit) => this.#isSeen(hit));
    const hit = hits[0];
    if (hit?.face == null) return null;
    const index = ((hit.object as Mesh).geometry.userData as { facetOf: number[] }).facetOf[hit.face.a];
    return index === undefined ? null : (this.#parts?.facets[index]?.id ?? null);
  }

  /** Where the middle of a facet is on the canvas in pixels, and whether it is seen there. */
  placeOf(facet: string): { x: number; y: number; seen: boolean } | null {
    const parts = this.#parts;
    const index = parts?.facets.findIndex((one) => one.id === facet) ?? -1;
    if (parts === null || index < 0) return null;
    const box = this.#canvas.getBoundingClientRect();
    for (const mesh of this.#meshes) {
      const { facetOf } = mesh.geometry.userData as { facetOf: number[] };
      const position = mesh.geometry.getAttribute("position");
      const ids = mesh.geometry.index;
      for (let i = 0; ids !== null && i < ids.count; i += 3) {
        if (facetOf[ids.getX(i)] !== index) continue;
        const middle = new Vector3();
        for (let k = 0; k < 3; k++) middle.add(new Vector3().fromBufferAttribute(position, ids.getX(i + k)));
        this.#aim();
        this.#camera.updateMatrixWorld();
        middle.divideScalar(3).project(this.#camera);
        const [x, y] = [((middle.x + 1) / 2) * box.width, ((1 - middle.y) / 2) * box.height];
        if (this.facetAt(x, y) === facet) return { x, y, seen: true };
      }
    }
    return { x: 0, y: 0, seen: false };
  }

  resize(): void {
    const { width, height } = this.#canvas.getBoundingClientRect();
    if (width === 0 || height === 0) return;
    this.#renderer.setPixelRatio(Math.min(globalThis.devicePixelRatio ?? 1, 2));
    this.#renderer.setSize(width, height, false);
    this.#camera.aspect = width / height;
    this.#camera.updateProjectionMatrix();
    this.draw();
  }

  /** Draw once, before the screen is shown the next time. */
  draw(): void {
    if (this.#asked !== 0) return;
    this.#asked = requestAnimationFrame(() => {
      this.#asked = 0;
      this.drawNow();
    });
  }

  /** Draw at once; the number of draw calls. */
  drawNow(): number {
    this.#aim();
    this.#hideNear();
    this.#renderer.render(this.#scene, this.#camera);
    return this.#renderer.info.render.calls;
  }

  close(): void {
    this.#stop.abort();
    if (this.#asked !== 0) cancelAnimationFrame(this.#asked);
    this.#clear();
    for (const made of this.#textures.values()) made.dispose();
    this.#renderer.dispose();
  }

  /** The pattern of a kind, made once: the room is shown anew for every place of a seam that is dragged. */
  #texture(kind: Kind): DataTexture {
    const made = this.#textures.get(kind) ?? texture(kind);
    this.#textures.set(kind, made);
    return made;
  }

  #aim(): void {
    const { orbit, parts } = { orbit: this.#orbit, parts: this.#parts };
    if (orbit === null || parts === null) return;
    const { eye, target } = orbit.stand(parts.middle, 1 + 0.5 * this.#explode);
    this.#camera.position.set(...eye);
    this.#camera.lookAt(...target);
  }

  /** Walls between the eye and the room are not drawn, so what lies on them must not hang in the air either. */
  #hideNear(): void {
    const parts = this.#parts;
    if (parts === null) return;
    const eye = this.#camera.position;
    const seen = parts.facets.map((facet) => {
      const n = normalOf(facet);
      const [x = 0, y = 0, z = 0] = facet.origin_m;
      const by = this.#explode * parts.reach * 0.5;
      return n[0] * (eye.x - x + n[0] * by) + n[1] * (eye.y - y + n[1] * by) + n[2] * (eye.z - z + n[2] * by) > 0;
    });
    const key = seen.map(Number).join("");
    if (key === this.#seen) return;
    this.#seen = key;
    for (const drawn of this.#lines.slice(0, -1)) {
      const { facetOf } = drawn.geometry.userData as { facetOf: number[] };
      drawn.geometry.setIndex(facetOf.flatMap((facet, i) => (seen[facet] === true ? [i] : [])));
    }
  }

  #isSeen(hit: Intersection): boolean {
    return this.#renderer.clippingPlanes.every((plane) => plane.distanceToPoint(hit.point) >= 0);
  }

  #line(lines: Lines, color: number, width: number, opacity: number): void {
    if (lines.positions.length === 0) return;
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(lines.positions), 3));
    geometry.userData = { facetOf: lines.facetOf, at: Float32Array.from(lines.positions) };
    const drawn = new LineSegments(geometry, new LineBasicMaterial({ color, linewidth: width, transparent: opacity < 1, opacity }));
    drawn.frustumCulled = false;
    this.#lines.push(drawn);
    this.#scene.add(drawn);
  }

  #mark(old: LineSegments<BufferGeometry, LineBasicMaterial> | null, facet: string | null, color: number): LineSegments<BufferGeometry, LineBasicMaterial> | null {
    if (old !== null) {
      this.#scene.remove(old);
      old.geometry.dispose();
      old.material.dispose();
    }
    const parts = this.#parts;
    const index = facet === null || parts === null ? -1 : parts.facets.findIndex((one) => one.id === facet);
    const outlines = this.#lines.at(-1);
    if (index < 0 || parts === null || outlines === undefined) return null;
    const position = outlines.geometry.getAttribute("position");
    const heavy: number[] = [];
    const n = normalOf(parts.facets[index] as Parts["facets"][number]);
    parts.outlines.facetOf.forEach((of, i) => {
      // lines are one pixel wide everywhere, so a heavy one is several beside one another
      if (of === index && i % 2 === 0) {
        for (const by of [0.004, 0.009, 0.014]) {
          for (const j of [i, i + 1]) heavy.push(position.getX(j) + n[0] * by, position.getY(j) + n[1] * by, position.getZ(j) + n[2] * by);
        }
      }
    });
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(heavy), 3));
    const drawn = new LineSegments(geometry, new LineBasicMaterial({ color, depthTest: false }));
    drawn.renderOrder = 10;
    drawn.frustumCulled = false;
    this.#scene.add(drawn);
    return drawn;
  }

  #clear(): void {
    this.#picked = this.#mark(this.#picked, null, TEAL);
    this.#failing = this.#mark(this.#failing, null, CRIMSON);
    for (const drawn of [...this.#meshes, ...this.#lines]) {
      this.#scene.remove(drawn);
      drawn.geometry.dispose();
      drawn.material.dispose();
    }
    this.#meshes.length = 0;
    this.#lines.length = 0;
    this.#seen = "";
  }

  #listen(): void {
    const canvas = this.#canvas;
    const signal = this.#stop.signal;
    const at = (event: PointerEvent): [number, number] => [event.offsetX, event.offsetY];
    canvas.addEventListener("pointerdown", (event) => {
      this.#sliding = event.button === 2 || event.shiftKey;
      canvas.setPointerCapture(event.pointerId);
      this.#fingers.begin(event.pointerId, ...at(event));
    }, { signal });
    canvas.addEventListener("pointermove", (event) => {
      if (this.#orbit !== null && this.#fingers.move(this.#orbit, event.pointerId, ...at(event), canvas.clientHeight, this.#sliding)) this.draw();
    }, { signal });
    canvas.addEventListener("pointerup", (event) => {
      if (this.#fingers.end(event.pointerId)) this.#means.onPick?.(this.facetAt(...at(event)));
    }, { signal });
    canvas.addEventListener("pointercancel", (event) => void this.#fingers.end(event.pointerId), { signal });
    canvas.addEventListener("contextmenu", (event) => event.preventDefault(), { signal });
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.#orbit?.nearer(Math.exp(-event.deltaY * 0.0015));
      this.draw();
    }, { signal, passive: false });
  }
}

function triangles(outline: Ring, holes: readonly Ring[]): readonly (readonly number[])[] {
  const points = (ring: Ring): Vector2[] => ring.map(([x, y]) => new Vector2(x, y));
  return ShapeUtils.triangulateShape(points(outline), holes.map(points));
}

function texture(kind: Kind): DataTexture {
  const made = new DataTexture(pixels(FILLS[kind]), 64, 64);
  made.wrapS = made.wrapT = RepeatWrapping;
  made.colorSpace = SRGBColorSpace;
  made.magFilter = LinearFilter;
  made.minFilter = LinearMipmapLinearFilter;
  made.generateMipmaps = true;
  made.anisotropy = 4;
  made.needsUpdate = true;
  return made;
}
