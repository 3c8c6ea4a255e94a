//! Shapes of our own invention, built corner by corner, and plain writers of the four formats.
#![allow(dead_code, reason = "every test takes what it needs")]

use glam::{DVec2, DVec3};
use std::collections::HashMap;
use std::f64::consts::TAU;
use std::fmt::Write;
use sumpwright_solid::Mesh;
use sumpwright_solid::ears::{Corner, in_plane};

/// Puts a solid together from upright walls and level faces that share their corners.
#[derive(Default)]
pub struct Builder {
    pub mesh: Mesh,
    known: HashMap<[u64; 3], u32>,
}

pub type Ring = Vec<DVec2>;

/// A rectangle, counter-clockwise.
pub fn rectangle(x: [f64; 2], y: [f64; 2]) -> Ring {
    vec![
        DVec2::new(x[0], y[0]),
        DVec2::new(x[1], y[0]),
        DVec2::new(x[1], y[1]),
        DVec2::new(x[0], y[1]),
    ]
}

/// A circle of `sides` corners, counter-clockwise.
pub fn circle(at: [f64; 2], radius: f64, sides: usize) -> Ring {
    let corner = |k| DVec2::from(at) + radius * DVec2::from_angle(TAU * k as f64 / sides as f64);
    (0..sides).map(corner).collect()
}

/// Area inside a ring.
pub fn area(ring: &[DVec2]) -> f64 {
    let next = ring.iter().skip(1).chain(ring.first());
    0.5 * ring.iter().zip(next).map(|(a, b)| a.perp_dot(*b)).sum::<f64>()
}

impl Builder {
    pub fn corner(&mut self, p: DVec3) -> u32 {
        let key = p.to_array().map(|v| (v + 0.0).to_bits());
        *self.known.entry(key).or_insert_with(|| {
            self.mesh.points.push(p);
            self.mesh.points.len() as u32 - 1
        })
    }

    /// The upright wall over a ring, seen from outside it, or from inside.
    pub fn wall(&mut self, ring: &[DVec2], z: [f64; 2], from_outside: bool) {
        for (k, a) in ring.iter().enumerate() {
            let b = ring[(k + 1) % ring.len()];
            let [p, q, r, s] =
                [a.extend(z[0]), b.extend(z[0]), b.extend(z[1]), a.extend(z[1])].map(|p| self.corner(p));
            for t in [[p, q, r], [p, r, s]] {
                self.triangle(t, from_outside);
            }
        }
    }

    /// A level face inside `outer` and outside all of `holes`.
    pub fn face(&mut self, outer: &[DVec2], holes: &[Ring], z: f64, up: bool) {
        let mut named = |p: &DVec2| Corner {
            at: *p,
            name: self.corner(p.extend(z)),
        };
        let mut loops = vec![outer.iter().map(&mut named).collect::<Vec<_>>()];
        loops.extend(
            holes
                .iter()
                .map(|hole| hole.iter().rev().map(&mut named).collect()),
        );
        for t in in_plane(loops) {
            self.triangle(t, up);
        }
    }

    fn triangle(&mut self, t: [u32; 3], as_is: bool) {
        self.mesh
            .triangles
            .push(if as_is { t } else { [t[0], t[2], t[1]] });
    }

    /// An upright prism.
    pub fn prism(&mut self, ring: &[DVec2], z: [f64; 2]) {
        self.wall(ring, z, true);
        self.face(ring, &[], z[0], false);
        self.face(ring, &[], z[1], true);
    }
}

/// A box [mm].
pub fn block(low: [f64; 3], high: [f64; 3]) -> Mesh {
    let mut b = Builder::default();
    b.prism(
        &rectangle([low[0], high[0]], [low[1], high[1]]),
        [low[2], high[2]],
    );
    b.mesh
}

