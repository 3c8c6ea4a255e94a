//! A row of the validation page, and the page itself.

use std::fmt::Write;

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

/// One subject as Markdown.
pub fn section(title: &str, about: &str, rows: &[Row]) -> String {
    let mut text = format!("## {title}\n\n{about}\n\n");
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
    text
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
