//! How large the cells are, and what stops a run before anything is allocated: cells larger than a tight place, and
//! a pan that does not fit into memory.

use crate::failure::{Complaint, Failure};
use crate::preparation::Prepared;
use measure::{Dimension, show};
use pan::{Lattice, Part, TightPlace};

/// Cells that the lattice aims at when the user states no cell size: our own choice, so that a check of a common pan takes
/// minutes on a desktop machine. How far the answer moves with smaller cells is what `--refine` measures.
const TARGET_CELLS: usize = 24_000;

/// Smallest and largest cell that a user may ask for [m].
const STATED_RANGE: (f64, f64) = (1e-3, 30e-3);

/// Why a cell is as large as the user says.
pub const STATED: &str = "stated on the command line";

/// Memory that one run needs for each cell of its lattice, solid ones counted [bytes]. Measured as peak memory of
/// the program over cells at 3 and 4 mm (400 to 440 bytes), with a little to spare.
const BYTES_PER_CELL: u64 = 450;

/// Memory that the program needs whatever the run [bytes].
const BYTES_ALWAYS: u64 = 30 << 20;

/// Share of the free memory that is taken at most: the system and the user's other programs live on the rest.
const SHARE_OF_MEMORY: f64 = 0.8;

/// A cell size and why.
#[derive(Clone, Debug)]
pub struct Size {
    /// Cell edge [m].
    pub cell: f64,
    /// In words.
    pub why: String,
}

/// How much is held in memory at once.
#[derive(Clone, Copy, Debug)]
pub struct Load {
    /// Runs that are computed at the same time.
    pub runs: usize,
    /// Pictures that are kept in all.
    pub frames: usize,
}

/// The cell size that the user typed [m], within `range` [m].
pub fn stated_cell(text: &str, range: (f64, f64)) -> Result<f64, Failure> {
    let cell = measure::read(text, Dimension::Length)
        .map_err(|fault| Failure::input(fault.what(), "--cell", fault.mend()))?;
    if (range.0..=range.1).contains(&cell) {
        return Ok(cell);
    }
    Err(Failure::input(
        format!("a cell of {text} is out of range"),
        "--cell",
        format!(
            "state something from {:.1} mm to {:.0} mm; 5 mm to 10 mm suit most pans",
            range.0 * 1e3,
            range.1 * 1e3
        ),
    ))
}

/// A cell of at most so much [m], as it is typed: cut off after a thousandth of a millimetre.
pub fn at_most(cell: f64) -> String {
    let text = format!("{:.3}", (1e6 * cell + 1e-3).floor() * 1e-3);
    format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
}

impl Prepared {
    /// The size that the user stated, or the one that the pan asks for.
    pub fn size(&self, stated: Option<&str>) -> Result<Size, Failure> {
        let Some(text) = stated else {
            let choice = Lattice::choose_cell(&self.design.pan, TARGET_CELLS);
            return Ok(Size {
                cell: choice.cell,
                why: choice.reason,
            });
        };
        let cell = stated_cell(text, STATED_RANGE)?;
        self.check_places(cell)?;
        Ok(Size {
            cell,
            why: STATED.to_string(),
        })
    }

    /// Refuses cells that are larger than a door, the mouth, the gap under it, or the space between two plates: all
    /// such places at once.
    pub fn check_places(&self, cell: f64) -> Result<(), Failure> {
        let places = self.design.pan.tight_places();
        // A cell that was set to divide a gap may miss it by a rounding.
        let narrow: Vec<&TightPlace> = places
            .iter()
            .filter(|place| cell > place.across * (1.0 + 1e-6))
            .collect();
        let Some(tightest) = Lattice::largest_cell(&places).filter(|_| !narrow.is_empty()) else {
            return Ok(());
        };
        let units = self.design.units;
        let length = |v: f64| show(v, Dimension::Length, units);
        let complaints = narrow.iter().map(|place| Complaint {
            what: format!("cells of {} are larger than the {}", length(cell), place.name),
            place: self.place_of(place.part),
            mend: format!(
                "state at most --cell \"{}\", or make that place wider",
                at_most(tightest.across)
            ),
        });
        Err(Failure::Input(complaints.collect()))
    }

