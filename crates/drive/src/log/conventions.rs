//! What the numbers of a log mean in the car frame: spikes out, gravity out of the vertical, signs, mounting.

use super::evidence::{from_place, rest};
use super::names::Channel;
use super::notes::{Notes, Topic};
use super::scale::{RATES, Scaled};
use super::{LogFault, LogOptions, Trouble, assemble, drift, mounting, signs, spikes, vibration};
use glam::{DVec2, DVec3};
use measure::STANDARD_GRAVITY;

/// A log in the car frame, on its own clock.
pub(super) struct Settled {
    pub time: Vec<f64>,
    pub step: f64,
    /// Line of each row in the file.
    pub lines: Vec<u32>,
    /// Acceleration of the car [m/s²], gravity not in it.
    pub acceleration: Vec<DVec3>,
    pub spin: Option<Vec<DVec3>>,
    pub speed: Option<Vec<f64>>,
    pub engine: Option<Vec<f64>>,
    /// Distance as logged [m].
    pub distance: Option<Vec<f64>>,
    pub lap: Option<Vec<f64>>,
    pub place: Option<Vec<DVec2>>,
    /// Pressures [Pa] and temperatures [K].
    pub beside: Vec<(Channel, Vec<f64>)>,
    /// Column of lateral, for faults.
    pub column: usize,
    pub notes: Notes,
}

pub(super) fn settle(mut log: Scaled, options: &LogOptions) -> Result<Settled, Vec<LogFault>> {
    take_spikes_out(&mut log);
    let turning = known_speed(&mut log);
    zero_the_rates(&mut log);
    mounting::straighten(&mut log, turning.as_deref(), options).map_err(|f| vec![f])?;
    if let Some(cutoff) = assemble::cutoff(1.0 / log.step, options).ok().flatten() {
        vibration::tell(&mut log, cutoff);
    }
    take_gravity_out(&mut log).map_err(|f| vec![f])?;
    let signs = signs::find(&log, turning.as_deref()).map_err(|f| vec![f])?;
    for note in signs.notes.sorted() {
        log.notes.say(note.topic, note.said);
    }
    for (channel, sign) in signs.turned {
        if sign == 0.0 {
            log.channels.remove(&channel);
        } else if let Some(series) = log.channels.get_mut(&channel)
            && sign < 0.0
        {
            series.values.iter_mut().for_each(|v| *v *= sign);
        }
    }
    drift::settle(&mut log, turning.as_deref(), options);
    say_offset(&mut log);
    say_strongest(&mut log, signs.proved_by_place);
    let take = |channel| log.values(channel).map(<[f64]>::to_vec);
    let n = log.time.len();
    let part = |channel, i: usize| log.values(channel).map_or(0.0, |v| v[i]);
    let acceleration = (0..n)
        .map(|i| {
            DVec3::new(
                part(Channel::Longitudinal, i),
                part(Channel::Lateral, i),
                part(Channel::Vertical, i),
            )
        })
        .collect();
    let turns = |i| {
        DVec3::new(
            part(Channel::RollRate, i),
            part(Channel::PitchRate, i),
            part(Channel::YawRate, i),
        )
    };
    let spin = log
        .channels
        .contains_key(&Channel::YawRate)
        .then(|| (0..n).map(turns).collect());
    let (speed, engine) = (take(Channel::Speed), take(Channel::EngineSpeed));
    let (distance, lap) = (take(Channel::Distance), take(Channel::Lap));
    let beside = [Channel::OilPressure, Channel::OilTemperature]
        .into_iter()
        .filter_map(|c| take(c).map(|v| (c, v)))
        .collect();
    if spin.is_none() {
        log.notes.say(
            Topic::Mounting,
            "The log has no yaw rate: the turning of the pan itself is left out.",
        );
    }
    log.notes.say(Topic::Mounting, "Body roll and dive are not taken out of the accelerations; a sensor fixed to the body feels what the pan feels.");
    Ok(Settled {
        time: log.time,
        step: log.step,
        lines: log.lines,
        acceleration,
        spin,
        speed,
        engine,
        distance,
        lap,
        place: log.place,
        beside,
        column: log.channels.get(&Channel::Lateral).map_or(1, |s| s.at.0),
        notes: log.notes,
    })
}

