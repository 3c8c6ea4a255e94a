/** Where the eye stands: an orbit about a point, z up. Plain numbers, so that it can be tested without a browser. */
import { Vector3 } from "three";

export interface View {
  /** Angle about the upright axis from the engine's front, toward its left [rad]. */
  readonly around: number;
  /** Height angle above the level [rad]. */
  readonly above: number;
  /** Distance from the middle, in sizes of the pan. */
  readonly far: number;
}

/** From the right, front and above: the front of the engine lies to the right. */
export const FIRST_VIEW: View = { around: -1.12, above: 0.5, far: 1.5 };

const limit = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/** The view after a turn and a zoom; never upside down, never inside the metal. */
export function moved(view: View, change: { around?: number; above?: number; zoom?: number }): View {
  return {
    around: view.around + (change.around ?? 0),
    above: limit(view.above + (change.above ?? 0), -0.4, 1.55),
    far: limit(view.far * (change.zoom ?? 1), 0.45, 4),
  };
}

/** The eye's place. */
export function eyeOf(view: View, middle: Vector3, size: number): Vector3 {
  const level = Math.cos(view.above);
  return new Vector3(level * Math.cos(view.around), level * Math.sin(view.around), Math.sin(view.above))
    .multiplyScalar(view.far * size)
    .add(middle);
}
