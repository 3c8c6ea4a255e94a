//! The design file: read it with its bases, place every fault at file:line:key, hand on plain data.
//!
//! [`read`] gives a [`Design`] or every fault at once. What a design is driven over stays a [`DrivePlan`] until it
//! is asked for, because a log may be large and a user may want another one. [`read_any`] also takes an
//! [`Experiment`]: a tank in a laboratory, by the same format.
//!
//! The format is TOML; `docs` and the starter ([`starter`]) describe its sections. Rules that hold throughout:
//! quantities are text with a unit ("35 mm", "1-3/8 in"), a key that is not known is a fault, and every default
//! is listed among the inputs with its reason.
//!
//! [`read_study`] reads a study: one design with what varies in it, and hands out its variants, read as any design.
//!
//! This crate may open files. It knows no terminal and no solver.

mod assembly;
mod cards;
mod checks;
mod design;
mod experiment;
mod fault;
mod gasket;
mod glance;
mod inherit;
mod input;
mod look;
mod outlines;
mod plan;
mod reference;
mod sealing;
mod section;
mod sections;
mod sheet_work;
mod shop;
mod solids;
mod sources;
mod starter;
mod study;
mod surroundings;
mod time;
mod tree;

pub use assembly::{FORMAT, read, read_from};
pub use cards::{CardsPlan, Fit, Stick, Weld};
pub use design::{Allowance, Design, Engine, Feed, OilUse, ReadFile};
pub use experiment::{Experiment, Job, Start, read_any, read_any_from};
pub use fault::{Fault, Place};
pub use gasket::{Drawn, Gasket};
pub use glance::{Glance, glance};
pub use input::{InputLine, Origin};
pub use look::{LogRequest, look_at_log};
pub use outlines::{OutlineLook, look_at_outline};
pub use plan::{Car, DrivePlan, NamedFile};
pub use reference::{FileKind, Key, keys, meaning, schema};
pub use sealing::{BoltSet, Face, JointKind, Sealing};
pub use section::{Need, Shape};
pub use sheet_work::{DoorWork, PlateWork, SheetShop};
pub use shop::Shop;
pub use solids::{LookedAt, NamedSolid, look_at_solid};
pub use sources::{DESIGN_LIMIT, LOG_LIMIT, MESH_LIMIT, OUTLINE_LIMIT, Sources};
pub use starter::{StarterFile, starter};
pub use study::{Asks, Changeable, Changed, Level, Study, StudyInput, Values, Written, read_study};
pub use surroundings::Clearances;
pub use time::{Route, TimePlan};
