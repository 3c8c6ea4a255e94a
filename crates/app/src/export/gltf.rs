//! Binary glTF 2.0 (`.glb`): the oil's surface in the pan, one file a frame.
//!
//! glTF has y up and metres; the pan frame has z up, so the top node turns by a quarter. Source: "glTF 2.0
//! Specification", The Khronos Group (ISO/IEC 12113:2022).

use super::surface::surface;
use crate::store::Scene;
use glam::{DQuat, DVec3};
use report::replay::{Mesh, ReplayDoor};
use serde_json::{Value, json};
use slosh::run::Frame;

/// Chunk types.
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BINARY_CHUNK: u32 = 0x004E_4942;
/// Component types, buffer targets and primitive modes.
const F32: u32 = 5126;
const U32: u32 = 5125;
const VERTICES: u32 = 34962;
const INDICES: u32 = 34963;
const LINES: u32 = 1;
const TRIANGLES: u32 = 4;

/// Materials, in the order of the file.
const OIL: usize = 0;
const SHELL: usize = 1;
const PLATE: usize = 2;
const DOOR: usize = 3;
const EDGE: usize = 4;

/// The oil's surface, the shell (glassy), plates, and doors as they stand at this instant.
pub fn glb(scene: &Scene, frame: &Frame) -> Vec<u8> {
    let mut file = File::default();
    let amount: Vec<f32> = frame
        .fill
        .iter()
        .zip(&scene.open)
        .map(|(fill, open)| f32::from(*fill) * f32::from(*open) / (255.0 * 255.0))
        .collect();
    let oil = surface(scene.n, scene.cell, scene.origin, &amount);
    file.part("oil", &oil, OIL, true);
    file.part("shell", &scene.parts.shell, SHELL, false);
    for (name, mesh) in &scene.parts.plates {
        file.part(&format!("plate {name}"), mesh, PLATE, false);
    }
    for (door, angle) in scene.parts.doors.iter().zip(&frame.doors) {
        let mesh = leaf(door, f64::from(*angle));
        file.part(&format!("door {}", door.name), &mesh, DOOR, false);
    }
    file.finish(scene, frame)
}

/// A door as a rectangle turned by its angle.
fn leaf(door: &ReplayDoor, angle: f64) -> Mesh {
    let foot = DVec3::from_array(door.corners[0]);
    let turn = DQuat::from_axis_angle(DVec3::from_array(door.hinge), angle);
    Mesh {
        points: door
            .corners
            .iter()
            .map(|p| (foot + turn * (DVec3::from_array(*p) - foot)).to_array())
            .collect(),
        triangles: vec![[0, 1, 2], [0, 2, 3]],
        edges: vec![[0, 1], [1, 2], [2, 3], [3, 0]],
    }
}

#[derive(Default)]
struct File {
    binary: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    nodes: Vec<Value>,
}

impl File {
    /// Adds a mesh as a node; nothing when it has no triangles and no edges (glTF knows no empty accessors).
    fn part(&mut self, name: &str, mesh: &Mesh, material: usize, smooth: bool) {
        let mut primitives = Vec::new();
        if mesh.triangles.is_empty() && mesh.edges.is_empty() {
            return;
        }
        let positions: Vec<[f32; 3]> = mesh.points.iter().map(|p| p.map(|v| v as f32)).collect();
        let position = self.vectors(&positions, true);
        if !mesh.triangles.is_empty() {
            let mut attributes = json!({ "POSITION": position });
            if smooth {
                let normals = normals(mesh);
                attributes["NORMAL"] = json!(self.vectors(&normals, false));
            }
            let indices = self.indices(mesh.triangles.as_flattened());
            primitives.push(json!({
                "attributes": attributes, "indices": indices, "material": material, "mode": TRIANGLES,
            }));
        }
        if !mesh.edges.is_empty() {
            let indices = self.indices(mesh.edges.as_flattened());
            primitives.push(json!({
                "attributes": { "POSITION": position }, "indices": indices, "material": EDGE, "mode": LINES,
            }));
        }
        self.nodes
            .push(json!({ "name": name, "mesh": self.meshes.len() }));
        self.meshes
            .push(json!({ "name": name, "primitives": primitives }));
    }

