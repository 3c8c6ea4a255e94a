//! All that is said of the bolts of a joint: limits, the torque suggested, what heat and settling leave.

use super::reach::{Hole, Reach, SPARE_PITCHES, reach};
use super::torque::{Preload, range, torque, yield_preload};
use super::{Class, Friction, Head, Method, Thread, losses, practice, strip};
use crate::materials::{Metal, MetalKind, Sheet};

/// Share of yield, pull and twist together, that tightening may use (VDI 2230).
pub const YIELD_SHARE: f64 = 0.9;
/// Margin against stripping a thread: common practice, no source.
pub const STRIP_MARGIN: f64 = 1.5;

/// One kind of bolt in a joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// Thread.
    pub thread: Thread,
    /// Property class.
    pub class: Class,
    /// Ring under the head.
    pub head: Head,
    /// Length under the head [m].
    pub length: f64,
    /// Flange and washers under the head, gasket not counted [m].
    pub clamped: f64,
    /// Width of the flange about the bolt [m].
    pub width: f64,
    /// The flange's metal.
    pub flange: Metal,
    /// The metal of the tapped hole.
    pub tapped: Metal,
    /// The tapped hole, where its depth is known.
    pub hole: Option<Hole>,
    /// Friction of thread and head.
    pub friction: Friction,
    /// How it is tightened.
    pub method: Method,
    /// Torque stated [N·m].
    pub torque: Option<f64>,
    /// What lies between, when it carries the bolts' load.
    pub layer: Option<Layer>,
    /// Temperature at which it is tightened, the coldest and the hottest it sees [K].
    pub temperatures: [f64; 3],
}

/// The bolt's share of a gasket that carries load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// Gasket area that one bolt presses [m²].
    pub area: f64,
    /// Its free thickness [m].
    pub thickness: f64,
    /// How much it gives about its working point under a newton on that area [m/N].
    pub compliance: f64,
    /// Creep relaxation, from and to, as shares.
    pub creep: [f64; 2],
    /// Pressure that it needs [Pa].
    pub need: f64,
    /// Pressure that it bears [Pa].
    pub bears: f64,
}

impl Layer {
    /// A bolt's share of a sheet: `area` [m²], `thickness` [m], and the pressure needed [Pa]. It gives like a spring
    /// that is compressed by the mean of its compressibility at the pressure of the test (ASTM F36).
    pub fn of(sheet: &Sheet, area: f64, thickness: f64, need: f64) -> Layer {
        let squeezed = 0.5 * (sheet.compressibility[0] + sheet.compressibility[1]);
        Layer {
            area,
            thickness,
            // On the way back it is stiffer by what it does not recover.
            compliance: sheet.recovery * squeezed * thickness / (sheet.tested_at * area),
            creep: sheet.creep,
            need,
            bears: sheet.working[1],
        }
    }
}

/// What limits a torque.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// Bolt near yield while it is turned.
    Yield,
    /// Proof load of the bolt, heat counted.
    Proof,
    /// Thread of the tapped hole.
    Tapped,
    /// Thread of the bolt.
    BoltThread,
    /// Metal under the head.
    Head,
    /// The gasket is crushed.
    Gasket,
    /// Torque customary in cast aluminium.
    Practice,
}

/// A limit with its numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cap {
    /// Which.
    pub limit: Limit,
    /// Clamp load that it allows as tightened, at any temperature of the range [N]; `None` for a plain torque.
    pub force: Option<f64>,
    /// Torque at which the most that may come of it reaches that [N·m].
    pub torque: f64,
}

/// Everything about the bolts of a joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// How it reaches into its hole.
    pub reach: Reach,
    /// Proof load [N].
    pub proof: f64,
    /// Load that breaks it [N].
    pub breaks: f64,
    /// Limits, the lowest torque first.
    pub caps: Vec<Cap>,
    /// The torque suggested [N·m]: rounded down from the lowest cap; `None` when no thread is engaged.
    pub suggested: Option<f64>,
    /// Least torque at which the joint still gets what it needs after settling, creep and cold, with the most friction
    /// [N·m]; `None` when nothing is asked.
    pub least: Option<f64>,
    /// The torque that all below counts with [N·m]: as stated, else as suggested.
    pub torque: f64,
    /// Clamp load of that torque.
    pub preload: Preload,
    /// Tapped thread strips at [N], on limit sizes and on basic sizes.
    pub strips: [f64; 2],
    /// Bolt's thread strips at [N], on limit sizes.
    pub bolt_strips: f64,
    /// Engagement at which the bolt breaks before the hole strips [m], on limit sizes and on basic sizes.
    pub engagement: [f64; 2],
    /// Pressure under the head at the most clamp load [Pa].
    pub under_head: f64,
    /// Settling loss [N].
    pub settles: f64,
    /// Gain from cold to hot against assembly [N]: coldest, hottest.
    pub heat: [f64; 2],
    /// Creep loss of the layer as a share, from and to; zeros without one.
    pub creep: [f64; 2],
    /// What is left of the clamp load after settling and creep, least and most to count with, at the temperature of
    /// assembly [N].
    pub left: [f64; 2],
    /// The same where heat or cold makes it least and most [N].
    pub left_at_worst: [f64; 2],
    /// Stretch of bolt and parts under a newton [m/N]: the bolt, the metal, the layer.
    pub compliance: [f64; 3],
}

