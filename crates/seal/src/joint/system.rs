//! A joint as numbers: the rail's stiffness, places of contact, and where bolts pull.

use super::band::Band;
use super::gap::Along;
use super::kinds::Bed;
use super::rail::{Mesh, distinct};
use super::{Joint, JointFault, Law};
use glam::DVec2;

/// Across a bed: Gauss's five places and weights, as shares of its half width and of its width.
const ACROSS: [[f64; 2]; 5] = [
    [-0.906_179_845_938_664, 0.118_463_442_528_094_54],
    [-0.538_469_310_105_683, 0.239_314_335_249_683_23],
    [0.0, 0.284_444_444_444_444_45],
    [0.538_469_310_105_683, 0.239_314_335_249_683_23],
    [0.906_179_845_938_664, 0.118_463_442_528_094_54],
];
/// Along a beam: Gauss's three, as shares of its length.
const ALONG: [[f64; 2]; 3] = [
    [0.112_701_665_379_258_31, 5.0 / 18.0],
    [0.5, 8.0 / 18.0],
    [0.887_298_334_620_741_7, 5.0 / 18.0],
];
/// Along a bolt's seat, as shares of its half width: the same three, so that the load is spread evenly.
const SEAT: [[f64; 2]; 3] = [
    [-0.774_596_669_241_483_4, 5.0 / 18.0],
    [0.0, 8.0 / 18.0],
    [0.774_596_669_241_483_4, 5.0 / 18.0],
];

/// One place where a bed may press.
#[derive(Clone, Debug)]
pub(crate) struct Contact {
    /// Rise of the rail there, by freedom.
    pub row: [(usize, f64); 6],
    /// Area that it stands for [m²]; 0 where a bed only watches.
    pub area: f64,
    /// Closure when the rail has not moved: the bed's lead less the gap [m].
    pub start: f64,
    /// Which bed.
    pub bed: usize,
}

/// A cut across a bed: five contacts side by side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    /// The bed's middle [m].
    pub place: DVec2,
    /// Length along the rail [m].
    pub along: f64,
    /// Length of bed that it stands for [m].
    pub length: f64,
    /// Gap before anything is pressed [m].
    pub gap: f64,
    /// Width of the bed there [m].
    pub width: f64,
}

/// The joint, ready to be solved.
#[derive(Clone, Debug)]
pub(crate) struct System {
    pub mesh: Mesh,
    /// The bare rail.
    pub stiffness: Band,
    /// Rows of the matrix.
    pub size: usize,
    pub laws: Vec<Option<Law>>,
    /// Five for each cut, those of the bed that seals first.
    pub contacts: Vec<Contact>,
    /// Cuts of the bed that seals.
    pub cuts: Vec<Cut>,
    /// Rise of each bolt's seat, by freedom.
    pub bolts: Vec<Vec<(usize, f64)>>,
}

impl System {
    pub(crate) fn new(joint: &Joint) -> Result<System, JointFault> {
        let mesh = Mesh::new(&joint.flange, &joint.bolts, joint.element())?;
        let gap = Along::new(&joint.gap, &mesh)?;
        let bolts: Vec<Vec<(usize, f64)>> = joint
            .bolts
            .iter()
            .map(|bolt| seat_row(&mesh, bolt.place, bolt.seat))
            .collect();
        let mut half = 0;
        for beam in &mesh.beams {
            let [a, b] = beam.ends.map(|end| mesh.order[end]);
            half = half.max(3 * a.abs_diff(b) + 2);
        }
        for row in &bolts {
            let rows = row.iter().map(|entry| entry.0);
            half = half.max(rows.clone().max().unwrap_or(0) - rows.min().unwrap_or(0));
        }
        let size = 3 * mesh.nodes;
        let mut stiffness = Band::new(size, half);
        for beam in &mesh.beams {
            let matrix = beam.stiffness();
            let rows: [usize; 6] = std::array::from_fn(|k| mesh.freedom(beam.ends[k / 3], k % 3));
            for i in 0..6 {
                for j in 0..=i {
                    stiffness.add(rows[i], rows[j], matrix[i][j]);
                }
            }
        }
        let kind = match joint.block {
            None => joint.kind.clone(),
            Some(bed) => joint.kind.clone().with_laws(|law| law.on_block(bed))?,
        };
        let (mut contacts, mut cuts, mut laws) = (Vec::new(), Vec::new(), Vec::new());
        for (number, bed) in kind.beds().into_iter().enumerate() {
            let laid = lay(&mesh, &gap, &bed, number, &mut contacts)?;
            if number == 0 {
                cuts = laid;
            }
            laws.push(bed.law);
        }
        Ok(System {
            mesh,
            stiffness,
            size,
            laws,
            contacts,
            cuts,
            bolts,
        })
    }

