//! Probes: pressure on walls, heights of the surface, the foremost liquid; and the record of a run's probes.

use crate::plane;
use crate::solver::Solver;
use crate::surface::FULL;
use glam::{DVec2, DVec3};
use pan::{Block, Probe, Watch};
use serde::{Deserialize, Serialize};

/// Points over which a round sensor averages.
const SENSOR_POINTS: usize = 21;

/// One column of a record.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Column {
    /// The probe's name, and what of it when it has several columns.
    pub name: String,
    /// SI unit.
    pub unit: String,
}

/// What the probes of a run showed, one row after each step of the solver, so that no peak it computed is missed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Columns beside time.
    pub columns: Vec<Column>,
    /// Drive time [s].
    pub time: Vec<f64>,
    /// Rows on end, each as long as `columns`.
    pub values: Vec<f64>,
}

impl Record {
    /// An empty record with the columns of `probes`.
    pub fn of(probes: &[Probe]) -> Record {
        let mut columns = Vec::new();
        let mut put = |name: String, unit: &str| {
            columns.push(Column {
                name,
                unit: unit.into(),
            });
        };
        for Probe { name, watch } in probes {
            match watch {
                Watch::Pressure { .. } => put(name.clone(), "Pa"),
                Watch::Level { .. } => {
                    for of in ["from above", "from below", "depth"] {
                        put(format!("{name} {of}"), "m");
                    }
                }
                Watch::Profile { from, to, count } => {
                    for at in places(*from, *to, *count) {
                        put(format!("{name} at {:.4} {:.4}", at.x, at.y), "m");
                    }
                }
                Watch::Front { .. } => put(name.clone(), "m"),
            }
        }
        Record {
            columns,
            ..Record::default()
        }
    }

    /// The values of the column `name` against time; `None` when there is no such column.
    pub fn series(&self, name: &str) -> Option<Vec<f64>> {
        let at = self.columns.iter().position(|c| c.name == name)?;
        Some(self.rows().map(|row| row[at]).collect())
    }

    /// All rows in order of time.
    pub fn rows(&self) -> impl Iterator<Item = &[f64]> {
        // A record without columns has rows without values, which `chunks` cannot make.
        self.values.chunks(self.columns.len().max(1))
    }

    /// Adds what the probes show now.
    pub(crate) fn take(&mut self, time: f64, solver: &Solver, probes: &[Probe]) {
        if probes.is_empty() {
            return;
        }
        self.time.push(time);
        for probe in probes {
            match probe.watch {
                Watch::Pressure { at, facing, diameter } => {
                    self.values.push(solver.pressure_on(at, facing, diameter));
                }
                Watch::Level { at } => self.values.extend(solver.levels(at)),
                Watch::Profile { from, to, count } => {
                    let surface = |at| solver.levels(at)[0];
                    self.values.extend(places(from, to, count).map(surface));
                }
                Watch::Front { along, band, share } => self.values.push(solver.front(along, &band, share)),
            }
        }
    }
}

impl Solver {
    /// Mean gauge pressure over a round face at `at` of `diameter` [m] that looks along the unit vector `facing`
    /// [Pa]; at the point itself when the diameter is 0. Where the face is dry it feels nothing.
    pub fn pressure_on(&self, at: DVec3, facing: DVec3, diameter: f64) -> f64 {
        if diameter <= 0.0 {
            return self.pressure_at(at);
        }
        let (u, v) = facing.any_orthonormal_pair();
        // Sunflower points: each stands for the same area.
        let golden = std::f64::consts::PI * (3.0 - 5f64.sqrt());
        let sum: f64 = (0..SENSOR_POINTS)
            .map(|i| {
                let out = 0.5 * diameter * ((i as f64 + 0.5) / SENSOR_POINTS as f64).sqrt();
                let (sin, cos) = (golden * i as f64).sin_cos();
                self.pressure_at(at + out * (cos * u + sin * v))
            })
            .sum();
        sum / SENSOR_POINTS as f64
    }

