//! Sheets of a card, filled from the top; what does not fit goes on to the next.

use super::About;
use crate::drawing::words::{width, wrapped};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use glam::DVec2;

/// Room at the edge of the paper [mm]: no printer reaches it.
pub const EDGE: f64 = 13.0;
/// Height of plain words [mm].
pub const WORDS: f64 = 7.0;
/// Height of words that explain.
pub const SMALL: f64 = 5.2;
/// From line to line over the height of the words.
const LEADING: f64 = 1.36;
/// Room at the foot for the card's name and page.
const FOOT: f64 = 9.0;

/// A card under way.
pub struct Sheet<'a> {
    about: &'a About,
    id: &'static str,
    title: String,
    pages: Vec<Drawing>,
    /// Top of what is still free.
    y: f64,
}

impl<'a> Sheet<'a> {
    /// A card with its title and what it is for.
    pub fn new(about: &'a About, id: &'static str, title: &str, lead: &str) -> Sheet<'a> {
        let mut sheet = Sheet {
            about,
            id,
            title: title.to_owned(),
            pages: Vec::new(),
            y: 0.0,
        };
        sheet.page();
        if let Some(page) = sheet.pages.last_mut() {
            page.said = lead.to_owned();
        }
        sheet.words(lead);
        sheet
    }

    /// The page that is being filled.
    pub fn drawing(&mut self) -> &mut Drawing {
        self.pages.last_mut().expect("a card has a page from the start")
    }

    /// Left edge, right edge.
    pub fn edges(&self) -> [f64; 2] {
        [EDGE, self.about.paper[0] - EDGE]
    }

    fn wide(&self) -> f64 {
        self.about.paper[0] - 2.0 * EDGE
    }

    fn page(&mut self) {
        let [w, h] = self.about.paper;
        let number = self.pages.len() + 1;
        let mut d = Drawing::new(&format!("{}-{number}", self.id), w, h, &self.title);
        let mut y = h - EDGE;
        let first = number == 1;
        let size = if first { 12.0 } else { 7.0 };
        for line in wrapped(&self.title, size, self.wide(), true) {
            y -= size;
            d.strong(DVec2::new(EDGE, y), &line, size, Anchor::Start, Ink::Main);
        }
        y -= 4.0;
        d.line(
            DVec2::new(EDGE, y),
            DVec2::new(w - EDGE, y),
            Pen::new(Ink::Main, Weight::Heavy),
        );
        self.y = y - 2.0;
        self.pages.push(d);
    }

    /// Room of this height; its lower left corner. Goes to the next page where it does not fit.
    pub fn room(&mut self, height: f64) -> DVec2 {
        if self.y - height < EDGE + FOOT {
            self.page();
        }
        self.y -= height;
        DVec2::new(EDGE, self.y)
    }

    /// Goes to the next page unless so much is free on this one.
    pub fn need(&mut self, height: f64) {
        if self.free() < height {
            self.page();
        }
    }

    /// Height that is free on this page.
    pub fn free(&self) -> f64 {
        self.y - EDGE - FOOT
    }

    /// A little air.
    pub fn gap(&mut self, height: f64) {
        self.y -= height;
    }

    fn lines(&mut self, text: &str, size: f64, indent: f64, strong: bool, ink: Ink) {
        for line in wrapped(text, size, self.wide() - indent, strong) {
            let at = self.room(size * LEADING) + DVec2::new(indent, 0.3 * size);
            match strong {
                true => self.drawing().strong(at, &line, size, Anchor::Start, ink),
                false => self.drawing().text(at, &line, size, Anchor::Start, ink),
            }
        }
    }

    /// A paragraph.
    pub fn words(&mut self, text: &str) {
        self.gap(2.0);
        self.lines(text, WORDS, 0.0, false, Ink::Main);
    }

    /// A paragraph that explains.
    pub fn small(&mut self, text: &str) {
        self.gap(1.5);
        self.lines(text, SMALL, 0.0, false, Ink::Quiet);
    }

    /// A heading; it does not stand alone at the foot of a page.
    pub fn head(&mut self, text: &str) {
        self.gap(5.0);
        self.need(6.0 * WORDS);
        self.lines(text, 8.0, 0.0, true, Ink::Main);
    }

    /// A step with its number before it.
    pub fn step(&mut self, number: usize, text: &str) {
        self.marked(text, |d, at| {
            d.strong(
                at + DVec2::new(0.0, 0.3 * WORDS),
                &number.to_string(),
                WORDS,
                Anchor::Start,
                Ink::Main,
            );
        });
    }

    /// A line with a box to tick.
    pub fn tick(&mut self, text: &str) {
        self.marked(text, |d, at| {
            let low = at + DVec2::new(0.0, 0.18 * WORDS);
            let square = Path::rectangle(low, low + DVec2::splat(0.86 * WORDS));
            d.paths(vec![square], Some(Pen::new(Ink::Main, Weight::Medium)), None);
        });
    }

    fn marked(&mut self, text: &str, mark: impl Fn(&mut Drawing, DVec2)) {
        self.gap(2.0);
        let indent = 12.0;
        let lines = wrapped(text, WORDS, self.wide() - indent, false);
        // A step is not torn apart.
        if self.free() < WORDS * LEADING * (lines.len().min(6) as f64) {
            self.page();
        }
        for (i, line) in lines.iter().enumerate() {
            let at = self.room(WORDS * LEADING);
            if i == 0 {
                mark(self.drawing(), at);
            }
            let at = at + DVec2::new(indent, 0.3 * WORDS);
            self.drawing().text(at, line, WORDS, Anchor::Start, Ink::Main);
        }
    }

    /// A line to write on, with what it is for before it and a word after it.
    pub fn fill_in(&mut self, text: &str, unit: &str) {
        let lines = wrapped(text, WORDS, self.wide() - 12.0, false).len() as f64;
        self.need(WORDS * (LEADING * lines + 1.5) + 2.0);
        self.tick(text);
        let [left, right] = self.edges();
        let at = self.room(WORDS * 1.5);
        let end = right - width(unit, WORDS, false) - 3.0;
        let from = DVec2::new(left + 12.0, at.y + 0.25 * WORDS);
        self.drawing()
            .line(from, DVec2::new(end, from.y), Pen::new(Ink::Main, Weight::Fine));
        self.drawing()
            .text(DVec2::new(right, from.y), unit, WORDS, Anchor::End, Ink::Main);
    }

    /// What it is on the left, the number large on the right.
    pub fn number(&mut self, name: &str, value: &str) {
        let size = 8.5;
        let room = self.wide() - width(value, size, true) - 6.0;
        let lines = wrapped(name, WORDS, room.max(40.0), false);
        let at = self.room(size * LEADING * lines.len().max(1) as f64 + 1.0);
        let [left, right] = self.edges();
        let top = at.y + size * LEADING * (lines.len() as f64 - 1.0);
        for (i, line) in lines.iter().enumerate() {
            let y = top - size * LEADING * i as f64 + 0.3 * size;
            self.drawing()
                .text(DVec2::new(left, y), line, WORDS, Anchor::Start, Ink::Main);
        }
        let place = DVec2::new(right, top + 0.3 * size);
        self.drawing().strong(place, value, size, Anchor::End, Ink::Main);
        let rule = Pen::new(Ink::Faint, Weight::Fine);
        self.drawing()
            .line(DVec2::new(left, at.y), DVec2::new(right, at.y), rule);
    }

    /// Rows of cells at stated places: share of the width and anchor of each column; the first row is the head.
    pub fn table(&mut self, columns: &[(f64, Anchor)], rows: &[Vec<String>]) {
        let [left, _] = self.edges();
        let wide = self.wide();
        for (i, row) in rows.iter().enumerate() {
            let (size, strong) = if i == 0 { (SMALL, false) } else { (8.0, true) };
            let at = self.room(size * LEADING + 1.0);
            for ((place, anchor), cell) in columns.iter().zip(row) {
                let x = left + place * wide;
                let base = DVec2::new(x, at.y + 0.3 * size);
                let ink = if i == 0 { Ink::Quiet } else { Ink::Main };
                match strong {
                    true => self.drawing().strong(base, cell, size, *anchor, ink),
                    false => self.drawing().text(base, cell, size, *anchor, ink),
                }
            }
            let rule = Pen::new(Ink::Faint, Weight::Fine);
            let right = DVec2::new(left + wide, at.y);
            self.drawing().line(DVec2::new(left, at.y), right, rule);
        }
    }

    /// A caution between two heavy bars.
    pub fn caution(&mut self, text: &str) {
        self.gap(4.0);
        let lines = wrapped(text, 6.2, self.wide() - 10.0, true);
        let height = 6.2 * LEADING * lines.len() as f64 + 4.0;
        let at = self.room(height);
        let bar = Path::rectangle(at, at + DVec2::new(3.0, height));
        self.drawing().paths(vec![bar], None, Some(Fill::Bare));
        let outline = Path::rectangle(at, at + DVec2::new(3.0, height));
        self.drawing()
            .paths(vec![outline], Some(Pen::new(Ink::Bare, Weight::Fine)), None);
        for (i, line) in lines.iter().enumerate() {
            let y = at.y + height - 2.0 - 6.2 * LEADING * (i as f64 + 1.0) + 0.3 * 6.2;
            self.drawing()
                .strong(DVec2::new(at.x + 8.0, y), line, 6.2, Anchor::Start, Ink::Main);
        }
    }

    /// The sheets, with design, card and page at the foot of each.
    pub fn done(mut self) -> Vec<Drawing> {
        let all = self.pages.len();
        let [left, right] = self.edges();
        for (i, d) in self.pages.iter_mut().enumerate() {
            let y = EDGE - 3.0;
            d.text(
                DVec2::new(left, y),
                &self.about.design,
                4.0,
                Anchor::Start,
                Ink::Quiet,
            );
            let page = match all {
                1 => self.title.clone(),
                _ => format!("{}, sheet {} of {all}", self.title, i + 1),
            };
            d.text(DVec2::new(right, y), &page, 4.0, Anchor::End, Ink::Quiet);
        }
        self.pages
    }
}
