/** From the server's scene and surfaces to what the stage draws. */
import { bytesOf, unpack } from "../wire/code";
import type { Cells } from "../wire/replay";
import type { SceneWire } from "../wire/types";

/** A scene made ready: its open cells, their places and spaces. */
export interface Room {
  readonly scene: SceneWire;
  readonly cells: Cells;
  /** Centre of each open cell, x y z. */
  readonly centres: Float32Array;
  /** Space of each open cell; 255 is none. */
  readonly spaceOf: Uint8Array;
}

/** Throws, in words, when the scene does not hold together. */
export function roomOf(scene: SceneWire): Room {
  const [nx, ny, nz] = scene.n;
  const levels = unpack(bytesOf(scene.open), nx * ny * nz)[0];
  if (!levels) throw new Error("the scene has no cells");
  const inside: number[] = [];
  levels.forEach((level, cell) => level > 0 && inside.push(cell));
  const centres = new Float32Array(3 * inside.length);
  inside.forEach((cell, i) => {
    const place = [cell % nx, Math.floor(cell / nx) % ny, Math.floor(cell / (nx * ny))];
    for (let axis = 0; axis < 3; axis++) {
      centres[3 * i + axis] = (scene.origin[axis] ?? 0) + ((place[axis] ?? 0) + 0.5) * scene.cell;
    }
  });
  const spaceOf = bytesOf(scene.space_of);
  if (spaceOf.length !== inside.length) throw new Error("the scene's spaces do not fit its cells");
  return {
    scene,
    cells: { n: scene.n, share: Float32Array.from(levels, (level) => level / 15), inside: Uint32Array.from(inside) },
    centres,
    spaceOf,
  };
}

/** Levels 0..15 of the open cells under the surfaces: `up` and `height` of each space, four numbers a space. */
export function levelsOf(room: Room, surfaces: ArrayLike<number>): Uint8Array {
  const { centres, spaceOf, scene } = room;
  const levels = new Uint8Array(spaceOf.length);
  const spaces = surfaces.length / 4;
  // Along its normal a cube reaches over so much on both sides of its middle.
  const reach = new Float32Array(spaces);
  for (let s = 0; s < spaces; s++) {
    let sum = 0;
    for (let axis = 0; axis < 3; axis++) sum += Math.abs(surfaces[4 * s + axis] ?? 0);
    reach[s] = Math.max(1e-9, scene.cell * sum);
  }
  for (let i = 0; i < levels.length; i++) {
    const s = spaceOf[i] ?? 255;
    if (s >= spaces) continue;
    let over = surfaces[4 * s + 3] ?? 0;
    for (let axis = 0; axis < 3; axis++) over -= (surfaces[4 * s + axis] ?? 0) * (centres[3 * i + axis] ?? 0);
    levels[i] = Math.round(15 * Math.min(1, Math.max(0, 0.5 + over / (reach[s] ?? 1))));
  }
  return levels;
}

/** Numbers of a packed series: base64 of little-endian f32. */
export function numbersOf(packed: string): Float32Array {
  const bytes = bytesOf(packed);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Float32Array.from({ length: Math.floor(bytes.length / 4) }, (_, i) => view.getFloat32(4 * i, true));
}
