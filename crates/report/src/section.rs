//! Cuts through the pan with the oil in them: plain shapes in view coordinates, ready to be drawn.

use glam::{DVec2, DVec3};
use measure::STANDARD_GRAVITY;
use pan::panel::{Flap, Panel};
use pan::{Door, Lattice, Pan, Region};

/// From where the pan is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Upright cut along the crank through the mouth, seen from the right: engine front to the right, up is up.
    Along,
    /// Upright cut across the crank through the mouth, seen from the rear: left on the left, up is up.
    Across,
    /// Level cut at the height of the mouth, seen from above: engine front to the right, left is up.
    Plan,
}

/// One cut. All coordinates are view coordinates [m]: (to the right, up on the paper).
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// From where.
    pub view: View,
    /// Cut edges of the cavity: closed loops.
    pub walls: Vec<Vec<[f64; 2]>>,
    /// Plates that the cut meets: name and the line in which it meets them.
    pub plates: Vec<CutPlate>,
    /// Outlines of parts that the cut does not meet, drawn dashed: shelves in the plan.
    pub hidden: Vec<Vec<[f64; 2]>>,
    /// Doors, in their position at that instant.
    pub doors: Vec<CutDoor>,
    /// Centre of the mouth.
    pub mouth: [f64; 2],
    /// Bore at the mouth [m].
    pub mouth_diameter: f64,
    /// The oil.
    pub oil: OilCells,
    /// Direction of apparent gravity in the view, with its size in g.
    pub down: [f64; 2],
}

/// A plate met by a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutPlate {
    /// Name.
    pub name: String,
    /// One end.
    pub from: [f64; 2],
    /// Other end.
    pub to: [f64; 2],
}

/// A door met by a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutDoor {
    /// Name.
    pub name: String,
    /// Corners of the flap at its angle, or the line in which the cut meets it.
    pub flap: [[f64; 2]; 2],
    /// Foot and tip of the arrow for the way it opens.
    pub arrow: [[f64; 2]; 2],
    /// Opening angle [rad].
    pub angle: f64,
}

/// Oil in the cells that the cut passes through.
#[derive(Clone, Debug, PartialEq)]
pub struct OilCells {
    /// Low corner of cell (0, 0).
    pub origin: [f64; 2],
    /// Cell edge [m].
    pub cell: f64,
    /// Cells to the right and up.
    pub n: [usize; 2],
    /// Oil share of the open part, `fill[u + n[0]*v]`, 0..255; 0 in metal.
    pub fill: Vec<u8>,
    /// Whether a cell has any open part; same order.
    pub open: Vec<bool>,
}

/// Why a pan cannot be cut.
#[derive(Clone, Debug, PartialEq)]
pub enum SectionFault {
    /// A list does not have one entry for each cell or door.
    WrongLength {
        /// Which list.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The length due.
        due: usize,
    },
}

impl std::fmt::Display for SectionFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let SectionFault::WrongLength { what, found, due } = self;
        write!(
            f,
            "a section's {what} has {found} entries, {due} are due; this is a fault of the program"
        )
    }
}

impl std::error::Error for SectionFault {}

/// The three cuts through the mouth with the oil of one instant.
///
/// `fill` is the oil share of each cell's open volume, 0..255, in the lattice's order; `doors` the opening
/// angles [rad]; `gravity` the apparent gravity, pan frame [m/s²].
pub fn through_mouth(
    pan: &Pan,
    lattice: &Lattice,
    fill: &[u8],
    doors: &[f64],
    gravity: DVec3,
) -> Result<Vec<Section>, SectionFault> {
    let due = |what, found, due| {
        if found == due {
            Ok(())
        } else {
            Err(SectionFault::WrongLength { what, found, due })
        }
    };
    due("fill", fill.len(), lattice.cells())?;
    due("doors", doors.len(), pan.doors.len())?;
    let panels: Vec<Vec<Panel>> = pan.plates.iter().map(|p| p.panels()).collect();
    Ok([View::Along, View::Across, View::Plan]
        .map(|view| {
            let eye = Eye::of(view, pan.mouth.at);
            Section {
                view,
                walls: walls(pan, &eye),
                plates: cut_plates(pan, &panels, &eye),
                hidden: hidden(pan, &eye),
                doors: cut_doors(pan, &panels, doors, &eye),
                mouth: eye.seen(pan.mouth.at),
                mouth_diameter: pan.mouth.diameter,
                oil: oil(lattice, fill, &eye),
                down: eye.turned(gravity / STANDARD_GRAVITY),
            }
        })
        .into())
}

