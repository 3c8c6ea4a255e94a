//! Bolts tightened one after another on the joint: each relaxes its neighbours.
//!
//! Every bolt is a spring that stays turned in as far as the wrench left it. While one is tightened its pull is known
//! and all others give way with the flange; the joint follows its law, down again by its recovery only. A wrench that
//! clicks before the bolt moves leaves it as it is. First all bolts are run in by hand.
//!
//! What is left out: that a bolt at rest needs more torque to move than a turning one, the scatter of friction from
//! bolt to bolt (the tightening method's own, to be added to the spread found here), creep of the joint between passes.

use super::{from_the_middle, round_the_loop};
use crate::joint::{Joint, JointFault, Pull, System, settle, times};
use serde::{Deserialize, Serialize};

/// Passes that are common practice, as shares of the full torque; a last round at full torque confirms.
/// ASME PCC-1 has such steps for circular flanges (from memory).
pub const PASSES: [f64; 4] = [0.3, 0.65, 1.0, 1.0];
/// Bolts are run in by hand to this share of their preload, all alike.
const BY_HAND: f64 = 0.02;
/// A bolt that pulls this share of its target is left as it is: no wrench tells the difference, and the time is saved.
const CLICKS: f64 = 0.999;
/// Rounds after which the search for a worthwhile number ends.
const MOST_ROUNDS: usize = 6;

/// The order and the passes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Schedule {
    /// Bolt numbers, every bolt once; the same in every pass.
    pub order: Vec<usize>,
    /// Share of the full preload in each pass, above 0, at most 1.
    pub passes: Vec<f64>,
}

/// How evenly bolts pull.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// Least pull over its target.
    pub least: f64,
    /// Greatest.
    pub most: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// The bolt that pulls least.
    pub weakest: usize,
}

/// After one pass.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pass {
    /// Share of the full preload that the wrench was set to.
    pub share: f64,
    /// What each bolt pulls now [N], in the caller's order.
    pub pulls: Vec<f64>,
    /// How far each nut or head went along its thread in this pass [m]: times 2π over the pitch it is the angle turned.
    pub advanced: Vec<f64>,
    /// Pulls over this pass's targets.
    pub spread: Spread,
}

/// The whole sequence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tightened {
    /// Pass by pass.
    pub passes: Vec<Pass>,
}

impl Tightened {
    /// The state after the last pass; a schedule has one at least.
    pub fn last(&self) -> &Pass {
        self.passes.last().expect("a schedule has a pass")
    }
}

/// Tightens the bolts to their preloads in the order and passes of the schedule.
///
/// The wrench is taken as exact to 0.1 %: each bolt leaves it with its target, or had it before. Faults: those of [`crate::joint::clamp`], an
/// order that does not name every bolt once, a pass outside 0 to 1.
pub fn tighten(joint: &Joint, schedule: &Schedule) -> Result<Tightened, JointFault> {
    joint.check()?;
    check(joint, schedule)?;
    let mut bench = Bench::new(joint)?;
    let passes = schedule
        .passes
        .iter()
        .map(|&share| bench.pass(&schedule.order, share))
        .collect::<Result<_, _>>()?;
    Ok(Tightened { passes })
}

/// One way to go about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Worth {
    /// Shares of the full preload, pass by pass.
    pub passes: Vec<f64>,
    /// From the middle outward, or bolt after bolt round the loop.
    pub from_the_middle: bool,
    /// What the bolts pull in the end.
    pub spread: Spread,
}

/// How many passes pay: one, two and more rounds at full torque, the usual passes with one and more confirming rounds,
/// and the usual passes taken round the loop for comparison.
///
/// The second value is the first of these, from fewer to more rounds, after which no bolt is off its target by more
/// than `enough` (such as a quarter of the scatter of the tightening method: a spread under that hides in the
/// wrench's); none when more than six rounds would be needed.
pub fn passes_worth(joint: &Joint, enough: f64) -> Result<(Vec<Worth>, Option<usize>), JointFault> {
    joint.check()?;
    JointFault::within("the spread that is enough", enough, 0.0, 1.0)?;
    let places: Vec<_> = joint.bolts.iter().map(|bolt| bolt.place).collect();
    let middle = from_the_middle(&places);
    let mut found = Vec::new();
    let mut served = None;
    let off = |spread: &Spread| (1.0 - spread.least).max(spread.most - 1.0);
    for ramp in [&[][..], &PASSES[..2]] {
        // One run tells all numbers of rounds: each more is one more pass.
        let mut passes = ramp.to_vec();
        let rounds = MOST_ROUNDS - ramp.len();
        passes.extend(std::iter::repeat_n(1.0, rounds));
        let tightened = tighten(
            joint,
            &Schedule {
                order: middle.clone(),
                passes: passes.clone(),
            },
        )?;
        for more in 1..=rounds {
            let count = ramp.len() + more;
            found.push(Worth {
                passes: passes[..count].to_vec(),
                from_the_middle: true,
                spread: tightened.passes[count - 1].spread,
            });
        }
    }
    found.sort_by_key(|way| way.passes.len());
    for (at, way) in found.iter().enumerate() {
        if served.is_none() && off(&way.spread) <= enough {
            served = Some(at);
        }
    }
    let round = Schedule {
        order: round_the_loop(&places),
        passes: PASSES.to_vec(),
    };
    found.push(Worth {
        passes: PASSES.to_vec(),
        from_the_middle: false,
        spread: tighten(joint, &round)?.last().spread,
    });
    Ok((found, served))
}

