//! Oil from thin to thick: how fast waves die, and how cold oil creeps.

use crate::{Row, Scale};
use glam::DVec3;
use num_complex::Complex;
use oil::fluid::Fluid;
use slosh::{Body, Settings, Solver, Supply, boxes};
use std::f64::consts::PI;

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "One solver with one set of settings from thin hot oil to oil on a cold morning. Waves in a \
closed tank die by the layers beside its walls, thinner than a cell in thin oil; cold oil creeps, and its flow \
between walls is a parabola.";

const LAYERS: &str =
    "laminar layers on floor and walls, worked from Stokes' layer (as Keulegan 1959), plus 2 ν k²/ω";
const DUCT: &str =
    "laminar flow in a rectangular duct, series of Boussinesq 1868 (White, Viscous Fluid Flow)";

fn oil(viscosity: f64) -> Fluid {
    Fluid {
        density: 870.0,
        viscosity,
    }
}

fn rest() -> Body {
    Body::steady(DVec3::new(0.0, 0.0, -G))
}

/// Damping ratio of the first mode along a box of length `l`, width `b`, depth `d` [m] by laminar layers.
///
/// `ζ = sqrt(ω ν/2) ω²/(4 ω E s²) [B L/2 + L sinh(2kd)/2k + 2B (sinh(2kd)/4k − d/2)] + 2 ν k²/ω` with
/// `s = sinh(kd)`, `E = g L B/4`. Holds while the layer is thin against depth and width.
pub fn layer_damping(l: f64, b: f64, d: f64, nu: f64) -> f64 {
    let k = PI / l;
    let omega = (G * k * (k * d).tanh()).sqrt();
    layers(l, b, d, nu, b * l / 2.0) + side_damping(l, b, d, nu) + 2.0 * nu * k * k / omega
}

/// The part of [`layer_damping`] that the side and end walls take.
fn side_damping(l: f64, b: f64, d: f64, nu: f64) -> f64 {
    let k = PI / l;
    let double = (2.0 * k * d).sinh();
    let walls = l * double / (2.0 * k) + 2.0 * b * (double / (4.0 * k) - d / 2.0);
    layers(l, b, d, nu, walls)
}

/// What layers take on walls with so much `area`, weighted by the square of the speed along them.
fn layers(l: f64, b: f64, d: f64, nu: f64, area: f64) -> f64 {
    let k = PI / l;
    let omega = (G * k * (k * d).tanh()).sqrt();
    let s = (k * d).sinh();
    let energy = G * l * b / 4.0;
    (omega * nu / 2.0).sqrt() * omega * omega / (4.0 * omega * energy * s * s) * area
}

/// Damping ratio of a standing wave of half length `l` on oil `d` deep [m] over a floor without slip, exact for small
/// waves and any layer thicker than a 300th of the depth: `−Re s/|s|` of the root `s` of the linear viscous equations.
///
/// With `m² = k² + s/ν` the upright velocity is `a cosh kz + B sinh kz + cosh mz + D sinh mz`. No shear at the surface
/// asks `a = −(m² + k²)/2k²`, no slip at the floor gives B and D, and the pressure at the surface leaves
/// `g (a + 1)/s + (s/k + 2νk) B + 2νm D = 0` (Lamb, Hydrodynamics, article 349, with a floor; worked here).
pub fn floor_damping(l: f64, d: f64, nu: f64) -> f64 {
    let k = PI / l;
    let omega = (G * k * (k * d).tanh()).sqrt();
    let miss = |s: Complex<f64>| {
        let m = (s / nu + k * k).sqrt();
        let a = -(m * m + k * k) / (2.0 * k * k);
        let (sinh, cosh) = ((k * d).sinh(), (k * d).cosh());
        let (tanh, fast) = ((m * d).tanh(), (m * d).cosh());
        let both = m * sinh - tanh * k * cosh;
        let b = (a * (m * cosh - tanh * k * sinh) + m / fast) / both;
        let d = (m * tanh * sinh - k * cosh - a * k / fast) / both;
        G * (a + 1.0) / s + (s / k + 2.0 * nu * k) * b + 2.0 * nu * m * d
    };
    // The secant's rule from two slightly damped waves.
    let (mut before, mut here) = (
        Complex::new(-0.03, 1.0) * omega,
        Complex::new(-0.06, 0.98) * omega,
    );
    for _ in 0..50 {
        let (low, high) = (miss(before), miss(here));
        if (here - before).norm() <= 1e-12 * omega {
            return -here.re / here.norm();
        }
        (before, here) = (here, here - high * (here - before) / (high - low));
    }
    f64::NAN
}

/// First moment of the oil along x, cells.
fn moment(solver: &Solver, n: [usize; 3]) -> f64 {
    let fill = solver.fill();
    let middle = 0.5 * n[0] as f64 - 0.5;
    (0..fill.len())
        .map(|c| fill[c] * ((c % n[0]) as f64 - middle))
        .sum()
}