    fn vectors(&mut self, values: &[[f32; 3]], bounds: bool) -> usize {
        let view = self.view(values.iter().flatten().flat_map(|v| v.to_le_bytes()), VERTICES);
        let mut accessor = json!({
            "bufferView": view, "componentType": F32, "count": values.len(), "type": "VEC3",
        });
        if bounds {
            let fold = |start: f32, pick: fn(f32, f32) -> f32| {
                [0, 1, 2].map(|a| values.iter().map(|v| v[a]).fold(start, pick))
            };
            accessor["min"] = json!(fold(f32::INFINITY, f32::min));
            accessor["max"] = json!(fold(f32::NEG_INFINITY, f32::max));
        }
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }

    fn indices(&mut self, values: &[u32]) -> usize {
        let view = self.view(values.iter().flat_map(|v| v.to_le_bytes()), INDICES);
        self.accessors.push(json!({
            "bufferView": view, "componentType": U32, "count": values.len(), "type": "SCALAR",
        }));
        self.accessors.len() - 1
    }

    /// All values are four bytes, so every view begins where it must.
    fn view(&mut self, bytes: impl Iterator<Item = u8>, target: u32) -> usize {
        let start = self.binary.len();
        self.binary.extend(bytes);
        self.views.push(json!({
            "buffer": 0, "byteOffset": start, "byteLength": self.binary.len() - start, "target": target,
        }));
        self.views.len() - 1
    }

    fn finish(mut self, scene: &Scene, frame: &Frame) -> Vec<u8> {
        let parts: Vec<usize> = (0..self.nodes.len()).collect();
        let top = self.nodes.len();
        let quarter = std::f64::consts::FRAC_1_SQRT_2;
        self.nodes.push(json!({
            "name": scene.name, "children": parts, "rotation": [-quarter, 0.0, 0.0, quarter],
        }));
        let material = |name: &str, colour: [f64; 4], rough: f64| {
            json!({
                "name": name,
                "pbrMetallicRoughness": {
                    "baseColorFactor": colour, "metallicFactor": 0.0, "roughnessFactor": rough,
                },
                "alphaMode": if colour[3] < 1.0 { "BLEND" } else { "OPAQUE" },
                "doubleSided": true,
            })
        };
        let text = json!({
            "asset": { "version": "2.0", "generator": concat!("sumpwright ", env!("CARGO_PKG_VERSION")) },
            "scene": 0,
            "scenes": [{
                "name": scene.name, "nodes": [top],
                "extras": { "time_s": frame.time, "gravity_m_s2": frame.gravity },
            }],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": [
                material("oil", [0.78, 0.42, 0.05, 1.0], 0.25),
                material("shell", [0.6, 0.64, 0.68, 0.18], 0.6),
                material("plate", [0.45, 0.5, 0.55, 0.6], 0.5),
                material("door", [0.15, 0.4, 0.65, 0.8], 0.5),
                material("edge", [0.12, 0.13, 0.15, 1.0], 1.0),
            ],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{ "byteLength": self.binary.len() }],
        });
        let mut text = text.to_string().into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        let total = 12 + 8 + text.len() + 8 + self.binary.len();
        let mut out = Vec::with_capacity(total);
        out.extend(b"glTF");
        for word in [2, total as u32, text.len() as u32, JSON_CHUNK] {
            out.extend(word.to_le_bytes());
        }
        out.extend(text);
        for word in [self.binary.len() as u32, BINARY_CHUNK] {
            out.extend(word.to_le_bytes());
        }
        out.extend(self.binary);
        out
    }
}

/// Normals at the points, weighted by the area of the triangles that meet there.
fn normals(mesh: &Mesh) -> Vec<[f32; 3]> {
    let mut sums = vec![DVec3::ZERO; mesh.points.len()];
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|p| DVec3::from_array(mesh.points[p as usize]));
        let normal = (b - a).cross(c - a);
        for p in t {
            sums[*p as usize] += normal;
        }
    }
    sums.iter()
        .map(|n| n.normalize_or(DVec3::Z).as_vec3().to_array())
        .collect()
}
