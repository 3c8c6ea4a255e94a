//! The flange's rail as a line of cuts, and that line as beams.

use super::beam::Beam;
use super::{Bolt, JointFault, Section};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// A corner that turns by more than this keeps a node of its own [rad].
const CORNER: f64 = 0.26;
/// Places of a line that are nearer than this are one [m].
const ONE_PLACE: f64 = 1e-6;
/// Nodes nearer than this share of a beam's length become one.
const TOO_NEAR: f64 = 0.02;
/// Beams at most; longer ones are taken then.
const MOST_BEAMS: f64 = 1500.0;

/// A cut of the rail and where it is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Station {
    /// On the rail's middle line [m].
    pub place: DVec2,
    /// The rail there; between two stations it changes evenly.
    pub section: Section,
}

/// A flange: the rail all round, and its metal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Flange {
    /// Along the rail's middle line, in order, either way round.
    pub rail: Vec<Station>,
    /// True when the last station joins the first.
    pub closed: bool,
    /// Young's modulus [Pa].
    pub youngs: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// False leaves shear out (Euler and Bernoulli's beam); true is nearer to a thick, closely bolted rail.
    pub shear: bool,
}

/// A rail of one section along a line.
pub fn rail_along(line: &[DVec2], section: Section) -> Vec<Station> {
    line.iter().map(|&place| Station { place, section }).collect()
}

/// The rail between an outer and an inner outline, both closed without their first place repeated.
///
/// From each place of the outer outline, taken every 2 mm, to the nearest of the inner one: the middle is the rail's
/// line, the distance its width. Both are then smoothed over one mean width, since a cut through a bolt's ear is not
/// as stiff as the ear is wide. Fault: outlines that touch or cross ([`JointFault::NoRail`]), fewer than three places.
pub fn rail_between(
    outer: &[DVec2],
    inner: &[DVec2],
    thickness: f64,
    wall: Option<super::Wall>,
) -> Result<Vec<Station>, JointFault> {
    let outer = distinct("the outer outline", outer, true)?;
    let inner = distinct("the inner outline", inner, true)?;
    let mut places = Vec::new();
    for at in 0..outer.len() {
        let (from, to) = (outer[at], outer[(at + 1) % outer.len()]);
        let pieces = (from.distance(to) / 2e-3).ceil().clamp(1.0, 5000.0) as usize;
        places.extend((0..pieces).map(|k| from.lerp(to, k as f64 / pieces as f64)));
    }
    let mut middles = Vec::with_capacity(places.len());
    let mut widths = Vec::with_capacity(places.len());
    for &place in &places {
        let near = nearest_on(&inner, place);
        let width = place.distance(near);
        if width < 0.2e-3 || winding(&inner, place) {
            let width = if winding(&inner, place) { -width } else { width };
            return Err(JointFault::NoRail { place, width });
        }
        middles.push((place + near) / 2.0);
        widths.push(width);
    }
    let mean = widths.iter().sum::<f64>() / widths.len() as f64;
    let reach = ((mean / 2.0 / 2e-3).round() as usize).min(places.len() / 8);
    let count = places.len();
    let around = |at: usize| (0..=2 * reach).map(move |k| (at + count + k - reach) % count);
    let share = 1.0 / (2 * reach + 1) as f64;
    Ok((0..count)
        .map(|at| Station {
            place: around(at).map(|k| middles[k]).sum::<DVec2>() * share,
            section: Section {
                width: around(at).map(|k| widths[k]).sum::<f64>() * share,
                thickness,
                wall,
            },
        })
        .collect())
}

/// The rail cut into beams.
#[derive(Clone, Debug)]
pub(crate) struct Mesh {
    /// In order along the rail.
    pub beams: Vec<Beam>,
    /// Nodes; `beams` joins each to the next.
    pub nodes: usize,
    /// Length of the rail's line [m].
    pub length: f64,
    /// Order of the nodes in the matrix: both arms of a closed rail side by side, so that the band stays narrow.
    pub order: Vec<usize>,
    /// Where each bolt stands along the rail [m].
    pub bolts_along: Vec<f64>,
    /// True for a ring.
    pub closed: bool,
}

