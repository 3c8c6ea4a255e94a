//! Cells of a line. A cell that begins with a quotation mark ends with one and may hold the delimiter; two of them
//! inside it mean one (RFC 4180). A mark inside an open cell is an inch sign or the like, and stands as it is.

use memchr::memchr;

/// Whether a line is blank or a remark.
#[inline]
pub(super) fn is_comment(line: &[u8]) -> bool {
    let mut bytes = line.iter().skip_while(|b| matches!(b, b' ' | b'\t'));
    match bytes.next() {
        // An end-of-file mark of old systems stands alone on the last line.
        None | Some(b'#' | b'%' | 26) => true,
        Some(b'/') => bytes.next() == Some(&b'/'),
        Some(_) => false,
    }
}

/// Where the cell that starts at `from` ends: at its delimiter or at the end of the line; `None` for an open quotation.
#[inline]
pub(super) fn end(line: &[u8], from: usize, delimiter: u8) -> Option<usize> {
    let mut i = from;
    while line.get(i) == Some(&b' ') {
        i += 1;
    }
    if line.get(i) == Some(&b'"') {
        i += 1;
        loop {
            i += memchr(b'"', &line[i..])? + 1;
            if line.get(i) != Some(&b'"') {
                break;
            }
            i += 1;
        }
    }
    Some(memchr(delimiter, &line[i.min(line.len())..]).map_or(line.len(), |at| i + at))
}

/// A cell without the blanks and the quotation around it.
pub(super) fn bare(cell: &str) -> String {
    let cell = cell.trim();
    match cell.strip_prefix('"').and_then(|c| c.strip_suffix('"')) {
        Some(inside) => inside.replace("\"\"", "\"").trim().to_owned(),
        None => cell.to_owned(),
    }
}

/// All cells of a line; an open quotation takes the rest of it.
pub(super) fn split(line: &str, delimiter: char) -> Vec<String> {
    let bytes = line.as_bytes();
    let (mut cells, mut from) = (Vec::new(), 0);
    loop {
        let to = end(bytes, from, delimiter as u8).unwrap_or(bytes.len());
        cells.push(bare(&line[from..to]));
        if to >= bytes.len() {
            return cells;
        }
        from = to + 1;
    }
}
