//! A traced line of many points as few straight sides and arcs.
//!
//! Greedy first: from each place the longest straight or round stretch that the points allow. Then the places at which
//! stretches meet are moved to where both fit best, stretches that their neighbours can do without are dropped, and
//! corners are put where neighbours meet.

use crate::closed::Closed;
use crate::round::{Circle, Straight};
use crate::side::bulge_through;
use glam::DVec2;

/// Points that a stretch is fitted to, at most.
const MOST_FITTED: usize = 240;
/// Sides at most in one line; an edge that wants more is ragged.
const MOST_STRETCHES: usize = 600;
/// Arcs of larger radius are straight [m].
const LARGEST_RADIUS: f64 = 5.0;

#[derive(Clone, Copy, Debug)]
enum Form {
    Straight(Straight),
    Round(Circle),
}

impl Form {
    fn off(&self, p: DVec2) -> f64 {
        match self {
            Form::Straight(s) => s.off(p).abs(),
            Form::Round(c) => c.off(p).abs(),
        }
    }

    fn project(&self, p: DVec2) -> DVec2 {
        match self {
            Form::Straight(s) => s.at + s.along * (p - s.at).dot(s.along),
            Form::Round(c) => c.centre + c.radius * (p - c.centre).normalize_or(DVec2::X),
        }
    }
}

/// A stretch of points `from..to` (which may run past the end and on from the start) with its form.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    from: usize,
    to: usize,
    form: Form,
}

struct Points<'p> {
    all: &'p [DVec2],
}

impl Points<'_> {
    fn at(&self, i: usize) -> DVec2 {
        self.all[i % self.all.len()]
    }

    fn some(&self, from: usize, to: usize) -> Vec<DVec2> {
        let step = (to - from).div_ceil(MOST_FITTED).max(1);
        (from..to)
            .step_by(step)
            .chain([to - 1])
            .map(|i| self.at(i))
            .collect()
    }

    fn straight(&self, from: usize, to: usize) -> Option<Form> {
        Straight::through(&self.some(from, to)).map(Form::Straight)
    }

    fn round(&self, from: usize, to: usize) -> Option<Form> {
        let points = self.some(from, to);
        let circle = Circle::through(&points)?;
        let turned = turned(&circle, &points);
        (circle.radius < LARGEST_RADIUS && turned.abs() < 5.8).then_some(Form::Round(circle))
    }

    fn most_off(&self, form: &Form, from: usize, to: usize) -> f64 {
        let step = (to - from).div_ceil(2 * MOST_FITTED).max(1);
        (from..to)
            .step_by(step)
            .map(|i| form.off(self.at(i)))
            .fold(0.0, f64::max)
    }

    /// The better form of a stretch: straight, unless an arc fits clearly better.
    fn best(&self, from: usize, to: usize, was: &Form) -> Option<Form> {
        match was {
            Form::Straight(_) => self.straight(from, to),
            Form::Round(_) => self.round(from, to).or_else(|| self.straight(from, to)),
        }
    }
}

/// Angle that the points run through about the circle's middle [rad].
fn turned(circle: &Circle, points: &[DVec2]) -> f64 {
    let ways = points.windows(2).map(|w| {
        let (a, b) = (w[0] - circle.centre, w[1] - circle.centre);
        a.perp_dot(b).atan2(a.dot(b))
    });
    ways.sum()
}

/// The line as sides no farther than about `tolerance` from the points; `None` when it encloses nothing.
pub(super) fn fitted(points: &[DVec2], tolerance: f64) -> Option<Closed> {
    if points.len() < 12 {
        return None;
    }
    if let Some(circle) = whole_circle(points, tolerance) {
        return Some(Closed::circle(circle.centre, circle.radius));
    }
    let points = Points { all: points };
    let mut stretches = greedy(&points, tolerance)?;
    for _ in 0..6 {
        settle(&points, &mut stretches);
    }
    while drop_one(&points, &mut stretches, tolerance) {}
    for _ in 0..6 {
        settle(&points, &mut stretches);
    }
    corners(&points, &stretches, tolerance)
}

