//! Zeros and gains that are off or that drift, in the car's axes.
//!
//! Along each axis the sensor is compared with what speed and turning say: `s(t) = a(t) x(t) + c(t)`, with `x` the change of
//! speed or speed times yaw rate, the gain `a` along a straight line in time and the zero `c` along straight lines between
//! knots some minutes apart. Both come from one least-squares fit over means of a second.

use super::LogOptions;
use super::evidence::rest;
use super::names::Channel;
use super::notes::Topic;
use super::regression;
use super::scale::Scaled;
use measure::STANDARD_GRAVITY;

/// Time between knots [s], and most knots.
const KNOTS: (f64, usize) = (150.0, 9);
/// Shortest log in which drift is looked for [s].
const SHORTEST: f64 = 60.0;
/// Least drift or offset of a zero that is told [m/s²]; cambers of a road make as much.
const LEAST_ZERO: f64 = 0.025 * STANDARD_GRAVITY;
/// Drift of longitudinal beyond what a road makes that climbs by one in fifteen and falls again [m/s²].
const STEEPEST: f64 = 0.13 * STANDARD_GRAVITY;
/// Least change of a gain over the log that is told.
const LEAST_GAIN: f64 = 0.08;

/// What the fit of one axis found.
struct Fitted {
    /// Knots [s] and the zero there [m/s²].
    knots: Vec<f64>,
    zeros: Vec<f64>,
    /// Standard error of a zero, the largest.
    zero_error: f64,
    /// Gain in the middle of the log, its change over the log, and the error of the change.
    gain: Option<(f64, f64, f64)>,
}

/// Finds zeros and gains that drift, beside what speed, yaw rate or the `turning` of the place say, and takes the drift out; takes out steady zeros as the options say.
pub(super) fn settle(log: &mut Scaled, turning: Option<&[f64]>, options: &LogOptions) {
    let Some(speed) = log.values(Channel::Speed).map(<[f64]>::to_vec) else {
        return;
    };
    let seconds = log.time[log.time.len() - 1];
    if seconds < SHORTEST {
        return;
    }
    let change = log.windows.slope(&log.time, &speed);
    let across = log.values(Channel::YawRate).or(turning).map(|yaw| {
        let product: Vec<f64> = speed.iter().zip(yaw).map(|(v, w)| v * w).collect();
        log.windows.mean(&log.time, &product)
    });
    for channel in [Channel::Longitudinal, Channel::Lateral, Channel::Vertical] {
        let cause = match channel {
            Channel::Longitudinal => Some(change.clone()),
            Channel::Lateral => across.clone(),
            _ => None,
        };
        if cause.is_none() && channel == Channel::Lateral {
            // Without turning, cornering itself would pass for a drift.
            continue;
        }
        let Some(values) = log.values(channel) else {
            continue;
        };
        let felt = log.windows.mean(&log.time, values);
        if let Some(found) = fit(log, seconds, cause.as_deref(), &felt) {
            apply(log, channel, &found, seconds, options);
        }
    }
}

fn fit(log: &Scaled, seconds: f64, cause: Option<&[f64]>, felt: &[f64]) -> Option<Fitted> {
    let count = ((seconds / KNOTS.0).ceil() as usize + 1).clamp(2, KNOTS.1);
    let knots: Vec<f64> = (0..count)
        .map(|k| seconds * k as f64 / (count - 1) as f64)
        .collect();
    let apart = knots[1];
    let instants: Vec<f64> = (0..felt.len()).map(|k| log.windows.instant(k)).collect();
    let mut columns: Vec<Vec<f64>> = (knots.iter())
        .map(|knot| {
            instants
                .iter()
                .map(|t| (1.0 - (t - knot).abs() / apart).max(0.0))
                .collect()
        })
        .collect();
    if let Some(cause) = cause {
        columns.push(cause.to_vec());
        columns.push(
            cause
                .iter()
                .zip(&instants)
                .map(|(x, t)| x * (t / seconds - 0.5))
                .collect(),
        );
    }
    let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
    let found = regression::fit(&columns, felt)?;
    let widen = log.windows.overlap().sqrt();
    let gain = cause.is_some().then(|| {
        let change = found.weights[count + 1];
        (found.weights[count], change, found.errors[count + 1] * widen)
    });
    Some(Fitted {
        zeros: found.weights[..count].to_vec(),
        zero_error: found.errors[..count].iter().fold(0.0_f64, |m, e| m.max(*e)) * widen,
        knots,
        gain,
    })
}

