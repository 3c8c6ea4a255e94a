//! The one drawing list that every picture is made of: lines, arcs, outlines of both, and text.
//!
//! Lengths in millimetres on paper, x to the right, y *up*, origin at the lower left. A printer turns the
//! list into a file format and adds nothing of its own: [`svg`] for pages, [`pdf`] for paper.
//!
//! What a stroke *is* (metal, oil, a reading) stands in [`Ink`]; how heavy, in [`Weight`]. Colour is the
//! printer's affair, so one drawing serves paper, light and dark.

pub mod pdf;
pub mod svg;
pub mod words;

use glam::DVec2;
use std::f64::consts::TAU;

/// What is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Words, axes that matter, measured series.
    Main,
    /// Secondary words.
    Quiet,
    /// Grid lines and other helpers.
    Faint,
    /// Metal.
    Metal,
    /// Oil, and nothing else.
    Oil,
    /// Edge of oil, dark enough to read against paper.
    OilEdge,
    /// The way something pushes or opens.
    Way,
    /// Bare mouth, air drawn.
    Bare,
    /// The ground itself: for a halo that keeps a label readable.
    Ground,
}

/// Line weights of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Cut edges.
    Heavy,
    /// Visible edges, measured series.
    Medium,
    /// Leaders, dimensions, axes.
    Fine,
    /// Grid.
    Hair,
}

impl Weight {
    /// Width of the line [mm].
    pub fn width(self) -> f64 {
        match self {
            Weight::Heavy => 0.7,
            Weight::Medium => 0.35,
            Weight::Fine => 0.2,
            Weight::Hair => 0.12,
        }
    }
}

/// How a line is stroked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pen {
    /// What it is.
    pub ink: Ink,
    /// How heavy.
    pub weight: Weight,
    /// Dashed: hidden edges, estimates.
    pub dashed: bool,
}

impl Pen {
    /// A full line.
    pub fn new(ink: Ink, weight: Weight) -> Pen {
        Pen {
            ink,
            weight,
            dashed: false,
        }
    }

    /// A dashed line.
    pub fn dashed(ink: Ink, weight: Weight) -> Pen {
        Pen {
            ink,
            weight,
            dashed: true,
        }
    }
}

/// How an area is filled. Covered, thin and bare differ by pattern, so that they survive grey printing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Solid.
    Solid(Ink),
    /// The mouth is covered: solid oil.
    Covered,
    /// Thin: dots of oil.
    Thin,
    /// Bare: hatched.
    Bare,
}

/// A line of straight and round stretches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path {
    /// Corners with the bulge of the stretch that leaves them: `tan(sweep / 4)`, positive turns left.
    pub vertices: Vec<(DVec2, f64)>,
    /// Whether the last corner joins the first.
    pub closed: bool,
}

impl Path {
    /// An open line of straight stretches.
    pub fn open(points: impl IntoIterator<Item = DVec2>) -> Path {
        Path {
            vertices: points.into_iter().map(|p| (p, 0.0)).collect(),
            closed: false,
        }
    }

    /// A closed outline of straight stretches.
    pub fn closed(points: impl IntoIterator<Item = DVec2>) -> Path {
        Path {
            closed: true,
            ..Path::open(points)
        }
    }

    /// A rectangle by two corners.
    pub fn rectangle(low: DVec2, high: DVec2) -> Path {
        Path::closed([low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)])
    }

    /// Piece of a ring round `centre` between two radii and two angles [rad], counter-clockwise from `from`.
    pub fn ring_piece(centre: DVec2, inner: f64, outer: f64, from: f64, to: f64) -> Path {
        let bulge = ((to - from) / 4.0).tan();
        let at = |radius: f64, angle: f64| centre + radius * DVec2::from_angle(angle);
        if inner <= 0.0 {
            let vertices = vec![(centre, 0.0), (at(outer, from), bulge), (at(outer, to), 0.0)];
            return Path {
                vertices,
                closed: true,
            };
        }
        let vertices = vec![
            (at(inner, from), 0.0),
            (at(outer, from), bulge),
            (at(outer, to), 0.0),
            (at(inner, to), -bulge),
        ];
        Path {
            vertices,
            closed: true,
        }
    }
}

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At its left end.
    Start,
    /// In its middle.
    Middle,
    /// At its right end.
    End,
}

/// A piece of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A straight line.
    Line {
        /// One end.
        from: DVec2,
        /// Other end.
        to: DVec2,
    },
    /// Part of a circle.
    Arc {
        /// Centre.
        centre: DVec2,
        /// Radius [mm].
        radius: f64,
        /// Angle of its start [rad], counter-clockwise from x.
        start: f64,
        /// Turn [rad]; positive is counter-clockwise.
        sweep: f64,
    },
    /// A circle.
    Circle {
        /// Centre.
        centre: DVec2,
        /// Radius [mm].
        radius: f64,
    },
    /// Several outlines as one area or stroke. Outlines that turn the same way unite, one that turns the other
    /// way is a hole (non-zero rule).
    Paths(Vec<Path>),
    /// A picture, upright, stretched over a rectangle.
    Picture {
        /// Lower left corner.
        low: DVec2,
        /// Upper right corner.
        high: DVec2,
        /// As a PNG file.
        png: Vec<u8>,
    },
    /// Words.
    Text {
        /// Where the base line is held.
        at: DVec2,
        /// The words, as text and never as markup.
        words: String,
        /// Height of the letters [mm].
        size: f64,
        /// Which end is held.
        anchor: Anchor,
        /// Turn [rad], counter-clockwise.
        turn: f64,
        /// True for the heavier of the two weights.
        strong: bool,
    },
}