/// The circle that the whole line is.
fn whole_circle(points: &[DVec2], tolerance: f64) -> Option<Circle> {
    let step = points.len().div_ceil(2000).max(1);
    let some: Vec<DVec2> = points.iter().step_by(step).copied().collect();
    let circle = Circle::through(&some)?;
    let offs = || some.iter().map(|p| circle.off(*p));
    let rms = (offs().map(|o| o * o).sum::<f64>() / some.len() as f64).sqrt();
    let most = offs().map(f64::abs).fold(0.0, f64::max);
    (rms < 0.6 * tolerance && most < 2.0 * tolerance && most < 0.15 * circle.radius).then_some(circle)
}

fn greedy(points: &Points, tolerance: f64) -> Option<Vec<Stretch>> {
    let n = points.all.len();
    // Begin behind the sharpest turn, so that the first stretch is not cut by chance.
    let reach = (n / 100).clamp(3, 40);
    let bend = |i: usize| {
        let (a, b, c) = (points.at(i + n - reach), points.at(i), points.at(i + reach));
        (b - a).normalize_or_zero().dot((c - b).normalize_or_zero())
    };
    let start = (0..n).min_by(|&a, &b| bend(a).total_cmp(&bend(b)))?;
    // Some turns on: the meeting of the last stretch with the first may move to before the place begun at.
    let start = start + 8 * n;
    let end = start + n;
    let mut out = Vec::new();
    let mut from = start;
    while from < end {
        let longest = |fit: &dyn Fn(usize, usize) -> Option<Form>| {
            let holds = |to: usize| {
                let form = fit(from, to)?;
                (points.most_off(&form, from, to) <= tolerance).then_some(form)
            };
            let mut best = None;
            let (mut good, mut step) = (from, 8_usize);
            // Doubling while it holds, then halving.
            let mut growing = true;
            while step > 0 {
                let to = (good + step).min(end);
                let found = if to > good && to - from >= 4 {
                    holds(to)
                } else {
                    None
                };
                match found {
                    Some(form) => {
                        (good, best) = (to, Some(form));
                        step = if growing { 2 * step } else { step / 2 };
                    }
                    None => {
                        growing = false;
                        step /= 2;
                    }
                }
            }
            best.map(|form| Stretch { from, to: good, form })
        };
        let straight = longest(&|a, b| points.straight(a, b));
        let round = longest(&|a, b| points.round(a, b));
        // A wide arc covers a straight side and a bit of the next fillet too: straight wins unless the arc is clearly longer.
        let stretch = match (straight, round) {
            (Some(s), Some(r)) if (r.to - from) as f64 * 0.8 > (s.to - from) as f64 => r,
            (Some(s), _) => s,
            (None, Some(r)) => r,
            (None, None) => Stretch {
                from,
                to: (from + 4).min(end),
                form: points.straight(from, (from + 4).min(end).max(from + 2))?,
            },
        };
        from = stretch.to;
        out.push(stretch);
        if out.len() > MOST_STRETCHES {
            return None;
        }
    }
    Some(out)
}

