//! Property classes of bolts.

use super::Thread;
use super::losses::STEEL_EXPANSION;

/// A property class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Class {
    /// "8.8"; for stainless "A2-70".
    pub name: &'static str,
    /// Stress under the proof load [Pa].
    pub proof: f64,
    /// Yield stress or 0.2 % proof stress that the torque tables count with [Pa].
    pub yields: f64,
    /// Least tensile strength [Pa].
    pub breaks: f64,
    /// Thermal expansion [1/K].
    pub expansion: f64,
}

const fn class(name: &'static str, proof: f64, yields: f64, breaks: f64, expansion: f64) -> Class {
    Class {
        name,
        proof: proof * 1e6,
        yields: yields * 1e6,
        breaks: breaks * 1e6,
        expansion,
    }
}

/// Classes up to 16 mm of ISO 898-1, and A2-70 of ISO 3506-1 (from memory; its proof stress is the 0.2 % stress, its expansion
/// that of austenitic steel, handbooks).
pub const CLASSES: [Class; 4] = [
    class("8.8", 580.0, 640.0, 800.0, STEEL_EXPANSION),
    class("10.9", 830.0, 940.0, 1040.0, STEEL_EXPANSION),
    class("12.9", 970.0, 1100.0, 1220.0, STEEL_EXPANSION),
    class("A2-70", 450.0, 450.0, 700.0, 16.5e-6),
];

/// Proof and least breaking loads as ISO 898-1 prints them for coarse threads [N]: name, then proof for 8.8, 10.9,
/// 12.9, then breaking loads. The standard rounds: its loads differ from stress times area by up to 0.7 %.
const PRINTED: [(&str, [f64; 3], [f64; 3]); 6] = [
    ("M4", [5100.0, 7290.0, 8520.0], [7020.0, 9130.0, 10700.0]),
    ("M5", [8230.0, 11800.0, 13800.0], [11350.0, 14800.0, 17300.0]),
    ("M6", [11600.0, 16700.0, 19500.0], [16100.0, 20900.0, 24500.0]),
    ("M8", [21200.0, 30400.0, 35500.0], [29200.0, 38100.0, 44600.0]),
    ("M10", [33700.0, 48100.0, 56300.0], [46400.0, 60300.0, 70800.0]),
    ("M12", [48900.0, 70000.0, 81800.0], [67400.0, 87700.0, 103000.0]),
];

impl Class {
    /// The class of that name.
    pub fn named(name: &str) -> Option<Class> {
        CLASSES.iter().find(|c| c.name == name).copied()
    }

    fn printed(&self, thread: &Thread) -> Option<(f64, f64)> {
        let column = CLASSES[..3].iter().position(|c| c.name == self.name)?;
        let (_, proof, breaks) = PRINTED.iter().find(|row| row.0 == thread.name)?;
        Some((proof[column], breaks[column]))
    }

    /// Load that the bolt has to bear without any lasting stretch [N]: as ISO 898-1 prints it, else proof stress times
    /// stress area.
    pub fn proof_load(&self, thread: &Thread) -> f64 {
        self.printed(thread)
            .map_or(self.proof * thread.stress_area(), |p| p.0)
    }

    /// Least load that breaks it [N], likewise.
    pub fn breaking_load(&self, thread: &Thread) -> f64 {
        self.printed(thread)
            .map_or(self.breaks * thread.stress_area(), |p| p.1)
    }
}
