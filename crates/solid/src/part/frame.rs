//! The pan's axes in the file: z from the flange's face toward the block, x to the engine's front.

use super::direction;
use super::flange::Found;
use crate::ears::axes;
use crate::fault::Fault;
use glam::{DAffine3, DMat3, DVec2, DVec3};

/// Which way the engine's front is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Front {
    /// A direction of the file.
    Way(DVec3),
    /// From one hole of the flange toward another, by number.
    Holes(usize, usize),
}

/// What is x = 0, y = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// A place of the file [m]; its height does not matter.
    Place(DVec3),
    /// A hole of the flange, by number.
    Hole(usize),
}

pub(super) struct Frame {
    pub pan_from_file: DAffine3,
    pub said: Vec<String>,
}

/// An axis of the file nearer than two degrees is meant.
const MEANT: f64 = 0.9994;

pub(super) fn frame(found: &super::flange::Found, stated: &super::Stated) -> Result<Frame, Fault> {
    let z = found.normal;
    let mut said = Vec::new();
    let wanted = match stated.front {
        Some(Front::Way(way)) => way,
        Some(Front::Holes(from, to)) => hole(found, to)? - hole(found, from)?,
        None => {
            let long = longest(found);
            let axis = nearest_axis(long, z);
            let way = if axis.dot(long).abs() > MEANT { axis } else { long };
            said.push(format!(
                "the engine's front is taken to be {} of the file, along the flange; state `front` if it is not",
                direction(way)
            ));
            way
        }
    };
    let Some(x) = (wanted - z * wanted.dot(z))
        .try_normalize()
        .filter(|_| wanted.length() > 0.0)
    else {
        let what = format!(
            "the front, {} of the file, is square to the flange's face",
            direction(wanted.normalize_or_zero())
        );
        return Err(Fault::new(
            "part-front",
            what,
            "state a direction that lies in the flange's face",
        ));
    };
    let pan_from_file = DMat3::from_cols(x, z.cross(x), z).transpose();
    // On the flange's face, under or over the place wanted.
    let onto = |p: DVec3| p + z * (found.offset - p.dot(z));
    let aligned = [x, z].iter().all(|d| d.abs().max_element() > MEANT);
    let origin = match stated.origin {
        Some(Origin::Place(p)) => onto(p),
        Some(Origin::Hole(number)) => onto(hole(found, number)?),
        None if aligned => {
            said.push("x = 0, y = 0 is the file's own origin".to_owned());
            onto(DVec3::ZERO)
        }
        None => {
            said.push("x = 0, y = 0 is the middle of the flange".to_owned());
            onto(found.middle())
        }
    };
    Ok(Frame {
        pan_from_file: DAffine3::from_mat3_translation(pan_from_file, -(pan_from_file * origin)),
        said,
    })
}

fn hole(found: &Found, number: usize) -> Result<DVec3, Fault> {
    let hole = number.checked_sub(1).and_then(|k| found.holes.get(k));
    hole.map(|h| h.at).ok_or_else(|| {
        let what = format!("there is no hole {number}: the flange has {}", found.holes.len());
        Fault::new(
            "part-hole",
            what,
            "look at the numbers that `sumpwright solid` shows",
        )
    })
}

/// The file's axis that points most nearly along `d`, either way, in its positive sense; square to `z` as far as
/// it may be.
fn nearest_axis(d: DVec3, z: DVec3) -> DVec3 {
    let mut best = DVec3::X;
    for axis in [DVec3::X, DVec3::Y, DVec3::Z] {
        if axis.dot(z).abs() < 0.5 && axis.dot(d).abs() > best.dot(d).abs().max(1e-9)
            || best.dot(z).abs() >= 0.5
        {
            best = axis;
        }
    }
    best
}

/// Direction of the longer side of the smallest rectangle round the flange, in the sense nearest a positive axis.
fn longest(found: &Found) -> DVec3 {
    let (u, v) = axes(found.normal);
    let plan: Vec<DVec2> = found
        .outline
        .iter()
        .map(|p| DVec2::new(p.dot(u), p.dot(v)))
        .collect();
    let hull = hull(plan);
    let mut best = (f64::INFINITY, DVec2::X);
    for k in 0..hull.len() {
        let Some(along) = (hull[(k + 1) % hull.len()] - hull[k]).try_normalize() else {
            continue;
        };
        let reach = |d: DVec2| {
            let over = hull.iter().map(|p| p.dot(d));
            over.clone().fold(f64::NEG_INFINITY, f64::max) - over.fold(f64::INFINITY, f64::min)
        };
        let (long, wide) = (reach(along), reach(along.perp()));
        // A touch smaller must be clearly smaller, or rounding would choose between the sides.
        if long * wide < best.0 * (1.0 - 1e-9) {
            best = (long * wide, if long >= wide { along } else { along.perp() });
        }
    }
    let d = best.1.x * u + best.1.y * v;
    let largest = d
        .to_array()
        .into_iter()
        .max_by(|a, b| a.abs().total_cmp(&b.abs()));
    if largest.is_some_and(|l| l < 0.0) { -d } else { d }
}

/// Convex hull, counter-clockwise (Andrew's chain, 1979).
fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    let mut chain: Vec<DVec2> = Vec::new();
    for pass in 0..2 {
        let floor = chain.len().max(1);
        for i in 0..points.len() {
            let p = points[if pass == 0 { i } else { points.len() - 1 - i }];
            while chain.len() > floor
                && crate::ears::turn(chain[chain.len() - 2], chain[chain.len() - 1], p) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
    }
    chain
}
