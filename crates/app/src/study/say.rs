//! A study in words: for the terminal, and as one object.

use super::reading::{Explained, Reading, SURE};
use super::work::Case;
use crate::terminal;
use ::study::{Figure, Figures};
use job::Asks;
use measure::{Dimension, UnitOrder};
use report::numbers::short;
use serde_json::{Value, json};

/// What every study says of itself.
pub const BLIND: &str = "every case is a sketch by bays: no waves within a space but the first and no spray; \
                         `--prove` and `sumpwright check` are the proof";

/// Rows of the best that are shown.
const SHOWN: usize = 8;

/// A figure with its unit.
pub fn figure(figure: Figure, figures: &Figures, units: UnitOrder) -> String {
    let Some(value) = figure.of(figures) else {
        return String::new();
    };
    match figure {
        Figure::Margin | Figure::Cover | Figure::Depth => short(value, Dimension::Length, units),
        Figure::Oil | Figure::AtCrank | Figure::Air => short(value, Dimension::Volume, units),
        Figure::Bare => format!("{value:.2} s"),
        Figure::Plates => format!("{value:.0}"),
    }
}

/// The summary.
pub fn summary(reading: &Reading, waits_for: Option<&str>) -> String {
    let study = reading.study;
    let units = study.of.design.units;
    let total = study.plan.cases();
    let mut text = format!(
        "{}: {} of {total} cases done, {} of them computed\n",
        study.name,
        reading.done(),
        reading.computed()
    );
    let words: Vec<String> = (reading.words().iter())
        .map(|(word, count)| format!("{count} {}", word.said()))
        .collect();
    if !words.is_empty() {
        text += &format!("  verdicts: {}\n", words.join(", "));
    }
    if let Some(waits_for) = waits_for {
        text += &format!("  {waits_for}\n");
    }
    for (what, mend, count, first) in reading.faults.iter().take(4) {
        text += &format!("  {count} cannot be, such as case {first}: {what}; {mend}\n");
    }
    match study.asks {
        Asks::Choice => text += &best(reading, units),
        Asks::Chance => text += &chance(reading),
    }
    for explained in &reading.explained {
        text += &scatter(reading, explained);
    }
    if let Some(why) = &reading.unexplained {
        text += &format!("\n  {why}\n");
    }
    text
}

fn values(reading: &Reading, case: &Case) -> Vec<String> {
    let inputs = reading.study.inputs.iter().zip(&case.levels);
    inputs.map(|(_, level)| level.text.clone()).collect()
}

fn best(reading: &Reading, units: UnitOrder) -> String {
    if reading.ranked.is_empty() {
        return String::new();
    }
    let study = reading.study;
    let aims: Vec<&str> = study.aims.iter().map(|aim| aim.word()).collect();
    let mut head = vec!["case".to_owned(), "verdict".to_owned()];
    head.extend(aims.iter().map(|aim| (*aim).to_owned()));
    head.extend(study.inputs.iter().map(|input| input.name.clone()));
    head.push("worst".to_owned());
    let mut rows = vec![head];
    for number in reading.ranked.iter().take(SHOWN) {
        let Some((case, figures)) = reading.case(*number) else {
            continue;
        };
        let mut row = vec![number.to_string(), figures.word.said().to_owned()];
        row.extend(study.aims.iter().map(|aim| figure(*aim, figures, units)));
        row.extend(values(reading, case));
        row.push(figures.place.clone());
        rows.push(row);
    }
    let more = reading.ranked.len().saturating_sub(SHOWN);
    let mut text = format!(
        "\n  nothing beats these in {} at once; the best compromise of the best verdict first:\n{}",
        listed(&aims),
        terminal::columns(&rows)
    );
    if more > 0 {
        text += &format!("  and {more} more\n");
    }
    text
}