/// The plates that a cut through the mouth meets, openings left out.
pub fn plates_met(pan: &Pan, view: View) -> Vec<CutPlate> {
    let panels: Vec<Vec<Panel>> = pan.plates.iter().map(|p| p.panels()).collect();
    cut_plates(pan, &panels, &Eye::of(view, pan.mouth.at))
}

/// A cutting plane with the two directions of the paper.
struct Eye {
    view: View,
    /// A point of the plane.
    at: DVec3,
    /// To the right on paper.
    right: DVec3,
    /// Up on paper.
    up: DVec3,
}

impl Eye {
    fn of(view: View, at: DVec3) -> Eye {
        let (right, up) = match view {
            View::Along => (DVec3::X, DVec3::Z),
            View::Across => (-DVec3::Y, DVec3::Z),
            View::Plan => (DVec3::X, DVec3::Y),
        };
        Eye { view, at, right, up }
    }

    fn turned(&self, v: DVec3) -> [f64; 2] {
        [v.dot(self.right), v.dot(self.up)]
    }

    fn seen(&self, p: DVec3) -> [f64; 2] {
        self.turned(p)
    }

    /// Distance in front of the plane.
    fn height(&self, p: DVec3) -> f64 {
        (p - self.at).dot(self.right.cross(self.up))
    }
}

fn walls(pan: &Pan, eye: &Eye) -> Vec<Vec<[f64; 2]>> {
    let shift = eye.at.dot(eye.right);
    let region = match eye.view {
        View::Plan => pan.cavity.level_section(eye.at.z),
        View::Along | View::Across => pan
            .cavity
            .upright_section(eye.at.truncate(), eye.right.truncate()),
    };
    let moved = |p: &DVec2| match eye.view {
        View::Plan => [p.x, p.y],
        View::Along | View::Across => [p.x + shift, p.y],
    };
    region.loops().map(|l| l.iter().map(moved).collect()).collect()
}

fn cut_plates(pan: &Pan, panels: &[Vec<Panel>], eye: &Eye) -> Vec<CutPlate> {
    let normal = eye.right.cross(eye.up);
    let mut list = Vec::new();
    for (index, plate) in pan.plates.iter().enumerate() {
        for panel in &panels[index] {
            let along = panel.normal.cross(normal);
            let Some(along) = along.try_normalize().filter(|_| along.length() > 1e-3) else {
                continue;
            };
            let Some((low, high)) = panel.outline.bounds() else {
                continue;
            };
            // From the panel's middle straight to the cutting plane, staying in the panel's plane.
            let middle = panel.point(0.5 * (low + high));
            let down = along.cross(panel.normal);
            let at = middle - down * (eye.height(middle) / down.dot(normal));
            let line = DVec2::new(along.dot(panel.u), along.dot(panel.v));
            let start = panel.plate_coordinates(at);
            for (a, b) in without_doors(&pan.doors, index, panel).chords(start, line) {
                let end = |s: f64| eye.seen(at + along * s);
                list.push(CutPlate {
                    name: plate.name.clone(),
                    from: end(a),
                    to: end(b),
                });
            }
        }
    }
    list
}

/// What is left of a panel when openings and door openings are out.
pub(crate) fn without_doors(doors: &[Door], plate: usize, panel: &Panel) -> Region {
    doors
        .iter()
        .filter(|d| d.plate == plate)
        .fold(panel.solid(), |left, door| {
            let (low, high) = door.corners();
            left.difference(&Region::rectangle(low, high))
        })
}

/// Parts that the cut does not meet but that matter: shelves in the plan, the crank sweep upright.
fn hidden(pan: &Pan, eye: &Eye) -> Vec<Vec<[f64; 2]>> {
    let mut list = Vec::new();
    if eye.view == View::Plan {
        for panel in pan
            .plates
            .iter()
            .flat_map(|p| p.panels())
            .filter(|p| p.normal.z.abs() > 0.7)
        {
            for l in panel.outline.loops() {
                list.push(l.iter().map(|p| eye.seen(panel.point(*p))).collect());
            }
        }
    } else if let Some(crank) = &pan.crank {
        let normal = eye.right.cross(eye.up);
        if crank.axis.dot(normal).abs() > 0.7 {
            // Seen along its axis: the circle it sweeps where it is cut.
            let station = (eye.at - crank.origin).dot(crank.axis);
            let centre = crank.origin + crank.axis * station;
            let radius = radius_at(&crank.profile, station);
            let round = (0..48).map(|i| {
                let turn = DVec2::from_angle(f64::from(i) * std::f64::consts::TAU / 48.0);
                eye.seen(centre + radius * (turn.x * eye.right + turn.y * eye.up))
            });
            list.push(round.collect());
        } else {
            let side = crank.axis.cross(normal).normalize_or(eye.up);
            let edge = |sign: f64| {
                crank
                    .profile
                    .iter()
                    .map(move |(s, r)| crank.origin + crank.axis * *s + side * (sign * r))
            };
            let there: Vec<_> = edge(1.0).map(|p| eye.seen(p)).collect();
            let back: Vec<_> = edge(-1.0).map(|p| eye.seen(p)).collect();
            list.push(there.into_iter().chain(back.into_iter().rev()).collect());
        }
    }
    list
}

