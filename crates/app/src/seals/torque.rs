//! The bolts in words: limits, warnings, numbers.

use super::Look;
use measure::{Dimension, show_torque};
use report::findings::{BoltFact, LimitFact};
use seal::bolts::advice::{Cap, Limit, STRIP_MARGIN, YIELD_SHARE};
use seal::bolts::losses::slip;
use seal::bolts::torque::nut_factor;

impl Look<'_> {
    /// All about one bolt, with its warnings.
    pub(super) fn bolts(&mut self) -> BoltFact {
        self.too_much();
        self.reaches();
        let (s, a) = (self.stated, &self.advice);
        let b = &s.bolts;
        let k = |friction| nut_factor(&b.thread, &b.head, friction);
        let [_, cold, hot] = s.temperatures;
        let size = s
            .outer
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
                (l.min(p.x), h.max(p.x))
            });
        BoltFact {
            said: self.bolts_said(),
            count: b.at.len(),
            stated: b.torque,
            suggested: a.suggested,
            least: a.least,
            torque: a.torque,
            friction: [b.friction.low, b.friction.high],
            nut_factor: [k(b.friction.low), k(b.friction.high)],
            clamp: [a.preload.low, a.preload.mid, a.preload.high],
            limits: a.caps.iter().map(|c| self.limit(c)).collect(),
            proof: [a.proof, a.breaks],
            engaged: a.reach.engaged,
            engagement_wanted: a.engagement,
            strips: a.strips,
            spare: a.reach.spare,
            under_head: [a.under_head, s.flange.bearing],
            settles: a.settles,
            heat: a.heat,
            creep: a.creep,
            left: a.left,
            left_at_worst: a.left_at_worst,
            slip: slip(s.flange.expansion, s.block.expansion, hot - cold, size.1 - size.0),
        }
    }

    fn limit_word(&self, limit: Limit) -> String {
        match limit {
            Limit::Yield => format!("bolt at {:.0} % of yield while it turns", YIELD_SHARE * 100.0),
            Limit::Proof => "proof load of the bolt, heat counted".to_owned(),
            Limit::Tapped => format!(
                "thread in the {}, {STRIP_MARGIN} times over, heat counted",
                self.stated.block.name
            ),
            Limit::BoltThread => format!("thread of the bolt, {STRIP_MARGIN} times over, heat counted"),
            Limit::Head => format!("{} under the head, heat counted", self.stated.flange.name),
            Limit::Gasket => "the gasket's highest working pressure, heat counted".to_owned(),
            Limit::Practice => "custom in cast aluminium (machine manuals)".to_owned(),
        }
    }

    fn limit(&self, cap: &Cap) -> LimitFact {
        LimitFact {
            said: self.limit_word(cap.limit),
            force: cap.force,
            torque: cap.torque,
        }
    }

    /// Warns of a torque that breaks a limit.
    fn too_much(&mut self) {
        let torque = |t: f64| show_torque(t, self.units);
        let a = self.advice.clone();
        let suggested = a
            .suggested
            .map_or("no torque is safe with these parts".to_owned(), |t| {
                format!("{} at most, by {}", torque(t), self.limit_word(a.caps[0].limit))
            });
        let force = |f: f64| self.show(f, Dimension::Force);
        let mut warnings = Vec::new();
        if let Some(stated) = self.stated.bolts.torque {
            let gain = a.heat[0].max(a.heat[1]).max(0.0);
            for cap in a.caps.iter().filter(|c| stated > c.torque * (1.0 + 1e-9)) {
                let most = a.preload.high;
                let by = match cap.limit {
                    Limit::Proof => format!(
                        "may pull a bolt with {} when hot, over its proof load of {}",
                        force(most + gain),
                        force(a.proof)
                    ),
                    Limit::Yield => format!(
                        "may pull a bolt with {} while it turns; {:.0} % of yield is {}",
                        force(most),
                        YIELD_SHARE * 100.0,
                        force(cap.force.unwrap_or(0.0))
                    ),
                    Limit::Tapped => format!(
                        "may pull with {} when hot; the thread in the block strips at {} on limit sizes, and {STRIP_MARGIN} times is kept",
                        force(most + gain),
                        force(a.strips[0])
                    ),
                    Limit::BoltThread => format!(
                        "may pull with {} when hot; the bolt's thread strips at {}",
                        force(most + gain),
                        force(a.bolt_strips)
                    ),
                    Limit::Head => format!(
                        "may press {} under the head when hot, where {} bears {}",
                        self.show(self.setup.head.pressure(most + gain), Dimension::Stress),
                        self.stated.flange.name,
                        self.show(self.stated.flange.bearing, Dimension::Stress)
                    ),
                    Limit::Gasket => format!(
                        "may press the gasket with more than it bears: {} a bolt when hot",
                        force(most + gain)
                    ),
                    Limit::Practice => format!(
                        "is over the {} that are customary in cast aluminium",
                        torque(cap.torque)
                    ),
                };
                let mend = match cap.limit {
                    Limit::Head => format!("{suggested}; a hard washer under the head spreads it"),
                    _ => suggested.clone(),
                };
                warnings.push((format!("the stated {} {by}", torque(stated)), mend));
            }
            if let Some(least) = a.least.filter(|l| stated < *l) {
                warnings.push((
                    format!(
                        "the stated {} may leave the gasket less than it needs after creep and cold: with the most friction {} are needed",
                        torque(stated),
                        torque(least)
                    ),
                    suggested.clone(),
                ));
            }
        } else if a.suggested.is_none() {
            warnings.push((
                format!(
                    "no torque is safe with these parts: {} allows none",
                    self.limit_word(a.caps[0].limit)
                ),
                "longer thread engagement, a hard washer under the head, or a larger or better bolt"
                    .to_owned(),
            ));
        }
        if let (Some(least), Some(most)) = (a.least, a.suggested)
            && least > most
        {
            warnings.push((
                format!(
                    "the gasket needs {} with the most friction, and no more than {} is safe with the least",
                    torque(least),
                    torque(most)
                ),
                "learn the friction (oil the threads, measure it), more or larger bolts, a softer or narrower gasket".to_owned(),
            ));
        }
        for (said, mend) in warnings {
            self.warn(said, mend);
        }
    }

    /// Warns of a bolt that bottoms or has too little thread.
    fn reaches(&mut self) {
        let a = self.advice.clone();
        let wanted = self.setup.spare_wanted();
        if let Some(spare) = a.reach.spare {
            if spare < 0.0 {
                self.warn(
                    format!("the bolts bottom {} before they clamp", self.length(-spare)),
                    format!(
                        "take bolts {} shorter, or thicker washers",
                        self.length(wanted - spare)
                    ),
                );
            } else if spare < wanted {
                self.warn(
                    format!(
                        "the bolts end {} before the last full thread; {} are wanted",
                        self.length(spare),
                        self.length(wanted)
                    ),
                    "take shorter bolts or thicker washers, or tap deeper".to_owned(),
                );
            }
        }
        if a.reach.engaged < a.engagement[0] {
            let length = |v: f64| self.length(v);
            let (said, mend) = (
                format!(
                    "thread in thread is {}; the hole strips before the bolt breaks under {} on limit sizes ({} on basic sizes)",
                    length(a.reach.engaged),
                    length(a.engagement[0]),
                    length(a.engagement[1])
                ),
                "longer bolts in deeper thread, or an insert; the torque suggested counts with it".to_owned(),
            );
            // At the torque suggested this is safe: it is told only where the torque is not.
            if self
                .stated
                .bolts
                .torque
                .is_some_and(|t| a.suggested.is_none_or(|s| t > s))
            {
                self.warn(said, mend);
            }
        }
    }

    fn bolts_said(&self) -> String {
        let (s, a) = (self.stated, &self.advice);
        let b = &s.bolts;
        let torque = |t: f64| show_torque(t, self.units);
        let force = |f: f64| self.show(f, Dimension::Force);
        let used = match (b.torque, a.suggested) {
            (Some(t), Some(most)) => format!("{} stated; suggested are {} at most", torque(t), torque(most)),
            (Some(t), None) => format!("{} stated; no torque is safe with these parts", torque(t)),
            (None, Some(most)) => format!("{} suggested, as no torque is stated", torque(most)),
            (None, None) => "no torque is safe with these parts".to_owned(),
        };
        let heat = match a.heat[1] {
            h if h.abs() < 50.0 => "heat changes little".to_owned(),
            h if h > 0.0 => format!("hot, the flange adds {}", force(h)),
            h => format!("hot, {} are lost", force(-h)),
        };
        format!(
            "{} bolts {} x {:.0}, {}, {}: {used}. That is a clamp load of {} to {} a bolt ({} in the middle); after settling{} \
             {} are left at least; {heat}.",
            b.at.len(),
            b.thread.name,
            b.length * 1e3,
            b.class.name,
            b.lubrication.name,
            force(a.preload.low),
            force(a.preload.high),
            force(a.preload.mid),
            if a.creep[1] > 0.0 { " and creep" } else { "" },
            force(a.left[0])
        )
    }
}
