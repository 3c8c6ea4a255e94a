//! Takes in the built page of `web/`, when it is there.
//!
//! Without Node nothing here fails: every crate builds and its tests run; only `sumpwright open` then gives a fault that
//! says how to build the page.

use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let here = PathBuf::from(env::var("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var("OUT_DIR").expect("cargo sets OUT_DIR"));
    let page = here.join("../../web/dist/page");
    // A folder is looked through as a whole; one that is missing is looked for again at each build.
    println!("cargo:rerun-if-changed={}", page.display());
    println!("cargo:rerun-if-changed=build.rs");
    let mut files = Vec::new();
    if page.join("index.html").is_file() {
        gather(&page, "", &mut files)?;
    }
    files.sort();
    let mut code =
        String::from("/// Files of the page; none when `web/dist/page` was missing at build time.\n");
    code.push_str("pub static FILES: &[File] = &[\n");
    for (name, path) in files {
        let tag = fingerprint(&fs::read(&path)?);
        code.push_str(&format!(
            "    File {{ name: {name:?}, tag: \"\\\"{tag:016x}\\\"\", bytes: include_bytes!({:?}) }},\n",
            path.display().to_string()
        ));
    }
    code.push_str("];\n");
    fs::write(out.join("page.rs"), code)
}

/// All files below `folder`, named with `/` between parts.
fn gather(folder: &Path, before: &str, files: &mut Vec<(String, PathBuf)>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{before}{}", entry.file_name().to_string_lossy());
        match entry.file_type()?.is_dir() {
            true => gather(&entry.path(), &format!("{name}/"), files)?,
            false => files.push((name, entry.path())),
        }
    }
    Ok(())
}

/// FNV-1a, 64 bits (Fowler, Noll and Vo): tells one build of a file from another, nothing more.
fn fingerprint(bytes: &[u8]) -> u64 {
    let step = |hash: u64, byte: &u8| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, step)
}
