//! A file looked at without reading all that it names: is it the design of a pan, and what is it called?

use std::path::Path;

use crate::fault::Place;
use crate::sources::{self, DESIGN_LIMIT, Sources};
use crate::tree::{self, Value};

/// What a design's own file says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Glance {
    /// Its name.
    pub name: String,
    /// The file that it revises, as written.
    pub base: Option<String>,
}

/// A look at the file at `path`; none when it is not a design of a pan. Its faults are told when it is read.
pub fn glance(path: &Path) -> Option<Glance> {
    let bytes = Sources::Disk.named_by_user(path, DESIGN_LIMIT).ok()?;
    let place = Place::file(path);
    let tree = tree::parse(&sources::text(bytes, &place).ok()?, &place).ok()?;
    let Value::Table(table) = tree.value else {
        return None;
    };
    let text = |key: &str| match &table.get(key)?.node.value {
        Value::Text(text) => Some(text.clone()),
        _ => None,
    };
    text("format")?;
    let of_pan = text("kind").is_none_or(|kind| kind == "pan");
    of_pan.then_some(Glance {
        name: text("name")?,
        base: text("base"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn designs_are_told_from_studies_and_from_other_files() {
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
        let of = |file: &str| glance(&examples.join(file));
        let second = of("heath-lane/second.toml").expect("a design");
        assert_eq!(second.name, "Heath Lane, second revision");
        assert_eq!(second.base.as_deref(), Some("first.toml"));
        assert_eq!(of("heath-lane/fill-and-mouth.toml"), None, "a study");
        assert_eq!(of("heath-lane/saturday.csv"), None);
        assert_eq!(of("../Cargo.toml"), None);
        assert_eq!(of("no-such.toml"), None);
    }
}
