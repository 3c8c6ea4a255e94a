//! Tables of the report.

use super::figure::Figures;
use super::html::escape;
use crate::findings::{Findings, Origin, RoundMapFacts, TriedFill};
use crate::numbers::{air, grid_rows, line, short};
use crate::pictures::round::weakest;
use measure::{Dimension, UnitOrder};
use std::fmt::Write;

/// A table: head cells, rows of cells; the first cell of a row is its head. On a phone each row becomes a
/// block whose cells carry their column's name.
pub fn table(out: &mut String, caption: &str, head: &[&str], rows: &[Vec<String>]) {
    let _ = write!(out, "<table><caption>{}</caption><thead><tr>", escape(caption));
    for cell in head {
        let _ = write!(out, "<th scope=\"col\">{}</th>", escape(cell));
    }
    out.push_str("</tr></thead><tbody>\n");
    for row in rows {
        out.push_str("<tr>");
        for (i, cell) in row.iter().enumerate() {
            let name = escape(head.get(i).copied().unwrap_or(""));
            if i == 0 {
                let _ = write!(out, "<th scope=\"row\">{}</th>", escape(cell));
            } else if cell.is_empty() {
                out.push_str("<td class=\"empty\"></td>");
            } else {
                let _ = write!(out, "<td data-of=\"{name}\">{}</td>", escape(cell));
            }
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table>\n");
}

/// The worst moments, ranked.
pub fn moments(out: &mut String, f: &Findings, order: UnitOrder) {
    out.push_str("<section id=\"moments\"><h2>The worst moments</h2>\n");
    if f.moments.is_empty() {
        out.push_str("<p>No moment was computed.</p></section>\n");
        return;
    }
    let rows: Vec<Vec<String>> = f
        .moments
        .iter()
        .map(|m| {
            let cover = match m.least_cover_band {
                Some(band) => measure::show_within(m.least_cover, band, Dimension::Length, order),
                None => line(m.least_cover, Dimension::Length, order),
            };
            vec![
                format!("{}. {}", m.rank, m.name),
                m.worst.place.clone(),
                cover,
                time_or_none(m.thin_for),
                time_or_none(m.bare_for),
                drawn(f, m.air, m.air_band, order),
                if m.most_at_crank > 0.0 {
                    line(m.most_at_crank, Dimension::Volume, order)
                } else {
                    "none".into()
                },
            ]
        })
        .collect();
    let head = [
        "moment",
        "where",
        "least cover",
        "thin for",
        "bare for",
        "air drawn",
        "oil at the crank",
    ];
    let title = format!("Computed {}, worst first", f.depth.said());
    table(out, &title, &head, &rows);
    out.push_str("</section>\n");
}

/// Air drawn to the digits that the cells leave.
fn drawn(f: &Findings, value: f64, band: Option<f64>, order: UnitOrder) -> String {
    if value > 0.0 || band.is_some_and(|b| b > 0.0) {
        air(value, band, f.pan.cell, order).line()
    } else {
        "none".into()
    }
}

/// The same moments on other cell sizes: each grid's numbers, the order that they show, the band.
pub fn grids(out: &mut String, f: &Findings, order: UnitOrder) {
    if f.moments.iter().all(|m| m.grids.is_none()) {
        return;
    }
    out.push_str(
        "<section id=\"grids\"><h2>How far the cells move the answer</h2>\n<p>The moments were computed on several \
         cell sizes. From how the numbers close in follows how far they may lie from what endlessly small cells would \
         give; the verdict takes the worse end. Where they do not close in, that is said, and their spread is \
         taken.</p>\n",
    );
    for m in &f.moments {
        let Some(study) = &m.grids else { continue };
        let cells: Vec<String> = (study.least_cover.grids.iter())
            .map(|g| format!("cells of {}", short(g.cell, Dimension::Length, order)))
            .collect();
        let mut head = vec![""];
        head.extend(cells.iter().map(String::as_str));
        head.extend(["observed order", "answer and band", "how it goes"]);
        let rows: Vec<Vec<String>> = grid_rows(study, order)
            .into_iter()
            .map(|row| {
                let mut cells = vec![row.name.to_string()];
                cells.extend(row.values);
                cells.extend([row.order, row.answer, row.said.to_string()]);
                cells
            })
            .collect();
        table(out, &format!("{}. {}", m.rank, m.name), &head, &rows);
    }
    out.push_str("</section>\n");
}

fn time_or_none(seconds: f64) -> String {
    if seconds > 0.0 {
        format!("{seconds:.2} s")
    } else {
        "never".into()
    }
}

/// A cover to the digits that the verdict's uncertainty leaves.
fn cover(f: &Findings, value: f64, order: UnitOrder) -> String {
    match f.verdict.least_cover.band {
        Some(band) => measure::show_within(value, band, Dimension::Length, order),
        None => line(value, Dimension::Length, order),
    }
}

/// Fills that were tried.
pub fn tried_fills(out: &mut String, f: &Findings, tried: &[TriedFill], order: UnitOrder) {
    if tried.is_empty() {
        return;
    }
    let rows: Vec<_> = tried
        .iter()
        .map(|t| {
            let air = drawn(f, t.air, None, order);
            vec![
                line(t.fill, Dimension::Volume, order),
                cover(f, t.least_cover, order),
                air,
            ]
        })
        .collect();
    table(
        out,
        "Fills that were tried",
        &["fill", "least cover", "air drawn"],
        &rows,
    );
}

/// Low, mid, high oil aloft.
pub fn aloft(out: &mut String, f: &Findings, order: UnitOrder) {
    let rows: Vec<_> = f
        .aloft
        .iter()
        .map(|c| {
            vec![
                c.name.clone(),
                line(c.aloft, Dimension::Volume, order),
                c.word.said().to_owned(),
                cover(f, c.least_cover, order),
                drawn(f, c.air, None, order),
                if c.longest_gulp > 0.0 {
                    format!("{:.2} s", c.longest_gulp)
                } else {
                    "none".into()
                },
            ]
        })
        .collect();
    let head = [
        "allowance",
        "oil aloft",
        "verdict",
        "least cover",
        "air in the worst moment",
        "longest gulp",
    ];
    table(out, "The answer with less and with more oil aloft", &head, &rows);
}

/// What the round maps say, in a sentence.
pub fn still_sentence(f: &Findings, order: UnitOrder) -> String {
    let mut words = format!(
        "With {} in the pan. ",
        line(f.still.volume, Dimension::Volume, order)
    );
    let say = |map: &Option<RoundMapFacts>, name: &str| -> String {
        let Some(map) = map else { return String::new() };
        match weakest(map) {
            Some((g, way)) => {
                format!("{name}, the mouth first goes dry at {g:.2} g with the oil pushed {way}. ")
            }
            None => {
                let most = map.rings.last().copied().unwrap_or(0.0);
                format!("{name}, the mouth stays wet up to {most:.2} g in every direction. ")
            }
        }
    };
    words.push_str(&say(&f.still.long_corner, "In a long corner"));
    words.push_str(&say(
        &f.still.first_instant,
        "In the first instant, each space keeping its oil",
    ));
    words
}

/// The dipstick table.
pub fn dipstick(out: &mut String, f: &Findings, order: UnitOrder) {
    if f.still.dipstick.is_empty() {
        return;
    }
    let stick = f.still.dipstick.iter().any(|r| r.along_stick.is_some());
    let rows: Vec<_> = f
        .still
        .dipstick
        .iter()
        .map(|r| {
            let mut row = vec![
                line(r.volume, Dimension::Volume, order),
                line(r.level, Dimension::Length, order),
                r.mark.clone(),
            ];
            if stick {
                row.push(
                    r.along_stick
                        .map_or(String::new(), |s| line(s, Dimension::Length, order)),
                );
            }
            row
        })
        .collect();
    let head: &[&str] = if stick {
        &[
            "oil in the pan",
            "level from the flange face",
            "mark",
            "along the stick",
        ]
    } else {
        &["oil in the pan", "level from the flange face", "mark"]
    };
    table(out, "Dipstick, engine off, as installed", head, &rows);
}

/// The pan and its levels.
pub fn pan(out: &mut String, f: &Findings, order: UnitOrder, figures: &Figures) {
    let p = &f.pan;
    let (length, volume) = (Dimension::Length, Dimension::Volume);
    out.push_str("<section id=\"pan\"><h2>The pan and its levels</h2>\n");
    let mut rows = vec![
        vec!["holds to the flange".to_owned(), line(p.capacity, volume, order)],
        vec!["filled with".to_owned(), line(p.fill, volume, order)],
        vec![
            "level, engine off, from the flange face".to_owned(),
            line(p.level_off, length, order),
        ],
    ];
    if let Some(level) = p.level_running {
        rows.push(vec!["level, running".to_owned(), line(level, length, order)]);
    }
    rows.push(vec![
        "oil over the mouth, engine off".to_owned(),
        line(p.mouth_cover_off, length, order),
    ]);
    rows.push(vec![
        "mouth to floor".to_owned(),
        line(p.mouth_to_floor, length, order),
    ]);
    if let Some(gap) = p.crank_gap {
        rows.push(vec![
            "level to crank, engine off".to_owned(),
            line(gap, length, order),
        ]);
    }
    rows.push(vec![
        "oil".to_owned(),
        format!(
            "at {} {}, {}, {} air in it; {}",
            line(f.oil.temperature, Dimension::Temperature, order),
            line(f.oil.density, Dimension::Density, order),
            line(f.oil.viscosity, Dimension::KinematicViscosity, order),
            short(f.oil.aeration, Dimension::Share, order),
            f.oil.said
        ),
    ]);
    table(out, "Levels", &["what", "how much"], &rows);
    for warning in &p.warnings {
        let _ = writeln!(out, "<p class=\"warning\">{}</p>", escape(warning));
    }
    figures.heights(out, f);
    let rows: Vec<_> = p
        .spaces
        .iter()
        .map(|s| {
            let mouth = if s.has_mouth {
                "the mouth draws from it"
            } else {
                ""
            };
            vec![s.name.clone(), line(s.volume, volume, order), mouth.to_owned()]
        })
        .collect();
    if !rows.is_empty() {
        table(
            out,
            "Spaces between plates, doors shut",
            &["space", "holds", ""],
            &rows,
        );
    }
    let rows: Vec<_> = p
        .doors
        .iter()
        .map(|d| {
            vec![
                d.name.clone(),
                d.plate.clone(),
                format!("{} to {}", d.from, d.into),
                line(d.area, Dimension::Area, order),
                line(d.stop, Dimension::Angle, order),
            ]
        })
        .collect();
    if !rows.is_empty() {
        table(
            out,
            "Doors",
            &["door", "on", "lets oil pass from", "free area", "opens up to"],
            &rows,
        );
    }
    out.push_str("</section>\n");
}

/// How the drive was read.
pub fn drive(out: &mut String, f: &Findings, order: UnitOrder) {
    let d = &f.drive;
    let _ = writeln!(
        out,
        "<section id=\"drive\"><h2>The drive</h2>\n<p>{}</p>",
        escape(&d.name)
    );
    if let Some(file) = &d.file {
        let _ = writeln!(out, "<p>From {}.</p>", escape(file));
    }
    if !d.said.is_empty() {
        out.push_str("<ul>\n");
        for said in &d.said {
            let _ = writeln!(out, "<li>{}</li>", escape(said));
        }
        out.push_str("</ul>\n");
    }
    let rows: Vec<_> = d
        .laps
        .iter()
        .map(|l| {
            let at = |t: f64| {
                d.trace
                    .time
                    .partition_point(|s| *s < t)
                    .min(d.trace.distance.len().saturating_sub(1))
            };
            let long = match (d.trace.distance.get(at(l.start)), d.trace.distance.get(at(l.end))) {
                (Some(a), Some(b)) => line(b - a, Dimension::Length, order),
                _ => String::new(),
            };
            vec![l.name.clone(), format!("{:.2} s", l.end - l.start), long]
        })
        .collect();
    if !rows.is_empty() {
        table(out, "Laps", &["lap", "time", "length"], &rows);
    }
    out.push_str("</section>\n");
}

/// Every input as read.
pub fn inputs(out: &mut String, f: &Findings) {
    out.push_str("<section id=\"inputs\"><h2>Inputs as read</h2>\n");
    let _ = write!(out, "<p>From {}", escape(&f.design.file));
    for base in &f.design.bases {
        let _ = write!(out, ", based on {}", escape(base));
    }
    out.push_str(".</p>\n");
    if !f.design.notes.is_empty() {
        let _ = writeln!(out, "<p>{}</p>", escape(&f.design.notes));
    }
    let rows: Vec<_> = f
        .design
        .inputs
        .iter()
        .map(|i| {
            let origin = match &i.origin {
                Origin::Stated { file, line } => format!("{file}:{line}"),
                Origin::Default { reason } => format!("default: {reason}"),
                Origin::Derived { reason } => format!("worked out: {reason}"),
            };
            vec![i.key.clone(), i.text.clone(), i.shown.clone(), origin]
        })
        .collect();
    table(
        out,
        "As typed and as understood",
        &["key", "typed", "understood", "from"],
        &rows,
    );
    out.push_str("</section>\n");
}
