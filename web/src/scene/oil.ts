import { BufferAttribute, BufferGeometry, Mesh, MeshStandardMaterial } from "three";
import type { Cells } from "../wire/replay";
import type { Part } from "./part";
import { surfaceOf } from "./surface";

export interface OilData {
  /** Levels 0..15 of the inside cells at a frame and at the next one. */
  readonly here: Uint8Array;
  readonly next: Uint8Array;
  /** Share of the way from the one to the other. */
  readonly share: number;
}

/** The oil as a closed surface. Metres, pan frame; `dispose` once when done. */
export function createOil(
  cells: Cells,
  cell: number,
  origin: readonly [number, number, number],
  colour: number,
): Part<OilData> & { recolour(colour: number): void } {
  const field = new Float32Array(cells.n[0] * cells.n[1] * cells.n[2]);
  const geometry = new BufferGeometry();
  // A little see-through, so that mouth, plates and doors show under it; they are drawn before it.
  const material = new MeshStandardMaterial({
    color: colour, roughness: 0.35, metalness: 0, transparent: true, opacity: 0.8,
  });
  const object = new Mesh(geometry, material);
  object.scale.setScalar(cell);
  object.position.set(origin[0] + cell / 2, origin[1] + cell / 2, origin[2] + cell / 2);
  object.frustumCulled = false;
  object.renderOrder = 3;
  return {
    object,
    update({ here, next, share }) {
      cells.inside.forEach((index, i) => {
        const a = here[i] ?? 0;
        const level = a + share * ((next[i] ?? a) - a);
        field[index] = (level / 15) * (cells.share[index] ?? 0);
      });
      const { points, normals, triangles } = surfaceOf(field, cells.n);
      geometry.setAttribute("position", new BufferAttribute(points, 3));
      geometry.setAttribute("normal", new BufferAttribute(normals, 3));
      geometry.setIndex(new BufferAttribute(triangles, 1));
    },
    recolour(next) {
      material.color.setHex(next);
    },
    dispose() {
      geometry.dispose();
      material.dispose();
    },
  };
}