/// A shape with its look.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// The shape.
    pub shape: Shape,
    /// Its line, if any. For text: the ink of a halo round the letters.
    pub pen: Option<Pen>,
    /// Its fill, if any.
    pub fill: Option<Fill>,
    /// Index into [`Drawing::clips`]: only what lies inside that outline shows.
    pub clip: Option<usize>,
}

/// A drawing of a stated size.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Name unique within a page, of letters, digits and hyphens.
    pub id: String,
    /// Width of the paper [mm].
    pub width: f64,
    /// Height of the paper [mm].
    pub height: f64,
    /// What it shows, in a few words.
    pub title: String,
    /// What it says, in a sentence or two, for someone who cannot see it.
    pub said: String,
    /// Outlines used for clipping.
    pub clips: Vec<Vec<Path>>,
    /// Everything drawn, first at the bottom.
    pub items: Vec<Item>,
}

impl Drawing {
    /// An empty drawing.
    pub fn new(id: &str, width: f64, height: f64, title: &str) -> Drawing {
        Drawing {
            id: id.to_owned(),
            width,
            height,
            title: title.to_owned(),
            said: String::new(),
            clips: Vec::new(),
            items: Vec::new(),
        }
    }

    /// Draws a straight line.
    pub fn line(&mut self, from: DVec2, to: DVec2, pen: Pen) {
        self.push(Shape::Line { from, to }, Some(pen), None);
    }

    /// Draws an open line through points.
    pub fn trace(&mut self, points: impl IntoIterator<Item = DVec2>, pen: Pen) {
        let path = Path::open(points);
        if path.vertices.len() > 1 {
            self.push(Shape::Paths(vec![path]), Some(pen), None);
        }
    }

    /// Draws outlines as one area.
    pub fn paths(&mut self, paths: Vec<Path>, pen: Option<Pen>, fill: Option<Fill>) {
        if !paths.is_empty() {
            self.push(Shape::Paths(paths), pen, fill);
        }
    }

    /// Draws a circle.
    pub fn circle(&mut self, centre: DVec2, radius: f64, pen: Option<Pen>, fill: Option<Fill>) {
        self.push(Shape::Circle { centre, radius }, pen, fill);
    }

    /// Lays a picture over a rectangle; it is a PNG file.
    pub fn picture(&mut self, low: DVec2, high: DVec2, png: Vec<u8>) {
        self.push(Shape::Picture { low, high, png }, None, None);
    }

    /// Draws part of a circle; a whole turn becomes a circle.
    pub fn arc(&mut self, centre: DVec2, radius: f64, start: f64, sweep: f64, pen: Pen) {
        if sweep.abs() >= TAU {
            self.circle(centre, radius, Some(pen), None);
        } else {
            self.push(
                Shape::Arc {
                    centre,
                    radius,
                    start,
                    sweep,
                },
                Some(pen),
                None,
            );
        }
    }

    /// Writes words; `size` is the height of the letters' em box [mm].
    pub fn text(&mut self, at: DVec2, words: &str, size: f64, anchor: Anchor, ink: Ink) {
        self.words(at, words, size, anchor, ink, false);
    }

    /// Writes words in the heavier weight.
    pub fn strong(&mut self, at: DVec2, words: &str, size: f64, anchor: Anchor, ink: Ink) {
        self.words(at, words, size, anchor, ink, true);
    }

    /// Writes words with a halo of the ground, to be read on top of a picture.
    pub fn label(&mut self, at: DVec2, words: &str, size: f64, anchor: Anchor, ink: Ink) {
        self.words(at, words, size, anchor, ink, true);
        if let Some(item) = self.items.last_mut() {
            item.pen = Some(Pen::new(Ink::Ground, Weight::Heavy));
        }
    }

    /// An arrow with an open head at `to`.
    pub fn arrow(&mut self, from: DVec2, to: DVec2, head: f64, pen: Pen) {
        let along = (to - from).normalize_or_zero();
        let side = along.perp();
        self.line(from, to, pen);
        let barb = |s: f64| to - head * along + s * 0.45 * head * side;
        self.trace([barb(1.0), to, barb(-1.0)], Pen { dashed: false, ..pen });
    }

    /// Adds an outline to clip by and gives its index.
    pub fn clip(&mut self, outline: Vec<Path>) -> usize {
        self.clips.push(outline);
        self.clips.len() - 1
    }

    /// Draws outlines as one area, seen only inside clip `clip`.
    pub fn clipped(&mut self, paths: Vec<Path>, pen: Option<Pen>, fill: Option<Fill>, clip: usize) {
        if !paths.is_empty() {
            self.items.push(Item {
                shape: Shape::Paths(paths),
                pen,
                fill,
                clip: Some(clip),
            });
        }
    }

    fn words(&mut self, at: DVec2, words: &str, size: f64, anchor: Anchor, ink: Ink, strong: bool) {
        let shape = Shape::Text {
            at,
            words: words.to_owned(),
            size,
            anchor,
            turn: 0.0,
            strong,
        };
        self.push(shape, None, Some(Fill::Solid(ink)));
    }

    fn push(&mut self, shape: Shape, pen: Option<Pen>, fill: Option<Fill>) {
        self.items.push(Item {
            shape,
            pen,
            fill,
            clip: None,
        });
    }
}
