use super::*;

fn grids(cells: &[f64], values: &[f64]) -> Vec<OnGrid> {
    let both = cells.iter().zip(values);
    both.map(|(&cell, &value)| OnGrid { cell, value }).collect()
}

fn read(cells: &[f64], values: &[f64]) -> Estimate {
    estimate(&grids(cells, values)).expect("sound grids")
}

fn near(got: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!(
        (got - wanted).abs() <= tolerance,
        "{what}: got {got}, wanted {wanted}"
    );
}

/// Celik and others 2008, table 1: grids of 18000, 8000 and 4500 cells in the plane (ratios 1.5 and 1.333),
/// dimensionless reattachment length. Results from memory of the paper, inputs also in published course scripts.
#[test]
fn the_published_reattachment_length_gives_its_published_index() {
    let e = read(&[1.0, 1.5, 2.0], &[6.063, 5.972, 5.863]);
    assert_eq!(e.approach, Approach::Closing);
    near(e.observed_order.unwrap(), 1.53, 0.005, "order");
    near(e.at_zero.unwrap(), 6.1685, 2e-4, "value at h = 0");
    near(100.0 * e.band / e.value(), 2.2, 0.05, "index in per cent");
}

/// The same table, 18000, 4500 and 980 cells: an axial velocity, order 0.75, 10.8801 at h = 0, index 1.1 %.
#[test]
fn the_published_velocity_gives_its_published_index() {
    let cells = [1.0, 2.0, (18000.0f64 / 980.0).sqrt()];
    let e = read(&cells, &[10.7880, 10.7250, 10.6050]);
    near(e.observed_order.unwrap(), 0.75, 0.005, "order");
    near(e.at_zero.unwrap(), 10.8801, 5e-4, "value at h = 0");
    near(100.0 * e.band / e.value(), 1.1, 0.05, "index in per cent");
}

/// The worked example that goes with Roache's index, pressure recovery of an inlet on grids halved twice: order
/// 1.78617, 0.97130 at h = 0, index of the fine grid 0.103083 % (from memory of the published tutorial).
#[test]
fn the_published_pressure_recovery_gives_its_published_index() {
    let e = read(&[1.0, 2.0, 4.0], &[0.97050, 0.96854, 0.96178]);
    near(e.observed_order.unwrap(), 1.78617, 1e-5, "order");
    near(e.at_zero.unwrap(), 0.97130, 5e-6, "value at h = 0");
    near(100.0 * e.band / e.value(), 0.103083, 1e-6, "index in per cent");
}

#[test]
fn a_power_of_the_cell_is_found_with_its_order_and_its_limit() {
    let cells = [5.0e-3, 6.1e-3, 7.5e-3];
    for order in [0.6, 1.0, 1.4, 2.0] {
        let values = cells.map(|h: f64| 0.03 - 40.0 * h.powf(order + 1.0) / h);
        let e = read(&cells, &values);
        near(e.observed_order.unwrap(), order, 1e-6, "order");
        near(e.at_zero.unwrap(), 0.03, 1e-9, "limit");
        near(e.band, 1.25 * (0.03 - values[0]).abs(), 1e-9, "band");
    }
}

#[test]
fn an_order_beyond_the_method_is_limited_and_the_spread_kept() {
    let cells = [1.0, 1.25, 1.5625];
    let values = cells.map(|h: f64| 1.0 + 0.01 * h.powi(6));
    let e = read(&cells, &values);
    near(e.observed_order.unwrap(), 6.0, 1e-6, "order");
    assert_eq!(e.order_used, Some(HIGHEST));
    near(e.band, 1.25 * (values[2] - values[0]), 1e-12, "band");
    // Were the observed order believed, the band would be far smaller.
    assert!(e.band > 10.0 * 1.25 * (values[0] - 1.0));
}

#[test]
fn values_that_swing_give_their_spread_and_no_order() {
    let e = read(&[1.0, 1.5, 2.0], &[6.0042, 5.9624, 6.0909]);
    assert_eq!((e.approach, e.observed_order), (Approach::Swinging, None));
    near(e.band, 1.5 * (6.0909 - 5.9624), 1e-12, "band");
}

#[test]
fn values_that_run_apart_or_creep_give_three_times_their_spread() {
    for values in [[3.0, 2.0, 1.5], [1.0, 1.1, 1.21]] {
        let e = read(&[1.0, 1.5, 2.25], &values);
        assert_eq!(e.approach, Approach::Apart, "{values:?}");
        near(e.band, 3.0 * (values[0] - values[2]).abs(), 1e-12, "band");
    }
    // Order 0.235 on paper: nobody can say where that ends.
    let slow = read(&[1.0, 1.5, 2.25], &[1.0, 1.1, 1.21]).observed_order;
    near(slow.unwrap(), 1.1f64.ln() / 1.5f64.ln(), 1e-6, "order");
}

#[test]
fn two_grids_take_the_assumed_order_and_the_larger_factor() {
    let e = read(&[4.0, 5.0], &[20.0, 22.0]);
    assert_eq!(
        (e.approach, e.order_used, e.observed_order),
        (Approach::TwoGrids, Some(1.0), None)
    );
    near(e.at_zero.unwrap(), 12.0, 1e-9, "value at h = 0");
    near(e.band, 24.0, 1e-9, "band");
}

#[test]
fn the_same_value_on_all_grids_leaves_no_band() {
    for values in [[0.0, 0.0, 0.0], [7.0, 7.0, 7.0]] {
        let e = read(&[1.0, 1.3, 1.7], &values);
        assert_eq!((e.approach, e.band), (Approach::Same, 0.0));
    }
}

#[test]
fn grids_that_say_nothing_are_refused() {
    let refused = |cells: &[f64], values: &[f64]| estimate(&grids(cells, values)).unwrap_err();
    assert_eq!(refused(&[1.0], &[1.0]), ConvergenceFault::Grids(1));
    assert_eq!(
        refused(&[1.0, 2.0, 3.0, 4.0], &[1.0; 4]),
        ConvergenceFault::Grids(4)
    );
    for (cells, values) in [
        ([1.0, 1.05], [1.0, 2.0]),
        ([2.0, 1.0], [1.0, 2.0]),
        ([1.0, 2.0], [1.0, f64::NAN]),
        ([f64::NAN, 2.0], [1.0, 1.0]),
        ([0.0, 2.0], [1.0, 1.0]),
    ] {
        let fault = refused(&cells, &values);
        assert!(
            matches!(fault, ConvergenceFault::BadGrid { .. }),
            "{cells:?} {values:?}: {fault}"
        );
    }
}
