//! Inside and outside of a pan's skin, parted at the rims of the holes through its wall.
//!
//! The skin without the flange's face is a graph: triangles that share an edge are neighbours, and parting them costs
//! the edge's length. The cheapest cut between what borders the flange's mouth and what borders its outline runs
//! round the holes at their narrowest. Along a drilled hole all rims cost the same; edges farther from the mouth are
//! made dearer by up to a twentieth, so that the inner rim is taken and the hole itself is no oil.
//!
//! First only sharp edges may be cut, which makes a small graph of smooth faces; a part without sharp rims, such as
//! a scan, is cut along any edge.

use super::Skin;
use super::flange::Found;
use super::flow::Network;
use crate::fault::{Fault, Mark, length, place};
use glam::{DAffine3, DVec3};
use std::collections::HashMap;
use std::f64::consts::PI;

/// Neighbours that turn less than this (15 degrees, as a cosine) are one smooth face.
const SMOOTH: f64 = 0.9659;
/// How much dearer the farthest edges are.
const DEARER: f64 = 0.05;
/// Lengths are counted in nanometres.
const COUNTED: f64 = 1e9;

/// A hole through the wall that was closed.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// Middle of its rim [m].
    pub at: DVec3,
    /// Diameter of a circle as long as its rim [m].
    pub across: f64,
}

impl Opening {
    pub(super) fn moved(&self, by: &DAffine3) -> Opening {
        Opening {
            at: by.transform_point3(self.at),
            across: self.across,
        }
    }
}

/// The inner skin.
pub(super) struct Inside {
    /// Whether each triangle belongs to it.
    pub member: Vec<bool>,
    /// Rims of the holes that part it from the outside, as loops of its sides.
    pub rims: Vec<Vec<u32>>,
    pub openings: Vec<Opening>,
}

/// Finds the inner skin.
pub(super) fn inside(skin: &Skin, found: &Found, widest: f64) -> Result<Inside, Fault> {
    let first = cut(skin, found, SMOOTH).and_then(|member| rims(skin, found, member));
    match first {
        Ok(inside) if inside.openings.iter().all(|o| o.across <= widest) => return Ok(inside),
        _ => {}
    }
    let inside = cut(skin, found, 1.0).and_then(|member| rims(skin, found, member))?;
    match inside.openings.first() {
        Some(open) if open.across > widest => {
            let what = format!(
                "an opening {} across around {} joins the inside of the pan with its outside",
                length(open.across),
                place(open.at)
            );
            let mend = format!(
                "close it in the program that made the part, or state `opening` wider than {} if a plug or fitting \
                 sits there; if this is no pan with walls, state shows = \"cavity\"",
                length(widest)
            );
            let marks = inside.openings.iter().map(|o| Mark {
                at: o.at,
                across: o.across,
                what: "opening",
            });
            Err(Fault::new("part-open", what, mend).marked(marks.collect()))
        }
        _ => Ok(inside),
    }
}

