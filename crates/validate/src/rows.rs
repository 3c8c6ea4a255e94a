//! A row of the validation page, and the page itself.

use crate::plot::Plot;
use std::fmt::Write;

/// What computing a subject gives.
#[derive(Default)]
pub struct Findings {
    /// Published against computed.
    pub rows: Vec<Row>,
    /// Pictures beside the table.
    pub plots: Vec<Plot>,
    /// What becomes of numbers as cells get smaller.
    pub studies: Vec<Study>,
    /// What still differs and why, as far as is known.
    pub left: String,
}

impl From<Vec<Row>> for Findings {
    fn from(rows: Vec<Row>) -> Findings {
        Findings {
            rows,
            ..Findings::default()
        }
    }
}

/// One number on several grids.
pub struct Study {
    /// Which number, with its unit.
    pub what: String,
    /// (cell edge [m], value), coarse to fine.
    pub values: Vec<(f64, f64)>,
}

impl Study {
    /// Observed order of convergence from the three finest grids: p in `|f₃ − f₂| / |f₂ − f₁| =
    /// (h₃ᵖ − h₂ᵖ) / (h₂ᵖ − h₁ᵖ)`, f₁ on the finest (I. B. Celik and others, J. Fluids Eng. 130 (2008) 078001).
    /// None when the three do not move one way.
    pub fn order(&self) -> Option<f64> {
        let [.., (h3, f3), (h2, f2), (h1, f1)] = self.values[..] else {
            return None;
        };
        let ratio = (f3 - f2) / (f2 - f1);
        if !(ratio > 0.0 && ratio.is_finite()) {
            return None;
        }
        let off = |p: f64| (h3.powf(p) - h2.powf(p)) / (h2.powf(p) - h1.powf(p)) - ratio;
        let (mut low, mut high) = (0.05, 8.0);
        if off(low) * off(high) > 0.0 {
            return None;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if off(low) * off(middle) <= 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(0.5 * (low + high))
    }
}

/// How a difference is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// Share of the published value.
    Relative,
    /// In the unit of the row.
    Absolute,
}

/// One number, published and computed.
#[derive(Clone, Debug)]
pub struct Row {
    /// Case and quantity in a few words.
    pub case: String,
    /// What the source says.
    pub published: f64,
    /// What the program says.
    pub computed: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Largest difference that holds.
    pub tolerance: f64,
    /// How `tolerance` is meant.
    pub scale: Scale,
    /// Where the published number comes from.
    pub source: &'static str,
    /// Why this tolerance, and what is known of the difference.
    pub note: String,
}

impl Row {
    /// A row of `(computed, published)`.
    pub fn new(
        case: impl Into<String>,
        (computed, published): (f64, f64),
        unit: &'static str,
        (tolerance, scale): (f64, Scale),
        source: &'static str,
        note: impl Into<String>,
    ) -> Row {
        Row {
            case: case.into(),
            published,
            computed,
            unit,
            tolerance,
            scale,
            source,
            note: note.into(),
        }
    }

    /// Computed less published, in the row's scale.
    pub fn difference(&self) -> f64 {
        match self.scale {
            Scale::Relative => self.computed / self.published - 1.0,
            Scale::Absolute => self.computed - self.published,
        }
    }

    /// Whether the difference is within the tolerance. A NaN never is.
    pub fn holds(&self) -> bool {
        self.difference().abs() <= self.tolerance
    }

    /// One line for a failed test.
    pub fn say(&self) -> String {
        format!(
            "{}: computed {:.5} {}, published {:.5} ({}), off by {}, allowed {}",
            self.case,
            self.computed,
            self.unit,
            self.published,
            self.source,
            self.show(self.difference()),
            self.show(self.tolerance)
        )
    }

    /// A difference for people; what would round to nothing is shown by its power of ten.
    fn show(&self, value: f64) -> String {
        let tiny = |least: f64| value != 0.0 && value.abs() < least;
        match self.scale {
            Scale::Relative if tiny(5e-5) => format!("{value:+.0e} of it"),
            Scale::Absolute if tiny(5e-4) => format!("{value:+.0e} {}", self.unit),
            Scale::Relative => format!("{:+.2} %", 100.0 * value),
            Scale::Absolute => format!("{value:+.3} {}", self.unit),
        }
    }
}

/// One subject as Markdown; `folder` is where the plots lie beside the page.
pub fn section(title: &str, about: &str, findings: &Findings, folder: &str) -> String {
    let mut text = format!("## {title}\n\n{about}\n\n");
    for plot in &findings.plots {
        let _ = writeln!(text, "![{}]({folder}/{}.svg)\n", plot.title, plot.name);
    }
    table(&mut text, &findings.rows);
    if !findings.studies.is_empty() {
        text.push_str(
            "| grid study | cells, coarse to fine | values | observed order |\n|---|---|---|---|\n",
        );
        for study in &findings.studies {
            let list =
                |of: fn(&(f64, f64)) -> String| study.values.iter().map(of).collect::<Vec<_>>().join(", ");
            let order = study
                .order()
                .map_or("none: the values do not move one way".into(), |p| {
                    format!("{p:.1}")
                });
            let _ = writeln!(
                text,
                "| {} | {} mm | {} | {order} |",
                study.what,
                list(|v| format!("{:.2}", 1e3 * v.0)),
                list(|v| figure(v.1))
            );
        }
        text.push('\n');
    }
    if !findings.left.is_empty() {
        let _ = writeln!(text, "**What is left.** {}\n", findings.left);
    }
    text
}

fn table(text: &mut String, rows: &[Row]) {
    text.push_str("| case | published | computed | difference | allowed | verdict | source | note |\n");
    text.push_str("|---|---|---|---|---|---|---|---|\n");
    for row in rows {
        let verdict = if row.holds() { "holds" } else { "**off**" };
        let allowed = row.show(row.tolerance).replace('+', "±");
        let _ = writeln!(
            text,
            "| {} | {} {} | {} {} | {} | {allowed} | {verdict} | {} | {} |",
            row.case,
            figure(row.published),
            row.unit,
            figure(row.computed),
            row.unit,
            row.show(row.difference()),
            row.source,
            row.note
        );
    }
    text.push('\n');
}

/// Five figures.
fn figure(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let whole = value.abs().log10().floor() as i32;
    let places = (4 - whole).clamp(0, 9) as usize;
    format!("{value:.places$}")
}
