//! What readers ask of a section. The reference of all keys is made of this, so that it cannot say anything else than
//! what is read.

use std::cell::RefCell;
use std::collections::BTreeMap;

use measure::Dimension;

/// How a value is written.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A text.
    Text,
    /// One of these words.
    Words(Vec<&'static str>),
    /// A quantity with its unit, and what bounds it, in words; empty when nothing does.
    Quantity(Dimension, String),
    /// A plain number above zero.
    Number,
    /// A whole number from 1.
    Count,
    /// True or false.
    Truth,
    /// So many quantities in a list.
    Row(Vec<Dimension>),
    /// A list of such lists.
    Rows(Vec<Dimension>),
    /// Plain numbers in a list.
    Numbers,
    /// Quantities in a list of any length.
    Quantities(Dimension),
    /// A value as the key takes it that it is for.
    Value,
    /// Values in a list, each as the key takes it that they are for.
    Values,
    /// Texts in a list.
    Texts,
    /// A day of the calendar.
    Date,
    /// Days, and stretches of days.
    Days,
    /// Least, likely and most time, or one that is sure.
    Durations,
    /// Corners of an outline in order: points, or `{ to, through }` where an arc leads to one.
    Corners,
    /// front, rear, left, right, up or down, or three numbers.
    Direction,
    /// A direction of a file of its own: +x, -y and so on, or three numbers.
    FileWay,
    /// From one hole of a flange toward another.
    TwoHoles,
    /// A hole of a flange.
    OneHole,
    /// A column of a log: its name, or `{ column, unit, sign }`.
    Column,
    /// A section with keys of its own.
    Section,
    /// Sections in a list, each with a name.
    Parts,
    /// Sections in a list, without names.
    Several,
}

/// Whether a key has to be stated.
#[derive(Clone, Debug, PartialEq)]
pub enum Need {
    /// It must.
    Must,
    /// Exactly one of these must.
    OneOf(Vec<&'static str>),
    /// It takes this value when left out, for this reason.
    Default(String, &'static str),
    /// It may be left out, which then says that there is none.
    May,
}

/// What was asked of one key, wherever it may stand.
#[derive(Clone, Debug, Default)]
pub(crate) struct Asked {
    /// Every shape it was read in.
    pub shapes: Vec<Shape>,
    /// The weightiest that was said.
    pub need: Option<Need>,
    /// Whether the value that it takes when left out was another one elsewhere: it follows from other keys.
    pub follows: bool,
    /// Sections that asked for it.
    pub times: usize,
}

/// Everything asked so far, by plain path: `plate.holes.at`.
#[derive(Default)]
pub(crate) struct Record {
    keys: RefCell<BTreeMap<String, Asked>>,
    /// Sections opened, by plain path.
    sections: RefCell<BTreeMap<String, usize>>,
}

impl Record {
    /// A section was opened.
    pub fn opened(&self, path: &str) {
        *self.sections.borrow_mut().entry(plain(path)).or_default() += 1;
    }

    /// A key was asked for, for the first time in its section.
    pub fn asked(&self, path: &str) {
        self.keys.borrow_mut().entry(plain(path)).or_default().times += 1;
    }

    /// The value of a key is read as this.
    pub fn shape(&self, path: &str, shape: Shape) {
        let mut keys = self.keys.borrow_mut();
        let shapes = &mut keys.entry(plain(path)).or_default().shapes;
        if !shapes.contains(&shape) {
            shapes.push(shape);
        }
    }

    /// So much it is needed.
    pub fn need(&self, path: &str, need: Need) {
        // A reader that looks first whether a key is there does not need it, though it then reads it as if it did.
        let weight = |need: &Option<Need>| match need {
            None => 0,
            Some(Need::Must) => 1,
            Some(Need::May) => 2,
            Some(Need::OneOf(_)) => 3,
            Some(Need::Default(..)) => 4,
        };
        let mut keys = self.keys.borrow_mut();
        let asked = keys.entry(plain(path)).or_default();
        if let (Need::Default(now, _), Some(Need::Default(before, _))) = (&need, &asked.need) {
            asked.follows |= now != before;
        }
        let known = &mut asked.need;
        if known.is_none() || weight(&Some(need.clone())) > weight(known) {
            *known = Some(need);
        }
    }

    /// What was asked while another file was read, after this one.
    pub fn join(&self, other: Record) {
        let (keys, sections) = other.done();
        for (path, asked) in keys {
            for shape in asked.shapes {
                self.shape(&path, shape);
            }
            if let Some(need) = asked.need {
                self.need(&path, need);
            }
            let mut own = self.keys.borrow_mut();
            let own = own.entry(path).or_default();
            own.times += asked.times;
            own.follows |= asked.follows;
        }
        let mut own = self.sections.borrow_mut();
        for (path, count) in sections {
            *own.entry(path).or_default() += count;
        }
    }

    /// Keys and counts of sections.
    pub fn done(self) -> (BTreeMap<String, Asked>, BTreeMap<String, usize>) {
        (self.keys.into_inner(), self.sections.into_inner())
    }
}

/// A key path without the names and numbers of parts: `plate "front wall".holes[2].at` is `plate.holes.at`.
fn plain(path: &str) -> String {
    let mut out = String::new();
    let mut rest = path;
    while let Some(at) = rest.find([' ', '[']) {
        out.push_str(&rest[..at]);
        let tail = &rest[at..];
        // A name may hold anything but the quote and the point that end it.
        let end = if tail.starts_with('[') {
            tail.find(']').map(|e| e + 1)
        } else {
            tail[2.min(tail.len())..]
                .find("\".")
                .map(|e| e + 3)
                .or_else(|| tail.ends_with('"').then_some(tail.len()))
        };
        rest = &tail[end.unwrap_or(tail.len())..];
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_numbers_of_parts_are_no_part_of_a_key() {
        for (path, wanted) in [
            ("pickup.mouth", "pickup.mouth"),
            ("plate \"front wall\".holes[2].at", "plate.holes.at"),
            ("plate \"1.5 mm [left]\"", "plate"),
            ("drive.manoeuvre \"stop\".hold", "drive.manoeuvre.hold"),
            ("start.box \"column\".x", "start.box.x"),
        ] {
            assert_eq!(plain(path), wanted);
        }
    }
}
