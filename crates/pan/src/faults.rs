//! The faults of a pan: what is wrong, how bad, in which words, and how to mend it.

use crate::panel::PlateFault;
use crate::{LatticeFault, Part};
use glam::DVec3;

/// How bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Cannot be computed, or cannot work.
    Fault,
    /// Can be computed; worth a look.
    Warning,
}

/// One thing wrong with a pan. Shown as one sentence in millimetres and litres.
#[derive(Clone, Debug, PartialEq)]
pub struct PanFault {
    /// What it concerns.
    pub part: Part,
    /// The part's name in the design file; empty for parts that have none.
    pub name: String,
    /// What is wrong.
    pub trouble: Trouble,
}

/// What is wrong. Lengths in metres, volumes in cubic metres, angles in radians.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// The cavity falls into pieces that oil cannot pass between.
    CavityInPieces {
        /// Volumes, largest first.
        volumes: Vec<f64>,
    },
    /// Nothing of the cavity lies below the flange.
    NothingBelowFlange,
    /// Pan and block are not joined at the flange.
    ShutAtFlange,
    /// No space above the flange.
    NoBlockSpace,
    /// The mesh was inside out.
    MeshTurned,
    /// A size or place that is no usable number.
    NotANumber,
    /// The mouth is not in the cavity.
    MouthOutside,
    /// The mouth's rim sticks into a wall.
    MouthInWall,
    /// The mouth is cut by a plate.
    MouthInPlate {
        /// The plate's name.
        plate: String,
    },
    /// Too near the floor.
    MouthClose {
        /// Gap.
        gap: f64,
        /// Least.
        least: f64,
    },
    /// Far from the floor.
    MouthFar {
        /// Gap.
        gap: f64,
        /// Most.
        most: f64,
    },
    /// A plate that is no flat figure.
    Plate(PlateFault),
    /// A plate that stands nowhere in the cavity.
    PlateOutside,
    /// An opening without size.
    OpeningWithoutSize {
        /// Which, from 0.
        opening: usize,
    },
    /// An opening that misses its plate.
    OpeningOffPlate {
        /// Which, from 0.
        opening: usize,
        /// Share of its area that lies beside the plate.
        share: f64,
    },
    /// A door on no plate.
    DoorWithoutPlate {
        /// As given.
        plate: usize,
    },
    /// A door without size, mass or stop.
    DoorFigures {
        /// Which figure.
        figure: &'static str,
        /// As given, SI.
        value: f64,
    },
    /// A door that reaches over the edge of its plate or round a corner of its wall.
    DoorOffPlate {
        /// Share of its area that lies off the flat piece that it hangs on.
        share: f64,
        /// Name of the plate.
        plate: String,
    },
    /// A door outside the cavity.
    DoorOutside,
    /// A door over a hole: the hole would stay open behind the shut door.
    DoorOverOpening {
        /// Which opening of its plate, from 0.
        opening: usize,
    },
    /// Two doors on one place.
    DoorsOverlap {
        /// Name of the other.
        other: String,
    },
    /// A stop so wide that the door shuts late.
    WideStop {
        /// Stop.
        stop: f64,
    },
    /// A door that runs into something before its stop.
    DoorStrikes {
        /// What it runs into.
        what: String,
        /// At this angle.
        angle: f64,
        /// Before this stop.
        stop: f64,
    },
    /// A return place outside the cavity.
    ReturnOutside,
    /// Oil from a return place has no way to the mouth even with all doors open.
    DrainBlocked,
    /// A part of the cavity that oil cannot leave for the mouth by any opening or door.
    Unreachable {
        /// Its volume.
        volume: f64,
        /// Its middle.
        centre: DVec3,
    },
    /// The sweep runs through the pan.
    CrankStrikesPan {
        /// A place outside the cavity.
        at: DVec3,
    },
    /// The sweep runs through a plate.
    CrankStrikesPlate {
        /// The plate's name.
        plate: String,
        /// How deep.
        depth: f64,
    },
    /// Little room under the sweep.
    CrankClose {
        /// What it is close to.
        what: String,
        /// Gap.
        gap: f64,
    },
    /// The parts are sound but no lattice can be made of them.
    Lattice(LatticeFault),
}

