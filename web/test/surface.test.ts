import { expect, test } from "vitest";
import { surfaceOf, type Surface } from "../src/scene/surface";

/** Volume inside a closed surface, in cells (divergence theorem). */
function volume(s: Surface): number {
  let sum = 0;
  const p = (t: number, axis: number): number => s.points[3 * (s.triangles[t] ?? 0) + axis] ?? 0;
  for (let t = 0; t < s.triangles.length; t += 3) {
    const [a, b, c] = [t, t + 1, t + 2].map((i) => [p(i, 0), p(i, 1), p(i, 2)] as const);
    if (!a || !b || !c) continue;
    sum +=
      a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  }
  return sum / 6;
}

function closed(s: Surface): boolean {
  const edges = new Map<string, number>();
  for (let t = 0; t < s.triangles.length; t += 3) {
    for (let i = 0; i < 3; i++) {
      const a = s.triangles[t + i] ?? 0;
      const b = s.triangles[t + ((i + 1) % 3)] ?? 0;
      edges.set(`${a},${b}`, (edges.get(`${a},${b}`) ?? 0) + 1);
    }
  }
  return [...edges].every(([key, count]) => {
    const [a, b] = key.split(",");
    return edges.get(`${b},${a}`) === count;
  });
}

const n = [10, 8, 6] as const;

test("a box filled to half height gives a closed surface with its top at that height", () => {
  const share = new Float32Array(n[0] * n[1] * n[2]);
  for (let k = 0; k < 3; k++) share.fill(1, n[0] * n[1] * k, n[0] * n[1] * (k + 1));
  const s = surfaceOf(share, n);
  expect(closed(s)).toBe(true);
  let top = -Infinity;
  for (let i = 2; i < s.points.length; i += 3) top = Math.max(top, s.points[i] ?? 0);
  expect(top).toBeCloseTo(2.5, 6);
  // Cube corners of the net are cut, so the volume is a little under the 240 cells of oil, never over.
  expect(volume(s)).toBeLessThan(240);
  expect(volume(s)).toBeGreaterThan(220);
});

test("a part-filled top layer lifts the surface by its share", () => {
  const share = new Float32Array(n[0] * n[1] * n[2]);
  for (let k = 0; k < 3; k++) share.fill(1, n[0] * n[1] * k, n[0] * n[1] * (k + 1));
  share.fill(0.8, n[0] * n[1] * 3, n[0] * n[1] * 4);
  const s = surfaceOf(share, n);
  let top = -Infinity;
  for (let i = 2; i < s.points.length; i += 3) top = Math.max(top, s.points[i] ?? 0);
  // Between 0.8 at the centre of layer 3 and 0 at layer 4 the half lies at 3 + 0.3 / 0.8.
  expect(top).toBeCloseTo(3.375, 6);
});

test("normals point out of the oil", () => {
  const share = new Float32Array(n[0] * n[1] * n[2]);
  share.fill(1, 0, n[0] * n[1] * 2);
  const s = surfaceOf(share, n);
  for (let i = 0; i < s.points.length; i += 3) {
    const x = s.points[i] ?? 0;
    const y = s.points[i + 1] ?? 0;
    const inner = x > 1 && x < 8 && y > 1 && y < 6;
    if (inner && (s.points[i + 2] ?? 0) > 1) expect(s.normals[i + 2]).toBeGreaterThan(0.99);
    if (inner && (s.points[i + 2] ?? 0) < 0) expect(s.normals[i + 2]).toBeLessThan(-0.99);
  }
});

test("no oil, no surface; two pools, one closed surface each", () => {
  const empty = surfaceOf(new Float32Array(480), n);
  expect(empty.triangles.length).toBe(0);
  const share = new Float32Array(480);
  share[0] = 1;
  share[479] = 1;
  const s = surfaceOf(share, n);
  expect(closed(s)).toBe(true);
  expect(s.triangles.length).toBe(2 * 12 * 3);
});
