//! A log at a glance: the g-g cloud, and the speed over time under it.

use super::Look;
use super::plot::{Lane, span_of, tick_text, ticks};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Pen, Weight};
use glam::DVec2;
use measure::STANDARD_GRAVITY;

/// Dots at most in the cloud: more cannot be told apart on paper.
const MOST_DOTS: usize = 4000;

/// What is drawn; slices of equal length, one entry a sample.
#[derive(Clone, Copy, Debug)]
pub struct Logged<'a> {
    /// Name for people.
    pub name: &'a str,
    /// Time [s].
    pub time: &'a [f64],
    /// Acceleration forward [m/s²].
    pub forward: &'a [f64],
    /// Acceleration to the left [m/s²].
    pub left: &'a [f64],
    /// Road speed [m/s]; `None` where the log tells nothing of it.
    pub speed: Option<&'a [f64]>,
}

/// The cloud as seen from above, front of the car up, and below it the speed; `None` under two samples.
///
/// Where there are more samples than dots, every n-th is drawn, and the largest in each of the four ways.
pub fn logged(log: &Logged, look: &Look) -> Option<Drawing> {
    let (start, end) = (*log.time.first()?, *log.time.last()?);
    if end <= start {
        return None;
    }
    let in_g = |i: usize| DVec2::new(-log.left[i], log.forward[i]) / STANDARD_GRAVITY;
    let n = log.time.len();
    let reach = (0..n).map(|i| in_g(i).length()).fold(0.5, f64::max) * 1.05;
    let side = (look.width - 24.0).min(110.0);
    let lane_tall = if log.speed.is_some() { 30.0 } else { 0.0 };
    let below = if log.speed.is_some() {
        lane_tall + 6.0 * look.words
    } else {
        0.0
    };
    let height = side + below + 6.0 * look.words;
    let mut d = Drawing::new(&look.id("log"), look.width, height, "The log at a glance");
    d.said = format!(
        "Acceleration of {} seen from above, front of the car up, in g, and speed over time.",
        log.name
    );
    let middle = DVec2::new(0.5 * look.width, below + 2.5 * look.words + 0.5 * side);
    let scale = 0.5 * side / reach;
    let list = ticks(0.0, reach, 4);
    let step = if list.len() > 1 { list[1] - list[0] } else { 1.0 };
    for &g in list.iter().filter(|g| **g > 0.0) {
        d.circle(middle, g * scale, Some(Pen::new(Ink::Faint, Weight::Hair)), None);
        let at = middle + DVec2::new(0.5, g * scale + 0.4);
        let words = format!("{} g", tick_text(g, step));
        d.text(at, &words, look.words * 0.88, Anchor::Start, Ink::Quiet);
    }
    for way in [DVec2::X, DVec2::Y] {
        let pen = Pen::new(Ink::Quiet, Weight::Hair);
        d.line(middle - way * 0.5 * side, middle + way * 0.5 * side, pen);
    }
    let most = |of: &dyn Fn(DVec2) -> f64| (0..n).max_by(|&a, &b| of(in_g(a)).total_cmp(&of(in_g(b))));
    let ends = [most(&|p| p.x), most(&|p| -p.x), most(&|p| p.y), most(&|p| -p.y)];
    for i in (0..n)
        .step_by(n.div_ceil(MOST_DOTS))
        .chain(ends.into_iter().flatten())
    {
        d.circle(middle + in_g(i) * scale, 0.3, None, Some(Fill::Solid(Ink::Main)));
    }
    let out = 0.5 * side + 1.0;
    let words = [
        (DVec2::new(0.0, out), Anchor::Middle, "speeding up"),
        (DVec2::new(0.0, -out - look.words), Anchor::Middle, "braking"),
        (DVec2::new(-out, 0.8), Anchor::End, "left"),
        (DVec2::new(out, 0.8), Anchor::Start, "right"),
    ];
    for (at, anchor, said) in words {
        d.text(middle + at, said, look.words, anchor, Ink::Main);
    }
    if let Some(speed) = log.speed {
        let top = span_of(speed.iter().copied()).map_or(1.0, |s| (3.6 * s.1).max(1.0));
        let foot = 3.5 * look.words;
        let lane = Lane {
            x: [11.0, look.width - 2.0],
            y: [foot, foot + lane_tall],
            time: [start, end],
            value: [0.0, 1.05 * top],
        };
        lane.frame(&mut d, look, "road speed, km/h", 4);
        let pen = Pen::new(Ink::Main, Weight::Medium);
        lane.series(&mut d, log.time, speed, 1.0 / 3.6, pen);
        lane.time_axis(&mut d, look, "time from the first row, s");
    }
    Some(d)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Shape;
    use measure::UnitOrder;

    /// A hard stop is the lowest dot, a left-hander the leftmost, also where dots are left out between.
    #[test]
    fn the_hardest_moments_are_in_the_cloud_whatever_is_left_out() {
        let n = 3 * MOST_DOTS + 1;
        let time: Vec<f64> = (0..n).map(|i| i as f64).collect();
        let (mut forward, mut left) = (vec![0.0; n], vec![0.0; n]);
        forward[1] = -STANDARD_GRAVITY;
        left[2] = STANDARD_GRAVITY;
        let log = Logged {
            name: "log",
            time: &time,
            forward: &forward,
            left: &left,
            speed: None,
        };
        let d = logged(&log, &Look::wide(UnitOrder::MetricFirst)).expect("it has a length");
        let dots: Vec<DVec2> = (d.items.iter().filter(|item| item.fill.is_some()))
            .filter_map(|item| match &item.shape {
                Shape::Circle { centre, .. } => Some(*centre),
                _ => None,
            })
            .collect();
        assert!(dots.len() <= MOST_DOTS + 4, "{}", dots.len());
        let still = dots[0];
        assert!(
            dots.iter()
                .any(|p| p.y < still.y - 30.0 && (p.x - still.x).abs() < 1e-9)
        );
        assert!(
            dots.iter()
                .any(|p| p.x < still.x - 30.0 && (p.y - still.y).abs() < 1e-9)
        );
    }
}
