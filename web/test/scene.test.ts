import { Vector3 } from "three";
import { expect, test } from "vitest";
import { openedCorner } from "../src/scene/doors";
import { createOil } from "../src/scene/oil";
import { eyeOf, FIRST_VIEW, moved } from "../src/scene/view";
import { between, blend, createStore } from "../src/state";

test("a door turns about its hinge by the right-hand rule", () => {
  // Hinge along +y at the top, flap hanging down in the plane x = 0: opening swings the free edge to −x.
  const door = { name: "d", corners: [0, 0, 0, 0, 0.05, 0, 0, 0.05, -0.04, 0, 0, -0.04], hinge: [0, 1, 0] };
  const free = openedCorner(door, 3, Math.PI / 2);
  expect(free.distanceTo(new Vector3(-0.04, 0, 0))).toBeLessThan(1e-12);
  expect(openedCorner(door, 1, 1).distanceTo(new Vector3(0, 0.05, 0))).toBeLessThan(1e-12);
});

test("the oil lies where its cells are, in metres", () => {
  const cells = { n: [4, 3, 2] as const, share: new Float32Array(24).fill(1), inside: Uint32Array.from({ length: 24 }, (_, i) => i) };
  const oil = createOil(cells, 0.01, [-0.1, 0, -0.05], 0xffffff);
  const full = new Uint8Array(24).fill(15);
  oil.update({ here: full, next: full, share: 0 });
  oil.object.updateMatrixWorld();
  const low = new Vector3(-0.5, 1, 0).applyMatrix4(oil.object.matrixWorld);
  expect(low.x).toBeCloseTo(-0.1, 9);
  expect(low.y).toBeCloseTo(0.015, 9);
  oil.dispose();
});

test("the first view has the engine's front to the right", () => {
  const eye = eyeOf(FIRST_VIEW, new Vector3(), 1);
  // Looking from −y (the right side), +x lies to the right.
  expect(eye.y).toBeLessThan(0);
  expect(moved(FIRST_VIEW, { above: 9 }).above).toBeLessThan(Math.PI / 2);
  expect(moved(FIRST_VIEW, { zoom: 1e-6 }).far).toBeGreaterThan(0.4);
});

test("a time between frames blends them and stays within the ends", () => {
  const times = [1, 2, 4];
  expect(between(times, 3)).toEqual({ frame: 1, share: 0.5 });
  expect(between(times, 0)).toEqual({ frame: 0, share: 0 });
  expect(between(times, 9)).toEqual({ frame: 2, share: 0 });
  expect(blend([0, 10, 20, 40, 50, 60], 2, { frame: 1, share: 0.5 })).toEqual([35, 50]);
});

test("the store tells its watchers", () => {
  const store = createStore({ moment: 0, time: 0, playing: false, speed: 1 });
  const seen: number[] = [];
  store.watch((s) => seen.push(s.time));
  store.set({ time: 3 });
  expect(seen).toEqual([3]);
});
