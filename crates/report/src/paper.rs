//! Paper at true size: a drawing larger than a sheet is cut into sheets of A4 or Letter that join again on the bench.
//!
//! Every sheet carries a bar of 100 mm along and across, because "fit to page" is the usual fault and is not seen until
//! the part does not fit. Sheets overlap by 10 mm; crosses in the overlaps bear a letter on both sheets, so they are laid
//! cross on cross. The right and the upper edge are cut off and laid on the next sheet, so the strips with bars and words
//! go under it. Sheets that would be empty are left out and named. A drawing that fits is one sheet without joints.
//!
//! ```text
//!      ┌───────────────────────┐
//!      │ A2  words             │   rows A, B, … from the top, columns 1, 2, … from the left
//!      │ b ┌─────────────────┐ │
//!      │ a │  window      +a │ │   + cross of joint a, the same place on A3
//!      │ r │            cut →│ │
//!      │   └─────────────────┘ │
//!      │    bar 100 mm         │
//!      └───────────────────────┘
//! ```

mod dress;
mod reach;

use crate::drawing::{Drawing, Item, Path, Shape};
use glam::DVec2;
use shop::paper::Paper;
use std::f64::consts::FRAC_PI_2;

/// What a printer cannot reach, all round [mm]; common practice, no source.
pub const MARGIN: f64 = 10.0;
/// How far neighbouring sheets show the same [mm].
pub const OVERLAP: f64 = 10.0;
/// Length of the bars to be measured [mm].
pub const BAR: f64 = 100.0;
/// Strip of the bar that stands, left of the window [mm].
const LEFT: f64 = 9.0;
/// Strip of the bar that lies, under the window [mm].
const FOOT: f64 = 9.0;
/// Strip of the words over the window [mm].
const HEAD: f64 = 12.0;
/// A drawing with a longer side than this is no template [mm]; the printer of PDF says so.
const LARGEST: f64 = 5080.0;

/// The words that stand on every sheet.
pub const TRUE_SIZE: &str =
    "Print at 100 % (“actual size”), not “fit to page”. Measure both bars first: 100 mm each.";

/// A drawing on sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheets {
    /// The pages in the order of printing; the map first when there is more than one sheet.
    pub pages: Vec<Drawing>,
    /// The sheets without the map, in the order of their pages.
    pub sheets: Vec<Sheet>,
    /// Names of the sheets that would be empty.
    pub left_out: Vec<String>,
    /// Whether the drawing lies turned a quarter to the left, because that takes fewer sheets.
    pub turned: bool,
    /// What a person should know, in sentences.
    pub said: Vec<String>,
}

/// A sheet's place in the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Row and column, such as "A2"; "A1" for the only one.
    pub name: String,
    /// Lower left corner of what its window shows, in the drawing as it lies [mm].
    pub low: DVec2,
}

/// A grid of windows over a drawing.
#[derive(Clone, Copy, Debug)]
struct Grid {
    columns: usize,
    rows: usize,
    /// Lower left corner of the lowest row's first window [mm].
    low: DVec2,
    /// Size of a window [mm].
    window: DVec2,
}

impl Grid {
    fn over(size: DVec2, window: DVec2) -> Grid {
        let step = window - OVERLAP;
        let count = |k: usize| (((size[k] - OVERLAP) / step[k] - 1e-9).ceil()).max(1.0);
        let counts = DVec2::new(count(0), count(1));
        Grid {
            columns: counts.x as usize,
            rows: counts.y as usize,
            // In the middle of the sheets, so that no edge lies at the very end of one.
            low: 0.5 * (size - (counts * step + OVERLAP)),
            window,
        }
    }

    /// Lower left corner of the window in row `row` from the top.
    fn corner(&self, row: usize, column: usize) -> DVec2 {
        let up = (self.rows - 1 - row) as f64;
        self.low + (self.window - OVERLAP) * DVec2::new(column as f64, up)
    }

    /// What a window shows alone: each overlap is halved between its two sheets.
    fn own(&self, row: usize, column: usize) -> (DVec2, DVec2) {
        let low = self.corner(row, column);
        let half = 0.5 * OVERLAP;
        let cut = |inner: bool| if inner { half } else { 0.0 };
        (
            low + DVec2::new(cut(column > 0), cut(row + 1 < self.rows)),
            low + self.window - DVec2::new(cut(column + 1 < self.columns), cut(row > 0)),
        )
    }