fn radius_at(profile: &[(f64, f64)], station: f64) -> f64 {
    let after = profile.partition_point(|(s, _)| *s < station);
    match (
        after.checked_sub(1).and_then(|i| profile.get(i)),
        profile.get(after),
    ) {
        (Some(a), Some(b)) if b.0 > a.0 => a.1 + (b.1 - a.1) * (station - a.0) / (b.0 - a.0),
        (_, Some(b)) => b.1,
        (Some(a), None) => a.1,
        (None, None) => 0.0,
    }
}

fn cut_doors(pan: &Pan, panels: &[Vec<Panel>], angles: &[f64], eye: &Eye) -> Vec<CutDoor> {
    let mut list = Vec::new();
    for (door, &angle) in pan.doors.iter().zip(angles) {
        let Some(panel) = panels.get(door.plate).and_then(|p| door.panel(p)) else {
            continue;
        };
        let flap = door.flap(panel);
        let Some(seen) = seen_flap(&flap, angle, eye) else {
            continue;
        };
        let foot = flap.point(0.0, 0.5 * flap.length, 0.0);
        list.push(CutDoor {
            name: door.name.clone(),
            flap: seen,
            arrow: [eye.seen(foot), eye.seen(foot + 0.5 * flap.length * flap.opens)],
            angle,
        });
    }
    list
}

/// The line in which the cut meets the flap, hinge side first. From above, a flap that is not met is shown by
/// its hinge line, or from hinge to free edge when the hinge stands upright.
fn seen_flap(flap: &Flap, angle: f64, eye: &Eye) -> Option<[[f64; 2]; 2]> {
    let half = 0.5 * flap.width;
    let corners = [
        flap.point(angle, 0.0, -half),
        flap.point(angle, 0.0, half),
        flap.point(angle, flap.length, half),
        flap.point(angle, flap.length, -half),
    ];
    let mut met = Vec::new();
    for i in 0..4 {
        let (a, b) = (corners[i], corners[(i + 1) % 4]);
        let (ha, hb) = (eye.height(a), eye.height(b));
        if (ha >= 0.0) != (hb >= 0.0) {
            met.push(a.lerp(b, ha / (ha - hb)));
        }
    }
    if let [a, b] = met[..] {
        let far = |p: DVec3| (p - flap.hinge_at).reject_from(flap.hinge).length();
        let ends = if far(a) <= far(b) { [a, b] } else { [b, a] };
        return Some(ends.map(|p| eye.seen(p)));
    }
    let upright_hinge = flap.hinge.z.abs() > 0.7;
    match eye.view {
        View::Plan if upright_hinge => {
            Some([flap.hinge_at, flap.point(angle, flap.length, 0.0)].map(|p| eye.seen(p)))
        }
        View::Plan => Some([corners[0], corners[1]].map(|p| eye.seen(p))),
        View::Along | View::Across => None,
    }
}

fn oil(lattice: &Lattice, fill: &[u8], eye: &Eye) -> OilCells {
    let [nx, ny, nz] = lattice.n;
    let at = |axis: usize| {
        let steps = ((eye.at - lattice.origin)[axis] / lattice.cell).floor();
        (steps.max(0.0) as usize).min(lattice.n[axis].saturating_sub(1))
    };
    let (low, cell) = (lattice.origin, lattice.cell);
    let (n, origin) = match eye.view {
        View::Along => ([nx, nz], [low.x, low.z]),
        View::Across => ([ny, nz], [-(low.y + ny as f64 * cell), low.z]),
        View::Plan => ([nx, ny], [low.x, low.y]),
    };
    let cells = (0..n[1])
        .flat_map(|v| (0..n[0]).map(move |u| (u, v)))
        .map(|(u, v)| match eye.view {
            View::Along => lattice.cell_index(u, at(1), v),
            View::Across => lattice.cell_index(at(0), ny - 1 - u, v),
            View::Plan => lattice.cell_index(u, v, at(2)),
        });
    let (fill, open) = cells.map(|c| (fill[c], lattice.open_volume[c] > 0.0)).unzip();
    OilCells {
        origin,
        cell,
        n,
        fill,
        open,
    }
}
