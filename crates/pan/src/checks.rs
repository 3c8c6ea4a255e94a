//! What is wrong, or doubtful, with a pan: all of it at once, each with the part, the figures and the cure.

use crate::door_swing::{Struck, strike};
use crate::faults::{PanFault, Severity, Trouble};
use crate::panel::Panel;
use crate::polygon::LARGEST_COORDINATE;
use crate::reach::{self, Sealed};
use crate::stack::Stack;
use crate::{Cavity, CrankSweep, Door, LatticeFault, Opening, Pan, Part, Plate, Region, ReturnPlace, Tank};
use glam::{DVec2, DVec3};

/// A mouth nearer to the floor than this part of its bore is throttled: the ring between rim and floor, π D h,
/// is then less than half of the bore, π D²/4.
const CLOSEST_MOUTH: f64 = 0.125;
/// A mouth higher than this over the floor leaves oil it could use [m]. Workshops go 6 to 13 mm (common
/// practice, no source); half as much again before it is worth a word.
const FARTHEST_MOUTH: f64 = 0.020;
/// Doors that open wider than this shut late [rad]: about 60 degrees is usual (trade writing, single account),
/// 75 leaves room for choice.
const WIDEST_STOP: f64 = 75.0 * std::f64::consts::PI / 180.0;
/// Least clearance under the crank sweep before it is worth a word [m] (common practice, no source: about 3 mm
/// over the rod bolts).
const CRANK_CLEARANCE: f64 = 3e-3;
/// Plates may stand nearer to the sweep: scrapers do, at 1 to 2 mm (common practice, no source).
const SCRAPER_CLEARANCE: f64 = 1e-3;
/// Areas and lengths under these are rounding.
const HAIR: f64 = 1e-6;

impl Pan {
    /// Everything wrong or doubtful, faults before warnings.
    pub fn check(&self) -> Vec<PanFault> {
        let mut c = Checker::new(&self.cavity, &self.plates, &self.doors, &self.returns);
        c.cavity();
        c.plates();
        c.doors();
        c.mouth(self);
        c.returns();
        c.crank(self.crank.as_ref());
        if c.found.iter().all(|f| f.severity() == Severity::Warning) {
            c.ways(self);
        }
        c.found.sort_by_key(|f| f.severity());
        c.found
    }
}

impl Tank {
    /// Everything wrong or doubtful, faults before warnings. What makes a pan of a tank (flange, mouth, returns,
    /// crank) is not asked for.
    pub fn check(&self) -> Vec<PanFault> {
        let mut c = Checker::new(&self.cavity, &self.plates, &self.doors, &[]);
        c.in_one_piece();
        c.plates();
        c.doors();
        c.found.sort_by_key(|f| f.severity());
        c.found
    }
}

struct Checker<'a> {
    cavity: &'a Cavity,
    plates: &'a [Plate],
    doors: &'a [Door],
    returns: &'a [ReturnPlace],
    panels: Vec<Vec<Panel>>,
    stack: std::borrow::Cow<'a, Stack>,
    found: Vec<PanFault>,
}