fn chance(reading: &Reading) -> String {
    let Some(chance) = reading.chance else {
        return String::new();
    };
    format!(
        "\n  the pump draws air on this drive in {} of {} cases: a chance of {}, between {} and {} ({:.0} % sure, counting \
         the cases only)\n",
        chance.seen,
        chance.of,
        percent(chance.share()),
        percent(chance.low),
        percent(chance.high),
        100.0 * SURE
    )
}

fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 0.0 && percent < 10.0 || percent > 90.0 && percent < 100.0 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    }
}

/// The inputs in the order of what they do.
pub fn by_weight(explained: &Explained) -> Vec<usize> {
    let mut order: Vec<usize> = (0..explained.effects.len()).collect();
    let share = |i: usize| explained.effects[i].share;
    order.sort_by(|a, b| share(*b).total_cmp(&share(*a)).then(a.cmp(b)));
    order
}

/// How an input pushes, in words.
pub fn way(explained: &Explained, i: usize) -> &'static str {
    match explained.effects[i].way {
        w if w > 0.15 => "raises it",
        w if w < -0.15 => "lowers it",
        _ => "neither, or both",
    }
}

fn scatter(reading: &Reading, explained: &Explained) -> String {
    let mut rows = vec![vec![
        "input".to_owned(),
        "share of the scatter".to_owned(),
        "more of it".to_owned(),
    ]];
    for i in by_weight(explained) {
        let effect = &explained.effects[i];
        let band = effect
            .band
            .map_or(String::new(), |band| format!(" \u{b1} {:.0}", 100.0 * band));
        rows.push(vec![
            reading.study.inputs[i].name.clone(),
            format!("{:.0}{band} %", 100.0 * effect.share),
            way(explained, i).to_owned(),
        ]);
    }
    let title = match reading.study.asks {
        Asks::Choice => format!("what decides {}, each input by itself", explained.what),
        Asks::Chance => format!(
            "which number to go and measure: what makes {} scatter",
            explained.what
        ),
    };
    format!("\n  {title}:\n{}", terminal::columns(&rows))
}

fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// The study as one object (docs/results.md).
pub fn object(reading: &Reading, waits_for: Option<&str>) -> Value {
    let study = reading.study;
    let effect = |explained: &Explained| {
        let inputs: Vec<Value> = (study.inputs.iter().zip(&explained.effects))
            .map(|(input, effect)| {
                json!({ "input": input.name, "share": effect.share, "band": effect.band, "way": effect.way })
            })
            .collect();
        json!({ "what": explained.what, "inputs": inputs })
    };
    let best: Vec<Value> = (reading.ranked.iter())
        .filter_map(|number| {
            let (case, figures) = reading.case(*number)?;
            Some(json!({ "case": number, "values": values(reading, case), "figures": figures }))
        })
        .collect();
    json!({
        "name": study.name,
        "design": study.of.path.display().to_string(),
        "cases": study.plan.cases(),
        "done": reading.done(),
        "computed": reading.computed(),
        "waits_for": waits_for,
        "blind": BLIND,
        "inputs": study.inputs.iter().map(|i| json!({ "name": i.name, "keys": i.keys, "unit": i.unit })).collect::<Vec<_>>(),
        "aims": study.aims.iter().map(|aim| aim.word()).collect::<Vec<_>>(),
        "verdicts": reading.words().iter().map(|(word, count)| json!({ "word": word.said(), "cases": count })).collect::<Vec<_>>(),
        "faults": reading.faults.iter()
            .map(|(what, mend, count, first)| json!({ "what": what, "mend": mend, "cases": count, "first": first }))
            .collect::<Vec<_>>(),
        "unbeaten": best,
        "chance_of_air": reading.chance.map(|c| json!({ "seen": c.seen, "of": c.of, "low": c.low, "high": c.high, "sure": SURE })),
        "explained": reading.explained.iter().map(effect).collect::<Vec<_>>(),
        "unexplained": reading.unexplained,
    })
}
