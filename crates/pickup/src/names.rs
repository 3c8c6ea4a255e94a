//! The parts of a pan by name, as a cover history counts them.

use std::collections::BTreeMap;

use pan::lattice::Face;
use pan::panel::Panel;
use pan::{Lattice, Pan};
use serde::{Deserialize, Serialize};

/// Spaces, doors and walls by name, as the history counts them.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PanWords {
    /// Spaces in the order of the history's rows.
    pub spaces: Vec<SpaceWords>,
    /// Doors in the order of the history's rows.
    pub doors: Vec<DoorWords>,
    /// Plates that stand between two spaces.
    pub walls: Vec<WallWords>,
}

/// A space by name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpaceWords {
    /// Name: "front left".
    pub name: String,
    /// True when the mouth draws from it.
    pub has_mouth: bool,
}

/// A door by name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DoorWords {
    /// Name in the design file.
    pub name: String,
    /// Space that it opens from; none when both sides are the same space.
    pub from: Option<usize>,
    /// Space that it opens into.
    pub into: Option<usize>,
    /// Largest opening angle [rad].
    pub stop: f64,
}

/// A plate between two spaces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WallWords {
    /// Name in the design file.
    pub name: String,
    /// The two spaces, as indices.
    pub between: (usize, usize),
}

impl PanWords {
    /// Names of the spaces, doors and dividing plates of a pan and its lattice.
    ///
    /// A plate counts as dividing two spaces where the line between the middles of two cells of different
    /// spaces goes through it; the plate with most such places stands first.
    pub fn of(pan: &Pan, lattice: &Lattice) -> PanWords {
        let spaces = lattice
            .spaces
            .iter()
            .map(|s| SpaceWords {
                name: s.name.clone(),
                has_mouth: s.has_mouth,
            })
            .collect();
        let doors = lattice
            .doors
            .iter()
            .map(|hung| {
                let door = &pan.doors[hung.door];
                let sides = hung.faces.first().and_then(|f| {
                    let (low, high) = spaces_of_face(lattice, f.face)?;
                    Some(if f.sense > 0.0 { (low, high) } else { (high, low) })
                });
                let (from, into) = sides.filter(|(from, into)| from != into).unzip();
                DoorWords {
                    name: door.name.clone(),
                    from,
                    into,
                    stop: door.stop,
                }
            })
            .collect();
        PanWords {
            spaces,
            doors,
            walls: walls(pan, lattice),
        }
    }
}

/// Spaces on the low and the high side of a face, when both sides are open.
fn spaces_of_face(lattice: &Lattice, face: Face) -> Option<(usize, usize)> {
    let (low, high) = lattice.cells_of_face(face.axis as usize, face.index as usize)?;
    let space = |cell: usize| {
        let space = lattice.space_of[cell] as usize;
        (space < lattice.spaces.len()).then_some(space)
    };
    Some((space(low)?, space(high)?))
}

fn walls(pan: &Pan, lattice: &Lattice) -> Vec<WallWords> {
    let panels: Vec<(usize, Panel)> = (pan.plates.iter().enumerate())
        .flat_map(|(plate, p)| p.panels().into_iter().map(move |panel| (plate, panel)))
        .collect();
    let mut places: BTreeMap<(usize, (usize, usize)), usize> = BTreeMap::new();
    for axis in 0..3 {
        for index in 0..lattice.open_area[axis].len() {
            let face = Face {
                axis: axis as u8,
                index: index as u32,
            };
            let Some((a, b)) = spaces_of_face(lattice, face).filter(|(a, b)| a != b) else {
                continue;
            };
            let Some((low, high)) = lattice.cells_of_face(axis, index) else {
                continue;
            };
            let centre = |cell: usize| {
                let [i, j, k] = lattice.cell_place(cell);
                lattice.centre(i, j, k)
            };
            let (low, high) = (centre(low), centre(high));
            // A plate may stand half a cell from its face, just beyond a cell's middle by rounding.
            let slack = 0.01 * (high - low);
            for (plate, panel) in &panels {
                let through = panel.crossing(low - slack, high + slack);
                if through.is_some_and(|at| panel.outline.contains(at)) {
                    *places.entry((*plate, (a.min(b), a.max(b)))).or_default() += 1;
                }
            }
        }
    }
    let mut walls: Vec<_> = places.into_iter().collect();
    walls.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    walls
        .into_iter()
        .map(|((plate, between), _)| WallWords {
            name: pan.plates[plate].name.clone(),
            between,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, DVec3};
    use pan::{Cavity, Door, Hinge, Mouth, Outline, Plate, PlateShape, Pocket, Side};

    use super::*;

    /// A box with two walls; the doors in them open toward the middle, where the mouth is.
    fn walled() -> Pan {
        let corners = [(-0.15, -0.12), (0.15, -0.12), (0.15, 0.12), (-0.15, 0.12)];
        let pocket = Pocket {
            name: "box".into(),
            side: Side::Pan,
            outline: Outline {
                vertices: corners.map(|(x, y)| (DVec2::new(x, y), 0.0)).to_vec(),
            },
            z_low: -0.15,
            z_high: 0.0,
            draft: 0.0,
            corner_radius: 0.0,
            floor_radius: 0.0,
        };
        let wall = |name: &str, y: f64| Plate {
            name: name.into(),
            shape: PlateShape::Wall {
                path: vec![DVec2::new(-0.16, y), DVec2::new(0.16, y)],
                z_low: -0.16,
                z_high: -0.05,
            },
            thickness: 0.002,
            openings: Vec::new(),
            perforation: 0.0,
            perforation_hole: 0.0,
        };
        let door = |name: &str, plate, opens_positive| Door {
            name: name.into(),
            plate,
            low: DVec2::new(0.10, -0.14),
            high: DVec2::new(0.15, -0.10),
            hinge: Hinge::Top,
            opens_positive,
            mass: 0.03,
            stop: 1.0,
            gap: 0.001,
            density: 2700.0,
            spring: [0.0; 2],
        };
        Pan {
            cavity: Cavity::from_pockets(&[pocket]).unwrap(),
            plates: vec![wall("A", -0.051), wall("B", 0.052)],
            // The walls run toward +x, so their positive side is +y.
            doors: vec![door("1", 0, true), door("2", 1, false)],
            mouth: Mouth {
                at: DVec3::new(0.0, 0.0, -0.14),
                diameter: 0.02,
                outside: 0.023,
            },
            returns: Vec::new(),
            crank: None,
        }
    }

    #[test]
    fn walls_and_doors_are_told_with_the_spaces_they_part() {
        let pan = walled();
        let words = PanWords::of(&pan, &Lattice::build(&pan, 0.006).unwrap());
        let space = |name: &str| words.spaces.iter().position(|s| s.name == name).expect(name);
        let middle = words.spaces.iter().position(|s| s.has_mouth).unwrap();
        assert_eq!(words.spaces.len(), 3);
        let pair = |other: usize| (other.min(middle), other.max(middle));
        let wall = |name: &str| words.walls.iter().find(|w| w.name == name).expect(name).between;
        assert_eq!(wall("A"), pair(space("right")));
        assert_eq!(wall("B"), pair(space("left")));
        let sides: Vec<_> = words.doors.iter().map(|d| (d.from, d.into)).collect();
        assert_eq!(
            sides,
            [
                (Some(space("right")), Some(middle)),
                (Some(space("left")), Some(middle))
            ]
        );
    }
}
