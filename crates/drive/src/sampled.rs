//! The drive itself: series on one clock, read at any instant, cut, mirrored, turned to another frame.

use glam::{DMat3, DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// One lap of a drive, as a stretch of time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lap {
    /// What the log or the course calls it.
    pub name: String,
    /// Start [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// A drive: what the body of the oil feels against time, in one frame (car or pan; `in_frame` turns it).
///
/// All series have the length of `time`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drive {
    /// Name for people.
    pub name: String,
    /// Time [s], strictly rising.
    pub time: Vec<f64>,
    /// Apparent gravity [m/s²]: gravity minus the acceleration of the frame. At rest (0, 0, -g).
    pub gravity: Vec<DVec3>,
    /// Angular rate of the frame [rad/s], when known.
    pub spin: Option<Vec<DVec3>>,
    /// Rate of change of the angular rate [rad/s²], when known by itself; else it is the slope of `spin`.
    pub spin_rate: Option<Vec<DVec3>>,
    /// Where `gravity` holds [m]: the point of the frame that the rotation is counted from.
    pub pivot: DVec3,
    /// Engine speed [rev/s].
    pub engine_speed: Vec<f64>,
    /// Road speed [m/s]; all zero when the source tells nothing of it (`said` tells so).
    pub speed: Vec<f64>,
    /// Distance from the start [m]; all zero when the source tells nothing of it.
    pub distance: Vec<f64>,
    /// Place on the course [m], when known.
    pub place: Option<Vec<DVec2>>,
    /// Laps found.
    pub laps: Vec<Lap>,
    /// How it was read: sentences for the report (units taken, signs inferred with the evidence, filter).
    pub said: Vec<String>,
}

/// A drive at one instant, in the frame of the drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Apparent gravity [m/s²].
    pub gravity: DVec3,
    /// Angular rate of the frame [rad/s]; zero when the drive does not know it.
    pub spin: DVec3,
    /// Rate of change of the angular rate [rad/s²]; zero when the drive does not know it.
    pub spin_rate: DVec3,
    /// Engine speed [rev/s].
    pub engine_speed: f64,
}

/// What can be wrong with a drive that was put together or stored elsewhere.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DriveFault {
    /// Fewer than two samples.
    #[error("the drive has {samples} samples; at least two are needed")]
    TooShort {
        /// Samples there are.
        samples: usize,
    },
    /// A series is not as long as the clock.
    #[error("the series '{series}' has {got} samples, the clock has {wanted}")]
    Length {
        /// Which series.
        series: &'static str,
        /// Samples it has.
        got: usize,
        /// Samples of the clock.
        wanted: usize,
    },
    /// A number is not finite.
    #[error("the series '{series}' is not a number at sample {sample}")]
    NotANumber {
        /// Which series.
        series: &'static str,
        /// Sample, from 0.
        sample: usize,
    },
    /// The place about which the pan turns is none.
    #[error("the pivot is not a place")]
    Pivot,
    /// A change of spin without a spin.
    #[error("there is a rate of spin and no spin")]
    RateWithoutSpin,
    /// The clock stands or runs back.
    #[error("time does not rise at sample {sample}")]
    TimeNotRising {
        /// Sample, from 0.
        sample: usize,
    },
}

impl Drive {
    /// Checks the promises of the type: equal lengths, at least two samples, finite numbers, rising time, no rate of
    /// spin without a spin.
    pub fn check(&self) -> Result<(), DriveFault> {
        let n = self.time.len();
        if n < 2 {
            return Err(DriveFault::TooShort { samples: n });
        }
        let finite = |series, got: usize, bad: Option<usize>| {
            if got != n {
                return Err(DriveFault::Length {
                    series,
                    got,
                    wanted: n,
                });
            }
            bad.map_or(Ok(()), |sample| Err(DriveFault::NotANumber { series, sample }))
        };
        let first_bad = |v: &[f64]| v.iter().position(|x| !x.is_finite());
        finite("time", n, first_bad(&self.time))?;
        finite(
            "gravity",
            self.gravity.len(),
            self.gravity.iter().position(|v| !v.is_finite()),
        )?;
        finite(
            "engine speed",
            self.engine_speed.len(),
            first_bad(&self.engine_speed),
        )?;
        finite("speed", self.speed.len(), first_bad(&self.speed))?;
        finite("distance", self.distance.len(), first_bad(&self.distance))?;
        if let Some(spin) = &self.spin {
            finite("spin", spin.len(), spin.iter().position(|v| !v.is_finite()))?;
        }
        if !self.pivot.is_finite() {
            return Err(DriveFault::Pivot);
        }
        if let Some(rate) = &self.spin_rate {
            if self.spin.is_none() {
                return Err(DriveFault::RateWithoutSpin);
            }
            let bad = rate.iter().position(|v| !v.is_finite());
            finite("rate of spin", rate.len(), bad)?;
        }
        if let Some(place) = &self.place {
            finite("place", place.len(), place.iter().position(|v| !v.is_finite()))?;
        }
        match (1..n).find(|&i| self.time[i] <= self.time[i - 1]) {
            Some(sample) => Err(DriveFault::TimeNotRising { sample }),
            None => Ok(()),
        }
    }

