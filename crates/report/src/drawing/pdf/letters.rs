//! The letters of paper: two weights, each in a plain and a wider Latin file, put whole into every PDF that uses them.

use super::packed;
use crate::page::bundle::LETTERS;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str};
use std::collections::BTreeMap;
use ttf_parser::gsub::{SingleSubstitution, SubstitutionSubtable};
use ttf_parser::{Face, GlyphId, OutlineBuilder, Tag};

/// How many font files there are.
pub(super) const FACES: usize = 4;
/// What a page calls them.
pub(super) const NAMES: [&[u8]; FACES] = [b"F0", b"F1", b"F2", b"F3"];

/// The faces with what was used of each.
pub(super) struct Letters {
    faces: [Face<'static>; FACES],
    bytes: [&'static [u8]; FACES],
    used: [BTreeMap<u16, char>; FACES],
}

/// Letters of one face in a row.
pub(super) struct Run {
    /// Index of the face.
    pub face: usize,
    /// Where it begins, in sizes from the start of the words.
    pub from: f64,
    /// Two bytes a glyph.
    pub glyphs: Vec<u8>,
}

impl Letters {
    /// None when the program was built without them.
    pub fn new() -> Option<Letters> {
        let bytes = LETTERS?;
        let faces = bytes.map(|b| Face::parse(b, 0).expect("the built-in letters are a font"));
        Some(Letters {
            faces,
            bytes,
            used: Default::default(),
        })
    }

    /// Whether there is such a letter.
    pub fn has(&self, letter: char) -> bool {
        self.find(letter, false).is_some()
    }

    /// Whether a face has been used.
    pub fn is_used(&self, face: usize) -> bool {
        !self.used[face].is_empty()
    }

    /// Width of words of size 1.
    pub fn width(&self, words: &str, strong: bool) -> f64 {
        words
            .chars()
            .map(|c| self.glyph(c, strong))
            .map(|(f, g)| self.advance(f, g))
            .sum()
    }

    /// The words cut into stretches of one face; what is used is remembered.
    pub fn runs(&mut self, words: &str, strong: bool) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        let mut from = 0.0;
        for letter in words.chars() {
            let (face, glyph) = self.glyph(letter, strong);
            self.used[face].entry(glyph.0).or_insert(letter);
            if runs.last().is_none_or(|r| r.face != face) {
                let glyphs = Vec::new();
                runs.push(Run { face, from, glyphs });
            }
            if let Some(run) = runs.last_mut() {
                run.glyphs.extend(glyph.0.to_be_bytes());
            }
            from += self.advance(face, glyph);
        }
        runs
    }

    /// Adds the outlines of the words, `size` tall, to the path under way.
    pub fn outline(&self, c: &mut Content, words: &str, strong: bool, size: f64) {
        let mut from = 0.0;
        for letter in words.chars() {
            let (face, glyph) = self.glyph(letter, strong);
            let scale = (size / f64::from(self.faces[face].units_per_em())) as f32;
            let mut pen = Trace {
                content: c,
                scale,
                from: (from * size) as f32,
                at: (0.0, 0.0),
            };
            self.faces[face].outline_glyph(glyph, &mut pen);
            from += self.advance(face, glyph);
        }
    }

    fn advance(&self, face: usize, glyph: GlyphId) -> f64 {
        let face = &self.faces[face];
        f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) / f64::from(face.units_per_em())
    }

    fn glyph(&self, letter: char, strong: bool) -> (usize, GlyphId) {
        self.find(letter, strong)
            .unwrap_or((usize::from(strong), GlyphId(0)))
    }

    fn find(&self, letter: char, strong: bool) -> Option<(usize, GlyphId)> {
        [0, 2]
            .into_iter()
            .map(|k| k + usize::from(strong))
            .find_map(|face| {
                let glyph = self.faces[face].glyph_index(letter)?;
                Some((face, tabular(&self.faces[face], glyph).unwrap_or(glyph)))
            })
    }

    /// Writes the faces that were used.
    pub fn write(&self, pdf: &mut Pdf, at: &[Ref], next: &mut Ref) {
        for i in (0..FACES).filter(|i| self.is_used(*i)) {
            self.write_face(pdf, i, at[i], next);
        }
    }

