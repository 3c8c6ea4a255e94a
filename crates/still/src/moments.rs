//! The cheap measure: which moments of a drive look worst, so that they are computed in three dimensions.
//!
//! Oil does not follow gravity at once; it swings with its first sideways mode. So apparent gravity is
//! passed, axis by axis of the pan, through a second-order low-pass at that mode's rate, lightly damped: a
//! flick with the beat of the mode overshoots, a short kick is softened. Under the direction so found the
//! oil is taken at rest, with plates ignored and with spaces that keep their oil; the smaller cover counts.
//! This ranks moments. It is no verdict.

use std::ops::RangeInclusive;

use glam::{DMat3, DVec3};
use pan::{Lattice, LevelFault, Pan};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::columns::Columns;
use crate::{FirstInstant, StillFault, first_mode, level, up_from};

mod lag;
mod naming;

pub use naming::{pushed_toward, what_the_car_does};

/// Rate at which the measure looks at the drive [1/s]: well above the first mode of any pan (1 to 2 Hz).
const LOOKS: f64 = 20.0;

/// How long an acceleration must last, on average, to be called the strongest [s].
const HELD: f64 = 0.5;

/// Where in its window a moment's worst instant is put, 0 start, 1 end: the oil comes back after it.
const WORST_IN_WINDOW: f64 = 0.6;

/// A drive as slices of one length. Gravity in the *pan* frame.
#[derive(Clone, Copy, Debug)]
pub struct DriveView<'a> {
    /// Time [s], rising.
    pub time: &'a [f64],
    /// Apparent gravity in the pan frame [m/s²].
    pub gravity: &'a [DVec3],
    /// Oil in the pan [m³].
    pub pan_volume: &'a [f64],
    /// Distance into the lap [m], when known: keeps one corner from being picked on every lap.
    pub place: Option<&'a [f64]>,
}

/// How many moments, and how long.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wanted {
    /// Number of moments.
    pub count: usize,
    /// Length of the window that counts [s].
    pub window: f64,
    /// Run-in before it [s].
    pub run_in: f64,
}

/// Why a moment was picked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pick {
    /// Least oil over the mouth by the cheap measure.
    LeastCover,
    /// Strongest braking of the drive.
    StrongestBraking,
    /// Strongest left-hand cornering.
    StrongestLeft,
    /// Strongest right-hand cornering.
    StrongestRight,
}

/// A moment worth computing in three dimensions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// Start of the run-in [s].
    pub run_in_start: f64,
    /// Start of the window that counts [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
    /// The worst instant by the cheap measure [s].
    pub worst_at: f64,
    /// Oil over the mouth at that instant by the cheap measure [m]; below zero when bare.
    pub margin: f64,
    /// What the car does: "long left", "hard braking", "left under braking".
    pub name: String,
    /// Where the oil is pushed, seen from above in the pan: "right", "front left".
    pub pushed: String,
    /// Why it was picked.
    pub pick: Pick,
    /// The same in words.
    pub why: String,
}

/// The moments of a drive that look worst, worst first: the least cover, then the strongest braking, left
/// and right where no window holds that instant yet, then the next least covers, up to `wanted.count`. The
/// worst instants of least-cover picks lie at least a window from those of all picks before them, on this
/// and on any other lap; the window of a strongest pick may overlap another.
///
/// `pan_from_car` turns car vectors into the pan's. Errors when series do not fit each other, a number is
/// none, or the oil has no level at some instant.
pub fn worst_moments(
    pan: &Pan,
    lattice: Option<&Lattice>,
    pan_from_car: DMat3,
    drive: &DriveView,
    wanted: &Wanted,
) -> Result<Vec<Moment>, StillFault> {
    check(drive, wanted)?;
    let looks = Looks::new(pan, lattice, pan_from_car, drive)?;
    let mut picked: Vec<(usize, Pick)> = Vec::new();
    let free = |picked: &[(usize, Pick)], at: usize| {
        picked
            .iter()
            .all(|&(other, _)| (looks.time[at] - looks.time[other]).abs() >= wanted.window)
    };
    let elsewhere = |picked: &[(usize, Pick)], at: usize| {
        picked
            .iter()
            .all(|&(other, _)| !looks.same_place(at, other, wanted.window))
    };
    let least = |picked: &[(usize, Pick)]| {
        (0..looks.time.len())
            .filter(|&at| free(picked, at) && elsewhere(picked, at))
            .min_by(|&a, &b| looks.margin[a].total_cmp(&looks.margin[b]))
    };
    if wanted.count > 0
        && let Some(at) = least(&picked)
    {
        picked.push((at, Pick::LeastCover));
    }
    for (pick, direction) in [
        (Pick::StrongestBraking, -DVec3::X),
        (Pick::StrongestLeft, DVec3::Y),
        (Pick::StrongestRight, -DVec3::Y),
    ] {
        let strength = |at: usize| looks.held[at].dot(direction);
        let strongest = (0..looks.time.len()).max_by(|&a, &b| strength(a).total_cmp(&strength(b)));
        if let Some(at) = strongest
            && picked.len() < wanted.count
            && strength(at) > naming::NOTICEABLE
            && !picked
                .iter()
                .any(|&(other, _)| looks.window(other, wanted).contains(&looks.time[at]))
        {
            picked.push((at, pick));
        }
    }
    while picked.len() < wanted.count
        && let Some(at) = least(&picked)
    {
        picked.push((at, Pick::LeastCover));
    }
    let mut moments: Vec<Moment> = picked
        .iter()
        .map(|&(at, pick)| looks.moment(at, pick, wanted))
        .collect();
    moments.sort_by(|a, b| a.margin.total_cmp(&b.margin).then(a.start.total_cmp(&b.start)));
    Ok(moments)
}

