//! How the sensor box sits in the car: found from standing and driving, or stated, and set straight.
//!
//! In means over a second the accelerations `s` of a box fixed to the body are, by the rule that it feels what the car does
//! and its own weight,
//!
//! ```text
//! s = F dv/dt + L v ω + U g
//! ```
//!
//! with `v` the speed, `ω` the yaw rate, and `F`, `L`, `U` the car's forward, left and up directions seen from the box. A
//! least-squares fit over the whole log gives the three. `U` comes from driving as well as from rest, so that a paddock on a
//! slope does not pass for a crooked sensor. The three must be at right angles and of unit size; how far they are not, with
//! the scatter of the fit, is the uncertainty. `ω` is the turning of the place, or the strongest direction of what the rate
//! sensors show: on a road yaw is far stronger than roll and pitch.

use super::evidence::{rest, strongest};
use super::middle::median;
use super::names::Channel;
use super::notes::Topic;
use super::regression;
use super::scale::{ACCELERATIONS, RATES, Scaled};
use super::{LogFault, LogOptions, Trouble};
use glam::{DMat3, DVec3, EulerRot};
use measure::STANDARD_GRAVITY;

/// Least turn that is set straight [rad]: 3 degrees, or 0.05 g. Road cambers and body lean hide smaller ones.
const LEAST: f64 = 3.0 * std::f64::consts::PI / 180.0;
/// Least turn that is set straight where the user wants offsets left in [rad].
const CERTAIN: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// Tilt beyond which a box without a known heading is asked for [rad].
const ASKED: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// Directions of the car seen from the box, with their errors, in units of the axes (1 is a true reading).
struct Directions {
    forward: DVec3,
    left: Option<DVec3>,
    up: DVec3,
    /// Standard error of the direction of each [rad].
    errors: [f64; 3],
    /// How much of the strongest axis the fit explains.
    explained: f64,
    /// What the yaw rate comes from.
    by_place: bool,
}

/// Finds how the box sits, or takes it as stated, and turns accelerations and rates into the car's axes.
pub(super) fn straighten(
    log: &mut Scaled,
    turning: Option<&[f64]>,
    options: &LogOptions,
) -> Result<(), LogFault> {
    if let Some(angles) = options.turned {
        return stated(log, angles);
    }
    let stated_sign =
        (ACCELERATIONS.iter().chain(&RATES)).any(|c| log.channels.get(c).is_some_and(|s| s.sign.is_some()));
    let both_named = ACCELERATIONS[..2]
        .iter()
        .all(|c| log.channels.get(c).is_some_and(|s| s.named));
    if stated_sign || both_named {
        // The user knows how it sits.
        return Ok(());
    }
    let three = log.channels.contains_key(&Channel::Vertical);
    match directions(log, turning, three) {
        Some(found) => by_driving(log, &found, three, options),
        None if three => by_rest(log),
        None => Ok(()),
    }
}

/// Yaw rate in means over the windows, by the best there is, and whether by place.
fn yaw(log: &Scaled, turning: Option<&[f64]>) -> Option<(Vec<f64>, bool)> {
    if let Some(turning) = turning {
        return Some((turning.to_vec(), true));
    }
    let rates: Vec<&[f64]> = RATES.iter().filter_map(|c| log.values(*c)).collect();
    if rates.len() < 3 {
        let yaw = log.values(Channel::YawRate)?;
        let upside_down = log
            .values(Channel::Vertical)
            .is_some_and(|v| median(v.to_vec()) < -0.3 * STANDARD_GRAVITY);
        let sign = if upside_down { -1.0 } else { 1.0 };
        return Some((yaw.iter().map(|v| v * sign).collect(), false));
    }
    let smooth: Vec<Vec<f64>> = rates.iter().map(|r| log.windows.mean(&log.time, r)).collect();
    let mut axis = DVec3::from_slice(&strongest(&smooth));
    // By the right hand, turning left is a turn about up.
    let level = ACCELERATIONS.map(|c| log.values(c).map_or(0.0, |v| median(v.to_vec())));
    if axis.dot(DVec3::from_array(level)) < 0.0 {
        axis = -axis;
    }
    let n = log.time.len();
    (axis != DVec3::ZERO).then(|| {
        let along = (0..n).map(|i| axis.x * rates[0][i] + axis.y * rates[1][i] + axis.z * rates[2][i]);
        (along.collect(), false)
    })
}

