//! What both test files ask of rows.
#![allow(clippy::print_stdout, reason = "figures for --nocapture")]

use validate::Row;

/// Prints every row and fails with those that are off, or when there are none.
pub fn all_hold(rows: &[Row]) {
    for row in rows {
        println!("{}", row.say());
    }
    let off: Vec<String> = rows.iter().filter(|r| !r.holds()).map(Row::say).collect();
    assert!(!rows.is_empty() && off.is_empty(), "{}", off.join("\n"));
}
