//! The pan cut open with its main sizes, as a machinist reads it: third angle, plan over the section along the engine,
//! section across at its left; sizes from the flange's face and from the design's own origin.
//!
//! Line weights as on any drawing: cut edges heavy and hatched, visible edges medium, hidden ones dashed.

mod sizes;

use crate::drawing::{Anchor, Drawing, Ink, Path, Pen, Weight};
use crate::section::{View, plates_met};
use glam::{DVec2, DVec3};
use measure::UnitOrder;
use pan::mesh::ClosedMesh;
use pan::{Pan, Region};
use shop::body::Making;
use shop::paper::Paper;
use sizes::{Sizes, number};

/// What is drawn.
pub struct Cut<'a> {
    /// The design's name.
    pub name: &'a str,
    /// The pan with its plates and mouth.
    pub pan: &'a Pan,
    /// What was made.
    pub making: &'a Making,
    /// Corners and triangles of the body [m].
    pub body: (&'a [DVec3], &'a [[u32; 3]]),
    /// Of its cavity.
    pub cavity: (&'a [DVec3], &'a [[u32; 3]]),
    /// Sharp edges of the cavity, as corners.
    pub edges: &'a [[u32; 2]],
    /// Paper, laid sideways.
    pub paper: Paper,
    /// Millimetres or inches.
    pub units: UnitOrder,
}

/// Scales of ISO 5455.
const SCALES: [f64; 5] = [1.0, 2.0, 5.0, 10.0, 20.0];
/// Frame to the paper's edge, and title strip [mm].
const MARGIN: f64 = 10.0;
const STRIP: f64 = 17.0;
/// Letters [mm]: ISO 3098 has 2.5 as its least.
const LETTERS: f64 = 3.2;
/// Room for sizes: left of the views, between them, right of them; under the sections, between plan and section, over it.
const ROOM: [f64; 6] = [14.0, 24.0, 20.0, 30.0, 14.0, 9.0];

/// The sheet; `None` when a solid is not closed or nothing fits.
pub fn body(cut: &Cut) -> Option<Drawing> {
    let solid = |(p, t): (&[DVec3], &[[u32; 3]])| ClosedMesh::from_closed(p.to_vec(), t.to_vec()).ok();
    let (metal, hollow) = (solid(cut.body)?, solid(cut.cavity)?);
    let (low, high) = metal.bounds();
    let size = (high - low) * 1e3;
    let [short, long] = cut.paper.size().map(|s| s * 1e3);
    let [left, between, right, under, middle, over] = ROOM;
    let free = DVec2::new(
        long - 2.0 * MARGIN - left - between - right,
        short - 2.0 * MARGIN - STRIP - under - middle - over,
    );
    let need = DVec2::new(size.x + size.y, size.y + size.z);
    let scale = SCALES.into_iter().find(|s| (need / s).cmple(free).all())?;
    let spare = 0.5 * (free - need / scale);
    let mut d = Drawing::new("body-section", long, short, &format!("{}: section", cut.name));
    d.said = "The pan cut lengthwise and across through its pickup mouth, with its main sizes.".into();
    d.paths(
        vec![Path::rectangle(
            DVec2::splat(MARGIN),
            DVec2::new(long, short) - MARGIN,
        )],
        Some(Pen::new(Ink::Main, Weight::Medium)),
        None,
    );
    let floor = MARGIN + STRIP + under + spare.y;
    let across_left = MARGIN + left + spare.x;
    let along_left = across_left + size.y / scale + between;
    let plan_floor = floor + size.z / scale + middle;
    let to_paper = 1e3 / scale;
    let mouth = cut.pan.mouth.at;
    let mut sheet = Sheet {
        d,
        units: cut.units,
        cut,
    };
    let along = Placed {
        corner: DVec2::new(along_left, floor),
        low: DVec2::new(low.x, low.z),
        high: DVec2::new(high.x, high.z),
        scale: to_paper,
    };
    // Seen from the rear: the engine's left is at the left.
    let across = Placed {
        corner: DVec2::new(across_left, floor),
        low: DVec2::new(-high.y, low.z),
        high: DVec2::new(-low.y, high.z),
        scale: to_paper,
    };
    let plan = Placed {
        corner: DVec2::new(along_left, plan_floor),
        low: low.truncate(),
        high: high.truncate(),
        scale: to_paper,
    };
    let upright = |solid: &ClosedMesh, right: DVec3| {
        solid.section((mouth - right * mouth.dot(right)).with_z(0.0), right, DVec3::Z)
    };
    for (at, view, right, name) in [
        (&along, View::Along, DVec3::X, "A – A"),
        (&across, View::Across, -DVec3::Y, "B – B"),
    ] {
        let (region, oil) = (upright(&metal, right), upright(&hollow, right));
        sheet.section(at, view, right, &region, &oil, name);
    }
    sheet.plan(&plan, &hollow);
    Sizes {
        d: &mut sheet.d,
        at: &plan,
        units: cut.units,
    }
    .inside(
        cut,
        DVec2::new(MARGIN + 4.0, short - MARGIN - 2.0),
        floor + size.z / scale + 12.0,
    );
    sheet.title(scale, long);
    Some(sheet.d)
}

