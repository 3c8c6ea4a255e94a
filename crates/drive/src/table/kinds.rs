//! Files that are no text tables, recognised by their first bytes: what they are, and what to do with them.
//!
//! The marks stand in each format's own specification (ASAM MDF 4, ZIP appnote, RFC 1952, Apache Parquet and Arrow, HDF5,
//! RFC 8878, PDF ISO 32000, PNG, SQLite, Microsoft compound file); here from memory.

/// A mark at the start of a file, what has it, and what to do.
type Kind = (&'static [u8], &'static str, &'static str);

const EXPORT: &str = "export it as CSV text, one row a sample, with a header row";
const SHEET: &str =
    "open it in a spreadsheet and save the sheet as CSV text; if it is a ZIP, unpack it first";
const UNPACK: &str = "unpack it first, then name the CSV file that was in it";
const MDF: &str = "MDF is not read: in the program that recorded or opens it, export the channels to CSV text \
                   (all on one time base, with the names and units in the first rows)";
const TABLE: &str = "write it out as CSV text with the program or script that made it";
const PICTURE: &str = "name the log itself";

const KINDS: [Kind; 21] = [
    (b"MDF     ", "an ASAM MDF measurement file", MDF),
    (
        b"UnFinMF ",
        "an ASAM MDF measurement file that was not finished",
        MDF,
    ),
    (b"PK\x03\x04", "a ZIP archive or a spreadsheet (xlsx, ods)", SHEET),
    (b"PK\x05\x06", "an empty ZIP archive", UNPACK),
    (
        b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1",
        "an old spreadsheet or document (xls, doc)",
        SHEET,
    ),
    (b"PAR1", "an Apache Parquet table", TABLE),
    (b"ARROW1", "an Apache Arrow table", TABLE),
    (b"\x89HDF\r\n\x1a\n", "an HDF5 file", TABLE),
    (b"CDF\x01", "a NetCDF file", TABLE),
    (b"CDF\x02", "a NetCDF file", TABLE),
    (b"MATLAB 5.0 MAT-file", "a matrix file (MAT, version 5)", TABLE),
    (b"SQLite format 3\0", "an SQLite database", TABLE),
    (b"\x1f\x8b", "packed with gzip", UNPACK),
    (b"BZh", "packed with bzip2", UNPACK),
    (b"\x28\xb5\x2f\xfd", "packed with zstd", UNPACK),
    (b"\xfd7zXZ\0", "packed with xz", UNPACK),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive", UNPACK),
    (b"Rar!\x1a\x07", "a RAR archive", UNPACK),
    (b"%PDF-", "a PDF document", PICTURE),
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)", PICTURE),
    (b"\xff\xd8\xff", "a picture (JPEG)", PICTURE),
];

/// Text that is no table.
const MARKUP: [Kind; 5] = [
    (b"<!doctype", "a web page", EXPORT),
    (b"<html", "a web page", EXPORT),
    (b"<?xml", "an XML file", EXPORT),
    (b"<gpx", "a GPX track", EXPORT),
    (b"{", "a JSON file", EXPORT),
];

/// What the file is and how to go on, when its first bytes tell that it is no text table.
pub(super) fn recognise(head: &[u8]) -> Option<(&'static str, &'static str)> {
    if let Some((_, what, mend)) = KINDS.iter().find(|(mark, _, _)| head.starts_with(mark)) {
        return Some((what, mend));
    }
    let text = head
        .strip_prefix(b"\xef\xbb\xbf")
        .unwrap_or(head)
        .trim_ascii_start();
    (MARKUP.iter())
        .find(|(mark, _, _)| text.len() >= mark.len() && text[..mark.len()].eq_ignore_ascii_case(mark))
        .map(|(_, what, mend)| (*what, *mend))
}
