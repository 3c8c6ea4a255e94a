//! Reading a cover history over a window of time: air drawn, bare stretches, least cover.

use serde::{Deserialize, Serialize};

use super::CoverHistory;

/// The mouth also counts as bare while more than this share of what the pump takes is air, whatever stands
/// over its middle: a tilted surface can open one edge of the mouth first. Our own line, no source.
pub const BARE_SHARE: f64 = 0.1;

/// A stretch of time [s].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// Start.
    pub start: f64,
    /// End.
    pub end: f64,
}

impl Stretch {
    /// How long it lasts [s].
    pub fn length(&self) -> f64 {
        self.end - self.start
    }
}

/// One bare stretch: the pump draws air.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Gulp {
    /// When [s].
    pub start: f64,
    /// Until [s].
    pub end: f64,
    /// Air drawn [m³].
    pub air: f64,
}

impl Gulp {
    /// How long it lasts [s].
    pub fn length(&self) -> f64 {
        self.end - self.start
    }
}

/// All of these look at the window `start..=end` [s] of the history.
impl CoverHistory {
    /// Rows with a time in the window.
    pub fn rows_in(&self, start: f64, end: f64) -> std::ops::Range<usize> {
        let first = self.time.partition_point(|&t| t < start);
        let past = self.time.partition_point(|&t| t <= end);
        first..past.max(first)
    }

    /// Air drawn between two times [m³].
    pub fn air_in(&self, start: f64, end: f64) -> f64 {
        self.value_at(&self.air, end) - self.value_at(&self.air, start)
    }

    /// Oil drawn between two times [m³].
    pub fn drawn_in(&self, start: f64, end: f64) -> f64 {
        self.value_at(&self.drawn, end) - self.value_at(&self.drawn, start)
    }

    /// Least oil over the mouth [m] and when [s] (the first such instant); none without a row in the
    /// window.
    pub fn least_cover(&self, start: f64, end: f64) -> Option<(f64, f64)> {
        let rows = self.rows_in(start, end);
        rows.min_by(|&a, &b| self.cover[a].total_cmp(&self.cover[b]))
            .map(|r| (self.cover[r], self.time[r]))
    }

    /// The least that cover stays under for `lasts` [s] at a stretch [m]: dips that are shorter do not count, as no longest gulp
    /// does that is allowed. None when the window holds no stretch so long.
    pub fn least_lasting_cover(&self, start: f64, end: f64, lasts: f64) -> Option<f64> {
        let rows = self.rows_in(start, end);
        let from = rows.clone().map(|first| {
            let past = self
                .time
                .partition_point(|&t| t < self.time[first] + lasts - 1e-9);
            let within = (past < rows.end).then(|| first..past + 1)?;
            within.map(|row| self.cover[row]).max_by(f64::total_cmp)
        });
        from.flatten().min_by(f64::total_cmp)
    }

    /// Most oil inside the crank sweep [m³] and when [s] (the first such instant).
    pub fn most_at_crank(&self, start: f64, end: f64) -> Option<(f64, f64)> {
        // `rev` because `max_by` gives the last of equals.
        let rows = self.rows_in(start, end).rev();
        rows.max_by(|&a, &b| self.at_crank[a].total_cmp(&self.at_crank[b]))
            .map(|r| (self.at_crank[r], self.time[r]))
    }

    /// First instant in the window at which the mouth is bare [s].
    pub fn first_air(&self, start: f64, end: f64) -> Option<f64> {
        self.rows_in(start, end)
            .find(|&row| self.bare(row))
            .map(|row| self.time[row])
    }

    /// Stretches with less than `level` [m] over the mouth or with the mouth bare.
    pub fn stretches_below(&self, level: f64, start: f64, end: f64) -> Vec<Stretch> {
        self.stretches(start, end, |row| self.cover[row] < level || self.bare(row))
    }

    /// Bare stretches, in order of time.
    pub fn gulps(&self, start: f64, end: f64) -> Vec<Gulp> {
        self.stretches(start, end, |row| self.bare(row))
            .into_iter()
            .map(|s| Gulp {
                start: s.start,
                end: s.end,
                air: self.air_in(s.start, s.end),
            })
            .collect()
    }

    /// Time that the mouth is bare [s].
    pub fn bare_in(&self, start: f64, end: f64) -> f64 {
        // Not `sum`: of nothing that is -0.
        self.gulps(start, end)
            .iter()
            .fold(0.0, |sum, gulp| sum + gulp.length())
    }

    /// Largest share of air in what the pump takes over any `span` seconds of the window, 0..1.
    pub fn worst_air_share(&self, span: f64, start: f64, end: f64) -> f64 {
        let mut worst = 0.0_f64;
        for row in self.rows_in(start, end) {
            let to = (self.time[row] + span).min(end);
            let from = (to - span).max(start);
            let (air, oil) = (self.air_in(from, to), self.drawn_in(from, to));
            if air > 0.0 {
                worst = worst.max(air / (air + oil));
            }
        }
        worst
    }

    /// True when the mouth is bare at this row: no oil over it, or more than [`BARE_SHARE`] of what the
    /// pump took since the row before was air.
    pub fn bare(&self, row: usize) -> bool {
        if self.cover[row] <= 0.0 {
            return true;
        }
        let Some(before) = row.checked_sub(1) else {
            return false;
        };
        let air = self.air[row] - self.air[before];
        air > BARE_SHARE * (air + self.drawn[row] - self.drawn[before])
    }

    /// A series at any time: straight lines between rows, flat beyond the ends, 0 for an empty history.
    pub fn value_at(&self, series: &[f64], time: f64) -> f64 {
        let after = self.time.partition_point(|&t| t <= time);
        if after == 0 {
            return series.first().copied().unwrap_or(0.0);
        }
        if after == self.time.len() {
            return series[after - 1];
        }
        let (t0, t1) = (self.time[after - 1], self.time[after]);
        let part = (time - t0) / (t1 - t0);
        series[after - 1] + part * (series[after] - series[after - 1])
    }

    /// Runs of rows in the window for which `holds`. A run reaches half-way to the rows beside it, because
    /// nothing is known of the time between; it never leaves the window.
    fn stretches(&self, start: f64, end: f64, holds: impl Fn(usize) -> bool) -> Vec<Stretch> {
        let mut found: Vec<Stretch> = Vec::new();
        let mut open: Option<f64> = None;
        let rows = self.rows_in(start, end);
        for row in rows.clone() {
            let half_way = match row {
                0 => self.time[0],
                _ => (0.5 * (self.time[row - 1] + self.time[row])).max(start),
            };
            match (holds(row), open) {
                (true, None) => open = Some(half_way),
                (false, Some(from)) => {
                    found.push(Stretch {
                        start: from,
                        end: half_way,
                    });
                    open = None;
                }
                _ => {}
            }
        }
        if let (Some(from), Some(last)) = (open, rows.last()) {
            let to = self
                .time
                .get(last + 1)
                .map_or(self.time[last], |&t| 0.5 * (self.time[last] + t));
            found.push(Stretch {
                start: from,
                end: to.min(end),
            });
        }
        found
    }
}