    fn cells(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        let columns = self.columns;
        (0..self.rows).flat_map(move |r| (0..columns).map(move |c| (r, c)))
    }
}

/// Lower left corner and size of the window of a sheet [mm].
fn window(paper: Paper) -> (DVec2, DVec2) {
    let sheet = DVec2::from(paper.size()) * 1e3;
    let low = DVec2::new(MARGIN + LEFT, MARGIN + FOOT);
    (low, sheet - MARGIN - DVec2::new(0.0, HEAD) - low)
}

/// Name of a row and column.
fn name(row: usize, column: usize) -> String {
    format!("{}{}", letters(row, ROWS), column + 1)
}

/// Letters for rows; none that is taken for a figure.
const ROWS: &[u8] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
/// Letters for joints; none that is taken for another.
const JOINTS: &[u8] = b"abcdefghkmnpqrstuvwxyz";

/// The first letter, the second, … and then in twos.
fn letters(mut index: usize, all: &[u8]) -> String {
    let mut name = String::new();
    loop {
        name.insert(0, char::from(all[index % all.len()]));
        match index / all.len() {
            0 => return name,
            rest => index = rest - 1,
        }
    }
}

/// Cuts a drawing at true size into sheets.
///
/// Items outside the drawing's own size are not shown. A drawing with a side over 5080 mm comes back as one page of that
/// size, which [`crate::drawing::pdf::file`] refuses with its name.
pub fn sheets(drawing: &Drawing, paper: Paper) -> Sheets {
    noted(drawing, paper, &[])
}

/// The same, with notes for the bench on the map; a drawing of one sheet has no map and shows none.
pub fn noted(drawing: &Drawing, paper: Paper, notes: &[String]) -> Sheets {
    let size = DVec2::new(drawing.width, drawing.height);
    if !(size.max_element() <= LARGEST) {
        return Sheets {
            pages: vec![drawing.clone()],
            sheets: Vec::new(),
            left_out: Vec::new(),
            turned: false,
            said: Vec::new(),
        };
    }
    let upright = Layout::of(drawing.clone(), paper, false);
    let upright_pages = drawing
        .items
        .iter()
        .any(|i| matches!(i.shape, Shape::Picture { .. }));
    // A picture cannot be turned; and for one sheet less nobody wants to read sideways, for a tenth less he does.
    let lying = (!upright_pages).then(|| Layout::of(turned(drawing), paper, true));
    let best = match lying {
        Some(lying) if lying.full.len() * 10 < upright.full.len() * 9 => lying,
        _ => upright,
    };
    best.print(paper, notes)
}

/// A drawing under its grid.
struct Layout {
    drawing: Drawing,
    grid: Grid,
    /// Cells that show something.
    full: Vec<(usize, usize)>,
    turned: bool,
}

impl Layout {
    fn of(drawing: Drawing, paper: Paper, turned: bool) -> Layout {
        let (_, size) = window(paper);
        let grid = Grid::over(DVec2::new(drawing.width, drawing.height), size);
        let full = grid
            .cells()
            .filter(|&(r, c)| {
                let (low, high) = grid.own(r, c);
                drawing.items.iter().any(|i| reach::touches(i, low, high))
            })
            .collect();
        Layout {
            drawing,
            grid,
            full,
            turned,
        }
    }

