//! Prints drawings as PDF: one page a drawing, a millimetre of the list a millimetre of paper, letters inside.
//!
//! ISO 32000-1 in its plainest form. The same drawings give the same bytes: no dates, no numbers drawn by lot. The
//! file asks the reader's program not to scale when it prints (`PrintScaling None`, 12.2), which not every program
//! heeds: what must come out true carries a bar to be measured.

mod area;
mod ink;
mod letters;

use super::{Anchor, Drawing, Fill, Item, Path, Pen, Shape, Weight};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use glam::DVec2;
use letters::{Letters, Run};
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::io::Write;

/// Points to the millimetre.
const POINTS: f64 = 72.0 / 25.4;
/// Largest side of a page [mm]: 14,400 points (ISO 32000-1, annex C).
const LARGEST: f64 = 5080.0;

/// Why drawings were not printed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PdfFault {
    /// The program was built without letters.
    #[error(
        "this program was built without the letters for paper; mend: `cargo xtask setup`, then build again"
    )]
    NoLetters,
    /// Nothing to print.
    #[error("there is no drawing to print")]
    NoDrawing,
    /// A page that no printer's program takes.
    #[error("drawing {0} is {1} mm by {2} mm; a page has sides from 1 mm to 5080 mm")]
    Size(String, f64, f64),
    /// A place that is no number: a fault of this program.
    #[error("drawing {0} holds a place or a size that is no number")]
    NoNumber(String),
    /// A picture that is no picture: a fault of this program.
    #[error("drawing {0} holds a picture that cannot be read: {1}")]
    Picture(String, String),
}

/// The drawings as one PDF file, one page each.
///
/// # Errors
/// No drawing, one of an impossible size or with a place that is no number, a picture that is none, or a program built
/// without `web/dist`.
pub fn file(drawings: &[Drawing]) -> Result<Vec<u8>, PdfFault> {
    let mut letters = Letters::new().ok_or(PdfFault::NoLetters)?;
    let first = drawings.first().ok_or(PdfFault::NoDrawing)?;
    for d in drawings {
        let sound = [d.width, d.height].iter().all(|s| (1.0..=LARGEST).contains(s));
        if !sound {
            return Err(PdfFault::Size(d.id.clone(), d.width, d.height));
        }
        if !d.items.iter().all(|i| numbers(&i.shape)) || !d.clips.iter().flatten().all(path_numbers) {
            return Err(PdfFault::NoNumber(d.id.clone()));
        }
    }
    let mut pdf = Pdf::new();
    let mut next = Ref::new(1);
    let (catalog, tree, info) = (next.bump(), next.bump(), next.bump());
    let pages: Vec<Ref> = drawings.iter().map(|_| next.bump()).collect();
    let faces: Vec<Ref> = (0..letters::FACES).map(|_| next.bump()).collect();

    let mut head = pdf.catalog(catalog);
    head.pages(tree).lang(TextStr("en"));
    head.viewer_preferences()
        .pair(Name(b"PrintScaling"), Name(b"None"));
    head.finish();
    pdf.document_info(info)
        .title(TextStr(&first.title))
        .creator(TextStr("Sumpwright"));
    pdf.pages(tree)
        .kids(pages.iter().copied())
        .count(i32::try_from(pages.len()).expect("far fewer pages"));

    for (d, &page) in drawings.iter().zip(&pages) {
        let body = next.bump();
        let mut printer = Printer {
            drawing: d,
            letters: &mut letters,
            content: Content::new(),
            pictures: Vec::new(),
        };
        printer.draw();
        let pictures = printer.pictures;
        let packed = packed(&printer.content.finish());
        pdf.stream(body, &packed).filter(Filter::FlateDecode);
        let pictures: Vec<(String, Ref, &[u8])> = (pictures.into_iter().enumerate())
            .map(|(i, png)| (format!("P{i}"), next.bump(), png))
            .collect();
        let mut leaf = pdf.page(page);
        leaf.parent(tree).contents(body);
        leaf.media_box(Rect::new(
            0.0,
            0.0,
            (d.width * POINTS) as f32,
            (d.height * POINTS) as f32,
        ));
        let mut means = leaf.resources();
        let mut fonts = means.fonts();
        for (i, &face) in faces.iter().enumerate() {
            if letters.is_used(i) {
                fonts.pair(Name(letters::NAMES[i]), face);
            }
        }
        fonts.finish();
        let mut listed = means.x_objects();
        for (name, at, _) in &pictures {
            listed.pair(Name(name.as_bytes()), *at);
        }
        listed.finish();
        means.finish();
        leaf.finish();
        for (_, at, png) in pictures {
            picture(&mut pdf, at, &mut next, png).map_err(|why| PdfFault::Picture(d.id.clone(), why))?;
        }
    }
    letters.write(&mut pdf, &faces, &mut next);
    Ok(pdf.finish())
}

