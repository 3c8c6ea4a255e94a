//! `[shop]` and what stands below it, one file each.

use shop::paper::Paper;

use crate::section::Section;

/// `[shop]` itself.
pub(crate) fn paper(section: &Section) -> Option<Paper> {
    section.choice(
        "paper",
        &Paper::ALL,
        Some(("A4", "ISO 216, the world's usual size")),
    )
}
