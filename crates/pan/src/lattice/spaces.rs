//! Spaces: the pan parted by its plates, for telling where oil went.
//!
//! A wall seldom shuts a space off: it has doors, holes, ends below the block and stands over a floor that goes on
//! down. So each plate is carried on as a curtain, for labels only: along its own rows over gaps no longer than
//! itself, and upright ones up and down to the next shelf, the top or the floor; not from the midst of a plate that leans,
//! which is a staircase of upright and level faces. What a flood fill then finds apart
//! is a space; crumbs under one per cent of the cavity join the neighbour they share most with.

use super::{Face, Lattice, Space};
use crate::Plate;
use glam::DVec3;
use std::collections::{BTreeMap, BTreeSet};

/// A space smaller than this share of the cavity is a crumb.
const CRUMB: f64 = 0.01;

/// Labels the cells and describes the spaces.
pub(super) fn label(lattice: &mut Lattice, barrier: &BTreeMap<Face, u32>, plates: &[Plate]) {
    let curtain = curtains(lattice, barrier);
    let shut = |f: Face| barrier.contains_key(&f) || curtain.contains(&f);
    let mut of = flood(lattice, &shut);
    let mut volumes = volumes(lattice, &of);
    merge_crumbs(lattice, &mut of, &mut volumes);
    // Number what is left, largest first.
    let mut order: Vec<usize> = (0..volumes.len()).filter(|&s| volumes[s] > 0.0).collect();
    order.sort_by(|a, b| volumes[*b].total_cmp(&volumes[*a]).then(a.cmp(b)));
    let mut new = vec![u16::MAX; volumes.len()];
    for (rank, &old) in order.iter().enumerate().take(u16::MAX as usize) {
        new[old] = rank as u16;
    }
    lattice.space_of = of
        .iter()
        .map(|&s| if s == usize::MAX { u16::MAX } else { new[s] })
        .collect();
    lattice.spaces = describe(lattice, order.len(), barrier, plates);
}

fn is_open(lattice: &Lattice, cell: usize) -> bool {
    lattice.open_volume[cell] > super::cut::LEAST_VOLUME
}

fn face_at(lattice: &Lattice, axis: usize, at: [usize; 3]) -> Face {
    Face {
        axis: axis as u8,
        index: lattice.face_index(axis, at[0], at[1], at[2]) as u32,
    }
}

/// Faces that stand in for the plates' continuation.
fn curtains(lattice: &Lattice, barrier: &BTreeMap<Face, u32>) -> BTreeSet<Face> {
    // Each with the plate that it carries on.
    let mut out: BTreeMap<Face, u32> = BTreeMap::new();
    // Along rows in the plates' own layers.
    for axis in 0..3 {
        let mut here: Vec<(u32, [usize; 3])> = barrier
            .iter()
            .filter(|(f, _)| f.axis as usize == axis)
            .map(|(f, plate)| (*plate, lattice.face_place(*f)))
            .collect();
        for along in (0..3).filter(|a| *a != axis) {
            let mut rows: BTreeMap<(u32, [usize; 3]), Vec<usize>> = BTreeMap::new();
            let mut carried = Vec::new();
            for (plate, at) in &here {
                let mut key = *at;
                key[along] = 0;
                rows.entry((*plate, key)).or_default().push(at[along]);
            }
            for ((plate, key), mut places) in rows {
                places.sort_unstable();
                for (from, to, reach) in gaps(&places, lattice.n[along]) {
                    let mut gap = Vec::new();
                    // Stop where the row runs into another plate or leaves the cavity.
                    let walk: Vec<usize> = if reach.1 {
                        (from..to).rev().collect()
                    } else {
                        (from..to).collect()
                    };
                    for p in walk {
                        let mut at = key;
                        at[along] = p;
                        let face = face_at(lattice, axis, at);
                        if lattice.open_area[axis][face.index as usize] <= 0.0
                            || barrier.contains_key(&face)
                            || blocked(lattice, barrier, axis, along, at, reach.1)
                        {
                            break;
                        }
                        gap.push(face);
                    }
                    if gap.len() <= reach.0 {
                        carried.extend(gap.iter().map(|face| (plate, lattice.face_place(*face))));
                        out.extend(gap.into_iter().map(|face| (face, plate)));
                    }
                }
            }
            // Round the corners of a shelf that ends on two sides; what stands upright is carried up and down below.
            if axis == 2 {
                here.extend(carried);
            }
        }
    }
    // Upright ones on up and down.
    let uprights: Vec<(Face, u32)> = (barrier.iter().chain(&out))
        .filter(|(face, _)| face.axis < 2)
        .map(|(face, plate)| (*face, *plate))
        .collect();
    for down in [false, true] {
        let ends: Vec<(Face, u32)> = (uprights.iter().copied())
            .filter(|(face, plate)| !goes_on(lattice, &[barrier, &out], *face, *plate, down))
            .collect();
        for (face, plate) in ends {
            drop_curtain(lattice, barrier, &mut out, (face, plate), down);
        }
    }
    out.into_keys().collect()
}

