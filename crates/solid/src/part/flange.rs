//! The flange: the largest flat ring at the top of a part, with the bolt holes through it.

use super::{Skin, Stated, direction};
use crate::ears::axes;
use crate::fault::{Fault, Mark, length, place};
use glam::{DAffine3, DVec2, DVec3, Vec3};
use rayon::prelude::*;
use std::collections::HashMap;

/// Facets that lean more than this from the plane (20 degrees, as a cosine) are no part of a flat face; scans are
/// rough.
const LEAN: f64 = 0.94;
/// An opening in the flange as large as this share of the whole leads to the oil.
const MOUTH: f64 = 0.15;
/// Diameters of bolt holes [m]: M4 with little play to M14 with much; common practice, no source.
const BOLTS: (f64, f64) = (3e-3, 16e-3);
/// Least share of the part's own length that a flange is long.
const SPAN: f64 = 0.5;
/// Largest share of the skin that may stand over the flange's face.
const OVER: f64 = 0.15;
/// Planes that are looked at in full.
const LOOKED_AT: usize = 12;

/// A hole in the flange's face.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// Its number, from 1: counter-clockwise seen from the block, from the file's own first axis on.
    pub number: usize,
    /// Centre [m].
    pub at: DVec3,
    /// Diameter, or width across its longest [m].
    pub diameter: f64,
    /// Whether it is a circle.
    pub round: bool,
    /// Where it leads.
    pub leads: Leads,
}

/// Where a hole in the flange leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leads {
    /// Through, to the outside.
    Through,
    /// Nowhere: its bottom is closed.
    Blind,
}

/// The flange as told to the user, in the pan's axes: its face is z = 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Flange {
    /// Length along x and width along y of the face [m].
    pub length: f64,
    /// See `length`.
    pub width: f64,
    /// Area of the face [m²].
    pub area: f64,
    /// Outlines of the face in plan [m]: the outer one first, counter-clockwise, then every opening in it.
    pub outlines: Vec<Vec<DVec2>>,
    /// Bolt holes and other small holes, by number.
    pub holes: Vec<Hole>,
}

/// The flange as found, in the file's axes.
pub(crate) struct Found {
    pub normal: DVec3,
    pub offset: f64,
    /// Whether each triangle belongs to the face.
    pub member: Vec<bool>,
    pub area: f64,
    /// Rims as loops of sides: the outer one, those that lead to the oil, and the rest.
    pub outer: Vec<u32>,
    pub mouths: Vec<Vec<u32>>,
    pub small: Vec<Vec<u32>>,
    /// Small ones as holes, by number; `small[k]` is `holes[k]`.
    pub holes: Vec<Hole>,
    pub outline: Vec<DVec3>,
}

impl Found {
    /// Middle of the outline's box.
    pub fn middle(&self) -> DVec3 {
        let first = self.outline[0];
        let (low, high) = self
            .outline
            .iter()
            .fold((first, first), |(low, high), p| (low.min(*p), high.max(*p)));
        0.5 * (low + high)
    }

    /// How far the outline reaches: twice the farthest corner from its middle.
    fn across(&self) -> f64 {
        let middle = self.middle();
        2.0 * self
            .outline
            .iter()
            .map(|p| p.distance(middle))
            .fold(0.0, f64::max)
    }

    /// Whether a small rim is that of a bolt hole.
    pub fn is_bolt(&self, k: usize) -> bool {
        let hole = &self.holes[k];
        hole.round && (BOLTS.0..=BOLTS.1).contains(&hole.diameter)
    }

    /// How many bolt holes there are.
    pub fn bolts(&self) -> usize {
        (0..self.holes.len()).filter(|k| self.is_bolt(*k)).count()
    }

    /// As told to the user.
    pub fn flange(&self, skin: &Skin, pan_from_file: &DAffine3) -> Flange {
        let plan = |rim: &Vec<u32>| -> Vec<DVec2> {
            let moved = skin
                .along(rim)
                .into_iter()
                .map(|p| pan_from_file.transform_point3(p));
            moved.map(|p| p.truncate()).collect()
        };
        let outlines: Vec<Vec<DVec2>> = std::iter::once(&self.outer)
            .chain(&self.mouths)
            .chain(&self.small)
            .map(plan)
            .collect();
        let first = outlines[0][0];
        let (low, high) = outlines[0]
            .iter()
            .fold((first, first), |(low, high), p| (low.min(*p), high.max(*p)));
        let moved = |hole: &Hole| Hole {
            at: pan_from_file.transform_point3(hole.at),
            ..hole.clone()
        };
        Flange {
            length: high.x - low.x,
            width: high.y - low.y,
            area: self.area,
            outlines,
            holes: self.holes.iter().map(moved).collect(),
        }
    }
}

