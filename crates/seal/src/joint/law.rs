//! How hard a joint presses back when it is closed: pressure against closure, up and back down.
//!
//! ```text
//! pressure            ╱ up: straight pieces through given points, never falling
//!                  ╱╱│
//!               ╱╱  ╱  down: straight from the most it ever saw to the part it does not recover
//!            ╱╱    │
//!       ───╱──────╱────── closure
//! ```
//! It never pulls. Going down it returns `recovery` of the closure it saw, as ASTM F36 measures a sheet.

use super::JointFault;
use serde::{Deserialize, Serialize};

/// The load at which ASTM F36 reads a compressed sheet [Pa] (5000 lbf/in²), its first load of 0.7 MPa taken as none.
pub const F36_LOAD: f64 = 34.5e6;

/// Pressure of a joint against its closure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Law {
    /// Closure [m] and pressure [Pa], from none and none upward; beyond the last the last piece goes on.
    points: Vec<[f64; 2]>,
    /// Share of the closure that comes back on unloading, above 0, at most 1 (elastic: back by the way it came).
    recovery: f64,
    /// Closure that the block under the joint adds for each pressure [m/Pa].
    block: f64,
}

impl Law {
    /// From measured points (closure [m], pressure [Pa]); `[0, 0]` is added in front when it is missing.
    ///
    /// Faults: no finite number, closure that does not grow or pressure that falls ([`JointFault::LawFalls`]), no
    /// pressure at all, a recovery outside 0.01 to 1.
    pub fn through(points: &[[f64; 2]], recovery: f64) -> Result<Law, JointFault> {
        JointFault::within("the joint's recovery", recovery, 0.01, 1.0)?;
        let mut all = vec![[0.0, 0.0]];
        for (at, &[closure, pressure]) in points.iter().enumerate() {
            if !(closure.is_finite() && pressure.is_finite()) {
                return Err(JointFault::NotFinite {
                    what: "a point of the joint's law",
                });
            }
            let last = all[all.len() - 1];
            if at == 0 && closure == 0.0 && pressure == 0.0 {
                continue;
            }
            if closure <= last[0] || pressure < last[1] {
                return Err(JointFault::LawFalls { point: at });
            }
            all.push([closure, pressure]);
        }
        let most = all[all.len() - 1][1];
        JointFault::positive("the joint's greatest pressure", most)?;
        Ok(Law {
            points: all,
            recovery,
            block: 0.0,
        })
    }

    /// A layer of one modulus [Pa] and thickness [m]: pressure = modulus × closure / thickness. Elastic.
    pub fn linear(modulus: f64, thickness: f64) -> Result<Law, JointFault> {
        JointFault::positive("the joint's modulus", modulus)?;
        JointFault::positive("the joint's thickness", thickness)?;
        Law::through(&[[thickness, modulus]], 1.0)
    }

    /// A sheet of a thickness [m] from its two figures of ASTM F36: the share of its thickness that 34.5 MPa takes
    /// (`compressibility`), and the share of that which comes back (`recovery`).
    ///
    /// Straight between no load and 34.5 MPa: the figure names no curve. A real sheet is softer at first.
    pub fn sheet(thickness: f64, compressibility: f64, recovery: f64) -> Result<Law, JointFault> {
        JointFault::positive("the joint's thickness", thickness)?;
        JointFault::within("the sheet's compressibility", compressibility, 0.001, 0.95)?;
        Law::through(&[[thickness * compressibility, F36_LOAD]], recovery)
    }

    /// A rubber cord or moulded bead of round section, pressed between flat faces: load by length shared over `width`.
    ///
    /// `load/length = d E (1.25 C^1.5 + 50 C⁶)`, C the squeeze over the diameter d, for C up to 0.4; E from 2 MPa
    /// (50 Shore A) to 8 MPa (80). Elastic; its set is not counted. Source: P. B. Lindley, Compression
    /// characteristics of laterally-unrestrained rubber O-rings, J. IRI 1 (1967) 209 (from memory).
    pub fn cord(diameter: f64, modulus: f64, width: f64) -> Result<Law, JointFault> {
        JointFault::positive("the cord's diameter", diameter)?;
        JointFault::positive("the cord's modulus", modulus)?;
        JointFault::positive("the cord's width", width)?;
        let points: Vec<[f64; 2]> = (1..=40)
            .map(|hundredth| {
                let squeeze = f64::from(hundredth) / 100.0;
                let load = diameter * modulus * (1.25 * squeeze.powf(1.5) + 50.0 * squeeze.powi(6));
                [squeeze * diameter, load / width]
            })
            .collect();
        Law::through(&points, 1.0)
    }

    /// Metal on metal: rail and as deep a layer of block, each pressed through half the rail's thickness.
    ///
    /// Only the openings beside it are read from such a joint: the true pressure round a bolt is a cone's, and a
    /// beam does not know it.
    pub fn metal(rail: f64, block: f64, thickness: f64) -> Result<Law, JointFault> {
        JointFault::positive("the rail's modulus", rail)?;
        JointFault::positive("the block's modulus", block)?;
        Law::linear(2.0 / (1.0 / rail + 1.0 / block), thickness)
    }

