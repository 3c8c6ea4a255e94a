//! Plates as flat panels: one for a shelf or a sheet, one for each stretch of a wall's path.

use crate::outline::{ARC_SAGITTA, OutlineFault};
use crate::polygon::{LARGEST_COORDINATE, Region};
use crate::{Door, Hinge, Opening, Outline, Plate, PlateShape};
use glam::{DVec2, DVec3};

/// A sheet's corners may stand this far off their plane [m].
pub const FLATNESS: f64 = 1e-4;

/// A flat piece of a plate in its own plane coordinates, which are the plate's.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// Where plate coordinates (0, 0) would lie in this panel's plane [m].
    pub origin: DVec3,
    /// Unit vector of the first plate coordinate.
    pub u: DVec3,
    /// Unit vector of the second.
    pub v: DVec3,
    /// Unit normal on the plate's positive side.
    pub normal: DVec3,
    /// Outer shape in plate coordinates.
    pub outline: Region,
    /// The openings that lie on it (holes, slots, notches; not doors), united and cut to the outline.
    pub openings: Region,
}

/// What is wrong with a plate's shape.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlateFault {
    /// A coordinate, thickness or fraction that is no number.
    #[error("has a coordinate, thickness or open fraction that is not a usable number")]
    NotANumber,
    /// A wall without path.
    #[error("needs a path of at least two different points")]
    NoPath,
    /// A wall without height.
    #[error("has no height: it runs from {:.2} mm up to {:.2} mm", z_low * 1e3, z_high * 1e3)]
    NoHeight {
        /// Lower edge [m].
        z_low: f64,
        /// Upper edge [m].
        z_high: f64,
    },
    /// The outline encloses nothing.
    #[error("has an outline that {0}")]
    Outline(OutlineFault),
    /// Corners off the plane.
    #[error("is not flat: a corner stands {:.2} mm off the plane of the others", off * 1e3)]
    NotFlat {
        /// Worst distance [m].
        off: f64,
    },
    /// Perforation that is no fraction.
    #[error("has an open fraction of {perforation}; it must lie between 0 and 1")]
    Perforation {
        /// As given.
        perforation: f64,
    },
    /// Perforation whose holes have no size.
    #[error("is perforated with holes of {:.2} mm; a hole has a size", diameter * 1e3)]
    PerforationHole {
        /// As given [m].
        diameter: f64,
    },
}

impl Panel {
    /// Point of plate coordinates in the pan frame.
    pub fn point(&self, at: DVec2) -> DVec3 {
        self.origin + self.u * at.x + self.v * at.y
    }

    /// Plate coordinates of a point, dropped on the plane.
    pub fn plate_coordinates(&self, p: DVec3) -> DVec2 {
        let d = p - self.origin;
        DVec2::new(d.dot(self.u), d.dot(self.v))
    }

    /// Distance of a point from the plane, positive on the positive side [m].
    pub fn height(&self, p: DVec3) -> f64 {
        (p - self.origin).dot(self.normal)
    }

    /// What is left of the outline when the openings are out.
    pub fn solid(&self) -> Region {
        self.outline.difference(&self.openings)
    }

    /// The same panel in the pan's own coordinates when it lies square to an axis: coordinates (y, z), (x, z)
    /// or (x, y) for axis 0, 1, 2; `None` when it leans.
    pub(crate) fn along_axes(&self) -> Option<(usize, Panel)> {
        let axis = (0..3).find(|&a| self.normal[a].abs() > 1.0 - 1e-10)?;
        let (u, v) = [(DVec3::Y, DVec3::Z), (DVec3::X, DVec3::Z), (DVec3::X, DVec3::Y)][axis];
        let mut origin = DVec3::ZERO;
        origin[axis] = self.point(DVec2::ZERO)[axis];
        let mut turned = Panel {
            origin,
            u,
            v,
            normal: self.normal,
            ..self.clone()
        };
        turned.outline = self.outline.mapped(|p| turned.plate_coordinates(self.point(p)));
        turned.openings = self.openings.mapped(|p| turned.plate_coordinates(self.point(p)));
        Some((axis, turned))
    }