/// Whether a plate goes on as a level face, to either side, where one of its upright faces ends.
fn goes_on(lattice: &Lattice, faces: &[&BTreeMap<Face, u32>], face: Face, plate: u32, down: bool) -> bool {
    let mut high = lattice.face_place(face);
    high[2] += usize::from(!down);
    let mut low = high;
    low[face.axis as usize] = low[face.axis as usize].saturating_sub(1);
    [low, high].into_iter().any(|at| {
        let inside = (0..3).all(|axis| at[axis] < lattice.n[axis] + usize::from(axis == 2));
        inside && (faces.iter()).any(|known| known.get(&face_at(lattice, 2, at)) == Some(&plate))
    })
}

/// Carries an upright face on up or down, to a shelf, another upright or the end of the cavity.
fn drop_curtain(
    lattice: &Lattice,
    barrier: &BTreeMap<Face, u32>,
    out: &mut BTreeMap<Face, u32>,
    (face, plate): (Face, u32),
    down: bool,
) {
    let axis = face.axis as usize;
    let mut at = lattice.face_place(face);
    loop {
        if down && at[2] == 0 || !down && at[2] + 1 >= lattice.n[2] {
            return;
        }
        at[2] = if down { at[2] - 1 } else { at[2] + 1 };
        if blocked(lattice, barrier, axis, 2, at, down) {
            return;
        }
        let next = face_at(lattice, axis, at);
        // A face without opening is the cavity's own wall, where nothing is left to part; and where a curtain hangs
        // already, it was carried on before.
        let ends = down && lattice.open_area[axis][next.index as usize] <= 0.0;
        if ends || barrier.contains_key(&next) || out.contains_key(&next) {
            return;
        }
        out.insert(next, plate);
    }
}

/// Gaps of a row of places in 0..n: (from, to, (longest gap to bridge, walk downward)).
fn gaps(places: &[usize], n: usize) -> Vec<(usize, usize, (usize, bool))> {
    let own = places.len();
    let mut out = Vec::new();
    if let (Some(&first), Some(&last)) = (places.first(), places.last()) {
        out.push((0, first, (own, true)));
        out.push((last + 1, n, (own, false)));
    }
    for w in places.windows(2) {
        if w[1] > w[0] + 1 {
            out.push((w[0] + 1, w[1], (own, false)));
        }
    }
    out
}

/// True when a plate square to `along` stands at the entry of face `at` (of `axis`) on both of its sides.
fn blocked(
    lattice: &Lattice,
    barrier: &BTreeMap<Face, u32>,
    axis: usize,
    along: usize,
    at: [usize; 3],
    down: bool,
) -> bool {
    let mut high = at;
    if down {
        high[along] += 1;
    }
    if high[along] == 0 || high[along] >= lattice.n[along] {
        return false;
    }
    let mut low = high;
    if low[axis] == 0 {
        return true;
    }
    low[axis] -= 1;
    [low, high]
        .iter()
        .all(|c| c[axis] >= lattice.n[axis] || barrier.contains_key(&face_at(lattice, along, *c)))
}

