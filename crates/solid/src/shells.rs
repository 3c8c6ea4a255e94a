//! Shells: closed skins apart from one another. Which lies in which, and whether out is out.

use crate::fault::{Fault, Mark, place};
use crate::mesh::Mesh;
use crate::tree::Tree;
use glam::DVec3;

/// Points of a shell that are asked whether they lie in another.
const ASKED: usize = 32;
/// How far under the skin they lie [m]: beyond rounding, and thinner than any wall.
const UNDER: f64 = 1e-5;
/// Most shells; more is debris.
const MOST_SHELLS: usize = 1_000;

/// One shell.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shell {
    /// Signed volume as the triangles stand [m³].
    pub volume: f64,
    pub low: DVec3,
    pub high: DVec3,
    pub triangles: usize,
}

impl Shell {
    pub fn across(&self) -> f64 {
        (self.high - self.low).length()
    }
}

/// Measures the shells.
pub(crate) fn measure(mesh: &Mesh, shell_of: &[u32], shells: usize) -> Vec<Shell> {
    let mut measured = vec![
        Shell {
            volume: 0.0,
            low: DVec3::INFINITY,
            high: DVec3::NEG_INFINITY,
            triangles: 0,
        };
        shells
    ];
    let o = mesh.points.first().copied().unwrap_or_default();
    for (t, &s) in shell_of.iter().enumerate() {
        let [a, b, c] = mesh.corners(t);
        let shell = &mut measured[s as usize];
        shell.volume += (a - o).dot((b - o).cross(c - o)) / 6.0;
        shell.low = shell.low.min(a).min(b).min(c);
        shell.high = shell.high.max(a).max(b).max(c);
        shell.triangles += 1;
    }
    measured
}

/// What came out of [`set_right`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Right {
    /// Shells that were inside out and were turned.
    pub turned: usize,
    /// Shells that are hollows in others.
    pub voids: usize,
}

/// Turns shells so that outer ones face out and hollows inside them face in; shells that lie partly in one
/// another are a fault.
pub(crate) fn set_right(mesh: &mut Mesh, shell_of: &[u32], shells: &[Shell]) -> Result<Right, Fault> {
    if shells.len() > MOST_SHELLS {
        let what = format!("the solid is in {} pieces", shells.len());
        let mend = "delete the debris in the program that made it, and keep the one body";
        return Err(Fault::new("solid-pieces", what, mend));
    }
    let mut inside = vec![false; shells.len()];
    if shells.len() > 1 {
        let tree = Tree::new(mesh);
        for (s, depth) in depths(mesh, &tree, shell_of, shells)?.into_iter().enumerate() {
            inside[s] = depth % 2 == 1;
        }
    }
    let wrong: Vec<bool> = shells
        .iter()
        .zip(&inside)
        .map(|(shell, inside)| (shell.volume < 0.0) != *inside)
        .collect();
    if wrong.contains(&true) {
        for (t, s) in mesh.triangles.iter_mut().zip(shell_of) {
            if wrong[*s as usize] {
                t.swap(1, 2);
            }
        }
    }
    Ok(Right {
        turned: wrong.iter().filter(|w| **w).count(),
        voids: inside.iter().filter(|i| **i).count(),
    })
}

/// How many shells each lies in.
fn depths(mesh: &Mesh, tree: &Tree, shell_of: &[u32], shells: &[Shell]) -> Result<Vec<usize>, Fault> {
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); shells.len()];
    let mut seen = vec![0usize; shells.len()];
    for (t, &s) in shell_of.iter().enumerate() {
        let every = shells[s as usize].triangles.div_ceil(ASKED);
        if seen[s as usize].is_multiple_of(every) {
            members[s as usize].push(t);
        }
        seen[s as usize] += 1;
    }
    let mut depths = Vec::with_capacity(shells.len());
    for (s, members) in members.iter().enumerate() {
        let mut counts = vec![0usize; shells.len()];
        let mut asked = 0;
        for &t in members {
            let n = mesh.area_vector(t);
            let [a, b, c] = mesh.corners(t);
            let Some(out) = n.try_normalize() else { continue };
            // Under the skin of this shell, whichever way it faces now.
            let out = if shells[s].volume < 0.0 { -out } else { out };
            let p = (a + b + c) / 3.0 - UNDER * out;
            asked += 1;
            let mut through = vec![0usize; shells.len()];
            for over in tree.over(p) {
                through[shell_of[over as usize] as usize] += 1;
            }
            for (count, through) in counts.iter_mut().zip(through) {
                *count += through % 2;
            }
        }
        let mut depth = 0;
        for (other, &count) in counts.iter().enumerate() {
            if other == s || count == 0 {
                continue;
            }
            if count < asked {
                return Err(overlapping(&shells[s], &shells[other]));
            }
            depth += 1;
        }
        depths.push(depth);
    }
    Ok(depths)
}

fn overlapping(one: &Shell, other: &Shell) -> Fault {
    let (low, high) = (one.low.max(other.low), one.high.min(other.high));
    let mark = Mark {
        at: 0.5 * (low + high),
        across: low.distance(high),
        what: "overlap",
    };
    let what = format!(
        "two bodies of the solid lie partly in one another, around {}",
        place(mark.at)
    );
    let mend = "unite the bodies in the program that made them, and export one solid";
    Fault::new("solid-overlap", what, mend).marked(vec![mark])
}
