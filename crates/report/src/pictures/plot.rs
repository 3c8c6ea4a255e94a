//! Lanes and ticks: what all pictures against time or height share.

use super::Look;
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use glam::DVec2;

/// Room that every picture leaves to the right of its lanes [mm]: a number under an axis may reach into it.
const EDGE: f64 = 2.0;

/// Round numbers between `low` and `high`, about `count` of them; 0 is among them when it lies between.
pub fn ticks(low: f64, high: f64, count: usize) -> Vec<f64> {
    let span = high - low;
    if span <= 0.0 || count == 0 {
        return Vec::new();
    }
    let step = round_step(span / count as f64);
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last).map(|i| i as f64 * step).collect()
}

/// The nearest of 1, 2, 5 times a power of ten at or above `rough`.
pub fn round_step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let lead = rough / power;
    let lead = [1.0, 2.0, 5.0]
        .into_iter()
        .find(|l| *l >= lead - 1e-9)
        .unwrap_or(10.0);
    lead * power
}

/// A tick as text: no more decimals than its step needs.
pub fn tick_text(value: f64, step: f64) -> String {
    let decimals = (-(step.log10() + 1e-9).floor()).clamp(0.0, 4.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text.replace('-', "\u{2212}")
    }
}

/// Smallest and largest of some finite values.
pub fn span_of(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values.into_iter().fold(None, |span, v| match span {
        None => Some((v, v)),
        Some((low, high)) => Some((low.min(v), high.max(v))),
    })
}

/// A strip of paper with time to the right and a value upward.
#[derive(Clone, Copy, Debug)]
pub struct Lane {
    /// Left, right on paper [mm].
    pub x: [f64; 2],
    /// Bottom, top on paper [mm].
    pub y: [f64; 2],
    /// Time at left and right [s].
    pub time: [f64; 2],
    /// Value at bottom and top, in the unit of its axis.
    pub value: [f64; 2],
}

impl Lane {
    /// Place on paper of a time.
    pub fn across(&self, time: f64) -> f64 {
        self.x[0] + (time - self.time[0]) / (self.time[1] - self.time[0]) * (self.x[1] - self.x[0])
    }

    /// Place on paper of a time and a value.
    pub fn at(&self, time: f64, value: f64) -> DVec2 {
        let up = (value - self.value[0]) / (self.value[1] - self.value[0]);
        DVec2::new(self.across(time), self.y[0] + up * (self.y[1] - self.y[0]))
    }

    /// Level grid lines with their numbers to the left, and the lane's name above its left end.
    pub fn frame(&self, d: &mut Drawing, look: &Look, name: &str, count: usize) {
        let list = ticks(self.value[0], self.value[1], count);
        let step = if list.len() > 1 { list[1] - list[0] } else { 1.0 };
        for &v in &list {
            let y = self.at(self.time[0], v).y;
            let zero = v == 0.0;
            let pen = Pen::new(if zero { Ink::Quiet } else { Ink::Faint }, Weight::Hair);
            d.line(DVec2::new(self.x[0], y), DVec2::new(self.x[1], y), pen);
            let size = look.words * 0.88;
            let at = DVec2::new(self.x[0] - 0.8, y - 0.33 * size);
            d.text(at, &tick_text(v, step), size, Anchor::End, Ink::Quiet);
        }
        d.strong(
            DVec2::new(self.x[0], self.y[1] + 0.9),
            name,
            look.words,
            Anchor::Start,
            Ink::Main,
        );
    }

    /// A series as a line; values are divided by `factor`.
    pub fn series(&self, d: &mut Drawing, time: &[f64], values: &[f64], factor: f64, pen: Pen) {
        let points: Vec<_> = time
            .iter()
            .zip(values)
            .map(|(&t, &v)| self.at(t, v / factor))
            .collect();
        d.trace(slim(&points, 0.06), pen);
    }

    /// The area between a series and the foot of the lane.
    pub fn area(&self, d: &mut Drawing, time: &[f64], values: &[f64], factor: f64, fill: Fill) {
        let points: Vec<_> = time
            .iter()
            .zip(values)
            .map(|(&t, &v)| self.at(t, v / factor))
            .collect();
        let mut points = slim(&points, 0.06);
        if let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) {
            points.push(DVec2::new(last.x, self.y[0]));
            points.push(DVec2::new(first.x, self.y[0]));
            d.paths(vec![Path::closed(points)], None, Some(fill));
        }
    }

    /// Time marks below the lane, with "s" after the last.
    pub fn time_axis(&self, d: &mut Drawing, look: &Look, said: &str) {
        let count = ((self.x[1] - self.x[0]) / 14.0).max(2.0) as usize;
        let list = ticks(self.time[0], self.time[1], count);
        let step = if list.len() > 1 { list[1] - list[0] } else { 1.0 };
        let (y, size) = (self.y[0], look.words * 0.88);
        d.line(
            DVec2::new(self.x[0], y),
            DVec2::new(self.x[1], y),
            Pen::new(Ink::Quiet, Weight::Fine),
        );
        for &t in &list {
            let x = self.across(t);
            d.line(
                DVec2::new(x, y),
                DVec2::new(x, y - 1.0),
                Pen::new(Ink::Quiet, Weight::Fine),
            );
            let words = tick_text(t, step);
            let most = self.x[1] + EDGE;
            let (x, anchor) = match x + 0.3 * size * words.len() as f64 > most {
                true => (most, Anchor::End),
                false => (x, Anchor::Middle),
            };
            d.text(
                DVec2::new(x, y - 1.4 - size * 0.8),
                &words,
                size,
                anchor,
                Ink::Quiet,
            );
        }
        let at = DVec2::new(self.x[1], y - 2.0 - size * 1.9);
        d.text(at, said, size, Anchor::End, Ink::Quiet);
    }
}

/// A line with fewer points that strays less than `reach` [mm] from the given one (Douglas–Peucker).
pub fn slim(points: &[DVec2], reach: f64) -> Vec<DVec2> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; points.len()];
    keep[0] = true;
    keep[points.len() - 1] = true;
    let mut open = vec![(0, points.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let (a, b) = (points[from], points[to]);
        let far = (from + 1..to)
            .map(|i| (i, distance_to(points[i], a, b)))
            .max_by(|p, q| p.1.total_cmp(&q.1));
        if let Some((i, off)) = far.filter(|f| f.1 > reach) {
            debug_assert!(off > 0.0);
            keep[i] = true;
            open.push((from, i));
            open.push((i, to));
        }
    }
    points
        .iter()
        .zip(keep)
        .filter(|(_, k)| *k)
        .map(|(p, _)| *p)
        .collect()
}

fn distance_to(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let share = if along.length_squared() > 0.0 {
        ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + share * along)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_include_nought() {
        assert_eq!(ticks(-1.2, 1.4, 4), [-1.0, 0.0, 1.0]);
        assert_eq!(ticks(0.0, 83.0, 5), [0.0, 20.0, 40.0, 60.0, 80.0]);
        assert_eq!(tick_text(-0.5, 0.5), "\u{2212}0.5");
        assert_eq!(tick_text(-0.0, 20.0), "0");
    }

    #[test]
    fn slimming_keeps_a_spike_and_drops_a_straight() {
        let mut points: Vec<_> = (0..100).map(|i| DVec2::new(i as f64, 0.0)).collect();
        points[40].y = 5.0;
        let slimmed = slim(&points, 0.1);
        assert!(slimmed.contains(&DVec2::new(40.0, 5.0)));
        assert!(slimmed.len() < 8, "kept {}", slimmed.len());
    }
}