    /// Surface on the upright line at `at` in plan [m]: height of the first surface met from above, of the first
    /// met from below (the top of what stands on the floor), and all the liquid on the line. Over a dry floor both
    /// heights are the floor's. Flecks that do not half fill their cell do not count, unless they lie on liquid or
    /// on the floor; neither do bubbles in cells more than half full. Outside the tank all three are 0.
    pub fn levels(&self, at: DVec2) -> [f64; 3] {
        let grid = &self.grid;
        let place = (at - grid.origin.truncate()) / grid.h;
        // A place on the wall itself may fall outside by a rounding.
        let within = |a: usize| place[a] > -0.5 && place[a] < grid.n[a] as f64 + 0.5;
        if !(within(0) && within(1)) {
            return [0.0; 3];
        }
        let [i, j] = [0, 1].map(|a| (place[a] as usize).min(grid.n[a] - 1));
        let across = (place - DVec2::new(i as f64, j as f64)).clamp(DVec2::ZERO, DVec2::ONE);
        let cell = |k: usize| grid.at(i, j, k);
        let top = grid.n[2];
        let Some(first) = (0..top).find(|k| grid.volume[cell(*k)] > 0.0) else {
            return [0.0; 3];
        };
        let half = |k: usize| k < top && self.f[cell(k)] > 0.5;
        let height = |k: f64| grid.origin.z + grid.h * k;
        // In a cell cut by the floor: its volume stands on the part of its top that is open. A cell cut by a side
        // wall is as tall as any.
        let lid = f64::from(grid.area[2][cell(first) + grid.stride[2]]).max(grid.volume[cell(first)]);
        let floor = height(first as f64 + 1.0 - grid.volume[cell(first)] / lid);
        let depth = (first..top).map(|k| {
            let (from, to) = self.wet_part(cell(k), across);
            (height(k as f64 + to) - height(k as f64 + from).max(floor)).max(0.0)
        });
        let depth = depth.sum();
        // Top of what stands in cell k. A falling surface leaves a film in the cell above it; what it holds belongs
        // to the surface and is no surface of its own.
        let crest = |k: usize| {
            let (from, to) = self.wet_part(cell(k), across);
            if to <= from {
                return None;
            }
            let over = if k + 1 < top && !half(k + 1) {
                self.f[cell(k + 1)]
            } else {
                0.0
            };
            let on_top = match k + 1 < top && to >= 1.0 {
                true => match self.wet_part(cell(k + 1), across) {
                    (from, to) if from <= 0.0 => to,
                    _ => 0.0,
                },
                false => over.min(1.0 - to),
            };
            Some(height(k as f64 + to + on_top))
        };
        // From below: past every cell that is more than half full under another one.
        let mut standing = first;
        while half(standing) && half(standing + 1) {
            standing += 1;
        }
        let wet_floor = self.wet_part(cell(standing), across).0 <= 0.0;
        let below = crest(standing).filter(|_| wet_floor).unwrap_or(floor);
        // From above: the highest cell that is half full, or a film on the floor.
        let above = (first..top)
            .rev()
            .filter(|k| half(*k) || *k == first)
            .find_map(crest);
        let below = below.max(floor);
        [above.unwrap_or(floor).max(floor), below, depth]
    }

    /// The liquid stretch of the upright line at `across` of a cell, in cells from its low face; empty when dry.
    fn wet_part(&self, c: usize, across: DVec2) -> (f64, f64) {
        let fill = self.f[c];
        if fill >= FULL {
            return (0.0, 1.0);
        }
        if fill <= 0.0 {
            return (0.0, 0.0);
        }
        let [x, y, z, alpha] = self.surface.plane(c, self.f[c]);
        let left = alpha - x * across.x - y * across.y;
        if z.abs() < 1e-9 {
            return if left >= 0.0 { (0.0, 1.0) } else { (0.0, 0.0) };
        }
        let cut = (left / z).clamp(0.0, 1.0);
        if z > 0.0 { (0.0, cut) } else { (cut, 1.0) }
    }