/// Connected cells, numbered; `usize::MAX` for solid ones.
fn flood(lattice: &Lattice, shut: &dyn Fn(Face) -> bool) -> Vec<usize> {
    let mut of = vec![usize::MAX; lattice.cells()];
    let mut count = 0;
    let mut todo = Vec::new();
    for start in 0..lattice.cells() {
        if of[start] != usize::MAX || !is_open(lattice, start) {
            continue;
        }
        of[start] = count;
        todo.push(start);
        while let Some(cell) = todo.pop() {
            for (face, other) in lattice.neighbours(cell) {
                if of[other] == usize::MAX
                    && is_open(lattice, other)
                    && lattice.open_area[face.axis as usize][face.index as usize] > 0.0
                    && !shut(face)
                {
                    of[other] = count;
                    todo.push(other);
                }
            }
        }
        count += 1;
    }
    of
}

fn volumes(lattice: &Lattice, of: &[usize]) -> Vec<f64> {
    let count = of.iter().filter(|s| **s != usize::MAX).max().map_or(0, |m| m + 1);
    let mut volumes = vec![0.0; count];
    for (cell, &s) in of.iter().enumerate() {
        if s != usize::MAX {
            volumes[s] += lattice.open_volume[cell] * lattice.cell.powi(3);
        }
    }
    volumes
}

/// Joins small spaces to the neighbour with which they share most open face; smallest first.
fn merge_crumbs(lattice: &Lattice, of: &mut [usize], volumes: &mut [f64]) {
    let total: f64 = volumes.iter().sum();
    // Shared areas between spaces: real openness first, else mere neighbourhood (cut cells behind a plate).
    let mut shared: BTreeMap<(usize, usize), (f64, f64)> = BTreeMap::new();
    for axis in 0..3 {
        for index in 0..lattice.open_area[axis].len() {
            let Some((a, b)) = lattice.cells_of_face(axis, index) else {
                continue;
            };
            let (a, b) = (of[a], of[b]);
            if a != b && a != usize::MAX && b != usize::MAX {
                let s = shared.entry((a.min(b), a.max(b))).or_default();
                s.0 += lattice.open_area[axis][index];
                s.1 += 1.0;
            }
        }
    }
    let mut into: Vec<usize> = (0..volumes.len()).collect();
    loop {
        let crumb = (0..volumes.len())
            .filter(|&s| into[s] == s && volumes[s] > 0.0 && volumes[s] < CRUMB * total)
            .filter(|&s| shared.keys().any(|k| k.0 == s || k.1 == s))
            .min_by(|a, b| volumes[*a].total_cmp(&volumes[*b]));
        let Some(crumb) = crumb else { break };
        let best = shared
            .iter()
            .filter(|(k, _)| k.0 == crumb || k.1 == crumb)
            .map(|(k, area)| (if k.0 == crumb { k.1 } else { k.0 }, *area))
            .max_by(|a, b| a.1.0.total_cmp(&b.1.0).then(a.1.1.total_cmp(&b.1.1)));
        let Some((host, _)) = best else { break };
        volumes[host] += volumes[crumb];
        volumes[crumb] = 0.0;
        into[crumb] = host;
        let moved: Vec<_> = shared
            .iter()
            .filter(|(k, _)| k.0 == crumb || k.1 == crumb)
            .map(|(k, v)| (*k, *v))
            .collect();
        for (key, area) in moved {
            shared.remove(&key);
            let other = if key.0 == crumb { key.1 } else { key.0 };
            if other != host {
                let s = shared.entry((host.min(other), host.max(other))).or_default();
                s.0 += area.0;
                s.1 += area.1;
            }
        }
    }
    for s in of.iter_mut().filter(|s| **s != usize::MAX) {
        while into[*s] != *s {
            *s = into[*s];
        }
    }
}

