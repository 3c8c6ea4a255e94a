//! The published cases that take no solver.

mod common;

use common::all_hold;
use validate::{at_rest, hydraulics, laps, oils, volumes};

#[test]
fn volumes_and_levels_agree_with_exact_solids_and_another_library() {
    all_hold(&volumes::rows());
}

#[test]
fn oil_at_rest_stands_where_textbooks_say() {
    all_hold(&at_rest::rows());
}

#[test]
fn oils_and_their_flows_come_out_as_published() {
    all_hold(&oils::rows());
    all_hold(&hydraulics::rows());
}

#[test]
fn laps_take_as_long_as_another_planner_says() {
    all_hold(&laps::rows());
}