impl<'a> Checker<'a> {
    fn new(
        cavity: &'a Cavity,
        plates: &'a [Plate],
        doors: &'a [Door],
        returns: &'a [ReturnPlace],
    ) -> Checker<'a> {
        Checker {
            cavity,
            plates,
            doors,
            returns,
            panels: plates.iter().map(|p| p.panels()).collect(),
            // Slices of a millimetre find any passage that oil would use.
            stack: cavity.layers(1e-3),
            found: Vec::new(),
        }
    }

    fn say(&mut self, part: Part, trouble: Trouble) {
        let name = match part {
            Part::Plate(i) => self.plates[i].name.clone(),
            Part::Door(i) => self.doors[i].name.clone(),
            Part::Return(i) => self.returns[i].name.clone(),
            Part::Pocket(i) => self
                .cavity
                .pockets()
                .get(i)
                .map_or(String::new(), |p| p.name.clone()),
            Part::Mouth | Part::Crank | Part::Mesh | Part::Cavity => String::new(),
        };
        self.found.push(PanFault { part, name, trouble });
    }

    fn cavity(&mut self) {
        let cavity = self.cavity;
        let (low, high) = cavity.bounds();
        if low.z >= -HAIR {
            self.say(Part::Cavity, Trouble::NothingBelowFlange);
        } else if high.z <= HAIR {
            self.say(Part::Cavity, Trouble::NoBlockSpace);
        } else if cavity.plane_section(DVec3::ZERO, DVec3::X, DVec3::Y).is_empty() {
            self.say(Part::Cavity, Trouble::ShutAtFlange);
            return;
        }
        self.in_one_piece();
    }

    fn in_one_piece(&mut self) {
        if self.cavity.was_inside_out() {
            self.say(Part::Mesh, Trouble::MeshTurned);
        }
        let volumes = self.stack.pieces();
        if volumes.len() > 1 {
            self.say(Part::Cavity, Trouble::CavityInPieces { volumes });
        }
    }

    fn plates(&mut self) {
        for (i, plate) in self.plates.iter().enumerate() {
            let part = Part::Plate(i);
            if let Some(fault) = plate.fault() {
                self.say(part, Trouble::Plate(fault));
                continue;
            }
            let inside = |p: &Panel| {
                let section = self.cavity.plane_section(p.origin, p.u, p.v);
                p.outline.intersection(&section).area() > HAIR
            };
            if !self.panels[i].iter().any(inside) {
                self.say(part, Trouble::PlateOutside);
            }
            let whole = Region::union_of(self.panels[i].iter().map(|p| &p.outline));
            for (n, opening) in plate.openings.iter().enumerate() {
                if !opening.has_size() {
                    self.say(part, Trouble::OpeningWithoutSize { opening: n });
                    continue;
                }
                let region = opening.region();
                let share = region.difference(&whole).area() / region.area();
                // A notch is meant to reach over the edge.
                let allowed = if matches!(opening, Opening::Notch { .. }) {
                    1.0 - 1e-6
                } else {
                    1e-6
                };
                if share > allowed {
                    self.say(part, Trouble::OpeningOffPlate { opening: n, share });
                }
            }
        }
    }

    fn doors(&mut self) {
        for (i, door) in self.doors.iter().enumerate() {
            let part = Part::Door(i);
            if door.plate >= self.plates.len() {
                self.say(part, Trouble::DoorWithoutPlate { plate: door.plate });
                continue;
            }
            if let Some((figure, value)) = bad_figure(door) {
                self.say(part, Trouble::DoorFigures { figure, value });
                continue;
            }
            let panels = self.panels.clone();
            let Some(panel) = door.panel(&panels[door.plate]) else {
                continue;
            };
            let (low, high) = door.corners();
            let opening = Region::rectangle(low, high);
            let share = opening.difference(&panel.outline).area() / door.area();
            if share > 1e-6 {
                let plate = self.plates[door.plate].name.clone();
                self.say(part, Trouble::DoorOffPlate { share, plate });
                continue;
            }
            for (n, o) in self.plates[door.plate].openings.iter().enumerate() {
                if o.has_size() && opening.intersection(&o.region()).area() > HAIR {
                    self.say(part, Trouble::DoorOverOpening { opening: n });
                }
            }
            for other in self.doors[..i].iter().filter(|o| o.plate == door.plate) {
                let (a, b) = other.corners();
                if opening.intersection(&Region::rectangle(a, b)).area() > HAIR {
                    self.say(
                        part,
                        Trouble::DoorsOverlap {
                            other: other.name.clone(),
                        },
                    );
                }
            }
            if !self.cavity.contains(panel.point(0.5 * (low + high))) {
                self.say(part, Trouble::DoorOutside);
                continue;
            }
            if door.stop > WIDEST_STOP {
                self.say(part, Trouble::WideStop { stop: door.stop });
            }
            if let Some((angle, struck)) = strike(self.cavity, &panels, door, panel) {
                let what = match struck {
                    Struck::Cavity => "the wall or floor of the pan".to_string(),
                    Struck::Plate(p) => format!("plate \"{}\"", self.plates[p].name),
                };
                self.say(
                    part,
                    Trouble::DoorStrikes {
                        what,
                        angle,
                        stop: door.stop,
                    },
                );
            }
        }
    }

    fn mouth(&mut self, pan: &Pan) {
        let m = pan.mouth;
        if !(m.at.is_finite() && m.diameter > 0.0 && m.diameter < LARGEST_COORDINATE) {
            self.say(Part::Mouth, Trouble::NotANumber);
            return;
        }
        if !self.cavity.contains(m.at) {
            self.say(Part::Mouth, Trouble::MouthOutside);
            return;
        }
        for i in 0..self.panels.len() {
            if self.panels[i]
                .iter()
                .any(|p| cuts_mouth(p, m.at, 0.5 * m.diameter))
            {
                let plate = self.plates[i].name.clone();
                self.say(Part::Mouth, Trouble::MouthInPlate { plate });
            }
        }
        let Some(gap) = pan.mouth_over_floor() else {
            self.say(Part::Mouth, Trouble::MouthInWall);
            return;
        };
        let least = CLOSEST_MOUTH * m.diameter;
        if gap < least {
            self.say(Part::Mouth, Trouble::MouthClose { gap, least });
        } else if gap > FARTHEST_MOUTH {
            self.say(
                Part::Mouth,
                Trouble::MouthFar {
                    gap,
                    most: FARTHEST_MOUTH,
                },
            );
        }
    }

    fn returns(&mut self) {
        for (i, r) in self.returns.iter().enumerate() {
            if !(r.at.is_finite() && r.diameter > 0.0 && r.diameter < LARGEST_COORDINATE) {
                self.say(Part::Return(i), Trouble::NotANumber);
            } else if !self.cavity.contains(r.at) {
                self.say(Part::Return(i), Trouble::ReturnOutside);
            }
        }
    }

    fn crank(&mut self, sweep: Option<&CrankSweep>) {
        let Some(sweep) = sweep else { return };
        if !sweep.is_usable() {
            self.say(Part::Crank, Trouble::NotANumber);
            return;
        }
        let mut least: Option<f64> = None;
        let mut outside = None;
        for p in sweep.skin().filter(|p| p.z < 0.0) {
            match self.stack.floor_under(p) {
                Some(floor) => least = Some(least.map_or(p.z - floor, |l: f64| l.min(p.z - floor))),
                None => outside = outside.or(Some(p)),
            }
        }
        if let Some(at) = outside {
            self.say(Part::Crank, Trouble::CrankStrikesPan { at });
        } else if let Some(gap) = least.filter(|g| *g < CRANK_CLEARANCE) {
            self.say(
                Part::Crank,
                Trouble::CrankClose {
                    what: "the floor".into(),
                    gap,
                },
            );
        }
        for i in 0..self.panels.len() {
            let gap = self.panels[i]
                .iter()
                .flat_map(|p| places(p, 4e-3))
                .filter_map(|p| sweep.clearance(p));
            let Some(gap) = gap.min_by(f64::total_cmp) else {
                continue;
            };
            let plate = self.plates[i].name.clone();
            if gap < 0.0 {
                self.say(Part::Crank, Trouble::CrankStrikesPlate { plate, depth: -gap });
            } else if gap < SCRAPER_CLEARANCE {
                self.say(
                    Part::Crank,
                    Trouble::CrankClose {
                        what: format!("plate \"{plate}\""),
                        gap,
                    },
                );
            }
        }
    }

    /// Ways for the oil, on a lattice of its own.
    fn ways(&mut self, pan: &Pan) {
        match reach::ways(pan) {
            Err(fault) => {
                let part = match &fault {
                    LatticeFault::MouthOutside => Part::Mouth,
                    LatticeFault::ReturnOutside { index, .. } => Part::Return(*index),
                    LatticeFault::Part { part, .. } => *part,
                    _ => Part::Cavity,
                };
                self.say(part, Trouble::Lattice(fault));
            }
            Ok(ways) => {
                for i in ways.blocked_returns {
                    self.say(Part::Return(i), Trouble::DrainBlocked);
                }
                for Sealed { volume, centre } in ways.sealed {
                    self.say(Part::Cavity, Trouble::Unreachable { volume, centre });
                }
            }
        }
    }
}

