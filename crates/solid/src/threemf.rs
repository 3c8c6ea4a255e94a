//! 3MF: the package's model parts, their objects put together through components and transforms.
//!
//! Read are the core specification (meshes, components, build items, unit, transforms) and, of the production
//! extension, parts of the model kept in files of their own. Colours and materials are passed over. A file that
//! says it cannot be understood without any other extension is refused by name.
//! (3D Manufacturing Format, Core Specification 1.3, and Production Extension 1.1; from memory, checked against files
//! written by an independent library.)

mod model;
pub(crate) mod written;

use crate::fault::{Fault, Spot};
use crate::mesh::{Gathering, MOST_FACETS, Mesh, too_many};
use crate::package::{MOST_UNPACKED, Package};
use crate::unit::Unit;
use crate::xml::{Next, Xml};
use glam::DAffine3;
use model::{Model, Object};
use std::collections::HashMap;
use std::io::BufReader;

/// Deepest nesting of components.
const DEEPEST: usize = 16;
/// Relationship of the package to its model.
const MODEL: &[u8] = b"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";

/// What the package holds.
pub(crate) struct Read {
    pub mesh: Mesh,
    pub unit: Unit,
    pub bodies: usize,
    /// What was passed over.
    pub said: Vec<String>,
}

/// Reads a package.
pub(crate) fn read(bytes: &[u8]) -> Result<Read, Fault> {
    let package = Package::open(bytes)?;
    let root = root(&package)?;
    let mut left = MOST_UNPACKED;
    let mut models: HashMap<String, Model> = HashMap::new();
    let mut todo = vec![root.clone()];
    while let Some(name) = todo.pop() {
        let key = name.to_ascii_lowercase();
        if models.contains_key(&key) {
            continue;
        }
        let model = model::read(&package, &name, &mut left)?;
        todo.extend(model.parts().map(str::to_owned));
        models.insert(key, model);
    }
    assemble(&models, &root)
}

/// Name of the part that the package says is its model.
fn root(package: &Package) -> Result<String, Fault> {
    const RELATIONS: &str = "_rels/.rels";
    if !package.has(RELATIONS) {
        return Err(Fault::new(
            "solid-package",
            "the file is a ZIP archive but no 3MF package",
            "take the mesh file out of the archive and name that",
        ));
    }
    let mut xml = Xml::new(BufReader::new(package.part(RELATIONS, 1 << 20)?));
    loop {
        match xml.next()? {
            Next::Over => break,
            Next::Start if xml.name() == b"Relationship" && xml.attribute(b"Type") == Some(MODEL) => {
                if let Some(target) = xml.attribute(b"Target") {
                    return Ok(String::from_utf8_lossy(target).trim_start_matches('/').to_owned());
                }
            }
            _ => {}
        }
    }
    Err(Fault::new(
        "solid-package",
        "the package names no 3-D model, so it is no 3MF file",
        "export the solid again as 3MF or STL",
    ))
}

/// The objects of all model parts.
struct Shelf<'m> {
    models: &'m HashMap<String, Model>,
    /// Facets of each object with everything below it, once counted.
    counted: HashMap<(String, u32), u64>,
}

impl<'m> Shelf<'m> {
    fn object(&self, part: &str, id: u32) -> Result<&'m Object, Fault> {
        self.models
            .get(&part.to_ascii_lowercase())
            .and_then(|model| model.objects.get(&id))
            .ok_or_else(|| {
                let what = format!("object {id} is used but not described");
                Fault::new("solid-unreadable", what, "the file is spoilt; export it again")
                    .at(Spot::Part(part.to_owned(), 0))
            })
    }

    /// How many facets an object unfolds to. Components may name objects many times over, level upon level, so
    /// that a small file stands for more facets than there are atoms: they are counted before any is made.
    fn count(&mut self, part: &str, id: u32, depth: usize) -> Result<u64, Fault> {
        let key = (part.to_ascii_lowercase(), id);
        if let Some(&known) = self.counted.get(&key) {
            return Ok(known);
        }
        let object = self.object(part, id)?;
        if depth > DEEPEST {
            let what =
                format!("components of object {id} are nested more than {DEEPEST} deep, or in a circle");
            return Err(
                Fault::new("solid-unreadable", what, "unite the bodies before exporting")
                    .at(Spot::Part(part.to_owned(), 0)),
            );
        }
        let mut sum = object.mesh.triangles.len() as u64;
        for component in &object.components {
            let part = component.part.as_deref().unwrap_or(part);
            sum = sum.saturating_add(self.count(part, component.object, depth + 1)?);
        }
        self.counted.insert(key, sum);
        Ok(sum)
    }

    fn place(
        &self,
        part: &str,
        id: u32,
        file_from_object: DAffine3,
        gathering: &mut Gathering,
        bodies: &mut usize,
    ) -> Result<(), Fault> {
        let object = self.object(part, id)?;
        let spot = || Spot::Part(part.to_owned(), 0);
        if !object.mesh.triangles.is_empty() {
            *bodies += 1;
            let mirrored = file_from_object.matrix3.determinant() < 0.0;
            let corners: Vec<u32> = object
                .mesh
                .points
                .iter()
                .map(|p| gathering.corner(file_from_object.transform_point3(*p), spot))
                .collect::<Result<_, _>>()?;
            for t in &object.mesh.triangles {
                let mut t = t.map(|c| corners[c as usize]);
                if mirrored {
                    t.swap(1, 2);
                }
                gathering.triangle(t, spot)?;
            }
        }
        for component in &object.components {
            let file_from_component = file_from_object * component.transform;
            let part = component.part.as_deref().unwrap_or(part);
            self.place(part, component.object, file_from_component, gathering, bodies)?;
        }
        Ok(())
    }
}

fn assemble(models: &HashMap<String, Model>, root: &str) -> Result<Read, Fault> {
    let main = &models[&root.to_ascii_lowercase()];
    let here = || Spot::Part(root.to_owned(), 0);
    if let Some((name, other)) = models.iter().find(|(_, m)| m.unit != main.unit) {
        let what = format!(
            "its parts are in {} and in {}",
            main.unit.word(),
            other.unit.word()
        );
        return Err(
            Fault::new("solid-unreadable", what, "export it with one unit").at(Spot::Part(name.clone(), 0))
        );
    }
    let mut shelf = Shelf {
        models,
        counted: HashMap::new(),
    };
    let mut said = Vec::new();
    let mut total = 0u64;
    let mut taken = Vec::new();
    for item in &main.build {
        let part = item.part.as_deref().unwrap_or(root);
        let object = shelf.object(part, item.object)?;
        if !object.solid {
            said.push(format!(
                "object {} is no solid (a support or a loose skin) and was left out",
                item.object
            ));
            continue;
        }
        total = total.saturating_add(shelf.count(part, item.object, 0)?);
        taken.push(item);
    }
    if total > MOST_FACETS as u64 {
        return Err(too_many().at(here()));
    }
    if total == 0 {
        let what = "the 3MF file has nothing on its list of what to build";
        return Err(Fault::new(
            "solid-empty",
            what,
            "export the solid again, with its body visible",
        )
        .at(here()));
    }
    let mut gathering = Gathering::for_facets(total as usize);
    let mut bodies = 0;
    for item in taken {
        let part = item.part.as_deref().unwrap_or(root);
        shelf.place(part, item.object, item.transform, &mut gathering, &mut bodies)?;
    }
    Ok(Read {
        mesh: gathering.done(),
        unit: main.unit,
        bodies,
        said,
    })
}