/// A plane with the area of facets on it.
#[derive(Clone, Copy)]
struct Plane {
    normal: DVec3,
    offset: f64,
    area: f64,
}

/// Finds it.
pub(crate) fn find(skin: &Skin, stated: &Stated) -> Result<Found, Fault> {
    let faces = Faces::new(skin);
    let planes = planes(skin, &faces, stated);
    let whole: f64 = faces.0.iter().map(|v| f64::from(v.length())).sum();
    let mut best: Option<(f64, Found)> = None;
    for plane in &planes {
        let Some(found) = ring(skin, &faces, *plane, stated.flat) else {
            continue;
        };
        if stated
            .flange
            .is_some_and(|at| (at.dot(found.normal) - found.offset).abs() > 10.0 * stated.flat)
        {
            continue;
        }
        // The flange is about as long as the part, and nothing stands over it but pins and walls.
        if found.across() < SPAN * across(skin, found.normal) {
            continue;
        }
        let height = found.offset + 5.0 * stated.flat;
        let over: f64 = skin
            .mesh
            .triangles
            .iter()
            .zip(&faces.0)
            .filter(|(t, _)| skin.mesh.points[t[0] as usize].dot(found.normal) > height)
            .map(|(_, v)| f64::from(v.length()))
            .sum();
        if over > OVER * whole {
            continue;
        }
        let mouth: f64 = found
            .mouths
            .iter()
            .map(|rim| -signed_area(skin, rim, found.normal))
            .sum();
        let score = mouth * (1.0 - over / whole).powi(4);
        if best.as_ref().is_none_or(|(most, _)| score > *most) {
            best = Some((score, found));
        }
    }
    match best {
        Some((_, found)) => Ok(numbered(skin, found)),
        None => Err(missing(skin, &planes, stated)),
    }
}

/// Area vector of every triangle [m²], along its outward normal. They are asked for many directions and are kept
/// small, for there may be millions.
struct Faces(Vec<Vec3>);

impl Faces {
    fn new(skin: &Skin) -> Faces {
        let vector = |t| (0.5 * skin.mesh.area_vector(t)).as_vec3();
        Faces(
            (0..skin.mesh.triangles.len())
                .into_par_iter()
                .map(vector)
                .collect(),
        )
    }

    /// The triangles that face a direction, with their area.
    fn facing(&self, direction: DVec3) -> impl Iterator<Item = (usize, f64)> + '_ {
        let direction = direction.as_vec3();
        self.0.iter().enumerate().filter_map(move |(t, v)| {
            let along = v.dot(direction);
            (along > 0.0 && along * along >= (LEAN * LEAN) as f32 * v.length_squared())
                .then(|| (t, f64::from(v.length())))
        })
    }
}

/// Planes on which much of the skin lies, largest first.
fn planes(skin: &Skin, faces: &Faces, stated: &Stated) -> Vec<Plane> {
    // Directions that much of the skin faces, from a coarse table of normals.
    let mut table: HashMap<[i8; 3], DVec3> = HashMap::new();
    for v in &faces.0 {
        if let Some(n) = v.try_normalize() {
            let key = (n * 24.0).round().to_array().map(|x| x as i8);
            *table.entry(key).or_default() += v.as_dvec3();
        }
    }
    let mut bins: Vec<([i8; 3], DVec3)> = table.into_iter().collect();
    bins.sort_by(|a, b| b.1.length().total_cmp(&a.1.length()).then(a.0.cmp(&b.0)));
    let mut directions: Vec<DVec3> = Vec::new();
    for (_, sum) in &bins {
        if directions.len() >= LOOKED_AT {
            break;
        }
        let near = |d: DVec3| {
            bins.iter()
                .map(|b| b.1)
                .filter(|v| v.normalize_or_zero().dot(d) > 0.995)
                .sum::<DVec3>()
        };
        let Some(first) = sum.try_normalize() else {
            continue;
        };
        let Some(d) = near(first).try_normalize() else {
            continue;
        };
        if stated.up.is_some_and(|up| up.dot(d) < LEAN) || directions.iter().any(|other| other.dot(d) > 0.995)
        {
            continue;
        }
        directions.push(d);
    }
    let peaks: Vec<Vec<Plane>> = directions
        .into_par_iter()
        .map(|d| at_offsets(skin, faces, d, stated.flat))
        .collect();
    let mut planes: Vec<Plane> = peaks.into_iter().flatten().collect();
    planes.sort_by(|a, b| b.area.total_cmp(&a.area));
    planes.truncate(LOOKED_AT);
    planes
        .into_par_iter()
        .map(|plane| fitted(skin, faces, plane, stated.flat))
        .collect()
}

