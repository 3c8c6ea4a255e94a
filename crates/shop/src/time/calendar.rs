//! One person's working time against the clock.

use super::{DAY, Opening, Person, within};

/// A plan may reach this many days: ten years.
const REACH: usize = 3_653;
/// A day's end may be missed by this much in rounding and is still that day's [s].
const SLIP: f64 = 1e-4;

/// Working time that lies before each day.
#[derive(Clone, Debug)]
pub(super) struct Calendar {
    opens: f64,
    /// Work before day `d` [s]; one more than there are days.
    before: Vec<f64>,
}

impl Calendar {
    pub fn of(opening: &Opening, person: &Person) -> Calendar {
        let hours = person.hours.unwrap_or(opening.hours);
        let mut before = vec![0.0];
        for d in 0..REACH {
            let day = opening.start.plus(d as i64);
            let works = opening.is_open(day) && !within(&person.away, day);
            before.push(before[d] + if works { hours } else { 0.0 });
        }
        Calendar {
            opens: opening.opens,
            before,
        }
    }

    /// Working time until `time`.
    fn worked(&self, time: f64) -> Option<f64> {
        let day = (time / DAY) as usize;
        let [from, to] = [*self.before.get(day)?, *self.before.get(day + 1)?];
        Some(from + (time - day as f64 * DAY - self.opens).clamp(0.0, to - from))
    }

    /// The first moment from `time` on at which work goes on.
    pub fn begins(&self, time: f64) -> Option<f64> {
        let worked = self.worked(time)?;
        // The first day whose end has more work behind it.
        let day = self.before.partition_point(|b| *b <= worked + SLIP);
        (day < self.before.len()).then(|| {
            let day = day - 1;
            time.max(day as f64 * DAY + self.opens + (worked - self.before[day]).max(0.0))
        })
    }

    /// When `work` that is begun at `time` is done.
    pub fn done(&self, time: f64, work: f64) -> Option<f64> {
        if work <= 0.0 {
            return Some(time);
        }
        let until = self.worked(time)? + work;
        let day = self.before.partition_point(|b| *b < until - SLIP);
        (day < self.before.len()).then(|| {
            let day = day - 1;
            day as f64 * DAY + self.opens + until - self.before[day]
        })
    }
}
