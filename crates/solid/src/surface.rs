//! The checked thing: a closed surface, and how it was understood.

use crate::fault::{Fault, length};
use crate::format::{self, Format};
use crate::heal::{self, Healed, Healing, Refused};
use crate::mesh::Mesh;
use crate::unit::{self, Unit, UnitFrom};
use crate::{obj, stl, threemf};
use glam::DVec3;
use std::borrow::Cow;

/// What the user states about a file.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// Its unit, when stated.
    pub unit: Option<Unit>,
    /// What may be healed.
    pub healing: Healing,
    /// The solid may be of any size: a tank in a laboratory, say. Then the unit is never guessed.
    pub any_size: bool,
}

/// What a file was understood as.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// Its format.
    pub format: Format,
    /// Its unit.
    pub unit: Unit,
    /// How the unit is known.
    pub unit_from: UnitFrom,
    /// Facets in the file.
    pub facets: usize,
    /// Different corners in the file.
    pub corners: usize,
    /// Bodies that the file names; 1 where it names none.
    pub bodies: usize,
    /// What else is worth knowing, one sentence each.
    pub said: Vec<String>,
}

/// A closed surface: every edge is shared by exactly two triangles that agree on which side is out, and out is out.
#[derive(Clone, Debug)]
pub struct Surface {
    mesh: Mesh,
    source: Source,
    healed: Healed,
    volume: f64,
    bounds: (DVec3, DVec3),
}

impl Surface {
    /// Corners [m, axes of the file] and triangles, counter-clockwise seen from outside.
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// The mesh itself.
    pub fn into_mesh(self) -> Mesh {
        self.mesh
    }

    /// How the file was understood.
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// What was healed.
    pub fn healed(&self) -> &Healed {
        &self.healed
    }

    /// Enclosed volume [m³].
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Low and high corner [m].
    pub fn bounds(&self) -> (DVec3, DVec3) {
        self.bounds
    }
}

/// Reads a file as a closed surface. Bytes that are handed over are dropped as soon as they are understood, for they
/// may be many.
///
/// ```
/// let text = "v 0 0 0\nv 300 0 0\nv 0 200 0\nv 0 0 100\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";
/// let surface = sumpwright_solid::read(text.as_bytes(), &sumpwright_solid::Asked::default()).unwrap();
/// assert_eq!(surface.source().unit, sumpwright_solid::Unit::Millimetre);
/// assert!((surface.volume() - 1e-3).abs() < 1e-15);
/// ```
pub fn read<'b>(bytes: impl Into<Cow<'b, [u8]>>, asked: &Asked) -> Result<Surface, Box<Refused>> {
    let early = |fault: Fault| {
        Box::new(Refused {
            fault,
            mesh: Mesh::default(),
        })
    };
    let bytes = bytes.into();
    let (mut mesh, source) = understood(&bytes, asked).map_err(early)?;
    drop(bytes);
    let metres = source.unit.metres();
    for p in &mut mesh.points {
        *p *= metres;
    }
    let (mesh, healed) = heal::heal(mesh, asked.healing)?;
    let bounds = mesh.bounds().unwrap_or_default();
    Ok(Surface {
        volume: mesh.volume(),
        bounds,
        mesh,
        source,
        healed,
    })
}

/// Reads a file as loose triangles [m], closed or not, and heals nothing: for bodies that are only to be kept clear of.
pub fn triangles<'b>(bytes: impl Into<Cow<'b, [u8]>>, asked: &Asked) -> Result<(Mesh, Source), Fault> {
    let bytes = bytes.into();
    let (mut mesh, source) = understood(&bytes, asked)?;
    let metres = source.unit.metres();
    mesh.points.iter_mut().for_each(|p| *p *= metres);
    Ok((mesh, source))
}

fn understood(bytes: &[u8], asked: &Asked) -> Result<(Mesh, Source), Fault> {
    let format = format::of(bytes)?;
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut said = Vec::new();
    let mut own = None;
    let (mesh, bodies) = match format {
        Format::StlBinary => (stl::binary(bytes)?, 1),
        Format::StlText => stl::text(text)?,
        Format::Obj => obj::read(text)?,
        Format::ThreeMf => {
            let read = threemf::read(bytes)?;
            (own, said) = (Some(read.unit), read.said);
            (read.mesh, read.bodies)
        }
    };
    let Some((low, high)) = mesh.bounds() else {
        let what = "the mesh has no facets";
        return Err(Fault::new("solid-empty", what, "export the solid again"));
    };
    let size = (high - low).max_element();
    let (unit, unit_from) = match (asked.unit, own) {
        (Some(stated), Some(own)) if stated != own => {
            let what = format!(
                "{} is stated, but the 3MF file says {}",
                stated.word(),
                own.word()
            );
            let mend = format!(
                "leave the unit out; if the file is wrong (it would be {} long), export it again with its unit right",
                length(size * own.metres())
            );
            return Err(Fault::new("solid-unit", what, mend));
        }
        (Some(stated), _) => (stated, UnitFrom::Stated),
        (None, Some(own)) => (own, UnitFrom::File),
        (None, None) if asked.any_size => {
            let what = format!("a {} file does not say its unit", format.word());
            return Err(Fault::new("solid-unit", what, "state it, such as \"mm\""));
        }
        (None, None) => (unit::guess(size)?, UnitFrom::Size),
    };
    if !asked.any_size
        && let Some(slip) = unit::slip(size * unit.metres(), unit, unit_from)
    {
        return Err(slip);
    }
    let source = Source {
        format,
        unit,
        unit_from,
        facets: mesh.triangles.len(),
        corners: mesh.points.len(),
        bodies: bodies.max(1),
        said,
    };
    Ok((mesh, source))
}
