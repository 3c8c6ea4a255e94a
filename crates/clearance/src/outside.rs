//! The pan's own bodies: what stands outside (wall, floor, flange, bolt heads, drain plug), its inside walls, its
//! plates.

use crate::{Body, Filled, Piece, Shape, Tree};
use glam::{DVec2, DVec3};
use pan::skin::Skin;
use pan::{Cavity, Outline, Pan, Pocket, Region, Side};
use serde::{Deserialize, Serialize};

/// Chords of arcs stay this close to them where gaps are measured [m].
pub(crate) const CLOSENESS: f64 = 5e-6;
/// And where a way out is searched [m].
pub(crate) const ROUGH: f64 = 100e-6;
/// Plans with more corners than this are parted into triangles: a hull of many points is slow to ask.
const MOST_CORNERS: usize = 48;

/// What stands round the cavity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outside {
    /// Thickness of the walls [m].
    pub wall: f64,
    /// Thickness of the floor, a skid plate welded to it included [m].
    pub floor: f64,
    /// True when outside edges are square, as milled; false when they are round about the cavity's own, as bent.
    pub square: bool,
    /// The flange.
    pub flange: Flange,
    /// Bolt heads under the flange: places in plan [m].
    pub bolts: Vec<DVec2>,
    /// Diameter of a head, washer included [m].
    pub head_diameter: f64,
    /// Height of a head, washer included [m].
    pub head_height: f64,
    /// The drain plug.
    pub plug: Option<Plug>,
}

/// The flange.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Flange {
    /// Thickness [m]; zero for none.
    pub thickness: f64,
    /// How far it stands out from the cavity's edge [m]; of no meaning with an outline.
    pub width: f64,
    /// Its outer edge in plan.
    pub outline: Option<Outline>,
}

/// A drain plug with its boss.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plug {
    /// Middle of its face on the pan [m].
    pub at: DVec3,
    /// Unit direction in which its head points.
    pub points: DVec3,
    /// Diameter [m].
    pub diameter: f64,
    /// How far the head stands out [m].
    pub length: f64,
}

pub(crate) const WALL: u32 = 0;
pub(crate) const FLOOR: u32 = 1;
const FLANGE: u32 = 2;
const PLUG: u32 = 3;
const FIRST_BOLT: u32 = 4;

/// Everything of the pan that stands outside, as one body with named parts; the flange face is z = 0.
pub fn outside(pan: &Pan, outside: &Outside) -> Body {
    outside_near(pan, outside, CLOSENESS)
}

/// The same with chords that close to arcs [m].
pub(crate) fn outside_near(pan: &Pan, outside: &Outside, closeness: f64) -> Body {
    let cavity = &pan.cavity;
    let mut pieces = shell(cavity, outside, 0.0, closeness);
    let bottom = -outside.flange.thickness;
    if outside.flange.thickness > 0.0 {
        pieces.extend(slab(&flange_plan(cavity, &outside.flange), bottom, 0.0, FLANGE));
    }
    let mut parts = ["wall", "floor", "flange", "drain plug"]
        .map(str::to_owned)
        .to_vec();
    for (i, at) in outside.bolts.iter().enumerate() {
        parts.push(format!("bolt head {}", i + 1));
        let (top, end) = (at.extend(bottom), at.extend(bottom - outside.head_height));
        let part = FIRST_BOLT + i as u32;
        pieces.push(Piece::cylinder(top, end, [0.5 * outside.head_diameter; 2], part));
    }
    if let Some(plug) = &outside.plug {
        let end = plug.at + plug.points * plug.length;
        pieces.push(Piece::cylinder(plug.at, end, [0.5 * plug.diameter; 2], PLUG));
    }
    Body {
        name: "pan".into(),
        parts,
        shape: Shape::Pieces(Tree::new(pieces)),
        filled: Filled::Cavity(Box::new(cavity.clone())),
    }
}

