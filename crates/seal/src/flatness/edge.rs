//! Straight edge and feeler gauge: readings along lines, and the face that lines which cross make together.
//!
//! A straight edge laid from one place to another rests on two high points; a feeler finds the gap below it. So a line
//! gives heights over a straight line that nobody knows the tilt of. Each line has its straightness. Lines that cross
//! share a height: where there are enough crossings, all tilts follow from them up to the tilt of the whole, and the
//! readings become points of one face (as the lines of an autocollimator do on a surface plate).

use glam::{DVec2, DVec3};

use super::SAME_PLACE;

/// What a feeler found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeReading {
    /// From the start of the line [m].
    pub along: f64,
    /// Gap under the straight edge [m]; 0 where it touches.
    pub gap: f64,
}

/// A straight edge laid on the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Start in plan [m].
    pub from: DVec2,
    /// End in plan [m].
    pub to: DVec2,
    /// Readings with rising distance, two or more.
    pub readings: Vec<EdgeReading>,
}

/// How straight a line is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Straightness {
    /// Width of the narrowest strip that holds it (ISO 1101) [m].
    pub least: f64,
    /// Range about the line of least squares [m].
    pub squares: f64,
    /// Range about the line through its ends [m].
    pub ends: f64,
}

/// Straightness of points (way along, height) [m] with rising way, two or more.
///
/// The strip of ISO 1101 rests with one side on an edge of the points' convex hull and with the other on a corner.
pub fn straightness(points: &[[f64; 2]]) -> Straightness {
    let range = |slope: f64| {
        let over = points.iter().map(|[s, z]| z - slope * s);
        over.clone().fold(f64::NEG_INFINITY, f64::max) - over.fold(f64::INFINITY, f64::min)
    };
    let n = points.len() as f64;
    let (mean_s, mean_z) = (
        points.iter().map(|p| p[0]).sum::<f64>() / n,
        points.iter().map(|p| p[1]).sum::<f64>() / n,
    );
    let (mut ss, mut sz) = (0.0, 0.0);
    for [s, z] in points {
        ss += (s - mean_s) * (s - mean_s);
        sz += (s - mean_s) * (z - mean_z);
    }
    let (first, last) = (points[0], points[points.len() - 1]);
    let mut least = f64::INFINITY;
    for upper in [false, true] {
        for [[s0, z0], [s1, z1]] in side_of_hull(points, upper) {
            let slope = (z1 - z0) / (s1 - s0);
            least = least.min(range(slope) / (1.0 + slope * slope).sqrt());
        }
    }
    Straightness {
        least,
        squares: range(sz / ss),
        ends: range((last[1] - first[1]) / (last[0] - first[0])),
    }
}

/// Edges of the lower or upper side of the hull of points with rising way.
fn side_of_hull(points: &[[f64; 2]], upper: bool) -> Vec<[[f64; 2]; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for p in points {
        while let [.., a, b] = kept[..] {
            let turn = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
            if (turn > 0.0) == upper || turn == 0.0 {
                kept.pop();
            } else {
                break;
            }
        }
        kept.push(*p);
    }
    kept.windows(2).map(|w| [w[0], w[1]]).collect()
}

impl Line {
    /// Way along and height over the straight edge [m].
    pub fn heights(&self) -> Vec<[f64; 2]> {
        self.readings.iter().map(|r| [r.along, -r.gap]).collect()
    }

    /// Its length [m].
    pub fn length(&self) -> f64 {
        self.from.distance(self.to)
    }

    fn place(&self, along: f64) -> DVec2 {
        self.from + (self.to - self.from).normalize_or_zero() * along
    }

    /// Height over the straight edge between readings; `None` beyond them.
    fn height(&self, along: f64) -> Option<f64> {
        let (first, last) = (self.readings.first()?, self.readings.last()?);
        if along < first.along - BEYOND || along > last.along + BEYOND {
            return None;
        }
        let at = along.clamp(first.along, last.along);
        let after = self
            .readings
            .partition_point(|r| r.along < at)
            .clamp(1, self.readings.len() - 1);
        let (a, b) = (self.readings[after - 1], self.readings[after]);
        Some(-(a.gap + (b.gap - a.gap) * (at - a.along) / (b.along - a.along)))
    }
}

/// Lines are taken to meet when their crossing lies no farther beyond the outermost reading [m].
const BEYOND: f64 = 2e-3;

/// What several lines say of the face together.
#[derive(Clone, Debug, PartialEq)]
pub struct Net {
    /// Each line by itself.
    pub lines: Vec<Straightness>,
    /// The face, when the crossings tie all lines together.
    pub points: Option<Vec<DVec3>>,
    /// Tilts that no crossing fixes; 0 when the face is known.
    pub loose: usize,
    /// The most by which the readings disagree at a crossing once the tilts are fitted [m].
    pub disagree: f64,
    /// Number of crossings.
    pub crossings: usize,
}

