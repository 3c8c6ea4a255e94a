//! Stretches from one load to another, laid end to end.

use glam::DVec3;
use measure::STANDARD_GRAVITY;
use std::f64::consts::{FRAC_PI_2, PI};

/// Load on the car at one instant.
#[derive(Clone, Copy, Default)]
pub(super) struct Load {
    /// Forward and left acceleration [m/s²].
    pub forward: f64,
    pub left: f64,
    /// Tilt [rad].
    pub tilt: f64,
}

/// A stretch from one load to another along half a cosine.
pub(super) struct Stretch {
    pub time: f64,
    pub from: Load,
    pub to: Load,
    /// Along the ellipse through both loads instead of straight.
    pub on_ellipse: bool,
}

impl Stretch {
    fn at(&self, t: f64) -> Load {
        let u = if self.time > 0.0 {
            0.5 * (1.0 - (PI * (t / self.time).clamp(0.0, 1.0)).cos())
        } else {
            1.0
        };
        if self.on_ellipse {
            let (s, c) = (u * FRAC_PI_2).sin_cos();
            return Load {
                forward: self.from.forward * c,
                left: self.to.left * s,
                tilt: 0.0,
            };
        }
        let mix = |a: f64, b: f64| a + (b - a) * u;
        Load {
            forward: mix(self.from.forward, self.to.forward),
            left: mix(self.from.left, self.to.left),
            tilt: mix(self.from.tilt, self.to.tilt),
        }
    }
}

/// Stretches laid end to end.
pub(super) struct Plan(pub Vec<Stretch>);

impl Plan {
    fn add(&mut self, time: f64, to: Load, on_ellipse: bool) -> &mut Plan {
        let from = self.0.last().map_or(Load::default(), |s| s.to);
        self.0.push(Stretch {
            time,
            from,
            to,
            on_ellipse,
        });
        self
    }

    pub fn to(&mut self, time: f64, to: Load) -> &mut Plan {
        self.add(time, to, false)
    }

    pub fn sweep(&mut self, time: f64, to: Load) -> &mut Plan {
        self.add(time, to, true)
    }

    pub fn stay(&mut self, time: f64) -> &mut Plan {
        let here = self.0.last().map_or(Load::default(), |s| s.to);
        self.add(time, here, false)
    }
}

impl Load {
    /// Apparent gravity in the car frame [m/s²]; a tilted bench lowers the side that faces `toward`.
    pub fn gravity(&self, toward: f64) -> DVec3 {
        let (s, c) = self.tilt.sin_cos();
        DVec3::new(s * toward.cos(), s * toward.sin(), -c) * STANDARD_GRAVITY
            - DVec3::new(self.forward, self.left, 0.0)
    }
}

/// Load at a time from the start [s].
pub(super) fn load_at(stretches: &[Stretch], t: f64) -> Load {
    let mut start = 0.0;
    for s in stretches {
        if t <= start + s.time {
            return s.at(t - start);
        }
        start += s.time;
    }
    stretches.last().map_or(Load::default(), |s| s.to)
}

/// Rate of the tilt at a sample [rad/s].
pub(super) fn slope(loads: &[Load], i: usize, step: f64) -> f64 {
    let (a, b) = (i.saturating_sub(1), (i + 1).min(loads.len() - 1));
    (loads[b].tilt - loads[a].tilt) / (step * (b - a) as f64)
}
