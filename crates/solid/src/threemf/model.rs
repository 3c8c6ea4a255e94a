//! One model part of a 3MF package.

use crate::fault::{Fault, Spot};
use crate::mesh::{LARGEST_NUMBER, MOST_FACETS, Mesh, not_a_number, too_many};
use crate::package::Package;
use crate::unit::Unit;
use crate::words::{number, shown};
use crate::xml::{Next, Xml, local};
use glam::{DAffine3, DMat3, DVec3};
use std::collections::HashMap;
use std::io::{BufRead, BufReader};

/// Most objects in a model.
const MOST_OBJECTS: usize = 100_000;

/// Extensions that a file may demand and that change nothing for us, or that are read.
const KNOWN: [&[u8]; 4] = [
    b"http://schemas.microsoft.com/3dmanufacturing/production/2015/06",
    b"http://schemas.microsoft.com/3dmanufacturing/material/2015/02",
    b"http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07",
    b"http://schemas.microsoft.com/3dmanufacturing/core/2015/02",
];

/// A model part.
#[derive(Default)]
pub(super) struct Model {
    pub unit: Unit,
    pub objects: HashMap<u32, Object>,
    pub build: Vec<Placed>,
}

/// An object: a mesh, or others put together.
#[derive(Default)]
pub(super) struct Object {
    pub mesh: Mesh,
    pub components: Vec<Placed>,
    /// Its type is one of those that enclose something.
    pub solid: bool,
}

/// An object somewhere.
pub(super) struct Placed {
    /// Model part that it stands in, when it is another.
    pub part: Option<String>,
    pub object: u32,
    pub transform: DAffine3,
}

impl Model {
    /// Names of the other model parts that it uses.
    pub fn parts(&self) -> impl Iterator<Item = &str> {
        let components = self.objects.values().flat_map(|o| &o.components);
        self.build
            .iter()
            .chain(components)
            .filter_map(|p| p.part.as_deref())
    }
}

/// Reads the part `name`; takes what it unpacks to from `left`.
pub(super) fn read(package: &Package, name: &str, left: &mut u64) -> Result<Model, Fault> {
    let part = package.part(name, *left)?;
    let mut reading = Reading {
        xml: Xml::new(BufReader::with_capacity(1 << 16, part)),
        model: Model::default(),
        object: None,
    };
    let read = reading.all();
    let line = reading.xml.line();
    *left = left.saturating_sub(reading.xml.taken());
    match read {
        Ok(()) => Ok(reading.model),
        Err(fault) => Err(fault.at(Spot::Part(name.to_owned(), line))),
    }
}

struct Reading<R> {
    xml: Xml<R>,
    model: Model,
    object: Option<u32>,
}

fn wrong(what: String) -> Fault {
    Fault::new(
        "solid-unreadable",
        what,
        "the file is spoilt there; export it again",
    )
}

impl<R: BufRead> Reading<R> {
    fn all(&mut self) -> Result<(), Fault> {
        let mut seen = false;
        loop {
            match self.xml.next()? {
                Next::Over if seen => return Ok(()),
                Next::Over => return Err(wrong("there is no model in the model part".to_owned())),
                Next::End => {
                    if self.xml.name() == b"object" {
                        self.object = None;
                    }
                }
                Next::Start => {
                    seen |= self.xml.name() == b"model";
                    self.element()?;
                }
            }
        }
    }

