//! A gasket of our own invention, for tests.

#![allow(dead_code, reason = "each test file uses its own part")]

pub mod picture;

/// The gasket as a table in mm: a rail with rounded corners and a bulge round the timing case, a window with a step,
/// ten bolt holes of M6 and M8, two dowel holes.
pub const GASKET: &str = "unit, mm
outline
0, 0, 10
230, 0, 10
230, 30
arc, 244, 60
230, 90
230, 120, 10
0, 120, 10
window
18, 18, 6
150, 18, 5
150, 26, 2
212, 26, 6
212, 94, 6
150, 94, 2
150, 102, 5
18, 102, 6
hole, 9, 9, 6.6
hole, 80, 9, 6.6
hole, 150, 9, 6.6
hole, 221, 9, 9
hole, 236.5, 60, 6.6
hole, 221, 111, 9
hole, 150, 111, 6.6
hole, 80, 111, 6.6
hole, 9, 111, 6.6
hole, 9, 60, 6.6
hole, 40, 9, 5
hole, 190, 111, 5
";
