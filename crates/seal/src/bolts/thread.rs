//! Metric threads: basic sizes and limit sizes.

use std::f64::consts::PI;

/// A metric thread of ISO 68-1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thread {
    /// As ISO 261 writes it: "M6", "M8x1".
    pub name: &'static str,
    /// Nominal diameter d [m].
    pub diameter: f64,
    /// Pitch P [m].
    pub pitch: f64,
    /// Limits of tolerance 6g (bolt) and 6H (hole) [m].
    tolerance: Tolerance,
}

/// Fundamental deviation and tolerances of ISO 965-1 [m].
#[derive(Clone, Copy, Debug, PartialEq)]
struct Tolerance {
    /// es of position g: how far the bolt lies below basic size.
    below: f64,
    /// Td, grade 6: outer diameter of the bolt.
    outer: f64,
    /// Td2, grade 6: pitch diameter of the bolt.
    pitch: f64,
    /// TD2, grade 6: pitch diameter of the hole.
    hole_pitch: f64,
    /// TD1, grade 6: core diameter of the hole.
    core: f64,
}

/// The least bolt in the largest hole that 6g and 6H allow [m].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Least outer diameter of the bolt.
    pub outer: f64,
    /// Least pitch diameter of the bolt.
    pub pitch: f64,
    /// Largest core diameter of the hole.
    pub hole_core: f64,
    /// Largest pitch diameter of the hole.
    pub hole_pitch: f64,
}

const fn thread(name: &'static str, d_mm: f64, pitch_mm: f64, um: [f64; 5]) -> Thread {
    let [below, outer, pitch, hole_pitch, core] = um;
    Thread {
        name,
        diameter: d_mm * 1e-3,
        pitch: pitch_mm * 1e-3,
        tolerance: Tolerance {
            below: below * 1e-6,
            outer: outer * 1e-6,
            pitch: pitch * 1e-6,
            hole_pitch: hole_pitch * 1e-6,
            core: core * 1e-6,
        },
    }
}

/// The threads that pans and blocks use. Tolerances of ISO 965-1 in µm (es, Td, Td2, TD2, TD1), from memory; the tests
/// hold M5 to M10 against a table.
pub const THREADS: [Thread; 11] = [
    thread("M4", 4.0, 0.7, [22.0, 140.0, 90.0, 118.0, 180.0]),
    thread("M5", 5.0, 0.8, [24.0, 150.0, 95.0, 125.0, 200.0]),
    thread("M6", 6.0, 1.0, [26.0, 180.0, 112.0, 150.0, 236.0]),
    thread("M8", 8.0, 1.25, [28.0, 212.0, 118.0, 160.0, 265.0]),
    thread("M10", 10.0, 1.5, [32.0, 236.0, 132.0, 180.0, 300.0]),
    thread("M12", 12.0, 1.75, [34.0, 265.0, 150.0, 200.0, 335.0]),
    thread("M8x1", 8.0, 1.0, [26.0, 180.0, 112.0, 150.0, 236.0]),
    thread("M10x1", 10.0, 1.0, [26.0, 180.0, 112.0, 150.0, 236.0]),
    thread("M10x1.25", 10.0, 1.25, [28.0, 212.0, 118.0, 160.0, 265.0]),
    thread("M12x1.25", 12.0, 1.25, [28.0, 212.0, 132.0, 180.0, 265.0]),
    thread("M12x1.5", 12.0, 1.5, [32.0, 236.0, 140.0, 190.0, 300.0]),
];

impl Thread {
    /// The thread of that name.
    pub fn named(name: &str) -> Option<Thread> {
        THREADS.iter().find(|t| t.name == name).copied()
    }

    /// Height of the sharp triangle, `H = P √3/2` (ISO 68-1) [m].
    fn height(&self) -> f64 {
        0.75f64.sqrt() * self.pitch
    }

    /// Pitch diameter, `d2 = d − 0.75 H` (ISO 724) [m].
    pub fn pitch_diameter(&self) -> f64 {
        self.diameter - 0.75 * self.height()
    }

    /// Core diameter of the hole, `d1 = d − 1.25 H` (ISO 724) [m].
    pub fn hole_core(&self) -> f64 {
        self.diameter - 1.25 * self.height()
    }

    /// Core diameter of the bolt, `d3 = d1 − H/6` (ISO 68-1) [m].
    pub fn core(&self) -> f64 {
        self.hole_core() - self.height() / 6.0
    }

    /// Stress area, `π/4 ((d2 + d3)/2)²` (ISO 898-1) [m²].
    pub fn stress_area(&self) -> f64 {
        let d = self.stress_diameter();
        0.25 * PI * d * d
    }

    /// Diameter of the stress area, `(d2 + d3)/2` [m].
    pub fn stress_diameter(&self) -> f64 {
        0.5 * (self.pitch_diameter() + self.core())
    }

    /// Area of the bolt's core [m²].
    pub fn core_area(&self) -> f64 {
        0.25 * PI * self.core() * self.core()
    }

    /// The least bolt and the largest hole of 6g/6H (ISO 965-1).
    pub fn limits(&self) -> Limits {
        let t = &self.tolerance;
        Limits {
            outer: self.diameter - t.below - t.outer,
            pitch: self.pitch_diameter() - t.below - t.pitch,
            hole_core: self.hole_core() + t.core,
            hole_pitch: self.pitch_diameter() + t.hole_pitch,
        }
    }

    /// Both members on their basic sizes.
    pub fn basic(&self) -> Limits {
        Limits {
            outer: self.diameter,
            pitch: self.pitch_diameter(),
            hole_core: self.hole_core(),
            hole_pitch: self.pitch_diameter(),
        }
    }
}
