import { ConeGeometry, CylinderGeometry, Group, Mesh, MeshBasicMaterial, Quaternion, Vector3 } from "three";
import { STANDARD_GRAVITY } from "../units";
import type { Colours, Part } from "./part";

/** The arrow of apparent gravity, from `at`; 1 g is `unit` long. `update` takes it in m/s². */
export function createPull(
  at: Vector3,
  unit: number,
  colours: Colours,
): Part<readonly number[]> & { recolour(colours: Colours): void; tip(): Vector3 } {
  const object = new Group();
  const material = new MeshBasicMaterial({ color: colours.way });
  const shaft = new CylinderGeometry(unit * 0.03, unit * 0.03, 1, 10);
  const head = new ConeGeometry(unit * 0.11, unit * 0.3, 16);
  const rod = new Mesh(shaft, material);
  const point = new Mesh(head, material);
  object.add(rod, point);
  object.position.copy(at);
  const tip = new Vector3();
  return {
    object,
    tip: () => tip.clone(),
    update(gravity) {
      const way = new Vector3(gravity[0], gravity[1], gravity[2]);
      const long = (way.length() / STANDARD_GRAVITY) * unit;
      object.visible = long > 0;
      if (long === 0) return;
      object.quaternion.copy(new Quaternion().setFromUnitVectors(new Vector3(0, 1, 0), way.clone().normalize()));
      rod.scale.y = long;
      rod.position.y = long / 2;
      point.position.y = long;
      tip.copy(at).addScaledVector(way.normalize(), long + unit * 0.2);
    },
    recolour(next) {
      material.color.setHex(next.way);
    },
    dispose() {
      for (const thing of [shaft, head, material]) thing.dispose();
    },
  };
}
