import { CylinderGeometry, DoubleSide, Group, Mesh, MeshLambertMaterial, TorusGeometry } from "three";
import type { Colours, Part } from "./part";

export interface PickupData {
  readonly bare: boolean;
  readonly colours: Colours;
}

/** The mouth's rim and a short pipe above it; the rim changes when it is bare. */
export function createPickup(at: readonly number[], diameter: number, colours: Colours): Part<PickupData> {
  const object = new Group();
  const radius = diameter / 2;
  const rim = new TorusGeometry(radius, radius * 0.14, 10, 36);
  const pipe = new CylinderGeometry(radius * 0.9, radius * 0.9, radius * 3.2, 28, 1, true);
  const rimMaterial = new MeshLambertMaterial({ color: colours.main });
  const pipeMaterial = new MeshLambertMaterial({ color: colours.metal, side: DoubleSide });
  const tube = new Mesh(pipe, pipeMaterial);
  tube.rotation.x = Math.PI / 2;
  tube.position.z = radius * 1.6;
  object.add(new Mesh(rim, rimMaterial), tube);
  object.position.set(at[0] ?? 0, at[1] ?? 0, at[2] ?? 0);
  return {
    object,
    update({ bare, colours: next }) {
      rimMaterial.color.setHex(bare ? next.bare : next.main);
      pipeMaterial.color.setHex(next.metal);
    },
    dispose() {
      for (const thing of [rim, pipe, rimMaterial, pipeMaterial]) thing.dispose();
    },
  };
}