impl Mesh {
    /// Beams of about `size`, with a node at every bolt and every corner.
    pub(crate) fn new(flange: &Flange, bolts: &[Bolt], size: f64) -> Result<Mesh, JointFault> {
        let line = Line::new(flange)?;
        let size = size.max(line.length / MOST_BEAMS);
        let mut bolts_along = Vec::with_capacity(bolts.len());
        for (bolt, Bolt { place, .. }) in bolts.iter().enumerate() {
            let (along, off) = line.nearest(*place);
            let width = line.at(along).1.width;
            if off > width {
                return Err(JointFault::BoltOffFlange { bolt, off, width });
            }
            bolts_along.push(along);
        }
        let mut fixed = line.corners();
        fixed.extend(&bolts_along);
        if !flange.closed {
            fixed.extend([0.0, line.length]);
        }
        fixed.sort_by(f64::total_cmp);
        fixed.dedup_by(|b, a| (*b - *a).abs() < TOO_NEAR * size);
        if flange.closed
            && fixed.len() > 1
            && fixed[0] + line.length - fixed[fixed.len() - 1] < TOO_NEAR * size
        {
            fixed.pop();
        }
        let mut nodes: Vec<f64> = Vec::new();
        let spans = if flange.closed {
            fixed.len()
        } else {
            fixed.len() - 1
        };
        for at in 0..spans {
            let from = fixed[at];
            let to = if at + 1 < fixed.len() {
                fixed[at + 1]
            } else {
                fixed[0] + line.length
            };
            // A closed rail with one fixed node is one span and needs three beams to be a ring.
            let least = if spans < 3 { 6 } else { 1 };
            let pieces = (((to - from) / size - 1e-9).ceil() as usize).max(least);
            nodes.extend((0..pieces).map(|k| from + (to - from) * k as f64 / pieces as f64));
        }
        let mut cuts = nodes.clone();
        if flange.closed {
            cuts.push(nodes[0] + line.length);
        } else {
            cuts.push(line.length);
            nodes.push(line.length);
        }
        let count = nodes.len();
        let shear_modulus = flange.youngs / (2.0 * (1.0 + flange.poisson));
        let beams = (0..cuts.len() - 1)
            .map(|at| {
                let (from, to) = (line.at(cuts[at]).0, line.at(cuts[at + 1]).0);
                let section = line.at((cuts[at] + cuts[at + 1]) / 2.0).1;
                let stiff = section.stiffness();
                let length = from.distance(to);
                let bending = flange.youngs * stiff.bending;
                Beam {
                    ends: [at, (at + 1) % count],
                    from,
                    way: (to - from) / length,
                    length,
                    along: cuts[at],
                    width: section.width,
                    bending,
                    twist: shear_modulus * stiff.twist,
                    shear: if flange.shear {
                        12.0 * bending / (shear_modulus * stiff.shear * length * length)
                    } else {
                        0.0
                    },
                }
            })
            .collect();
        Ok(Mesh {
            beams,
            nodes: count,
            length: line.length,
            order: folded(count, flange.closed),
            bolts_along,
            closed: flange.closed,
        })
    }

    /// The beam beside a point, the share of its length there, and the distance [m].
    pub(crate) fn nearest(&self, point: DVec2) -> (usize, f64, f64) {
        let mut best = (0, 0.0, f64::INFINITY);
        for (at, beam) in self.beams.iter().enumerate() {
            let (share, off) = beam.nearest(point);
            if off < best.2 {
                best = (at, share, off);
            }
        }
        best
    }

    /// The rise of a point carried by beam `at` at `share`, as entries of a row of the matrix.
    pub(crate) fn rise(&self, at: usize, share: f64, point: DVec2) -> [(usize, f64); 6] {
        let beam = &self.beams[at];
        let weights = beam.rise(share, point);
        std::array::from_fn(|k| (self.freedom(beam.ends[k / 3], k % 3), weights[k]))
    }

    /// Which row of the matrix a node's freedom is.
    pub(crate) fn freedom(&self, node: usize, which: usize) -> usize {
        3 * self.order[node] + which
    }
}

/// Place of each node in the matrix. Round a ring the two arms from node 0 alternate: 0, 1, n−1, 2, n−2, …
fn folded(count: usize, closed: bool) -> Vec<usize> {
    (0..count)
        .map(|node| match closed {
            false => node,
            true if node == 0 => 0,
            true if 2 * node <= count => 2 * node - 1,
            true => 2 * (count - node),
        })
        .collect()
}

/// The rail's middle line by its length.
struct Line<'a> {
    rail: Vec<&'a Station>,
    /// Length up to each station, and the whole at the end.
    along: Vec<f64>,
    length: f64,
    closed: bool,
}

