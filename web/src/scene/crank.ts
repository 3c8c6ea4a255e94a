import { CylinderGeometry, EdgesGeometry, LineBasicMaterial, LineSegments, Vector3 } from "three";
import type { Part } from "./part";

/** What the crank and rods sweep: a cylinder between two ends. */
export interface Sweep {
  readonly ends: readonly [readonly [number, number, number], readonly [number, number, number]];
  readonly radius: number;
}

/** The sweep as thin lines; `update` takes their colour. */
export function createCrank(sweep: Sweep, colour: number): Part<number> {
  const [from, to] = sweep.ends.map((end) => new Vector3(...end)) as [Vector3, Vector3];
  const along = to.clone().sub(from);
  const round = new CylinderGeometry(sweep.radius, sweep.radius, along.length(), 24, 1);
  const edges = new EdgesGeometry(round, 10);
  const line = new LineBasicMaterial({ color: colour, transparent: true, opacity: 0.22 });
  const object = new LineSegments(edges, line);
  object.quaternion.setFromUnitVectors(new Vector3(0, 1, 0), along.clone().normalize());
  object.position.copy(from.add(to).multiplyScalar(0.5));
  return {
    object,
    update(next) {
      line.color.setHex(next);
    },
    dispose() {
      for (const thing of [round, edges, line]) thing.dispose();
    },
  };
}