    /// First instant [s].
    pub fn start(&self) -> f64 {
        self.time[0]
    }

    /// Last instant [s].
    pub fn end(&self) -> f64 {
        self.time[self.time.len() - 1]
    }

    /// The drive at time `t` [s], by straight lines between samples.
    ///
    /// Outside its span the drive holds its first or last values, with no change of spin. A rate of change of the
    /// spin that the drive does not state is itself taken at the samples (central difference) and then along
    /// straight lines, so that it does not jump from step to step.
    pub fn at(&self, t: f64) -> Moment {
        let (i, u) = self.locate(t);
        let j = (i + 1).min(self.time.len() - 1);
        let (spin, spin_rate) = match &self.spin {
            None => (DVec3::ZERO, DVec3::ZERO),
            Some(s) => {
                let inside = t >= self.start() && t <= self.end();
                let rate = match &self.spin_rate {
                    _ if !inside => DVec3::ZERO,
                    Some(rate) => rate[i].lerp(rate[j], u),
                    None => self.spin_slope(s, i).lerp(self.spin_slope(s, j), u),
                };
                (s[i].lerp(s[j], u), rate)
            }
        };
        Moment {
            gravity: self.gravity[i].lerp(self.gravity[j], u),
            spin,
            spin_rate,
            engine_speed: mix(&self.engine_speed, i, j, u),
        }
    }

    /// Road speed at time `t` [m/s].
    pub fn speed_at(&self, t: f64) -> f64 {
        let (i, u) = self.locate(t);
        mix(&self.speed, i, (i + 1).min(self.time.len() - 1), u)
    }

    /// Distance at time `t` [m].
    pub fn distance_at(&self, t: f64) -> f64 {
        let (i, u) = self.locate(t);
        mix(&self.distance, i, (i + 1).min(self.time.len() - 1), u)
    }

    /// Place at time `t` [m], when known.
    pub fn place_at(&self, t: f64) -> Option<DVec2> {
        let (i, u) = self.locate(t);
        self.place
            .as_ref()
            .map(|p| p[i].lerp(p[(i + 1).min(p.len() - 1)], u))
    }

    /// The part of the drive between two instants [s], its clock unchanged; ends fall exactly on them.
    ///
    /// Laps are cut to the part and those wholly outside it are left out. Bounds beyond the drive mean its ends.
    pub fn window(&self, start: f64, end: f64) -> Drive {
        let (start, end) = (start.max(self.start()), end.min(self.end()));
        let inner = self.time.iter().copied().filter(|&t| t > start && t < end);
        let time: Vec<f64> = std::iter::once(start)
            .chain(inner)
            .chain((end > start).then_some(end))
            .collect();
        let moments: Vec<Moment> = time.iter().map(|&t| self.at(t)).collect();
        Drive {
            name: self.name.clone(),
            gravity: moments.iter().map(|m| m.gravity).collect(),
            spin: self
                .spin
                .as_ref()
                .map(|_| moments.iter().map(|m| m.spin).collect()),
            spin_rate: self
                .spin_rate
                .as_ref()
                .map(|_| moments.iter().map(|m| m.spin_rate).collect()),
            pivot: self.pivot,
            engine_speed: moments.iter().map(|m| m.engine_speed).collect(),
            speed: time.iter().map(|&t| self.speed_at(t)).collect(),
            distance: time.iter().map(|&t| self.distance_at(t)).collect(),
            place: self
                .place
                .as_ref()
                .map(|_| time.iter().filter_map(|&t| self.place_at(t)).collect()),
            laps: self
                .laps
                .iter()
                .filter(|l| l.end > start && l.start < end)
                .map(|l| Lap {
                    name: l.name.clone(),
                    start: l.start.max(start),
                    end: l.end.min(end),
                })
                .collect(),
            said: self.said.clone(),
            time,
        }
    }

    /// The same drive in a mirror: left becomes right (y to -y). Spin is an axial vector, so roll and yaw turn over.
    pub fn mirrored(&self) -> Drive {
        let mut d = self.clone();
        for g in &mut d.gravity {
            g.y = -g.y;
        }
        for s in d.spin.iter_mut().chain(d.spin_rate.iter_mut()).flatten() {
            s.x = -s.x;
            s.z = -s.z;
        }
        d.pivot.y = -d.pivot.y;
        for p in d.place.iter_mut().flatten() {
            p.y = -p.y;
        }
        d
    }

