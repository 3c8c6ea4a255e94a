//! Figures: each picture on both papers, the style sheet shows the one that fits.

use super::html::{escape, sentence};
use super::tables;
use crate::drawing::{Drawing, svg};
use crate::findings::Findings;
use crate::pictures::{Look, bars, course, heights, lap, moment, round, section};
use measure::UnitOrder;
use std::fmt::Write;

/// The two papers.
pub struct Figures {
    /// Laptop and print.
    pub wide: Look,
    /// Phone.
    pub narrow: Look,
}

/// The hatches that all pictures of a page share.
pub fn patterns(out: &mut String) {
    out.push_str("<svg class=\"patterns\" aria-hidden=\"true\" width=\"0\" height=\"0\">");
    out.push_str(svg::PATTERNS);
    out.push_str("</svg>\n");
}

impl Figures {
    /// Both, in these units.
    pub fn of(order: UnitOrder) -> Figures {
        Figures {
            wide: Look::wide(order),
            narrow: Look::narrow(order),
        }
    }

    /// One picture with its caption; nothing when the picture has nothing to show.
    pub fn figure(
        &self,
        out: &mut String,
        picture: impl Fn(&Look) -> Option<Drawing>,
        caption: &str,
    ) -> bool {
        let (Some(wide), Some(narrow)) = (picture(&self.wide), picture(&self.narrow)) else {
            return false;
        };
        let _ = writeln!(
            out,
            "<figure><div class=\"wide\">{}</div><div class=\"narrow\">{}</div>",
            svg::inline(&wide),
            svg::inline(&narrow)
        );
        if !caption.is_empty() {
            let _ = write!(out, "<figcaption>{}</figcaption>", escape(caption));
        }
        out.push_str("</figure>\n");
        true
    }

    /// The lap trace.
    pub fn lap(&self, out: &mut String, f: &Findings) {
        out.push_str("<section id=\"lap\"><h2>The lap</h2>\n");
        let rest = if f.drive.trace.cover_at_rest.is_some() {
            " The dashed line is what oil at rest would leave over the mouth at that instant's g, as a guide for the \
             rest of the lap."
        } else {
            ""
        };
        let caption = format!(
            "Numbered stretches were computed {}: solid is covered, dots are thin, hatch is bare: nothing over the \
             mouth's middle, or more than a tenth of what the pump takes is air.{rest}",
            f.depth.said()
        );
        if !self.figure(out, |look| lap::lap(f, look), &caption) {
            out.push_str("<p>The drive has no length, so there is no trace to draw.</p>\n");
        }
        out.push_str("</section>\n");
    }

    /// The course map, when the place is known.
    pub fn course(&self, out: &mut String, f: &Findings) {
        let mut inner = String::new();
        if self.figure(&mut inner, |look| course::course(f, look), "") {
            let _ = write!(
                out,
                "<section id=\"course\"><h2>Where on the course</h2>\n{inner}</section>\n"
            );
        }
    }

    /// Every moment close up.
    pub fn moments(&self, out: &mut String, f: &Findings) {
        for m in &f.moments {
            let mut inner = String::new();
            if self.figure(&mut inner, |look| moment::moment(f, m, look), "") {
                let _ = write!(
                    out,
                    "<section class=\"moment\"><h3>{}. {}</h3>\n<p>{} {}</p>\n{inner}</section>\n",
                    m.rank,
                    escape(&m.name),
                    sentence(&m.said),
                    sentence(&m.why)
                );
            }
        }
    }

    /// Sections of every moment that has them.
    pub fn sections(&self, out: &mut String, f: &Findings) {
        let mut inner = String::new();
        for m in &f.moments {
            let caption = format!("Moment {}, {}: {}.", m.rank, m.name, m.worst.place);
            self.figure(&mut inner, |look| section::sections(m, look), &caption);
        }
        if !inner.is_empty() {
            let _ = write!(
                out,
                "<section id=\"sections\"><h2>Inside the pan at the worst instants</h2>\n<p>Heavy lines are cut \
                 metal. Doors carry an arrow for the way they open.</p>\n{inner}</section>\n"
            );
        }
    }

    /// Round maps and dipstick.
    pub fn still(&self, out: &mut String, f: &Findings, order: UnitOrder) {
        out.push_str("<section id=\"still\"><h2>Oil at rest, in every direction</h2>\n");
        let _ = writeln!(
            out,
            "<p>{} {}</p>",
            sentence(&tables::still_sentence(f, order)),
            escape(&f.still.volume_why)
        );
        self.figure(
            out,
            |look| round::round(f, look),
            "Seen from above, front of the car up, left on the left: the direction is where the oil is pushed, the \
             distance from the centre how hard. Solid is covered, dots are thin, hatch is bare; specks are the drive.",
        );
        tables::dipstick(out, f, order);
        out.push_str("</section>\n");
    }

    /// Litres against height.
    pub fn heights(&self, out: &mut String, f: &Findings) {
        self.figure(out, |look| heights::heights(f, look), "");
    }

    /// Bars for low, mid and high oil aloft.
    pub fn allowances(&self, out: &mut String, f: &Findings) {
        self.figure(out, |look| bars::allowances(f, look), "");
    }
}