    /// The same joint on a block that gives way by `bed` [Pa/m], as springs side by side would: not as a beam does.
    pub fn on_block(mut self, bed: f64) -> Result<Law, JointFault> {
        JointFault::positive("the block's bed", bed)?;
        for point in &mut self.points {
            point[0] += point[1] / bed;
        }
        self.block += 1.0 / bed;
        Ok(self)
    }

    /// Pressure [Pa] and its slope [Pa/m] at a closure, for a joint that has been closed by `most` before [m].
    pub fn at(&self, closure: f64, most: f64) -> (f64, f64) {
        if self.recovery >= 1.0 || closure >= most {
            return self.up(closure);
        }
        let (pressure, _) = self.up(most);
        // The block's share comes back whole; of the joint's own, `recovery`.
        let own = most - pressure * self.block;
        let lost = (1.0 - self.recovery) * own;
        if closure <= lost {
            return (0.0, 0.0);
        }
        let slope = pressure / (most - lost);
        (slope * (closure - lost), slope)
    }

    /// Closure [m] at which it first presses so hard [Pa].
    pub fn closure_at(&self, pressure: f64) -> f64 {
        let mut piece = self.points.len() - 1;
        for at in 1..self.points.len() {
            if self.points[at][1] >= pressure {
                piece = at;
                break;
            }
        }
        let ([c0, p0], [c1, p1]) = (self.points[piece - 1], self.points[piece]);
        if p1 > p0 {
            c0 + (pressure - p0) * (c1 - c0) / (p1 - p0)
        } else {
            c1
        }
    }

    /// Pressure over closure [Pa/m] from nothing to a pressure: the stiffness of a plain bed that gives the same.
    pub fn secant(&self, pressure: f64) -> f64 {
        let closure = self.closure_at(pressure);
        if closure > 0.0 {
            pressure / closure
        } else {
            self.up(0.0).1
        }
    }

    fn up(&self, closure: f64) -> (f64, f64) {
        if closure < 0.0 {
            return (0.0, 0.0);
        }
        let last = self.points.len() - 1;
        let piece = self.points[1..last].partition_point(|point| point[0] <= closure) + 1;
        let ([c0, p0], [c1, p1]) = (self.points[piece - 1], self.points[piece]);
        let slope = (p1 - p0) / (c1 - c0);
        (p0 + slope * (closure - c0), slope)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_law_follows_its_points_up_and_its_recovery_down() {
        let law = Law::through(&[[1e-4, 1e6], [2e-4, 4e6]], 0.4).expect("a rising law");
        assert_eq!(law.at(-1e-5, 0.0), (0.0, 0.0));
        assert!((law.at(1.5e-4, 0.0).0 - 2.5e6).abs() < 1e-3);
        assert!((law.at(3e-4, 0.0).0 - 7e6).abs() < 1e-3, "beyond the last point");
        // Seen 0.2 mm: 0.12 mm of it stays, and the way back is straight.
        assert!((law.at(2e-4, 2e-4).0 - 4e6).abs() < 1e-3);
        assert!((law.at(1.6e-4, 2e-4).0 - 2e6).abs() < 1e-3);
        assert_eq!(law.at(1.2e-4, 2e-4).0, 0.0);
        assert!((law.closure_at(2.5e6) - 1.5e-4).abs() < 1e-12);
    }

    #[test]
    fn a_law_that_falls_or_never_presses_is_refused() {
        let falls = Law::through(&[[1e-4, 2e6], [2e-4, 1e6]], 1.0);
        assert_eq!(falls, Err(JointFault::LawFalls { point: 1 }));
        assert!(Law::through(&[[1e-4, 0.0]], 1.0).is_err());
        assert!(Law::through(&[], 1.0).is_err());
        assert!(Law::through(&[[1e-4, f64::NAN]], 1.0).is_err());
        assert!(Law::through(&[[1e-4, 1.0]], 0.0).is_err());
    }

    #[test]
    fn a_block_that_gives_way_adds_its_closure_and_takes_it_back() {
        let law = Law::through(&[[1e-4, 1e6]], 0.5)
            .expect("a law")
            .on_block(1e10)
            .expect("a bed");
        // 1 MPa closes the joint by 0.1 mm and the block by 0.1 mm.
        assert!((law.at(2e-4, 0.0).0 - 1e6).abs() < 1e-3);
        // Back: the joint keeps 0.05 mm, the block nothing.
        assert_eq!(law.at(5e-5, 2e-4).0, 0.0);
        assert!((law.at(1.25e-4, 2e-4).0 - 0.5e6).abs() < 1e-3);
    }

    /// By hand from Lindley's formula, d 3 mm, E 4 MPa, squeeze 20 %: 3e-3·4e6·(1.25·0.0894427+50·6.4e-5) = 1380 N/m.
    #[test]
    fn a_cord_presses_as_lindley_says() {
        let law = Law::cord(3e-3, 4e6, 3e-3).expect("a cord");
        let by_length = law.at(0.6e-3, 0.0).0 * 3e-3;
        assert!((by_length - 1380.04).abs() < 0.05, "{by_length}");
    }
}
