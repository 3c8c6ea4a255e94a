//! The line of a course: reading, checking, curvature.

use super::fault::{CourseFault, FEWEST_POINTS, FURTHEST, MOST_POINTS, Spot};
use crate::table::{self, Layout, Table};
use glam::DVec2;
/// Points closer than this are one [m].
const SAME: f64 = 0.01;
/// A closing gap over this many times the usual spacing is a fault.
const WIDEST_GAP: f64 = 10.0;

/// A closed course in plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    name: String,
    /// Points in the order of driving [m]; the last joins the first, which is not repeated.
    points: Vec<DVec2>,
    /// Banking at each point [rad]: above zero the left side is low, as in a banked turn to the left.
    bank: Option<Vec<f64>>,
    /// Arc length at each point, by straight pieces [m]; one more entry than points, the last is the full turn.
    station: Vec<f64>,
    said: Vec<String>,
}

/// How a course file is to be taken.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CourseOptions {
    /// Name for people.
    pub name: String,
    /// Layout of the table, where the reader should not find it by itself.
    pub layout: Layout,
    /// The course passes over itself on a bridge, so a crossing is no fault.
    pub bridge: bool,
    /// Drive it the other way round.
    pub reversed: bool,
}

impl Course {
    /// A course from points in plan [m] and banking [rad], checked.
    pub fn new(
        name: &str,
        points: Vec<DVec2>,
        bank: Option<Vec<f64>>,
        bridge: bool,
    ) -> Result<Course, CourseFault> {
        let spots = (1..=points.len()).map(Spot::Point).collect();
        build(name, points, bank, spots, bridge)
    }

    /// Reads a course: columns x and y (metres unless the header says otherwise), optionally `bank_deg`.
    ///
    /// Without a header the first two columns are x and y and a third is banking in degrees only if the options
    /// are silent and the table has exactly three columns.
    pub fn read(bytes: &[u8], options: &CourseOptions) -> Result<Course, CourseFault> {
        let table = table::read(bytes, &options.layout)?;
        let columns = Columns::find(&table)?;
        let mut points: Vec<DVec2> = table.columns[columns.x.0]
            .iter()
            .zip(&table.columns[columns.y.0])
            .map(|(x, y)| DVec2::new(x * columns.x.1, y * columns.y.1))
            .collect();
        let mut bank: Option<Vec<f64>> = columns
            .bank
            .map(|(c, f)| table.columns[c].iter().map(|b| b * f).collect());
        let mut spots: Vec<Spot> = table.lines.iter().map(Spot::Line).collect();
        if options.reversed {
            points.reverse();
            spots.reverse();
            if let Some(b) = &mut bank {
                b.reverse();
                b.iter_mut().for_each(|b| *b = -*b);
            }
        }
        let mut course = build(&options.name, points, bank, spots, options.bridge)?;
        course.said.extend(table.said);
        if options.reversed {
            course
                .said
                .push("The course is driven the other way round than its file gives it.".into());
        }
        Ok(course)
    }

    /// Name for people.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Points in the order of driving [m]; the last joins the first.
    pub fn points(&self) -> &[DVec2] {
        &self.points
    }

    /// Banking at each point [rad], if given; above zero the left side is low.
    pub fn bank(&self) -> Option<&[f64]> {
        self.bank.as_deref()
    }

    /// Arc length at each point [m], and the length of the full turn as one more entry.
    pub fn station(&self) -> &[f64] {
        &self.station
    }

    /// Length of the closed line [m].
    pub fn length(&self) -> f64 {
        self.station[self.points.len()]
    }

    /// What was found on reading.
    pub fn said(&self) -> &[String] {
        &self.said
    }

    /// Curvature at each point [1/m], above zero turning left: the circle through a point and its two neighbours.
    ///
    /// Source: `κ = 4 A / (a b c)` of a triangle with area A and sides a, b, c (circumscribed circle).
    /// `smoothing` [m] then spreads it along the line with a triangle of that half-width; 0 leaves it as it is.
    pub fn curvature(&self, smoothing: f64) -> Vec<f64> {
        let n = self.points.len();
        let raw: Vec<f64> = (0..n)
            .map(|i| {
                let (p, q, r) = (
                    self.points[(i + n - 1) % n],
                    self.points[i],
                    self.points[(i + 1) % n],
                );
                let (a, b, c) = (q - p, r - q, r - p);
                2.0 * a.perp_dot(b) / (a.length() * b.length() * c.length())
            })
            .collect();
        if smoothing <= 0.0 {
            raw
        } else {
            self.spread(&raw, smoothing)
        }
    }