    /// How far a place of contact is closed [m].
    pub(crate) fn closure(&self, contact: &Contact, risen: &[f64]) -> f64 {
        contact.start - times(&contact.row, risen)
    }
}

/// A row times what it stands for.
pub(crate) fn times(row: &[(usize, f64)], values: &[f64]) -> f64 {
    row.iter().map(|&(at, weight)| weight * values[at]).sum()
}

/// A bolt's seat: its load spread evenly along the rail over its width. The cut being rigid, spreading across changes
/// nothing.
fn seat_row(mesh: &Mesh, place: DVec2, seat: f64) -> Vec<(usize, f64)> {
    let (beam, share, _) = mesh.nearest(place);
    let mut parts: Vec<(usize, f64)> = Vec::new();
    let mut put = |row: [(usize, f64); 6], weight: f64| {
        for (at, value) in row {
            match parts.iter_mut().find(|part| part.0 == at) {
                Some(part) => part.1 += weight * value,
                None => parts.push((at, weight * value)),
            }
        }
    };
    if seat <= 0.0 {
        put(mesh.rise(beam, share, place), 1.0);
    } else {
        let way = mesh.beams[beam].way;
        for [off, weight] in SEAT {
            let point = place + way * (off * seat / 2.0);
            let (beam, share, _) = mesh.nearest(point);
            put(mesh.rise(beam, share, point), weight);
        }
    }
    parts.retain(|part| part.1 != 0.0);
    parts
}

/// Lays a bed under the rail: its contacts are added, its cuts returned.
fn lay(
    mesh: &Mesh,
    gap: &Along,
    bed: &Bed,
    number: usize,
    contacts: &mut Vec<Contact>,
) -> Result<Vec<Cut>, JointFault> {
    let mut cuts = Vec::new();
    let mut put = |beam: usize, share: f64, middle: DVec2, across: DVec2, length: f64, width: f64| {
        let along = mesh.beams[beam].along + share * mesh.beams[beam].length;
        let here = gap.at(if mesh.closed { along % mesh.length } else { along });
        cuts.push(Cut {
            place: middle,
            along,
            length,
            gap: here,
            width,
        });
        for [off, weight] in ACROSS {
            contacts.push(Contact {
                row: mesh.rise(beam, share, middle + across * (off * width / 2.0)),
                area: if bed.law.is_some() {
                    length * width * weight
                } else {
                    0.0
                },
                start: bed.lead - here,
                bed: number,
            });
        }
    };
    let Some(line) = &bed.path.line else {
        for (at, beam) in mesh.beams.iter().enumerate() {
            let width = bed.path.width.map_or(beam.width, |width| width.min(beam.width));
            for [share, weight] in ALONG {
                put(
                    at,
                    share,
                    beam.place(share),
                    beam.way.perp(),
                    weight * beam.length,
                    width,
                );
            }
        }
        return Ok(cuts);
    };
    let line = distinct("the seal's line", line, mesh.closed)?;
    let step = mesh.length / mesh.beams.len() as f64 / 3.0;
    let sides = if mesh.closed { line.len() } else { line.len() - 1 };
    for at in 0..sides {
        let (from, to) = (line[at], line[(at + 1) % line.len()]);
        let whole = from.distance(to);
        let pieces = (whole / step).ceil().clamp(1.0, 1e4) as usize;
        let across = ((to - from) / whole).perp();
        for piece in 0..pieces {
            let middle = from.lerp(to, (piece as f64 + 0.5) / pieces as f64);
            let (beam, share, off) = mesh.nearest(middle);
            let rail = mesh.beams[beam].width;
            if off > rail {
                return Err(JointFault::SealOffFlange {
                    place: middle,
                    off,
                    width: rail,
                });
            }
            let width = bed.path.width.map_or(rail, |width| width.min(rail));
            put(beam, share, middle, across, whole / pieces as f64, width);
        }
    }
    Ok(cuts)
}
