//! What a design says of the shop that makes the pan. Everything has a usual value: a design without `[shop]` can be made.

use shop::paper::Paper;

use crate::section::Section;
use crate::sections::shop as section;

/// What the shop works with, in SI.
#[derive(Clone, Debug)]
pub struct Shop {
    /// Paper in the printer.
    pub paper: Paper,
}

pub(crate) fn read(top: &Section) -> Option<Shop> {
    let section = top.below_or_empty("shop");
    let paper = section::paper(&section);
    section.finish();
    Some(Shop { paper: paper? })
}