    fn element(&mut self) -> Result<(), Fault> {
        match self.xml.name() {
            b"vertex" => self.vertex(),
            b"triangle" => self.triangle(),
            b"model" => self.head(),
            b"object" => {
                let id = self.whole(b"id")?;
                let kind = self.xml.attribute(b"type").unwrap_or(b"model");
                let object = Object {
                    solid: matches!(kind, b"model" | b"solidsupport"),
                    ..Object::default()
                };
                if self.model.objects.len() >= MOST_OBJECTS {
                    return Err(wrong(format!("there are more than {MOST_OBJECTS} objects")));
                }
                if self.model.objects.insert(id, object).is_some() {
                    return Err(wrong(format!("object {id} is described twice")));
                }
                self.object = Some(id);
                Ok(())
            }
            b"component" => {
                let placed = self.placed()?;
                let object = self.current()?;
                if object.components.len() >= MOST_OBJECTS {
                    return Err(wrong(format!("there are more than {MOST_OBJECTS} components")));
                }
                object.components.push(placed);
                Ok(())
            }
            b"item" => {
                let placed = self.placed()?;
                if self.model.build.len() >= MOST_OBJECTS {
                    return Err(wrong(format!(
                        "there are more than {MOST_OBJECTS} things to build"
                    )));
                }
                self.model.build.push(placed);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn head(&mut self) -> Result<(), Fault> {
        if let Some(unit) = self.xml.attribute(b"unit") {
            let word = std::str::from_utf8(unit).ok();
            self.model.unit = word.and_then(Unit::of_3mf).ok_or_else(|| {
                Fault::new(
                    "solid-unit",
                    format!("the 3MF file is in \"{}\", which is no unit of 3MF", shown(unit)),
                    "export it in millimetres",
                )
            })?;
        }
        let Some(required) = self.xml.attribute(b"requiredextensions") else {
            return Ok(());
        };
        for prefix in required.split(u8::is_ascii_whitespace).filter(|p| !p.is_empty()) {
            let named = |(name, _): &(&[u8], &[u8])| name.starts_with(b"xmlns:") && local(name) == prefix;
            let space = self
                .xml
                .attributes()
                .find(named)
                .map_or(prefix, |(_, space)| space);
            if !KNOWN.contains(&space) {
                let what = format!(
                    "the 3MF file cannot be understood without the extension \"{}\", which is not read here",
                    String::from_utf8_lossy(&space[..space.len().min(120)])
                );
                return Err(Fault::new(
                    "solid-unreadable",
                    what,
                    "export it as a plain mesh, or as STL",
                ));
            }
        }
        Ok(())
    }

    fn vertex(&mut self) -> Result<(), Fault> {
        let [mut x, mut y, mut z] = [f64::NAN; 3];
        for (name, value) in self.xml.attributes() {
            let target = match name {
                b"x" => &mut x,
                b"y" => &mut y,
                b"z" => &mut z,
                _ => continue,
            };
            *target = number(value)
                .ok_or_else(|| wrong(format!("\"{}\" stands where a number is due", shown(value))))?;
        }
        let p = DVec3::new(x, y, z);
        if !p.is_finite() || p.abs().max_element() > LARGEST_NUMBER {
            return Err(not_a_number(p));
        }
        let mesh = &mut self.current()?.mesh;
        if mesh.points.len() >= 3 * MOST_FACETS {
            return Err(too_many());
        }
        mesh.points.push(p);
        Ok(())
    }

    fn triangle(&mut self) -> Result<(), Fault> {
        let mut t = [u32::MAX; 3];
        for (name, value) in self.xml.attributes() {
            let at = match name {
                b"v1" => 0,
                b"v2" => 1,
                b"v3" => 2,
                _ => continue,
            };
            t[at] = whole(value).ok_or_else(|| {
                wrong(format!(
                    "\"{}\" stands where a corner's number is due",
                    shown(value)
                ))
            })?;
        }
        let mesh = &mut self.current()?.mesh;
        // Vertices stand before triangles in every mesh, so that the number can be checked at once.
        if let Some(bad) = t.iter().find(|c| **c as usize >= mesh.points.len()) {
            let what = if *bad == u32::MAX {
                "a triangle lacks one of v1, v2 and v3".to_owned()
            } else {
                format!(
                    "a triangle names corner {bad}, but there are {}",
                    mesh.points.len()
                )
            };
            return Err(wrong(what));
        }
        if mesh.triangles.len() >= MOST_FACETS {
            return Err(too_many());
        }
        mesh.triangles.push(t);
        Ok(())
    }

    fn current(&mut self) -> Result<&mut Object, Fault> {
        self.object
            .and_then(|id| self.model.objects.get_mut(&id))
            .ok_or_else(|| wrong("a piece of an object stands outside of any object".to_owned()))
    }

    fn placed(&self) -> Result<Placed, Fault> {
        let part = self
            .xml
            .attribute(b"path")
            .map(|path| String::from_utf8_lossy(path).trim_start_matches('/').to_owned());
        Ok(Placed {
            part,
            object: self.whole(b"objectid")?,
            transform: match self.xml.attribute(b"transform") {
                Some(text) => transform(text)?,
                None => DAffine3::IDENTITY,
            },
        })
    }

    fn whole(&self, name: &[u8]) -> Result<u32, Fault> {
        self.xml.attribute(name).and_then(whole).ok_or_else(|| {
            let element = String::from_utf8_lossy(self.xml.name()).into_owned();
            let name = String::from_utf8_lossy(name);
            wrong(format!("the {element} has no {name} that is a whole number"))
        })
    }
}

fn whole(value: &[u8]) -> Option<u32> {
    std::str::from_utf8(value).ok()?.trim().parse().ok()
}

/// Twelve numbers, row by row, for row vectors: the last row is the shift.
fn transform(text: &[u8]) -> Result<DAffine3, Fault> {
    let mut m = [0.0; 12];
    let mut words = text.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
    let read = m.iter_mut().all(|value| {
        words.next().and_then(number).is_some_and(|read| {
            *value = read;
            read.is_finite() && read.abs() <= LARGEST_NUMBER
        })
    });
    let row = |k: usize| DVec3::new(m[3 * k], m[3 * k + 1], m[3 * k + 2]);
    let matrix = DMat3::from_cols(row(0), row(1), row(2));
    if !read || words.next().is_some() || matrix.determinant() == 0.0 {
        return Err(wrong(format!(
            "\"{}\" is no transform: twelve numbers that do not flatten are due",
            shown(text)
        )));
    }
    Ok(DAffine3::from_mat3_translation(matrix, row(3)))
}