    fn print(self, paper: Paper, notes: &[String]) -> Sheets {
        let (at, _) = window(paper);
        let single = self.grid.rows * self.grid.columns == 1;
        let mut pages = Vec::new();
        let mut sheets = Vec::new();
        for (i, &(row, column)) in self.full.iter().enumerate() {
            let low = self.grid.corner(row, column);
            let mut page = self.page(paper, i, low, at);
            if !single {
                dress::joints(&mut page, &self, row, column, at);
            }
            dress::strips(
                &mut page,
                &self.drawing.title,
                &self.place(i, single),
                at,
                self.grid.window,
            );
            pages.push(page);
            sheets.push(Sheet {
                name: name(row, column),
                low,
            });
        }
        let left_out: Vec<String> = (self.grid.cells())
            .filter(|cell| !self.full.contains(cell))
            .map(|(r, c)| name(r, c))
            .collect();
        let mut said = Vec::new();
        if !single {
            pages.insert(0, dress::map(&self, paper, &left_out, notes));
            said.push(format!(
                "“{}” takes {} sheets; the first page of its file is the map that shows how they join.",
                self.drawing.title,
                self.full.len()
            ));
        }
        if !left_out.is_empty() {
            said.push(format!(
                "Sheets {} of “{}” would be empty and are left out.",
                left_out.join(", "),
                self.drawing.title
            ));
        }
        Sheets {
            pages,
            sheets,
            left_out,
            turned: self.turned,
            said,
        }
    }

    fn place(&self, index: usize, single: bool) -> String {
        let (row, column) = self.full[index];
        match single {
            true => String::new(),
            false => format!(
                "{} · sheet {} of {}",
                name(row, column),
                index + 1,
                self.full.len()
            ),
        }
    }

    /// The part of the drawing that a window shows.
    fn page(&self, paper: Paper, index: usize, low: DVec2, at: DVec2) -> Drawing {
        let [width, height] = paper.size().map(|s| s * 1e3);
        let id = format!("{}-{}", self.drawing.id, index + 1);
        let mut page = Drawing::new(&id, width, height, &self.drawing.title);
        page.said = self.drawing.said.clone();
        let high = low + self.grid.window;
        let clip = page.clip(vec![Path::rectangle(at, at + self.grid.window)]);
        let shift = at - low;
        let mut masked = false;
        for item in &self.drawing.items {
            if !reach::near(item, low, high) {
                continue;
            }
            let mut item = moved(item, shift);
            item.clip = match item.clip.and_then(|c| self.drawing.clips.get(c)) {
                Some(own) => {
                    masked = true;
                    Some(page.clip(own.iter().map(|p| moved_path(p, shift)).collect()))
                }
                None => Some(clip),
            };
            page.items.push(item);
        }
        if masked {
            // An item has one clip; what had its own may reach over the window and is painted over.
            dress::mask(&mut page, at, self.grid.window);
        }
        page
    }
}

fn moved_path(path: &Path, by: DVec2) -> Path {
    Path {
        vertices: path.vertices.iter().map(|&(p, b)| (p + by, b)).collect(),
        closed: path.closed,
    }
}

fn moved(item: &Item, by: DVec2) -> Item {
    let mut item = item.clone();
    match &mut item.shape {
        Shape::Line { from, to } => {
            *from += by;
            *to += by;
        }
        Shape::Arc { centre, .. } | Shape::Circle { centre, .. } => *centre += by,
        Shape::Paths(paths) => paths.iter_mut().for_each(|p| *p = moved_path(p, by)),
        Shape::Picture { low, high, .. } => {
            *low += by;
            *high += by;
        }
        Shape::Text { at, .. } => *at += by,
    }
    item
}

/// A quarter turn to the left; a drawing with pictures is not turned.
fn turned(drawing: &Drawing) -> Drawing {
    let height = drawing.height;
    let at = |p: DVec2| DVec2::new(height - p.y, p.x);
    let path = |p: &Path| Path {
        vertices: p.vertices.iter().map(|&(p, b)| (at(p), b)).collect(),
        closed: p.closed,
    };
    let mut out = drawing.clone();
    (out.width, out.height) = (drawing.height, drawing.width);
    for clip in &mut out.clips {
        clip.iter_mut().for_each(|p| *p = path(p));
    }
    for item in &mut out.items {
        match &mut item.shape {
            Shape::Line { from, to } => (*from, *to) = (at(*from), at(*to)),
            Shape::Arc { centre, start, .. } => {
                *centre = at(*centre);
                *start += FRAC_PI_2;
            }
            Shape::Circle { centre, .. } => *centre = at(*centre),
            Shape::Paths(paths) => paths.iter_mut().for_each(|p| *p = path(p)),
            Shape::Picture { .. } => {}
            Shape::Text { at: p, turn, .. } => {
                *p = at(*p);
                *turn += FRAC_PI_2;
            }
        }
    }
    out
}