/// The walls and floors that face the oil, below the flange.
pub fn inside(cavity: &Cavity) -> Body {
    inside_near(cavity, CLOSENESS)
}

/// The same with chords that close to arcs [m].
pub(crate) fn inside_near(cavity: &Cavity, closeness: f64) -> Body {
    let pieces = match own_pockets(cavity) {
        None => mesh_pieces(cavity, 0.0, DVec3::ZERO, 0.0),
        Some(pockets) => skin_pieces(&Skin::of(&pockets, 0.0, closeness, 0.0, 0.0), [0.0; 2], 0.0),
    };
    Body {
        name: "pan's inside".into(),
        parts: ["wall", "floor"].map(str::to_owned).to_vec(),
        shape: Shape::Pieces(Tree::new(pieces)),
        filled: Filled::Open,
    }
}

/// Each plate as a solid sheet, openings cut out; a perforated plate counts as a whole one.
pub fn plates(pan: &Pan) -> Vec<Body> {
    plates_cut_back(pan, 0.0)
}

/// The same, every edge cut back by a fitting gap [m]: a plate that is drawn up to the wall does not jam in it.
pub(crate) fn plates_cut_back(pan: &Pan, by: f64) -> Vec<Body> {
    let body = |plate: &pan::Plate| {
        let mut pieces = Vec::new();
        for panel in plate.panels() {
            let off = panel.normal * (0.5 * plate.thickness);
            for corners in convex_parts(&panel.solid().inset(by, CLOSENESS)) {
                let ends = corners.iter().map(|p| panel.point(*p));
                let both: Box<[DVec3]> = ends.flat_map(|p| [p - off, p + off]).collect();
                pieces.push(Piece::points(both, 0.0, 0));
            }
        }
        Body::solid(&plate.name, pieces)
    };
    pan.plates.iter().map(body).collect()
}

/// Plan of the flange, its hole left out.
pub fn flange_plan(cavity: &Cavity, flange: &Flange) -> Region {
    let hole = rim(cavity);
    let outer = match &flange.outline {
        Some(outline) => outline.region(0.0, CLOSENESS),
        None => hole.outset(flange.width, true, CLOSENESS),
    };
    outer.difference(&hole)
}

/// Plan of the pan's cavity at the flange face.
pub fn rim(cavity: &Cavity) -> Region {
    match own_pockets(cavity) {
        None => cavity.level_section(-1e-6),
        Some(pockets) => {
            let open: Vec<Region> = pockets
                .iter()
                .filter(|p| p.z_high >= 0.0)
                .map(|p| p.outline.region(p.corner_radius, CLOSENESS))
                .collect();
            Region::union_of(&open)
        }
    }
}

/// The pan's own pockets; `None` for a mesh.
pub(crate) fn own_pockets(cavity: &Cavity) -> Option<Vec<Pocket>> {
    let pockets = cavity.pockets();
    if pockets.is_empty() {
        return None;
    }
    Some(pockets.iter().filter(|p| p.side == Side::Pan).cloned().collect())
}

/// Walls and floors with their thickness, below `top` [m].
pub(crate) fn shell(cavity: &Cavity, outside: &Outside, top: f64, closeness: f64) -> Vec<Piece> {
    let Some(pockets) = own_pockets(cavity) else {
        let mut pieces = mesh_pieces(cavity, outside.wall, DVec3::ZERO, top);
        let more = outside.floor - outside.wall;
        if more > 0.0 {
            pieces.extend(mesh_pieces(
                cavity,
                outside.wall,
                DVec3::new(0.0, 0.0, -more),
                top,
            ));
        }
        return pieces;
    };
    shell_of(&pockets, outside, top, closeness)
}

