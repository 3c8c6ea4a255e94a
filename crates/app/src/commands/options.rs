//! What several commands read from their options.

use crate::failure::Failure;
use measure::{Dimension, UnitOrder, show};
use std::ops::RangeInclusive;
use std::path::Path;

/// A length [m] that an option states, within bounds.
pub fn length(text: Option<&str>, option: &str, within: RangeInclusive<f64>) -> Result<Option<f64>, Failure> {
    let Some(text) = text else { return Ok(None) };
    let value =
        measure::read(text, Dimension::Length).map_err(|f| Failure::input(f.what(), option, f.mend()))?;
    if within.contains(&value) {
        return Ok(Some(value));
    }
    let shown = |v: &f64| show(*v, Dimension::Length, UnitOrder::MetricFirst);
    let mend = format!(
        "between {} and {} are taken",
        shown(within.start()),
        shown(within.end())
    );
    Err(Failure::input(format!("{text} is out of range"), option, mend))
}

/// Refuses a file to write that has another ending than it will hold, or that is the file which is read.
pub fn target(path: Option<&Path>, option: &str, ending: &str, source: &Path) -> Result<(), Failure> {
    ends_in(path, option, &[ending])?;
    path.map_or(Ok(()), |path| not_the_source(path, option, source))
}

/// Refuses a file to write that is the file which is read.
pub fn not_the_source(path: &Path, option: &str, source: &Path) -> Result<(), Failure> {
    match (path.canonicalize(), source.canonicalize()) {
        (Ok(a), Ok(b)) if a == b => Err(Failure::input(
            format!("{} is the file that is read", path.display()),
            option,
            "name another file",
        )),
        _ => Ok(()),
    }
}

/// Refuses a file to write that has none of these endings.
pub fn ends_in(path: Option<&Path>, option: &str, endings: &[&str]) -> Result<(), Failure> {
    let Some(path) = path else { return Ok(()) };
    let has = |ending: &&str| path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending));
    if endings.iter().any(has) {
        return Ok(());
    }
    let known = endings.join(", .");
    let what = format!("{} does not end in .{known}", path.display());
    Err(Failure::input(
        what,
        option,
        format!("name a file that ends in .{known}"),
    ))
}