    fn write_face(&self, pdf: &mut Pdf, i: usize, at: Ref, next: &mut Ref) {
        let (own, descriptor, cmap, file) = (next.bump(), next.bump(), next.bump(), next.bump());
        let face = &self.faces[i];
        let name: &[u8] = [
            &b"Archivo-Regular"[..],
            b"Archivo-SemiBold",
            b"ArchivoWide-Regular",
            b"ArchivoWide-SemiBold",
        ][i];
        let system = SystemInfo {
            registry: Str(b"Adobe"),
            ordering: Str(b"Identity"),
            supplement: 0,
        };
        pdf.type0_font(at)
            .base_font(Name(name))
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(own)
            .to_unicode(cmap);
        let thousandths = |n: f64| (1000.0 * n / f64::from(face.units_per_em())) as f32;
        let mut font = pdf.cid_font(own);
        font.subtype(CidFontType::Type2)
            .base_font(Name(name))
            .system_info(system)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = font.widths();
        for &glyph in self.used[i].keys() {
            widths.same(glyph, glyph, (1000.0 * self.advance(i, GlyphId(glyph))) as f32);
        }
        widths.finish();
        font.finish();
        let b = face.global_bounding_box();
        let [x0, y0, x1, y1] = [b.x_min, b.y_min, b.x_max, b.y_max].map(|n| thousandths(f64::from(n)));
        pdf.font_descriptor(descriptor)
            .name(Name(name))
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(x0, y0, x1, y1))
            .italic_angle(0.0)
            .ascent(thousandths(f64::from(face.ascender())))
            .descent(thousandths(f64::from(face.descender())))
            .cap_height(thousandths(f64::from(face.capital_height().unwrap_or(700))))
            .stem_v(if i.is_multiple_of(2) { 85.0 } else { 130.0 })
            .font_file2(file);
        let mut letters = UnicodeCmap::new(Name(b"Letters"), system);
        for (&glyph, &letter) in &self.used[i] {
            letters.pair(glyph, letter);
        }
        let letters = packed(&letters.finish());
        pdf.cmap(cmap, &letters).filter(Filter::FlateDecode);
        let length = i32::try_from(self.bytes[i].len()).expect("a font of some kilobytes");
        let bytes = packed(self.bytes[i]);
        let mut stream = pdf.stream(file, &bytes);
        stream.filter(Filter::FlateDecode);
        stream.pair(Name(b"Length1"), length);
    }
}

/// The figure of equal width that the font keeps for tables.
fn tabular(face: &Face<'static>, glyph: GlyphId) -> Option<GlyphId> {
    let gsub = face.tables().gsub?;
    let feature = gsub.features.find(Tag::from_bytes(b"tnum"))?;
    for index in feature.lookup_indices {
        let lookup = gsub.lookups.get(index)?;
        for part in lookup.subtables.into_iter::<SubstitutionSubtable>() {
            let SubstitutionSubtable::Single(single) = part else {
                continue;
            };
            let Some(place) = single.coverage().get(glyph) else {
                continue;
            };
            return match single {
                SingleSubstitution::Format1 { delta, .. } => {
                    Some(GlyphId(glyph.0.wrapping_add_signed(delta)))
                }
                SingleSubstitution::Format2 { substitutes, .. } => substitutes.get(place),
            };
        }
    }
    None
}

/// Puts the outline of a glyph into the stream of a page.
struct Trace<'c> {
    content: &'c mut Content,
    scale: f32,
    from: f32,
    at: (f32, f32),
}

impl Trace<'_> {
    fn place(&self, x: f32, y: f32) -> (f32, f32) {
        (self.from + self.scale * x, self.scale * y)
    }
}

impl OutlineBuilder for Trace<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.at = self.place(x, y);
        self.content.move_to(self.at.0, self.at.1);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.at = self.place(x, y);
        self.content.line_to(self.at.0, self.at.1);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        // A quadratic curve is the cubic whose handles go two thirds of the way to its own.
        let (a, h, b) = (self.at, self.place(x1, y1), self.place(x, y));
        let third = |p: (f32, f32)| (p.0 + 2.0 / 3.0 * (h.0 - p.0), p.1 + 2.0 / 3.0 * (h.1 - p.1));
        let (p, q) = (third(a), third(b));
        self.content.cubic_to(p.0, p.1, q.0, q.1, b.0, b.1);
        self.at = b;
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (p, q, b) = (self.place(x1, y1), self.place(x2, y2), self.place(x, y));
        self.content.cubic_to(p.0, p.1, q.0, q.1, b.0, b.1);
        self.at = b;
    }

    fn close(&mut self) {
        self.content.close_path();
    }
}
