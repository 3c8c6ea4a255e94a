//! Columns of water let go on a dry floor: how far the front has come, and how high the column still stands.

use crate::bench;
use crate::curve::Curve;
use crate::plot::{Axis, Mark, Plot};
use crate::{Findings, Row, Scale, Study};
use proofs::free_surface::{
    FRONT_SQUARE, FRONT_SQUARE_LARGE, FRONT_TWO_TO_ONE, FRONT_TWO_TO_ONE_FIGURE, FRONT_TWO_TO_ONE_SMALL,
    HEIGHT_TWO_TO_ONE,
};

const G: f64 = 9.81;
const SOURCE: &str = "Martin and Moyce 1952";
/// Width of the column twice as high as wide [m].
const A: f64 = 0.05715;
/// Width and height of the square one [m].
const SQUARE: f64 = 0.1143;
/// Cells across the column, coarse to fine.
const GRIDS: [usize; 3] = [8, 16, 32];

/// What this subject is about.
pub const ABOUT: &str = "J. C. Martin and W. J. Moyce (1952): a column 57.15 mm wide and twice as high, and a square one of \
114.3 mm, behind a membrane that vanishes. `examples/experiments/column-2-to-1.toml` and `column-square.toml`, a slice \
whose walls do not rub. T = t √(n²g/a) with n² = height/width, Z = front from the back wall over a. The front is where \
the water on the floor is 1.25 mm deep (square column 1.9 mm). Time zero of the films is uncertain by 0.1 to 0.2 in T, so one constant shift \
makes an early reading (Z about 1.4) agree, as is usual; it is given in the notes. Asked: 5 % in Z up to Z = 4, 0.03 in \
the height.";

/// Both columns.
pub fn findings() -> Findings {
    let mut findings = Findings::default();
    tall(&mut findings);
    square(&mut findings);
    findings.left = "Beyond Z = 4 the readings part by more than is asked: at T = 4.03 the figure gives Z = 4.94, 6 % \
        under the line through its own neighbours; the column of half the size has 5.16 there, and the computed front \
        stands between the neighbours' line and it. The small square column lags the large one by 0.1 to 0.16 in t* at \
        the same x*, so its front is slowed by what grows with smallness: friction of the floor under a tongue of 1 to \
        3 mm, and the water's skin. Neither is computed here (the slice's walls slip), and the computed front, which \
        knows no size, follows the large column. The membrane's own motion is not computed."
        .into();
    findings
}

fn tall(findings: &mut Findings) {
    let (mut fronts, mut heights) = (Vec::new(), Vec::new());
    let (mut at_z, mut at_h) = (Vec::new(), Vec::new());
    let runs = match on_all_grids("column-2-to-1", A, 0.35) {
        Ok(runs) => runs,
        Err(why) => return findings.rows.push(bench::stopped("column 2:1", SOURCE, &why)),
    };
    for (ink, (cells, (front, height))) in GRIDS.into_iter().zip(runs).enumerate() {
        let h = A / cells as f64;
        let scale = (A / (2.0 * G)).sqrt();
        // The third reading of the table, Z = 1.44, fixes the clock.
        let (t0, z0) = FRONT_TWO_TO_ONE[2];
        let shift = t0 * scale - front.when(z0 * A);
        let front = front.scaled(shift, scale, |x| x / A);
        let height = height.scaled(0.0, (A / G).sqrt(), |z| z / (2.0 * A));
        if cells == GRIDS[GRIDS.len() - 1] {
            findings
                .rows
                .extend(rows_two_to_one(&front, &height, shift / scale, cells));
        }
        at_z.push((h, front.at(3.33)));
        at_h.push((h, height.at(2.0)));
        fronts.push((label(h), Mark::Computed(ink, front.points())));
        heights.push((label(h), Mark::Computed(ink, height.points())));
    }
    findings.studies.push(Study {
        what: "column 2:1, front Z at T = 3.33".into(),
        values: at_z,
    });
    findings.studies.push(Study {
        what: "column 2:1, height H at τ = 2.00".into(),
        values: at_h,
    });
    findings.plots.push(Plot {
        name: "column-2-to-1-front".into(),
        title: "Front of the 2:1 column against time, measured and computed".into(),
        x: Axis {
            label: "T",
            low: 0.0,
            high: 5.0,
        },
        y: Axis {
            label: "Z",
            low: 1.0,
            high: 7.0,
        },
        layers: [
            ("table".into(), Mark::Points(FRONT_TWO_TO_ONE.to_vec())),
            ("figure".into(), Mark::Line(FRONT_TWO_TO_ONE_FIGURE.to_vec())),
            ("half size".into(), Mark::Faint(FRONT_TWO_TO_ONE_SMALL.to_vec())),
        ]
        .into_iter()
        .chain(fronts)
        .collect(),
    });
    findings.plots.push(Plot {
        name: "column-2-to-1-height".into(),
        title: "Height left at the back wall, 2:1 column, measured and computed".into(),
        x: Axis {
            label: "τ",
            low: 0.0,
            high: 4.5,
        },
        y: Axis {
            label: "H",
            low: 0.0,
            high: 1.05,
        },
        layers: std::iter::once(("measured".into(), Mark::Points(HEIGHT_TWO_TO_ONE.to_vec())))
            .chain(heights)
            .collect(),
    });
}