impl PanFault {
    /// How bad.
    pub fn severity(&self) -> Severity {
        match &self.trouble {
            Trouble::NoBlockSpace
            | Trouble::MeshTurned
            | Trouble::MouthClose { .. }
            | Trouble::MouthFar { .. }
            | Trouble::WideStop { .. }
            | Trouble::Unreachable { .. }
            | Trouble::CrankStrikesPan { .. }
            | Trouble::CrankStrikesPlate { .. }
            | Trouble::CrankClose { .. } => Severity::Warning,
            Trouble::OpeningOffPlate { share, .. } if *share < 1.0 - 1e-6 => Severity::Warning,
            _ => Severity::Fault,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match &self.trouble {
            Trouble::CavityInPieces { .. } => {
                "let the pockets overlap or share a face; pockets that meet only along an edge are not joined"
            }
            Trouble::NothingBelowFlange => {
                "heights are measured from the flange, z up: the pan's floor has a negative z"
            }
            Trouble::ShutAtFlange => {
                "let a pan pocket end at z = 0 and a block pocket begin there, one over the other"
            }
            Trouble::NoBlockSpace => {
                "add a pocket for the block's space above the flange, or oil cannot climb above it"
            }
            Trouble::MeshTurned => "nothing need be done; the mesh was turned right side out",
            Trouble::NotANumber => {
                "give places and sizes as numbers with units, sizes above zero; crank stations must rise"
            }
            Trouble::MouthOutside => "move the mouth into the cavity",
            Trouble::MouthInWall => "move the mouth away from the wall, or lift it off the floor",
            Trouble::MouthInPlate { .. } => "move the mouth or the plate",
            Trouble::MouthClose { .. } => "raise the mouth; 6 to 13 mm over the floor is usual",
            Trouble::MouthFar { .. } => {
                "lower the mouth unless something must pass beneath it; 6 to 13 mm over the floor is usual"
            }
            Trouble::Plate(fault) => match fault {
                PlateFault::NotFlat { .. } => "give corners on one plane, or split the sheet at its bend",
                PlateFault::NoPath => {
                    "give the wall a path of at least two points, each different from the one before"
                }
                PlateFault::NoHeight { .. } => "let the upper edge lie above the lower",
                PlateFault::Perforation { .. } => {
                    "give the open fraction of the perforated plate, 0 for a solid one"
                }
                PlateFault::PerforationHole { .. } => "give the diameter of the perforation's holes",
                PlateFault::Outline(_) => {
                    "go once round the plate, corner by corner, without crossing the line"
                }
                PlateFault::NotANumber => "give numbers with units",
            },
            Trouble::PlateOutside => "check its place, and the sign of z: the pan lies below z = 0",
            Trouble::OpeningWithoutSize { .. } => "give the opening a size above zero, or leave it out",
            Trouble::OpeningOffPlate { .. } => {
                "openings are placed in the plate's own coordinates: along the path and z for a wall, x and y for a shelf"
            }
            Trouble::DoorWithoutPlate { .. } => "name a plate that exists",
            Trouble::DoorFigures { .. } => {
                "a door needs a size, a mass and a density above zero, a stop between 0 and 180 degrees, a gap well under its size, and springs of zero or more"
            }
            Trouble::DoorOffPlate { .. } => {
                "make the door smaller or move it; it must lie within one flat stretch of its plate"
            }
            Trouble::DoorOutside => "move the door to where its plate stands in the oil's space",
            Trouble::DoorOverOpening { .. } => "leave out the hole: a door brings its own opening",
            Trouble::DoorsOverlap { .. } => "move one of the doors",
            Trouble::WideStop { .. } => "stop the door at about 60 degrees; opened wider it shuts late",
            Trouble::DoorStrikes { .. } => {
                "lessen the stop angle, hang it on another edge, or let it open the other way"
            }
            Trouble::ReturnOutside => "move the return place to where the oil falls into the cavity",
            Trouble::DrainBlocked => "give the plates in its way drain holes, slots or a gap at the edge",
            Trouble::Unreachable { .. } => {
                "open a way for the oil, or leave the sealed part out of the cavity"
            }
            Trouble::CrankStrikesPan { .. } => {
                "deepen or widen the pan there, or check the sweep's radius and height"
            }
            Trouble::CrankStrikesPlate { .. } => "lower the plate or cut it back",
            Trouble::CrankClose { .. } => "check the clearance with clay, gasket thickness included",
            Trouble::Lattice(_) => "see the message",
        }
    }
}

impl std::fmt::Display for PanFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mm = |v: f64| format!("{:.1} mm", v * 1e3);
        let deg = |v: f64| format!("{:.0} degrees", v.to_degrees());
        let litres = |v: f64| format!("{:.3} L", v * 1e3);
        let at = |p: DVec3| format!("({:.0}, {:.0}, {:.0}) mm", p.x * 1e3, p.y * 1e3, p.z * 1e3);
        let who = match self.part {
            Part::Pocket(_) => format!("pocket \"{}\"", self.name),
            Part::Plate(_) => format!("plate \"{}\"", self.name),
            Part::Door(_) => format!("door \"{}\"", self.name),
            Part::Return(_) => format!("return place \"{}\"", self.name),
            Part::Mouth => "the pickup mouth".into(),
            Part::Crank => "the crank sweep".into(),
            Part::Mesh => "the mesh".into(),
            Part::Cavity => "the cavity".into(),
        };
        match &self.trouble {
            Trouble::CavityInPieces { volumes } => {
                let parts: Vec<String> = volumes.iter().map(|v| litres(*v)).collect();
                write!(
                    f,
                    "{who} falls into {} pieces that are not joined: {}",
                    volumes.len(),
                    parts.join(", ")
                )
            }
            Trouble::NothingBelowFlange => write!(f, "{who} has nothing below the flange (z = 0)"),
            Trouble::ShutAtFlange => write!(
                f,
                "{who} is shut at the flange: pan and block space are not joined at z = 0"
            ),
            Trouble::NoBlockSpace => write!(
                f,
                "{who} ends at the flange: there is no block space for oil to climb into"
            ),
            Trouble::MeshTurned => write!(f, "{who} was inside out"),
            Trouble::NotANumber => write!(f, "{who} has a place or size that is not a usable number"),
            Trouble::MouthOutside => write!(f, "{who} is not inside the cavity"),
            Trouble::MouthInWall => write!(f, "{who} reaches into a wall or the floor with its rim"),
            Trouble::MouthInPlate { plate } => write!(f, "{who} is cut by plate \"{plate}\""),
            Trouble::MouthClose { gap, least } => {
                write!(
                    f,
                    "{who} stands {} over the floor; under {} the ring round its rim is less than half the bore",
                    mm(*gap),
                    mm(*least)
                )
            }
            Trouble::MouthFar { gap, most } => {
                write!(
                    f,
                    "{who} stands {} over the floor, more than {}: the oil below it is of no use",
                    mm(*gap),
                    mm(*most)
                )
            }
            Trouble::Plate(fault) => write!(f, "{who} {fault}"),
            Trouble::PlateOutside => write!(f, "{who} lies wholly outside the cavity"),
            Trouble::OpeningWithoutSize { opening } => {
                write!(f, "{who}: opening {} has no size", opening + 1)
            }
            Trouble::OpeningOffPlate { opening, share } => {
                write!(
                    f,
                    "{who}: {:.0} % of opening {} lies beside the plate",
                    share * 100.0,
                    opening + 1
                )
            }
            Trouble::DoorWithoutPlate { .. } => write!(f, "{who} hangs on a plate that does not exist"),
            Trouble::DoorFigures { figure, value } => write!(f, "{who} has a {figure} of {value}"),
            Trouble::DoorOffPlate { share, plate } => {
                write!(
                    f,
                    "{who} is larger than its place: {:.0} % of it lies off the flat stretch of plate \"{plate}\" it hangs on",
                    share * 100.0
                )
            }
            Trouble::DoorOutside => write!(f, "{who} lies outside the cavity"),
            Trouble::DoorOverOpening { opening } => {
                write!(
                    f,
                    "{who} lies over opening {} of its plate, which would stay open behind it",
                    opening + 1
                )
            }
            Trouble::DoorsOverlap { other } => write!(f, "{who} overlaps door \"{other}\""),
            Trouble::WideStop { stop } => write!(f, "{who} opens to {}", deg(*stop)),
            Trouble::DoorStrikes { what, angle, stop } => {
                write!(
                    f,
                    "{who} runs into {what} at {}, before its stop at {}",
                    deg(*angle),
                    deg(*stop)
                )
            }
            Trouble::ReturnOutside => write!(f, "{who} is not inside the cavity"),
            Trouble::DrainBlocked => write!(
                f,
                "oil from {who} has no way to the pickup mouth, even with every door open"
            ),
            Trouble::Unreachable { volume, centre } => {
                write!(
                    f,
                    "{} of {who} round {} has no way to the pickup mouth",
                    litres(*volume),
                    at(*centre)
                )
            }
            Trouble::CrankStrikesPan { at: p } => {
                write!(f, "{who} leaves the cavity below the flange, first at {}", at(*p))
            }
            Trouble::CrankStrikesPlate { plate, depth } => {
                write!(f, "{who} runs {} into plate \"{plate}\"", mm(*depth))
            }
            Trouble::CrankClose { what, gap } => write!(f, "{who} clears {what} by only {}", mm(*gap)),
            Trouble::Lattice(fault) => write!(f, "{fault}"),
        }
    }
}
