//! Why the mouth is thin or bare: where the oil went, which plate bounds it, which door stood how.

use measure::{Dimension, show_within};
use serde::{Deserialize, Serialize};

use super::{Judging, MomentHistory, words};

/// A door counts as shut below this part of its largest opening.
const SHUT: f64 = 0.05;

/// Less oil than this share of the pan's oil at the start is not "gone" anywhere.
const WORTH_SAYING: f64 = 0.02;

/// Volumes in sentences are told to this [m³].
pub(super) const VOLUME_BAND: f64 = 0.01e-3;

/// A door that bounds the mouth's space, at the worst instant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct DoorState {
    /// Index of the door.
    pub door: usize,
    /// Opening angle [rad].
    pub angle: f64,
    /// False when shut.
    pub open: bool,
}

/// Where the oil went, from the first row of the history to the worst instant.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    /// Change of the oil in each space [m³].
    pub gained: Vec<f64>,
    /// The space without the mouth that gained most, when it gained anything worth saying.
    pub taker: Option<usize>,
    /// Oil that the pan lost to the engine and the way home [m³].
    pub left_the_pan: f64,
    /// Doors at the mouth's space.
    pub doors: Vec<DoorState>,
    /// Plate between the mouth's space and the taker.
    pub wall: Option<String>,
    /// All of it in words, no full stop: "1.90 L has gone to the right space, and door 2 is shut".
    pub said: String,
}

pub(super) fn find(moment: &MomentHistory, at: f64, with: &Judging) -> Reason {
    let (history, pan) = (moment.history, with.pan);
    let row = history.time.partition_point(|&t| t < at).min(history.len() - 1);
    let gained: Vec<f64> = history.spaces[row]
        .iter()
        .zip(&history.spaces[0])
        .map(|(a, b)| a - b)
        .collect();
    let worth = WORTH_SAYING * history.ledger[0].pan;
    let taker = (0..pan.spaces.len())
        .filter(|&s| !pan.spaces[s].has_mouth && gained[s] > worth)
        .max_by(|&a, &b| gained[a].total_cmp(&gained[b]));
    let left_the_pan = history.ledger[0].pan - history.ledger[row].pan;

    let at_mouth = |space: usize| pan.spaces[space].has_mouth;
    let wall = taker.and_then(|space| {
        let meets = |&(a, b): &(usize, usize)| (a == space && at_mouth(b)) || (b == space && at_mouth(a));
        pan.walls
            .iter()
            .find(|wall| meets(&wall.between))
            .map(|wall| wall.name.clone())
    });
    let doors: Vec<DoorState> = (0..pan.doors.len())
        .filter(|&d| {
            [pan.doors[d].from, pan.doors[d].into]
                .into_iter()
                .flatten()
                .any(at_mouth)
        })
        .map(|door| {
            let angle = history.doors[row][door];
            DoorState {
                door,
                angle,
                open: angle > SHUT * pan.doors[door].stop,
            }
        })
        .collect();

    let mut reason = Reason {
        gained,
        taker,
        left_the_pan,
        doors,
        wall,
        said: String::new(),
    };
    reason.said = say(&reason, moment, with, left_the_pan > worth);
    reason
}

fn say(reason: &Reason, moment: &MomentHistory, with: &Judging, engine_worth: bool) -> String {
    let litres = |volume: f64| show_within(volume, VOLUME_BAND, Dimension::Volume, with.order);
    let mut parts = Vec::new();
    if let Some(space) = reason.taker {
        let past = match &reason.wall {
            Some(wall) => format!(" past {}", words::plate(wall)),
            None => String::new(),
        };
        let name = &with.pan.spaces[space].name;
        parts.push(format!(
            "{} has gone to the {name} space{past}",
            litres(reason.gained[space])
        ));
    } else if !moment.pushed.is_empty() && (with.pan.spaces.len() == 1 || !engine_worth) {
        parts.push(format!("the oil lies to the {} of the mouth", moment.pushed));
    }
    if engine_worth {
        parts.push(format!(
            "{} more is up in the engine",
            litres(reason.left_the_pan)
        ));
    }
    let deciding = |state: &&DoorState| match reason.taker {
        None => true,
        Some(space) => {
            [with.pan.doors[state.door].from, with.pan.doors[state.door].into].contains(&Some(space))
        }
    };
    for open in [false, true] {
        let names: Vec<String> = (reason.doors.iter().filter(deciding))
            .filter(|state| state.open == open)
            .map(|state| words::door(&with.pan.doors[state.door].name))
            .collect();
        if !names.is_empty() {
            let verb = if names.len() == 1 { "is" } else { "are" };
            parts.push(format!(
                "{} {verb} {}",
                words::list(&names),
                if open { "open" } else { "shut" }
            ));
        }
    }
    words::list(&parts)
}
