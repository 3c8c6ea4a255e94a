//! Mesh files for the rest of the house: a solid's faults placed, and a file that the user names himself.

use std::path::{Path, PathBuf};

use glam::DVec3;
use solid::part::{Part, Stated};
use solid::{Asked, Refused, Spot, Surface, Unit};

use crate::fault::{Fault, Place};
use crate::sources::{MESH_LIMIT, Sources};

/// A fault of the solid in `file`, at a place of the design or at the file itself.
pub(crate) fn placed(fault: &solid::Fault, file: &Path, place: Place, key: &str) -> Fault {
    let here = *place.file == *file;
    let (place, what) = match &fault.spot {
        Spot::Line(line) if here => (Place { line: *line, ..place }, fault.what.clone()),
        Spot::File => (place, fault.what.clone()),
        spot => {
            let name = file.file_name().unwrap_or(file.as_os_str()).to_string_lossy();
            (place, format!("{} ({name}, {spot})", fault.what))
        }
    };
    Fault {
        id: fault.id,
        place,
        key: key.to_owned(),
        what,
        mend: fault.mend.clone(),
    }
}

/// Corners [m] and triangles of a body that need not be closed.
pub(crate) fn skin(
    bytes: &[u8],
    unit: Unit,
    file: &Path,
    place: &Place,
    key: &str,
) -> Result<(Vec<DVec3>, Vec<[u32; 3]>), Fault> {
    let asked = Asked {
        unit: Some(unit),
        any_size: true,
        ..Asked::default()
    };
    let (mesh, _) =
        solid::triangles(bytes, &asked).map_err(|fault| placed(&fault, file, place.clone(), key))?;
    Ok((mesh.points, mesh.triangles))
}

/// A mesh file that the user named himself.
#[derive(Clone, Debug)]
pub struct NamedSolid {
    /// Where it lies.
    pub path: PathBuf,
    /// What he states about it.
    pub asked: Asked,
    /// The pan part in it, unless it is the cavity itself; `None` when that is to be seen from its shape.
    pub part: Option<Option<Stated>>,
}

/// What a solid was understood as.
pub struct LookedAt {
    /// The closed surface.
    pub surface: Surface,
    /// The pan part, when it is one.
    pub part: Option<Part>,
    /// That it is a part was seen from its shape.
    pub seen: bool,
}

/// Reads a mesh file. A solid that is refused comes back with its mesh as far as it got, for a picture.
pub fn look_at_solid(named: &NamedSolid) -> Result<LookedAt, (Fault, Box<Refused>)> {
    let place = Place::file(named.path.clone());
    let refused = |refused: Box<Refused>| (placed(&refused.fault, &named.path, place.clone(), ""), refused);
    let bytes = Sources::Disk
        .named_by_user(&named.path, MESH_LIMIT)
        .map_err(|fault| {
            let empty = Refused {
                fault: solid::Fault::new(fault.id, fault.what.clone(), fault.mend.clone()),
                mesh: solid::Mesh::default(),
            };
            (fault, Box::new(empty))
        })?;
    let surface = solid::read(bytes, &named.asked).map_err(refused)?;
    let (stated, seen) = match &named.part {
        Some(stated) => (stated.clone(), false),
        None if solid::part::looks_like_a_part(&surface) => (Some(Stated::default()), true),
        None => (None, true),
    };
    let part = match &stated {
        Some(stated) => match solid::part::understand(&surface, stated) {
            Ok(part) => Some(part),
            Err(fault) => {
                let mesh = surface.into_mesh();
                return Err(refused(Box::new(Refused { fault, mesh })));
            }
        },
        None => None,
    };
    Ok(LookedAt { surface, part, seen })
}
