import {
  BackSide,
  BufferAttribute,
  BufferGeometry,
  DoubleSide,
  Group,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshLambertMaterial,
} from "three";
import type { MeshWire } from "../wire/replay";
import type { Colours, Part } from "./part";

export interface PanData {
  readonly shell: MeshWire;
  readonly plates: readonly MeshWire[];
}

/** The metal: a see-through shell with its edges, and the plates. */
export function createPan(data: PanData, colours: Colours): Part<Colours> {
  const object = new Group();
  const spare: { dispose(): void }[] = [];
  // Only the far walls of the shell are filled, so that it never hides the oil.
  const shell = new MeshLambertMaterial({
    color: colours.metal, transparent: true, opacity: 0.16, side: BackSide, depthWrite: false,
  });
  const plate = new MeshLambertMaterial({
    color: colours.metal, transparent: true, opacity: 0.42, side: DoubleSide, depthWrite: false,
  });
  const line = new LineBasicMaterial({ color: colours.metal });
  const rim = new LineBasicMaterial({ color: colours.metal, transparent: true, opacity: 0.55 });
  spare.push(shell, plate, line, rim);
  const add = (mesh: MeshWire, fill: MeshLambertMaterial, stroke: LineBasicMaterial, order: number): void => {
    const place = new BufferAttribute(Float32Array.from(mesh.points), 3);
    const faces = new BufferGeometry();
    faces.setAttribute("position", place);
    faces.setIndex(new BufferAttribute(Uint32Array.from(mesh.triangles), 1));
    const flat = faces.toNonIndexed();
    flat.computeVertexNormals();
    faces.dispose();
    const edges = new BufferGeometry();
    edges.setAttribute("position", place);
    edges.setIndex(new BufferAttribute(Uint32Array.from(mesh.edges), 1));
    const solid = new Mesh(flat, fill);
    solid.renderOrder = order;
    object.add(solid, new LineSegments(edges, stroke));
    spare.push(flat, edges);
  };
  add(data.shell, shell, rim, 1);
  for (const mesh of data.plates) add(mesh, plate, line, 2);
  return {
    object,
    update(next) {
      for (const material of [shell, plate, line, rim]) material.color.setHex(next.metal);
    },
    dispose() {
      for (const thing of spare) thing.dispose();
    },
  };
}