    /// The same drive seen from another frame; `new_from_old` turns vectors.
    pub fn in_frame(&self, new_from_old: DMat3) -> Drive {
        let mut d = self.clone();
        for g in &mut d.gravity {
            *g = new_from_old * *g;
        }
        for s in d.spin.iter_mut().chain(d.spin_rate.iter_mut()).flatten() {
            *s = new_from_old * *s;
        }
        d.pivot = new_from_old * d.pivot;
        d
    }

    /// Sample at or before `t` and the share of the way to the next one, 0 to 1.
    fn locate(&self, t: f64) -> (usize, f64) {
        let n = self.time.len();
        let after = self.time.partition_point(|&x| x <= t);
        if after == 0 {
            return (0, 0.0);
        }
        if after == n {
            return (n - 1, 0.0);
        }
        let (a, b) = (self.time[after - 1], self.time[after]);
        (after - 1, (t - a) / (b - a))
    }

    fn spin_slope(&self, spin: &[DVec3], i: usize) -> DVec3 {
        let (a, b) = (i.saturating_sub(1), (i + 1).min(spin.len() - 1));
        if a == b {
            DVec3::ZERO
        } else {
            (spin[b] - spin[a]) / (self.time[b] - self.time[a])
        }
    }
}

fn mix(v: &[f64], i: usize, j: usize, u: f64) -> f64 {
    v[i] + (v[j] - v[i]) * u
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small() -> Drive {
        Drive {
            name: "small".into(),
            time: vec![0.0, 1.0, 3.0],
            gravity: vec![
                DVec3::new(0.0, 0.0, -9.8),
                DVec3::new(1.0, -2.0, -9.8),
                DVec3::new(3.0, -4.0, -9.8),
            ],
            spin: Some(vec![DVec3::ZERO, DVec3::Z, DVec3::Z * 3.0]),
            spin_rate: None,
            pivot: DVec3::ZERO,
            engine_speed: vec![10.0, 20.0, 60.0],
            speed: vec![0.0, 2.0, 2.0],
            distance: vec![0.0, 1.0, 5.0],
            place: None,
            laps: vec![Lap {
                name: "lap 1".into(),
                start: 0.0,
                end: 2.0,
            }],
            said: vec![],
        }
    }

    #[test]
    fn a_drive_is_read_between_its_samples_and_held_outside() {
        let d = small();
        let m = d.at(2.0);
        assert_eq!(m.gravity, DVec3::new(2.0, -3.0, -9.8));
        assert_eq!(m.spin, DVec3::Z * 2.0);
        assert_eq!(m.spin_rate, DVec3::Z);
        assert_eq!(m.engine_speed, 40.0);
        assert_eq!(d.at(-5.0).gravity, d.gravity[0]);
        assert_eq!(d.at(9.0).gravity, d.gravity[2]);
        assert_eq!(d.at(9.0).spin_rate, DVec3::ZERO);
    }

    #[test]
    fn a_window_reads_as_the_drive_it_was_cut_from() {
        let d = small();
        let w = d.window(0.5, 2.5);
        w.check().unwrap();
        assert_eq!((w.start(), w.end()), (0.5, 2.5));
        for t in [0.5, 0.9, 1.7, 2.5] {
            assert!((w.at(t).gravity - d.at(t).gravity).length() < 1e-12);
            assert_eq!(w.at(t).engine_speed, d.at(t).engine_speed);
        }
        assert_eq!(w.laps[0].start, 0.5);
    }

    #[test]
    fn a_mirror_held_twice_gives_the_drive_back() {
        let d = small();
        assert_eq!(d.mirrored().mirrored(), d);
        assert_eq!(d.mirrored().at(2.0).gravity.y, 3.0);
        assert_eq!(d.mirrored().at(2.0).spin.z, -2.0);
    }

    #[test]
    fn a_poisoned_number_is_found_in_every_series() {
        let mut d = small();
        d.gravity[1].z = f64::NAN;
        assert_eq!(
            d.check(),
            Err(DriveFault::NotANumber {
                series: "gravity",
                sample: 1
            })
        );
        let mut d = small();
        d.engine_speed[2] = f64::INFINITY;
        assert_eq!(
            d.check(),
            Err(DriveFault::NotANumber {
                series: "engine speed",
                sample: 2
            })
        );
        let mut d = small();
        d.time[2] = 1.0;
        assert_eq!(d.check(), Err(DriveFault::TimeNotRising { sample: 2 }));
        let off = Drive {
            pivot: DVec3::new(0.0, f64::NAN, 0.0),
            ..small()
        };
        assert_eq!(off.check(), Err(DriveFault::Pivot));
        let rate = Drive {
            spin: None,
            spin_rate: Some(vec![DVec3::ZERO; 3]),
            ..small()
        };
        assert_eq!(rate.check(), Err(DriveFault::RateWithoutSpin));
    }
}
