// Turning about the room: yaw, pitch and distance, by finger, mouse, wheel and keys. Knows no canvas and no three.js.

export interface Eye {
  yaw: number;
  pitch: number;
  distance: number;
  /** How far the point that is looked at lies from the middle of the room, to the right and up on the screen. [m] */
  right: number;
  up: number;
}

const STEP = Math.PI / 24;
const PITCH_MOST = Math.PI / 2 - 0.01;

export class Orbit {
  eye: Eye;
  readonly #home: Eye;
  readonly #nearest: number;
  readonly #farthest: number;

  constructor(reach: number) {
    this.#home = { yaw: -0.65, pitch: 0.5, distance: reach * 3.4, right: 0, up: 0 };
    this.#nearest = reach * 0.15;
    this.#farthest = reach * 12;
    this.eye = { ...this.#home };
  }

  home(): void {
    this.eye = { ...this.#home };
  }

  /** Turn by a drag over the screen, as a share of its height. */
  turn(dx: number, dy: number): void {
    this.eye.yaw -= dx * Math.PI;
    this.eye.pitch = Math.min(PITCH_MOST, Math.max(-PITCH_MOST, this.eye.pitch + dy * Math.PI));
  }

  slide(dx: number, dy: number): void {
    this.eye.right -= dx * this.eye.distance * 0.75;
    this.eye.up += dy * this.eye.distance * 0.75;
  }

  nearer(factor: number): void {
    this.eye.distance = Math.min(this.#farthest, Math.max(this.#nearest, this.eye.distance / factor));
  }

  /** What a key does; false if nothing. */
  key(key: string, shift: boolean): boolean {
    const arrows: Record<string, [number, number]> = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const arrow = arrows[key];
    if (arrow !== undefined) {
      if (shift) this.slide(arrow[0] * 0.05, arrow[1] * 0.05);
      else this.turn((-arrow[0] * STEP) / Math.PI, (arrow[1] * STEP) / Math.PI);
    } else if (key === "+" || key === "=") this.nearer(1.2);
    else if (key === "-" || key === "_") this.nearer(1 / 1.2);
    else if (key === "Home" || key === "0") this.home();
    else return false;
    return true;
  }

  /** Where the eye is and what it looks at, z upward; from farther off where the room is drawn larger by some factor. */
  stand(middle: readonly [number, number, number], larger = 1): { eye: [number, number, number]; target: [number, number, number] } {
    const { yaw, pitch, distance, right, up } = this.eye;
    const out = [Math.sin(yaw) * Math.cos(pitch), -Math.cos(yaw) * Math.cos(pitch), Math.sin(pitch)] as const;
    const side = [Math.cos(yaw), Math.sin(yaw), 0] as const;
    const over = [-Math.sin(yaw) * Math.sin(pitch), Math.cos(yaw) * Math.sin(pitch), Math.cos(pitch)] as const;
    const target = middle.map((x, k) => x + side[k as 0] * right + over[k as 0] * up) as [number, number, number];
    return { target, eye: target.map((x, k) => x + out[k as 0] * distance * larger) as [number, number, number] };
  }
}

interface Finger {
  x: number;
  y: number;
}

/** Fingers and the mouse on a surface: one turns, two pinch and slide, the right button slides, a tap picks. */
export class Fingers {
  readonly #down = new Map<number, Finger>();
  #travelled = 0;

  begin(id: number, x: number, y: number): void {
    if (this.#down.size === 0) this.#travelled = 0;
    this.#down.set(id, { x, y });
  }

  /** Apply a movement to an orbit; false if this pointer is not down. */
  move(orbit: Orbit, id: number, x: number, y: number, height: number, sliding: boolean): boolean {
    const from = this.#down.get(id);
    if (from === undefined) return false;
    const [dx, dy] = [x - from.x, y - from.y];
    const before = this.#apart();
    this.#travelled += Math.hypot(dx, dy);
    this.#down.set(id, { x, y });
    if (this.#down.size === 1) {
      if (sliding) orbit.slide(dx / height, dy / height);
      else orbit.turn(dx / height, dy / height);
    } else if (this.#down.size === 2) {
      orbit.slide(dx / 2 / height, dy / 2 / height);
      const after = this.#apart();
      if (before > 0 && after > 0) orbit.nearer(after / before);
    }
    return true;
  }

  /** Lift a pointer; true if it was a tap. */
  end(id: number): boolean {
    const alone = this.#down.size === 1;
    const there = this.#down.delete(id);
    return there && alone && this.#travelled < 6;
  }

  #apart(): number {
    const [a, b] = [...this.#down.values()];
    return a === undefined || b === undefined ? 0 : Math.hypot(a.x - b.x, a.y - b.y);
  }
}