    /// Where another panel cuts this one's plane: stretches of a line in plate coordinates; none when they are
    /// nearly parallel. `reach` is the other's outline, grown by what counts as touching: two walls that meet
    /// at a corner do so exactly on their edges, which rounding would put in or out.
    pub fn cut_by(&self, other: &Panel, reach: &Region) -> Vec<(DVec2, DVec2)> {
        let along = self.normal.cross(other.normal);
        if along.length() < 1e-3 {
            return Vec::new();
        }
        let along = along.normalize();
        // From any point of this plane straight to the other plane, staying in this plane.
        let down = along.cross(self.normal);
        let start = self.point(
            self.outline
                .bounds()
                .map_or(DVec2::ZERO, |(low, high)| 0.5 * (low + high)),
        );
        let at = start - down * (other.height(start) / down.dot(other.normal));
        let line = DVec2::new(along.dot(other.u), along.dot(other.v)).normalize_or(DVec2::X);
        let stretches = reach.chords(other.plate_coordinates(at), line);
        let end = |s: f64| self.plate_coordinates(at + along * s);
        stretches.iter().map(|(a, b)| (end(*a), end(*b))).collect()
    }

    /// Where the segment a–b goes through the plane, if it does: a point on the plane counts as on the
    /// positive side.
    pub fn crossing(&self, a: DVec3, b: DVec3) -> Option<DVec2> {
        let (ha, hb) = (self.height(a), self.height(b));
        if (ha >= 0.0) == (hb >= 0.0) {
            return None;
        }
        Some(self.plate_coordinates(a.lerp(b, ha / (ha - hb))))
    }
}

impl Plate {
    /// What is wrong with its shape, if anything.
    pub fn fault(&self) -> Option<PlateFault> {
        let bad = |v: f64| !v.is_finite() || v.abs() > LARGEST_COORDINATE;
        if bad(self.thickness) || self.thickness < 0.0 || bad(self.perforation) || bad(self.perforation_hole)
        {
            return Some(PlateFault::NotANumber);
        }
        if !(0.0..1.0).contains(&self.perforation) {
            return Some(PlateFault::Perforation {
                perforation: self.perforation,
            });
        }
        if self.perforation > 0.0 && self.perforation_hole <= 0.0 {
            return Some(PlateFault::PerforationHole {
                diameter: self.perforation_hole,
            });
        }
        match &self.shape {
            PlateShape::Wall { path, z_low, z_high } => {
                if path.iter().any(|p| bad(p.x) || bad(p.y)) || bad(*z_low) || bad(*z_high) {
                    return Some(PlateFault::NotANumber);
                }
                if z_high - z_low < 1e-6 {
                    return Some(PlateFault::NoHeight {
                        z_low: *z_low,
                        z_high: *z_high,
                    });
                }
                if path.len() < 2 || path.windows(2).any(|w| w[0].distance(w[1]) < 1e-6) {
                    return Some(PlateFault::NoPath);
                }
            }
            PlateShape::Shelf { outline, z } => {
                if bad(*z) {
                    return Some(PlateFault::NotANumber);
                }
                return outline.fault().map(PlateFault::Outline);
            }
            PlateShape::Sheet { corners } => {
                if corners.iter().any(|c| bad(c.x) || bad(c.y) || bad(c.z)) {
                    return Some(PlateFault::NotANumber);
                }
                if corners.len() < 3 {
                    return Some(PlateFault::Outline(OutlineFault::TooFewCorners));
                }
                let Some((normal, middle)) = plane_of(corners) else {
                    return Some(PlateFault::Outline(OutlineFault::NoArea));
                };
                let off = corners
                    .iter()
                    .map(|c| (*c - middle).dot(normal).abs())
                    .fold(0.0, f64::max);
                if off > FLATNESS {
                    return Some(PlateFault::NotFlat { off });
                }
                if corners[0].distance(corners[1]) < 1e-6 {
                    return Some(PlateFault::NoPath);
                }
                let panel = sheet_panel(corners, normal, middle);
                let flat: Vec<DVec2> = corners.iter().map(|c| panel.plate_coordinates(*c)).collect();
                return Outline::polygon(&flat).fault().map(PlateFault::Outline);
            }
        }
        None
    }

    /// Its flat panels; none when [`Plate::fault`] says that it is no plate.
    pub fn panels(&self) -> Vec<Panel> {
        if self.fault().is_some() {
            return Vec::new();
        }
        let openings: Vec<Region> = self.openings.iter().map(Opening::region).collect();
        let openings = Region::union_of(&openings);
        let mut panels = match &self.shape {
            PlateShape::Wall { path, z_low, z_high } => {
                let mut start = 0.0;
                let mut panels = Vec::new();
                for w in path.windows(2) {
                    let (along, length) = ((w[1] - w[0]).normalize(), w[0].distance(w[1]));
                    panels.push(Panel {
                        origin: (w[0] - along * start).extend(0.0),
                        u: along.extend(0.0),
                        v: DVec3::Z,
                        normal: along.perp().extend(0.0),
                        outline: Region::rectangle(
                            DVec2::new(start, *z_low),
                            DVec2::new(start + length, *z_high),
                        ),
                        openings: Region::default(),
                    });
                    start += length;
                }
                panels
            }
            PlateShape::Shelf { outline, z } => vec![Panel {
                origin: DVec3::new(0.0, 0.0, *z),
                u: DVec3::X,
                v: DVec3::Y,
                normal: DVec3::Z,
                outline: outline.region(0.0, ARC_SAGITTA),
                openings: Region::default(),
            }],
            PlateShape::Sheet { corners } => plane_of(corners)
                .map(|(normal, middle)| sheet_panel(corners, normal, middle))
                .into_iter()
                .collect(),
        };
        for p in &mut panels {
            p.openings = p.outline.intersection(&openings);
        }
        panels
    }
}

