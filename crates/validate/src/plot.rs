//! Small plots for the page: measured against computed, as SVG files of their own.

use std::fmt::Write;

/// Width and height of a plot [px].
const SIZE: (f64, f64) = (680.0, 300.0);
/// Room for the labels: left, top, right, bottom [px].
const ROOM: (f64, f64, f64, f64) = (58.0, 34.0, 14.0, 42.0);
/// Columns that a line is thinned to; each keeps its lowest and highest point, so that no spike is lost.
const COLUMNS: usize = 420;
/// Colours of computed curves, coarse to fine; they differ in lightness and dash too.
const INKS: [(&str, &str); 3] = [("#e2a21c", "2 3"), ("#1d5a96", "7 3"), ("#a3262a", "")];

/// An axis: what it shows, from where to where.
pub struct Axis {
    /// Label with unit.
    pub label: &'static str,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
}

/// What is drawn.
pub enum Mark {
    /// The published band: (x, low, high).
    Band(Vec<[f64; 3]>),
    /// A published curve.
    Line(Vec<(f64, f64)>),
    /// A second published curve beside the first.
    Faint(Vec<(f64, f64)>),
    /// Published readings.
    Points(Vec<(f64, f64)>),
    /// A computed curve; the number picks ink and dash, 0 for the coarsest.
    Computed(usize, Vec<(f64, f64)>),
    /// Computed as loose points.
    ComputedPoints(usize, Vec<(f64, f64)>),
}

/// One plot.
pub struct Plot {
    /// Name of its file without ending.
    pub name: String,
    /// What it shows, in a sentence.
    pub title: String,
    /// Across.
    pub x: Axis,
    /// Up.
    pub y: Axis,
    /// Layers with their names in the legend, from the back.
    pub layers: Vec<(String, Mark)>,
}

impl Plot {
    /// The SVG text.
    pub fn svg(&self) -> String {
        let (w, h) = SIZE;
        let (left, top, right, bottom) = ROOM;
        let across = move |x: f64| left + (x - self.x.low) / (self.x.high - self.x.low) * (w - left - right);
        let up =
            move |y: f64| h - bottom - (y - self.y.low) / (self.y.high - self.y.low) * (h - top - bottom);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\" \
             font-family=\"Helvetica,Arial,sans-serif\" font-size=\"12\"><title>{}</title>\
             <rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/><clipPath id=\"in\"><rect x=\"{left}\" y=\"{top}\" \
             width=\"{}\" height=\"{}\"/></clipPath>\n",
            escape(&self.title),
            w - left - right,
            h - top - bottom
        );
        for x in ticks(&self.x) {
            let at = across(x);
            let _ = writeln!(
                out,
                "<path d=\"M{at:.1} {:.1}V{top}\" stroke=\"#e3e3e0\"/><text x=\"{at:.1}\" y=\"{:.1}\" \
                 text-anchor=\"middle\">{}</text>",
                h - bottom,
                h - bottom + 16.0,
                number(x)
            );
        }
        for y in ticks(&self.y) {
            let at = up(y);
            let _ = writeln!(
                out,
                "<path d=\"M{left} {at:.1}H{:.1}\" stroke=\"#e3e3e0\"/><text x=\"{:.1}\" y=\"{:.1}\" \
                 text-anchor=\"end\">{}</text>",
                w - right,
                left - 6.0,
                at + 4.0,
                number(y)
            );
        }
        let _ = writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text><text transform=\"translate(14 {:.1}) \
             rotate(-90)\" text-anchor=\"middle\">{}</text>",
            0.5 * (left + w - right),
            h - 8.0,
            escape(self.x.label),
            0.5 * (top + h - bottom),
            escape(self.y.label)
        );
        let mut at = left;
        for (name, mark) in &self.layers {
            out.push_str("<g clip-path=\"url(#in)\">");
            match mark {
                Mark::Band(band) => {
                    let there = band.iter().map(|[x, _, high]| (across(*x), up(*high)));
                    let back = band.iter().rev().map(|[x, low, _]| (across(*x), up(*low)));
                    let _ = write!(out, "<path d=\"{}Z\" fill=\"#d4d6d2\"/>", way(there.chain(back)));
                }
                Mark::Line(line) => {
                    let _ = write!(
                        out,
                        "<path d=\"{}\" fill=\"none\" stroke=\"#1b1f23\" stroke-width=\"1.6\"/>",
                        way(thin(line).into_iter().map(|(x, y)| (across(x), up(y))))
                    );
                }
                Mark::Faint(line) => {
                    let _ = write!(
                        out,
                        "<path d=\"{}\" fill=\"none\" stroke=\"#8a8f94\" stroke-width=\"1.6\"/>",
                        way(thin(line).into_iter().map(|(x, y)| (across(x), up(y))))
                    );
                }
                Mark::Computed(ink, line) => {
                    let (colour, dash) = INKS[ink % INKS.len()];
                    let _ = write!(
                        out,
                        "<path d=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.3\" \
                         stroke-dasharray=\"{dash}\"/>",
                        way(thin(line).into_iter().map(|(x, y)| (across(x), up(y))))
                    );
                }
                Mark::Points(points) => {
                    for (x, y) in points {
                        let _ = write!(
                            out,
                            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"3\" fill=\"none\" stroke=\"#1b1f23\"/>",
                            across(*x),
                            up(*y)
                        );
                    }
                }
                Mark::ComputedPoints(ink, points) => {
                    for (x, y) in points {
                        let _ = write!(
                            out,
                            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"1\" fill=\"{}\"/>",
                            across(*x),
                            up(*y),
                            INKS[ink % INKS.len()].0
                        );
                    }
                }
            }
            out.push_str("</g>\n");
            at = self.legend(&mut out, at, name, mark);
        }
        let _ = writeln!(
            out,
            "<path d=\"M{left} {top}V{:.1}H{:.1}\" fill=\"none\" stroke=\"#5a6169\"/></svg>",
            h - bottom,
            w - right
        );
        out
    }

    /// Draws one entry of the legend from `at` on; returns where the next begins.
    fn legend(&self, out: &mut String, at: f64, name: &str, mark: &Mark) -> f64 {
        let sample = match mark {
            Mark::Band(_) => {
                format!("<rect x=\"{at:.1}\" y=\"12\" width=\"22\" height=\"10\" fill=\"#d4d6d2\"/>")
            }
            Mark::Line(_) => format!("<path d=\"M{at:.1} 17h22\" stroke=\"#1b1f23\" stroke-width=\"1.6\"/>"),
            Mark::Faint(_) => format!("<path d=\"M{at:.1} 17h22\" stroke=\"#8a8f94\" stroke-width=\"1.6\"/>"),
            Mark::Points(_) => {
                format!(
                    "<circle cx=\"{:.1}\" cy=\"17\" r=\"3\" fill=\"none\" stroke=\"#1b1f23\"/>",
                    at + 11.0
                )
            }
            Mark::Computed(ink, _) => {
                let (colour, dash) = INKS[ink % INKS.len()];
                format!(
                    "<path d=\"M{at:.1} 17h22\" stroke=\"{colour}\" stroke-width=\"1.3\" stroke-dasharray=\"{dash}\"/>"
                )
            }
            Mark::ComputedPoints(ink, _) => {
                format!(
                    "<circle cx=\"{:.1}\" cy=\"17\" r=\"2\" fill=\"{}\"/>",
                    at + 11.0,
                    INKS[ink % INKS.len()].0
                )
            }
        };
        let _ = writeln!(
            out,
            "{sample}<text x=\"{:.1}\" y=\"21\">{}</text>",
            at + 27.0,
            escape(name)
        );
        at + 27.0 + 6.3 * name.chars().count() as f64 + 16.0
    }
}