/// The heights along a direction at which much of the skin faces it: the three largest.
fn at_offsets(skin: &Skin, faces: &Faces, direction: DVec3, flat: f64) -> Vec<Plane> {
    let mut heights: HashMap<i64, (f64, f64)> = HashMap::new();
    for (t, area) in faces.facing(direction) {
        let [a, b, c] = skin.mesh.corners(t);
        let height = (a + b + c).dot(direction) / 3.0;
        let entry = heights.entry((height / flat).floor() as i64).or_default();
        entry.0 += area;
        entry.1 += area * height;
    }
    let mut peaks: Vec<(i64, f64, f64)> = heights
        .keys()
        .map(|&k| {
            let near = (k - 1..=k + 1).filter_map(|k| heights.get(&k));
            let (area, moment) = near.fold((0.0, 0.0), |sum, h| (sum.0 + h.0, sum.1 + h.1));
            (k, area, moment / area)
        })
        .collect();
    peaks.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut chosen: Vec<(i64, f64, f64)> = Vec::new();
    for peak in peaks {
        if chosen.iter().all(|c| (c.0 - peak.0).abs() > 2) {
            chosen.push(peak);
        }
        if chosen.len() == 3 {
            break;
        }
    }
    let plane = |(_, area, offset)| Plane {
        normal: direction,
        offset,
        area,
    };
    chosen.into_iter().map(plane).collect()
}

/// The plane through the facets near a first guess: mean normal and mean height, weighted by area.
fn fitted(skin: &Skin, faces: &Faces, plane: Plane, flat: f64) -> Plane {
    let Plane {
        mut normal,
        mut offset,
        area,
    } = plane;
    for _ in 0..2 {
        let (mut sum, mut moment, mut total) = (DVec3::ZERO, DVec3::ZERO, 0.0);
        for (t, area) in faces.facing(normal) {
            let corners = skin.mesh.corners(t);
            // The guess of the direction may be a degree off, so the first look is a wide one.
            if corners
                .iter()
                .all(|p| (p.dot(normal) - offset).abs() <= 3.0 * flat)
            {
                sum += skin.mesh.area_vector(t);
                moment += area * (corners[0] + corners[1] + corners[2]) / 3.0;
                total += area;
            }
        }
        if let (Some(n), true) = (sum.try_normalize(), total > 0.0) {
            (normal, offset) = (n, n.dot(moment / total));
        }
    }
    Plane { normal, offset, area }
}

/// How far the part reaches, seen along `normal`.
fn across(skin: &Skin, normal: DVec3) -> f64 {
    let (low, high) = skin.mesh.bounds().unwrap_or_default();
    let middle = 0.5 * (low + high);
    let flat = |p: &DVec3| (*p - middle).reject_from(normal).length();
    2.0 * skin.mesh.points.iter().map(flat).fold(0.0, f64::max)
}

fn signed_area(skin: &Skin, rim: &[u32], normal: DVec3) -> f64 {
    0.5 * crate::ears::newell(&skin.along(rim)).dot(normal)
}

