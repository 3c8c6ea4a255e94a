//! One bolt short of its preload: which one the joint can spare least.

use super::clamped::read;
use super::newton::{Pull, settle};
use super::system::System;
use super::{Joint, JointFault, Outcome};
use serde::{Deserialize, Serialize};

/// The joint with one bolt weak and all others as they should be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeakBolt {
    /// Which bolt.
    pub bolt: usize,
    /// What comes out.
    pub outcome: Outcome,
}

/// Each bolt in turn at `share` of its preload, 0 for a bolt that is lost; the worst first.
///
/// With the share at the low end of the tightening method's scatter it shows what that scatter may do at one bolt.
pub fn weak_bolts(joint: &Joint, share: f64) -> Result<Vec<WeakBolt>, JointFault> {
    joint.check()?;
    JointFault::within("the weak bolt's share of its preload", share, 0.0, 1.0)?;
    let system = System::new(joint)?;
    let fresh = vec![0.0; system.contacts.len()];
    let whole: Vec<Pull> = joint.bolts.iter().map(|bolt| Pull::Known(bolt.preload)).collect();
    let start = settle(&system, &whole, &fresh, None)?;
    let mut found = Vec::with_capacity(joint.bolts.len());
    for bolt in 0..joint.bolts.len() {
        let mut pulls = whole.clone();
        pulls[bolt] = Pull::Known(joint.bolts[bolt].preload * share);
        let settled = settle(&system, &pulls, &fresh, Some(&start.risen))?;
        let clamped = read(joint, &system, &pulls, &fresh, &settled);
        found.push(WeakBolt {
            bolt,
            outcome: Outcome::from(&clamped),
        });
    }
    found.sort_by(|a, b| {
        let key = |weak: &WeakBolt| [weak.outcome.service, -weak.outcome.short, -weak.outcome.widest];
        key(a)
            .partial_cmp(&key(b))
            .expect("a settled joint has no place without a number")
    });
    Ok(found)
}
