//! The report: one HTML file that opens from a stick with the cable out, reads on a phone with scripts off, and
//! prints.
//!
//! Everything a user typed is set as text. The policy in the head allows the page's own style and script by a
//! number made from the page's content, data for its letters and pictures, and nothing from anywhere else.

pub mod html;

mod answer;
mod cards;
mod clearance;
mod feed;
mod figure;
mod piece;
mod seal;
mod tables;
mod words;

use crate::findings::Findings;
use crate::json::{JsonFault, check_numbers};
use crate::replay::{ReplayBundle, ReplayFault};
pub use piece::{Piece, piece};
pub use seal::times;
pub use words::CAUTIONS;

use figure::Figures;
use html::{escape, script_safe_json};
use measure::UnitOrder;
use std::fmt::{self, Write};

/// The built parts of `web/`.
pub(crate) mod bundle {
    include!(concat!(env!("OUT_DIR"), "/bundle.rs"));
}

/// Colours and sizes, shared with `web/`.
const TOKENS: &str = include_str!("../../../web/src/tokens.css");
/// Layout of the report.
const STYLE: &str = include_str!("page/report.css");

/// Most bytes that a page may have; the replay gets what the rest leaves.
pub const LARGEST: usize = 1_950_000;

/// Why a page cannot be written.
#[derive(Clone, Debug, PartialEq)]
pub enum PageFault {
    /// The program was built without the replay.
    NoBundle,
    /// A number that is none.
    Numbers(JsonFault),
    /// The replay cannot be written.
    Replay(ReplayFault),
}

impl fmt::Display for PageFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PageFault::NoBundle => write!(
                f,
                "this program was built without the page's replay, so it cannot write a report page\n  \
                 mend: run `cargo xtask setup` (it needs Node 20 or later), then build the program again; \
                 `--json` works without"
            ),
            PageFault::Numbers(fault) => fault.fmt(f),
            PageFault::Replay(fault) => fault.fmt(f),
        }
    }
}

impl std::error::Error for PageFault {}

/// The report as one HTML file.
///
/// The replay is thinned to fit ([`ReplayBundle::fit`]), so that the page stays under [`LARGEST`] bytes.
/// Fails with [`PageFault::NoBundle`] when the program was built before `web/`, and when a number is none.
pub fn page(findings: &Findings, replay: &ReplayBundle, order: UnitOrder) -> Result<String, PageFault> {
    let script = bundle::REPLAY.ok_or(PageFault::NoBundle)?;
    let fonts = bundle::FONTS.ok_or(PageFault::NoBundle)?;
    assemble(findings, replay, order, script, fonts)
}

/// True when the program was built with the replay, so that [`page`] can work.
pub fn has_bundle() -> bool {
    bundle::REPLAY.is_some() && bundle::FONTS.is_some()
}

/// [`page`] with the built parts of `web/` handed in.
fn assemble(
    findings: &Findings,
    replay: &ReplayBundle,
    order: UnitOrder,
    script: &str,
    fonts: &str,
) -> Result<String, PageFault> {
    check_numbers(findings).map_err(PageFault::Numbers)?;
    let figures = Figures::of(order);
    let before = before_replay(findings, order, &figures);
    let after = after_replay(findings, order, &figures);
    let style = format!("{fonts}{TOKENS}{STYLE}");
    let rest = before.len() + after.len() + style.len() + script.len() + 4096;
    let fitted = replay
        .fit(LARGEST.saturating_sub(rest))
        .map_err(PageFault::Replay)?;
    let mut stage = String::new();
    words::replay(&mut stage, &fitted);
    let data = if fitted.moments.is_empty() {
        None
    } else {
        Some(script_safe_json(
            &fitted.to_json(order).map_err(PageFault::Replay)?,
        ))
    };
    let main = format!("{before}{stage}{after}");
    // The number has to be one that no text of a design can contain: it depends on all of that text.
    let mut hash = blake3::Hasher::new();
    for part in [
        main.as_str(),
        style.as_str(),
        script,
        data.as_deref().unwrap_or(""),
    ] {
        hash.update(part.as_bytes());
    }
    let nonce = &hash.finalize().to_hex()[..32];
    let title = escape(&format!(
        "{}: {}",
        findings.design.name,
        findings.verdict.word.said()
    ));
    let mut out = String::with_capacity(main.len() + style.len() + script.len() + 4096);
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'nonce-{nonce}'; \
         script-src 'nonce-{nonce}'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n<meta name=\"generator\" content=\"{} {}\">\n\
         <title>{title}</title>\n<style nonce=\"{nonce}\">{style}</style>\n</head>\n<body>\n{main}",
        escape(&findings.program.name),
        escape(&findings.program.version),
    );
    if let Some(data) = data {
        let script = script.replace("</script", "<\\/script").replace("<!--", "<\\!--");
        let _ = write!(
            out,
            "<script type=\"application/json\" id=\"replay-data\" nonce=\"{nonce}\">{data}</script>\n\
             <script type=\"module\" nonce=\"{nonce}\">{script}</script>\n"
        );
    }
    out.push_str("</body>\n</html>\n");
    Ok(out)
}

fn before_replay(f: &Findings, order: UnitOrder, figures: &Figures) -> String {
    let mut out = String::new();
    figure::patterns(&mut out);
    answer::head(&mut out, f);
    out.push_str("<main>\n");
    answer::verdict(&mut out, f, order);
    figures.lap(&mut out, f);
    figures.course(&mut out, f);
    tables::moments(&mut out, f, order);
    figures.moments(&mut out, f);
    tables::grids(&mut out, f, order);
    answer::cures(&mut out, f, order, figures);
    figures.sections(&mut out, f);
    out
}

fn after_replay(f: &Findings, order: UnitOrder, figures: &Figures) -> String {
    let mut out = String::new();
    figures.still(&mut out, f, order);
    if let Some(facts) = &f.clearance {
        clearance::clearance(&mut out, facts, order, figures);
    }
    if let Some(facts) = &f.feed {
        feed::feed(&mut out, facts, order, figures);
    }
    if let Some(facts) = &f.seal {
        seal::seal(&mut out, facts, order, figures);
    }
    if let Some(facts) = &f.cards {
        cards::cards(&mut out, &f.design.name, facts, f.seal.as_ref(), order);
    }
    tables::pan(&mut out, f, order, figures);
    tables::drive(&mut out, f, order);
    tables::inputs(&mut out, f);
    words::known(&mut out, f);
    words::method(&mut out, f, order);
    words::cautions(&mut out, f);
    out.push_str("</main>\n");
    words::foot(&mut out, f);
    out
}

#[cfg(test)]
mod tests;