fn directions(log: &Scaled, turning: Option<&[f64]>, three: bool) -> Option<Directions> {
    let speed = log.values(Channel::Speed)?;
    let mean = |v: &[f64]| log.windows.mean(&log.time, v);
    let change = log.windows.slope(&log.time, speed);
    let (yaw, by_place) = match yaw(log, turning) {
        Some((yaw, by_place)) => (Some(yaw), by_place),
        None => (None, false),
    };
    let across = yaw.map(|yaw| mean(&speed.iter().zip(&yaw).map(|(v, w)| v * w).collect::<Vec<f64>>()));
    let ones = vec![1.0; change.len()];
    let mut columns: Vec<&[f64]> = vec![&change, &ones];
    // A straight road tells nothing of left; then the column would only add noise.
    let bends = across.as_ref().filter(|a| spread(a) > 0.3);
    columns.extend(bends.map(Vec::as_slice));
    let (mut forward, mut left, mut up) = (DVec3::ZERO, DVec3::ZERO, DVec3::ZERO);
    let mut errors = [0.0_f64; 3];
    let mut explained = 0.0_f64;
    let widen = log.windows.overlap().sqrt();
    for (k, channel) in ACCELERATIONS.into_iter().enumerate() {
        let Some(values) = log.values(channel) else {
            continue;
        };
        let found = regression::fit(&columns, &mean(values))?;
        forward[k] = found.weights[0];
        up[k] = found.weights[1] / STANDARD_GRAVITY;
        errors[0] = errors[0].hypot(found.errors[0] * widen);
        errors[2] = errors[2].hypot(found.errors[1] * widen / STANDARD_GRAVITY);
        if bends.is_some() {
            left[k] = found.weights[2];
            errors[1] = errors[1].hypot(found.errors[2] * widen);
        }
        explained = explained.max(found.explained);
    }
    let known = |v: DVec3, error: f64| v.length() > 0.5 && v.length() < 2.0 && error < 0.1 * v.length();
    let left = (bends.is_some() && known(left, errors[1])).then_some(left);
    let upright = !three || (0.7..1.35).contains(&up.length());
    (spread(&change) > 0.3 && known(forward, errors[0]) && upright).then_some(Directions {
        forward,
        left,
        up: if three { up } else { DVec3::Z },
        errors,
        explained,
        by_place,
    })
}

fn spread(values: &[f64]) -> f64 {
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt()
}

fn by_driving(
    log: &mut Scaled,
    found: &Directions,
    three: bool,
    options: &LogOptions,
) -> Result<(), LogFault> {
    let up = found.up.normalize();
    let flat = |v: DVec3| (v - up * v.dot(up)).normalize();
    let forward = flat(found.forward);
    let Some(left_felt) = found.left else {
        return heading_alone(log, forward, up, found.explained, three);
    };
    // Forward and left share the misfit of their right angle.
    let by_left = flat(left_felt);
    let hand = if by_left.dot(up.cross(forward)) < 0.0 {
        -1.0
    } else {
        1.0
    };
    let heading = (forward + by_left.cross(up) * hand).normalize();
    let left = up.cross(heading) * hand;
    // Rows are the car's axes seen from the box.
    let car_from_box = DMat3::from_cols(heading, left, up).transpose();
    let right_angles = [
        found.forward.normalize().dot(up).abs(),
        by_left.dot(forward).abs(),
        left_felt.normalize().dot(up).abs(),
    ];
    let misfit = right_angles
        .iter()
        .take(if three { 3 } else { 2 })
        .fold(0.0_f64, |m, v| m.max(*v))
        .asin();
    let tilt_error = (2.0 * found.errors[2]).hypot(0.3_f64.to_radians());
    let turn_error = (2.0 * (found.errors[0].min(found.errors[1])))
        .hypot(0.5 * misfit)
        .hypot(0.3_f64.to_radians());
    let (turn, mirror) = nearest(car_from_box);
    let least = if options.remove_offset == Some(false) {
        CERTAIN
    } else {
        LEAST
    };
    if turn < least.max(1.5 * turn_error.max(tilt_error)) {
        return Ok(());
    }
    let proper = car_from_box * mirror;
    let (yaw, pitch, roll) = proper.to_euler(EulerRot::ZYX);
    let degrees = |angle: f64| (10.0 * angle.to_degrees()).round() / 10.0 + 0.0;
    let (tilt, about) = (tilt_error.to_degrees(), turn_error.to_degrees());
    let angles = match three {
        true => format!(
            "roll {:+.1} and pitch {:+.1} (± {tilt:.1}), yaw {:+.1} (± {about:.1}) degrees",
            degrees(roll),
            degrees(pitch),
            degrees(yaw)
        ),
        false => format!("yaw {:+.1} (± {about:.1}) degrees", degrees(yaw)),
    };
    let source = if found.by_place {
        "the turning of the place"
    } else {
        "the yaw rate"
    };
    log.notes.say(
        Topic::Mounting,
        format!(
            "The sensor box sits turned: {angles} from the car's axes. Up comes from its weight while driving{}, forward from the change of \
             speed, left from speed times {source}; accelerations and turning rates were turned into the car's axes. To set it by hand: \
             log_turned = {{ roll = \"{:.1} deg\", pitch = \"{:.1} deg\", yaw = \"{:.1} deg\" }}.",
            against_rest(log, up, three),
            degrees(roll),
            degrees(pitch),
            degrees(yaw)
        ),
    );
    if mirror != DMat3::IDENTITY {
        let k = (0..3).find(|&k| mirror.col(k)[k] < 0.0).unwrap_or(0);
        let name = log
            .channels
            .get(&ACCELERATIONS[k])
            .map_or("", |s| s.name.as_str())
            .to_owned();
        log.notes.say(
            Topic::Mounting,
            format!("The accelerations make a left-handed set: column '{name}' reads the other way round than a box would; it was turned over."),
        );
    }
    if misfit.to_degrees() > 12.0 {
        log.notes.say(
            Topic::Caution,
            format!(
                "The directions that the sensor box shows for forward, left and up are {:.0} degrees off right angles; check its fixing and the \
                 columns of speed and yaw rate.",
                misfit.to_degrees()
            ),
        );
    }
    turn_accelerations(log, car_from_box);
    turn_rates(log, proper);
    Ok(())
}

