//! Bays and ports, cut out of the lattice.

use crate::levels::Levels;
use crate::mouth::Mouth;
use crate::ports::Strip;
use glam::DVec3;
use pan::{Door, Lattice};
use std::collections::BTreeMap;

/// Loss of a sharp-edged opening on the speed in it: `Q = Cd A √(2gh)` with Cd 0.61 (checks of textbooks; Re > 1e4).
pub const SHARP: f64 = 0.61;

/// Patches of an opening are at most so many cells wide. In height each layer of cells is its own: heads change there.
const PATCH: usize = 8;

/// A space of the pan.
#[derive(Clone, Debug)]
pub struct Bay {
    /// Named by where it is.
    pub name: String,
    /// How high oil stands in it.
    pub levels: Levels,
    /// Size along x and y [m] of its box.
    pub size: [f64; 2],
    /// True when the pickup draws from it.
    pub has_mouth: bool,
}

/// What a patch is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Way {
    /// Open, or holes in a plate.
    Hole {
        /// Width of the holes [m], for viscous flow.
        width: f64,
    },
    /// The opening of a door; index into the network's doors.
    Door(usize),
}

/// A piece of an opening between two bays.
#[derive(Clone, Debug)]
pub struct Patch {
    /// Centre [m, pan frame].
    pub at: DVec3,
    /// Half its extent along x, y and z [m].
    pub half: DVec3,
    /// Free area [m²].
    pub area: f64,
    /// What it is.
    pub way: Way,
}

/// All openings between two bays.
#[derive(Clone, Debug)]
pub struct Port {
    /// Index of the bays on either side; flow from the first to the second counts above zero.
    pub between: [usize; 2],
    /// Its pieces.
    pub patches: Vec<Patch>,
    /// The same, side by side for the processor.
    pub(crate) strips: Vec<Strip>,
    /// Length of oil that is set in motion [m], see [`inertial_length`].
    pub length: f64,
}

/// A door of the pan.
#[derive(Clone, Debug)]
pub struct Flap {
    /// The flap.
    pub shape: Door,
    /// From hinge to free edge, and along the hinge [m].
    pub size: [f64; 2],
    /// Unit vector along the hinge; a positive turn opens.
    pub hinge: DVec3,
    /// From the hinge to the flap's middle when shut [m].
    pub to_middle: DVec3,
    /// What it hangs between; none for a door inside one bay, which lets nothing past.
    pub hung: Option<Hung>,
}

/// Where a door hangs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hung {
    /// Index of its port.
    pub port: usize,
    /// Sense of the flow that opens it there: +1 from the port's first bay to its second, else -1.
    pub sense: f64,
}

/// The pan as bays and ports.
#[derive(Clone, Debug)]
pub struct Network {
    /// The bays, in the order of the lattice's spaces.
    pub bays: Vec<Bay>,
    /// The ports.
    pub ports: Vec<Port>,
    /// The doors.
    pub flaps: Vec<Flap>,
    /// The pickup's mouth; none in a tank.
    pub mouth: Option<Mouth>,
    /// For each return place: bays and shares.
    pub returns: Vec<Vec<(usize, f64)>>,
    /// What the crank sweeps in each bay that it reaches into.
    pub crank: Vec<(usize, Levels)>,
    /// Edge of the lattice's cells [m].
    pub cell: f64,
}

/// Why a lattice makes no network.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NetworkFault {
    /// The lattice has no space.
    #[error("there is no space to hold oil")]
    Empty,
    /// A door of the lattice is none of the pan.
    #[error("door {0} of the lattice is not among the pan's")]
    Door(usize),
}

