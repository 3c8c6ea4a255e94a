//! How high oil stands in a bay, for any volume and any direction of its surface: tables over all directions.
//!
//! For each direction of a grid over the sphere the bay's cells are sorted by their height along it, which gives volume
//! against height. Between directions the height over the bay's middle is interpolated. The grid is the octahedron folded
//! out to a square: even enough, no poles, and cheap to look up.

use glam::{DVec2, DVec3};
use pan::Lattice;
use std::sync::OnceLock;

/// Directions along a side of the square.
const SIDE: usize = 21;
/// Heights of a table.
const STEPS: usize = 40;
/// Parts of the volume for which a table knows where to begin to look.
const PARTS: usize = 64;

/// Head that a bay which is full to the last takes on [m] when it holds a tenth more than it can: what is beyond
/// full is pushed out through the ports, by a column that is tall against any pan.
const OVERFULL: f64 = 1.0;

/// Volumes against heights of one bay.
#[derive(Clone, Debug)]
pub struct Levels {
    /// Middle of the bay [m, pan frame]: heights are counted from it.
    pub middle: DVec3,
    /// All that it holds [m³].
    pub volume: f64,
    cells: Cells,
    /// Edge of a cell [m].
    edge: f64,
    /// One a direction, made when it is first asked for: a drive looks in a few of them.
    tables: Vec<OnceLock<Table>>,
}

/// Cells of a bay, in single precision: a table is made of all of them.
#[derive(Clone, Debug, Default)]
struct Cells {
    /// Places along x, y and z from the bay's middle [m].
    at: [Vec<f32>; 3],
    /// What each holds [m³].
    open: Vec<f32>,
}

/// Volume under each of `STEPS + 1` evenly spaced heights along one direction.
#[derive(Clone, Debug)]
struct Table {
    low: f64,
    step: f64,
    under: [f32; STEPS + 1],
    /// Of each of `PARTS` even parts of the whole volume, the step in which it begins.
    first: [u8; PARTS],
}

/// A surface in a bay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Height over the bay's middle along the surface's normal [m].
    pub height: f64,
    /// How fast the height grows with volume [m/m³]: one over the area of the surface.
    pub slope: f64,
}

impl Levels {
    /// The tables of the cells of a lattice, each counting by `share(cell)` of its open volume; `None` when that is
    /// nothing.
    pub fn of(lattice: &Lattice, share: impl Fn(usize) -> f64) -> Option<Levels> {
        let mut cells = Vec::new();
        let (mut volume, mut middle) = (0.0, DVec3::ZERO);
        for cell in 0..lattice.cells() {
            let open = share(cell) * lattice.open_volume[cell] * lattice.cell.powi(3);
            if open > 0.0 {
                let [i, j, k] = lattice.cell_place(cell);
                let at = lattice.centre(i, j, k);
                cells.push((at, open));
                volume += open;
                middle += open * at;
            }
        }
        if !(volume > 0.0) {
            return None;
        }
        middle /= volume;
        let along = |axis: usize| {
            cells
                .iter()
                .map(|(at, _)| (at[axis] - middle[axis]) as f32)
                .collect()
        };
        Some(Levels {
            middle,
            volume,
            cells: Cells {
                at: [0, 1, 2].map(along),
                open: cells.iter().map(|(_, open)| *open as f32).collect(),
            },
            edge: lattice.cell,
            tables: vec![OnceLock::new(); SIDE * SIDE],
        })
    }

    fn table(&self, i: usize, j: usize) -> &Table {
        self.tables[i + SIDE * j].get_or_init(|| {
            let way = square_to_sphere(place_of(i, j));
            Table::along(way, &self.cells, self.edge, self.volume)
        })
    }

    /// The four tables round a direction, each with its share.
    fn around(&self, up: DVec3) -> [(f64, &Table); 4] {
        let at = (sphere_to_square(up) * 0.5 + 0.5) * (SIDE - 1) as f64;
        let corner = |v: f64| (v.max(0.0) as usize).min(SIDE - 2);
        let (i, j) = (corner(at.x), corner(at.y));
        let (u, v) = (at.x - i as f64, at.y - j as f64);
        [
            ((1.0 - u) * (1.0 - v), self.table(i, j)),
            (u * (1.0 - v), self.table(i + 1, j)),
            ((1.0 - u) * v, self.table(i, j + 1)),
            (u * v, self.table(i + 1, j + 1)),
        ]
    }

