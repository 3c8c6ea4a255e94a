//! A mesh as a 3MF file: three parts in a ZIP archive, the model in millimetres.
//!
//! (3D Manufacturing Format, Core Specification 1.3; APPNOTE.TXT 6.3, 4.3; both from memory. Dates are the archive's
//! oldest, so that the same solid gives the same bytes.)

use crate::mesh::Mesh;
use flate2::Compression;
use flate2::write::DeflateEncoder;
use std::fmt::Write as _;
use std::io::Write as _;

const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"#;
const RELATIONS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"#;
/// 1 January 1980, the first day that the archive can write.
const DATE: [u8; 4] = [0, 0, 0x21, 0];

/// The file of a mesh [m].
pub(crate) fn written(mesh: &Mesh, name: &str) -> Vec<u8> {
    let mut archive = Archive::default();
    archive.add("[Content_Types].xml", TYPES.as_bytes());
    archive.add("_rels/.rels", RELATIONS.as_bytes());
    archive.add("3D/3dmodel.model", model(mesh, name).as_bytes());
    archive.done()
}

fn model(mesh: &Mesh, name: &str) -> String {
    let mut text = String::with_capacity(80 * (mesh.points.len() + mesh.triangles.len()));
    text += "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en-US\" \
             xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n<resources>\n";
    let plain: String = name
        .chars()
        .filter(|c| !c.is_control() && !"<>&\"'".contains(*c))
        .collect();
    let _ = write!(
        text,
        "<object id=\"1\" type=\"model\" name=\"{plain}\">\n<mesh>\n<vertices>\n"
    );
    for p in &mesh.points {
        let [x, y, z] = (*p * 1e3).to_array().map(short);
        let _ = writeln!(text, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    text += "</vertices>\n<triangles>\n";
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(text, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    text + "</triangles>\n</mesh>\n</object>\n</resources>\n<build>\n<item objectid=\"1\"/>\n</build>\n</model>\n"
}

/// Millimetres to a nanometre, without idle zeros.
fn short(mm: f64) -> String {
    let text = format!("{mm:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[derive(Default)]
struct Archive {
    bytes: Vec<u8>,
    directory: Vec<u8>,
    parts: u16,
}

impl Archive {
    fn add(&mut self, name: &str, part: &[u8]) {
        let mut packer = DeflateEncoder::new(Vec::new(), Compression::default());
        let packed = packer.write_all(part).and_then(|()| packer.finish());
        let packed = packed.expect("writing to memory does not fail");
        let at = self.bytes.len() as u32;
        // Version 2.0, no flags, deflated, date, checksum, sizes, length of the name, no extra field.
        let mut common = vec![20, 0, 0, 0, 8, 0];
        common.extend(DATE);
        common.extend(crc32fast::hash(part).to_le_bytes());
        common.extend((packed.len() as u32).to_le_bytes());
        common.extend((part.len() as u32).to_le_bytes());
        common.extend((name.len() as u16).to_le_bytes());
        common.extend([0, 0]);
        self.bytes.extend(b"PK\x03\x04");
        self.bytes.extend(&common);
        self.bytes.extend(name.as_bytes());
        self.bytes.extend(&packed);
        self.directory.extend(b"PK\x01\x02\x14\x00");
        self.directory.extend(&common);
        // No comment, first disk, no attributes.
        self.directory.extend([0; 10]);
        self.directory.extend(at.to_le_bytes());
        self.directory.extend(name.as_bytes());
        self.parts += 1;
    }

    fn done(mut self) -> Vec<u8> {
        let at = self.bytes.len() as u32;
        self.bytes.extend(&self.directory);
        self.bytes.extend(b"PK\x05\x06\x00\x00\x00\x00");
        self.bytes.extend(self.parts.to_le_bytes());
        self.bytes.extend(self.parts.to_le_bytes());
        self.bytes.extend((self.directory.len() as u32).to_le_bytes());
        self.bytes.extend(at.to_le_bytes());
        self.bytes.extend([0, 0]);
        self.bytes
    }
}