/// Angle of a matrix from the nearest one that only turns axes over, and the mirror that makes it a true turn: none for a
/// right-handed set, else the one axis whose turning over leaves least to turn.
fn nearest(car_from_box: DMat3) -> (f64, DMat3) {
    let signs = |k: usize| {
        let sign = |bit: usize| if k >> bit & 1 == 1 { -1.0 } else { 1.0 };
        DMat3::from_diagonal(DVec3::new(sign(0), sign(1), sign(2)))
    };
    let angle = |m: DMat3| {
        (0.5 * (m.x_axis.x + m.y_axis.y + m.z_axis.z - 1.0))
            .clamp(-1.0, 1.0)
            .acos()
    };
    let det = car_from_box.determinant().signum();
    let all = (0..8).map(signs).filter(|s| s.determinant() == det);
    let turn = all.map(|s| angle(car_from_box * s)).fold(f64::INFINITY, f64::min);
    if det > 0.0 {
        return (turn, DMat3::IDENTITY);
    }
    let single = [1, 2, 4]
        .map(signs)
        .into_iter()
        .min_by(|a, b| angle(car_from_box * *a).total_cmp(&angle(car_from_box * *b)));
    (turn, single.unwrap_or(DMat3::IDENTITY))
}

/// What rest says of up, beside what driving says.
fn against_rest(log: &Scaled, up: DVec3, three: bool) -> String {
    if !three {
        return String::new();
    }
    match felt_at_rest(log) {
        Some(felt) => {
            let off = felt.normalize().dot(up).clamp(-1.0, 1.0).acos().to_degrees();
            format!(" ({off:.1} degrees from what it shows at rest)")
        }
        None => String::new(),
    }
}

/// Mean of the three accelerations at rest [m/s²].
fn felt_at_rest(log: &Scaled) -> Option<DVec3> {
    let rows = rest(log)?;
    let mean = |c| {
        let values = log.values(c)?;
        Some(rows.iter().map(|&i| values[i]).sum::<f64>() / rows.len() as f64)
    };
    Some(DVec3::new(
        mean(ACCELERATIONS[0])?,
        mean(ACCELERATIONS[1])?,
        mean(ACCELERATIONS[2])?,
    ))
}

/// Forward and up are known, left is not: no yaw rate, no place, or no bends.
fn heading_alone(
    log: &mut Scaled,
    forward: DVec3,
    up: DVec3,
    explained: f64,
    three: bool,
) -> Result<(), LogFault> {
    let off = forward.x.abs().clamp(-1.0, 1.0).acos();
    let tilt = up.z.abs().clamp(-1.0, 1.0).acos();
    // Without left, cornering hides in the scatter; exchanged columns are told by their own fault.
    let exchanged = forward.y.abs() > 0.94;
    if three && tilt > ASKED || explained > 0.6 && off > ASKED && !exchanged {
        let evidence = format!(
            "the change of speed lies {:.0} degrees off the longitudinal axis and the weight {:.0} degrees off the vertical one",
            off.to_degrees(),
            tilt.to_degrees()
        );
        let why = "the log has no yaw rate and no place, or no bends".to_owned();
        return Err(log.fault(Channel::Longitudinal, Trouble::Turned { evidence, why }));
    }
    Ok(())
}

