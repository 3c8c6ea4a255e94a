//! Flatness against exact sets, a linear programme of a general library, and what must hold of any face.

use std::collections::BTreeMap;

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettings, DefaultSolver, IPSolver, SolverStatus, SupportedConeT::NonnegativeConeT,
};
use glam::{DMat3, DQuat, DVec2, DVec3};
use sumpwright_seal::flatness::{
    EdgeReading, FlatnessFault, Held, Line, Rail, least_squares, minimum_zone, net, skim, spans,
    straightness, together,
};

fn table(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader
        .records()
        .map(|r| r.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

fn sets() -> BTreeMap<String, Vec<DVec3>> {
    let mut sets: BTreeMap<String, Vec<DVec3>> = BTreeMap::new();
    for row in table(include_str!("data/flatness_sets.csv")) {
        let at = |k: usize| row[k].parse::<f64>().unwrap() * 1e-3;
        sets.entry(row[0].clone())
            .or_default()
            .push(DVec3::new(at(1), at(2), at(3)));
    }
    sets
}

/// `flatness_results.csv`: scipy's hull by enumeration, to 1e-6 mm.
#[test]
fn the_exact_sets_come_out() {
    let sets = sets();
    for row in table(include_str!("data/flatness_results.csv")) {
        let points = &sets[&row[0]];
        let wanted = |k: usize| row[k].parse::<f64>().unwrap();
        let zone = minimum_zone(points).unwrap().width * 1e3;
        let squares = least_squares(points).unwrap();
        assert_eq!(points.len() as f64, wanted(1), "{}", row[0]);
        assert!((zone - wanted(2)).abs() < 1e-6, "{}: zone {zone}", row[0]);
        assert!(
            (squares.range * 1e3 - wanted(3)).abs() < 1e-6,
            "{}: {}",
            row[0],
            squares.range * 1e3
        );
        assert!(
            (squares.rms * 1e3 - wanted(4)).abs() < 1e-6,
            "{}: rms {}",
            row[0],
            squares.rms * 1e3
        );
    }
}

#[test]
fn what_holds_a_zone_is_told_and_lies_on_its_planes() {
    for (name, points) in sets() {
        let zone = minimum_zone(&points).unwrap();
        let height = |i: usize| zone.height(points[i]);
        let (a, b): (Vec<usize>, Vec<usize>) = match zone.held {
            Held::FaceAndPoint(face, off) => (face.to_vec(), vec![off]),
            Held::TwoEdges(e, f) => (e.to_vec(), f.to_vec()),
            Held::Plane => panic!("{name} is no plane"),
        };
        let on = |v: &[usize], h: f64| v.iter().all(|&i| (height(i) - h).abs() < 1e-12);
        assert!(
            on(&a, 0.0) && on(&b, zone.width) || on(&b, 0.0) && on(&a, zone.width),
            "{name}: {:?}",
            zone.held
        );
    }
}

/// Numbers that look random and are the same on every machine (splitmix64).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A rail or a whole face of up to 80 points, waves and noise of some hundredths, tilted.
    fn face(&mut self) -> Vec<DVec3> {
        let n = 5 + (self.next() * 75.0) as usize;
        let rail = self.next() < 0.5;
        let (bow, twist, noise) = (
            0.3e-3 * (self.next() - 0.5),
            0.3e-3 * (self.next() - 0.5),
            0.05e-3 * self.next(),
        );
        let tilt = DVec2::new(self.next() - 0.5, self.next() - 0.5) * 2e-3;
        (0..n)
            .map(|i| {
                let t = (i as f64 + 0.5 * self.next()) / n as f64;
                let (x, y) = match rail {
                    true => {
                        let a = t * std::f64::consts::TAU;
                        (0.2 * a.cos(), 0.12 * a.sin() + 0.01 * self.next())
                    }
                    false => (0.4 * self.next() - 0.2, 0.25 * self.next() - 0.125),
                };
                let z = bow * (x / 0.2) * (x / 0.2)
                    + twist * x * y / 0.025
                    + noise * self.next()
                    + tilt.dot(DVec2::new(x, y));
                DVec3::new(x, y, z)
            })
            .collect()
    }
}

/// The least upright distance between two parallel planes with all points between them, and the planes' normal.
fn by_linear_programme(points: &[DVec3]) -> (f64, DVec3) {
    // Unknown: slopes a, b [µm/mm], lower plane c, width w [µm]. Each point: c ≤ z − a x − b y ≤ c + w.
    let n = points.len();
    let (mut rows, mut columns, mut values, mut right) = (vec![], vec![], vec![], vec![]);
    let mut put = |row: usize, at: [f64; 4], bound: f64| {
        for (column, value) in at.into_iter().enumerate() {
            rows.push(row);
            columns.push(column);
            values.push(value);
        }
        right.push(bound);
    };
    for (i, p) in points.iter().enumerate() {
        let (x, y, z) = (p.x * 10.0, p.y * 10.0, p.z * 1e4);
        put(2 * i, [x, y, 1.0, 0.0], z);
        put(2 * i + 1, [-x, -y, -1.0, -1.0], -z);
    }
    let a = CscMatrix::new_from_triplets(2 * n, 4, rows, columns, values);
    let p = CscMatrix::zeros((4, 4));
    let settings = DefaultSettings {
        verbose: false,
        tol_gap_abs: 1e-10,
        tol_gap_rel: 1e-10,
        tol_feas: 1e-10,
        ..DefaultSettings::default()
    };
    let mut solver = DefaultSolver::new(
        &p,
        &[0.0, 0.0, 0.0, 1.0],
        &a,
        &right,
        &[NonnegativeConeT(2 * n)],
        settings,
    )
    .unwrap();
    solver.solve();
    assert_eq!(solver.solution.status, SolverStatus::Solved);
    let x = &solver.solution.x;
    (
        x[3] * 1e-4,
        DVec3::new(-x[0] * 1e-3, -x[1] * 1e-3, 1.0).normalize(),
    )
}

/// Clarabel, a general solver of convex programmes. The zone is at most the programme's slab measured square to it, and
/// at least as wide, measured upright, as the programme's.
#[test]
fn random_faces_agree_with_a_linear_programme() {
    let mut noise = Noise(7);
    for case in 0..300 {
        let points = noise.face();
        let zone = minimum_zone(&points).unwrap();
        let (upright, normal) = by_linear_programme(&points);
        let slack = 1e-9; // 1e-6 mm
        assert!(
            zone.width <= upright * normal.z + slack,
            "{case}: {} over {upright}",
            zone.width
        );
        assert!(
            zone.width / zone.normal.z >= upright - slack,
            "{case}: {} under {upright}",
            zone.width
        );
        let squares = least_squares(&points).unwrap();
        assert!(
            squares.range >= zone.width - 1e-12,
            "{case}: least squares {} below the zone",
            squares.range
        );
    }
}

#[test]
fn a_rigid_motion_changes_nothing() {
    let mut noise = Noise(11);
    for case in 0..100 {
        let points = noise.face();
        let axis = DVec3::new(noise.next() - 0.5, noise.next() - 0.5, noise.next() - 0.5).normalize();
        let turn = DMat3::from_quat(DQuat::from_axis_angle(axis, 6.0 * noise.next()));
        let by = DVec3::new(noise.next(), noise.next(), noise.next()) * 2.0;
        let moved: Vec<DVec3> = points.iter().map(|p| turn * *p + by).collect();
        let (a, b) = (minimum_zone(&points).unwrap(), minimum_zone(&moved).unwrap());
        assert!(
            (a.width - b.width).abs() < 1e-11,
            "{case}: {} and {}",
            a.width,
            b.width
        );
        let upside: Vec<DVec3> = points.iter().map(|p| -*p).collect();
        assert!((minimum_zone(&upside).unwrap().width - a.width).abs() < 1e-12);
    }
}

#[test]
fn the_skim_suggested_brings_the_face_under_its_target_and_a_hair_less_does_not() {
    let mut noise = Noise(13);
    for case in 0..200 {
        let points = noise.face();
        let zone = minimum_zone(&points).unwrap();
        let target = zone.width * (0.1 + 0.8 * noise.next());
        let cut = skim(&points, &zone, target).unwrap();
        let after = minimum_zone(&cut.after(&points, &zone)).unwrap();
        assert!(
            after.width <= target + 1e-12,
            "{case}: {} over {target}",
            after.width
        );
        let deepest = points
            .iter()
            .zip(cut.after(&points, &zone))
            .map(|(a, b)| a.z - b.z)
            .fold(0.0, f64::max);
        assert!(
            (deepest * zone.normal.z - cut.depth).abs() < 1e-12
                && (cut.cuts[0].depth - cut.depth).abs() < 1e-12
        );
        // The same cut less deep, or tilted any way at the same depth: not flat enough.
        let shy = skim(&points, &zone, target + 0.02 * zone.width);
        let left = shy.map_or(zone.width, |s| {
            minimum_zone(&s.after(&points, &zone)).unwrap().width
        });
        assert!(left > target, "{case}");
        let still: Vec<f64> = (0..20)
            .map(|_| {
                // Any other plane that takes no more than 98 % of the depth anywhere.
                let tilt = DVec2::new(noise.next() - 0.5, noise.next() - 0.5) * 4e-3;
                let over = |p: &DVec3| p.z - tilt.dot(p.truncate());
                let top = points.iter().map(over).fold(f64::NEG_INFINITY, f64::max) - 0.98 * cut.depth;
                let cut: Vec<DVec3> = points
                    .iter()
                    .map(|p| p.truncate().extend(p.z - (over(p) - top).max(0.0)))
                    .collect();
                minimum_zone(&cut).unwrap().width
            })
            .collect();
        assert!(
            still.iter().all(|w| *w > target),
            "{case}: {still:?} against {target}"
        );
        assert!(skim(&points, &zone, zone.width).is_none());
    }
}

#[test]
fn points_without_a_plane_are_refused_with_their_number() {
    let p = |x: f64, y: f64, z: f64| DVec3::new(x, y, z);
    let row = [p(0.0, 0.0, 0.0), p(0.1, 0.0, 1e-5), p(0.3, 0.0, 0.0)];
    assert!(matches!(minimum_zone(&row), Err(FlatnessFault::OneLine { .. })));
    let twice = [
        p(0.0, 0.0, 0.0),
        p(0.1, 0.0, 0.0),
        p(0.0, 0.1, 0.0),
        p(0.1, 0.0, 4e-5),
        p(0.1, 0.1, 0.0),
    ];
    assert_eq!(minimum_zone(&twice), Err(FlatnessFault::SamePlace(1, 3)));
    assert_eq!(minimum_zone(&twice[..3]), Err(FlatnessFault::TooFew(3)));
    let bad = [
        p(0.0, 0.0, 0.0),
        p(0.1, f64::NAN, 0.0),
        p(0.0, 0.1, 0.0),
        p(0.1, 0.1, 0.0),
    ];
    assert_eq!(minimum_zone(&bad), Err(FlatnessFault::NoNumber(1)));
    let plane: Vec<DVec3> = (0..25)
        .map(|i| p(f64::from(i % 5), f64::from(i / 5), 0.0))
        .collect();
    assert_eq!(minimum_zone(&plane).unwrap().width, 0.0);
}

/// A dome of 10,000 points, all of them on the hull, is exact in a few seconds of a debug build.
#[test]
fn a_fine_dome_is_as_high_as_it_is() {
    let n = 60;
    let points: Vec<DVec3> = (0..n * n)
        .map(|i| {
            let (x, y) = (
                f64::from(i % n) / f64::from(n - 1) - 0.5,
                f64::from(i / n) / f64::from(n - 1) - 0.5,
            );
            DVec3::new(0.4 * x, 0.4 * y, 8e-5 * (1.0 - 2.0 * (x * x + y * y)))
        })
        .collect();
    let width = minimum_zone(&points).unwrap().width;
    // Corners at 0, the middle four points a little under 0.08 mm.
    let top = points.iter().map(|p| p.z).fold(0.0, f64::max);
    assert!((width - top).abs() < 1e-10, "got {width}, wanted {top}");
}

/// `straightness_sets.csv`: numpy, all pairs; least strip, least squares, ends [µm].
#[test]
fn straight_lines_come_out() {
    let wanted = [
        ("L1", 9.5, 10.8929, 12.0),
        ("L2", 24.0, 24.0, 24.0),
        ("L3", 13.0, 14.1143, 18.4),
    ];
    for (name, least, squares, ends) in wanted {
        let rows = table(include_str!("data/straightness_sets.csv"));
        let of = rows.iter().filter(|r| r[0] == name);
        let points: Vec<[f64; 2]> = of
            .map(|r| {
                [
                    r[1].parse::<f64>().unwrap() * 1e-3,
                    r[2].parse::<f64>().unwrap() * 1e-6,
                ]
            })
            .collect();
        let got = straightness(&points);
        for (got, wanted) in [(got.least, least), (got.squares, squares), (got.ends, ends)] {
            assert!(
                (got * 1e6 - wanted).abs() < 1e-4,
                "{name}: got {}, wanted {wanted}",
                got * 1e6
            );
        }
    }
}

fn laid(surface: &dyn Fn(DVec2) -> f64, from: DVec2, to: DVec2, n: usize) -> Line {
    // A straight edge touches at its two highest places: gaps are measured from the line over all.
    let length = from.distance(to);
    let at: Vec<[f64; 2]> = (0..n)
        .map(|i| {
            let s = length * i as f64 / (n - 1) as f64;
            [s, surface(from + (to - from) * s / length)]
        })
        .collect();
    // The upper hull's edge over the middle.
    let mut best = (f64::INFINITY, 0.0, 0.0);
    for a in &at {
        for b in at.iter().filter(|b| b[0] > a[0]) {
            let slope = (b[1] - a[1]) / (b[0] - a[0]);
            let line = |s: f64| a[1] + slope * (s - a[0]);
            if at.iter().all(|p| p[1] <= line(p[0]) + 1e-15) && line(0.5 * length) < best.0 {
                best = (line(0.5 * length), line(0.0), slope);
            }
        }
    }
    let reading = |p: &[f64; 2]| EdgeReading {
        along: p[0],
        gap: (best.1 + best.2 * p[0] - p[1]).max(0.0),
    };
    Line {
        from,
        to,
        readings: at.iter().map(reading).collect(),
    }
}

/// Four sides and both diagonals fix a face, whatever it looks like; without the diagonals' crossing they do not.
#[test]
fn straight_edges_that_cross_give_the_face_back() {
    let surface = |p: DVec2| 1e-4 * ((9.0 * p.x).sin() + p.x * p.y / 0.02 - (p.y / 0.2) * (p.y / 0.2));
    let c = |x: f64, y: f64| DVec2::new(x, y);
    let sides = [
        (c(0.0, 0.0), c(0.4, 0.0)),
        (c(0.4, 0.0), c(0.4, 0.2)),
        (c(0.4, 0.2), c(0.0, 0.2)),
        (c(0.0, 0.2), c(0.0, 0.0)),
    ];
    let diagonals = [(c(0.0, 0.0), c(0.4, 0.2)), (c(0.4, 0.0), c(0.0, 0.2))];
    let all: Vec<Line> = sides
        .iter()
        .chain(&diagonals)
        .map(|(a, b)| laid(&surface, *a, *b, 9))
        .collect();
    let net6 = net(&all);
    assert_eq!((net6.loose, net6.crossings), (0, 13));
    assert!(net6.disagree < 1e-12, "{}", net6.disagree);
    let points = net6.points.clone().unwrap();
    let truth: Vec<DVec3> = points
        .iter()
        .map(|p| p.truncate().extend(surface(p.truncate())))
        .collect();
    let (got, wanted) = (
        minimum_zone(&points).unwrap().width,
        minimum_zone(&truth).unwrap().width,
    );
    assert!((got - wanted).abs() < 1e-10, "got {got}, wanted {wanted}");
    assert!(net6.at_least() <= got * (1.0 + 1e-6));
    let four = net(&all[..4]);
    assert!(four.points.is_none() && four.loose == 1, "{}", four.loose);
    // Six lines have no more crossings than they need; a seventh across the middle proves the readings.
    let mut seven = all.clone();
    seven.push(laid(&surface, c(0.2, 0.0), c(0.2, 0.2), 9));
    assert!(net(&seven).disagree < 1e-12);
    seven[4].readings[4].gap += 1e-4;
    assert!(net(&seven).disagree > 1e-5, "{}", net(&seven).disagree);
}

fn ring() -> Rail {
    let c = |x: f64, y: f64| DVec2::new(x, y);
    Rail::new(&[c(-0.2, -0.1), c(0.2, -0.1), c(0.2, 0.1), c(-0.2, 0.1)]).unwrap()
}

#[test]
fn a_hollow_between_two_bolts_is_found_with_its_depth() {
    let rail = ring();
    assert!((rail.length() - 1.2).abs() < 1e-12);
    let bolts = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0].map(|s| rail.place(s));
    let points: Vec<DVec3> = (0..24)
        .map(|i| {
            let s = 0.05 * f64::from(i);
            let z = if (s - 0.3).abs() < 0.01 { -7e-5 } else { 0.0 };
            rail.place(s).extend(z + 1e-4)
        })
        .collect();
    let found = spans(&rail, &bolts, &points);
    assert_eq!(found.len(), 6);
    let worst = found.iter().max_by(|a, b| a.hollow.total_cmp(&b.hollow)).unwrap();
    assert_eq!((worst.from, worst.to, worst.readings), (1, 2, 3));
    assert!((worst.hollow - 7e-5).abs() < 1e-12 && worst.at.distance(rail.place(0.3)) < 1e-9);
    assert!((worst.length - 0.2).abs() < 1e-12);
}

/// A bow that the other face follows leaves no gap; two bows that face each other add up.
#[test]
fn two_faces_add_up() {
    let rail = ring();
    let bow = |p: DVec2| 1e-4 * (p.x / 0.2) * (p.x / 0.2);
    let pan: Vec<DVec3> = (0..24)
        .map(|i| rail.place(0.05 * f64::from(i)))
        .map(|p| p.extend(bow(p)))
        .collect();
    let follows: Vec<DVec3> = pan
        .iter()
        .map(|p| p.truncate().extend(-p.z + 0.001 * p.x + 3e-3))
        .collect();
    let sum = together(&rail, &pan, &follows).unwrap();
    assert!(
        minimum_zone(&sum).unwrap().width < 2e-10,
        "{}",
        minimum_zone(&sum).unwrap().width
    );
    let sum = together(&rail, &pan, &pan).unwrap();
    assert!((minimum_zone(&sum).unwrap().width - 2e-4).abs() < 1e-9);
}
