// The part of the flat sheet that is looked at: panning, zooming about a point, and going to a facet.
import type { Place, Sheet } from "./arrange";

/** Centre in sheet metres (y upward) and metres a screen pixel. */
export interface Window {
  x: number;
  y: number;
  m_per_px: number;
}

export interface Size {
  width: number;
  height: number;
}

const CLOSEST = 0.0004;
const FARTHEST = 0.05;

export function whole(sheet: Sheet, size: Size, margin = 0.4): Window {
  return fitted({ x0: -margin, y0: -margin, x1: sheet.width + margin, y1: sheet.height + margin }, size);
}

/** A facet as large as it goes, with room round it for its name. */
export function closeUp(place: Place, size: Size): Window {
  const { box, x, y } = place;
  const margin = 0.2;
  return fitted({ x0: x - margin, y0: y - margin, x1: x + box.x1 - box.x0 + margin, y1: y + box.y1 - box.y0 + margin }, size);
}

function fitted(box: { x0: number; y0: number; x1: number; y1: number }, size: Size): Window {
  const m_per_px = Math.max((box.x1 - box.x0) / Math.max(size.width, 1), (box.y1 - box.y0) / Math.max(size.height, 1));
  return { x: (box.x0 + box.x1) / 2, y: (box.y0 + box.y1) / 2, m_per_px: held(m_per_px) };
}

function held(m_per_px: number): number {
  return Math.min(FARTHEST, Math.max(CLOSEST, m_per_px));
}

/** Move what is seen by pixels, as a finger drags it. */
export function panned(window: Window, dx: number, dy: number): Window {
  return { ...window, x: window.x - dx * window.m_per_px, y: window.y + dy * window.m_per_px };
}

/** Zoom so that what lies under a point of the screen (from its centre, y down) stays there. */
export function zoomed(window: Window, factor: number, dx = 0, dy = 0): Window {
  const m_per_px = held(window.m_per_px / factor);
  const by = window.m_per_px - m_per_px;
  return { x: window.x + dx * by, y: window.y - dy * by, m_per_px };
}

/** As an SVG viewBox over a sheet whose y is turned downward. */
export function viewBox(window: Window, size: Size): string {
  const width = size.width * window.m_per_px;
  const height = size.height * window.m_per_px;
  return `${window.x - width / 2} ${-window.y - height / 2} ${width} ${height}`;
}