fn take_spikes_out(log: &mut Scaled) {
    let g = STANDARD_GRAVITY;
    // On slow logs true changes from one sample to the next are larger; at one or two samples a second a driver goes from hard
    // left to hard right between two of them. Common practice, no source.
    let level = match log.step {
        s if s > 0.4 => 3.0 * g,
        s if s > 0.15 => 1.5 * g,
        _ => g,
    };
    let n = log.time.len();
    for (channel, series) in &mut log.channels {
        let least = match channel {
            Channel::Longitudinal | Channel::Lateral => level,
            Channel::Vertical => 3.0 * g,
            Channel::RollRate | Channel::PitchRate | Channel::YawRate => 2.0,
            Channel::Speed => 15.0,
            Channel::EngineSpeed => 50.0,
            _ => continue,
        };
        let rows = spikes::remove(&mut series.values, least);
        if let Some(&first) = rows.first() {
            let many = if rows.len() * 50 > n {
                " That is many; check the sensor and its wiring."
            } else {
                ""
            };
            log.notes.say(Topic::Cleaning, format!(
                "Column '{}' ({}): {} spike(s) replaced by the median of their neighbours, the first on line {}.{many}",
                series.name,
                channel.words(),
                rows.len(),
                log.lines[first]
            ));
        }
    }
}

/// Leaves the acceleration upward alone in the vertical channel.
fn take_gravity_out(log: &mut Scaled) -> Result<(), LogFault> {
    let Some(series) = log.channels.get_mut(&Channel::Vertical) else {
        log.notes.say(
            Topic::Mounting,
            "The log has no vertical acceleration: the road is taken as flat and smooth.",
        );
        return Ok(());
    };
    let mean = series.values.iter().sum::<f64>() / series.values.len() as f64 / STANDARD_GRAVITY;
    let said = match mean {
        m if m > 0.6 && m < 1.5 => {
            series.values.iter_mut().for_each(|v| *v -= STANDARD_GRAVITY);
            format!("Vertical acceleration has a mean of {mean:.3} g: gravity is in it, and was taken out.")
        }
        m if m < -0.6 && m > -1.5 => {
            series.values.iter_mut().for_each(|v| *v = -*v - STANDARD_GRAVITY);
            format!(
                "Vertical acceleration has a mean of {mean:.3} g: gravity is in it and it points down; it was turned over and gravity taken out."
            )
        }
        m if m.abs() < 0.4 => {
            let sign = series.sign.unwrap_or(1.0);
            series.values.iter_mut().for_each(|v| *v *= sign);
            let sure = if series.sign.is_some() {
                "as stated"
            } else {
                "as nothing in the log can prove"
            };
            format!(
                "Vertical acceleration has a mean of {mean:.3} g: gravity is not in it. It is taken as upward, {sure}."
            )
        }
        _ => {
            let trouble = Trouble::VerticalUnclear {
                column: series.name.clone(),
                mean,
            };
            return Err(log.fault(Channel::Vertical, trouble));
        }
    };
    series.sign = Some(if mean < -0.6 { -1.0 } else { 1.0 });
    log.notes.say(Topic::Mounting, said);
    Ok(())
}

/// Makes sure of a speed where place or distance tell it, and returns the turning [rad/s] that the place tells.
fn known_speed(log: &mut Scaled) -> Option<Vec<f64>> {
    use super::scale::Series;
    let from = log
        .place
        .as_ref()
        .map(|p| from_place(&log.time, log.place_step, p));
    if !log.channels.contains_key(&Channel::Speed) {
        let (values, source) = match (&from, log.values(Channel::Distance)) {
            (Some((speed, _)), _) => (speed.clone(), "place"),
            (None, Some(d)) => (speed_from_distance(&log.time, d), "distance"),
            (None, None) => {
                log.notes.say(Topic::Caution, "The log has no speed, distance or place: speed and distance are shown as zero and signs cannot be proved.");
                return None;
            }
        };
        log.notes.say(
            Topic::Channels,
            format!("The log has no speed; it is taken from the {source}."),
        );
        log.channels.insert(
            Channel::Speed,
            Series {
                name: source.into(),
                values,
                sign: None,
                named: false,
                at: (1, 1),
            },
        );
    }
    from.map(|f| f.1)
}

/// Slope of the distance [m/s]; a fall back to zero at a new lap counts as standing for that step.
fn speed_from_distance(time: &[f64], distance: &[f64]) -> Vec<f64> {
    let n = time.len();
    let step = |i: usize| ((distance[i + 1] - distance[i]).max(0.0), time[i + 1] - time[i]);
    (0..n)
        .map(|i| {
            let (a, b) = (step(i.max(1) - 1), step(i.min(n - 2)));
            (a.0 + b.0) / (a.1 + b.1)
        })
        .collect()
}