    /// What lies under a plane square to the unit vector `up` at `height` over the middle [m³].
    pub fn under(&self, up: DVec3, height: f64) -> f64 {
        self.around(up)
            .iter()
            .map(|(share, table)| share * table.volume(height))
            .sum()
    }

    /// Where `volume` [m³] of oil stands with its surface square to the unit vector `up`.
    ///
    /// Against a level found on the cells themselves it is off by less than a millimetre in a bay of 150 mm (see the
    /// tests); the cells themselves are as good as the lattice.
    pub fn level(&self, up: DVec3, volume: f64) -> Level {
        let over = (volume - self.volume).max(0.0);
        let held = volume.clamp(0.0, self.volume);
        let (mut height, mut slope) = (0.0, 0.0);
        for (share, table) in self.around(up) {
            let (h, s) = table.height(held);
            height += share * h;
            slope += share * s;
        }
        let stiff = OVERFULL / (0.1 * self.volume);
        if over > 0.0 {
            return Level {
                height: height + over * stiff,
                slope: stiff,
            };
        }
        Level {
            height,
            slope: slope.min(stiff),
        }
    }
}

impl Table {
    fn along(way: DVec3, cells: &Cells, edge: f64, volume: f64) -> Table {
        let [x, y, z] = way.as_vec3().to_array();
        let places = cells.at[0].iter().zip(&cells.at[1]).zip(&cells.at[2]);
        let heights: Vec<f32> = places.map(|((a, b), c)| x * a + y * b + z * c).collect();
        let (mut low, mut high) = (f32::INFINITY, f32::NEG_INFINITY);
        for h in &heights {
            low = if *h < low { *h } else { low };
            high = if *h > high { *h } else { high };
        }
        // A cube's heights along any direction spread as those of a slab of its own thickness do (Σ nᵢ² = 1).
        let half = 0.5 * edge;
        let (low, high) = (f64::from(low) - half, f64::from(high) + half);
        let step = (high - low) / STEPS as f64;
        // Where each slab begins and ends, as ramps of the volume under a height: second differences, then two sums.
        let mut bends = [0.0f64; STEPS + 3];
        let (first, tall, a_step) = ((low + half) as f32, (edge / step) as f32, (1.0 / step) as f32);
        for (height, open) in heights.iter().zip(&cells.open) {
            let begins = (height - first) * a_step;
            for (place, open) in [(begins, *open), (begins + tall, -open)] {
                let n = (place as usize).min(STEPS);
                let part = place - n as f32;
                bends[n] += f64::from(open * (1.0 - part));
                bends[n + 1] += f64::from(open * part);
            }
        }
        let mut under = [0.0f32; STEPS + 1];
        let (mut rate, mut sum) = (0.0, 0.0);
        for n in 0..=STEPS {
            under[n] = sum as f32;
            rate += bends[n];
            sum += rate * step / edge;
        }
        under[STEPS] = volume as f32;
        let first = std::array::from_fn(|part| {
            let begins = volume as f32 * part as f32 / PARTS as f32;
            under[1..STEPS].partition_point(|u| *u < begins) as u8
        });
        Table {
            low,
            step,
            under,
            first,
        }
    }

    /// Volume under a height.
    fn volume(&self, height: f64) -> f64 {
        let x = ((height - self.low) / self.step).clamp(0.0, STEPS as f64);
        let n = (x as usize).min(STEPS - 1);
        let part = (x - n as f64) as f32;
        f64::from(self.under[n] + part * (self.under[n + 1] - self.under[n]))
    }

    /// Height and slope for a volume.
    fn height(&self, volume: f64) -> (f64, f64) {
        let v = volume as f32;
        // A hair low, so that rounding never begins past it.
        let part = (v / self.under[STEPS] * PARTS as f32 - 1e-3) as usize;
        let mut n = usize::from(self.first[part.min(PARTS - 1)]);
        while n < STEPS - 1 && self.under[n + 1] < v {
            n += 1;
        }
        let (a, b) = (f64::from(self.under[n]), f64::from(self.under[n + 1]));
        let room = (b - a).max(1e-12);
        let part = ((volume - a) / room).clamp(0.0, 1.0);
        (self.low + self.step * (n as f64 + part), self.step / room)
    }
}

