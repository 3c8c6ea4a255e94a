//! `[mesh]`: the cavity as a closed STL mesh.

use std::io::Cursor;

use glam::DVec3;

use crate::fault::{Fault, Place};

/// Corner points [m] and triangles of an STL file, binary or ASCII; `unit` is the length of one of its units [m].
///
/// Errors when the file is neither, ends early or goes on after its last facet. Whether the mesh is closed is
/// for `pan` to say.
pub(crate) fn read(bytes: Vec<u8>, unit: f64, place: &Place) -> Result<(Vec<DVec3>, Vec<[u32; 3]>), Fault> {
    let fault = |what: String| Fault {
        id: "mesh-unreadable",
        place: place.clone(),
        key: String::new(),
        what,
        mend: "export the cavity again as an STL file, binary or ASCII".to_owned(),
    };
    let mut bytes = bytes;
    let binary = binary_length(&bytes) == Some(bytes.len() as u64);
    if binary {
        // Some programs begin even a binary file with "solid", which would have it taken for text.
        bytes[..5].fill(b' ');
    } else if !bytes.trim_ascii_start().starts_with(b"solid") {
        return Err(fault(match binary_length(&bytes) {
            Some(due) => format!(
                "the mesh file holds {} bytes but its facet count asks for {due}",
                bytes.len()
            ),
            None => "the mesh file is too short to be an STL file".to_owned(),
        }));
    }
    let mesh = stl_io::read_stl(&mut Cursor::new(bytes))
        .map_err(|e| fault(format!("the mesh cannot be read: {e}")))?;
    let points = mesh
        .vertices
        .iter()
        .map(|v| DVec3::from(v.0.map(f64::from)) * unit)
        .collect();
    let triangles = mesh
        .faces
        .iter()
        .map(|face| {
            let corner = |i: usize| u32::try_from(face.vertices[i]).ok();
            Some([corner(0)?, corner(1)?, corner(2)?])
        })
        .collect::<Option<_>>()
        .ok_or_else(|| fault("the mesh has more corners than can be counted".to_owned()))?;
    Ok((points, triangles))
}

/// Length that a binary STL file has by its facet count: 84 bytes of head and 50 for each facet.
fn binary_length(bytes: &[u8]) -> Option<u64> {
    let count: [u8; 4] = bytes.get(80..84)?.try_into().ok()?;
    Some(84 + 50 * u64::from(u32::from_le_bytes(count)))
}