/// Triangles on the inner side of the cheapest cut along edges that turn more than `smooth`.
fn cut(skin: &Skin, found: &Found, smooth: f64) -> Result<Vec<bool>, Fault> {
    let mesh = skin.mesh;
    let count = mesh.triangles.len();
    let free = |t: u32| !found.member[t as usize];
    let normal: Vec<DVec3> = (0..count)
        .map(|t| mesh.area_vector(t).normalize_or_zero())
        .collect();
    let turns = |s: u32, t: u32| {
        let (a, b) = (normal[s as usize], normal[t as usize]);
        // A triangle without area turns nowhere.
        a != DVec3::ZERO && b != DVec3::ZERO && a.dot(b) < smooth
    };
    // Faces: triangles joined over edges that may not be cut.
    let mut face = vec![u32::MAX; count];
    let (mut faces, mut todo) = (0u32, Vec::new());
    for first in 0..count as u32 {
        if !free(first) || face[first as usize] != u32::MAX {
            continue;
        }
        face[first as usize] = faces;
        if smooth < 1.0 {
            todo.push(first);
        }
        while let Some(t) = todo.pop() {
            for side in 3 * t..3 * t + 3 {
                let other = skin.beyond(side);
                if free(other) && face[other as usize] == u32::MAX && !turns(t, other) {
                    face[other as usize] = faces;
                    todo.push(other);
                }
            }
        }
        faces += 1;
    }
    let across = |rim: &[u32]| {
        rim.iter()
            .map(|&side| face[skin.beyond(side) as usize])
            .filter(|f| *f != u32::MAX)
            .collect::<Vec<u32>>()
    };
    let sources: Vec<u32> = found.mouths.iter().flat_map(|rim| across(rim)).collect();
    // A bolt hole holds a bolt and no oil, whatever it leads to.
    let bolts = (0..found.small.len()).filter(|k| found.is_bolt(*k));
    let mut sinks: Vec<u32> = across(&found.outer);
    sinks.extend(bolts.flat_map(|k| across(&found.small[k])));
    // Borders between faces, with their length.
    let mut borders: HashMap<(u32, u32), f64> = HashMap::new();
    for side in 0..3 * count as u32 {
        let (s, t) = (side / 3, skin.beyond(side));
        if s < t && free(s) && free(t) && face[s as usize] != face[t as usize] {
            let (a, b) = crate::edges::ends(&mesh.triangles, side);
            let (f, g) = (face[s as usize], face[t as usize]);
            let border = borders.entry((f.min(g), f.max(g))).or_default();
            *border += mesh.points[a as usize].distance(mesh.points[b as usize]);
        }
    }
    let mut borders: Vec<((u32, u32), f64)> = borders.into_iter().collect();
    borders.sort_by_key(|border| border.0);
    let steps = steps(faces as usize, &borders, &sources);
    let far = f64::from(
        steps
            .iter()
            .copied()
            .filter(|s| *s != u32::MAX)
            .max()
            .unwrap_or(1)
            .max(1),
    );
    let mut network = Network::new(faces as usize);
    for ((f, g), long) in &borders {
        let step = f64::from(steps[*f as usize].min(steps[*g as usize]).min(u32::MAX - 1));
        let dear = 1.0 + DEARER * (step / far).min(1.0);
        network.join(*f, *g, (long * dear * COUNTED).round() as u64);
    }
    let inner = network.cut(&sources, &sinks).ok_or_else(|| {
        Fault::new(
            "part-thin",
            "inside and outside of the flange border on one and the same face, so that the wall has no thickness there",
            "export the part with its wall as a solid",
        )
    })?;
    Ok(face.iter().map(|&f| f != u32::MAX && inner[f as usize]).collect())
}

/// How many borders lie between each face and the nearest of the first.
fn steps(faces: usize, borders: &[((u32, u32), f64)], first: &[u32]) -> Vec<u32> {
    let mut start = vec![0usize; faces + 2];
    for ((f, g), _) in borders {
        start[*f as usize + 2] += 1;
        start[*g as usize + 2] += 1;
    }
    for k in 2..start.len() {
        start[k] += start[k - 1];
    }
    let mut next = vec![0u32; 2 * borders.len()];
    for ((f, g), _) in borders {
        for (from, to) in [(*f, *g), (*g, *f)] {
            let at = &mut start[from as usize + 1];
            next[*at] = to;
            *at += 1;
        }
    }
    let mut steps = vec![u32::MAX; faces];
    let mut queue: Vec<u32> = Vec::new();
    for &f in first {
        if steps[f as usize] != 0 {
            steps[f as usize] = 0;
            queue.push(f);
        }
    }
    let mut k = 0;
    while k < queue.len() {
        let f = queue[k] as usize;
        k += 1;
        for &g in &next[start[f]..start[f + 1]] {
            if steps[g as usize] == u32::MAX {
                steps[g as usize] = steps[f] + 1;
                queue.push(g);
            }
        }
    }
    steps
}

/// The rims that are not the flange's, widest first.
fn rims(skin: &Skin, found: &Found, member: Vec<bool>) -> Result<Inside, Fault> {
    let mut holes = Vec::new();
    for rim in skin.rims(|t| member[t as usize]) {
        let at_flange = rim
            .iter()
            .filter(|side| found.member[skin.beyond(**side) as usize])
            .count();
        if at_flange == rim.len() {
            continue;
        }
        let points = skin.along(&rim);
        let next = points.iter().skip(1).chain(points.first());
        let long: f64 = points.iter().zip(next).map(|(a, b)| a.distance(*b)).sum();
        let opening = Opening {
            at: points.iter().sum::<DVec3>() / points.len() as f64,
            across: long / PI,
        };
        if at_flange > 0 {
            let what = format!(
                "an opening {} across around {} reaches up to the flange's face",
                length(opening.across),
                place(opening.at)
            );
            let mend = "close it in the program that made the part, so that the flange's inner edge is whole";
            let mark = Mark {
                at: opening.at,
                across: opening.across,
                what: "opening",
            };
            return Err(Fault::new("part-open", what, mend).marked(vec![mark]));
        }
        holes.push((opening, rim));
    }
    holes.sort_by(|a, b| b.0.across.total_cmp(&a.0.across).then(a.1[0].cmp(&b.1[0])));
    let (openings, rims) = holes.into_iter().unzip();
    Ok(Inside {
        member,
        rims,
        openings,
    })
}
