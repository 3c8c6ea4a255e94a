//! Putting oil into the cells.

use crate::SloshFault;
use crate::plane;
use crate::solver::Solver;
use crate::surface::FULL;
use crate::walled;
use glam::DVec3;
use pan::Block;

impl Solver {
    /// Fills all open cells below the plane `up · x ≤ offset` exactly (also in cut cells with one flat wall),
    /// at rest. `up` of any length above zero; `offset` along the unit vector [m].
    pub fn fill_below(&mut self, up: DVec3, offset: f64) -> Result<(), SloshFault> {
        let up = unit(up)?;
        if !offset.is_finite() {
            return Err(SloshFault::Input {
                what: "fill level",
                value: offset,
                must: "finite",
            });
        }
        self.still();
        for c in self.grid.inner() {
            self.f[c] = self.share_below(c, up, offset);
        }
        self.laid();
        Ok(())
    }

    /// Fills to the level that holds `volume` [m³], at rest; the volume is met to round-off.
    pub fn fill_volume(&mut self, up: DVec3, volume: f64) -> Result<(), SloshFault> {
        let up = unit(up)?;
        let capacity = self.open_volume();
        if !(volume >= 0.0 && volume.is_finite()) {
            return Err(SloshFault::Input {
                what: "fill volume",
                value: volume,
                must: "zero or more and finite",
            });
        }
        if volume > capacity * (1.0 + 1e-12) {
            return Err(SloshFault::Overfull { volume, capacity });
        }
        let h3 = self.grid.h.powi(3);
        let below = |level: f64| -> f64 {
            self.grid
                .inner()
                .map(|c| self.share_below(c, up, level) * self.grid.volume[c])
                .sum::<f64>()
                * h3
        };
        let reach = self.grid.h * DVec3::from_array(self.grid.n.map(|n| n as f64)).length();
        let middle =
            up.dot(self.grid.origin + 0.5 * self.grid.h * DVec3::from_array(self.grid.n.map(|n| n as f64)));
        let (mut lo, mut hi) = (middle - reach, middle + reach);
        for _ in 0..60 {
            let mid = 0.5 * (lo + hi);
            if below(mid) < volume {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        self.fill_below(up, 0.5 * (lo + hi))?;
        // The plane volume of a cell is good to 1e-10 or so; mixed cells take the last bits.
        for _ in 0..3 {
            let missing = (volume - self.oil_volume()) / h3;
            let mixed: Vec<usize> = self
                .grid
                .inner()
                .filter(|c| self.f[*c] > 1e-3 && self.f[*c] < 1.0 - 1e-3)
                .collect();
            let room: f64 = mixed.iter().map(|c| self.grid.volume[*c]).sum();
            if room == 0.0 || missing == 0.0 {
                break;
            }
            for c in mixed {
                self.f[c] += missing / room;
            }
        }
        if volume == 0.0 {
            self.f.fill(0.0);
        }
        self.laid();
        Ok(())
    }

    /// Lays liquid into boxes, at rest: exactly their common volume, also in cut cells with one flat wall. Boxes
    /// may lie over one another and reach beyond the tank.
    pub fn fill_boxes(&mut self, boxes: &[Block]) -> Result<(), SloshFault> {
        if let Some(bad) = boxes.iter().find(|b| b.low.is_nan() || b.high.is_nan()) {
            return Err(SloshFault::Input {
                what: "corner of a start box",
                value: bad.low.x + bad.high.x,
                must: "a number",
            });
        }
        self.still();
        for c in self.grid.inner() {
            self.f[c] = self.share_in_boxes(c, boxes);
        }
        self.laid();
        Ok(())
    }

    /// Takes up oil that was put somewhere by hand.
    pub(crate) fn laid(&mut self) {
        self.region.search_all();
        self.refresh();
    }

    /// Share of the open part of a cell inside boxes: the cell is cut along all their sides, and each piece is in
    /// or out.
    fn share_in_boxes(&self, c: usize, boxes: &[Block]) -> f64 {
        let open = self.grid.volume[c];
        if open == 0.0 {
            return 0.0;
        }
        let low = self.grid.centre(c) - DVec3::splat(0.5 * self.grid.h);
        let cuts = [0, 1, 2].map(|a| {
            let sides = boxes.iter().flat_map(|b| [b.low[a], b.high[a]]);
            let mut cuts: Vec<f64> = sides
                .map(|side| (side - low[a]) / self.grid.h)
                // A side within rounding of a face is on it.
                .filter(|s| *s > 1e-9 && *s < 1.0 - 1e-9)
                .chain([0.0, 1.0])
                .collect();
            cuts.sort_by(f64::total_cmp);
            cuts.dedup();
            cuts
        });
        let wall = self.grid.wall(c);
        let mut held = 0.0;
        for z in cuts[2].windows(2) {
            for y in cuts[1].windows(2) {
                for x in cuts[0].windows(2) {
                    let (from, to) = (DVec3::new(x[0], y[0], z[0]), DVec3::new(x[1], y[1], z[1]));
                    let middle = low + self.grid.h * 0.5 * (from + to);
                    if !boxes.iter().any(|b| b.contains(middle)) {
                        continue;
                    }
                    let size = to - from;
                    held += size.element_product()
                        * match wall {
                            None => open,
                            Some([mx, my, mz, alpha]) => {
                                let m = DVec3::new(mx, my, mz);
                                plane::volume_under((m * size).to_array(), alpha - m.dot(from))
                            }
                        };
                }
            }
        }
        let share = held / open;
        if share > FULL {
            1.0
        } else if share < 1e-6 {
            0.0
        } else {
            share
        }
    }

    /// Fills each open cell by `inside(centre)`, the oil share of its open part, 0 to 1, at rest.
    pub fn fill_where(&mut self, inside: impl Fn(DVec3) -> f64) -> Result<(), SloshFault> {
        self.still();
        for c in self.grid.inner() {
            let share = if self.grid.volume[c] > 0.0 {
                inside(self.grid.centre(c))
            } else {
                0.0
            };
            if !(0.0..=1.0).contains(&share) {
                self.f.fill(0.0);
                self.laid();
                return Err(SloshFault::Input {
                    what: "fill of a cell",
                    value: share,
                    must: "0 to 1",
                });
            }
            self.f[c] = share;
        }
        self.laid();
        Ok(())
    }

    /// Sets the velocity of all faces beside oil to `velocity(face centre)` [m/s]; walls keep theirs.
    pub fn set_velocity(&mut self, velocity: impl Fn(DVec3) -> DVec3) -> Result<(), SloshFault> {
        for axis in 0..3 {
            let s = self.grid.stride[axis];
            for &(lo, hi) in &self.region.rows {
                for c in lo as usize..hi as usize {
                    if self.grid.area[axis][c] == 0.0 {
                        continue;
                    }
                    if self.f[c] > 0.0 || self.f[c - s] > 0.0 {
                        let mut at = self.grid.centre(c);
                        at[axis] -= 0.5 * self.grid.h;
                        let u = velocity(at)[axis];
                        if !u.is_finite() {
                            return Err(SloshFault::Input {
                                what: "velocity",
                                value: u,
                                must: "finite",
                            });
                        }
                        self.flow.u[axis][c] = u as f32;
                    }
                }
            }
        }
        self.extend(1e-3);
        Ok(())
    }

    /// Share of the open part of a cell below a plane, with almost empty and almost full snapped.
    fn share_below(&self, c: usize, up: DVec3, offset: f64) -> f64 {
        let open = self.grid.volume[c];
        if open == 0.0 {
            return 0.0;
        }
        let low = self.grid.centre(c) - DVec3::splat(0.5 * self.grid.h);
        let m = up.to_array();
        let alpha = (offset - up.dot(low)) / self.grid.h;
        let share = match self.grid.wall(c) {
            None => plane::volume_under(m, alpha),
            Some(wall) => walled::under_both(wall, [m[0], m[1], m[2], alpha]) / open,
        };
        if share > FULL {
            1.0
        } else if share < 1e-6 {
            0.0
        } else {
            share.min(1.0)
        }
    }

    fn still(&mut self) {
        self.flow.leave(0, self.grid.size());
        self.pressure.leave(0, self.grid.size());
        self.pressure.dt = 1.0;
        self.steps = 0;
        self.booked = 0.0;
        for flap in &mut self.flaps {
            flap.angle = 0.0;
            flap.rate = 0.0;
        }
        self.set_doors();
    }
}

fn unit(up: DVec3) -> Result<DVec3, SloshFault> {
    up.try_normalize()
        .filter(|u| u.is_finite())
        .ok_or(SloshFault::Input {
            what: "length of the up direction",
            value: up.length(),
            must: "positive and finite",
        })
}