/// The curves of [`let_go`] on every grid, `size` being the column's width [m].
fn on_all_grids(name: &str, size: f64, until: f64) -> Result<Vec<(Curve, Curve)>, String> {
    let runs = bench::each(&GRIDS, |cells| let_go(name, size / cells as f64, until));
    runs.into_iter().collect()
}

/// Front [m from the back wall] and depth at the back wall [m] against time [s].
fn let_go(name: &str, h: f64, until: f64) -> Result<(Curve, Curve), String> {
    let shown = bench::compute(&bench::read(name)?, h, until, &[])?;
    Ok((shown.curve("front"), shown.curve("back wall depth")))
}

fn label(h: f64) -> String {
    format!("{:.1} mm cells", 1e3 * h)
}

fn rows_two_to_one(front: &Curve, height: &Curve, shift: f64, cells: usize) -> Vec<Row> {
    let row = |case: String, computed, published, tolerance, note: &str| {
        Row::new(case, (computed, published), "", tolerance, SOURCE, note)
    };
    let clock = format!("table; clock shifted by {shift:+.2} in T; {cells} cells across");
    let mut rows = Vec::new();
    for (t, z) in [4, 6, 9, 12, 14].map(|i| FRONT_TWO_TO_ONE[i]) {
        let case = format!("column 2:1, front Z at T = {t:.2}");
        rows.push(row(case, front.at(t), z, (0.05, Scale::Relative), &clock));
    }
    for (tau, h) in [4, 8, 11, 13].map(|i| HEIGHT_TWO_TO_ONE[i]) {
        let case = format!("column 2:1, height H at τ = {tau:.2}");
        rows.push(row(case, height.at(tau), h, (0.03, Scale::Absolute), "no shift"));
    }
    rows
}

fn square(findings: &mut Findings) {
    let scale = (SQUARE / G).sqrt();
    let (mut fronts, mut values) = (Vec::new(), Vec::new());
    let runs = match on_all_grids("column-square", SQUARE, 0.45) {
        Ok(runs) => runs,
        Err(why) => return findings.rows.push(bench::stopped("square column", SOURCE, &why)),
    };
    for (ink, (cells, (front, _))) in GRIDS.into_iter().zip(runs).enumerate() {
        let h = SQUARE / cells as f64;
        // The second reading, x* = 0.44 (Z = 1.44), fixes the clock.
        let (t0, x0) = FRONT_SQUARE_LARGE[1];
        let shift = t0 * scale - front.when((1.0 + x0) * SQUARE);
        let front = front.scaled(shift, scale, |x| x / SQUARE - 1.0);
        if cells == GRIDS[GRIDS.len() - 1] {
            let large = [3, 4, 5, 6].map(|i| (FRONT_SQUARE_LARGE[i], "114 mm"));
            let small = [9, 11].map(|i| (FRONT_SQUARE[i], "57 mm"));
            for ((t, x), size) in large.into_iter().chain(small) {
                findings.rows.push(Row::new(
                    format!("square column of {size}, front Z at t* = {t:.2}"),
                    (1.0 + front.at(t), 1.0 + x),
                    "",
                    (0.05, Scale::Relative),
                    SOURCE,
                    format!(
                        "clock shifted by {:+.2} in t*; {cells} cells across",
                        shift / scale
                    ),
                ));
            }
        }
        values.push((h, 1.0 + front.at(2.54)));
        fronts.push((label(h), Mark::Computed(ink, front.points())));
    }
    findings.studies.push(Study {
        what: "square column, front Z at t* = 2.54".into(),
        values,
    });
    findings.plots.push(Plot {
        name: "column-square-front".into(),
        title: "Front of the square column against time, measured and computed".into(),
        x: Axis {
            label: "t*",
            low: 0.0,
            high: 3.5,
        },
        y: Axis {
            label: "x*",
            low: 0.0,
            high: 5.0,
        },
        layers: [
            ("57 mm".into(), Mark::Points(FRONT_SQUARE.to_vec())),
            ("114 mm".into(), Mark::Faint(FRONT_SQUARE_LARGE.to_vec())),
        ]
        .into_iter()
        .chain(fronts)
        .collect(),
    });
}