/// Letters that the drawings ask for and paper has not; a box stands in their place.
pub fn lacking(drawings: &[Drawing]) -> Vec<char> {
    let Some(letters) = Letters::new() else {
        return Vec::new();
    };
    let words = drawings.iter().flat_map(|d| &d.items);
    let mut lacking: Vec<char> = words
        .filter_map(|i| match &i.shape {
            Shape::Text { words, .. } => Some(words.chars()),
            _ => None,
        })
        .flatten()
        .filter(|c| !letters.has(*c))
        .collect();
    lacking.sort_unstable();
    lacking.dedup();
    lacking
}

/// Width of words on paper [mm]; none when the program was built without letters.
pub fn width(words: &str, size: f64, strong: bool) -> Option<f64> {
    Some(Letters::new()?.width(words, strong) * size)
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    encoder.write_all(bytes).expect("memory takes it");
    encoder.finish().expect("memory takes it")
}

fn path_numbers(path: &Path) -> bool {
    path.vertices.iter().all(|(p, b)| p.is_finite() && b.is_finite())
}

fn numbers(shape: &Shape) -> bool {
    match shape {
        Shape::Line { from, to } => from.is_finite() && to.is_finite(),
        Shape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => centre.is_finite() && [radius, start, sweep].iter().all(|x| x.is_finite()),
        Shape::Circle { centre, radius } => centre.is_finite() && radius.is_finite(),
        Shape::Paths(paths) => paths.iter().all(path_numbers),
        Shape::Picture { low, high, .. } => low.is_finite() && high.is_finite(),
        Shape::Text { at, size, turn, .. } => at.is_finite() && size.is_finite() && turn.is_finite(),
    }
}

/// Puts one drawing into the stream of its page.
struct Printer<'d, 'l> {
    drawing: &'d Drawing,
    letters: &'l mut Letters,
    content: Content,
    pictures: Vec<&'d [u8]>,
}

