//! Low, mid and high oil aloft side by side.

use super::Look;
use super::spells::State;
use crate::drawing::{Anchor, Drawing, Ink, Path, Pen, Weight};
use crate::findings::Findings;
use crate::numbers::{line, short};
use glam::DVec2;
use measure::Dimension;

/// Least cover at each allowance of oil aloft; `None` when none was computed.
pub fn allowances(findings: &Findings, look: &Look) -> Option<Drawing> {
    let cases = &findings.aloft;
    if cases.is_empty() {
        return None;
    }
    let limit = findings.limits.least_cover;
    let most = cases.iter().map(|c| c.least_cover).fold(1.6 * limit, f64::max) * 1.1;
    let row = 6.0 + 1.5 * look.words;
    let foot = 1.8 * look.words + 2.0;
    let height = row * cases.len() as f64 + foot;
    let mut d = Drawing::new(
        &look.id("allowances"),
        look.width,
        height,
        "Least cover with less and with more oil aloft",
    );
    d.said = cases
        .iter()
        .map(|c| {
            format!(
                "{}: {}.",
                c.name,
                line(c.least_cover, Dimension::Length, look.order)
            )
        })
        .collect::<Vec<_>>()
        .join(" ");
    let x0 = 2.0;
    let across = |cover: f64| x0 + cover / most * (look.width - 8.0);
    for (i, case) in cases.iter().enumerate() {
        let y = height - row * (i as f64 + 1.0);
        let state = State::of(case.least_cover, limit);
        let bar = Path::rectangle(
            DVec2::new(x0, y),
            DVec2::new(across(case.least_cover).max(x0 + 3.0), y + 4.4),
        );
        d.paths(
            vec![bar],
            Some(Pen::new(Ink::Main, Weight::Fine)),
            Some(state.fill()),
        );
        let words = format!(
            "{}: {} aloft, least cover {}, {}",
            case.name,
            short(case.aloft, Dimension::Volume, look.order),
            short(case.least_cover, Dimension::Length, look.order),
            case.word.said(),
        );
        d.text(
            DVec2::new(x0, y + 5.4),
            &words,
            look.words,
            Anchor::Start,
            Ink::Main,
        );
    }
    let x = across(limit);
    d.line(
        DVec2::new(x, foot - 1.4),
        DVec2::new(x, height - 1.5 * look.words - 1.0),
        Pen::dashed(Ink::Bare, Weight::Fine),
    );
    let words = format!("thin below {}", short(limit, Dimension::Length, look.order));
    d.text(
        DVec2::new(x, foot - 1.6 - look.words),
        &words,
        look.words,
        Anchor::Middle,
        Ink::Quiet,
    );
    Some(d)
}
