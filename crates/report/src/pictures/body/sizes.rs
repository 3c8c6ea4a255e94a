//! Sizes on the views of a pan cut open.

use super::{Cut, LETTERS, Placed};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Shape, Weight};
use crate::section::{View, plates_met};
use glam::DVec2;
use measure::UnitOrder;
use pan::Region;
use std::f64::consts::FRAC_PI_2;

/// Level runs shorter than this are no floor [m].
const RUN: f64 = 15e-3;

/// From line to line of what stands inside [mm].
const STEP: f64 = 4.6;

/// A size as it is written: millimetres to a hundredth, inches to a thousandth.
pub(super) fn number(metres: f64, units: UnitOrder) -> String {
    let (value, decimals) = match units {
        UnitOrder::MetricFirst => (metres * 1e3, 2),
        UnitOrder::InchFirst => (metres / 25.4e-3, 3),
    };
    let text = format!("{value:.decimals$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.replace('-', "\u{2212}")
    }
}

/// Writes sizes on a view.
pub(super) struct Sizes<'d, 'p> {
    pub d: &'d mut Drawing,
    pub at: &'p Placed,
    pub units: UnitOrder,
}

impl Sizes<'_, '_> {
    pub fn section(&mut self, cut: &Cut, view: View, metal: &Region, oil: &Region, mouth: DVec2) {
        let (low, high) = (self.at.low, self.at.high);
        let Some((oil_low, oil_high)) = oil.bounds() else {
            return;
        };
        // Each floor from the flange's face, in the hollow where there is room, clear of the middle and the mouth.
        let floors = floors(oil);
        for (x0, x1, z) in &floors {
            let share = if (x1 - x0) * self.at.scale > 20.0 {
                0.2
            } else {
                0.5
            };
            self.upright(x0 + share * (x1 - x0), *z, 0.0, None);
        }
        // Level sizes below: floors, the hollow at the flange, everything.
        let mut row = 1.0;
        for (x0, x1, z) in floors.iter().filter(|f| f.2 <= oil_low.y + 1e-6) {
            self.level(*x0, *x1, *z, row, "");
            row += 1.0;
        }
        let top = oil_edge(oil, -1e-4).unwrap_or([oil_low.x, oil_high.x]);
        self.level(top[0], top[1], 0.0, row, "inside ");
        self.level(low.x, high.x, 0.0, row + 1.0, "");
        if view == View::Along {
            self.upright(high.x, low.y, 0.0, Some(11.0));
            let flange = metal.bounds().map_or(0.0, |_| cut.making.flange_thickness);
            self.upright(high.x, -flange, 0.0, Some(4.5));
            self.datum();
            let tip = self.at.on(mouth);
            self.note(tip + DVec2::new(0.0, 3.4), tip, "mouth");
        }
        let mut named: Vec<String> = Vec::new();
        for plate in plates_met(cut.pan, view) {
            if named.contains(&plate.name) {
                continue;
            }
            let [a, b] = [plate.from, plate.to].map(DVec2::from);
            let level = (a.y - b.y).abs() < 1e-6;
            // Over the upper end of a wall, over the middle of a shelf.
            let at = if level {
                self.at.on(a.lerp(b, 0.5)) + DVec2::new(0.0, 1.2)
            } else {
                self.at.on(if a.y > b.y { a } else { b }) + DVec2::new(0.0, 1.2)
            };
            self.d.label(at, &plate.name, 2.6, Anchor::Middle, Ink::Main);
            named.push(plate.name);
        }
    }

    pub fn plan(&mut self, cut: &Cut, rim: &Region) {
        let (low, high) = (self.at.low, self.at.high);
        self.upright(high.x, low.y, high.y, Some(17.0));
        if let Some((a, b)) = rim.bounds() {
            self.upright(high.x, a.y, b.y, Some(11.5));
        }
        for (i, at) in cut.making.bolts.iter().enumerate() {
            let centre = self.at.on(*at);
            let arm = 0.5 * cut.making.hole * self.at.scale + 0.8;
            let fine = Pen::new(Ink::Main, Weight::Hair);
            self.d
                .line(centre - DVec2::new(arm, 0.0), centre + DVec2::new(arm, 0.0), fine);
            self.d
                .line(centre - DVec2::new(0.0, arm), centre + DVec2::new(0.0, arm), fine);
            // Beside the flange, on the side where the bolt is, and clear of the marks of the cuts.
            let half = 0.5 * (high - low);
            let from = (*at - 0.5 * (low + high)) / half;
            let beside = if from.x.abs() > from.y.abs() {
                DVec2::new(4.6 * from.x.signum(), 2.6)
            } else {
                DVec2::new(2.6, 4.0 * from.y.signum())
            };
            let beside = centre + beside - DVec2::new(0.0, 0.9);
            self.d
                .label(beside, &(i + 1).to_string(), 2.5, Anchor::Middle, Ink::Main);
        }
    }

