//! A bent part laid flat, and bent again.
//!
//! ```text
//!   parent face │ strip of the bend │ face          in the flat: BA wide
//!   ────────────┼───────────────────┼───────
//!            −m                     +m              in the sharp plane: 2 m wide, m = tan(A/2) (R + T/2)
//! ```
//! So every face moves by `BA − 2 m` out of its parent for each fold between it and the first face. A strip runs where
//! both faces have metal; where one goes on beside it, a slot is cut so that the metal does not tear (relief).

use super::bend::Bend;
use super::fault::SheetFault;
use super::part::{Fold, Part};
use glam::{DVec2, DVec3};
use pan::Region;
use pan::polygon::{Loop, intersect_stretches, nearest_on_segment};

/// Faces and strips are laid this far over each other, so that rounding leaves no hairline between them [m].
const LAP: f64 = 1e-8;
/// Corners nearer than this are one, and corners this close to the line of their neighbours are none [m].
const SAME: f64 = 2e-7;
/// Faces laid flat may overlap by so much [m²]: rounding and laps.
const OVERLAP: f64 = 2e-7;

/// A bend in the flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Face that stays.
    pub parent: usize,
    /// Face that is bent.
    pub face: usize,
    /// A point of the first tangent line [m].
    pub origin: DVec2,
    /// Unit vector along it; the bent face lies to its left.
    pub along: DVec2,
    /// Where metal is bent, along the line from `origin` [m].
    pub spans: Vec<(f64, f64)>,
    /// The bend.
    pub bend: Bend,
    /// True when the bent face comes up.
    pub up: bool,
}

impl Strip {
    /// The middle lines of the strip, where the die is set.
    pub fn lines(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        let middle = self.origin + self.along.perp() * 0.5 * self.bend.allowance();
        self.spans
            .iter()
            .map(move |(a, b)| (middle + self.along * *a, middle + self.along * *b))
    }
}

/// A part laid flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    /// How far each face moved from the sharp plane into the flat [m].
    pub moved: Vec<DVec2>,
    /// The flat stretch of each face, without the strips [m].
    pub faces: Vec<Region>,
    /// The bends.
    pub strips: Vec<Strip>,
    /// All of it [m].
    pub outline: Region,
}

/// Width of a relief slot [m]: the thickness, at least 1 mm (common practice, no source).
pub fn relief_width(thickness: f64) -> f64 {
    thickness.max(1e-3)
}

/// Lays the part flat.
///
/// # Errors
/// [`SheetFault::Overlaps`] where faces would come to lie on each other, [`SheetFault::NoMetal`] for a fold along which no
/// metal joins the faces.
pub fn develop(part: &Part) -> Result<Flat, SheetFault> {
    let mut moved = vec![DVec2::ZERO; part.faces.len()];
    let mut faces: Vec<Region> = part.faces.iter().map(|f| f.region.clone()).collect();
    let mut strips = Vec::new();
    for (i, fold) in part.folds() {
        let m = fold.bend.middle_setback();
        moved[i] = moved[fold.parent] + fold.out() * (fold.bend.allowance() - 2.0 * m);
        let chords = |region: &Region, out: f64| region.chords(fold.at(0.0, out), fold.along);
        let (of_parent, of_face) = (
            chords(&part.faces[fold.parent].region, -m - LAP),
            chords(&part.faces[i].region, m + LAP),
        );
        let spans: Vec<(f64, f64)> = intersect_stretches(&of_parent, &of_face)
            .into_iter()
            .filter(|(a, b)| b - a > 1e-4)
            .collect();
        if spans.is_empty() {
            return Err(SheetFault::NoMetal {
                face: part.faces[i].name.clone(),
            });
        }
        cut_for(
            &mut faces[fold.parent],
            fold,
            &spans,
            &of_parent,
            part.thickness,
            -1.0,
        );
        cut_for(&mut faces[i], fold, &spans, &of_face, part.thickness, 1.0);
        strips.push(Strip {
            parent: fold.parent,
            face: i,
            origin: fold.at(0.0, -m) + moved[fold.parent],
            along: fold.along,
            spans,
            bend: fold.bend,
            up: fold.up,
        });
    }
    for (face, by) in faces.iter_mut().zip(&moved) {
        *face = face.mapped(|p| p + *by);
    }
    let bands: Vec<Region> = strips.iter().flat_map(strip_regions).collect();
    let pieces: Vec<&Region> = faces.iter().chain(&bands).collect();
    let outline = tidied(&Region::union_of(pieces.iter().copied()));
    let sum: f64 = pieces.iter().map(|r| r.area()).sum();
    if sum - outline.area() > OVERLAP {
        return Err(overlap(part, &pieces));
    }
    Ok(Flat {
        moved,
        faces,
        strips,
        outline,
    })
}

