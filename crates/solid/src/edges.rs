//! Which triangles share an edge.
//!
//! Side `3 t + i` of triangle `t` runs from its corner `i` to the next. Sides are sorted into bins by their lower
//! corner, which takes two passes over the triangles and no hash table.

/// No side.
pub(crate) const NONE: u32 = u32::MAX;

/// The other side of every edge, and the edges that are not shared by two.
pub(crate) struct Pairing {
    /// For every side the one on the same edge, or [`NONE`] where there is none or more than one.
    pub mate: Vec<u32>,
    /// Sides whose edge no other triangle has.
    pub open: Vec<u32>,
    /// The sides on each edge that more than two triangles have.
    pub crowded: Vec<Vec<u32>>,
}

/// The side after this one in its triangle.
#[inline]
pub(crate) fn next(side: u32) -> u32 {
    if side % 3 == 2 { side - 2 } else { side + 1 }
}

/// Corners that a side runs from and to.
#[inline]
pub(crate) fn ends(triangles: &[[u32; 3]], side: u32) -> (u32, u32) {
    let t = triangles[side as usize / 3];
    match side % 3 {
        0 => (t[0], t[1]),
        1 => (t[1], t[2]),
        _ => (t[2], t[0]),
    }
}

/// Pairs the sides of triangles with `corners` corners in all. No triangle may have one corner twice.
pub(crate) fn pair(corners: usize, triangles: &[[u32; 3]]) -> Pairing {
    // start[c]..start[c + 1]: the sides whose lower corner is c, as (upper corner, side).
    let mut start = vec![0u32; corners + 2];
    let low = |side: u32| {
        let (a, b) = ends(triangles, side);
        a.min(b)
    };
    let sides = 3 * triangles.len() as u32;
    for side in 0..sides {
        start[low(side) as usize + 2] += 1;
    }
    for c in 2..start.len() {
        start[c] += start[c - 1];
    }
    let mut bins = vec![(0u32, 0u32); sides as usize];
    for side in 0..sides {
        let (a, b) = ends(triangles, side);
        let at = &mut start[a.min(b) as usize + 1];
        bins[*at as usize] = (a.max(b), side);
        *at += 1;
    }
    let mut pairing = Pairing {
        mate: vec![NONE; sides as usize],
        open: Vec::new(),
        crowded: Vec::new(),
    };
    for c in 0..corners {
        let bin = &mut bins[start[c] as usize..start[c + 1] as usize];
        bin.sort_unstable();
        for edge in bin.chunk_by(|a, b| a.0 == b.0) {
            match *edge {
                [(_, one)] => pairing.open.push(one),
                [(_, one), (_, other)] => {
                    pairing.mate[one as usize] = other;
                    pairing.mate[other as usize] = one;
                }
                _ => pairing.crowded.push(edge.iter().map(|e| e.1).collect()),
            }
        }
    }
    pairing.open.sort_unstable();
    pairing
}

/// Loops of open sides, each as the corners it goes through in the sense of the sides. Where several loops meet
/// in a corner the one round the same fan of triangles goes on. The triangles must agree about their sense.
pub(crate) fn loops(triangles: &[[u32; 3]], pairing: &Pairing) -> Vec<Vec<u32>> {
    let mut used = std::collections::HashSet::with_capacity(pairing.open.len());
    let mut loops = Vec::new();
    for &first in &pairing.open {
        if !used.insert(first) {
            continue;
        }
        let mut corners = Vec::new();
        let mut side = first;
        loop {
            corners.push(ends(triangles, side).0);
            // Round the fan at the side's end to the next open side.
            let mut on = next(side);
            let mut turned = 0;
            while pairing.mate[on as usize] != NONE && turned < 10_000 {
                on = next(pairing.mate[on as usize]);
                turned += 1;
            }
            if on == first || !used.insert(on) {
                break;
            }
            side = on;
        }
        loops.push(corners);
    }
    loops
}