impl Net {
    /// The worst straightness of a line: the face is no flatter than that [m].
    pub fn at_least(&self) -> f64 {
        self.lines.iter().map(|l| l.least).fold(0.0, f64::max)
    }
}

/// Ties lines together where they cross.
///
/// Unknown are the heights of both ends of each straight edge. Each crossing is an equation: both lines have one height
/// there. They are met with the least sum of squares; the whole may be tilted and raised (three unknowns), and whatever
/// beyond that stays free is told as [`Net::loose`].
pub fn net(lines: &[Line]) -> Net {
    let mut rows: Vec<(Vec<(usize, f64)>, f64)> = Vec::new();
    for (i, a) in lines.iter().enumerate() {
        for (j, b) in lines.iter().enumerate().skip(i + 1) {
            let Some((s, t)) = meet(a, b) else { continue };
            let (Some(za), Some(zb)) = (a.height(s), b.height(t)) else {
                continue;
            };
            let (p, q) = (s / a.length(), t / b.length());
            let row = vec![
                (2 * i, 1.0 - p),
                (2 * i + 1, p),
                (2 * j, q - 1.0),
                (2 * j + 1, -q),
            ];
            rows.push((row, zb - za));
        }
    }
    let unknowns = 2 * lines.len();
    let (ends, free) = fitted(&rows, unknowns);
    let off = |(row, right): &(Vec<(usize, f64)>, f64)| {
        (row.iter().map(|(k, c)| c * ends[*k]).sum::<f64>() - right).abs()
    };
    let disagree = rows.iter().map(off).fold(0.0, f64::max);
    let loose = free.saturating_sub(3);
    let known = loose == 0 && lines.len() >= 2 && !rows.is_empty();
    Net {
        lines: lines.iter().map(|l| straightness(&l.heights())).collect(),
        points: known.then(|| points(lines, &ends)),
        loose,
        disagree,
        crossings: rows.len(),
    }
}

/// Ways along both lines to where they cross.
fn meet(a: &Line, b: &Line) -> Option<(f64, f64)> {
    let (u, v) = ((a.to - a.from).try_normalize()?, (b.to - b.from).try_normalize()?);
    let turn = u.perp_dot(v);
    // Lines within a degree of each other cross nowhere that could be read off.
    if turn.abs() < 0.017 {
        return None;
    }
    let between = b.from - a.from;
    Some((between.perp_dot(v) / turn, between.perp_dot(u) / turn))
}

/// Least squares by the normal equations with full pivoting; unknowns that nothing fixes are nought and counted.
fn fitted(rows: &[(Vec<(usize, f64)>, f64)], unknowns: usize) -> (Vec<f64>, usize) {
    let mut m = vec![vec![0.0; unknowns + 1]; unknowns];
    for (row, right) in rows {
        for (i, a) in row {
            for (j, b) in row {
                m[*i][*j] += a * b;
            }
            m[*i][unknowns] += a * right;
        }
    }
    let mut order: Vec<usize> = (0..unknowns).collect();
    let mut rank = 0;
    while rank < unknowns {
        let size = |&(i, j): &(usize, usize)| -> f64 { m[i][order[j]].abs() };
        let all = (rank..unknowns).flat_map(|i| (rank..unknowns).map(move |j| (i, j)));
        let Some((i, j)) = all.max_by(|a, b| size(a).total_cmp(&size(b))) else {
            break;
        };
        // The equations' numbers are shares of a line, around one.
        if size(&(i, j)) < 1e-9 {
            break;
        }
        m.swap(rank, i);
        order.swap(rank, j);
        let column = order[rank];
        for k in 0..unknowns {
            if k != rank && m[k][column] != 0.0 {
                let f = m[k][column] / m[rank][column];
                for c in 0..=unknowns {
                    m[k][c] -= f * m[rank][c];
                }
            }
        }
        rank += 1;
    }
    let mut x = vec![0.0; unknowns];
    for k in 0..rank {
        x[order[k]] = m[k][unknowns] / m[k][order[k]];
    }
    (x, unknowns - rank)
}

/// All readings as points of the face; readings at one place count as their mean.
fn points(lines: &[Line], ends: &[f64]) -> Vec<DVec3> {
    let mut points: Vec<(DVec3, f64)> = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        for r in &line.readings {
            let share = r.along / line.length();
            let z = ends[2 * i] * (1.0 - share) + ends[2 * i + 1] * share - r.gap;
            let at = line.place(r.along);
            match points
                .iter_mut()
                .find(|(p, n)| (p.truncate() / *n).distance(at) <= 10.0 * SAME_PLACE)
            {
                Some((sum, n)) => {
                    *sum += at.extend(z);
                    *n += 1.0;
                }
                None => points.push((at.extend(z), 1.0)),
            }
        }
    }
    points.into_iter().map(|(sum, n)| sum / n).collect()
}