/// Takes from a face what becomes the strips of a fold, and the reliefs beside them. `side` is −1 for the parent, 1 for
/// the face that is bent.
fn cut_for(
    face: &mut Region,
    fold: &Fold,
    spans: &[(f64, f64)],
    own: &[(f64, f64)],
    thickness: f64,
    side: f64,
) {
    let m = fold.bend.middle_setback();
    // Metal of a face ends at the sharp line or a hair beyond it: a plate's edge stands half a thickness behind.
    let beyond = -side * (m + 2.0 * thickness);
    let band = |from: f64| {
        let to = beyond;
        (from.min(to), from.max(to))
    };
    let slot = relief_width(thickness);
    for &(a, b) in spans {
        let mut cuts = vec![fold.rectangle((a - LAP, b + LAP), band(side * m))];
        for (end, way) in [(a, -1.0), (b, 1.0)] {
            let beside = end + way * 1e-5;
            if own.iter().any(|(low, high)| *low < beside && beside < *high) {
                let to = end + way * slot;
                cuts.push(fold.rectangle((end.min(to), end.max(to)), band(side * (m + thickness))));
            }
        }
        *face = face.difference(&Region::union_of(&cuts));
    }
}

fn strip_regions(strip: &Strip) -> Vec<Region> {
    let (out, wide) = (strip.along.perp(), strip.bend.allowance());
    let corner = |s: f64, t: f64| strip.origin + strip.along * s + out * t;
    let region = |(a, b): &(f64, f64)| {
        let corners = vec![
            corner(*a, -LAP),
            corner(*b, -LAP),
            corner(*b, wide + LAP),
            corner(*a, wide + LAP),
        ];
        Region::from_loops(&[corners])
    };
    strip.spans.iter().map(region).collect()
}

fn overlap(part: &Part, pieces: &[&Region]) -> SheetFault {
    for (i, a) in pieces.iter().enumerate() {
        for (j, b) in pieces.iter().enumerate().skip(i + 1) {
            let shared = a.intersection(b);
            if shared.area() > 0.1 * OVERLAP
                && let Some((low, high)) = shared.bounds()
            {
                let name = |k: usize| part.faces.get(k).map_or("a bend".to_owned(), |f| f.name.clone());
                return SheetFault::Overlaps {
                    one: name(i),
                    other: name(j),
                    size: high - low,
                };
            }
        }
    }
    SheetFault::Overlaps {
        one: part.name.clone(),
        other: part.name.clone(),
        size: DVec2::ZERO,
    }
}

/// The region without doubled corners and corners on straight lines.
pub(super) fn tidied(region: &Region) -> Region {
    let mut out = Region::default();
    for shape in &region.shapes {
        let loops: Vec<Loop> = shape.iter().map(|l| tidy(l)).filter(|l| l.len() > 2).collect();
        if !loops.is_empty() {
            out.shapes.push(loops);
        }
    }
    out
}

fn tidy(points: &[DVec2]) -> Loop {
    let mut kept: Loop = points.to_vec();
    loop {
        let n = kept.len();
        if n < 4 {
            return kept;
        }
        let spare = (0..n).find(|&i| {
            let (a, p, b) = (kept[(i + n - 1) % n], kept[i], kept[(i + 1) % n]);
            p.distance(b) < SAME || nearest_on_segment(p, a, b).distance(p) < SAME
        });
        match spare {
            Some(i) => drop(kept.remove(i)),
            None => return kept,
        }
    }
}

impl Flat {
    /// Bends the flat again and gives where a point of a face's flat stretch comes to lie in the pan: rolled round each
    /// strip on the middle of the metal. Uses the lines, widths, angles and radii of the flat pattern and where the
    /// first face lies, and nothing else of the model.
    pub fn fold(&self, part: &Part, face: usize, at: DVec2) -> DVec3 {
        let [o, x, y, _] = self.frame(part, face);
        o + x * at.x + y * at.y
    }

    /// Origin, the two directions of the flat and the positive side of a face after bending.
    fn frame(&self, part: &Part, face: usize) -> [DVec3; 4] {
        let Some(strip) = self.strips.iter().find(|s| s.face == face) else {
            let pose = part.first;
            let way = |v: DVec3| pose.transform_vector3(v);
            return [pose.translation, way(DVec3::X), way(DVec3::Y), way(DVec3::Z)];
        };
        let [o, x, y, n] = self.frame(part, strip.parent);
        let lift = |v: DVec2| x * v.x + y * v.y;
        let (along, out) = (lift(strip.along), lift(strip.along.perp()));
        let side = if strip.up { n } else { -n };
        let (sin, cos) = strip.bend.angle.sin_cos();
        let r = strip.bend.middle_radius();
        // Where the second tangent line comes to lie, and the way on from there.
        let start = o + lift(strip.origin) + out * (r * sin) + side * (r * (1.0 - cos));
        let on = out * cos + side * sin;
        let turned = |v: DVec2| along * v.dot(strip.along) + on * v.dot(strip.along.perp());
        let second = strip.origin + strip.along.perp() * strip.bend.allowance();
        let (x, y) = (turned(DVec2::X), turned(DVec2::Y));
        [start - turned(second), x, y, x.cross(y)]
    }
}