fn describe(lattice: &Lattice, count: usize, barrier: &BTreeMap<Face, u32>, plates: &[Plate]) -> Vec<Space> {
    let mut spaces: Vec<Space> = (0..count)
        .map(|_| Space {
            name: String::new(),
            volume: 0.0,
            centre: DVec3::ZERO,
            has_mouth: false,
        })
        .collect();
    let mut plan = vec![BTreeSet::new(); count];
    for cell in 0..lattice.cells() {
        let s = lattice.space_of[cell];
        if s == u16::MAX {
            continue;
        }
        let [i, j, k] = lattice.cell_place(cell);
        let v = lattice.open_volume[cell] * lattice.cell.powi(3);
        let space = &mut spaces[s as usize];
        space.volume += v;
        space.centre += v * lattice.centre(i, j, k);
        plan[s as usize].insert((i, j));
    }
    for s in &mut spaces {
        s.centre /= s.volume;
    }
    let mut drawn = vec![0.0; count];
    for m in &lattice.mouth {
        if let Some(d) = drawn.get_mut(lattice.space_of[m.cell as usize] as usize) {
            *d += m.area;
        }
    }
    if let Some(best) = (0..count).max_by(|a, b| drawn[*a].total_cmp(&drawn[*b]))
        && drawn[best] > 0.0
    {
        spaces[best].has_mouth = true;
    }
    // A space stands above a plate when that plate is the floor of most of its plan.
    let mut over: Vec<BTreeMap<u32, usize>> = vec![BTreeMap::new(); count];
    for (face, plate) in barrier.iter().filter(|(f, _)| f.axis == 2) {
        if let Some((below, above)) = lattice.cells_of_face(2, face.index as usize) {
            let (below, above) = (lattice.space_of[below], lattice.space_of[above]);
            if above != u16::MAX && above != below {
                *over[above as usize].entry(*plate).or_default() += 1;
            }
        }
    }
    let names: Vec<String> = (0..count)
        .map(|s| {
            let floor = over[s]
                .iter()
                .max_by_key(|(_, n)| **n)
                .filter(|(_, n)| 2 * **n >= plan[s].len());
            let place = where_in(lattice, spaces[s].centre);
            match floor {
                _ if count == 1 => "whole pan".into(),
                // Over most of the cavity's plan the place says nothing more.
                Some((p, _)) if 2 * plan[s].len() >= lattice.n[0] * lattice.n[1] => {
                    format!("above {}", plates[*p as usize].name)
                }
                Some((p, _)) => format!("{place}, above {}", plates[*p as usize].name),
                None => place,
            }
        })
        .collect();
    for s in 0..count {
        let same = names[..s].iter().filter(|n| **n == names[s]).count();
        spaces[s].name = if same == 0 {
            names[s].clone()
        } else {
            format!("{} {}", names[s], same + 1)
        };
    }
    spaces
}

/// "front left", "middle", ... by thirds of the grid.
fn where_in(lattice: &Lattice, at: DVec3) -> String {
    let size = |a: usize| lattice.cell * lattice.n[a] as f64;
    let third = |a: usize| ((at[a] - lattice.origin[a]) / size(a) - 0.5) * 2.0;
    let x = if third(0) > 1.0 / 3.0 {
        "front"
    } else if third(0) < -1.0 / 3.0 {
        "rear"
    } else {
        ""
    };
    let y = if third(1) > 1.0 / 3.0 {
        "left"
    } else if third(1) < -1.0 / 3.0 {
        "right"
    } else {
        ""
    };
    match (x, y) {
        ("", "") => "middle".into(),
        ("", y) => y.into(),
        (x, "") => x.into(),
        (x, y) => format!("{x} {y}"),
    }
}
