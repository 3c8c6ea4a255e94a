//! The picture of the trade-offs, and the page that holds it with the summary.

use super::reading::Reading;
use ::study::{Figure, Figures};
use job::Asks;
use measure::{Dimension, UnitOrder};
use report::drawing::{Drawing, svg};
use report::numbers::{axis_unit, short};
use report::page::html::escape;
use report::pictures::Look;
use report::pictures::trade::{Mark, Panel, trade};

/// How many of the best are labelled with their case.
const LABELLED: usize = 6;

/// The picture; `None` where nothing was computed.
pub fn drawing(reading: &Reading) -> Option<Drawing> {
    let study = reading.study;
    let units = study.of.design.units;
    let panels: Vec<Panel> = match study.asks {
        Asks::Choice if study.aims.len() > 1 => {
            let upward = study.aims[0];
            study.aims[1..]
                .iter()
                .map(|across| aims(reading, *across, upward, units))
                .collect()
        }
        Asks::Choice => spread(reading, study.aims[0], units),
        Asks::Chance => spread(reading, Figure::Margin, units),
    };
    let said = format!(
        "{} designs computed, {} of them beaten by none.",
        reading.computed(),
        reading.ranked.len()
    );
    trade(&panels, &study.name, &said, &Look::wide(units))
}

/// A figure's axis: its name with the unit, and its value in that unit.
fn axis(figure: Figure, units: UnitOrder) -> (String, f64) {
    let (name, unit) = match figure {
        Figure::Margin => ("margin", axis_unit(Dimension::Length, units)),
        Figure::Cover => ("least cover", axis_unit(Dimension::Length, units)),
        Figure::Depth => ("depth", axis_unit(Dimension::Length, units)),
        Figure::Oil => ("oil", axis_unit(Dimension::Volume, units)),
        Figure::Air => ("air drawn", axis_unit(Dimension::Volume, units)),
        Figure::AtCrank => ("oil at the crank", axis_unit(Dimension::Volume, units)),
        Figure::Bare => return ("mouth bare [s]".to_owned(), 1.0),
        Figure::Plates => return ("plates".to_owned(), 1.0),
    };
    (format!("{name} [{}]", unit.name), unit.factor)
}

fn aims(reading: &Reading, across: Figure, upward: Figure, units: UnitOrder) -> Panel {
    let ((x_name, x_unit), (y_name, y_unit)) = (axis(across, units), axis(upward, units));
    let mark = |number: usize, figures: &Figures| {
        let rank = reading.ranked.iter().position(|case| *case == number);
        Some(Mark {
            x: across.of(figures)? / x_unit,
            y: upward.of(figures)? / y_unit,
            word: figures.word,
            unbeaten: rank.is_some(),
            label: rank
                .filter(|rank| *rank < LABELLED)
                .map_or(String::new(), |_| format!("case {number}")),
        })
    };
    Panel {
        across: x_name,
        upward: y_name,
        line: line(reading, upward, units),
        marks: marks(reading, mark),
    }
}

/// A figure against every input: how it hangs on each.
fn spread(reading: &Reading, upward: Figure, units: UnitOrder) -> Vec<Panel> {
    let (y_name, y_unit) = axis(upward, units);
    let panel = |i: usize| {
        let input = &reading.study.inputs[i];
        let mark = |number: usize, figures: &Figures| {
            let (case, _) = reading.case(number)?;
            let rank = reading.ranked.iter().position(|own| *own == number);
            Some(Mark {
                x: case.levels[i].number,
                y: upward.of(figures)? / y_unit,
                word: figures.word,
                unbeaten: rank.is_some(),
                label: rank.map_or(String::new(), |_| format!("case {number}")),
            })
        };
        Panel {
            across: match input.unit.as_str() {
                "" => input.name.clone(),
                unit => format!("{} [{unit}]", input.name),
            },
            upward: y_name.clone(),
            line: line(reading, upward, units),
            marks: marks(reading, mark),
        }
    };
    (0..reading.study.inputs.len()).map(panel).collect()
}

fn marks(reading: &Reading, mark: impl Fn(usize, &Figures) -> Option<Mark>) -> Vec<Mark> {
    let cases = reading.cases.iter().zip(reading.outcomes);
    cases
        .filter_map(|(case, outcome)| mark(case.number, outcome.as_ref()?.figures()?))
        .collect()
}

fn line(reading: &Reading, upward: Figure, units: UnitOrder) -> Option<(f64, String)> {
    let limit = short(
        reading.study.of.design.limits.least_cover,
        Dimension::Length,
        units,
    );
    match upward {
        Figure::Margin => Some((0.0, format!("cover of {limit}, the limit"))),
        _ => None,
    }
}

/// A page that opens anywhere: the summary as it stood on the terminal, and the picture.
pub fn page(reading: &Reading, summary: &str, drawing: Option<&Drawing>) -> String {
    let picture = drawing.map_or(String::new(), |drawing| {
        let file = svg::file(drawing);
        let from = file.find("<svg").unwrap_or(0);
        format!("<figure>{}</figure>\n", &file[from..])
    });
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n<style>body{{max-width:60rem;margin:0 \
         auto;padding:1rem;font:400 1rem/1.5 sans-serif;background:#fff;color:#111}}pre{{white-space:pre-wrap;font:0.85rem/1.45 \
         monospace}}figure{{margin:0}}figure svg{{max-width:100%;height:auto}}</style>\n</head>\n<body>\n<h1>{title}</h1>\n\
         <p>{notes}</p>\n{picture}<pre>{summary}</pre>\n<p>Results are an aid to judgement and not a certificate. Hot oil \
         burns, and a bearing that runs dry can lock the engine at speed: keep the pressure alarm, follow the engine maker's data and the \
         event's rules.</p>\n</body>\n</html>\n",
        title = escape(&reading.study.name),
        notes = escape(&reading.study.notes),
        summary = escape(summary),
    )
}
