/**
 * The surface between oil and everything else, from shares at cell centres.
 *
 * Surface nets: one corner in every cube of eight cell centres that the surface passes through, at the mean of
 * the places where the cube's edges cross; one quad round every crossed edge. Outside the lattice there is no
 * oil, so the surface is always closed. Source: S. F. F. Gibson, "Constrained elastic surface nets", MICCAI
 * 1998; here without its smoothing, as the shares already say where the surface is.
 */

export interface Surface {
  /** Corners, x y z in cells from the centre of cell (0, 0, 0). */
  readonly points: Float32Array;
  /** Unit normals out of the oil, one a corner. */
  readonly normals: Float32Array;
  /** Triangles, turning counter-clockwise seen from outside. */
  readonly triangles: Uint32Array;
}

const HALF = 0.5;

/** `share[i + nx*(j + ny*k)]`, 0..1; the surface passes where it is one half. */
export function surfaceOf(share: Float32Array, n: readonly [number, number, number]): Surface {
  const [nx, ny, nz] = n;
  // Cubes sit between centres; one layer of nothing all round makes them one more than the cells each way.
  const cx = nx + 1;
  const cy = ny + 1;
  const cz = nz + 1;
  const corner = new Int32Array(cx * cy * cz).fill(-1);
  const points: number[] = [];
  const triangles: number[] = [];
  const at = (i: number, j: number, k: number): number =>
    i < 0 || j < 0 || k < 0 || i >= nx || j >= ny || k >= nz ? 0 : (share[i + nx * (j + ny * k)] ?? 0);
  const value = new Float64Array(8);

  for (let k = 0; k < cz; k++) {
    for (let j = 0; j < cy; j++) {
      for (let i = 0; i < cx; i++) {
        let mask = 0;
        for (let c = 0; c < 8; c++) {
          const v = at(i - 1 + (c & 1), j - 1 + ((c >> 1) & 1), k - 1 + (c >> 2));
          value[c] = v;
          if (v >= HALF) mask |= 1 << c;
        }
        if (mask === 0 || mask === 255) continue;
        let x = 0;
        let y = 0;
        let z = 0;
        let crossings = 0;
        for (let a = 0; a < 8; a++) {
          for (let axis = 1; axis < 8; axis <<= 1) {
            const b = a | axis;
            if (a & axis || ((mask >> a) & 1) === ((mask >> b) & 1)) continue;
            const va = value[a] ?? 0;
            const t = (HALF - va) / ((value[b] ?? 0) - va);
            x += (a & 1) + (axis === 1 ? t : 0);
            y += ((a >> 1) & 1) + (axis === 2 ? t : 0);
            z += (a >> 2) + (axis === 4 ? t : 0);
            crossings++;
          }
        }
        corner[i + cx * (j + cy * k)] = points.length / 3;
        points.push(i - 1 + x / crossings, j - 1 + y / crossings, k - 1 + z / crossings);
      }
    }
  }

  // Steps in the cube array along x, y, z; the quad round an edge along one axis spans the other two.
  const step = [1, cx, cx * cy] as const;
  const quad = (cube: number, u: number, v: number, outward: boolean): void => {
    const a = corner[cube] ?? -1;
    const b = corner[cube - u] ?? -1;
    const c = corner[cube - u - v] ?? -1;
    const d = corner[cube - v] ?? -1;
    if (outward) triangles.push(a, b, c, a, c, d);
    else triangles.push(a, c, b, a, d, c);
  };
  for (let k = 0; k < nz; k++) {
    for (let j = 0; j < ny; j++) {
      for (let i = 0; i < nx; i++) {
        const here = at(i, j, k) >= HALF;
        const cube = i + 1 + cx * (j + 1 + cy * (k + 1));
        // The edge from this centre to the next one up each axis; also the one below at the low rim.
        if (here !== at(i + 1, j, k) >= HALF) quad(cube, step[1], step[2], here);
        if (here !== at(i, j + 1, k) >= HALF) quad(cube, step[2], step[0], here);
        if (here !== at(i, j, k + 1) >= HALF) quad(cube, step[0], step[1], here);
        if (i === 0 && here) quad(cube - step[0], step[1], step[2], false);
        if (j === 0 && here) quad(cube - step[1], step[2], step[0], false);
        if (k === 0 && here) quad(cube - step[2], step[0], step[1], false);
      }
    }
  }
  const placed = Float32Array.from(points);
  const faces = Uint32Array.from(triangles);
  return { points: placed, normals: normalsOf(placed, faces), triangles: faces };
}

function normalsOf(points: Float32Array, triangles: Uint32Array): Float32Array {
  const normals = new Float32Array(points.length);
  const p = (corner: number, axis: number): number => points[3 * corner + axis] ?? 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t] ?? 0;
    const b = triangles[t + 1] ?? 0;
    const c = triangles[t + 2] ?? 0;
    const ux = p(b, 0) - p(a, 0);
    const uy = p(b, 1) - p(a, 1);
    const uz = p(b, 2) - p(a, 2);
    const vx = p(c, 0) - p(a, 0);
    const vy = p(c, 1) - p(a, 1);
    const vz = p(c, 2) - p(a, 2);
    const normal = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    for (const corner of [a, b, c]) {
      for (let axis = 0; axis < 3; axis++) {
        normals[3 * corner + axis] = (normals[3 * corner + axis] ?? 0) + (normal[axis] ?? 0);
      }
    }
  }
  for (let i = 0; i < normals.length; i += 3) {
    const long = Math.hypot(normals[i] ?? 0, normals[i + 1] ?? 0, normals[i + 2] ?? 0) || 1;
    for (let axis = 0; axis < 3; axis++) normals[i + axis] = (normals[i + axis] ?? 0) / long;
  }
  return normals;
}