    /// A level size under the view, in row `row` from its lowest edge.
    fn level(&mut self, from: f64, to: f64, z: f64, row: f64, before: &str) {
        let y = self.at.on(self.at.low).y - 6.5 * row;
        let pen = Pen::new(Ink::Main, Weight::Hair);
        let ends = [from, to].map(|x| DVec2::new(self.at.on(DVec2::new(x, z)).x, y));
        for (x, end) in [from, to].into_iter().zip(ends) {
            let foot = self.at.on(DVec2::new(x, z)) - DVec2::new(0.0, 1.0);
            self.d.line(foot, end - DVec2::new(0.0, 1.2), pen);
        }
        self.between(ends[0], ends[1]);
        let words = format!("{before}{}", number(to - from, self.units));
        let middle = 0.5 * (ends[0] + ends[1]) + DVec2::new(0.0, 0.9);
        self.d.label(middle, &words, LETTERS, Anchor::Middle, Ink::Main);
    }

    /// An upright size at `x`, or so far right of it on paper with lines that lead there.
    fn upright(&mut self, x: f64, from: f64, to: f64, beside: Option<f64>) {
        let off = DVec2::new(beside.unwrap_or(0.0), 0.0);
        let ends = [from, to].map(|z| self.at.on(DVec2::new(x, z)) + off);
        if beside.is_some() {
            for end in ends {
                let pen = Pen::new(Ink::Main, Weight::Hair);
                self.d
                    .line(end - off + DVec2::new(1.0, 0.0), end + DVec2::new(1.2, 0.0), pen);
            }
        }
        self.between(ends[0], ends[1]);
        let words = number((to - from).abs(), self.units);
        // Below the middle, where plates seldom are.
        let middle = ends[0].lerp(ends[1], if beside.is_some() { 0.5 } else { 0.36 });
        if (ends[1] - ends[0]).length() < 8.0 {
            // Too short to write in: above its upper end.
            let up = if ends[0].y > ends[1].y { ends[0] } else { ends[1] };
            self.d.label(
                up + DVec2::new(0.0, 3.0),
                &words,
                LETTERS,
                Anchor::Middle,
                Ink::Main,
            );
            return;
        }
        self.d.label(
            middle - DVec2::new(0.9, 0.0),
            &words,
            LETTERS,
            Anchor::Middle,
            Ink::Main,
        );
        if let Some(Shape::Text { turn, .. }) = self.d.items.last_mut().map(|i| &mut i.shape) {
            *turn = FRAC_PI_2;
        }
    }

    /// A line with a filled head at both ends; from outside where it is short.
    fn between(&mut self, a: DVec2, b: DVec2) {
        let pen = Pen::new(Ink::Main, Weight::Hair);
        let way = (b - a).normalize_or_zero();
        let (head, short) = (2.2, (b - a).length() < 6.0);
        let way = if short { -way } else { way };
        if short {
            self.d.line(a + way * 4.0, a, pen);
            self.d.line(b, b - way * 4.0, pen);
        }
        self.d.line(a, b, pen);
        for (tip, back) in [(a, way), (b, -way)] {
            let side = way.perp() * 0.36;
            let foot = tip + back * head;
            self.d.paths(
                vec![Path::closed([tip, foot + side, foot - side])],
                None,
                Some(Fill::Solid(Ink::Main)),
            );
        }
    }