    /// Weighted mean of `values` around each point with a triangle of half-width `reach` [m] along the line.
    fn spread(&self, values: &[f64], reach: f64) -> Vec<f64> {
        let n = values.len();
        let reach = reach.min(0.25 * self.length());
        let share = |i: usize| 0.5 * (self.step(i) + self.step((i + n - 1) % n));
        (0..n)
            .map(|i| {
                let (mut sum, mut weight) = (values[i] * share(i), share(i));
                for ahead in [true, false] {
                    let (mut j, mut away) = (i, 0.0);
                    loop {
                        let next = if ahead { (j + 1) % n } else { (j + n - 1) % n };
                        away += self.step(if ahead { j } else { next });
                        if away >= reach {
                            break;
                        }
                        let w = share(next) * (1.0 - away / reach);
                        sum += values[next] * w;
                        weight += w;
                        j = next;
                    }
                }
                sum / weight
            })
            .collect()
    }

    /// Length of the piece after point `i` [m].
    pub(super) fn step(&self, i: usize) -> f64 {
        self.station[i + 1] - self.station[i]
    }
}

/// Which columns hold what, each with its factor to SI.
struct Columns {
    x: (usize, f64),
    y: (usize, f64),
    bank: Option<(usize, f64)>,
}

impl Columns {
    fn find(table: &Table) -> Result<Columns, CourseFault> {
        let degree = std::f64::consts::PI / 180.0;
        let Some(names) = &table.names else {
            if table.columns.len() < 2 {
                return Err(CourseFault::NoColumns {
                    found: "one column without a name".into(),
                });
            }
            let bank = (table.columns.len() == 3).then_some((2, degree));
            return Ok(Columns {
                x: (0, 1.0),
                y: (1, 1.0),
                bank,
            });
        };
        let split: Vec<(Vec<String>, Option<String>)> = names
            .iter()
            .zip(&table.units)
            .map(|(n, u)| crate::log::names::split_unit(n, u))
            .collect();
        let find = |wanted: &[&str]| {
            split
                .iter()
                .position(|(words, _)| words.iter().any(|w| wanted.contains(&w.as_str())))
        };
        let missing = || CourseFault::NoColumns {
            found: names.join(", "),
        };
        let x = find(&["x", "east", "easting"]).ok_or_else(missing)?;
        let y = find(&["y", "north", "northing"]).ok_or_else(missing)?;
        let factor = |c: usize, kind, usual: f64| match &split[c].1 {
            None => Ok((c, usual)),
            Some(u) => crate::log::units::factor(u, kind)
                .map(|f| (c, f))
                .ok_or_else(|| CourseFault::Unit {
                    column: names[c].clone(),
                    unit: u.clone(),
                }),
        };
        use crate::log::units::Kind;
        let bank = find(&["bank", "banking", "camber"])
            .map(|c| factor(c, Kind::Angle, degree))
            .transpose()?;
        Ok(Columns {
            x: factor(x, Kind::Length, 1.0)?,
            y: factor(y, Kind::Length, 1.0)?,
            bank,
        })
    }
}