impl<'d> Printer<'d, '_> {
    fn draw(&mut self) {
        let d = self.drawing;
        self.content
            .transform([POINTS as f32, 0.0, 0.0, POINTS as f32, 0.0, 0.0]);
        for item in &d.items {
            let clip = item.clip.and_then(|c| d.clips.get(c));
            if let Some(clip) = clip {
                self.content.save_state();
                clip.iter().for_each(|p| area::path(&mut self.content, p));
                self.content.clip_nonzero().end_path();
            }
            self.item(item);
            if clip.is_some() {
                self.content.restore_state();
            }
        }
    }

    fn item(&mut self, item: &'d Item) {
        match &item.shape {
            Shape::Text {
                at,
                words,
                size,
                anchor,
                turn,
                strong,
            } => self.text(item, *at, words, *size, *anchor, *turn, *strong),
            Shape::Picture { low, high, png } => {
                let size = *high - *low;
                let name = format!("P{}", self.pictures.len());
                self.pictures.push(png);
                self.content.save_state();
                self.content
                    .transform([size.x as f32, 0.0, 0.0, size.y as f32, low.x as f32, low.y as f32]);
                self.content.x_object(Name(name.as_bytes()));
                self.content.restore_state();
            }
            shape => self.lines(shape, item.pen, item.fill),
        }
    }

    fn lines(&mut self, shape: &Shape, pen: Option<Pen>, fill: Option<Fill>) {
        let outline = area::paths_of(shape);
        let c = &mut self.content;
        if let Some(pen) = pen {
            stroke_look(c, pen);
        }
        let solid = match fill {
            Some(Fill::Solid(ink)) => Some(ink),
            Some(Fill::Covered) => Some(super::Ink::Oil),
            Some(pattern @ (Fill::Thin | Fill::Bare)) => {
                let page = DVec2::new(self.drawing.width, self.drawing.height);
                area::patterned(c, &outline, pattern, page);
                None
            }
            None => None,
        };
        if solid.is_none() && pen.is_none() {
            return;
        }
        if let Some(ink) = solid {
            let [r, g, b] = ink::unit(ink);
            c.set_fill_rgb(r, g, b);
        }
        outline.iter().for_each(|p| area::path(c, p));
        match (solid, pen) {
            (Some(_), Some(_)) => c.fill_nonzero_and_stroke(),
            (Some(_), None) => c.fill_nonzero(),
            _ => c.stroke(),
        };
    }

    fn text(
        &mut self,
        item: &Item,
        at: DVec2,
        words: &str,
        size: f64,
        anchor: Anchor,
        turn: f64,
        strong: bool,
    ) {
        let Some(Fill::Solid(ink)) = item.fill else { return };
        let shift = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -0.5,
            Anchor::End => -1.0,
        };
        let along = DVec2::from_angle(turn);
        let start = at + shift * size * self.letters.width(words, strong) * along;
        if let Some(pen) = item.pen {
            // The halo is drawn, not written, so that whoever copies the words gets them once.
            let c = &mut self.content;
            c.save_state();
            stroke_look(c, pen);
            c.set_line_width(0.9);
            c.transform([
                along.x as f32,
                along.y as f32,
                -along.y as f32,
                along.x as f32,
                start.x as f32,
                start.y as f32,
            ]);
            self.letters.outline(c, words, strong, size);
            c.stroke();
            c.restore_state();
        }
        let runs = self.letters.runs(words, strong);
        let c = &mut self.content;
        let [r, g, b] = ink::unit(ink);
        c.set_fill_rgb(r, g, b);
        c.begin_text();
        for Run { face, from, glyphs } in runs {
            let p = start + from * size * along;
            c.set_font(Name(letters::NAMES[face]), size as f32);
            c.set_text_matrix([
                along.x as f32,
                along.y as f32,
                -along.y as f32,
                along.x as f32,
                p.x as f32,
                p.y as f32,
            ]);
            c.show(Str(&glyphs));
        }
        c.end_text();
    }
}

fn stroke_look(c: &mut Content, pen: Pen) {
    let [r, g, b] = ink::unit(pen.ink);
    c.set_stroke_rgb(r, g, b);
    c.set_line_width(pen.weight.width() as f32);
    if pen.dashed {
        c.set_dash_pattern([1.4, 0.9], 0.0);
    } else {
        c.set_dash_pattern([], 0.0);
    }
    if pen.weight == Weight::Hair {
        c.set_line_cap(LineCapStyle::ButtCap)
            .set_line_join(LineJoinStyle::MiterJoin);
    } else {
        c.set_line_cap(LineCapStyle::RoundCap)
            .set_line_join(LineJoinStyle::RoundJoin);
    }
}

/// A PNG file as an image of eight bits a colour, its see-through part as a mask.
fn picture(pdf: &mut Pdf, at: Ref, next: &mut Ref, png: &[u8]) -> Result<(), String> {
    let picture =
        image::load_from_memory_with_format(png, image::ImageFormat::Png).map_err(|e| e.to_string())?;
    let all = picture.to_rgba8();
    let (width, height) = (all.width(), all.height());
    let size = |n: u32| i32::try_from(n).map_err(|_| "it is too large".to_owned());
    let (width, height) = (size(width)?, size(height)?);
    let mask = picture.color().has_alpha().then(|| next.bump());
    let colours: Vec<u8> = all.pixels().flat_map(|p| [p[0], p[1], p[2]]).collect();
    let body = packed(&colours);
    let mut image = pdf.image_xobject(at, &body);
    image.filter(Filter::FlateDecode);
    image.width(width).height(height).bits_per_component(8);
    image.color_space().device_rgb();
    if let Some(mask) = mask {
        image.s_mask(mask);
    }
    image.finish();
    if let Some(mask) = mask {
        let cover: Vec<u8> = all.pixels().map(|p| p[3]).collect();
        let body = packed(&cover);
        let mut image = pdf.image_xobject(mask, &body);
        image.filter(Filter::FlateDecode);
        image.width(width).height(height).bits_per_component(8);
        image.color_space().device_gray();
    }
    Ok(())
}