impl Opening {
    /// Its shape in plate coordinates.
    pub fn region(&self) -> Region {
        match self {
            Opening::Hole { at, diameter } => Outline::circle(*at, 0.5 * diameter).region(0.0, ARC_SAGITTA),
            Opening::Slot { from, to, width } => {
                let r = 0.5 * width;
                let along = (*to - *from).normalize_or_zero();
                if along == DVec2::ZERO {
                    return Outline::circle(*from, r).region(0.0, ARC_SAGITTA);
                }
                let side = along.perp() * r;
                let vertices = vec![
                    (*from - side, 0.0),
                    (*to - side, 1.0),
                    (*to + side, 0.0),
                    (*from + side, 1.0),
                ];
                Outline { vertices }.region(0.0, ARC_SAGITTA)
            }
            Opening::Notch { low, high } => Region::rectangle(low.min(*high), low.max(*high)),
        }
    }

    /// True when its sizes are usable numbers above zero.
    pub fn has_size(&self) -> bool {
        let good = |p: &DVec2| p.is_finite() && p.abs().max_element() <= LARGEST_COORDINATE;
        match self {
            Opening::Hole { at, diameter } => good(at) && *diameter > 0.0 && *diameter <= LARGEST_COORDINATE,
            Opening::Slot { from, to, width } => {
                good(from) && good(to) && *width > 0.0 && *width <= LARGEST_COORDINATE
            }
            Opening::Notch { low, high } => {
                good(low) && good(high) && ((*high - *low).abs().min_element() > 0.0)
            }
        }
    }
}

/// A shut door flap in the pan frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flap {
    /// Middle of the hinge line [m].
    pub hinge_at: DVec3,
    /// Unit vector along the hinge: right-hand rule, positive turn opens.
    pub hinge: DVec3,
    /// Unit vector from the hinge to the free edge when shut.
    pub reach: DVec3,
    /// Unit vector the way it opens.
    pub opens: DVec3,
    /// From hinge to free edge [m].
    pub length: f64,
    /// Along the hinge [m].
    pub width: f64,
}

impl Flap {
    /// Point of the flap `out` from the hinge and `side` along it from its middle, opened by `angle` [rad].
    pub fn point(&self, angle: f64, out: f64, side: f64) -> DVec3 {
        self.hinge_at + self.hinge * side + (self.reach * angle.cos() + self.opens * angle.sin()) * out
    }
}

impl Door {
    /// Low and high corner in order, whichever way they were given.
    pub fn corners(&self) -> (DVec2, DVec2) {
        (self.low.min(self.high), self.low.max(self.high))
    }

    /// Area of its opening [m²].
    pub fn area(&self) -> f64 {
        let (low, high) = self.corners();
        (high.x - low.x) * (high.y - low.y)
    }

    /// The flap on the panel it hangs on.
    pub fn flap(&self, panel: &Panel) -> Flap {
        let (low, high) = self.corners();
        let (middle, size) = (0.5 * (low + high), high - low);
        let (edge, reach, length, width) = match self.hinge {
            Hinge::Start => (DVec2::new(low.x, middle.y), DVec2::X, size.x, size.y),
            Hinge::End => (DVec2::new(high.x, middle.y), -DVec2::X, size.x, size.y),
            Hinge::Bottom => (DVec2::new(middle.x, low.y), DVec2::Y, size.y, size.x),
            Hinge::Top => (DVec2::new(middle.x, high.y), -DVec2::Y, size.y, size.x),
        };
        let reach = panel.u * reach.x + panel.v * reach.y;
        let opens = if self.opens_positive {
            panel.normal
        } else {
            -panel.normal
        };
        // ω × reach = opens for unit vectors square to one another.
        Flap {
            hinge_at: panel.point(edge),
            hinge: reach.cross(opens),
            reach,
            opens,
            length,
            width,
        }
    }

