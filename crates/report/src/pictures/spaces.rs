//! The spaces that plates and doors make, and what joins them, so that a builder sees what the program understood.

use super::Look;
use super::section::{Placed, Sheet, one, three};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::section::{Section, SectionFault, View, through_mouth};
use glam::{DVec2, DVec3};
use measure::{Dimension, show};
use pan::{Lattice, Pan};

/// What joins two spaces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joined {
    /// Index of each in the lattice's spaces.
    pub between: [usize; 2],
    /// Open area, doors counted as open [m²].
    pub area: f64,
}

/// Three cuts through the mouth with every space tinted and named; dashed where two spaces are open to each other, with
/// the area of all that joins them. `None` for a pan without size.
///
/// # Errors
/// When lattice and pan do not belong together.
pub fn spaces(
    pan: &Pan,
    lattice: &Lattice,
    joined: &[Joined],
    look: &Look,
) -> Result<Option<Drawing>, SectionFault> {
    let shut = vec![0.0; pan.doors.len()];
    // No oil, so nothing pulls.
    let down = DVec3::ZERO;
    let dry = through_mouth(pan, lattice, &vec![0; lattice.cells()], &shut, down)?;
    // Which space each cell of a cut belongs to: the cut of a pan in which only that space is full.
    let mut cells: Vec<Cells> = dry.iter().map(Cells::of).collect();
    for space in 0..lattice.spaces.len() {
        let full = |cell: usize| {
            if lattice.space_of[cell] as usize == space {
                255
            } else {
                0
            }
        };
        let fill: Vec<u8> = (0..lattice.cells()).map(full).collect();
        for (cut, cells) in through_mouth(pan, lattice, &fill, &shut, down)?
            .iter()
            .zip(&mut cells)
        {
            cells.take(cut, space);
        }
    }
    let names: Vec<&str> = lattice.spaces.iter().map(|s| s.name.as_str()).collect();
    let sheet = Sheet {
        id: "spaces".into(),
        title: "The spaces of the pan and what joins them".into(),
        said: said(&names, joined, look),
    };
    let mut told = vec![false; joined.len()];
    Ok(three(&sheet, &dry, look, &mut |d, cut| {
        let at = dry
            .iter()
            .position(|s| s.view == cut.section.view)
            .expect("one of them");
        tint(d, cut, &cells[at]);
        one(d, cut, look);
        curtains(d, cut, &cells[at], joined, &mut told, look);
        name(d, cut, &cells[at], &names, look);
    }))
}

fn said(names: &[&str], joined: &[Joined], look: &Look) -> String {
    let mut said = format!("{} spaces: {}.", names.len(), names.join(", "));
    for Joined {
        between: [a, b],
        area,
    } in joined
    {
        said += &format!(
            " {} to {}: {}.",
            names[*a],
            names[*b],
            show(*area, Dimension::Area, look.order)
        );
    }
    said
}

/// The space of every cell of a cut.
struct Cells {
    origin: DVec2,
    cell: f64,
    n: [usize; 2],
    space: Vec<Option<usize>>,
}

impl Cells {
    fn of(cut: &Section) -> Cells {
        Cells {
            origin: DVec2::from(cut.oil.origin),
            cell: cut.oil.cell,
            n: cut.oil.n,
            space: vec![None; cut.oil.fill.len()],
        }
    }

    fn take(&mut self, cut: &Section, space: usize) {
        for (own, fill) in self.space.iter_mut().zip(&cut.oil.fill) {
            if *fill > 0 {
                *own = Some(space);
            }
        }
    }

    fn at(&self, u: usize, v: usize) -> Option<usize> {
        self.space[u + self.n[0] * v]
    }

    fn corner(&self, u: usize, v: usize) -> [f64; 2] {
        (self.origin + self.cell * DVec2::new(u as f64, v as f64)).into()
    }

    /// Edges between open cells of two spaces: the two, and the edge's ends.
    fn between(&self) -> Vec<([usize; 2], [[f64; 2]; 2])> {
        let mut edges = Vec::new();
        let mut put = |a: Option<usize>, b: Option<usize>, from, to| {
            if let (Some(a), Some(b)) = (a, b)
                && a != b
            {
                edges.push(([a.min(b), a.max(b)], [from, to]));
            }
        };
        for v in 0..self.n[1] {
            for u in 0..self.n[0] {
                if u > 0 {
                    put(
                        self.at(u - 1, v),
                        self.at(u, v),
                        self.corner(u, v),
                        self.corner(u, v + 1),
                    );
                }
                if v > 0 {
                    put(
                        self.at(u, v - 1),
                        self.at(u, v),
                        self.corner(u, v),
                        self.corner(u + 1, v),
                    );
                }
            }
        }
        edges
    }
}

