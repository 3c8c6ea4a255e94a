//! Heights along the middle line of a rail, and two faces laid on each other.

use glam::{DVec2, DVec3};

use super::{FlatnessFault, minimum_zone};

/// The closed middle line of a rail.
#[derive(Clone, Debug, PartialEq)]
pub struct Rail {
    points: Vec<DVec2>,
    /// Way along the line at each point [m].
    along: Vec<f64>,
    length: f64,
}

impl Rail {
    /// Through these points [m], the last joined to the first. `None` for less than three, or when all are one place.
    pub fn new(points: &[DVec2]) -> Option<Rail> {
        let mut kept: Vec<DVec2> = Vec::with_capacity(points.len());
        for p in points {
            if kept.last().is_none_or(|last| last.distance(*p) > 1e-9) {
                kept.push(*p);
            }
        }
        while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= 1e-9 {
            kept.pop();
        }
        if kept.len() < 3 {
            return None;
        }
        let mut length = 0.0;
        let along = (0..kept.len())
            .map(|i| {
                let here = length;
                length += kept[i].distance(kept[(i + 1) % kept.len()]);
                here
            })
            .collect();
        Some(Rail {
            points: kept,
            along,
            length,
        })
    }

    /// Once round [m].
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Way along the line to the place of it nearest to `p`, and how far off that is [m].
    pub fn along(&self, p: DVec2) -> (f64, f64) {
        let n = self.points.len();
        let mut best = (0.0, f64::INFINITY);
        for i in 0..n {
            let (a, b) = (self.points[i], self.points[(i + 1) % n]);
            let side = b - a;
            let t = ((p - a).dot(side) / side.length_squared()).clamp(0.0, 1.0);
            let off = p.distance(a + side * t);
            if off < best.1 {
                best = ((self.along[i] + t * side.length()) % self.length, off);
            }
        }
        best
    }

    /// The place at a way along the line [m].
    pub fn place(&self, along: f64) -> DVec2 {
        let at = along.rem_euclid(self.length);
        let n = self.points.len();
        let i = self.along.partition_point(|s| *s <= at).max(1) - 1;
        let (a, b) = (self.points[i], self.points[(i + 1) % n]);
        a + (b - a).normalize_or_zero() * (at - self.along[i])
    }

    /// Way from one place forward to another [m].
    pub(super) fn ahead(&self, from: f64, to: f64) -> f64 {
        (to - from).rem_euclid(self.length)
    }
}

/// Heights along a rail: straight lines between what was read.
pub(super) struct Profile {
    /// Way along the rail and height, rising.
    read: Vec<(f64, f64)>,
    length: f64,
}

impl Profile {
    /// `None` without points.
    pub(super) fn new(rail: &Rail, points: &[DVec3]) -> Option<Profile> {
        let mut read: Vec<(f64, f64)> = points.iter().map(|p| (rail.along(p.truncate()).0, p.z)).collect();
        read.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Readings across the rail at one place count as their mean.
        let mut merged: Vec<(f64, f64, f64)> = Vec::with_capacity(read.len());
        for (s, z) in read {
            match merged.last_mut() {
                Some((at, sum, count)) if s - *at < SAME_WAY => {
                    *sum += z;
                    *count += 1.0;
                }
                _ => merged.push((s, z, 1.0)),
            }
        }
        let read: Vec<(f64, f64)> = merged.into_iter().map(|(s, sum, n)| (s, sum / n)).collect();
        (!read.is_empty()).then(|| Profile {
            read,
            length: rail.length(),
        })
    }

    pub(super) fn at(&self, along: f64) -> f64 {
        let n = self.read.len();
        let s = along.rem_euclid(self.length);
        let after = self.read.partition_point(|r| r.0 <= s);
        let (a, b) = (self.read[(after + n - 1) % n], self.read[after % n]);
        let gap = (b.0 - a.0).rem_euclid(self.length);
        let gap = if n == 1 || gap == 0.0 { self.length } else { gap };
        a.1 + (b.1 - a.1) * (s - a.0).rem_euclid(self.length) / gap
    }
}

/// Readings nearer along the rail than this are taken as one [m].
const SAME_WAY: f64 = 0.1e-3;
/// A place that was read on both faces: not nearer than this in plan [m].
const SAME_SPOT: f64 = 1e-3;

/// Two faces laid on each other: at each place that was read on either, how high both stand together [m], each over the
/// lower plane of its own thinnest slab.
///
/// `pan` and `block` are in the same axes in plan, heights out of the metal of each, each over a datum of its own. What
/// was read on one face only is met by the other's height on a straight line between its own readings along the rail.
/// The flatness of the sum is what the joint has to take up; the highest places touch first.
pub fn together(rail: &Rail, pan: &[DVec3], block: &[DVec3]) -> Result<Vec<DVec3>, FlatnessFault> {
    let own = |points: &[DVec3]| -> Result<Vec<DVec3>, FlatnessFault> {
        let zone = minimum_zone(points)?;
        Ok(points
            .iter()
            .map(|p| p.truncate().extend(zone.height(*p)))
            .collect())
    };
    let (pan, block) = (own(pan)?, own(block)?);
    let profile = |points: &[DVec3]| Profile::new(rail, points).expect("a face with a flatness has points");
    let (of_pan, of_block) = (profile(&pan), profile(&block));
    let other = |p: &DVec3, profile: &Profile| *p + DVec3::Z * profile.at(rail.along(p.truncate()).0);
    let mut sum: Vec<DVec3> = pan.iter().map(|p| other(p, &of_block)).collect();
    let new = |p: &&DVec3| {
        pan.iter()
            .all(|q| q.truncate().distance(p.truncate()) > SAME_SPOT)
    };
    sum.extend(block.iter().filter(new).map(|p| other(p, &of_pan)));
    Ok(sum)
}
