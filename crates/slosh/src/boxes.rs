//! Box tanks by hand, for checks and tests: a lattice without a pan.

use glam::DVec3;
use pan::Lattice;
use pan::lattice::{DoorFace, Face, LatticeDoor, MouthFace, ReturnFace, Screen, Space, hole_loss};

/// A box of `n` cells of edge `cell` [m] with its low corner at the origin, all open, without anything in it.
pub fn tank(n: [usize; 3], cell: f64) -> Lattice {
    carved(n, cell, DVec3::ZERO, 0, |_| true)
}

/// A box of cells of which the part with `open(point)` is open, measured by `samples`³ points a cell (and
/// `samples`² a face); `samples = 0` takes all of it as open. Low corner at `origin`.
pub fn carved(
    n: [usize; 3],
    cell: f64,
    origin: DVec3,
    samples: usize,
    open: impl Fn(DVec3) -> bool,
) -> Lattice {
    let cells = n[0] * n[1] * n[2];
    let mut lattice = Lattice {
        n,
        cell,
        origin,
        open_volume: vec![1.0; cells],
        open_area: [Vec::new(), Vec::new(), Vec::new()],
        screens: Vec::new(),
        doors: Vec::new(),
        mouth: Vec::new(),
        mouth_at: DVec3::ZERO,
        returns: Vec::new(),
        space_of: vec![0; cells],
        spaces: vec![Space {
            name: "all".into(),
            volume: 0.0,
            centre: DVec3::ZERO,
            has_mouth: false,
        }],
        crank_share: vec![0.0; cells],
    };
    let at = |i: usize| (i as f64 + 0.5) / samples.max(1) as f64;
    let whole = samples.max(1);
    for k in 0..n[2] {
        for j in 0..n[1] {
            for i in 0..n[0] {
                if samples > 0 {
                    let low = DVec3::new(i as f64, j as f64, k as f64);
                    let mut count = 0;
                    for s in 0..whole.pow(3) {
                        let p = DVec3::new(at(s % whole), at(s / whole % whole), at(s / whole / whole));
                        count += usize::from(open(origin + cell * (low + p)));
                    }
                    let index = lattice.cell_index(i, j, k);
                    lattice.open_volume[index] = count as f64 / whole.pow(3) as f64;
                }
            }
        }
    }
    for axis in 0..3 {
        let m = lattice.face_counts(axis);
        let mut areas = vec![0.0; m[0] * m[1] * m[2]];
        for k in 0..m[2] {
            for j in 0..m[1] {
                for i in 0..m[0] {
                    let place = [i, j, k];
                    if place[axis] == 0 || place[axis] == n[axis] {
                        continue;
                    }
                    let mut share = 1.0;
                    if samples > 0 {
                        let mut count = 0;
                        for s in 0..whole.pow(2) {
                            let mut p = DVec3::from_array(place.map(|v| v as f64));
                            p[(axis + 1) % 3] += at(s % whole);
                            p[(axis + 2) % 3] += at(s / whole);
                            count += usize::from(open(origin + cell * p));
                        }
                        share = count as f64 / whole.pow(2) as f64;
                    }
                    areas[lattice.face_index(axis, i, j, k)] = share;
                }
            }
        }
        lattice.open_area[axis] = areas;
    }
    lattice
}

/// Shuts faces of `axis` for which `shut(face centre)` says so: a thin wall.
pub fn wall(lattice: &mut Lattice, axis: usize, shut: impl Fn(DVec3) -> bool) {
    for (index, centre) in faces(lattice, axis) {
        if shut(centre) {
            lattice.open_area[axis][index] = 0.0;
        }
    }
}

/// Puts a perforated sheet of open share `open`, with holes of diameter `hole` [m], over faces.
pub fn screen(lattice: &mut Lattice, axis: usize, open: f64, hole: f64, over: impl Fn(DVec3) -> bool) {
    for (index, centre) in faces(lattice, axis) {
        if over(centre) && lattice.open_area[axis][index] > 0.0 {
            let face = Face {
                axis: axis as u8,
                index: index as u32,
            };
            lattice.screens.push(Screen {
                face,
                plate: 0,
                open,
                loss: hole_loss(open),
                hole,
            });
        }
    }
}

/// Hangs a door over faces of `axis` (shut them with `wall` first). `hinge` is a point on the hinge line,
/// `turn` its unit direction (positive turn opens), `sense` +1 when it opens toward the positive axis.
pub fn door(
    lattice: &mut Lattice,
    axis: usize,
    hinge: DVec3,
    turn: DVec3,
    sense: f64,
    over: impl Fn(DVec3) -> bool,
) {
    let mut parts = Vec::new();
    let (mut middle, mut longest) = (DVec3::ZERO, 0.0f64);
    let area = lattice.cell * lattice.cell;
    for (index, centre) in faces(lattice, axis) {
        if over(centre) {
            lattice.open_area[axis][index] = 0.0;
            let from = centre - hinge;
            let arm = (from - from.dot(turn) * turn).length();
            longest = longest.max(arm + 0.5 * lattice.cell);
            middle += from - from.dot(turn) * turn;
            parts.push(DoorFace {
                face: Face {
                    axis: axis as u8,
                    index: index as u32,
                },
                area,
                arm,
                sense,
            });
        }
    }
    let count = parts.len().max(1) as f64;
    let door = LatticeDoor {
        door: lattice.doors.len(),
        width: area * count / longest.max(lattice.cell),
        faces: parts,
        hinge: turn,
        to_centre: middle / count,
        length: longest,
    };
    lattice.doors.push(door);
}

/// A mouth at `at` over the cells below that plane height whose centre is within `radius` of it in plan.
pub fn mouth(lattice: &mut Lattice, at: DVec3, radius: f64) {
    lattice.mouth_at = at;
    let k = (((at.z - lattice.origin.z) / lattice.cell).ceil() as usize).max(1) - 1;
    let parts = plan_cells(lattice, k, at, radius);
    let area = std::f64::consts::PI * radius * radius / parts.len().max(1) as f64;
    lattice.mouth = parts.into_iter().map(|cell| MouthFace { cell, area }).collect();
}

/// A return place over the cells of the layer that holds `at` within `radius` in plan.
pub fn returns(lattice: &mut Lattice, at: DVec3, radius: f64) {
    let k = ((at.z - lattice.origin.z) / lattice.cell) as usize;
    let parts = plan_cells(lattice, k, at, radius);
    let share = 1.0 / parts.len().max(1) as f64;
    lattice
        .returns
        .push(parts.into_iter().map(|cell| ReturnFace { cell, share }).collect());
}

fn plan_cells(lattice: &Lattice, k: usize, at: DVec3, radius: f64) -> Vec<u32> {
    let mut parts = Vec::new();
    for j in 0..lattice.n[1] {
        for i in 0..lattice.n[0] {
            let away = lattice.centre(i, j, k) - at;
            if away.truncate().length() <= radius {
                parts.push(lattice.cell_index(i, j, k) as u32);
            }
        }
    }
    parts
}

/// Index and centre of all faces of an axis.
fn faces(lattice: &Lattice, axis: usize) -> Vec<(usize, DVec3)> {
    let m = lattice.face_counts(axis);
    let mut list = Vec::new();
    for k in 0..m[2] {
        for j in 0..m[1] {
            for i in 0..m[0] {
                let mut p = DVec3::new(i as f64 + 0.5, j as f64 + 0.5, k as f64 + 0.5);
                p[axis] -= 0.5;
                list.push((
                    lattice.face_index(axis, i, j, k),
                    lattice.origin + lattice.cell * p,
                ));
            }
        }
    }
    list
}