fn check(drive: &DriveView, wanted: &Wanted) -> Result<(), StillFault> {
    let due = drive.time.len();
    if due < 2
        || drive
            .time
            .windows(2)
            .any(|w| w[0].partial_cmp(&w[1]) != Some(std::cmp::Ordering::Less))
    {
        return Err(StillFault::DriveRagged { what: "times" });
    }
    if drive.gravity.len() != due || drive.gravity.iter().any(|g| !g.is_finite()) {
        return Err(StillFault::DriveRagged {
            what: "accelerations",
        });
    }
    if drive.pan_volume.len() != due || drive.pan_volume.iter().any(|v| !v.is_finite()) {
        return Err(StillFault::DriveRagged { what: "oil volumes" });
    }
    if drive
        .place
        .is_some_and(|place| place.len() != due || place.iter().any(|p| !p.is_finite()))
    {
        return Err(StillFault::DriveRagged { what: "places" });
    }
    for (what, value) in [
        ("the window of a moment [s]", wanted.window),
        ("the run-in [s]", wanted.run_in),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(StillFault::BadNumber { what, value });
        }
    }
    Ok(())
}

/// The drive at an even rate with the cheap measure beside it.
struct Looks {
    time: Vec<f64>,
    /// Apparent gravity, pan frame [m/s²], as the drive has it.
    gravity: Vec<DVec3>,
    /// Acceleration of the car in its own frame, meaned over [`HELD`] [m/s²].
    held: Vec<DVec3>,
    /// Cheap measure [m].
    margin: Vec<f64>,
    place: Option<Vec<f64>>,
    pan_from_car: DMat3,
    end: f64,
}

impl Looks {
    fn new(
        pan: &Pan,
        lattice: Option<&Lattice>,
        pan_from_car: DMat3,
        drive: &DriveView,
    ) -> Result<Looks, StillFault> {
        let (start, end) = (drive.time[0], drive.time[drive.time.len() - 1]);
        let count = ((end - start) * LOOKS).floor() as usize + 1;
        let time: Vec<f64> = (0..count).map(|i| start + i as f64 / LOOKS).collect();
        let gravity: Vec<DVec3> = time
            .iter()
            .map(|&t| lag::at(drive.time, drive.gravity, t))
            .collect();
        let volume: Vec<f64> = time
            .iter()
            .map(|&t| lag::at(drive.time, drive.pan_volume, t))
            .collect();
        let place = drive
            .place
            .map(|p| time.iter().map(|&t| lag::at(drive.time, p, t)).collect());

        let rest_up = pan_from_car * DVec3::Z;
        let usual = volume.iter().sum::<f64>() / count as f64;
        let modes = modes(pan, rest_up, usual)?;
        let lagged = lag::second_order(&gravity, 1.0 / LOOKS, modes);
        let margin = margins(pan, lattice, rest_up, &lagged, &volume)?;

        let weight = DVec3::new(0.0, 0.0, -measure::STANDARD_GRAVITY);
        let acceleration: Vec<DVec3> = gravity
            .iter()
            .map(|&g| weight - pan_from_car.transpose() * g)
            .collect();
        let held = lag::running_mean(&acceleration, (HELD * LOOKS) as usize);
        Ok(Looks {
            time,
            gravity,
            held,
            margin,
            place,
            pan_from_car,
            end,
        })
    }

