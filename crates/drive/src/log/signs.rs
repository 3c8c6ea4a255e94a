//! Which way each channel points, from what the channels say about one another.
//!
//! - Longitudinal acceleration goes with the change of speed.
//! - Lateral acceleration goes with speed times yaw rate, or with speed times the turning of the course in plan.
//! - A body rolls outward and dives under braking: roll rate goes with the change of lateral, pitch rate (nose
//!   down above zero) against the change of longitudinal acceleration.
//!
//! The first two fix yaw and lateral only against one another: a log without place cannot tell left from right.
//! Then yaw rate is taken as ISO 8855 has it, above zero to the left, unless the vertical channel shows a sensor
//! that lies upside down.

use super::evidence::{Fit, fit};
use super::names::Channel;
use super::notes::{Notes, Topic};
use super::scale::Scaled;
use super::{LogFault, Trouble};

/// What came out.
pub(super) struct Signs {
    /// Factors: 1 or -1; 0 for a channel left out because its way cannot be shown.
    pub turned: Vec<(Channel, f64)>,
    /// Left and right rest on the place.
    pub proved_by_place: bool,
    pub notes: Notes,
}

/// Least spread of an acceleration [m/s²] and of a turning rate [rad/s] or rate of acceleration [m/s³] for evidence.
const MOVES: f64 = 0.2;

/// Finds the signs; `turning` is the rate of turning left [rad/s] as the place tells it.
pub(super) fn find(log: &Scaled, turning: Option<&[f64]>) -> Result<Signs, LogFault> {
    let mut out = Signs {
        turned: Vec::new(),
        proved_by_place: false,
        notes: Notes::default(),
    };
    let mean = |v: &[f64]| log.windows.mean(&log.time, v);
    let stated = |c| log.channels.get(&c).and_then(|s| s.sign);
    let speed = log.values(Channel::Speed);
    let times_speed = |v: &[f64]| speed.map(|s| s.iter().zip(v).map(|(a, b)| a * b).collect::<Vec<f64>>());
    let (forward, left) = match (log.values(Channel::Longitudinal), log.values(Channel::Lateral)) {
        (Some(x), Some(y)) => (mean(x), mean(y)),
        _ => unreachable!("a log without these was refused before"),
    };
    let change = speed.map(|v| log.windows.slope(&log.time, v));
    let along = change.as_ref().and_then(|c| fit(c, &forward));
    let across = change.as_ref().and_then(|c| fit(c, &left));
    out.not_exchanged(log, along, across)?;
    out.settle(
        Channel::Longitudinal,
        stated(Channel::Longitudinal),
        along,
        "the change of speed",
        "forward",
    );

    let yaw = log.values(Channel::YawRate);
    let place_turns = turning.and_then(&times_speed).map(|t| mean(&t));
    let yaw_turns = yaw.and_then(times_speed).map(|t| mean(&t));
    let yaw_sign = yaw.map(|r| {
        let by_place = turning
            .and_then(|t| fit(&mean(t), &mean(r)))
            .filter(|f| f.shown(0.01));
        let by_lateral = yaw_turns
            .as_ref()
            .and_then(|t| fit(t, &left))
            .filter(|f| f.shown(MOVES));
        out.yaw(
            log,
            stated(Channel::YawRate),
            by_place,
            stated(Channel::Lateral),
            by_lateral,
        )
    });
    let (reference, words) = match (place_turns, yaw_turns, yaw_sign) {
        (Some(t), _, _) => (Some(t), "speed times the turning of the place"),
        (None, Some(t), Some(s)) => (Some(t.iter().map(|v| v * s).collect()), "speed times yaw rate"),
        _ => (None, "speed times yaw rate"),
    };
    let with_turning = reference.as_ref().and_then(|r| fit(r, &left));
    out.proved_by_place = turning.is_some() && with_turning.is_some_and(|f| f.shown(MOVES));
    out.settle(
        Channel::Lateral,
        stated(Channel::Lateral),
        with_turning,
        words,
        "left",
    );

    let sign_of = |c: Channel| out.turned.iter().find(|t| t.0 == c).map_or(1.0, |t| t.1);
    let (to_forward, to_left) = (sign_of(Channel::Longitudinal), sign_of(Channel::Lateral));
    for (channel, cause, way) in [
        (Channel::RollRate, Channel::Lateral, to_left),
        (Channel::PitchRate, Channel::Longitudinal, -to_forward),
    ] {
        if let (Some(rate), Some(cause)) = (log.values(channel), log.values(cause)) {
            let change: Vec<f64> = log
                .windows
                .slope(&log.time, cause)
                .iter()
                .map(|v| v * way)
                .collect();
            out.body_rate(channel, stated(channel), fit(&change, &mean(rate)));
        }
    }
    Ok(out)
}