/// Length, width and depth of oil of the box of [`decay`] [m].
const BOX: (f64, f64, f64) = (0.30, 0.25, 0.05);

/// Damping ratio of the first mode in a box 0.30 × 0.25 m with 50 mm of oil: (computed, theory). From the
/// decay of five swings after the first half swing, in which the layers grow.
pub fn decay(nu: f64, h: f64) -> (f64, f64) {
    let (l, b, d) = BOX;
    let n = [l / h, b / h, 0.08 / h].map(|v: f64| v.round() as usize);
    let theory = layer_damping(l, b, d, nu);
    let k = PI / l;
    let lattice = boxes::tank(n, h);
    let run = || {
        let mut solver = Solver::new(&lattice, oil(nu), &[], Settings::default())?;
        let height = 0.003 * (0.5 * k * h).sin() / (0.5 * k * h);
        solver.fill_where(|p| {
            let top = d + height * (k * p.x).cos();
            ((top - (p.z - 0.5 * h)) / h).clamp(0.0, 1.0)
        })?;
        let omega = (G * k * (k * d).tanh()).sqrt();
        let swings = if theory > 0.03 { 3.0 } else { 5.0 };
        let end = (swings + 0.6) * 2.0 * PI / omega;
        // Peaks of the moment by parabolas through three samples; one sample a step.
        let (mut time, mut past) = (0.0, vec![(0.0, moment(&solver, n))]);
        while time < end {
            time += solver.step(&rest(), &Supply::NONE, 0.004)?.dt;
            past.push((time, moment(&solver, n)));
        }
        let mut peaks = Vec::new();
        for w in past.windows(3) {
            let (a, m, z) = (w[0].1.abs(), w[1].1.abs(), w[2].1.abs());
            if m >= a && m > z {
                let bend = a - 2.0 * m + z;
                peaks.push((m - (z - a).powi(2) / (8.0 * bend)).ln());
            }
        }
        // A straight line through the logarithms of the peaks: half a swing apart.
        let count = peaks.len() as f64;
        let (mi, mp) = (0.5 * (count - 1.0), peaks.iter().sum::<f64>() / count);
        let (mut top, mut bottom) = (0.0, 0.0);
        for (i, p) in peaks.iter().enumerate() {
            top += (i as f64 - mi) * (p - mp);
            bottom += (i as f64 - mi).powi(2);
        }
        let rate = -top / bottom / PI;
        Ok::<f64, slosh::SloshFault>(rate / (1.0 + rate * rate).sqrt())
    };
    (run().unwrap_or(f64::NAN), theory)
}

/// Mean velocity times ν over pressure gradient (per density) in a rectangular duct of sides `a` ≤ `b` [m²]:
/// `a²/12 (1 − (192/π⁵)(a/b) Σ tanh(iπb/2a)/i⁵)`, i odd.
pub fn duct_permeability(a: f64, b: f64) -> f64 {
    let (a, b) = (a.min(b), a.max(b));
    let sum: f64 = (0..20)
        .map(|j| f64::from(2 * j + 1))
        .map(|i| (i * PI * b / (2.0 * a)).tanh() / i.powi(5))
        .sum();
    a * a / 12.0 * (1.0 - 192.0 / PI.powi(5) * a / b * sum)
}

/// Cold oil of 2,000 mm²/s drains from one chamber, 60 × 60 mm in plan, to the next through a duct 20 mm high and
/// 100 mm long half-way up, `cells` high and `width` wide [m]: (computed, exact) rate at which the head dies [1/s].
///
/// `2 g K a b/(ν L' A)`; `L'` adds the loss of both ends: for a square that of a round tube, 3π/8 radii (Dagan,
/// Weinbaum and Pfeffer 1982), for a wide duct that of a slit, 16/3π half heights (Hasimoto 1958); both from memory.
/// The way down one chamber and up the other, 50 mm each from the mean level to the duct, is a duct too.
pub fn drain(cells: usize, width: f64) -> (f64, f64) {
    let (nu, side, length, chamber) = (2e-3, 0.02, 0.1, 0.06);
    let h = side / cells as f64;
    let (total, height) = (2.0 * chamber + length, 0.12);
    let ends = if width > side {
        16.0 / (3.0 * PI)
    } else {
        3.0 * PI / 8.0
    };
    let passes = duct_permeability(side, width) * side * width;
    let ways = 0.1 * passes / (duct_permeability(chamber, chamber) * chamber * chamber);
    let exact = 2.0 * G * passes / (nu * (length + ends * 0.5 * side + ways) * chamber * chamber);
    let n = [total / h, chamber / h, height / h].map(|v: f64| v.round() as usize);
    let middle = 0.5 * chamber;
    let lattice = boxes::carved(n, h, DVec3::ZERO, 1, |p| {
        let end = p.x < chamber || p.x > total - chamber;
        end || ((p.y - middle).abs() < 0.5 * width && (p.z - middle).abs() < 0.5 * side)
    });
    let run = || {
        let mut solver = Solver::new(&lattice, oil(nu), &[], Settings::default())?;
        solver.fill_where(|p| f64::from(p.z < if p.x < 0.5 * total { 0.1 } else { 0.06 }))?;
        let head = |solver: &Solver| -> f64 {
            let fill = solver.fill();
            (0..fill.len())
                .map(|c| {
                    let sign = if c % n[0] < n[0] / 2 { 1.0 } else { -1.0 };
                    sign * fill[c] * lattice.open_volume[c]
                })
                .sum()
        };
        let (mut time, mut first) = (0.0, None);
        while time < 1.2 {
            time += solver.step(&rest(), &Supply::NONE, 0.01)?.dt;
            if first.is_none() && time > 0.2 {
                first = Some((time, head(&solver)));
            }
        }
        let (start, before) = first.unwrap_or((0.0, f64::NAN));
        Ok::<f64, slosh::SloshFault>((before / head(&solver)).ln() / (time - start))
    };
    (run().unwrap_or(f64::NAN), exact)
}