impl<'a> Line<'a> {
    fn new(flange: &'a Flange) -> Result<Line<'a>, JointFault> {
        let mut rail: Vec<&Station> = Vec::new();
        for station in &flange.rail {
            if !station.place.is_finite() {
                return Err(JointFault::NotFinite {
                    what: "a place of the rail",
                });
            }
            station.section.check()?;
            if rail
                .last()
                .is_none_or(|last| last.place.distance(station.place) > ONE_PLACE)
            {
                rail.push(station);
            }
        }
        while flange.closed
            && rail.len() > 1
            && rail[0].place.distance(rail[rail.len() - 1].place) <= ONE_PLACE
        {
            rail.pop();
        }
        let needed = if flange.closed { 3 } else { 2 };
        if rail.len() < needed {
            return Err(JointFault::TooShort {
                what: "the rail",
                places: rail.len(),
                needed,
            });
        }
        if flange.closed {
            rail.push(rail[0]);
        }
        let mut along = vec![0.0];
        for pair in rail.windows(2) {
            along.push(along[along.len() - 1] + pair[0].place.distance(pair[1].place));
        }
        let length = along[along.len() - 1];
        Ok(Line {
            rail,
            along,
            length,
            closed: flange.closed,
        })
    }

    /// Place and section at a length along it; a closed one goes round.
    fn at(&self, along: f64) -> (DVec2, Section) {
        let along = if self.closed && along >= self.length {
            along - self.length
        } else {
            along
        };
        let next = self
            .along
            .partition_point(|&end| end <= along)
            .clamp(1, self.along.len() - 1);
        let (a, b) = (self.rail[next - 1], self.rail[next]);
        let share =
            ((along - self.along[next - 1]) / (self.along[next] - self.along[next - 1])).clamp(0.0, 1.0);
        let between = |one: f64, other: f64| one + (other - one) * share;
        let wall = match (a.section.wall, b.section.wall) {
            (Some(one), Some(other)) => Some(super::Wall {
                height: between(one.height, other.height),
                thickness: between(one.thickness, other.thickness),
            }),
            // A wall that ends between two stations ends half way.
            (one, other) => {
                if share < 0.5 {
                    one
                } else {
                    other
                }
            }
        };
        let section = Section {
            width: between(a.section.width, b.section.width),
            thickness: between(a.section.thickness, b.section.thickness),
            wall,
        };
        (a.place.lerp(b.place, share), section)
    }

    fn nearest(&self, point: DVec2) -> (f64, f64) {
        let mut best = (0.0, f64::INFINITY);
        for (at, pair) in self.rail.windows(2).enumerate() {
            let side = pair[1].place - pair[0].place;
            let share = ((point - pair[0].place).dot(side) / side.length_squared()).clamp(0.0, 1.0);
            let off = point.distance(pair[0].place + side * share);
            if off < best.1 {
                best = (self.along[at] + share * side.length(), off);
            }
        }
        if self.closed && best.0 >= self.length {
            best.0 -= self.length;
        }
        best
    }

    /// Lengths at which it turns sharply.
    fn corners(&self) -> Vec<f64> {
        let last = self.rail.len() - 1;
        let first = if self.closed { 0 } else { 1 };
        (first..last)
            .filter(|&at| {
                let before = self.rail[if at == 0 { last - 1 } else { at - 1 }].place;
                let here = self.rail[at].place;
                (here - before).angle_to(self.rail[at + 1].place - here).abs() > CORNER
            })
            .map(|at| self.along[at])
            .collect()
    }
}

/// The places of a line that differ from their neighbours.
pub(crate) fn distinct(what: &'static str, line: &[DVec2], closed: bool) -> Result<Vec<DVec2>, JointFault> {
    let mut places: Vec<DVec2> = Vec::with_capacity(line.len());
    for &place in line {
        if !place.is_finite() {
            return Err(JointFault::NotFinite { what });
        }
        if places.last().is_none_or(|last| last.distance(place) > ONE_PLACE) {
            places.push(place);
        }
    }
    while closed && places.len() > 1 && places[0].distance(places[places.len() - 1]) <= ONE_PLACE {
        places.pop();
    }
    let needed = if closed { 3 } else { 2 };
    if places.len() < needed {
        return Err(JointFault::TooShort {
            what,
            places: places.len(),
            needed,
        });
    }
    Ok(places)
}

/// Nearest place of a closed line.
fn nearest_on(line: &[DVec2], point: DVec2) -> DVec2 {
    let mut best = (f64::INFINITY, point);
    for at in 0..line.len() {
        let (from, side) = (line[at], line[(at + 1) % line.len()] - line[at]);
        let share = ((point - from).dot(side) / side.length_squared()).clamp(0.0, 1.0);
        let place = from + side * share;
        let off = point.distance_squared(place);
        if off < best.0 {
            best = (off, place);
        }
    }
    best.1
}

/// True inside a closed line (even and odd crossings).
fn winding(line: &[DVec2], point: DVec2) -> bool {
    let mut inside = false;
    for at in 0..line.len() {
        let (a, b) = (line[at], line[(at + 1) % line.len()]);
        if (a.y > point.y) != (b.y > point.y) && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            inside = !inside;
        }
    }
    inside
}
