//! The oil as a closed surface: surface nets over the cells' centres, at half a cell of oil.
//!
//! A cube of eight neighbouring centres of which some are in the oil gets one point, the mean of where its edges
//! cross the half; an edge between two neighbouring centres that crosses it gets a quadrilateral of the four
//! cubes round it. Metal and outside count as empty, so that the surface closes along the walls: between a full
//! cell and metal the half lies on the face between them. Source: S. Gibson, "Constrained elastic surface nets"
//! (1998), without the relaxation.

use report::replay::Mesh;

/// Share of a cell that counts as in the oil.
const HALF: f32 = 0.5;

/// The surface of the oil; `amount[i + nx*(j + ny*k)]` is the share of each cell that is oil, 0 to 1. Triangles
/// turn anticlockwise seen from the air. Metres, in the frame of `origin`.
pub fn surface(n: [usize; 3], cell: f64, origin: [f64; 3], amount: &[f32]) -> Mesh {
    let net = Net { n, amount };
    let m = n.map(|n| n + 1);
    // One cube a corner of the lattice: its eight centres are those of the cells that meet there.
    let mut point_of = vec![u32::MAX; m[0] * m[1] * m[2]];
    let cube = |at: [usize; 3]| at[0] + m[0] * (at[1] + m[1] * at[2]);
    let mut mesh = Mesh::default();
    for k in 0..m[2] {
        for j in 0..m[1] {
            for i in 0..m[0] {
                if let Some(p) = net.point([i, j, k]) {
                    point_of[cube([i, j, k])] = mesh.points.len() as u32;
                    mesh.points.push([0, 1, 2].map(|a| origin[a] + cell * p[a]));
                }
            }
        }
    }
    for axis in 0..3 {
        let (b, c) = ((axis + 1) % 3, (axis + 2) % 3);
        let mut to = n;
        to[axis] += 1;
        for k in 0..to[2] {
            for j in 0..to[1] {
                for i in 0..to[0] {
                    let high = [i, j, k];
                    // The face below `high` along the axis, between it and the cell before.
                    let at = high.map(|v| v as isize);
                    let mut before = at;
                    before[axis] -= 1;
                    let (inside, outside) = (net.at(before) >= HALF, net.at(at) >= HALF);
                    if inside == outside {
                        continue;
                    }
                    let corner = |db: usize, dc: usize| {
                        let mut at = high;
                        at[b] += db;
                        at[c] += dc;
                        point_of[cube(at)]
                    };
                    let mut quad = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
                    if outside {
                        quad.reverse();
                    }
                    mesh.triangles.push([quad[0], quad[1], quad[2]]);
                    mesh.triangles.push([quad[0], quad[2], quad[3]]);
                }
            }
        }
    }
    mesh
}

struct Net<'a> {
    n: [usize; 3],
    amount: &'a [f32],
}

impl Net<'_> {
    fn at(&self, [i, j, k]: [isize; 3]) -> f32 {
        let [nx, ny, nz] = self.n.map(|n| n as isize);
        if (0..nx).contains(&i) && (0..ny).contains(&j) && (0..nz).contains(&k) {
            self.amount[(i + nx * (j + ny * k)) as usize]
        } else {
            0.0
        }
    }

    /// Point of the cube at a corner of the lattice, in cells; none when it lies all in or all out.
    fn point(&self, corner: [usize; 3]) -> Option<[f64; 3]> {
        let value: [f32; 8] = std::array::from_fn(|v| {
            self.at([0, 1, 2].map(|a| corner[a] as isize - 1 + (v >> a & 1) as isize))
        });
        let inside = value.iter().filter(|v| **v >= HALF).count();
        if inside == 0 || inside == 8 {
            return None;
        }
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        for v in 0..8 {
            for a in 0..3 {
                let w = v | 1 << a;
                if w == v || (value[v] >= HALF) == (value[w] >= HALF) {
                    continue;
                }
                let along = f64::from((HALF - value[v]) / (value[w] - value[v]));
                for b in 0..3 {
                    sum[b] += if b == a { along } else { (v >> b & 1) as f64 };
                }
                count += 1.0;
            }
        }
        Some([0, 1, 2].map(|a| corner[a] as f64 - 0.5 + sum[a] / count))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashMap;

    /// Volume inside a closed surface by the divergence theorem.
    fn volume(mesh: &Mesh) -> f64 {
        let mut sum = 0.0;
        for t in &mesh.triangles {
            let [a, b, c] = t.map(|p| glam::DVec3::from_array(mesh.points[p as usize]));
            sum += a.dot(b.cross(c)) / 6.0;
        }
        sum
    }

    fn closed(mesh: &Mesh) -> bool {
        let mut turns: HashMap<(u32, u32), i32> = HashMap::new();
        for [a, b, c] in &mesh.triangles {
            for (p, q) in [(a, b), (b, c), (c, a)] {
                *turns.entry((*p.min(q), *p.max(q))).or_default() += if p < q { 1 } else { -1 };
            }
        }
        turns.values().all(|t| *t == 0)
    }

    #[test]
    fn a_ball_of_oil_has_its_volume_and_a_closed_surface() {
        let n = [24, 22, 20];
        let (h, radius) = (0.01, 0.07);
        let middle = glam::DVec3::new(0.12, 0.11, 0.1);
        let mut amount = vec![0.0; n[0] * n[1] * n[2]];
        for (c, share) in amount.iter_mut().enumerate() {
            let (i, j, k) = (c % n[0], c / n[0] % n[1], c / (n[0] * n[1]));
            let samples = 6;
            let mut count = 0;
            for s in 0..samples * samples * samples {
                let at = |v: usize, s: usize| (v as f64 + (s as f64 + 0.5) / samples as f64) * h;
                let p = glam::DVec3::new(
                    at(i, s % samples),
                    at(j, s / samples % samples),
                    at(k, s / samples / samples),
                );
                count += usize::from(p.distance(middle) < radius);
            }
            *share = count as f32 / (samples * samples * samples) as f32;
        }
        let mesh = surface(n, h, [0.0; 3], &amount);
        assert!(closed(&mesh));
        let exact = 4.0 / 3.0 * std::f64::consts::PI * radius.powi(3);
        let found = volume(&mesh);
        assert!((found / exact - 1.0).abs() < 0.03, "{found} of {exact} m3");
    }

    #[test]
    fn oil_against_walls_ends_on_them() {
        // Two layers of full cells in a box of four: the top lies on the layer's face, the sides on the walls.
        let n = [5, 4, 4];
        let amount: Vec<f32> = (0..80).map(|c| if c < 40 { 1.0 } else { 0.0 }).collect();
        let mesh = surface(n, 0.1, [1.0, 2.0, 3.0], &amount);
        assert!(closed(&mesh));
        let low = mesh
            .points
            .iter()
            .fold([f64::MAX; 3], |l, p| [0, 1, 2].map(|a| l[a].min(p[a])));
        let high = mesh
            .points
            .iter()
            .fold([f64::MIN; 3], |h, p| [0, 1, 2].map(|a| h[a].max(p[a])));
        for (a, (from, to)) in [(1.0, 1.5), (2.0, 2.4), (3.0, 3.2)].into_iter().enumerate() {
            assert!((low[a] - from).abs() < 1e-9, "{low:?}");
            assert!((high[a] - to).abs() < 1e-9, "{high:?}");
        }
        assert!(volume(&mesh) > 0.0, "triangles turn outward");
    }
}