impl Network {
    /// Cuts `lattice`; `doors` are the pan's.
    pub fn cut(lattice: &Lattice, doors: &[Door]) -> Result<Network, NetworkFault> {
        let space = |cell: usize| lattice.space_of[cell] as usize;
        let mut bays = Vec::new();
        for (index, found) in lattice.spaces.iter().enumerate() {
            let levels = Levels::of(lattice, |cell| f64::from(u8::from(space(cell) == index)))
                .ok_or(NetworkFault::Empty)?;
            bays.push(Bay {
                name: found.name.clone(),
                levels,
                size: extent(lattice, index),
                has_mouth: found.has_mouth,
            });
        }
        if bays.is_empty() {
            return Err(NetworkFault::Empty);
        }
        let mut network = Network {
            bays,
            ports: Vec::new(),
            flaps: Vec::new(),
            mouth: Mouth::of(lattice),
            returns: Vec::new(),
            crank: Vec::new(),
            cell: lattice.cell,
        };
        for bay in 0..network.bays.len() {
            let swept = |cell: usize| match lattice.crank_share.get(cell) {
                Some(share) if space(cell) == bay => f64::from(*share),
                _ => 0.0,
            };
            network
                .crank
                .extend(Levels::of(lattice, swept).map(|levels| (bay, levels)));
        }
        network.find_ports(lattice, doors)?;
        for place in &lattice.returns {
            let mut bays: BTreeMap<usize, f64> = BTreeMap::new();
            for face in place {
                let bay = space(face.cell as usize);
                if bay < network.bays.len() {
                    *bays.entry(bay).or_default() += face.share;
                }
            }
            let sum: f64 = bays.values().sum();
            network
                .returns
                .push(bays.into_iter().map(|(bay, share)| (bay, share / sum)).collect());
        }
        Ok(network)
    }

    fn find_ports(&mut self, lattice: &Lattice, doors: &[Door]) -> Result<(), NetworkFault> {
        let screens: BTreeMap<(u8, u32), &pan::lattice::Screen> = lattice
            .screens
            .iter()
            .map(|s| ((s.face.axis, s.face.index), s))
            .collect();
        let edge = lattice.cell;
        // Pieces by the two bays, axis, kind and place; kinds: open, screen with its width and share, door.
        type Group = (usize, usize, u8, (u8, usize, i64), [usize; 3]);
        let mut groups: BTreeMap<Group, (DVec3, f64, DVec3, DVec3, Way)> = BTreeMap::new();
        let mut put =
            |lattice: &Lattice, axis: u8, index: u32, area: f64, kind: (u8, usize, i64), way: Way| {
                let Some((low, high)) = lattice.cells_of_face(axis as usize, index as usize) else {
                    return;
                };
                let (a, b) = (lattice.space_of[low] as usize, lattice.space_of[high] as usize);
                if a == b || a.max(b) >= lattice.spaces.len() || !(area > 0.0) {
                    return;
                }
                let [i, j, k] = lattice.cell_place(high);
                let mut at = lattice.centre(i, j, k);
                at[axis as usize] -= 0.5 * edge;
                let mut zone = [i / PATCH, j / PATCH, k];
                zone[axis as usize] = [i, j, k][axis as usize];
                let key = (a.min(b), a.max(b), axis, kind, zone);
                let piece = groups.entry(key).or_insert((DVec3::ZERO, 0.0, at, at, way));
                piece.0 += area * at;
                piece.1 += area;
                piece.2 = piece.2.min(at);
                piece.3 = piece.3.max(at);
            };
        for axis in 0..3u8 {
            for index in 0..lattice.open_area[axis as usize].len() as u32 {
                let open = lattice.open_area[axis as usize][index as usize] * edge * edge;
                match screens.get(&(axis, index)) {
                    Some(s) => {
                        // A face's own loss leaves out what cells do by themselves; a port has no cells.
                        let kind = (1, 0, (1e6 * s.hole) as i64);
                        let way = Way::Hole { width: s.hole };
                        put(lattice, axis, index, open * s.open, kind, way);
                    }
                    None => {
                        let way = Way::Hole { width: 4.0 * edge };
                        put(lattice, axis, index, open, (0, 0, 0), way);
                    }
                }
            }
        }
        for (at, hung) in lattice.doors.iter().enumerate() {
            for face in &hung.faces {
                put(
                    lattice,
                    face.face.axis,
                    face.face.index,
                    face.area,
                    (2, at, 0),
                    Way::Door(at),
                );
            }
        }
        let mut ports: BTreeMap<(usize, usize), Vec<Patch>> = BTreeMap::new();
        for ((a, b, axis, ..), (sum, area, low, high, way)) in groups {
            let mut half = 0.5 * (high - low) + DVec3::splat(0.5 * edge);
            half[axis as usize] = 0.0;
            ports.entry((a, b)).or_default().push(Patch {
                at: sum / area,
                half,
                area,
                way,
            });
        }
        for ((a, b), patches) in ports {
            let area: f64 = patches.iter().map(|p| p.area).sum();
            self.ports.push(Port {
                between: [a, b],
                length: inertial_length(area, axis_of(&patches), &self.bays[a], &self.bays[b]),
                strips: Strip::of(&patches),
                patches,
            });
        }
        self.hang(lattice, doors)
    }