    /// Where the design states a part: file, line and key.
    fn place_of(&self, part: Part) -> String {
        let pan = &self.design.pan;
        let (section, key) = match part {
            Part::Door(i) => (format!("door \"{}\"", pan.doors[i].name), "low"),
            Part::Plate(i) => (format!("plate \"{}\"", pan.plates[i].name), "thickness"),
            Part::Return(i) => (format!("return \"{}\"", pan.returns[i].name), "at"),
            Part::Mouth => ("pickup".to_string(), "mouth"),
            Part::Crank => ("crank".to_string(), ""),
            Part::Pocket(_) | Part::Mesh | Part::Cavity => ("pocket".to_string(), ""),
        };
        let input = (self.design.inputs.iter())
            .filter(|input| {
                input
                    .key
                    .strip_prefix(&section)
                    .is_some_and(|rest| rest.starts_with('.'))
            })
            .min_by_key(|input| !input.key.ends_with(key));
        match input {
            Some(input) => match &input.origin {
                job::Origin::Written(place) => format!("{place}, {section}"),
                _ => section,
            },
            None => section,
        }
    }

    /// Refuses a lattice that does not fit into the memory that is free now, with the numbers.
    pub fn check_memory(&self, cell: f64, load: Load) -> Result<(), Failure> {
        let free = free_memory();
        let needed = self.memory(cell, load);
        let allowed = SHARE_OF_MEMORY * free as f64;
        if needed as f64 <= allowed {
            return Ok(());
        }
        let gigabytes = |bytes: f64| format!("{:.1} GB", bytes / 1e9);
        let cells = Lattice::count(&self.design.pan, cell);
        // Memory goes with the third power of the cell.
        let fits = 1e3 * cell * (needed as f64 / allowed).cbrt();
        let largest =
            Lattice::largest_cell(&self.design.pan.tight_places()).map_or(f64::INFINITY, |p| p.across);
        let mend = if fits * 1e-3 <= largest {
            let fewer = if load.runs > 1 {
                ", or compute fewer runs at once with --threads 1"
            } else {
                ""
            };
            format!(
                "state --cell \"{:.1} mm\" or more{fewer}",
                (10.0 * fits).ceil() / 10.0
            )
        } else {
            "compute on a machine with more memory, or leave the narrowest place out of the design: no larger cell \
             can see it"
                .to_string()
        };
        Err(Failure::input(
            format!(
                "cells of {} make {cells} cells, which need about {} of memory for {} at once; {} of {} free are used \
                 at most",
                show(cell, Dimension::Length, self.design.units),
                gigabytes(needed as f64),
                if load.runs == 1 {
                    "one run".to_string()
                } else {
                    format!("{} runs", load.runs)
                },
                gigabytes(allowed),
                gigabytes(free as f64),
            ),
            "the pan's lattice",
            mend,
        ))
    }

    /// Memory that a load takes with a cell size [bytes].
    pub fn memory(&self, cell: f64, load: Load) -> u64 {
        let cells = Lattice::count(&self.design.pan, cell) as u64;
        let each = BYTES_PER_CELL
            .saturating_mul(load.runs as u64)
            .saturating_add(load.frames as u64);
        cells.saturating_mul(each).saturating_add(BYTES_ALWAYS)
    }
}

/// Memory that this program may still take [bytes]: what the system has free, within its container's limit.
fn free_memory() -> u64 {
    let mut system = sysinfo::System::new();
    system.refresh_memory();
    let free = system.available_memory();
    match system.cgroup_limits() {
        Some(limits) if limits.total_memory > 0 => free.min(limits.free_memory),
        _ => free,
    }
}
