/** The stage: renderer, camera, light, and everything on it. Draws only when asked. */
import {
  Box3,
  BufferAttribute,
  DirectionalLight,
  HemisphereLight,
  PerspectiveCamera,
  Plane,
  Scene,
  Vector3,
  WebGLRenderer,
} from "three";
import type { Cells, DoorWire, PlateWire, MeshWire } from "../wire/replay";
import { createCrank, type Sweep } from "./crank";
import { createDoors } from "./doors";
import { createOil, type OilData } from "./oil";
import { createPan } from "./pan";
import type { Colours } from "./part";
import { createPickup } from "./pickup";
import { createPull } from "./pull";
import { eyeOf, FIRST_VIEW, moved, type View } from "./view";

/** What stands on the stage; metres, pan frame. */
export interface StageData {
  readonly cell: number;
  readonly origin: readonly [number, number, number];
  readonly shell: MeshWire;
  readonly plates: readonly PlateWire[];
  readonly doors: readonly DoorWire[];
  readonly mouth: { readonly at: readonly number[]; readonly diameter: number } | null;
  readonly crank?: Sweep | null;
  readonly car_forward: readonly number[];
}

/** Everything on the far side of a place along an axis is cut away. */
export interface Cut {
  readonly axis: 0 | 1 | 2;
  readonly at: number;
}

export interface Instant {
  readonly oil: OilData;
  readonly doors: readonly number[];
  readonly gravity: readonly number[];
  readonly bare: boolean;
}

/** A word with its place on the canvas, in CSS pixels; behind the eye it is not shown. */
export interface Tag {
  readonly words: string;
  readonly x: number;
  readonly y: number;
  readonly seen: boolean;
}

export interface Stage {
  show(instant: Instant): void;
  turn(change: { around?: number; above?: number; zoom?: number }): void;
  reset(): void;
  resize(width: number, height: number): void;
  recolour(colours: Colours): void;
  cut(cut: Cut | null): void;
  /** Another pan under the same eye. */
  replace(data: StageData, cells: Cells): void;
  /** Draws at once, so that the canvas can be read. */
  drawNow(): void;
  dispose(): void;
}

/** Throws when the browser has no WebGL. `drawn` is called after each picture with the words on it. */
export function createStage(
  canvas: HTMLCanvasElement,
  data: StageData,
  cells: Cells,
  first: Colours,
  drawn: (tags: readonly Tag[]) => void,
): Stage {
  const renderer = new WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
  const camera = new PerspectiveCamera(32, 1, 0.01, 20);
  camera.up.set(0, 0, 1);
  let colours = first;
  let view: View = FIRST_VIEW;
  let tall = 1;
  let wide = 1;
  let bare = false;
  let asked = false;
  let set = furnish(data, cells, colours);
  renderer.setClearColor(colours.ground, 1);

  const request = (): void => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(draw);
  };
  const tag = (words: string, at: Vector3): Tag => {
    const p = at.clone().project(camera);
    return { words, x: ((p.x + 1) / 2) * wide, y: ((1 - p.y) / 2) * tall, seen: p.z < 1 };
  };
  function draw(): void {
    asked = false;
    const { middle, size } = set;
    camera.aspect = wide / tall;
    camera.position.copy(eyeOf(view, middle, size * Math.max(1, 1.25 / camera.aspect)));
    camera.lookAt(middle);
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
    set.sun.position.copy(camera.position).add(new Vector3(0, 0, size));
    renderer.render(set.scene, camera);
    drawn([
      tag("front of the car", set.front),
      tag("pull", set.pull.tip()),
      ...(set.mouth ? [tag(bare ? "mouth bare" : "mouth", set.mouth)] : []),
    ]);
  }

  return {
    show(instant) {
      set.oil.update(instant.oil);
      set.doors.update(instant.doors);
      set.pull.update(instant.gravity);
      bare = instant.bare;
      set.pickup?.update({ bare, colours });
      request();
    },
    turn(change) {
      view = moved(view, change);
      request();
    },
    reset() {
      view = FIRST_VIEW;
      request();
    },
    resize(width, height) {
      wide = Math.max(1, width);
      tall = Math.max(1, height);
      renderer.setPixelRatio(Math.min(2, globalThis.devicePixelRatio || 1));
      renderer.setSize(wide, tall, false);
      request();
    },
    recolour(next) {
      colours = next;
      renderer.setClearColor(next.ground, 1);
      set.pan.update(next);
      set.oil.recolour(next.oil);
      set.doors.recolour(next);
      set.pull.recolour(next);
      set.pickup?.update({ bare, colours: next });
      set.crank?.update(next.metal);
      request();
    },
    cut(where) {
      const away = new Vector3();
      if (where) away.setComponent(where.axis, -1);
      renderer.clippingPlanes = where ? [new Plane(away, where.at)] : [];
      request();
    },
    replace(next, nextCells) {
      set.dispose();
      set = furnish(next, nextCells, colours);
      request();
    },
    drawNow: draw,
    dispose() {
      set.dispose();
      renderer.dispose();
    },
  };
}

/** Everything on the stage. */
function furnish(data: StageData, cells: Cells, colours: Colours) {
  const scene = new Scene();
  const box = new Box3().setFromBufferAttribute(new BufferAttribute(Float32Array.from(data.shell.points), 3));
  const middle = box.getCenter(new Vector3());
  const size = box.getSize(new Vector3()).length() || 1;
  const pan = createPan(data, colours);
  const oil = createOil(cells, data.cell, data.origin, colours.oil);
  const doors = createDoors(data.doors, colours);
  const pickup = data.mouth ? createPickup(data.mouth.at, data.mouth.diameter, colours) : null;
  const crank = data.crank ? createCrank(data.crank, colours.metal) : null;
  const rear = new Vector3(box.min.x - 0.04 * size, middle.y, box.max.z + 0.02 * size);
  const pull = createPull(rear, 0.2 * size, colours);
  const sky = new HemisphereLight(0xffffff, 0x8a8a8a, 2.1);
  const sun = new DirectionalLight(0xffffff, 1.5);
  sky.position.set(0, 0, 1);
  scene.add(pan.object, oil.object, doors.object, pull.object, sky, sun);
  if (pickup) scene.add(pickup.object);
  if (crank) scene.add(crank.object);
  const forward = new Vector3(data.car_forward[0], data.car_forward[1], data.car_forward[2]);
  const half = box.getSize(new Vector3()).multiplyScalar(0.5);
  const reach = Math.abs(forward.x) * half.x + Math.abs(forward.y) * half.y + 0.05 * size;
  return {
    scene,
    middle,
    size,
    pan,
    oil,
    doors,
    pickup,
    crank,
    pull,
    sun,
    front: middle.clone().addScaledVector(forward, reach).setZ(box.min.z),
    mouth: data.mouth ? new Vector3(data.mouth.at[0], data.mouth.at[1], data.mouth.at[2]) : null,
    dispose() {
      for (const part of [pan, oil, doors, pickup, pull, crank]) part?.dispose();
    },
  };
}
