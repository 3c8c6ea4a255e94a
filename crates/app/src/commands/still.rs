//! `sumpwright still`: oil at rest.

use crate::cli::Still;
use crate::failure::Failure;
use crate::findings::rest_maps;
use crate::preparation::Prepared;
use crate::terminal;
use measure::{Dimension, show};
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Still) -> Result<ExitCode, Failure> {
    let prepared = Prepared::read(&arguments.common)?;
    let gridded = prepared.grid(prepared.size(None)?)?;
    let design = &prepared.design;
    if !(arguments.vertical > -1.0 && arguments.vertical <= 5.0) {
        return Err(Failure::input(
            format!("{} g upward is out of range", arguments.vertical),
            "--vertical",
            "state more than -1 (free fall) and at most 5, such as -0.3 over a crest or 0.3 on a banking",
        ));
    }
    let rest = rest_maps(&prepared, &gridded, design.engine.redline, arguments.vertical)?;
    if arguments.common.json {
        let text = serde_json::to_string_pretty(&rest.facts()).expect("plain data");
        terminal::say(&format!("{text}\n"));
        return Ok(ExitCode::SUCCESS);
    }
    let litres = |v: f64| show(v, Dimension::Volume, design.units);
    let length = |v: f64| show(v, Dimension::Length, design.units);
    let mut text = format!("{}\n", design.name);
    let weakest = |dry: &[Option<f64>]| {
        let least = rest
            .map
            .directions
            .iter()
            .zip(dry)
            .filter_map(|(d, g)| g.map(|g| (*d, g)));
        match least.min_by(|a, b| a.1.total_cmp(&b.1)) {
            Some((direction, g)) => {
                format!("{g:.2} g, oil pushed {}", report::pictures::round::way(direction))
            }
            None => format!("not below {:.1} g", rest.map.rings.last().copied().unwrap_or(0.0)),
        }
    };
    text += &terminal::table(&[
        ("capacity below the flange", litres(design.pan.capacity())),
        ("fill", litres(design.fill)),
        ("in the pan at redline", litres(rest.volume)),
        (
            "mouth to floor",
            design.pan.mouth_over_floor().map_or(String::new(), length),
        ),
        ("mouth first bare, long corner", weakest(&rest.map.first_dry_long)),
        (
            "mouth first bare, first instant",
            weakest(&rest.map.first_dry_instant),
        ),
    ]);
    text += "\n  oil with the engine off    level over the flange at the mouth\n";
    for row in &rest.dipstick {
        text += &format!(
            "  {:<26} {:<26} {}\n",
            litres(row.volume),
            length(row.level),
            row.mark
        );
    }
    terminal::say(&text);
    for warning in &prepared.warnings {
        terminal::remark(&format!("note: {warning}"));
    }
    Ok(ExitCode::SUCCESS)
}