/// The face on a plane, when it is a ring.
fn ring(skin: &Skin, faces: &Faces, plane: Plane, flat: f64) -> Option<Found> {
    let mesh = skin.mesh;
    let Plane { normal, offset, .. } = plane;
    let near = |p: DVec3| (p.dot(normal) - offset).abs() <= flat;
    let member: Vec<bool> = (0..mesh.triangles.len())
        .into_par_iter()
        .map(|t| {
            if !near(mesh.points[mesh.triangles[t][0] as usize]) {
                return false;
            }
            let v = mesh.area_vector(t);
            let corners = mesh.corners(t);
            let longest = (0..3)
                .map(|i| corners[i].distance(corners[(i + 1) % 3]))
                .fold(0.0, f64::max);
            // A sliver faces anywhere when its corners are rough.
            let sliver = v.length() <= 5.0 * flat * longest;
            corners.iter().all(|p| near(*p)) && (sliver || v.dot(normal) >= LEAN * v.length())
        })
        .collect();
    let members = faces.0.iter().zip(&member).filter(|(_, member)| **member);
    let area = members.map(|(v, _)| f64::from(v.length())).sum();
    let mut rims: Vec<(f64, Vec<u32>)> = skin
        .rims(|t| member[t as usize])
        .into_iter()
        .map(|rim| (signed_area(skin, &rim, normal), rim))
        .collect();
    rims.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1[0].cmp(&b.1[0])));
    if rims.first().is_none_or(|r| r.0 <= 0.0) {
        return None;
    }
    let (whole, outer) = rims.remove(0);
    let outline = skin.along(&outer);
    let (u, v) = axes(normal);
    let flatly = |p: DVec3| DVec2::new(p.dot(u), p.dot(v));
    let plan: Vec<DVec2> = outline.iter().map(|p| flatly(*p)).collect();
    let (mut mouths, mut small) = (Vec::new(), Vec::new());
    for (area, rim) in rims.into_iter().rev() {
        if area >= 0.0 {
            continue; // a face in the same plane, such as the top of a post
        }
        if !within(&plan, flatly(skin.along(&rim)[0])) {
            continue;
        }
        if -area >= MOUTH * whole {
            mouths.push(rim);
        } else {
            small.push(rim);
        }
    }
    if mouths.is_empty() {
        return None;
    }
    Some(Found {
        normal,
        offset,
        member,
        area,
        outer,
        mouths,
        small,
        holes: Vec::new(),
        outline,
    })
}

fn within(outline: &[DVec2], p: DVec2) -> bool {
    let next = outline.iter().skip(1).chain(outline.first());
    let crossed = outline
        .iter()
        .zip(next)
        .filter(|(a, b)| (a.y <= p.y) != (b.y <= p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x));
    crossed.count() % 2 == 1
}

/// The small rims as numbered holes.
fn numbered(skin: &Skin, mut found: Found) -> Found {
    let (normal, middle) = (found.normal, found.middle());
    // From the file's own axis that lies most in the plane, so that numbers do not hang on what is stated.
    let first = [DVec3::X, DVec3::Y, DVec3::Z]
        .into_iter()
        .find(|axis| axis.dot(normal).abs() < 0.7)
        .unwrap_or(DVec3::X)
        .reject_from(normal)
        .normalize();
    let second = normal.cross(first);
    let pieces = pieces(skin, &found.member);
    let outside = pieces[skin.beyond(found.outer[0]) as usize];
    let mut holes: Vec<(f64, Vec<u32>, Hole)> = std::mem::take(&mut found.small)
        .into_iter()
        .map(|rim| {
            let points = skin.along(&rim);
            let flat: Vec<DVec2> = points
                .iter()
                .map(|p| DVec2::new((*p - middle).dot(first), (*p - middle).dot(second)))
                .collect();
            let (centre, diameter, round) = circle(&flat);
            let hole = Hole {
                number: 0,
                at: middle
                    + centre.x * first
                    + centre.y * second
                    + normal * (found.offset - middle.dot(normal)),
                diameter,
                round,
                leads: if pieces[skin.beyond(rim[0]) as usize] == outside {
                    Leads::Through
                } else {
                    Leads::Blind
                },
            };
            let angle = centre.to_angle().rem_euclid(std::f64::consts::TAU);
            (angle, rim, hole)
        })
        .collect();
    holes.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1[0].cmp(&b.1[0])));
    for (k, (_, rim, hole)) in holes.into_iter().enumerate() {
        found.small.push(rim);
        found.holes.push(Hole {
            number: k + 1,
            ..hole
        });
    }
    found
}