/// The first figure of a door that is no usable number.
fn bad_figure(door: &Door) -> Option<(&'static str, f64)> {
    let (low, high) = door.corners();
    let size = high - low;
    let bad = |v: f64| !v.is_finite() || v.abs() > LARGEST_COORDINATE;
    if bad(size.x) || size.x <= 0.0 {
        return Some(("width", size.x));
    }
    if bad(size.y) || size.y <= 0.0 {
        return Some(("height", size.y));
    }
    if bad(door.mass) || door.mass <= 0.0 {
        return Some(("mass", door.mass));
    }
    if bad(door.stop) || door.stop <= 0.0 || door.stop > std::f64::consts::PI {
        return Some(("stop angle", door.stop));
    }
    if bad(door.gap) || door.gap < 0.0 || door.gap > 0.25 * size.min_element() {
        return Some(("gap", door.gap));
    }
    if !(door.density > 0.0 && door.density.is_finite()) {
        return Some(("density", door.density));
    }
    if let Some(spring) = door.spring.iter().find(|t| !(**t >= 0.0 && t.is_finite())) {
        return Some(("spring torque", *spring));
    }
    None
}

/// True when a panel comes into the disc of the mouth.
fn cuts_mouth(panel: &Panel, at: DVec3, radius: f64) -> bool {
    let solid = |p: DVec2| panel.outline.contains(p) && !panel.openings.contains(p);
    let level = panel.height(at).abs() < 0.5e-3 && solid(panel.plate_coordinates(at));
    let side = |i: usize| DVec2::from_angle(i as f64 * std::f64::consts::PI / 12.0).extend(0.0) * radius;
    level || (0..24).any(|i| panel.crossing(at, at + side(i)).is_some_and(solid))
}

