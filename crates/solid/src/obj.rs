//! OBJ: corners (`v`) and faces (`f`) of any number of corners; materials, normals and textures are passed over.
//!
//! A face names its corners from 1, or backward from the last one with negative numbers, each with or without
//! `/texture/normal`. (Format: Wavefront 1990s appendix B, as reprinted widely; from memory.)

use crate::ears;
use crate::fault::Fault;
use crate::mesh::{Gathering, Mesh};
use crate::words::{Words, shown};
use glam::DVec3;

/// Most corners of one face.
const MOST_SIDES: usize = 10_000;

/// Statements that say nothing about the shape.
const PASSED_OVER: [&str; 26] = [
    "vt",
    "vn",
    "vp",
    "g",
    "o",
    "s",
    "mg",
    "usemtl",
    "mtllib",
    "l",
    "p",
    "usemap",
    "maplib",
    "lod",
    "bevel",
    "c_interp",
    "d_interp",
    "shadow_obj",
    "trace_obj",
    "call",
    "csh",
    "con",
    "end",
    "parm",
    "stech",
    "ctech",
];

/// Statements of curved surfaces.
const FREE_FORM: [&str; 7] = ["surf", "curv", "curv2", "cstype", "trim", "deg", "bmat"];

/// Reads it; gives the mesh and how many objects are named in it.
pub(crate) fn read(bytes: &[u8]) -> Result<(Mesh, usize), Fault> {
    let mut words = Words::new(bytes);
    let mut gathering = Gathering::for_facets(bytes.len() / 50);
    // The file's own numbering; equal corners share one of ours.
    let mut corners: Vec<u32> = Vec::new();
    let mut places: Vec<DVec3> = Vec::new();
    let mut face: Vec<u32> = Vec::new();
    let mut objects = 0;
    loop {
        match words.word_in_line() {
            None => {}
            Some(b"v") => {
                let p = words.point(Words::word_in_line)?;
                let number = gathering.corner(p, || words.spot())?;
                corners.push(number);
                if number as usize == places.len() {
                    places.push(p);
                }
            }
            Some(b"f" | b"fo") => {
                face.clear();
                while let Some(word) = words.word_in_line() {
                    if word.starts_with(b"#") {
                        break;
                    }
                    let number =
                        index(word, corners.len()).ok_or_else(|| wrong_index(word, &corners, &words))?;
                    if face.len() >= MOST_SIDES {
                        let what = format!("a face has more than {MOST_SIDES} corners");
                        return Err(
                            Fault::new("solid-unreadable", what, "export it as triangles").at(words.spot())
                        );
                    }
                    face.push(corners[number]);
                }
                let mut add = |t| gathering.triangle(t, || words.spot());
                match face[..] {
                    [a, b, c] => add([a, b, c])?,
                    [] | [_] | [_, _] => {
                        let what = format!("a face has {} corners", face.len());
                        let fault =
                            Fault::new("solid-unreadable", what, "a face needs three; export it again");
                        return Err(fault.at(words.spot()));
                    }
                    _ => {
                        let points: Vec<DVec3> = face.iter().map(|&c| places[c as usize]).collect();
                        for t in ears::in_space(&points) {
                            add(t.map(|k| face[k]))?;
                        }
                    }
                }
            }
            Some(word) if word.starts_with(b"#") => {}
            Some(b"o") => objects += 1,
            Some(word) => match std::str::from_utf8(word) {
                Ok(word) if PASSED_OVER.contains(&word) => {}
                Ok(word) if FREE_FORM.contains(&word) => {
                    let what = format!("the OBJ file holds curved surfaces (\"{word}\"), which are not read");
                    let mend = "export it as triangles, best as STL or 3MF";
                    return Err(Fault::new("solid-unreadable", what, mend).at(words.spot()));
                }
                _ => {
                    let what = format!(
                        "\"{}\" begins a line of the OBJ file and is not known",
                        shown(word)
                    );
                    let mend = "the file is spoilt there or is no OBJ file; export it again";
                    return Err(Fault::new("solid-unreadable", what, mend).at(words.spot()));
                }
            },
        }
        if !words.next_line() {
            break;
        }
    }
    Ok((gathering.done(), objects))
}

/// Index into the corners so far of a word such as `7`, `-1` or `7/2/5`.
fn index(word: &[u8], count: usize) -> Option<usize> {
    let end = word.iter().position(|b| *b == b'/').unwrap_or(word.len());
    let number: i64 = std::str::from_utf8(&word[..end]).ok()?.parse().ok()?;
    let at = match number {
        1.. => number - 1,
        0 => return None,
        _ => number.checked_add(i64::try_from(count).ok()?)?,
    };
    usize::try_from(at).ok().filter(|at| *at < count)
}

fn wrong_index(word: &[u8], corners: &[u32], words: &Words) -> Fault {
    let what = format!(
        "a face names the corner \"{}\", but there are {} corners before it",
        shown(word),
        corners.len()
    );
    Fault::new(
        "solid-unreadable",
        what,
        "the file is cut off or spoilt; export it again",
    )
    .at(words.spot())
}