impl Setup {
    fn torque_cap(&self, limit: Limit, force: f64) -> Cap {
        // The most that a torque may give is in proportion to it.
        let most = range(&self.thread, &self.head, self.friction, &self.method, 1.0).high;
        Cap {
            limit,
            force: Some(force.max(0.0)),
            torque: force.max(0.0) / most,
        }
    }

    /// Works everything out.
    pub fn advice(&self) -> Advice {
        let t = &self.thread;
        let layer_thickness = self.layer.as_ref().map_or(0.0, |l| l.thickness);
        let reach = reach(self.length, self.clamped + layer_thickness, self.hole.as_ref());
        let (limits, basic) = (t.limits(), t.basic());
        let shear = self.tapped.shear * self.tapped.strength;
        let (proof, breaks) = (self.class.proof_load(t), self.class.breaking_load(t));
        let strips = [&limits, &basic].map(|s| shear * strip::tapped_area(t, s, reach.engaged));
        let bolt_strips = strip::BOLT_SHEAR * self.class.breaks * strip::bolt_area(t, &limits, reach.engaged);
        let compliance = [
            losses::bolt_compliance(t, self.clamped, losses::STEEL_YOUNGS),
            losses::part_compliance(
                self.clamped,
                self.flange.youngs,
                losses::clamped_area(&self.head, self.clamped, self.width),
            ),
            self.layer.as_ref().map_or(0.0, |l| l.compliance),
        ];
        let all: f64 = compliance.iter().sum();
        let [assembly, cold, hot] = self.temperatures;
        let heat = [cold, hot].map(|to| {
            losses::heat(
                self.flange.expansion,
                self.class.expansion,
                to - assembly,
                self.clamped,
                all,
            )
        });
        let gain = heat[0].max(heat[1]).max(0.0);
        let loss = heat[0].min(heat[1]).min(0.0);

        let mut caps = vec![
            self.torque_cap(
                Limit::Yield,
                yield_preload(t, &self.class, self.friction.low, YIELD_SHARE),
            ),
            self.torque_cap(Limit::Proof, proof - gain),
            self.torque_cap(Limit::Tapped, strips[0] / STRIP_MARGIN - gain),
            self.torque_cap(Limit::BoltThread, bolt_strips / STRIP_MARGIN - gain),
            self.torque_cap(Limit::Head, self.flange.bearing * self.head.area() - gain),
        ];
        if let Some(layer) = &self.layer {
            caps.push(self.torque_cap(Limit::Gasket, layer.bears * layer.area - gain));
        }
        let cast = matches!(self.tapped.kind, MetalKind::CastAluminium | MetalKind::Magnesium);
        if let (true, Some(torque)) = (cast, practice::in_cast_aluminium(t, &self.class)) {
            caps.push(Cap {
                limit: Limit::Practice,
                force: None,
                torque,
            });
        }
        caps.sort_by(|a, b| a.torque.total_cmp(&b.torque));
        let suggested = Some(rounded_down(caps[0].torque)).filter(|s| *s > 0.0);

        let settles = losses::settled(losses::USUAL_SETTLING, all);
        let creep = self.layer.as_ref().map_or([0.0; 2], |l| l.creep);
        let least = self.layer.as_ref().map(|l| {
            let force = (l.need * l.area - loss + settles) / (1.0 - creep[1]);
            torque(t, &self.head, self.friction.high, force)
                .max(force / range(t, &self.head, self.friction, &self.method, 1.0).low)
        });
        let torque = self.torque.or(suggested).unwrap_or(0.0);
        let preload = range(t, &self.head, self.friction, &self.method, torque);
        let left = [
            (losses::crept(preload.low, creep[1]) - settles).max(0.0),
            losses::crept(preload.high, creep[0]),
        ];
        Advice {
            reach,
            proof,
            breaks,
            caps,
            suggested,
            least,
            torque,
            preload,
            strips,
            bolt_strips,
            engagement: [&limits, &basic]
                .map(|s| strip::engagement_for(t, s, shear, breaking_most(&self.class, t))),
            under_head: self.head.pressure(preload.high),
            settles,
            heat,
            creep,
            left,
            left_at_worst: [(left[0] + loss).max(0.0), left[1] + gain],
            compliance,
        }
    }

    /// Least room before the bolt bottoms [m].
    pub fn spare_wanted(&self) -> f64 {
        SPARE_PITCHES * self.thread.pitch
    }
}

/// Load at which a bolt of common strength breaks [N]: bolts are stronger than the least of their class, by some 4 % in
/// 8.8 (830 for 800 MPa: the value that ISO 898-1 asks of larger bolts).
fn breaking_most(class: &Class, thread: &Thread) -> f64 {
    let over = if class.name == "8.8" { 830.0 / 800.0 } else { 1.0 };
    over * class.breaks * thread.stress_area()
}

/// To half newton metres, under 5 N·m to tenths: what a wrench can be set to.
fn rounded_down(torque: f64) -> f64 {
    let step = if torque < 5.0 { 0.1 } else { 0.5 };
    (torque / step + 1e-9).floor() * step
}
