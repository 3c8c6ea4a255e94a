//! How the plates and doors of a design are made of sheet, in SI.

use glam::DVec3;
use shop::sheet::door::Hanging;
use shop::sheet::{Edge, Fasten, Metal};

use crate::fault::Place;

/// How plates and doors are made of sheet.
#[derive(Clone, Debug)]
pub struct SheetShop {
    /// Where the section begins.
    pub place: Place,
    /// Left between an edge and what it meets [m].
    pub gap: f64,
    /// Opening of the brake's V die [m], when stated.
    pub die: Option<f64>,
    /// What holds the doors.
    pub hanging: Hanging,
    /// Every plate of the design, in its order.
    pub plates: Vec<PlateWork>,
    /// Every door of the design, in its order.
    pub doors: Vec<DoorWork>,
}

/// How one plate is made.
#[derive(Clone, Debug)]
pub struct PlateWork {
    /// Where it is stated: its own entry, or the section.
    pub place: Place,
    /// Whether it is made at all.
    pub make: bool,
    /// Metal.
    pub metal: Metal,
    /// Inside radius of bends [m], when stated.
    pub radius: Option<f64>,
    /// Edges with a tab.
    pub tabs: Vec<Edge>,
    /// Outside width of tabs [m].
    pub tab: f64,
    /// Way in the pan to which tabs turn, when stated.
    pub toward: Option<DVec3>,
    /// What holds the tabs.
    pub fasten: Fasten,
}

/// How one door is made.
#[derive(Clone, Debug)]
pub struct DoorWork {
    /// Where it is stated: its own entry, or the section.
    pub place: Place,
    /// Whether it is made at all.
    pub make: bool,
    /// Metal.
    pub metal: Metal,
}
