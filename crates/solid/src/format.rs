//! Which format a file is in, told by its bytes and never by its name.

use crate::fault::Fault;
use crate::stl;

/// A format that is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// STL, binary.
    StlBinary,
    /// STL as text.
    StlText,
    /// OBJ.
    Obj,
    /// 3MF.
    ThreeMf,
}

impl Format {
    /// Its name for people.
    pub fn word(self) -> &'static str {
        match self {
            Format::StlBinary => "binary STL",
            Format::StlText => "text STL",
            Format::Obj => "OBJ",
            Format::ThreeMf => "3MF",
        }
    }
}

/// What to do with a format that is not read.
const EXPORT: &str =
    "open it in the program that made it and export STL, 3MF or OBJ; a deviation of 0.02 mm is fine enough";

/// Tells the format.
pub fn of(bytes: &[u8]) -> Result<Format, Fault> {
    let start = bytes
        .strip_prefix(b"\xef\xbb\xbf")
        .unwrap_or(bytes)
        .trim_ascii_start();
    let begins = |magic: &[u8]| bytes.starts_with(magic);
    let stranger = |name: &str| Err(Fault::new("solid-format", format!("{name} is not read"), EXPORT));
    if start.is_empty() {
        let what = "the mesh file is empty";
        return Err(Fault::new("solid-format", what, "export the solid again"));
    }
    if begins(b"PK\x03\x04") || begins(b"PK\x05\x06") {
        return Ok(Format::ThreeMf);
    }
    let due = stl::binary_length(bytes);
    if due == Some(bytes.len() as u64) && bytes.len() > 84 {
        return Ok(Format::StlBinary);
    }
    if start.starts_with(b"ISO-10303-21") {
        return Err(Fault::new(
            "solid-format",
            "the file is STEP: curved faces, which are not read here, for no free library of this program's kind \
             meshes the rounded faces of ordinary machined parts without losing some",
            EXPORT,
        ));
    }
    let text = !bytes[..bytes.len().min(4096)].contains(&0);
    if text && start.len() >= 5 && start[..5].eq_ignore_ascii_case(b"solid") {
        return Ok(Format::StlText);
    }
    for (magic, name) in [
        (&b"\x1f\x8b"[..], "a packed file (gzip)"),
        (b"7z\xbc\xaf", "a packed file (7z)"),
        (b"ply", "PLY"),
        (b"OFF", "OFF"),
        (b"glTF", "glTF"),
        (b"%PDF", "PDF"),
        (b"AC10", "DWG"),
        (b"\x89PNG", "a picture"),
        (b"\xff\xd8", "a picture"),
    ] {
        if begins(magic) {
            return stranger(name);
        }
    }
    if text {
        if start.starts_with(b"<") {
            return stranger("a page or drawing of XML or HTML");
        }
        if start.starts_with(b"0") && contains(&start[..start.len().min(200)], b"SECTION") {
            return stranger("DXF");
        }
        if bytes.len() > 80 && bytes[72] == b'S' && bytes[73..80].trim_ascii() == b"1" {
            return stranger("IGES");
        }
        let head = &start[..start.len().min(1 << 20)];
        let known = |line: &[u8]| line.starts_with(b"v ") || line.starts_with(b"v\t");
        if head
            .split(|b| *b == b'\n')
            .any(|line| known(line.trim_ascii_start()))
        {
            return Ok(Format::Obj);
        }
    }
    let mend = "export the solid as an STL, 3MF or OBJ file";
    Err(match due {
        Some(due) if !text => {
            let facets = (due - 84) / 50;
            let held = (bytes.len() as u64 - 84) / 50;
            let what = format!(
                "the mesh file holds {} bytes, {held} facets, but its facet count of {facets} asks for {due}",
                bytes.len()
            );
            let mend = "it is cut off, or no binary STL file; copy or export it again";
            Fault::new("solid-format", what, mend)
        }
        None if !text => Fault::new(
            "solid-format",
            "the mesh file is too short to be an STL file",
            mend,
        ),
        _ => Fault::new(
            "solid-format",
            "the mesh file is text, but neither STL nor OBJ",
            mend,
        ),
    })
}

fn contains(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|w| w == word)
}
