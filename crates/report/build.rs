//! Takes in the built page parts of `web/`, when they are there.
//!
//! Without Node nothing here fails: every crate builds and its tests run; only asking for a report page then
//! gives a fault that says how to build them.

use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let here = PathBuf::from(env::var("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var("OUT_DIR").expect("cargo sets OUT_DIR"));
    let dist = here.join("../../web/dist");
    let mut code = String::new();
    for (name, file, what) in [
        (
            "REPLAY",
            "replay.js",
            "The replay of `web/`, built; none when `web/dist` was missing at build time.",
        ),
        (
            "FONTS",
            "fonts.css",
            "The two weights of the page's letters as style; none likewise.",
        ),
    ] {
        let path = dist.join(file);
        println!("cargo:rerun-if-changed={}", path.display());
        code.push_str(&format!(
            "/// {what}\npub const {name}: Option<&str> = {};\n",
            included(&path)
        ));
    }
    // Plain letters first, then those of the other Latin alphabets; both weights.
    let faces = ["latin-400", "latin-600", "latin-ext-400", "latin-ext-600"].map(|face| {
        let path = dist.join(format!("letters-{face}.ttf"));
        println!("cargo:rerun-if-changed={}", path.display());
        path
    });
    let letters = match faces.iter().all(|path| path.is_file()) {
        true => {
            let bytes = faces.map(|path| format!("include_bytes!({:?})", path.display().to_string()));
            format!("Some([{}])", bytes.join(", "))
        }
        false => "None".into(),
    };
    code.push_str(&format!(
        "/// The letters for paper: normal and strong, then both again with the rarer Latin letters; none likewise.\n\
         pub const LETTERS: Option<[&[u8]; 4]> = {letters};\n"
    ));
    fs::write(out.join("bundle.rs"), code)
}

fn included(path: &Path) -> String {
    if path.is_file() {
        format!("Some(include_str!({:?}))", path.display().to_string())
    } else {
        "None".into()
    }
}