fn check(joint: &Joint, schedule: &Schedule) -> Result<(), JointFault> {
    let mut named = vec![false; joint.bolts.len()];
    for &bolt in &schedule.order {
        match named.get_mut(bolt) {
            Some(seen) if !*seen => *seen = true,
            _ => return Err(JointFault::OrderNames { bolt }),
        }
    }
    if let Some(bolt) = named.iter().position(|seen| !seen) {
        return Err(JointFault::OrderLeavesOut { bolt });
    }
    if schedule.passes.is_empty() {
        return Err(JointFault::NoPasses);
    }
    for &share in &schedule.passes {
        JointFault::within("a pass's share of the full torque", share, 0.01, 1.0)?;
    }
    Ok(())
}

/// The joint while it is tightened.
struct Bench<'a> {
    joint: &'a Joint,
    system: System,
    risen: Vec<f64>,
    /// How far each bolt is turned in [m].
    turned: Vec<f64>,
    /// How far each contact was ever closed [m].
    most: Vec<f64>,
}

impl Bench<'_> {
    fn new(joint: &Joint) -> Result<Bench<'_>, JointFault> {
        let system = System::new(joint)?;
        let pulls: Vec<Pull> = joint
            .bolts
            .iter()
            .map(|bolt| Pull::Known(BY_HAND * bolt.preload))
            .collect();
        let mut bench = Bench {
            most: vec![0.0; system.contacts.len()],
            risen: settle(&system, &pulls, &vec![0.0; system.contacts.len()], None)?.risen,
            turned: Vec::new(),
            joint,
            system,
        };
        bench.turned = (0..joint.bolts.len())
            .map(|bolt| BY_HAND * joint.bolts[bolt].preload / joint.bolts[bolt].stiffness - bench.seat(bolt))
            .collect();
        bench.remember();
        Ok(bench)
    }

    /// Rise of a bolt's seat [m].
    fn seat(&self, bolt: usize) -> f64 {
        times(&self.system.bolts[bolt], &self.risen)
    }

    fn spring(&self, bolt: usize) -> Pull {
        Pull::Spring {
            stiffness: self.joint.bolts[bolt].stiffness,
            turned: self.turned[bolt],
        }
    }

    fn pull(&self, bolt: usize) -> f64 {
        self.spring(bolt).at(self.seat(bolt)).0
    }

    fn remember(&mut self) {
        for (most, contact) in self.most.iter_mut().zip(&self.system.contacts) {
            *most = most.max(self.system.closure(contact, &self.risen));
        }
    }

    fn pass(&mut self, order: &[usize], share: f64) -> Result<Pass, JointFault> {
        let before = self.turned.clone();
        for &bolt in order {
            let target = share * self.joint.bolts[bolt].preload;
            if self.pull(bolt) >= CLICKS * target {
                continue;
            }
            let mut pulls: Vec<Pull> = (0..order.len()).map(|other| self.spring(other)).collect();
            pulls[bolt] = Pull::Known(target);
            self.risen = settle(&self.system, &pulls, &self.most, Some(&self.risen))?.risen;
            self.turned[bolt] = target / self.joint.bolts[bolt].stiffness - self.seat(bolt);
            self.remember();
        }
        let pulls: Vec<f64> = (0..order.len()).map(|bolt| self.pull(bolt)).collect();
        Ok(Pass {
            share,
            spread: self.spread(&pulls, share),
            advanced: self
                .turned
                .iter()
                .zip(&before)
                .map(|(now, then)| now - then)
                .collect(),
            pulls,
        })
    }

    /// Of the bolts that are to pull at all.
    fn spread(&self, pulls: &[f64], share: f64) -> Spread {
        let ratios: Vec<(usize, f64)> = pulls
            .iter()
            .enumerate()
            .filter(|(bolt, _)| self.joint.bolts[*bolt].preload > 0.0)
            .map(|(bolt, pull)| (bolt, pull / (share * self.joint.bolts[bolt].preload)))
            .collect();
        let count = ratios.len() as f64;
        let mean = ratios.iter().map(|ratio| ratio.1).sum::<f64>() / count;
        let (mut least, mut most, mut weakest) = (f64::INFINITY, 0.0f64, 0);
        for &(bolt, ratio) in &ratios {
            if ratio < least {
                (least, weakest) = (ratio, bolt);
            }
            most = most.max(ratio);
        }
        Spread {
            least,
            most,
            mean,
            deviation: (ratios.iter().map(|ratio| (ratio.1 - mean).powi(2)).sum::<f64>() / count).sqrt(),
            weakest,
        }
    }
}