    /// The datum at the flange's face: a filled triangle with its letter in a box (ISO 5459).
    fn datum(&mut self) {
        let face = self.at.on(DVec2::new(self.at.low.x, 0.0));
        let foot = face - DVec2::new(7.0, 0.0);
        let pen = Pen::new(Ink::Main, Weight::Fine);
        self.d.line(face, foot - DVec2::new(3.0, 0.0), pen);
        self.d.paths(
            vec![Path::closed([
                foot,
                foot + DVec2::new(-1.6, -2.6),
                foot + DVec2::new(1.6, -2.6),
            ])],
            None,
            Some(Fill::Solid(Ink::Main)),
        );
        let under = foot - DVec2::new(0.0, 2.6);
        self.d.line(under, under - DVec2::new(0.0, 2.0), pen);
        let corner = under - DVec2::new(6.5, 6.6);
        self.d.paths(
            vec![Path::rectangle(corner, under + DVec2::new(6.5, -2.0))],
            Some(pen),
            None,
        );
        self.d.text(
            corner + DVec2::new(6.5, 1.3),
            "z = 0",
            LETTERS,
            Anchor::Middle,
            Ink::Main,
        );
    }

    /// What stands inside, with its place, line under line from the upper left corner.
    pub fn inside(&mut self, cut: &Cut, corner: DVec2, lowest: f64) {
        let n = |v: f64| number(v, self.units);
        let (mouth, at) = (&cut.pan.mouth, cut.pan.mouth.at);
        let over = cut.pan.mouth_over_floor();
        let mut lines = vec![format!(
            "mouth: ⌀{} at x {}, y {}, z {}{}",
            n(mouth.diameter),
            n(at.x),
            n(at.y),
            n(at.z),
            over.map_or(String::new(), |gap| format!("; {} over the floor", n(gap)))
        )];
        if let Some(drain) = &cut.making.drain {
            lines.push(format!(
                "drain: hole ⌀{} at x {}, y {}, z {}",
                n(drain.hole),
                n(drain.at.x),
                n(drain.at.y),
                n(drain.at.z)
            ));
        }
        for plate in &cut.pan.plates {
            let panels = plate.panels();
            let Some(panel) = panels.first() else { continue };
            let at = panel.origin;
            let place = if panel.normal.z.abs() > 0.99 {
                format!("z {}", n(panel.point(DVec2::ZERO).z))
            } else if panels.len() == 1 && panel.normal.x.abs() > 0.9999 {
                format!("x {}", n(at.x))
            } else if panels.len() == 1 && panel.normal.y.abs() > 0.9999 {
                format!("y {}", n(at.y))
            } else {
                format!("begins at x {}, y {}, z {}", n(at.x), n(at.y), n(at.z))
            };
            lines.push(format!("{}: {place}, {} thick", plate.name, n(plate.thickness)));
        }
        let room = ((corner.y - lowest) / STEP) as usize;
        let more = lines.len().saturating_sub(room.max(2));
        if more > 0 {
            lines.truncate(room.max(2) - 1);
            lines.push(format!("and {} more: see the design", more + 1));
        }
        for (i, words) in lines.iter().enumerate() {
            let at = corner - DVec2::new(0.0, STEP * (i as f64 + 1.0));
            self.d.text(at, words, LETTERS, Anchor::Start, Ink::Main);
        }
    }

    fn note(&mut self, at: DVec2, tip: DVec2, words: &str) {
        let pen = Pen::new(Ink::Main, Weight::Hair);
        self.d.line(at, tip, pen);
        self.d
            .label(at + DVec2::new(0.0, 0.9), words, 2.6, Anchor::Middle, Ink::Main);
    }
}

/// Floors of a section: from, to, height.
fn floors(oil: &Region) -> Vec<(f64, f64, f64)> {
    let mut floors: Vec<(f64, f64, f64)> = oil
        .edges()
        .filter(|(a, b)| (a.y - b.y).abs() < 1e-6 && b.x - a.x > RUN && a.y < -1e-3)
        .map(|(a, b)| (a.x, b.x, a.y))
        .collect();
    floors.sort_by(|a, b| a.0.total_cmp(&b.0));
    floors
}

/// Ends of the section at a height.
fn oil_edge(oil: &Region, z: f64) -> Option<[f64; 2]> {
    let chords = oil.chords(DVec2::new(0.0, z), DVec2::X);
    Some([chords.first()?.0, chords.last()?.1])
}
