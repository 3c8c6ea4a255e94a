//! The line of a course: reading, checking, curvature.

use crate::table::{self, Layout, Table, TableFault};
use glam::DVec2;
/// Fewest distinct points of a course.
pub const FEWEST_POINTS: usize = 8;
/// Most points of a course; the search for crossings compares pieces with one another.
pub const MOST_POINTS: usize = 20_000;
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

/// A place on a course: a line of the file it was read from, or a point number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// Line of the file, from 1.
    Line(usize),
    /// Point, from 1.
    Point(usize),
}

impl std::fmt::Display for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Spot::Line(n) => write!(f, "line {n}"),
            Spot::Point(n) => write!(f, "point {n}"),
        }
    }
}

/// Why points are no course.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CourseFault {
    /// The file is no table.
    #[error(transparent)]
    Table(#[from] TableFault),
    /// Columns for x and y are not told.
    #[error("no columns for x and y among: {found}")]
    NoColumns {
        /// Names found.
        found: String,
    },
    /// A unit that is not a length (or an angle, for banking).
    #[error("the unit '{unit}' of column '{column}' is not known")]
    Unit {
        /// Column.
        column: String,
        /// Unit.
        unit: String,
    },
    /// Too few points that differ.
    #[error("the course has {points} points that differ; a closed line needs at least {FEWEST_POINTS}")]
    TooFew {
        /// Points that differ.
        points: usize,
    },
    /// More points than [`MOST_POINTS`].
    #[error("the course has {points} points; at most {MOST_POINTS} are taken")]
    TooMany {
        /// Points there are.
        points: usize,
    },
    /// A coordinate or banking is no number.
    #[error("{spot} holds no number")]
    NotANumber {
        /// Where.
        spot: Spot,
    },
    /// Banking out of range.
    #[error("banking of {degrees:.1} degrees at {spot}; up to 45 degrees either way are taken")]
    Bank {
        /// Where.
        spot: Spot,
        /// Banking [degrees].
        degrees: f64,
    },
    /// The ends do not meet.
    #[error(
        "the course does not close: {gap:.1} m from {last} back to {first}, where points are {spacing:.1} m apart"
    )]
    Open {
        /// First point.
        first: Spot,
        /// Last point.
        last: Spot,
        /// Distance between them [m].
        gap: f64,
        /// Usual spacing [m].
        spacing: f64,
    },
    /// The line crosses itself.
    #[error("the course crosses itself: the piece after {one} cuts the piece after {other}")]
    Crosses {
        /// Start of one piece.
        one: Spot,
        /// Start of the other.
        other: Spot,
    },
    /// The line turns straight back on itself.
    #[error("the course turns straight back on itself at {spot}")]
    TurnsBack {
        /// Where.
        spot: Spot,
    },
}

impl CourseFault {
    /// Line of the file the fault stands on, from 1.
    pub fn line(&self) -> Option<usize> {
        let spot = match self {
            CourseFault::Table(t) => return t.line(),
            CourseFault::NotANumber { spot }
            | CourseFault::Bank { spot, .. }
            | CourseFault::TurnsBack { spot } => spot,
            CourseFault::Open { last, .. } => last,
            CourseFault::Crosses { one, .. } => one,
            _ => return None,
        };
        match spot {
            Spot::Line(n) => Some(*n),
            Spot::Point(_) => None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            CourseFault::Table(t) => t.mend(),
            CourseFault::NoColumns { .. } => {
                "name two columns x_m and y_m, or leave the header out and give x, y in the first two columns"
            }
            CourseFault::Unit { .. } => "use m, km, ft or mi for x and y, deg or rad for banking",
            CourseFault::TooFew { .. } => "give points every 5 m or so along the line that the car drives",
            CourseFault::TooMany { .. } => "give a point every metre or more; 5 m is plenty",
            CourseFault::NotANumber { .. } => "fill the cell in or take the row out",
            CourseFault::Bank { .. } => {
                "give banking in degrees, above zero where the left side of the road is low"
            }
            CourseFault::Open { .. } => {
                "give the whole lap; the last point should lie about one spacing before the first"
            }
            CourseFault::Crosses { .. } => {
                "check the order of the points; if one part of the course does pass over the other, say bridge = true"
            }
            CourseFault::TurnsBack { .. } => "take the stray point out, or give more points around the bend",
        }
    }
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
        let mut spots: Vec<Spot> = table.lines.iter().map(|&l| Spot::Line(l)).collect();
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
        if !points[i].is_finite() || !b.is_finite() {
            return Err(CourseFault::NotANumber { spot: spots[i] });
        }
        if b.abs() > std::f64::consts::FRAC_PI_4 {
            return Err(CourseFault::Bank {
                spot: spots[i],
                degrees: b.to_degrees(),
            });
        }
    }
    // A point closer than a centimetre to the one before it repeats it; the first may be repeated at the end.
    let repeats = |i: usize| {
        let before = if i == 0 { None } else { Some(points[i - 1]) };
        before.is_some_and(|p| p.distance(points[i]) < 0.01)
            || (i > 0 && i + 1 == points.len() && points[i].distance(points[0]) < 0.01)
    };
    let keep: Vec<bool> = (0..points.len()).map(|i| !repeats(i)).collect();
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