/// Takes out what the rate sensors show while the car stands.
fn zero_the_rates(log: &mut Scaled) {
    let Some(rows) = rest(log) else { return };
    for channel in RATES {
        let Some(series) = log.channels.get_mut(&channel) else {
            continue;
        };
        let mean = rows.iter().map(|&i| series.values[i]).sum::<f64>() / rows.len() as f64;
        // Half a degree a second: at 40 m/s it would pass for 0.04 g across. Less is within the grain of such sensors.
        if mean.abs() < 0.5_f64.to_radians() {
            continue;
        }
        series.values.iter_mut().for_each(|v| *v -= mean);
        log.notes.say(
            Topic::Cleaning,
            format!(
                "The {} shows {:+.2} deg/s while the car stands; that was taken out.",
                channel.words(),
                mean.to_degrees()
            ),
        );
    }
}

/// Says what the sensor shows when the car is neither turning nor changing speed.
fn say_offset(log: &mut Scaled) {
    let n = log.time.len();
    let (zero, speed) = (vec![0.0; n], log.values(Channel::Speed));
    let yaw = log.values(Channel::YawRate).unwrap_or(&zero);
    let enough = |rows: Vec<usize>, seconds: f64| Some(rows).filter(|r| r.len() as f64 * log.step >= seconds);
    let standing = rest(log);
    let straight = speed
        .filter(|_| log.channels.contains_key(&Channel::YawRate))
        .and_then(|v| {
            let change = |i: usize| {
                let (a, b) = (i.max(1) - 1, (i + 1).min(n - 1));
                (v[b] - v[a]) / (log.time[b] - log.time[a])
            };
            let steady = |i: &usize| v[*i] > 5.0 && (v[*i] * yaw[*i]).abs() < 0.5 && change(*i).abs() < 0.5;
            enough((0..n).filter(steady).collect(), 5.0)
        });
    let (rows, when) = match (standing, straight) {
        (Some(rows), _) => (rows, "while the car stands"),
        (None, Some(rows)) => (rows, "on the straights at steady speed"),
        (None, None) => (
            (0..n).collect(),
            "over the whole log, for want of a standstill or a steady straight,",
        ),
    };
    let mean = |channel| {
        log.values(channel).map_or(0.0, |v| {
            rows.iter().map(|&i| v[i]).sum::<f64>() / rows.len() as f64
        })
    };
    let (forward, left) = (mean(Channel::Longitudinal), mean(Channel::Lateral));
    let tilt = |a: f64| (a / STANDARD_GRAVITY).clamp(-1.0, 1.0).asin().to_degrees();
    let shown = if rows.len() < n {
        format!(
            " (tilts of {:.1} and {:.1} degrees): what is left of a crooked sensor, or the slope of the place",
            rounded(tilt(forward), 10.0),
            rounded(tilt(left), 10.0)
        )
    } else {
        "; braking and cornering are in it, so it says nothing of how the sensor sits".into()
    };
    log.notes.say(
        Topic::Mounting,
        format!(
            "Mounting: {when} the mean is {:+.3} g forward and {:+.3} g left{shown}.",
            rounded(forward / STANDARD_GRAVITY, 1e3),
            rounded(left / STANDARD_GRAVITY, 1e3),
        ),
    );
}

/// Rounded to one in `parts`, so that nothing is shown as minus zero.
fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts + 0.0
}

/// Names the hardest corner with its direction, so that a driver can tell whether left and right came out right.
fn say_strongest(log: &mut Scaled, proved: bool) {
    let Some(lateral) = log.values(Channel::Lateral) else {
        return;
    };
    let means = log.windows.mean(&log.time, lateral);
    let Some(k) = (0..means.len()).max_by(|&a, &b| means[a].abs().total_cmp(&means[b].abs())) else {
        return;
    };
    let way = if means[k] > 0.0 { "left" } else { "right" };
    let end = if proved {
        "The place confirms the side."
    } else if log.channels.contains_key(&Channel::YawRate) {
        "If it was the other way, turn both lateral and yaw rate over (sign = -1 or 1 for each)."
    } else {
        "If it was the other way, turn lateral over (sign = -1 or 1)."
    };
    log.notes.say(
        Topic::Mounting,
        format!(
            "The hardest corner, {:.2} g at {:.1} s after the first row, is read as one to the {way}. {end}",
            means[k].abs() / STANDARD_GRAVITY,
            log.windows.instant(k)
        ),
    );
}