fn build(
    name: &str,
    mut points: Vec<DVec2>,
    mut bank: Option<Vec<f64>>,
    mut spots: Vec<Spot>,
    bridge: bool,
) -> Result<Course, CourseFault> {
    let mut said = Vec::new();
    if points.len() > MOST_POINTS {
        return Err(CourseFault::TooMany { points: points.len() });
    }
    for i in 0..points.len() {
        let b = bank.as_ref().map_or(0.0, |b| b[i]);
        if !points[i].is_finite() || points[i].abs().max_element() > FURTHEST || !b.is_finite() {
            return Err(CourseFault::NotANumber { spot: spots[i] });
        }
        if b.abs() > std::f64::consts::FRAC_PI_4 {
            return Err(CourseFault::Bank {
                spot: spots[i],
                degrees: b.to_degrees(),
            });
        }
    }
    // A point closer than a centimetre to the last one kept repeats it; the first may be repeated at the end.
    let (mut keep, mut last) = (vec![true; points.len()], None);
    for (i, &p) in points.iter().enumerate() {
        keep[i] = last.is_none_or(|l: DVec2| l.distance(p) >= SAME);
        if keep[i] {
            last = Some(p);
        }
    }
    while let Some(i) = keep
        .iter()
        .rposition(|&k| k)
        .filter(|&i| i > 0 && points[i].distance(points[0]) < SAME)
    {
        keep[i] = false;
    }
    let dropped = keep.iter().filter(|k| !**k).count();
    if dropped > 0 {
        retain(&mut points, &keep);
        retain(&mut spots, &keep);
        if let Some(b) = &mut bank {
            retain(b, &keep);
        }
        said.push(format!(
            "{dropped} repeated point(s) of the course were left out."
        ));
    }
    let n = points.len();
    if n < FEWEST_POINTS {
        return Err(CourseFault::TooFew { points: n });
    }
    let steps: Vec<f64> = (0..n).map(|i| points[i].distance(points[(i + 1) % n])).collect();
    let gap = steps[n - 1];
    let mut sorted = steps[..n - 1].to_vec();
    sorted.sort_by(f64::total_cmp);
    // The longest spacing of all counts as usual too: a straight may be given by its ends.
    let spacing = sorted[sorted.len() / 2];
    if gap > (WIDEST_GAP * spacing).max(sorted[sorted.len() - 1]) {
        return Err(CourseFault::Open {
            first: spots[0],
            last: spots[n - 1],
            gap,
            spacing,
        });
    }
    if gap > 2.0 * spacing {
        said.push(format!(
            "The course is closed by a straight of {gap:.1} m from its last point to its first."
        ));
    }
    if let Some(i) = (0..n).find(|&i| turns_back(points[(i + n - 1) % n], points[i], points[(i + 1) % n])) {
        return Err(CourseFault::TurnsBack { spot: spots[i] });
    }
    if let Some((i, j)) = first_crossing(&points) {
        if !bridge {
            return Err(CourseFault::Crosses {
                one: spots[i],
                other: spots[j],
            });
        }
        said.push("The course passes over itself, as stated.".into());
    }
    let mut station = vec![0.0];
    for s in steps {
        station.push(station[station.len() - 1] + s);
    }
    Ok(Course {
        name: name.into(),
        points,
        bank,
        station,
        said,
    })
}

fn retain<T>(v: &mut Vec<T>, keep: &[bool]) {
    let mut k = keep.iter();
    v.retain(|_| *k.next().expect("one mark for each point"));
}

/// Whether the path p, q, r turns by more than 170 degrees at q.
fn turns_back(p: DVec2, q: DVec2, r: DVec2) -> bool {
    let (a, b) = (q - p, r - q);
    a.dot(b) < -0.985 * a.length() * b.length()
}

/// The first two pieces that cut one another, by their start points; neighbours are not compared.
///
/// Pieces are put in square buckets as large as the longest piece, so that only near ones are compared.
fn first_crossing(points: &[DVec2]) -> Option<(usize, usize)> {
    use std::collections::HashMap;
    let n = points.len();
    let end = |i: usize| points[(i + 1) % n];
    let longest = (0..n).map(|i| points[i].distance(end(i))).fold(0.0, f64::max);
    let key = |p: DVec2| ((p.x / longest).floor() as i64, (p.y / longest).floor() as i64);
    let mut buckets: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    for i in 0..n {
        buckets.entry(key(points[i])).or_default().push(i);
    }
    for i in 0..n {
        let (kx, ky) = key(points[i]);
        // A piece starts in its bucket and ends at most one away, so two that cut start within two of each other.
        for dx in -2..=2 {
            for dy in -2..=2 {
                for &j in buckets.get(&(kx + dx, ky + dy)).into_iter().flatten() {
                    let near = j <= i + 1 || (i == 0 && j == n - 1);
                    if !near && cut(points[i], end(i), points[j], end(j)) {
                        return Some((i, j));
                    }
                }
            }
        }
    }
    None
}

/// Whether the pieces ab and cd share a point.
fn cut(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let (d1, d2, d3, d4) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
    let within = |p: DVec2, q: DVec2, r: DVec2| r.cmpge(p.min(q)).all() && r.cmple(p.max(q)).all();
    if d1 * d2 < 0.0 && d3 * d4 < 0.0 {
        return true;
    }
    (d1 == 0.0 && within(a, b, c))
        || (d2 == 0.0 && within(a, b, d))
        || (d3 == 0.0 && within(c, d, a))
        || (d4 == 0.0 && within(c, d, b))
}