/// Moves each meeting place to where the two stretches together fit best, then fits them anew.
fn settle(points: &Points, stretches: &mut [Stretch]) {
    let k = stretches.len();
    if k < 2 {
        return;
    }
    let n = points.all.len();
    for i in 0..k {
        let j = (i + 1) % k;
        let wrap = if j == 0 { n } else { 0 };
        let (a, b) = (stretches[i], stretches[j]);
        let low = (a.from + a.to) / 2;
        let high = (b.from + b.to) / 2 + wrap;
        if high <= low + 1 || low < wrap {
            continue;
        }
        // Cost of meeting at s: what lies before it belongs to a, what lies behind to b.
        let mut cost: f64 = (low..high).map(|p| b.form.off(points.at(p)).powi(2)).sum();
        let (mut best, mut place) = (cost, low);
        for p in low..high {
            let q = points.at(p);
            cost += a.form.off(q).powi(2) - b.form.off(q).powi(2);
            if cost < best {
                (best, place) = (cost, p + 1);
            }
        }
        stretches[i].to = place;
        stretches[j].from = place - wrap;
        if j == 0 {
            // The last stretch ends where the first begins, a whole turn on.
            stretches[i].to = stretches[j].from + n;
        }
    }
    for s in stretches.iter_mut() {
        if s.to >= s.from + 4
            && let Some(form) = points.best(s.from, s.to, &s.form)
        {
            s.form = form;
        }
    }
}

/// Drops the shortest stretch that its neighbours can do without, or makes two neighbours one; false when there is none.
fn drop_one(points: &Points, stretches: &mut Vec<Stretch>, tolerance: f64) -> bool {
    let k = stretches.len();
    if k < 3 {
        return false;
    }
    let n = points.all.len();
    let mut order: Vec<usize> = (0..k).collect();
    order.sort_by_key(|&i| stretches[i].to - stretches[i].from);
    for i in order {
        // Two made one.
        let next = (i + 1) % k;
        let wrap = if next == 0 { n } else { 0 };
        let (from, to) = (stretches[i].from, stretches[next].to + wrap);
        if next != 0 {
            for form in [points.straight(from, to), points.round(from, to)]
                .into_iter()
                .flatten()
            {
                if points.most_off(&form, from, to) <= tolerance {
                    stretches[i] = Stretch { from, to, form };
                    stretches.remove(next);
                    return true;
                }
            }
        }
        // Left to its neighbours, which are settled anew.
        if i > 0 && i + 1 < k {
            let mut trial: Vec<Stretch> = vec![stretches[i - 1], stretches[i + 1]];
            let middle = (stretches[i].from + stretches[i].to) / 2;
            trial[0].to = middle;
            trial[1].from = middle;
            for _ in 0..3 {
                settle_pair(points, &mut trial);
            }
            let sound = trial
                .iter()
                .all(|s| s.to > s.from + 3 && points.most_off(&s.form, s.from, s.to) <= tolerance);
            if sound {
                stretches[i - 1] = trial[0];
                stretches[i + 1] = trial[1];
                stretches.remove(i);
                return true;
            }
        }
    }
    false
}

fn settle_pair(points: &Points, pair: &mut [Stretch]) {
    let (a, b) = (pair[0], pair[1]);
    let (low, high) = ((a.from + a.to) / 2, (b.from + b.to) / 2);
    let mut cost: f64 = (low..high).map(|p| b.form.off(points.at(p)).powi(2)).sum();
    let (mut best, mut place) = (cost, low);
    for p in low..high {
        let q = points.at(p);
        cost += a.form.off(q).powi(2) - b.form.off(q).powi(2);
        if cost < best {
            (best, place) = (cost, p + 1);
        }
    }
    pair[0].to = place;
    pair[1].from = place;
    for s in pair {
        if s.to >= s.from + 4
            && let Some(form) = points.best(s.from, s.to, &s.form)
        {
            s.form = form;
        }
    }
}