/// Points of a panel's solid part about `step` apart.
fn places(panel: &Panel, step: f64) -> impl Iterator<Item = DVec3> + '_ {
    let (low, high) = panel.outline.bounds().unwrap_or_default();
    let count = |s: f64| (s / step).ceil().clamp(1.0, 500.0) as usize;
    let (nu, nv) = (count(high.x - low.x), count(high.y - low.y));
    let solid = panel.solid();
    (0..=nu)
        .flat_map(move |i| (0..=nv).map(move |j| (i, j)))
        .filter_map(move |(i, j)| {
            let share = DVec2::new(i as f64 / nu as f64, j as f64 / nv as f64);
            let at = low + (high - low) * share;
            // Corners and edges count as plate.
            let on_edge = || solid.nearest_on_edge(at).is_some_and(|n| n.distance(at) < HAIR);
            (solid.contains(at) || on_edge()).then(|| panel.point(at))
        })
}

impl CrankSweep {
    /// True when stations rise, radii are not negative, and the axis is a unit vector.
    pub fn is_usable(&self) -> bool {
        let good = |v: f64| v.is_finite() && v.abs() < LARGEST_COORDINATE;
        self.origin.is_finite()
            && self.axis.is_normalized()
            && self.profile.len() >= 2
            && self
                .profile
                .iter()
                .all(|(s, r)| good(*s) && good(*r) && *r >= 0.0)
            && self.profile.windows(2).all(|w| w[0].0 <= w[1].0)
            && self.profile[0].0 < self.profile[self.profile.len() - 1].0
    }

    /// Distance of a point from the sweep, measured square to the axis [m], negative inside; `None` beyond its
    /// ends.
    pub fn clearance(&self, p: DVec3) -> Option<f64> {
        let from = p - self.origin;
        let station = from.dot(self.axis);
        self.radius_at(station)
            .map(|r| (from - self.axis * station).length() - r)
    }

    /// Points a hair inside the swept surface, 5 mm and 5 degrees apart: a sweep that ends at the pan's wall
    /// does not strike it.
    fn skin(&self) -> impl Iterator<Item = DVec3> + '_ {
        let (u, v) = self.axis.any_orthonormal_pair();
        let hair = 1e-4;
        let (first, last) = (
            self.profile[0].0 + hair,
            self.profile[self.profile.len() - 1].0 - hair,
        );
        let steps = ((last - first) / 5e-3).ceil().clamp(1.0, 2000.0) as usize;
        (0..=steps).flat_map(move |i| {
            let s = first + (last - first) * i as f64 / steps as f64;
            let r = (self.radius_at(s).unwrap_or(0.0) - hair).max(0.0);
            (0..72).map(move |k| {
                let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 72.0).sin_cos();
                self.origin + self.axis * s + r * (u * cos + v * sin)
            })
        })
    }
}
