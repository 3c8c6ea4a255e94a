//! The oil side as a closed mesh: the inner skin turned to face out of the oil, its openings closed, cut off and
//! capped at the flange plane.

use super::Skin;
use super::openings::Inside;
use crate::ears::{Corner, in_plane, in_space};
use crate::edges::{ends, loops, pair};
use crate::fault::{Fault, place};
use crate::mesh::Mesh;
use glam::{DAffine3, DVec3};
use std::collections::HashMap;

/// Corners nearer to the flange plane than this lie in it [m].
const IN_PLANE: f64 = 1e-7;

/// Makes it, in the pan's axes.
pub(super) fn closed(skin: &Skin, inside: &Inside, pan_from_file: DAffine3) -> Result<Mesh, Fault> {
    let mesh = skin.mesh;
    let mut oil = Mesh {
        points: mesh
            .points
            .iter()
            .map(|p| pan_from_file.transform_point3(*p))
            .collect(),
        triangles: Vec::new(),
    };
    // Rims at the flange lie in its plane, whatever the file's rounding or a scanner's noise made of them.
    for (t, corners) in mesh.triangles.iter().enumerate() {
        if inside.member[t] {
            oil.triangles.push([corners[0], corners[2], corners[1]]);
            for side in 3 * t as u32..3 * t as u32 + 3 {
                let beyond = skin.beyond(side) as usize;
                if !inside.member[beyond] && !inside.rims.iter().any(|rim| rim.contains(&side)) {
                    let (a, b) = ends(&mesh.triangles, side);
                    oil.points[a as usize].z = 0.0;
                    oil.points[b as usize].z = 0.0;
                }
            }
        }
    }
    for rim in &inside.rims {
        // The skin's sides now run the other way, and the cap against them: as the rim ran.
        let corners: Vec<u32> = rim.iter().map(|&side| ends(&mesh.triangles, side).0).collect();
        let points: Vec<DVec3> = corners.iter().map(|&c| oil.points[c as usize]).collect();
        oil.triangles
            .extend(in_space(&points).into_iter().map(|t| t.map(|k| corners[k])));
    }
    cut_off(&mut oil);
    oil.drop_unused();
    cap(&mut oil)?;
    oil.drop_unused();
    if !(oil.volume() > 0.0) {
        return Err(Fault::new(
            "part-empty",
            "nothing is enclosed under the flange",
            "check `up`: it points from the pan to the block",
        ));
    }
    Ok(oil)
}

/// Keeps what lies under z = 0.
fn cut_off(oil: &mut Mesh) {
    for p in &mut oil.points {
        if p.z.abs() <= IN_PLANE {
            p.z = 0.0;
        }
    }
    let mut cut: HashMap<(u32, u32), u32> = HashMap::new();
    let mut kept = Vec::with_capacity(oil.triangles.len());
    for t in std::mem::take(&mut oil.triangles) {
        let z = t.map(|c| oil.points[c as usize].z);
        if z.iter().all(|z| *z >= 0.0) {
            continue;
        }
        if z.iter().all(|z| *z <= 0.0) {
            kept.push(t);
            continue;
        }
        let mut polygon: Vec<u32> = Vec::with_capacity(4);
        for i in 0..3 {
            let j = (i + 1) % 3;
            if z[i] <= 0.0 {
                polygon.push(t[i]);
            }
            if (z[i] < 0.0 && z[j] > 0.0) || (z[i] > 0.0 && z[j] < 0.0) {
                let (low, high) = if z[i] < z[j] { (t[i], t[j]) } else { (t[j], t[i]) };
                let points = &mut oil.points;
                let name = *cut.entry((low, high)).or_insert_with(|| {
                    let (a, b) = (points[low as usize], points[high as usize]);
                    let p = a.lerp(b, a.z / (a.z - b.z));
                    points.push(DVec3::new(p.x, p.y, 0.0));
                    points.len() as u32 - 1
                });
                polygon.push(name);
            }
        }
        for k in 1..polygon.len() - 1 {
            kept.push([polygon[0], polygon[k], polygon[k + 1]]);
        }
    }
    oil.triangles = kept;
}

/// Closes the top.
fn cap(oil: &mut Mesh) -> Result<(), Fault> {
    let spoilt = |at: DVec3| {
        Fault::new(
            "part-cap",
            format!(
                "the oil side cannot be closed at the flange, near {} of the pan",
                place(at)
            ),
            "mend the flange's inner edge in the program that made the part, or export the oil's space itself",
        )
    };
    let pairing = pair(oil.points.len(), &oil.triangles);
    let middle = |side: u32| {
        let (a, b) = ends(&oil.triangles, side);
        0.5 * (oil.points[a as usize] + oil.points[b as usize])
    };
    if let Some(sides) = pairing.crowded.first() {
        return Err(spoilt(middle(sides[0])));
    }
    if let Some(side) = pairing.open.iter().find(|side| middle(**side).z != 0.0) {
        return Err(spoilt(middle(*side)));
    }
    let rims = loops(&oil.triangles, &pairing)
        .into_iter()
        .map(|rim| {
            let corner = |&name: &u32| Corner {
                at: oil.points[name as usize].truncate(),
                name,
            };
            rim.iter().rev().map(corner).collect()
        })
        .collect();
    oil.triangles.extend(in_plane(rims));
    let pairing = pair(oil.points.len(), &oil.triangles);
    match pairing
        .open
        .first()
        .or(pairing.crowded.first().and_then(|sides| sides.first()))
    {
        Some(&side) => {
            let (a, b) = ends(&oil.triangles, side);
            Err(spoilt(0.5 * (oil.points[a as usize] + oil.points[b as usize])))
        }
        None => Ok(()),
    }
}