    fn hang(&mut self, lattice: &Lattice, doors: &[Door]) -> Result<(), NetworkFault> {
        for hung in &lattice.doors {
            let shape = doors.get(hung.door).ok_or(NetworkFault::Door(hung.door))?.clone();
            // The door's sense is along the positive axis; a port counts from its first bay to its second.
            let mut sense = 0.0;
            let mut port = None;
            for face in &hung.faces {
                let Some((low, high)) =
                    lattice.cells_of_face(face.face.axis as usize, face.face.index as usize)
                else {
                    continue;
                };
                let (a, b) = (lattice.space_of[low] as usize, lattice.space_of[high] as usize);
                let found = self.ports.iter().position(|p| p.between == [a.min(b), a.max(b)]);
                if let Some(found) = found.filter(|_| a != b) {
                    port = Some(found);
                    sense += face.area * face.sense * if a < b { 1.0 } else { -1.0 };
                }
            }
            self.flaps.push(Flap {
                shape,
                size: [hung.length, hung.width],
                hinge: hung.hinge,
                to_middle: hung.to_centre,
                hung: port.map(|port| Hung {
                    port,
                    sense: sense.signum(),
                }),
            });
        }
        Ok(())
    }

    /// Open area between two bays, doors counted as open [m²].
    pub fn area_between(&self, a: usize, b: usize) -> f64 {
        let port = self.ports.iter().find(|p| p.between == [a.min(b), a.max(b)]);
        port.map_or(0.0, |p| p.patches.iter().map(|patch| patch.area).sum())
    }
}

/// Length of oil that moves with a port of `area` [m²] square to `axis`: of a small opening in a wall √A, the added mass
/// of both its sides (of a round hole twice 8r/3π, 0.96 √A: Rayleigh, Theory of Sound, from memory); where the opening
/// is the whole section of the bays, the oil from the middle of one to the middle of the other. Between the two, by the
/// share of the section that is open.
fn inertial_length(area: f64, axis: usize, a: &Bay, b: &Bay) -> f64 {
    let along = |bay: &Bay| match axis {
        2 => bay.levels.volume / (bay.size[0] * bay.size[1]),
        _ => bay.size[axis],
    };
    let section = |bay: &Bay| bay.levels.volume / along(bay);
    let open = (area / section(a).min(section(b))).min(1.0);
    (1.0 - open) * area.sqrt() + open * 0.5 * (along(a) + along(b))
}

/// The axis to which most of an opening lies square.
fn axis_of(patches: &[Patch]) -> usize {
    let share = |axis: usize| -> f64 {
        let square = patches.iter().filter(|p| p.half[axis] == 0.0);
        square.map(|p| p.area).sum()
    };
    (0..3).max_by(|a, b| share(*a).total_cmp(&share(*b))).unwrap_or(0)
}

/// Size of a bay along x and y [m]: of a box with the same spread of volume, √12 times its standard deviation.
fn extent(lattice: &Lattice, bay: usize) -> [f64; 2] {
    let (mut volume, mut sum, mut squares) = (0.0, DVec3::ZERO, DVec3::ZERO);
    for cell in (0..lattice.cells()).filter(|c| lattice.space_of[*c] as usize == bay) {
        let [i, j, k] = lattice.cell_place(cell);
        let (at, open) = (lattice.centre(i, j, k), lattice.open_volume[cell]);
        volume += open;
        sum += open * at;
        squares += open * (at * at + DVec3::splat(lattice.cell.powi(2) / 12.0));
    }
    let spread = squares / volume - (sum / volume) * (sum / volume);
    [(12.0 * spread.x).sqrt(), (12.0 * spread.y).sqrt()]
}