/// A view with its place on the paper.
struct Placed {
    corner: DVec2,
    low: DVec2,
    high: DVec2,
    /// Millimetres on paper for a metre.
    scale: f64,
}

impl Placed {
    fn on(&self, p: DVec2) -> DVec2 {
        self.corner + (p - self.low) * self.scale
    }

    fn paths(&self, region: &Region) -> Vec<Path> {
        region
            .loops()
            .map(|l| Path::closed(l.iter().map(|p| self.on(*p))))
            .collect()
    }
}

struct Sheet<'a> {
    d: Drawing,
    units: UnitOrder,
    cut: &'a Cut<'a>,
}

impl Sheet<'_> {
    fn section(&mut self, at: &Placed, view: View, right: DVec3, metal: &Region, oil: &Region, name: &str) {
        let (fine, medium) = (
            Pen::new(Ink::Main, Weight::Fine),
            Pen::new(Ink::Main, Weight::Medium),
        );
        let out = right.cross(DVec3::Z);
        // Edges of the hollow beyond the cut, where they are seen through it.
        let (points, mouth) = (self.cut.cavity.0, self.cut.pan.mouth.at);
        for [a, b] in self.cut.edges.iter().map(|e| e.map(|c| points[c as usize])) {
            let behind = |p: DVec3| (p - mouth).dot(out) < -1e-6;
            let seen = |p: DVec3| DVec2::new(p.dot(right), p.z);
            if behind(a) && behind(b) && oil.contains(0.5 * (seen(a) + seen(b))) {
                self.d.line(at.on(seen(a)), at.on(seen(b)), fine);
            }
        }
        let paths = at.paths(metal);
        let clip = self.d.clip(paths.clone());
        self.hatch(at, clip);
        self.d
            .paths(paths, Some(Pen::new(Ink::Main, Weight::Heavy)), None);
        for plate in plates_met(self.cut.pan, view) {
            let [from, to] = [plate.from, plate.to].map(|p| at.on(DVec2::from(p)));
            self.d.line(from, to, Pen::new(Ink::Metal, Weight::Heavy));
        }
        // The mouth: its width, and its middle line.
        let middle = DVec2::new(mouth.dot(right), mouth.z);
        let half = DVec2::new(0.5 * self.cut.pan.mouth.diameter, 0.0);
        self.d.line(at.on(middle - half), at.on(middle + half), medium);
        for end in [middle - half, middle + half] {
            self.d.line(at.on(end), at.on(end) + DVec2::new(0.0, 3.0), medium);
        }
        let axis = |d: &mut Drawing, x: f64| {
            let (a, b) = (at.on(DVec2::new(x, at.low.y)), at.on(DVec2::new(x, at.high.y)));
            d.line(
                a - DVec2::new(0.0, 2.0),
                b + DVec2::new(0.0, 2.0),
                Pen::dashed(Ink::Quiet, Weight::Hair),
            );
        };
        axis(&mut self.d, 0.0);
        let head = at.on(at.high) + DVec2::new(0.0, 3.4);
        let centre = DVec2::new(at.on(0.5 * (at.low + at.high)).x, head.y);
        self.d.strong(centre, name, 3.6, Anchor::Middle, Ink::Main);
        Sizes {
            d: &mut self.d,
            at,
            units: self.units,
        }
        .section(self.cut, view, metal, oil, middle);
    }

    fn hatch(&mut self, at: &Placed, clip: usize) {
        let (low, high) = (at.on(at.low), at.on(at.high));
        let tall = high.y - low.y;
        let mut lines = Vec::new();
        let mut x = low.x - tall;
        while x < high.x {
            lines.push(Path::open([DVec2::new(x, low.y), DVec2::new(x + tall, high.y)]));
            x += 1.8;
        }
        self.d
            .clipped(lines, Some(Pen::new(Ink::Main, Weight::Hair)), None, clip);
    }

    fn plan(&mut self, at: &Placed, hollow: &ClosedMesh) {
        let cut = self.cut;
        let (medium, hidden) = (
            Pen::new(Ink::Main, Weight::Medium),
            Pen::dashed(Ink::Main, Weight::Fine),
        );
        let under = -cut.making.flange_thickness;
        let face = cut.making.plan(0.5 * under.min(-1e-5));
        self.d.paths(at.paths(&face), Some(medium), None);
        let rim = hollow.level_section(-1e-6);
        self.d.paths(at.paths(&rim), Some(medium), None);
        // Under the flange the walls' outside is hidden.
        let outside = cut.making.plan(under - 1e-4);
        let outer: Vec<Path> = outside
            .shapes
            .iter()
            .filter_map(|s| s.first())
            .map(|l| Path::closed(l.iter().map(|p| at.on(*p))))
            .collect();
        self.d.paths(outer, Some(hidden), None);
        let points = cut.cavity.0;
        for [a, b] in cut.edges.iter().map(|e| e.map(|c| points[c as usize])) {
            if a.z < -1e-6 || b.z < -1e-6 {
                self.d.line(
                    at.on(a.truncate()),
                    at.on(b.truncate()),
                    Pen::new(Ink::Main, Weight::Fine),
                );
            }
        }
        for panel in cut.pan.plates.iter().flat_map(|p| p.panels()) {
            let level = panel.normal.z.abs() > 0.7;
            let paths = panel
                .outline
                .loops()
                .map(|l| Path::closed(l.iter().map(|p| at.on(panel.point(*p).truncate()))))
                .collect();
            let pen = if level {
                Pen::dashed(Ink::Metal, Weight::Medium)
            } else {
                Pen::new(Ink::Metal, Weight::Medium)
            };
            self.d.paths(paths, Some(pen), None);
        }
        let mouth = &cut.pan.mouth;
        self.d.circle(
            at.on(mouth.at.truncate()),
            0.5 * mouth.diameter * at.scale,
            Some(medium),
            None,
        );
        // Where it is cut, with the way that is looked.
        let (low, high) = (at.on(at.low), at.on(at.high));
        let here = at.on(mouth.at.truncate());
        let heavy = Pen::new(Ink::Main, Weight::Heavy);
        for (end, away, look, name) in [
            (DVec2::new(low.x, here.y), -DVec2::X, DVec2::Y, "A"),
            (DVec2::new(high.x, here.y), DVec2::X, DVec2::Y, "A"),
            (DVec2::new(here.x, low.y), -DVec2::Y, DVec2::X, "B"),
            (DVec2::new(here.x, high.y), DVec2::Y, DVec2::X, "B"),
        ] {
            let (from, to) = (end + away * 0.8, end + away * 5.0);
            self.d.line(from, to, heavy);
            self.d
                .arrow(to, to + look * 3.6, 1.6, Pen::new(Ink::Main, Weight::Fine));
            let beside = to - look * 2.6 + DVec2::new(0.0, -1.2);
            self.d.strong(beside, name, 3.6, Anchor::Middle, Ink::Main);
        }
        let chain = Pen::dashed(Ink::Quiet, Weight::Hair);
        self.d
            .line(DVec2::new(low.x, here.y), DVec2::new(high.x, here.y), chain);
        self.d
            .line(DVec2::new(here.x, low.y), DVec2::new(here.x, high.y), chain);
        Sizes {
            d: &mut self.d,
            at,
            units: self.units,
        }
        .plan(cut, &rim);
    }

    fn title(&mut self, scale: f64, wide: f64) {
        let (x, top) = (MARGIN, MARGIN + STRIP);
        let medium = Pen::new(Ink::Main, Weight::Medium);
        self.d
            .line(DVec2::new(x, top), DVec2::new(wide - MARGIN, top), medium);
        let line =
            |d: &mut Drawing, at: DVec2, words: &str| d.text(at, words, LETTERS, Anchor::Start, Ink::Main);
        self.d.strong(
            DVec2::new(x + 4.0, top - 6.5),
            self.cut.name,
            5.0,
            Anchor::Start,
            Ink::Main,
        );
        let m = self.cut.making;
        let units = match self.units {
            UnitOrder::MetricFirst => "mm",
            UnitOrder::InchFirst => "in",
        };
        let n = |v: f64| number(v, self.units);
        let walls = format!(
            "Sizes in {units}. Wall {}, floor {}, flange {}; {} holes {} through.",
            n(m.wall),
            n(m.floor),
            n(m.flange_thickness),
            m.bolts.len(),
            n(m.hole)
        );
        line(&mut self.d, DVec2::new(x + 4.0, top - 11.0), &walls);
        let datum = "Datum: the flange's face, z = 0; x and y from the design's origin (thin dashed line). Front of the engine: right.";
        line(&mut self.d, DVec2::new(x + 4.0, top - 15.0), datum);
        // Scale, bar, symbol at the right.
        let right = wide - MARGIN - 4.0;
        let bar = match self.units {
            UnitOrder::MetricFirst => [100.0, 100.0],
            UnitOrder::InchFirst => [4.0, 101.6],
        };
        let long = bar[1] / scale;
        let y = top - 12.5;
        let ends = [right - long, right].map(|x| DVec2::new(x, y));
        self.d.line(ends[0], ends[1], medium);
        for p in ends {
            self.d
                .line(p - DVec2::new(0.0, 1.2), p + DVec2::new(0.0, 1.2), medium);
        }
        let words = format!("scale 1:{scale}; this bar is {} {units}", bar[0]);
        self.d.text(
            DVec2::new(right, top - 6.0),
            &words,
            LETTERS,
            Anchor::End,
            Ink::Main,
        );
        self.symbol(DVec2::new(right - 72.0, top - 0.5 * STRIP));
    }

    /// Third angle (ISO 5456-2): the small end, seen from the left, stands at the left.
    fn symbol(&mut self, at: DVec2) {
        let pen = Pen::new(Ink::Main, Weight::Medium);
        let round = at - DVec2::new(6.0, 0.0);
        for radius in [1.6, 3.2] {
            self.d.circle(round, radius, Some(pen), None);
        }
        let cone = [(2.0, -1.6), (9.0, -3.2), (9.0, 3.2), (2.0, 1.6)];
        self.d.paths(
            vec![Path::closed(cone.map(|(x, y)| at + DVec2::new(x, y)))],
            Some(pen),
            None,
        );
        let chain = Pen::dashed(Ink::Quiet, Weight::Hair);
        self.d
            .line(round - DVec2::new(4.4, 0.0), at + DVec2::new(10.6, 0.0), chain);
        self.d
            .line(round - DVec2::new(0.0, 4.4), round + DVec2::new(0.0, 4.4), chain);
    }
}
