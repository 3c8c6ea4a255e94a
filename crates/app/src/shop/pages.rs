//! Drawings as files of the folder.

use super::Folder;
use crate::failure::Failure;
use report::drawing::{Drawing, pdf, svg};

/// Adds drawings as the sheets of one PDF file, true size.
pub fn print(folder: &mut Folder, stem: &str, what: &str, drawings: &[Drawing]) -> Result<(), Failure> {
    let bytes = pdf::file(drawings).map_err(|fault| Failure::computing(fault.to_string(), ""))?;
    folder.add(&format!("{stem}.pdf"), what, bytes);
    Ok(())
}

/// The same, and as pictures for a screen or a page.
pub fn show(folder: &mut Folder, stem: &str, what: &str, drawing: &Drawing) -> Result<(), Failure> {
    print(folder, stem, what, std::slice::from_ref(drawing))?;
    folder.add(
        &format!("{stem}.svg"),
        "the same as a picture",
        svg::file(drawing),
    );
    Ok(())
}