/// The same for any pockets, below `top` [m].
fn shell_of(pockets: &[Pocket], outside: &Outside, top: f64, closeness: f64) -> Vec<Piece> {
    if outside.square {
        let skin = Skin::of(pockets, top, closeness, outside.wall, outside.floor);
        return skin_pieces(&skin, [0.0; 2], 0.0);
    }
    let skin = Skin::of(pockets, top, closeness, 0.0, 0.0);
    let mut pieces = skin_pieces(&skin, [outside.wall, outside.wall.min(outside.floor)], 0.0);
    let more = outside.floor - outside.wall;
    if more > 0.0 {
        // A floor thicker than the walls is the cavity let down by the difference, walls round it as thick as ever.
        pieces.extend(skin_pieces(&skin, [outside.wall; 2], -more));
    }
    pieces
}

/// Facets with a ball round them: `round` for walls and for level pieces; everything lifted by `lift`.
fn skin_pieces(skin: &Skin, round: [f64; 2], lift: f64) -> Vec<Piece> {
    let up = DVec3::new(0.0, 0.0, lift);
    let wall = |w: &[DVec3; 4]| Piece::points(w.map(|p| p + up), round[0], WALL);
    let mut pieces: Vec<Piece> = skin.walls.iter().map(wall).collect();
    for (plan, z) in &skin.levels {
        for corners in convex_parts(plan) {
            let at: Box<[DVec3]> = corners.iter().map(|p| p.extend(z + lift)).collect();
            pieces.push(Piece::points(at, round[1], FLOOR));
        }
    }
    pieces
}

/// Triangles of a mesh below `top` [m]; one that crosses it is cut off there. A facet that lies level is floor.
fn mesh_pieces(cavity: &Cavity, round: f64, carry: DVec3, top: f64) -> Vec<Piece> {
    let surface = cavity.surface();
    let mut pieces = Vec::new();
    for t in &surface.triangles {
        let corners = t.map(|c| surface.points[c as usize]);
        let mut kept = Vec::with_capacity(4);
        for i in 0..3 {
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            if a.z <= top {
                kept.push(a);
            }
            if (a.z < top && b.z > top) || (a.z > top && b.z < top) {
                kept.push(a.lerp(b, (a.z - top) / (a.z - b.z)));
            }
        }
        // A lid up there is no wall.
        if kept.len() < 3 || kept.iter().all(|p| p.z >= top) {
            continue;
        }
        let normal = (corners[1] - corners[0])
            .cross(corners[2] - corners[0])
            .normalize_or_zero();
        let part = if normal.z < -0.7 { FLOOR } else { WALL };
        let at: Box<[DVec3]> = kept.into_iter().map(|p| p + carry).collect();
        pieces.push(match at[..] {
            [a, b, c] => Piece::facet([a, b, c], round, part),
            _ => Piece::points(at, round, part),
        });
    }
    pieces
}

/// An upright slab over a plan.
pub(crate) fn slab(plan: &Region, z_low: f64, z_high: f64, part: u32) -> Vec<Piece> {
    let prism = |corners: Vec<DVec2>| {
        let both: Box<[DVec3]> = corners
            .iter()
            .flat_map(|p| [p.extend(z_low), p.extend(z_high)])
            .collect();
        Piece::points(both, 0.0, part)
    };
    convex_parts(plan).into_iter().map(prism).collect()
}

/// A region as convex figures that cover it.
pub fn convex_parts(region: &Region) -> Vec<Vec<DVec2>> {
    let mut parts = Vec::new();
    for shape in &region.shapes {
        let convex = shape.len() == 1 && shape[0].len() <= MOST_CORNERS && {
            let l = &shape[0];
            (0..l.len()).all(|i| {
                let (a, b, c) = (l[i], l[(i + 1) % l.len()], l[(i + 2) % l.len()]);
                (b - a).perp_dot(c - b) >= -1e-15
            })
        };
        if convex {
            parts.push(shape[0].clone());
        } else {
            let one = Region {
                shapes: vec![shape.clone()],
            };
            parts.extend(one.triangles().into_iter().map(|t| t.to_vec()));
        }
    }
    parts
}
