//! A sensible slider for a number in the unit that it is written in.

use job::Written;

/// Which numbers a slider reaches.
#[derive(Clone, Copy, Debug)]
pub enum Range {
    /// From here to there [SI].
    Between(f64, f64),
    /// From this share to that share of the number, at most so much [SI].
    Shares(f64, f64, f64),
}

/// Steps of units that a shop reads off: unit, step, and the finer one of a range of less than twenty.
const STEPS: [(&str, f64, f64); 9] = [
    ("mm", 1.0, 0.1),
    ("cm", 0.1, 0.01),
    ("in", 0.05, 0.01),
    ("L", 0.1, 0.05),
    ("qt", 0.1, 0.05),
    ("C", 1.0, 1.0),
    ("F", 1.0, 1.0),
    ("deg", 1.0, 1.0),
    ("g", 0.05, 0.05),
];

/// Steps of a slider in another unit, about.
const STEPS_OF: f64 = 100.0;

impl Range {
    /// Low, high and step for a number; the number itself is always within.
    pub fn of(self, now: &Written) -> (f64, f64, f64) {
        let (low, high) = match self {
            Range::Between(low, high) => (now.in_unit(low), now.in_unit(high)),
            Range::Shares(low, high, most) => (low * now.number, (high * now.number).min(now.in_unit(most))),
        };
        let (low, high) = (low.min(high).min(now.number), high.max(low).max(now.number));
        let step = step(&now.unit, high - low);
        let even = |v: f64| clean((v / step).round() * step);
        // Outward, but for what rounding alone makes.
        let (down, up) = (
            (low / step + 1e-6).floor() * step,
            (high / step - 1e-6).ceil() * step,
        );
        (even(down), even(up.max(down + step)), step)
    }
}

fn step(unit: &str, span: f64) -> f64 {
    let unit = if unit == "l" { "L" } else { unit };
    if let Some((_, step, fine)) = STEPS.iter().find(|(own, ..)| *own == unit) {
        return if span < 20.0 * step { *fine } else { *step };
    }
    let rough = (span / STEPS_OF).abs().max(1e-9);
    let ten = 10f64.powf(rough.log10().floor());
    let nice = [1.0, 2.0, 5.0, 10.0].map(|part| part * ten);
    let found = nice.iter().copied().find(|nice| *nice >= rough * (1.0 - 1e-9));
    clean(found.unwrap_or(rough))
}

/// Without the digits that binary fractions leave.
fn clean(value: f64) -> f64 {
    // Nought has no sign.
    (value * 1e9).round() / 1e9 + 0.0
}