/// Several meshes as one.
pub fn together(meshes: &[Mesh]) -> Mesh {
    let mut sum = Mesh::default();
    for m in meshes {
        let first = sum.points.len() as u32;
        sum.points.extend(&m.points);
        sum.triangles
            .extend(m.triangles.iter().map(|t| t.map(|c| c + first)));
    }
    sum
}

/// A cavity [mm]: a stepped box with a round well in its floor, 330 mm long. Gives its volume [mm³] in closed form.
pub fn cavity() -> (Mesh, f64) {
    let mut b = Builder::default();
    let (top, well) = (
        rectangle([-165.0, 165.0], [-100.0, 100.0]),
        circle([60.0, 10.0], 70.0, 90),
    );
    b.face(&top, &[], 0.0, true);
    b.wall(&top, [-40.0, 0.0], true);
    b.face(&top, std::slice::from_ref(&well), -40.0, false);
    b.wall(&well, [-120.0, -40.0], true);
    b.face(&well, &[], -120.0, false);
    let volume = area(&top) * 40.0 + area(&well) * 80.0;
    (b.mesh, volume)
}

/// Binary STL, coordinates times `scale`.
pub fn stl_binary(mesh: &Mesh, scale: f64) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((mesh.triangles.len() as u32).to_le_bytes());
    for t in 0..mesh.triangles.len() {
        bytes.extend([0; 12]);
        for p in mesh.corners(t) {
            for v in (p * scale).to_array() {
                bytes.extend((v as f32).to_le_bytes());
            }
        }
        bytes.extend([0, 0]);
    }
    bytes
}

/// STL as text.
pub fn stl_text(mesh: &Mesh, scale: f64) -> Vec<u8> {
    let mut text = String::from("solid of our own\n");
    for t in 0..mesh.triangles.len() {
        text += "  facet normal 0 0 0\n    outer loop\n";
        for p in mesh.corners(t) {
            let p = p * scale;
            writeln!(text, "      vertex {:.9e} {:.9e} {:.9e}", p.x, p.y, p.z).unwrap();
        }
        text += "    endloop\n  endfacet\n";
    }
    (text + "endsolid of our own\n").into_bytes()
}

/// OBJ.
pub fn obj(mesh: &Mesh, scale: f64) -> Vec<u8> {
    let mut text = String::from("# of our own\no part\n");
    for p in &mesh.points {
        let p = *p * scale;
        writeln!(text, "v {} {} {}", p.x, p.y, p.z).unwrap();
    }
    for t in &mesh.triangles {
        writeln!(text, "f {}//1 {}//1 {}//1", t[0] + 1, t[1] + 1, t[2] + 1).unwrap();
    }
    text.into_bytes()
}

/// A 3MF mesh element.
pub fn threemf_mesh(mesh: &Mesh, scale: f64) -> String {
    let mut text = String::from("<mesh><vertices>\n");
    for p in &mesh.points {
        let p = *p * scale;
        writeln!(text, "<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>", p.x, p.y, p.z).unwrap();
    }
    text += "</vertices><triangles>\n";
    for t in &mesh.triangles {
        writeln!(
            text,
            "<triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"/>",
            t[0], t[1], t[2]
        )
        .unwrap();
    }
    text + "</triangles></mesh>"
}

/// A 3MF model with resources and build given.
pub fn threemf_model(unit: &str, resources: &str, build: &str) -> Vec<u8> {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- it's ours -->\n<model unit=\"{unit}\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" \
         xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\">\n\
         <resources>{resources}</resources>\n<build>{build}</build>\n</model>\n"
    )
    .into_bytes()
}

/// A 3MF package round a model, its parts not packed.
pub fn threemf(model: Vec<u8>) -> Vec<u8> {
    package(
        vec![("_rels/.rels", relations()), ("3D/3dmodel.model", model)],
        |bytes| (0, bytes.to_vec()),
    )
}