    /// The panel of its plate that holds its middle; the nearest one when none does.
    pub fn panel<'a>(&self, panels: &'a [Panel]) -> Option<&'a Panel> {
        let middle = 0.5 * (self.low + self.high);
        panels.iter().find(|p| p.outline.contains(middle)).or_else(|| {
            panels.iter().min_by(|a, b| {
                let far = |p: &Panel| {
                    p.outline
                        .nearest_on_edge(middle)
                        .map_or(f64::MAX, |n| n.distance(middle))
                };
                far(a).total_cmp(&far(b))
            })
        })
    }
}

/// Unit normal by the right-hand rule round the corners, and their middle; `None` when they enclose nothing.
fn plane_of(corners: &[DVec3]) -> Option<(DVec3, DVec3)> {
    let middle = corners.iter().sum::<DVec3>() / corners.len() as f64;
    let mut sum = DVec3::ZERO;
    for i in 0..corners.len() {
        sum += (corners[i] - middle).cross(corners[(i + 1) % corners.len()] - middle);
    }
    (sum.length() > 1e-8).then(|| (sum.normalize(), middle))
}

fn sheet_panel(corners: &[DVec3], normal: DVec3, middle: DVec3) -> Panel {
    // On the mean plane, the first corner is the origin and the first edge the u direction.
    let drop = |p: DVec3| p - normal * (p - middle).dot(normal);
    let origin = drop(corners[0]);
    let u = (drop(corners[1]) - origin).normalize_or(DVec3::X);
    let v = normal.cross(u);
    let mut panel = Panel {
        origin,
        u,
        v,
        normal,
        outline: Region::default(),
        openings: Region::default(),
    };
    let flat: Vec<DVec2> = corners.iter().map(|c| panel.plate_coordinates(*c)).collect();
    panel.outline = Region::from_loops(&[flat]);
    panel
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(path: Vec<DVec2>) -> Plate {
        Plate {
            name: "wall".into(),
            shape: PlateShape::Wall {
                path,
                z_low: -0.1,
                z_high: -0.02,
            },
            thickness: 0.002,
            openings: Vec::new(),
            perforation: 0.0,
            perforation_hole: 0.0,
        }
    }

    #[test]
    fn plate_coordinates_run_on_round_the_corners_of_a_wall() {
        let w = wall(vec![
            DVec2::new(0.1, 0.0),
            DVec2::new(0.1, 0.2),
            DVec2::new(-0.1, 0.2),
        ]);
        let panels = w.panels();
        assert_eq!(panels.len(), 2);
        assert!((panels[1].point(DVec2::new(0.3, -0.05)) - DVec3::new(0.0, 0.2, -0.05)).length() < 1e-15);
        // Walking toward +y, the positive side is toward −x.
        assert!(panels[0].height(DVec3::new(0.0, 0.1, -0.05)) > 0.0);
    }

    #[test]
    fn a_sheet_off_its_plane_is_a_fault_that_says_how_far() {
        let mut p = wall(vec![]);
        p.shape = PlateShape::Sheet {
            corners: vec![
                DVec3::new(0.0, 0.0, 0.0),
                DVec3::new(0.1, 0.0, 0.0),
                DVec3::new(0.1, 0.1, 0.004),
                DVec3::new(0.0, 0.1, 0.0),
            ],
        };
        let Some(PlateFault::NotFlat { off }) = p.fault() else {
            panic!("{:?}", p.fault())
        };
        assert!((off - 0.001).abs() < 1e-4, "{off}");
        assert!(p.panels().is_empty());
    }

    #[test]
    fn a_positive_turn_about_the_hinge_opens_the_door() {
        let w = wall(vec![DVec2::new(0.0, -0.1), DVec2::new(0.0, 0.1)]);
        let door = Door {
            name: "door".into(),
            plate: 0,
            low: DVec2::new(0.05, -0.1),
            high: DVec2::new(0.1, -0.06),
            hinge: Hinge::Top,
            opens_positive: true,
            mass: 0.02,
            stop: 1.0,
            gap: 0.0005,
            density: 2700.0,
            spring: [0.0; 2],
        };
        let flap = door.flap(&w.panels()[0]);
        assert!((flap.hinge.cross(flap.reach) - flap.opens).length() < 1e-12);
        assert!((flap.point(0.0, flap.length, 0.0) - DVec3::new(0.0, -0.025, -0.1)).length() < 1e-12);
        let open = flap.point(std::f64::consts::FRAC_PI_2, flap.length, 0.0);
        assert!(
            (open - DVec3::new(-0.04, -0.025, -0.06)).length() < 1e-12,
            "{open}"
        );
    }
}