fn apply(log: &mut Scaled, channel: Channel, found: &Fitted, seconds: f64, options: &LogOptions) {
    let mean = found.zeros.iter().sum::<f64>() / found.zeros.len() as f64;
    let span = found
        .zeros
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| {
            (a.min(*z), b.max(*z))
        });
    let range = span.1 - span.0;
    let seen = range > LEAST_ZERO.max(5.0 * found.zero_error);
    // A road that climbs and falls by a tenth shows the same in longitudinal, and the pan does feel that; laps rule it out.
    let drifts = seen && (channel != Channel::Longitudinal || range > STEEPEST || log.repeats);
    // A gain is known only where the sensor follows its cause.
    let gain = found
        .gain
        .filter(|(gain, _, error)| (0.4..2.5).contains(gain) && *error < 0.1);
    let gain_drifts = gain.filter(|(_, change, error)| change.abs() > LEAST_GAIN.max(5.0 * error));
    let off = channel != Channel::Vertical && mean.abs() > LEAST_ZERO.max(3.0 * found.zero_error);
    let name = channel.words();
    let in_g = |v: f64| v / STANDARD_GRAVITY;
    let mut take_out = 0.0;
    if off {
        let rest = rest(log).and_then(|rows| {
            let values = log.values(channel)?;
            Some(rows.iter().map(|&i| values[i]).sum::<f64>() / rows.len() as f64)
        });
        // At rest only the first or last zero may be seen; with drift any of them will do.
        let agrees = rest.is_none_or(|r| {
            r > span.0 - (0.3 * mean.abs()).max(LEAST_ZERO) && r < span.1 + (0.3 * mean.abs()).max(LEAST_ZERO)
        });
        let out = options.remove_offset.unwrap_or(agrees);
        let beside = match rest {
            Some(r) => format!("at rest it shows {:+.3} g", in_g(r)),
            None => "the log has no standstill to compare with".to_owned(),
        };
        let done = match (out, options.remove_offset) {
            (true, Some(true)) => "it was taken out, as asked",
            (true, _) => "it was taken out",
            (false, Some(false)) => "it was left in, as asked",
            (false, _) => "the two do not agree, so it was left in (log_remove_offset = true takes it out)",
        };
        log.notes.say(
            Topic::Cleaning,
            format!(
                "The zero of {name} is off by {:+.3} g (± {:.3}) over the whole drive, beside what speed and turning say; {beside}; {done}.",
                in_g(mean),
                in_g(2.0 * found.zero_error)
            ),
        );
        if out {
            take_out = mean;
        }
    }
    if seen && !drifts {
        log.notes.say(
            Topic::Cleaning,
            format!(
                "The zero of {name} wanders by {:.3} g over the log; a road that climbs and falls does so too, and the log shows no laps \
                 that would tell. It was left in.",
                in_g(range)
            ),
        );
    }
    if drifts {
        log.notes.say(
            Topic::Cleaning,
            format!(
                "The zero of {name} drifts by {:.3} g (± {:.3}) over the log, from {:+.3} g at its start to {:+.3} g at its end; the drift was \
                 taken out.",
                in_g(range),
                in_g(2.0 * found.zero_error),
                in_g(found.zeros[0]) - if channel == Channel::Vertical { in_g(mean) } else { 0.0 },
                in_g(found.zeros[found.zeros.len() - 1]) - if channel == Channel::Vertical { in_g(mean) } else { 0.0 },
            ),
        );
    }
    if let Some((gain, change, error)) = gain_drifts {
        log.notes.say(
            Topic::Cleaning,
            format!(
                "The scale of {name} drifts: it shows {:.2} times what speed and turning say at the start of the log and {:.2} times at its \
                 end (± {:.2}); it was brought to 1 throughout.",
                gain - 0.5 * change,
                gain + 0.5 * change,
                2.0 * error
            ),
        );
    } else if let Some((gain, _, _)) = gain.filter(|(g, ..)| !(0.85..1.2).contains(g)) {
        log.notes.say(
            Topic::Caution,
            format!(
                "The {name} shows {gain:.2} times what speed and turning say, all through the log: check the scale of the sensor and the unit of \
                 the speed. It is left as logged."
            ),
        );
    }
    if !(drifts || gain_drifts.is_some() || take_out != 0.0) {
        return;
    }
    let time = log.time.clone();
    let Some(series) = log.channels.get_mut(&channel) else {
        return;
    };
    let apart = found.knots[1];
    for (t, value) in time.iter().zip(&mut series.values) {
        let zero = if drifts {
            let at = ((t / apart) as usize).min(found.zeros.len() - 2);
            let u = t / apart - at as f64;
            found.zeros[at] + (found.zeros[at + 1] - found.zeros[at]) * u
        } else {
            mean
        };
        let level = mean - take_out;
        *value = match gain_drifts {
            Some((gain, change, _)) => level + (*value - zero) / (gain + change * (t / seconds - 0.5)),
            None => *value - zero + level,
        };
    }
}