/// Every second space stands on a tint, row by row.
fn tint(d: &mut Drawing, cut: &Placed, cells: &Cells) {
    let loops = cut.section.walls.iter();
    let clip = d.clip(
        loops
            .map(|l| Path::closed(l.iter().map(|p| cut.on(*p))))
            .collect(),
    );
    let mut rows = Vec::new();
    for v in 0..cells.n[1] {
        let mut u = 0;
        while u < cells.n[0] {
            let space = cells.at(u, v);
            let from = u;
            while u < cells.n[0] && cells.at(u, v) == space {
                u += 1;
            }
            if space.is_some_and(|space| space % 2 == 1) {
                rows.push(Path::rectangle(
                    cut.on(cells.corner(from, v)),
                    cut.on(cells.corner(u, v + 1)),
                ));
            }
        }
    }
    let seams = Pen::new(Ink::Faint, Weight::Hair);
    d.clipped(rows, Some(seams), Some(Fill::Solid(Ink::Faint)), clip);
}

/// Dashed lines where two spaces are open to each other; the area of what joins them, once on the sheet.
fn curtains(d: &mut Drawing, cut: &Placed, cells: &Cells, joined: &[Joined], told: &mut [bool], look: &Look) {
    let edges: Vec<_> = (cells.between().into_iter())
        .filter(|(_, ends)| !behind_a_plate(cut.section, *ends, 0.75 * cells.cell))
        .collect();
    let lines = edges.iter().map(|(_, ends)| Path::open(ends.map(|p| cut.on(p))));
    d.paths(lines.collect(), Some(Pen::dashed(Ink::Way, Weight::Medium)), None);
    for (n, Joined { between, area }) in joined.iter().enumerate() {
        let own: Vec<_> = edges.iter().filter(|(two, _)| two == between).collect();
        if told[n] || own.len() < 3 {
            continue;
        }
        told[n] = true;
        let [from, to] = own[own.len() / 2].1.map(|p| cut.on(p));
        let size = look.words * 0.85;
        let at = 0.5 * (from + to) - DVec2::new(0.0, 0.35 * size);
        d.label(
            at,
            &show(*area, Dimension::Area, look.order),
            size,
            Anchor::Middle,
            Ink::Way,
        );
    }
}

/// Whether a plate or a shut door of the cut stands where the edge is.
fn behind_a_plate(section: &Section, [from, to]: [[f64; 2]; 2], near: f64) -> bool {
    let middle = 0.5 * (DVec2::from(from) + DVec2::from(to));
    let plates = section.plates.iter().map(|p| [p.from, p.to]);
    let doors = section.doors.iter().map(|door| door.flap);
    plates.chain(doors).any(|ends| {
        let [a, b] = ends.map(DVec2::from);
        let along = (b - a).length_squared();
        let share = if along > 0.0 {
            ((middle - a).dot(b - a) / along).clamp(0.0, 1.0)
        } else {
            0.0
        };
        middle.distance(a + share * (b - a)) < near
    })
}

/// Each space's name at the cell nearest the middle of its cells, off the mouth.
fn name(d: &mut Drawing, cut: &Placed, cells: &Cells, names: &[&str], look: &Look) {
    let size = look.words * 0.95;
    let clear = 0.5 * cut.section.mouth_diameter + 1.5 * size / cut.scale;
    let mouth = DVec2::from(cut.section.mouth);
    for (space, words) in names.iter().enumerate() {
        let own: Vec<DVec2> = (0..cells.space.len())
            .filter(|n| cells.space[*n] == Some(space))
            .map(|n| {
                let (u, v) = (n % cells.n[0], n / cells.n[0]);
                cells.origin + cells.cell * DVec2::new(u as f64 + 0.5, v as f64 + 0.5)
            })
            .collect();
        // A sliver has no room for words.
        if own.len() < 6 {
            continue;
        }
        let middle = own.iter().sum::<DVec2>() / own.len() as f64;
        let far = |p: &DVec2| match cut.section.view {
            View::Plan => p.distance(mouth) > clear,
            View::Along | View::Across => (p.x - mouth.x).abs() > clear || p.y < mouth.y - clear,
        };
        let free = own.iter().filter(|p| far(p));
        let Some(best) = free.min_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle))) else {
            continue;
        };
        let at = cut.on((*best).into()) - DVec2::new(0.0, 0.35 * size);
        d.label(at, words, size, Anchor::Middle, Ink::Main);
    }
}