/// At most two points a column: the lowest and the highest, in their order.
fn thin(line: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if line.len() <= 2 * COLUMNS {
        return line.to_vec();
    }
    line.chunks(line.len().div_ceil(COLUMNS))
        .flat_map(|part| {
            let by = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
            let (low, high) = (part.iter().min_by(by), part.iter().max_by(by));
            let mut kept: Vec<(f64, f64)> = low.into_iter().chain(high).copied().collect();
            kept.sort_by(|a, b| a.0.total_cmp(&b.0));
            kept.dedup();
            kept
        })
        .collect()
}

/// A path through points, broken where a number is missing.
fn way(points: impl Iterator<Item = (f64, f64)>) -> String {
    let (mut out, mut pen) = (String::new(), 'M');
    for (x, y) in points {
        if x.is_finite() && y.is_finite() {
            let _ = write!(out, "{pen}{x:.1} {:.1}", y.clamp(-2000.0, 2000.0));
            pen = 'L';
        } else {
            pen = 'M';
        }
    }
    out
}

/// Round numbers along an axis, about six.
fn ticks(axis: &Axis) -> Vec<f64> {
    let rough = (axis.high - axis.low) / 6.0;
    let unit = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * unit)
        .find(|s| *s >= rough)
        .unwrap_or(rough);
    let first = (axis.low / step - 1e-9).ceil() as i64;
    let last = (axis.high / step + 1e-9).floor() as i64;
    (first..=last).map(|n| n as f64 * step).collect()
}

fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thinned_line_keeps_its_spike() {
        let line: Vec<(f64, f64)> = (0..10_000)
            .map(|i| (f64::from(i), f64::from(u8::from(i == 4321))))
            .collect();
        let thin = thin(&line);
        assert!(thin.len() <= 2 * COLUMNS, "{}", thin.len());
        assert!(thin.contains(&(4321.0, 1.0)));
    }

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = Axis {
            label: "",
            low: 0.3,
            high: 1.1,
        };
        let ticks = ticks(&axis);
        assert_eq!(ticks.len(), 4, "{ticks:?}");
        assert!((ticks[0] - 0.4).abs() < 1e-12, "{ticks:?}");
    }
}