/// Pieces that the skin falls into without the face, by triangle.
fn pieces(skin: &Skin, member: &[bool]) -> Vec<u32> {
    let mut piece = vec![u32::MAX; member.len()];
    let (mut count, mut todo) = (0, Vec::new());
    for first in 0..member.len() {
        if member[first] || piece[first] != u32::MAX {
            continue;
        }
        piece[first] = count;
        todo.push(first as u32);
        while let Some(t) = todo.pop() {
            for side in 3 * t..3 * t + 3 {
                let other = skin.beyond(side) as usize;
                if !member[other] && piece[other] == u32::MAX {
                    piece[other] = count;
                    todo.push(other as u32);
                }
            }
        }
        count += 1;
    }
    piece
}

/// Centre and diameter of the circle through points, and whether they lie on it; else middle and width.
///
/// Least squares on `x² + y² = 2 a x + 2 b y + c` (Kåsa 1976, from memory).
pub(crate) fn circle(points: &[DVec2]) -> (DVec2, f64, bool) {
    let count = points.len() as f64;
    let mean = points.iter().sum::<DVec2>() / count;
    let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for p in points.iter().map(|p| *p - mean) {
        let z = p.length_squared();
        xx += p.x * p.x;
        xy += p.x * p.y;
        yy += p.y * p.y;
        xz += p.x * z;
        yz += p.y * z;
    }
    let flat = xx * yy - xy * xy;
    let shift = DVec2::new(xz * yy - yz * xy, yz * xx - xz * xy) / (2.0 * flat);
    let radius = ((xx + yy) / count + shift.length_squared()).sqrt();
    let centre = mean + shift;
    let off = points
        .iter()
        .map(|p| (p.distance(centre) - radius).abs())
        .fold(0.0, f64::max);
    // All round, not an arc: no gap between neighbours wider than a quarter.
    let next = points.iter().skip(1).chain(points.first());
    let widest = points
        .iter()
        .zip(next)
        .map(|(a, b)| a.distance(*b))
        .fold(0.0, f64::max);
    if flat > 0.0 && points.len() >= 6 && off <= 0.03 * radius + 5e-5 && widest < 1.5 * radius {
        return (centre, 2.0 * radius, true);
    }
    let first = points[0];
    let (low, high) = points
        .iter()
        .fold((first, first), |(low, high), p| (low.min(*p), high.max(*p)));
    (0.5 * (low + high), (high - low).max_element(), false)
}

/// The fault of a part without a flange.
fn missing(skin: &Skin, planes: &[Plane], stated: &Stated) -> Fault {
    let mut marks = Vec::new();
    let mut faces = Vec::new();
    for plane in planes.iter().take(4) {
        let (mut sum, mut total) = (DVec3::ZERO, 0.0);
        for t in 0..skin.mesh.triangles.len() {
            let [a, b, c] = skin.mesh.corners(t);
            let middle = (a + b + c) / 3.0;
            let v = 0.5 * skin.mesh.area_vector(t);
            if (middle.dot(plane.normal) - plane.offset).abs() <= stated.flat
                && v.dot(plane.normal) > LEAN * v.length()
            {
                sum += v.length() * middle;
                total += v.length();
            }
        }
        let at = sum / total.max(f64::MIN_POSITIVE);
        faces.push(format!(
            "{:.0} cm2 facing {} around {}",
            total * 1e4,
            direction(plane.normal),
            place(at)
        ));
        marks.push(Mark {
            at,
            across: total.sqrt(),
            what: "flat face",
        });
    }
    let wish = match (stated.up, stated.flange) {
        (_, Some(at)) => format!(" through {}", place(at)),
        (Some(up), None) => format!(" facing {}", direction(up)),
        _ => String::new(),
    };
    let what = format!(
        "no flange was found: no flat ring{wish}, open in its middle and flat to {}; the largest flat faces are {}",
        length(stated.flat),
        if faces.is_empty() {
            "none".to_owned()
        } else {
            faces.join("; ")
        }
    );
    let mend = "state `up` and a place on the flange's face as `flange`; a flange that steps, as under a rear main \
                seal, is not read: export the oil's space itself and state shows = \"cavity\"";
    Fault::new("part-flange", what, mend).marked(marks)
}
