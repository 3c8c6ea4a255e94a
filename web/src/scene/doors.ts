import {
  BufferAttribute,
  BufferGeometry,
  DoubleSide,
  Group,
  Mesh,
  MeshLambertMaterial,
  Quaternion,
  Vector3,
} from "three";
import type { DoorWire } from "../wire/replay";
import type { Colours, Part } from "./part";

/** Corner `index` of a door. */
function cornerOf(door: DoorWire, index: number): Vector3 {
  const at = (axis: number): number => door.corners[3 * index + axis] ?? 0;
  return new Vector3(at(0), at(1), at(2));
}

/** Where the free edge's first corner stands when the door is open by `angle` [rad]: for the scene and its test. */
export function openedCorner(door: DoorWire, index: number, angle: number): Vector3 {
  const hinge = new Vector3(door.hinge[0], door.hinge[1], door.hinge[2]);
  const foot = cornerOf(door, 0);
  const turn = new Quaternion().setFromAxisAngle(hinge, angle);
  return cornerOf(door, index).sub(foot).applyQuaternion(turn).add(foot);
}

/** The flaps; `update` takes the opening angles [rad]. */
export function createDoors(
  doors: readonly DoorWire[],
  colours: Colours,
): Part<readonly number[]> & { recolour(colours: Colours): void } {
  const object = new Group();
  const material = new MeshLambertMaterial({ color: colours.way, side: DoubleSide });
  const flaps = doors.map(() => {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(12), 3));
    geometry.setIndex([0, 1, 2, 0, 2, 3]);
    const mesh = new Mesh(geometry, material);
    mesh.frustumCulled = false;
    object.add(mesh);
    return geometry;
  });
  return {
    object,
    update(angles) {
      flaps.forEach((geometry, i) => {
        const door = doors[i];
        const place = geometry.getAttribute("position");
        if (!door) return;
        for (let c = 0; c < 4; c++) {
          const p = openedCorner(door, c, angles[i] ?? 0);
          place.setXYZ(c, p.x, p.y, p.z);
        }
        place.needsUpdate = true;
        geometry.computeVertexNormals();
      });
    },
    recolour(next) {
      material.color.setHex(next.way);
    },
    dispose() {
      for (const geometry of flaps) geometry.dispose();
      material.dispose();
    },
  };
}
