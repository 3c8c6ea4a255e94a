//! STL, binary and text.
//!
//! Binary: 80 bytes of anything, the count of facets (32 bits, little end first), then 50 bytes a facet: normal and
//! three corners as 32-bit numbers, and two bytes that mean nothing to us. Text: `solid NAME`, facets in words,
//! `endsolid`. Normals are not believed; the order of the corners tells which side is out. (Format: 3D Systems 1989,
//! as reprinted widely; from memory.)

use crate::fault::{Fault, Spot};
use crate::mesh::{Gathering, MOST_FACETS, Mesh, too_many};
use crate::words::{Words, shown};
use glam::DVec3;

const HEAD: usize = 84;
const FACET: usize = 50;

/// Length that a binary file has by its facet count; `None` for a file too short to have one.
pub(crate) fn binary_length(bytes: &[u8]) -> Option<u64> {
    let count: [u8; 4] = bytes.get(80..HEAD)?.try_into().ok()?;
    Some(HEAD as u64 + FACET as u64 * u64::from(u32::from_le_bytes(count)))
}

/// A binary file whose length fits its facet count.
pub(crate) fn binary(bytes: &[u8]) -> Result<Mesh, Fault> {
    let facets = bytes[HEAD..].chunks_exact(FACET);
    if facets.len() > MOST_FACETS {
        return Err(too_many());
    }
    let mut gathering = Gathering::for_facets(facets.len());
    for (i, facet) in facets.enumerate() {
        let number = |k: usize| {
            let at = 12 + 4 * k;
            let bytes = [facet[at], facet[at + 1], facet[at + 2], facet[at + 3]];
            f64::from(f32::from_le_bytes(bytes))
        };
        let mut corner = |k: usize| {
            let p = DVec3::new(number(3 * k), number(3 * k + 1), number(3 * k + 2));
            gathering.corner(p, || Spot::Facet(i + 1))
        };
        let triangle = [corner(0)?, corner(1)?, corner(2)?];
        gathering.triangle(triangle, || Spot::Facet(i + 1))?;
    }
    Ok(gathering.done())
}

/// A mesh [m] as a binary file in millimetres.
pub(crate) fn written(mesh: &Mesh) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(HEAD + FACET * mesh.triangles.len());
    bytes.extend(b"millimetres, by sumpwright");
    bytes.resize(80, b' ');
    bytes.extend((mesh.triangles.len() as u32).to_le_bytes());
    for t in 0..mesh.triangles.len() {
        let normal = mesh.area_vector(t).normalize_or_zero();
        let corners = mesh.corners(t).map(|p| p * 1e3);
        for v in std::iter::once(normal).chain(corners) {
            bytes.extend(v.to_array().iter().flat_map(|v| (*v as f32).to_le_bytes()));
        }
        bytes.extend([0, 0]);
    }
    bytes
}

/// A text file; several solids in it are taken together. Gives how many there were.
pub(crate) fn text(bytes: &[u8]) -> Result<(Mesh, usize), Fault> {
    // A facet takes some 200 bytes of text; 40 is the least.
    let mut gathering = Gathering::for_facets(bytes.len() / 200);
    let mut words = Words::new(bytes);
    let mut solids = 0;
    while let Some(word) = words.word() {
        if !word.eq_ignore_ascii_case(b"solid") {
            return Err(unexpected(word, "solid", &words));
        }
        solids += 1;
        words.next_line();
        loop {
            let word = words.word().ok_or_else(|| cut_off(&words))?;
            if word.eq_ignore_ascii_case(b"facet") {
                facet(&mut words, &mut gathering)?;
            } else if word.eq_ignore_ascii_case(b"endsolid") {
                words.next_line();
                break;
            } else {
                return Err(unexpected(word, "facet or endsolid", &words));
            }
        }
    }
    Ok((gathering.done(), solids))
}

fn facet(words: &mut Words, gathering: &mut Gathering) -> Result<(), Fault> {
    due(words, "normal")?;
    // Not read: some programs write "nan" for the normal of a flat facet.
    for _ in 0..3 {
        words.word().ok_or_else(|| cut_off(words))?;
    }
    due(words, "outer")?;
    due(words, "loop")?;
    let mut triangle = [0; 3];
    for corner in &mut triangle {
        due(words, "vertex")?;
        let p = words.point(Words::word)?;
        *corner = gathering.corner(p, || words.spot())?;
    }
    due(words, "endloop")?;
    due(words, "endfacet")?;
    gathering.triangle(triangle, || words.spot())
}

fn due(words: &mut Words, what: &'static str) -> Result<(), Fault> {
    let word = words.word().ok_or_else(|| cut_off(words))?;
    if word.eq_ignore_ascii_case(what.as_bytes()) {
        Ok(())
    } else {
        Err(unexpected(word, what, words))
    }
}

fn unexpected(word: &[u8], due: &str, words: &Words) -> Fault {
    Fault::new(
        "solid-unreadable",
        format!("\"{}\" stands in the STL text where {due} is due", shown(word)),
        "the file is spoilt there; export it again, best as a binary STL",
    )
    .at(words.spot())
}

fn cut_off(words: &Words) -> Fault {
    Fault::new(
        "solid-unreadable",
        "the STL text ends without endsolid, so the file is cut off",
        "copy or export it again",
    )
    .at(words.spot())
}