    /// How far the liquid has come along the unit vector `along` (x or y, either way), as `along · x` [m]: the
    /// foremost place at which more than `share` of the band's width and height is liquid, straight between cells.
    /// The band's own rear end when it holds no liquid.
    pub fn front(&self, along: DVec3, band: &Block, share: f64) -> f64 {
        let grid = &self.grid;
        let axis = if along.x.abs() > 0.5 { 0 } else { 1 };
        let side = 1 - axis;
        let reach = |a: usize| {
            let low = ((band.low[a] - grid.origin[a]) / grid.h).clamp(0.0, grid.n[a] as f64);
            let high = ((band.high[a] - grid.origin[a]) / grid.h).clamp(0.0, grid.n[a] as f64);
            (low, high)
        };
        let cells = |(low, high): (f64, f64)| low as usize..high.ceil() as usize;
        // Liquid share of the band in one layer of cells across it, and the roomiest cell's open volume.
        let layer = |i: usize| {
            let (mut liquid, mut open, mut room) = (0.0, 0.0, 0.0f64);
            for j in cells(reach(side)) {
                let width = part(reach(side), j);
                for k in cells(reach(2)) {
                    let at = if axis == 0 { [i, j] } else { [j, i] };
                    let c = grid.at(at[0], at[1], k);
                    let tall = part(reach(2), k);
                    let size = (width.1 - width.0) * (tall.1 - tall.0);
                    if grid.volume[c] <= 0.0 || size <= 0.0 {
                        continue;
                    }
                    open += size;
                    room = room.max(grid.volume[c]);
                    liquid += (width.1 - width.0)
                        * if self.f[c] >= FULL {
                            tall.1 - tall.0
                        } else if self.f[c] <= 0.0 {
                            0.0
                        } else {
                            plane::slab(self.surface.plane(c, self.f[c]), 2, tall.0, tall.1)
                        };
                }
            }
            (open > 0.0).then(|| (liquid / open, room))
        };
        let forward = along[axis] > 0.0;
        let span = cells(reach(axis));
        let count = span.len();
        let at = |n: usize| if forward { span.end - 1 - n } else { span.start + n };
        // Along the direction, from the band's rear end, in cells.
        let (low, high) = reach(axis);
        let way = |x: f64| if forward { x } else { -x };
        let rear = way(if forward { low } else { high });
        let end = way(if forward { high } else { low });
        let mut ahead = None;
        let mut front = rear;
        for n in 0..count {
            let here = layer(at(n));
            if let Some((wet, room)) = here.filter(|(wet, _)| *wet > share) {
                let middle = way(at(n) as f64 + 0.5);
                front = match ahead {
                    // Between this layer's middle and that of the drier one ahead.
                    Some((dry, _)) => middle + (wet - share) / (wet - dry),
                    // A wall, which may cut the cell, or the band's end.
                    None => middle - 0.5 + room,
                };
                break;
            }
            ahead = here;
        }
        way(grid.origin[axis]) + grid.h * front.clamp(rear, end)
    }
}

/// The places of a profile.
fn places(from: DVec2, to: DVec2, count: u32) -> impl Iterator<Item = DVec2> {
    (0..count).map(move |i| from.lerp(to, f64::from(i) / f64::from(count - 1)))
}

