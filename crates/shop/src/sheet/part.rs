//! A bent part: flat faces joined by bends, as a tree.
//!
//! All faces are drawn in one plane: the part unfolded about the sharp lines where the middle planes of its faces would
//! meet, as if metal had no thickness. For a wall these are the plate coordinates of the design. [`super::flat`] puts the
//! allowance of each bend in; [`Part::pose`] is where a face of the model lies in the pan.

use super::bend::Bend;
use glam::{DAffine3, DMat3, DVec2, DVec3};
use pan::Region;

/// How a face hangs on another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fold {
    /// The face it hangs on, by its place in the list; always an earlier one.
    pub parent: usize,
    /// A point of the sharp line [m].
    pub origin: DVec2,
    /// Unit vector along the sharp line; the face lies to its left, the parent to its right.
    pub along: DVec2,
    /// The bend.
    pub bend: Bend,
    /// True when the face comes up, toward the reader of the flat.
    pub up: bool,
}

impl Fold {
    /// Unit vector out of the parent into the face.
    pub fn out(&self) -> DVec2 {
        self.along.perp()
    }

    /// Distances along the line and out of the parent.
    pub fn seen(&self, p: DVec2) -> DVec2 {
        DVec2::new(
            (p - self.origin).dot(self.along),
            (p - self.origin).dot(self.out()),
        )
    }

    /// The point at these distances.
    pub fn at(&self, along: f64, out: f64) -> DVec2 {
        self.origin + self.along * along + self.out() * out
    }

    /// Rectangle between distances along and out.
    pub fn rectangle(&self, along: (f64, f64), out: (f64, f64)) -> Region {
        let corner = |s: f64, t: f64| self.at(s, t);
        Region::from_loops(&[vec![
            corner(along.0, out.0),
            corner(along.1, out.0),
            corner(along.1, out.1),
            corner(along.0, out.1),
        ]])
    }
}

/// A flat face.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// What it is, for people: "wall", "tab at the bottom".
    pub name: String,
    /// Its metal up to the sharp lines [m]; windows and notches are out of it.
    pub region: Region,
    /// How it hangs on an earlier face; `None` for the first.
    pub fold: Option<Fold>,
}

/// A bent part.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Name.
    pub name: String,
    /// Thickness of the metal [m].
    pub thickness: f64,
    /// The faces; the first has no fold, all others hang on an earlier one.
    pub faces: Vec<Face>,
    /// From the plane of the first face into the pan.
    pub first: DAffine3,
}

impl Part {
    /// Where a face of the model lies: takes (x, y, height over the plane) of the sharp plane into the pan.
    pub fn pose(&self, face: usize) -> DAffine3 {
        let Some(fold) = self.faces[face].fold else {
            return self.first;
        };
        // Turned about the sharp line; the right-hand rule about `along` lifts what lies to its left.
        let sense = if fold.up { 1.0 } else { -1.0 };
        let turn = DMat3::from_axis_angle(fold.along.extend(0.0), sense * fold.bend.angle);
        let o = fold.origin.extend(0.0);
        let about =
            DAffine3::from_translation(o) * DAffine3::from_mat3(turn) * DAffine3::from_translation(-o);
        self.pose(fold.parent) * about
    }

    /// A point of a face's middle plane in the pan.
    pub fn point(&self, face: usize, at: DVec2) -> DVec3 {
        self.pose(face).transform_point3(at.extend(0.0))
    }

    /// Folds in order with the face that each carries.
    pub fn folds(&self) -> impl Iterator<Item = (usize, &Fold)> {
        self.faces
            .iter()
            .enumerate()
            .filter_map(|(i, f)| f.fold.as_ref().map(|fold| (i, fold)))
    }
}