/// Only rest, or the mean of the log, tells anything: the heading stays unknown.
fn by_rest(log: &mut Scaled) -> Result<(), LogFault> {
    let still = felt_at_rest(log);
    let level = ACCELERATIONS.map(|c| log.values(c).map_or(0.0, |v| median(v.to_vec())));
    let felt = still.unwrap_or(DVec3::from_array(level));
    if !(0.7..1.35).contains(&(felt.length() / STANDARD_GRAVITY)) {
        return Ok(());
    }
    let up = felt.normalize();
    let tilt = up.z.abs().clamp(-1.0, 1.0).acos();
    // The mean of a log that goes round one way is itself off the vertical by some degrees.
    if tilt > if still.is_some() { ASKED } else { 2.0 * ASKED } {
        let evidence = format!(
            "its weight lies {:.0} degrees off the vertical axis",
            tilt.to_degrees()
        );
        let why = match log.channels.contains_key(&Channel::Speed) {
            true => "the speed changes too little to show which way is forward".to_owned(),
            false => "the log has no speed to show which way is forward".to_owned(),
        };
        return Err(log.fault(Channel::Vertical, Trouble::Turned { evidence, why }));
    }
    Ok(())
}

/// Turns the box as the user states: roll, pitch and yaw from the car's axes to the box's [rad], yaw first.
fn stated(log: &mut Scaled, [roll, pitch, yaw]: [f64; 3]) -> Result<(), LogFault> {
    let car_from_box = DMat3::from_euler(EulerRot::ZYX, yaw, pitch, roll);
    let three = log.channels.contains_key(&Channel::Vertical);
    if !three && (roll != 0.0 || pitch != 0.0) {
        let evidence = "roll and pitch are stated".to_owned();
        let why = "there is no vertical acceleration to turn with the others".to_owned();
        return Err(log.fault(Channel::Longitudinal, Trouble::Turned { evidence, why }));
    }
    log.notes.say(
        Topic::Mounting,
        format!(
            "The sensor box is set straight as stated: roll {:+.1}, pitch {:+.1}, yaw {:+.1} degrees.",
            roll.to_degrees(),
            pitch.to_degrees(),
            yaw.to_degrees()
        ),
    );
    turn_accelerations(log, car_from_box);
    turn_rates(log, car_from_box);
    Ok(())
}

fn turn_accelerations(log: &mut Scaled, car_from_box: DMat3) {
    turn(log, ACCELERATIONS, car_from_box);
}

/// Turns the rates. Yaw alone shows its share along the box's axis, which up to a tilt of 60 degrees is made up for.
fn turn_rates(log: &mut Scaled, car_from_box: DMat3) {
    let have = RATES.iter().filter(|c| log.channels.contains_key(c)).count();
    if have == 3 {
        return turn(log, RATES, car_from_box);
    }
    let share = car_from_box.z_axis.z;
    if have == 0 || share.abs() > 0.996 {
        return;
    }
    for channel in [Channel::RollRate, Channel::PitchRate] {
        log.channels.remove(&channel);
    }
    if let Some(yaw) = log.channels.get_mut(&Channel::YawRate) {
        if share.abs() > 0.5 {
            yaw.values.iter_mut().for_each(|v| *v /= share);
        } else {
            log.channels.remove(&Channel::YawRate);
            log.notes.say(
                Topic::Caution,
                "The yaw rate is that of one axis of a box that lies over, and the other rates are not there: it is left out.",
            );
        }
    }
}

fn turn(log: &mut Scaled, channels: [Channel; 3], matrix: DMat3) {
    let n = log.time.len();
    let mut taken = channels.map(|c| log.channels.get_mut(&c).map(|s| std::mem::take(&mut s.values)));
    for i in 0..n {
        let felt = DVec3::from_array(std::array::from_fn(|k| taken[k].as_ref().map_or(0.0, |v| v[i])));
        let turned = matrix * felt;
        for (k, values) in taken.iter_mut().enumerate() {
            if let Some(values) = values {
                values[i] = turned[k];
            }
        }
    }
    for (channel, values) in channels.into_iter().zip(taken) {
        if let (Some(series), Some(values)) = (log.channels.get_mut(&channel), values) {
            series.values = values;
        }
    }
}
