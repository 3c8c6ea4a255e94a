//! Triangles that say nothing: those that use a corner twice, and those that stand in the file twice.

use crate::edges::Pairing;
use crate::mesh::Mesh;
use std::collections::HashMap;

/// Drops triangles that have a corner twice; gives how many. Their two longer sides lie on one edge, so that the
/// neighbours meet as before.
pub(crate) fn drop_repeated(mesh: &mut Mesh) -> usize {
    let before = mesh.triangles.len();
    mesh.triangles
        .retain(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]);
    before - mesh.triangles.len()
}

/// What [`drop_doubled`] dropped.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Doubled {
    /// Triangles that stood there before, facing the same way.
    pub copies: usize,
    /// Triangles back to back: walls of no thickness, as between two bodies that touch.
    pub walls: usize,
}

/// Drops triangles that others with the same corners make needless. Only edges with more than two triangles can
/// have such, so that a sound mesh costs nothing.
pub(crate) fn drop_doubled(mesh: &mut Mesh, pairing: &Pairing) -> Doubled {
    let mut same: HashMap<[u32; 3], Vec<u32>> = HashMap::new();
    for side in pairing.crowded.iter().flatten() {
        let t = side / 3;
        let mut key = mesh.triangles[t as usize];
        key.sort_unstable();
        let list = same.entry(key).or_default();
        if !list.contains(&t) {
            list.push(t);
        }
    }
    let mut dropped = Doubled::default();
    let mut needless = vec![];
    for list in same.into_values().filter(|list| list.len() > 1) {
        let mut list = list;
        list.sort_unstable();
        let (even, odd): (Vec<u32>, Vec<u32>) = list
            .into_iter()
            .partition(|&t| is_even(mesh.triangles[t as usize]));
        let (fewer, more) = if even.len() < odd.len() {
            (even, odd)
        } else {
            (odd, even)
        };
        let walls = fewer.len();
        // Whatever faces both ways encloses nothing; one of what is left is enough.
        let left = more.len() - walls;
        dropped.walls += 2 * walls;
        dropped.copies += left.saturating_sub(1);
        needless.extend(fewer);
        needless.extend(&more[..walls]);
        if left > 1 {
            needless.extend(&more[walls + 1..]);
        }
    }
    if !needless.is_empty() {
        let needless: std::collections::HashSet<u32> = needless.into_iter().collect();
        let mut t = 0;
        mesh.triangles.retain(|_| {
            t += 1;
            !needless.contains(&(t - 1))
        });
    }
    dropped
}

/// Whether the corners come in a turn of their sorted order.
fn is_even(t: [u32; 3]) -> bool {
    [[0, 1, 2], [1, 2, 0], [2, 0, 1]]
        .iter()
        .any(|o| t[o[0]] < t[o[1]] && t[o[1]] < t[o[2]])
}