    /// True when the place of `at` is passed within a `window` [s] before or after `other`, on whatever lap.
    fn same_place(&self, at: usize, other: usize, window: f64) -> bool {
        let Some(place) = &self.place else { return false };
        let reach = (window * LOOKS) as usize;
        let from = place[other.saturating_sub(reach)];
        let to = place[(other + reach).min(place.len() - 1)];
        let here = place[at];
        // A stretch over the finish line counts from its start to the line and from the line to its end.
        if from <= to {
            (from..=to).contains(&here)
        } else {
            here >= from || here <= to
        }
    }

    /// The window round a worst instant, kept inside the drive [s].
    fn window(&self, at: usize, wanted: &Wanted) -> RangeInclusive<f64> {
        let start = self.time[at] - WORST_IN_WINDOW * wanted.window;
        let start = start.min(self.end - wanted.window).max(self.time[0]);
        start..=(start + wanted.window).min(self.end)
    }

    fn moment(&self, at: usize, pick: Pick, wanted: &Wanted) -> Moment {
        let worst_at = self.time[at];
        let first = self.time[0];
        let start = (worst_at - WORST_IN_WINDOW * wanted.window)
            .min(self.end - wanted.window)
            .max(first);
        let end = (start + wanted.window).min(self.end);
        let rows = self.time.partition_point(|&t| t < start)..self.time.partition_point(|&t| t <= end);
        let name = what_the_car_does(
            &self.held[rows],
            at - self.time.partition_point(|&t| t < start),
            LOOKS,
        );
        let strength = |v: f64| v.abs() / measure::STANDARD_GRAVITY;
        let why = match pick {
            Pick::LeastCover => "least oil over the mouth, taken as at rest".to_string(),
            Pick::StrongestBraking => format!("strongest braking, {:.2} g", strength(self.held[at].x)),
            Pick::StrongestLeft => format!(
                "strongest left-hand cornering, {:.2} g",
                strength(self.held[at].y)
            ),
            Pick::StrongestRight => format!(
                "strongest right-hand cornering, {:.2} g",
                strength(self.held[at].y)
            ),
        };
        let pushed = pushed_toward(self.gravity[at], self.pan_from_car * DVec3::Z);
        Moment {
            run_in_start: (start - wanted.run_in).max(self.time[0]),
            start,
            end,
            worst_at,
            margin: self.margin[at],
            name,
            pushed,
            pick,
            why,
        }
    }
}

/// Rates of the first sideways mode along x, y and z of the pan [Hz], for `volume` [m³] at rest: as a box of
/// the wetted plan's length and mean depth. Up and down there is no such mode: oil follows at once.
fn modes(pan: &Pan, rest_up: DVec3, volume: f64) -> Result<[Option<f64>; 3], StillFault> {
    let offset = level(pan, rest_up, volume)?;
    let below = pan.cavity.below(rest_up, offset);
    let (low, high) = pan.cavity.bounds();
    let height = (offset - rest_up.truncate().dot(0.5 * (low + high).truncate())) / rest_up.z;
    let extent = match pan.cavity.level_section(height).bounds() {
        Some((low, high)) => high - low,
        None => (high - low).truncate(),
    };
    if !(below.surface > 0.0 && volume > 0.0) {
        return Ok([None; 3]);
    }
    let depth = volume / below.surface;
    let rate = |length: f64| Some(first_mode(length, depth, measure::STANDARD_GRAVITY));
    Ok([rate(extent.x), rate(extent.y), None])
}

fn margins(
    pan: &Pan,
    lattice: Option<&Lattice>,
    rest_up: DVec3,
    gravity: &[DVec3],
    volume: &[f64],
) -> Result<Vec<f64>, StillFault> {
    let usual = volume.iter().sum::<f64>() / volume.len() as f64;
    let most = volume.iter().copied().fold(0.0, f64::max);
    if volume.iter().any(|v| *v < 0.0) || most > pan.cavity.volume() {
        return Err(LevelFault::Overfull {
            volume: most,
            capacity: pan.cavity.volume(),
        }
        .into());
    }
    // Columns give a level ten times faster than the exact cavity; for a ranking they are good enough.
    let whole = lattice.map(Columns::whole);
    let instant = match lattice {
        Some(lattice) if lattice.spaces.len() > 1 => Some(FirstInstant::new(lattice, rest_up, usual)?),
        _ => None,
    };
    (0..gravity.len())
        .into_par_iter()
        .map(|at| {
            let up = up_from(gravity[at])?;
            let long = match &whole {
                Some(columns) => columns.level(up, volume[at]) - up.dot(pan.mouth.at),
                None => crate::margin(pan, up, volume[at])?,
            };
            let kept = instant.as_ref().map(|i| {
                let share = i.kept[i.mouth_space] / usual;
                i.margin_with(up, share * volume[at])
            });
            Ok(kept.map_or(long, |kept| kept.min(long)))
        })
        .collect()
}