impl Signs {
    fn not_exchanged(
        &mut self,
        log: &Scaled,
        along: Option<Fit>,
        across: Option<Fit>,
    ) -> Result<(), LogFault> {
        let (Some(along), Some(across)) = (along, across) else {
            return Ok(());
        };
        let (with_longitudinal, with_lateral) = (along.correlation, across.correlation);
        if with_lateral.abs() < 0.6
            || with_longitudinal.abs() > with_lateral.abs() - 0.3
            || across.spread < MOVES
        {
            return Ok(());
        }
        let series = |c: Channel| &log.channels[&c];
        let (lateral, longitudinal) = (series(Channel::Lateral), series(Channel::Longitudinal));
        if lateral.named && longitudinal.named {
            self.notes.say(Topic::Caution, format!(
                "The change of speed goes with '{}' (correlation {with_lateral:.2}), named as lateral, not with '{}' ({with_longitudinal:.2}); they are kept as named.",
                lateral.name, longitudinal.name
            ));
            return Ok(());
        }
        let (lateral, longitudinal) = (lateral.name.clone(), longitudinal.name.clone());
        let trouble = Trouble::Exchanged {
            lateral,
            longitudinal,
            with_lateral,
            with_longitudinal,
        };
        Err(log.fault(Channel::Lateral, trouble))
    }

    /// Takes the sign from the user, else from the evidence, else as logged.
    fn settle(
        &mut self,
        channel: Channel,
        stated: Option<f64>,
        evidence: Option<Fit>,
        beside: &str,
        way: &str,
    ) {
        let shown = evidence.filter(|f| f.shown(MOVES));
        let name = channel.words();
        let sign = match (stated, shown) {
            (Some(sign), Some(f)) if f.correlation * sign < 0.0 => {
                self.notes.say(Topic::Caution, format!(
                    "With the sign stated, {name} goes against {beside} (correlation {:.2}); it is kept as stated.",
                    f.correlation * sign
                ));
                sign
            }
            (Some(sign), _) => {
                self.notes.say(
                    Topic::Mounting,
                    format!("The sign of {name} is taken as stated ({sign:+.0})."),
                );
                sign
            }
            (None, Some(f)) => {
                let done = if f.correlation < 0.0 {
                    "it was turned over"
                } else {
                    "it is kept"
                };
                self.notes.say(Topic::Mounting, format!(
                    "The sign of {name}: its correlation with {beside} is {:.2} (slope {:.2}), so {done} and is above zero {way}.",
                    f.correlation, f.slope
                ));
                f.correlation.signum()
            }
            (None, None) => {
                let why = match evidence {
                    None => "nothing to compare it with".to_owned(),
                    Some(f) if f.spread <= MOVES => format!("{beside} hardly changes"),
                    Some(f) => format!("its correlation with {beside} is only {:.2}", f.correlation),
                };
                self.notes.say(
                    Topic::Caution,
                    format!(
                        "The sign of {name} could not be shown ({why}); it is taken as above zero {way}."
                    ),
                );
                1.0
            }
        };
        self.turned.push((channel, sign));
    }

    /// Sign of the yaw rate, by the best there is: place, user, a lateral sign stated by the user, how the sensor lies.
    fn yaw(
        &mut self,
        log: &Scaled,
        stated: Option<f64>,
        by_place: Option<Fit>,
        lateral: Option<f64>,
        by_lateral: Option<Fit>,
    ) -> f64 {
        let upside_down = log
            .channels
            .get(&Channel::Vertical)
            .is_some_and(|v| v.sign == Some(-1.0));
        let (sign, why) = if let Some(sign) = stated {
            (sign, "as stated".to_owned())
        } else if let Some(f) = by_place {
            (
                f.correlation.signum(),
                format!(
                    "as its correlation with the turning of the place is {:.2}",
                    f.correlation
                ),
            )
        } else if let (Some(sign), Some(f)) = (lateral, by_lateral) {
            (
                sign * f.correlation.signum(),
                format!(
                    "to go with the stated sign of lateral acceleration (correlation {:.2})",
                    f.correlation
                ),
            )
        } else if upside_down {
            (
                -1.0,
                "as the vertical channel points down, and so by the right hand does the yaw axis".to_owned(),
            )
        } else {
            (
                1.0,
                "as ISO 8855 has it, for want of a place in the log that would prove it".to_owned(),
            )
        };
        let done = if sign < 0.0 { "was turned over" } else { "is kept" };
        self.notes.say(
            Topic::Mounting,
            format!("The sign of yaw rate {done}, {why}; it is above zero turning left."),
        );
        self.turned.push((Channel::YawRate, sign));
        sign
    }

    fn body_rate(&mut self, channel: Channel, stated: Option<f64>, evidence: Option<Fit>) {
        let name = channel.words();
        let shown = evidence.filter(|f| f.shown(MOVES));
        let sign = match (stated, shown) {
            (Some(sign), _) => sign,
            (None, Some(f)) => {
                self.notes.say(
                    Topic::Mounting,
                    format!(
                        "The sign of {name} is taken from how a body leans and dives (correlation {:.2}).",
                        f.correlation
                    ),
                );
                f.correlation.signum()
            }
            (None, None) => {
                self.notes.say(
                    Topic::Mounting,
                    format!("The sign of {name} could not be shown; it is left out, being small beside yaw."),
                );
                0.0
            }
        };
        self.turned.push((channel, sign));
    }
}