/// A 3MF file of one mesh.
pub fn threemf_of(mesh: &Mesh, unit: &str, scale: f64) -> Vec<u8> {
    let resources = format!(
        "<object id=\"1\" type=\"model\">{}</object>",
        threemf_mesh(mesh, scale)
    );
    threemf(threemf_model(unit, &resources, "<item objectid=\"1\"/>"))
}

/// The part that names the model.
pub fn relations() -> Vec<u8> {
    b"<?xml version=\"1.0\"?><Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\
      <Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" \
      Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>"
        .to_vec()
}

/// A ZIP archive; `pack` gives method and packed bytes.
pub fn package(parts: Vec<(&str, Vec<u8>)>, pack: impl Fn(&[u8]) -> (u16, Vec<u8>)) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut directory = Vec::new();
    let count = parts.len() as u16;
    for (name, part) in parts {
        let (method, packed) = pack(&part);
        let at = bytes.len() as u32;
        let mut common = Vec::new();
        common.extend(20u16.to_le_bytes());
        common.extend(0u16.to_le_bytes());
        common.extend(method.to_le_bytes());
        common.extend([0; 4]);
        common.extend(checksum(&part).to_le_bytes());
        common.extend((packed.len() as u32).to_le_bytes());
        common.extend((part.len() as u32).to_le_bytes());
        common.extend((name.len() as u16).to_le_bytes());
        common.extend(0u16.to_le_bytes());
        bytes.extend(b"PK\x03\x04");
        bytes.extend(&common);
        bytes.extend(name.as_bytes());
        bytes.extend(packed);
        directory.extend(b"PK\x01\x02\x14\x00");
        directory.extend(&common);
        directory.extend([0; 10]);
        directory.extend(at.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let (at, length) = (bytes.len() as u32, directory.len() as u32);
    bytes.extend(directory);
    bytes.extend(b"PK\x05\x06\0\0\0\0");
    bytes.extend(count.to_le_bytes());
    bytes.extend(count.to_le_bytes());
    bytes.extend(length.to_le_bytes());
    bytes.extend(at.to_le_bytes());
    bytes.extend([0, 0]);
    bytes
}

/// CRC-32 as ZIP has it, bit by bit.
fn checksum(bytes: &[u8]) -> u32 {
    let step = |crc: u32, byte: &u8| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| {
            if c & 1 == 1 { c >> 1 ^ 0xedb8_8320 } else { c >> 1 }
        })
    };
    !bytes.iter().fold(!0, step)
}

/// A machined pan of our invention [mm]: walls of 5 mm, a floor of 6 mm, a flange of 10 mm with 14 bolt holes of
/// 8.5 mm, two blind dowel holes, a drain boss with a hole of 14 mm through the floor, a dipstick hole of 9 mm through
/// the front wall, and a post on the floor that reaches up to the flange. The flange is z = 0.
pub struct PanPart {
    pub mesh: Mesh,
    /// Oil up to the flange [mm³].
    pub oil: f64,
    /// Metal [mm³].
    pub metal: f64,
    pub bolts: Vec<[f64; 2]>,
}