/// Corners where neighbours meet, and the bulge of each arc between its corners.
fn corners(points: &Points, stretches: &[Stretch], tolerance: f64) -> Option<Closed> {
    let stretches: Vec<Stretch> = stretches.iter().filter(|s| s.to > s.from).copied().collect();
    let k = stretches.len();
    if k < 2 {
        return None;
    }
    let joints: Vec<DVec2> = (0..k)
        .map(|i| {
            let (a, b) = (stretches[(i + k - 1) % k].form, stretches[i].form);
            let near =
                0.5 * (points.at(stretches[i].from) + points.at(stretches[i].from + points.all.len() - 1));
            let met = meetings(&a, &b).into_iter().flatten();
            let best = met.min_by(|p, q| p.distance_squared(near).total_cmp(&q.distance_squared(near)));
            match best {
                Some(p) if p.distance(near) < 10.0 * tolerance => p,
                // Neighbours that touch but do not cross: halfway between them.
                _ => 0.5 * (a.project(near) + b.project(near)),
            }
        })
        .collect();
    let vertices = (0..k).map(|i| {
        let (from, to) = (joints[i], joints[(i + 1) % k]);
        let bulge = match stretches[i].form {
            Form::Straight(_) => 0.0,
            form => {
                let middle = points.at((stretches[i].from + stretches[i].to) / 2);
                bulge_through(from, form.project(middle), to)
            }
        };
        (from, if bulge.abs() < 50.0 { bulge } else { 0.0 })
    });
    Some(Closed::new(vertices.collect()))
}

/// Where two forms cross.
fn meetings(a: &Form, b: &Form) -> [Option<DVec2>; 2] {
    match (a, b) {
        (Form::Straight(s), Form::Straight(t)) => {
            let cross = s.along.perp_dot(t.along);
            // Nearly in line: the crossing lies anywhere.
            let met =
                (cross.abs() > 0.03).then(|| s.at + s.along * ((t.at - s.at).perp_dot(t.along) / cross));
            [met, None]
        }
        (Form::Straight(s), Form::Round(c)) | (Form::Round(c), Form::Straight(s)) => {
            let foot = s.at + s.along * (c.centre - s.at).dot(s.along);
            let half = c.radius * c.radius - foot.distance_squared(c.centre);
            match half >= 0.0 {
                true => [1.0, -1.0].map(|sign| Some(foot + sign * half.sqrt() * s.along)),
                false => [None, None],
            }
        }
        (Form::Round(c), Form::Round(d)) => {
            let between = d.centre - c.centre;
            let apart = between.length();
            let along = (apart * apart + c.radius * c.radius - d.radius * d.radius) / (2.0 * apart);
            let half = c.radius * c.radius - along * along;
            match half >= 0.0 && apart > 1e-9 {
                true => {
                    let way = between / apart;
                    [1.0, -1.0].map(|sign| Some(c.centre + way * along + sign * half.sqrt() * way.perp()))
                }
                false => [None, None],
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plate of 200 x 120 mm with corners of 10 mm and one bulging side, as points every 0.1 mm with 0.02 mm of grain.
    #[test]
    fn a_rounded_plate_is_nine_sides_again() {
        let table =
            b"unit, mm\n0, 0, 10\n200, 0, 10\n200, 30\narc, 214, 60\n200, 90\n200, 120, 10\n0, 120, 10\n";
        let figure = crate::table::read(table, &crate::ReadOptions::default()).expect("it is sound");
        let truth = &figure.shapes[0].line;
        let mut points = Vec::new();
        for side in truth.sides() {
            let count = (side.length() / 1e-4).ceil() as usize;
            points.extend((0..count).map(|i| side.at(i as f64 / count as f64)));
        }
        let grain = |i: usize| 2e-5 * ((i * 7919 % 1000) as f64 / 500.0 - 1.0);
        let noisy: Vec<DVec2> = points
            .iter()
            .enumerate()
            .map(|(i, p)| *p + DVec2::new(grain(i), grain(i + 37)))
            .collect();
        let line = fitted(&noisy, 1e-4).expect("it encloses something");
        assert!(
            (9..=12).contains(&line.vertices.len()),
            "{} sides",
            line.vertices.len()
        );
        let off = points.iter().map(|p| line.distance(*p)).fold(0.0, f64::max);
        assert!(off < 6e-5, "{off}");
        assert!((line.area() / truth.area() - 1.0).abs() < 1e-4);
    }
}
