//! Which kind of file it is, and the reader for it.

use crate::fault::OutlineFault;
use crate::figure::{Figure, ReadOptions};
use crate::{dxf, svg, table};
use serde::Serialize;

/// The kinds of file that hold an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A DXF drawing.
    Dxf,
    /// An SVG drawing.
    Svg,
    /// A table typed by hand.
    Table,
    /// A scan or a photo (PNG or JPEG), for [`crate::scan`].
    Picture,
}

impl Kind {
    /// By what the file holds, not by its name.
    pub fn of(bytes: &[u8]) -> Kind {
        if crate::scan::is_picture(bytes) {
            return Kind::Picture;
        }
        let start = bytes.trim_ascii_start();
        let first = start
            .split(|b| *b == b'\n')
            .next()
            .unwrap_or_default()
            .trim_ascii();
        // A drawing begins with a pair: 0 SECTION, or 999 and a remark.
        let drawing = matches!(first, b"0" | b"999") || bytes.get(18..22) == Some(b"\r\n\x1a\0");
        let markup = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start).first() == Some(&b'<');
        match (drawing, markup) {
            (true, _) => Kind::Dxf,
            (_, true) => Kind::Svg,
            _ => Kind::Table,
        }
    }

    /// In a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Dxf => "a DXF drawing",
            Kind::Svg => "an SVG drawing",
            Kind::Table => "a table",
            Kind::Picture => "a picture",
        }
    }
}

/// Reads a drawing or a table.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<(Kind, Figure), Vec<OutlineFault>> {
    let kind = Kind::of(bytes);
    let figure = match kind {
        Kind::Dxf => dxf::read(bytes, options)?,
        Kind::Svg => svg::read(bytes, options)?,
        Kind::Table => table::read(bytes, options)?,
        Kind::Picture => {
            let what = "this is a picture, which has to be traced before it is an outline";
            let mend = "trace it with sumpwright outline, prove its scale, and write it as DXF";
            return Err(vec![OutlineFault::new("picture", what, mend)]);
        }
    };
    Ok((kind, figure))
}