pub fn pan_part() -> PanPart {
    let mut b = Builder::default();
    let (flange, outside, inside) = (
        rectangle([-190., 190.], [-120., 120.]),
        rectangle([-165., 165.], [-95., 95.]),
        rectangle([-160., 160.], [-90., 90.]),
    );
    let mut bolts = Vec::new();
    for x in [-150., -90., -30., 30., 90., 150.] {
        bolts.extend([[x, -107.], [x, 107.]]);
    }
    bolts.extend([[-177., 0.], [177., 0.]]);
    let bolt_holes: Vec<Ring> = bolts.iter().map(|at| circle(*at, 4.25, 32)).collect();
    let dowels: Vec<Ring> = [[-177., 90.], [177., -90.]]
        .iter()
        .map(|at| circle(*at, 3., 24))
        .collect();
    let (drain, boss, post) = (
        circle([80., -40.], 7., 36),
        circle([80., -40.], 16., 36),
        circle([-60., 20.], 10., 36),
    );
    let through = |rings: &[Ring], more: &[Ring]| [rings, more].concat();
    // Top of the flange, its dowels, and the top of the post in the same plane.
    let mut openings = through(&bolt_holes, &dowels);
    openings.push(inside.clone());
    b.face(&flange, &openings, 0., true);
    b.face(&post, &[], 0., true);
    for dowel in &dowels {
        b.wall(dowel, [-6., 0.], false);
        b.face(dowel, &[], -6., true);
    }
    for hole in &bolt_holes {
        b.wall(hole, [-10., 0.], false);
    }
    b.wall(&flange, [-10., 0.], true);
    let mut under = bolt_holes.clone();
    under.push(outside.clone());
    b.face(&flange, &under, -10., false);
    // Outer skin with its boss; inner skin with its floor; the drain between them.
    b.face(&outside, std::slice::from_ref(&boss), -116., false);
    b.wall(&boss, [-124., -116.], true);
    b.face(&boss, std::slice::from_ref(&drain), -124., false);
    b.wall(&drain, [-124., -110.], false);
    b.face(&inside, &[drain.clone(), post.clone()], -110., true);
    b.wall(&post, [-110., 0.], true);
    // The dipstick hole goes through the front wall: x = 160 inside, 165 outside, round (y, z) = (30, -50).
    let stick = circle([30., -50.], 4.5, 28);
    for (x, ring, z, inward) in [
        (165., &outside, [-116., -10.], false),
        (160., &inside, [-110., 0.], true),
    ] {
        for k in [0, 2, 3] {
            b.wall_piece(ring[k], ring[(k + 1) % 4], z, !inward);
        }
        let (low, high) = (ring[1].y, ring[2].y);
        b.upright(
            x,
            &rectangle([low, high], z),
            std::slice::from_ref(&stick),
            !inward,
        );
    }
    for (k, p) in stick.iter().enumerate() {
        let q = stick[(k + 1) % stick.len()];
        let corners = [(160., p), (160., &q), (165., &q), (165., p)];
        let [c0, c1, c2, c3] = corners.map(|(x, p)| b.corner(DVec3::new(x, p.x, p.y)));
        b.mesh.triangles.extend([[c0, c2, c1], [c0, c3, c2]]);
    }
    let oil = (area(&inside) - area(&post)) * 110.;
    let holes: f64 = bolt_holes.iter().map(|h| area(h) * 10.).sum::<f64>()
        + dowels.iter().map(|d| area(d) * 6.).sum::<f64>();
    let body = area(&flange) * 10. + area(&outside) * 106. + area(&boss) * 8.;
    let metal = body - oil - holes - area(&drain) * 14. - area(&stick) * 5.;
    PanPart {
        mesh: b.mesh,
        oil,
        metal,
        bolts,
    }
}

impl Builder {
    /// One flat piece of a wall.
    fn wall_piece(&mut self, a: DVec2, b: DVec2, z: [f64; 2], as_is: bool) {
        let [p, q, r, s] =
            [a.extend(z[0]), b.extend(z[0]), b.extend(z[1]), a.extend(z[1])].map(|p| self.corner(p));
        self.triangle([p, q, r], as_is);
        self.triangle([p, r, s], as_is);
    }

    /// An upright face at `x`, its outline in (y, z), facing forward or back.
    fn upright(&mut self, x: f64, outer: &[DVec2], holes: &[Ring], forward: bool) {
        let mut named = |p: &DVec2| Corner {
            at: *p,
            name: self.corner(DVec3::new(x, p.x, p.y)),
        };
        let mut loops = vec![outer.iter().map(&mut named).collect::<Vec<_>>()];
        loops.extend(
            holes
                .iter()
                .map(|hole| hole.iter().rev().map(&mut named).collect()),
        );
        for t in in_plane(loops) {
            self.triangle(t, forward);
        }
    }
}
