//! Sheets that gaskets are cut from, with what they ask of the cutter.

use serde::Serialize;

/// A sheet, by the word that `[seal.joint]` has for it too.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Material {
    /// The word for it.
    pub name: &'static str,
    /// Usual thickness [m].
    pub thickness: f64,
    /// Added to the thread's diameter for a bolt's hole [m].
    pub hole: f64,
    /// How far the bore stands back from the cavity's edge [m].
    pub set_back: f64,
    /// Narrowest bridge that holds and seals [m].
    pub least: f64,
    /// What a person at the knife should know.
    pub advice: &'static str,
}

const fn of(name: &'static str, mm: [f64; 4], advice: &'static str) -> Material {
    Material {
        name,
        thickness: mm[0] * 1e-3,
        hole: mm[1] * 1e-3,
        set_back: mm[2] * 1e-3,
        least: mm[3] * 1e-3,
        advice,
    }
}

/// Usual thickness, hole over thread, set-back of the bore, least bridge [mm]; common practice, no source.
///
/// Soft sheets spread when they are squeezed, so their holes and bores want more room; brittle and layered ones tear or
/// split where a bridge is narrow.
pub const MATERIALS: [Material; 5] = [
    of(
        "fibre",
        [0.8, 0.6, 0.5, 2.5],
        "cut with a new blade; it does not stretch, so holes must be true",
    ),
    of(
        "paper",
        [0.5, 0.6, 0.5, 2.0],
        "cut dry; it grows when it is wet with oil",
    ),
    of(
        "cork rubber",
        [2.0, 1.0, 1.0, 4.0],
        "do not stretch it while you cut; it spreads sideways under the bolts",
    ),
    of(
        "graphite on steel",
        [1.2, 0.6, 0.5, 3.0],
        "shears and punches only: a knife splits the graphite off",
    ),
    of(
        "expanded PTFE",
        [1.5, 1.0, 1.0, 4.0],
        "it creeps sideways: keep the bore back",
    ),
];

impl Material {
    /// By its word.
    pub fn named(name: &str) -> Option<Material> {
        MATERIALS.iter().find(|m| m.name == name).copied()
    }
}