/// The part of cell `i` between two places of a line, in the cell's own measure from 0 to 1.
fn part((low, high): (f64, f64), i: usize) -> (f64, f64) {
    let i = i as f64;
    ((low - i).max(0.0), (high - i).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Body, Settings, Supply, boxes};
    use oil::fluid::Fluid;

    const WATER: Fluid = Fluid {
        density: 1000.0,
        viscosity: 1e-6,
    };
    const FAR: f64 = f64::INFINITY;

    /// A tank of 0.4 × 0.02 × 0.2 m in cells of 10 mm with liquid in boxes of [x from, x to, z from, z to] mm.
    fn laid(blocks: &[[f64; 4]]) -> Solver {
        let lattice = boxes::tank([40, 2, 20], 0.01);
        let mut solver = Solver::new(&lattice, WATER, &[], Settings::default()).unwrap();
        let blocks: Vec<Block> = blocks
            .iter()
            .map(|b| Block {
                low: DVec3::new(b[0], -1e6, b[2]) * 1e-3,
                high: DVec3::new(b[1], 1e6, b[3]) * 1e-3,
            })
            .collect();
        solver.fill_boxes(&blocks).unwrap();
        solver
    }

    #[track_caller]
    fn near(got: f64, due: f64) {
        assert!((got - due).abs() < 1e-9, "got {got}, due {due}");
    }

    #[test]
    fn boxes_hold_their_common_volume_and_no_more() {
        // 103 mm of column, 17 mm of bed, and the bed under the column counted once.
        let solver = laid(&[[0.0, 103.0, 0.0, 154.0], [-5.0, 900.0, -3.0, 17.0]]);
        near(solver.oil_volume(), 0.02 * (0.103 * 0.154 + 0.297 * 0.017));
    }

    #[test]
    fn levels_are_read_inside_cells() {
        let solver = laid(&[[0.0, 200.0, 0.0, 57.0]]);
        for z in solver.levels(DVec2::new(0.055, 0.01)) {
            near(z, 0.057);
        }
        assert_eq!(solver.levels(DVec2::new(0.31, 0.01)), [0.0; 3]);
        assert_eq!(solver.levels(DVec2::new(0.5, 0.01)), [0.0; 3]);
        near(solver.levels(DVec2::new(-1e-12, 0.01))[0], 0.057);
    }

    #[test]
    fn an_overhang_has_a_surface_from_above_and_another_from_below() {
        let solver = laid(&[[0.0, 400.0, 0.0, 40.0], [0.0, 400.0, 90.0, 120.0]]);
        let [above, below, depth] = solver.levels(DVec2::new(0.2, 0.01));
        near(above, 0.12);
        near(below, 0.04);
        near(depth, 0.07);
    }

    #[test]
    fn the_front_is_found_along_any_way_and_stops_at_the_wall() {
        let whole = Block {
            low: DVec3::new(-FAR, -FAR, 0.0),
            high: DVec3::new(FAR, FAR, 0.01),
        };
        let solver = laid(&[[150.0, 253.0, 0.0, 60.0]]);
        // The cell from 250 to 260 mm is 0.3 full and its neighbour full: half fill lies at 245 + 10 · 0.5/0.7.
        near(solver.front(DVec3::X, &whole, 0.5), 0.245 + 0.01 * 0.5 / 0.7);
        near(solver.front(DVec3::NEG_X, &whole, 0.5), -0.15);
        let dry = Block {
            low: DVec3::new(0.3, -FAR, 0.0),
            high: DVec3::new(FAR, FAR, 0.01),
        };
        near(solver.front(DVec3::X, &dry, 0.5), 0.3);
        near(laid(&[[0.0, 900.0, 0.0, 60.0]]).front(DVec3::X, &whole, 0.5), 0.4);
        // A layer of 4 mm fills two fifths of a band of 10 mm and all of one of 3 mm.
        let thin = laid(&[[0.0, 900.0, 0.0, 4.0]]);
        near(thin.front(DVec3::X, &whole, 0.5), 0.0);
        let low = Block {
            high: DVec3::new(FAR, FAR, 0.003),
            ..whole
        };
        near(thin.front(DVec3::X, &low, 0.5), 0.4);
    }

    #[test]
    fn a_sensor_reads_the_mean_over_its_face() {
        let mut solver = laid(&[[0.0, 400.0, 0.0, 100.0]]);
        let still = Body::steady(DVec3::new(0.0, 0.0, -10.0));
        for _ in 0..3 {
            solver.step(&still, &Supply::NONE, 1e-3).unwrap();
        }
        let at = DVec3::new(0.0, 0.01, 0.04);
        let due = 1000.0 * 10.0 * 0.06;
        for diameter in [0.0, 0.01, 0.02] {
            let got = solver.pressure_on(at, DVec3::X, diameter);
            assert!((got / due - 1.0).abs() < 1e-2, "{diameter}: {got}, due {due}");
        }
        // Half in air: the mean of 0 and of a wedge of 5 mm.
        let got = solver.pressure_on(at.with_z(0.1), DVec3::X, 0.02);
        assert!(got > 5.0 && got < 40.0, "{got}");
        assert_eq!(solver.pressure_on(at.with_z(0.15), DVec3::X, 0.02), 0.0);
    }
}