fn relative(
    case: String,
    found: (f64, f64),
    unit: &'static str,
    tolerance: f64,
    source: &'static str,
    note: &str,
) -> Row {
    Row::new(case, found, unit, (tolerance, Scale::Relative), source, note)
}

/// The quick rows.
pub fn quick() -> Vec<Row> {
    let mut rows: Vec<Row> = [1e-6, 1e-5, 5e-5]
        .into_iter()
        .map(|nu| damping(nu, 0.01))
        .collect();
    rows.push(relative(
        "2,000 mm²/s, duct 60 mm wide, 4 cells high: drain-down".into(),
        drain(4, 0.06),
        "1/s",
        0.05,
        DUCT,
        "head 40 mm; the ends and the chambers' own friction are in the formula",
    ));
    rows
}

fn damping(nu: f64, h: f64) -> Row {
    let note = match (nu, h) {
        (_, h) if h < 0.01 => "grid study",
        _ => "box 300 × 250 mm, 50 mm deep, waves of 3 mm; the layer is thinner than a cell",
    };
    relative(
        format!(
            "{:.0} mm²/s, {:.0} mm cells: damping ratio of the first mode",
            1e6 * nu,
            1e3 * h
        ),
        decay(nu, h),
        "",
        0.15,
        LAYERS,
        note,
    )
}

/// All rows: the quick ones and the finer grids.
pub fn rows() -> Vec<Row> {
    let mut rows = quick();
    rows.extend([1e-6, 1e-5, 5e-5].map(|nu| damping(nu, 0.005)));
    let (l, b, d) = BOX;
    let thick = 2e-4;
    let (computed, thin_layers) = decay(thick, 0.005);
    rows.push(relative(
        "200 mm²/s, 5 mm cells: damping ratio of the first mode".into(),
        (
            computed,
            floor_damping(l, d, thick) + side_damping(l, b, d, thick),
        ),
        "",
        0.15,
        "viscous waves over a floor, exact, plus layers on the side walls",
        &format!("the layer is 7.5 mm; the theory of thin layers alone says {thin_layers:.4}"),
    ));
    let square = "2,000 mm²/s, duct 20 mm square";
    rows.push(relative(
        format!("{square}, 4 cells high: drain-down"),
        drain(4, 0.02),
        "1/s",
        0.05,
        DUCT,
        "",
    ));
    rows.push(relative(
        "2,000 mm²/s, duct 60 mm wide, 2 cells high: drain-down".into(),
        drain(2, 0.06),
        "1/s",
        0.10,
        DUCT,
        "grid study",
    ));
    rows.push(relative(
        format!("{square}, 2 cells high: drain-down"),
        drain(2, 0.02),
        "1/s",
        0.25,
        DUCT,
        "2 by 2 cells know nothing of corners: 19 % too fast is what they can do",
    ));
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Over a deep floor a wave loses 2 ν k²/ω (Lamb, article 348), here to the next order, sqrt(ν k²/ω) of it or 2.3 %;
    /// a thin layer on a floor takes its part beside it.
    #[test]
    fn the_exact_damping_over_a_floor_has_both_known_limits() {
        let (l, b, d) = BOX;
        let k = PI / l;
        let thicker = 5e-5;
        let deep = floor_damping(l, 2.0 * l, thicker);
        let lamb = 2.0 * thicker * k * k / (G * k).sqrt();
        assert!(
            (deep / lamb - 1.0).abs() < 0.023,
            "deep: {deep:.3e}, Lamb: {lamb:.3e}"
        );
        let nu = 1e-6;
        let thin = layer_damping(l, b, d, nu) - side_damping(l, b, d, nu);
        let exact = floor_damping(l, d, nu);
        assert!(
            (exact / thin - 1.0).abs() < 0.02,
            "exact {exact:.6}, thin layers {thin:.6}"
        );
    }
}
