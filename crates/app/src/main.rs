//! The `sumpwright` program.
fn main() {}
