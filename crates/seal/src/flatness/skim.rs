//! The least metal that must go for a face to be flat enough, and where.

use glam::DVec3;

use super::Zone;

/// A cut that brings a face under a target.
#[derive(Clone, Debug, PartialEq)]
pub struct Skim {
    /// Width of the slab that remains: the target [m].
    pub target: f64,
    /// The deepest that metal goes [m].
    pub depth: f64,
    /// What a cut over the whole face takes at its highest place [m].
    pub clean_up: f64,
    /// Points that stand over the cut, highest first.
    pub cuts: Vec<Cut>,
}

/// A place where metal goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// The point, by index.
    pub point: usize,
    /// How far it stands over the cut, along the slab's normal [m].
    pub depth: f64,
}

/// The least cut that brings the face under `target` [m]; `None` when it is there already.
///
/// The face is cut off along the plane that lies `target` over the lower plane of its thinnest slab. No cut along
/// another plane takes less: what is left has to lie in a slab of width `target`; cutting along that slab's upper plane
/// takes no more than any other cut that leaves it; the most that it takes is the width over all points less `target`,
/// and that width is least for the thinnest slab.
pub fn skim(points: &[DVec3], zone: &Zone, target: f64) -> Option<Skim> {
    if !(zone.width > target) {
        return None;
    }
    let mut cuts: Vec<Cut> = points
        .iter()
        .enumerate()
        .map(|(point, p)| Cut {
            point,
            depth: zone.height(*p) - target,
        })
        .filter(|c| c.depth > 0.0)
        .collect();
    cuts.sort_by(|a, b| b.depth.total_cmp(&a.depth));
    Some(Skim {
        target,
        depth: zone.width - target,
        clean_up: zone.width,
        cuts,
    })
}

impl Skim {
    /// The points as they lie after the cut.
    pub fn after(&self, points: &[DVec3], zone: &Zone) -> Vec<DVec3> {
        let cut = |p: &DVec3| match zone.height(*p) > self.target {
            true => p.truncate().extend(zone.z_at(p.truncate(), self.target)),
            false => *p,
        };
        points.iter().map(cut).collect()
    }
}