/// Place of a node in the square from -1 to 1.
fn place_of(i: usize, j: usize) -> DVec2 {
    DVec2::new(i as f64, j as f64) * (2.0 / (SIDE - 1) as f64) - 1.0
}

/// The unit vector of a place in the square: the upper half of the octahedron inside, the lower folded out to the corners.
fn square_to_sphere(p: DVec2) -> DVec3 {
    let z = 1.0 - p.x.abs() - p.y.abs();
    let fold = (-z).max(0.0);
    let shift = |v: f64| if v >= 0.0 { v - fold } else { v + fold };
    DVec3::new(shift(p.x), shift(p.y), z).normalize()
}

fn sphere_to_square(n: DVec3) -> DVec2 {
    let n = n / (n.x.abs() + n.y.abs() + n.z.abs());
    if n.z >= 0.0 {
        return n.truncate();
    }
    let sign = |v: f64| if v >= 0.0 { 1.0 } else { -1.0 };
    DVec2::new((1.0 - n.y.abs()) * sign(n.x), (1.0 - n.x.abs()) * sign(n.y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use pan::{Cavity, Outline, Pocket, Side};
    use slosh::boxes;

    const SIZE: DVec3 = DVec3::new(0.24, 0.16, 0.128);

    fn bay() -> (Cavity, Levels) {
        let cavity = Cavity::from_pockets(&[Pocket {
            name: "box".into(),
            side: Side::Pan,
            outline: Outline::rectangle(DVec2::ZERO, SIZE.truncate()),
            z_low: 0.0,
            z_high: SIZE.z,
            draft: 0.0,
            corner_radius: 0.0,
            floor_radius: 0.0,
        }])
        .unwrap();
        let lattice = boxes::tank([30, 20, 16], 0.008);
        let levels = Levels::of(&lattice, |_| 1.0).unwrap();
        (cavity, levels)
    }

    #[test]
    fn the_square_and_the_sphere_are_one_another() {
        for i in 0..40 {
            for j in 0..40 {
                let p = DVec2::new(f64::from(i) / 19.5 - 1.0, f64::from(j) / 19.5 - 1.0) * 0.999;
                let back = sphere_to_square(square_to_sphere(p));
                assert!((back - p).length() < 1e-9, "{p} {back}");
            }
        }
    }

    /// Against the exact volume of a box under a plane: 240 × 160 × 128 mm, tilted up to 76 degrees.
    #[test]
    fn levels_in_a_box_are_within_a_millimetre() {
        let (cavity, levels) = bay();
        let mut worst = 0.0f64;
        for i in 0..200 {
            let turn = 0.37 * f64::from(i);
            let tilt = 0.02 * f64::from(i % 67);
            let up = DVec3::new(tilt.sin() * turn.cos(), tilt.sin() * turn.sin(), tilt.cos());
            for share in [0.1, 0.25, 0.5, 0.8] {
                let volume = share * levels.volume;
                let found = levels.level(up, volume).height + up.dot(levels.middle);
                let under = cavity.volume_below(up, found);
                let back = levels.under(up, found - up.dot(levels.middle));
                assert!((back - volume).abs() < 0.02 * levels.volume, "{back} {volume}");
                let area = 1.0 / levels.level(up, volume).slope;
                worst = worst.max((under - volume).abs() / area);
            }
        }
        assert!(worst < 1e-3, "{:.3} mm", 1e3 * worst);
    }

    /// The slope is one over the area of the surface: level oil in a box.
    #[test]
    fn the_slope_is_one_over_the_surface() {
        let (_, levels) = bay();
        let level = levels.level(DVec3::Z, 0.4 * levels.volume);
        let due = 1.0 / (0.24 * 0.16);
        assert!((level.slope / due - 1.0).abs() < 1e-3, "{} {due}", level.slope);
    }

    #[test]
    fn an_overfull_bay_stands_high() {
        let (_, levels) = bay();
        let full = levels.level(DVec3::Z, levels.volume).height;
        let over = levels.level(DVec3::Z, 1.01 * levels.volume).height;
        assert!((over - full - 0.1).abs() < 1e-6, "{full} {over}");
    }
}
