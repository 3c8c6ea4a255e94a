//! Findings → one self-contained page, drawings and one documented JSON object.
//!
//! Three ideas. [`findings::Findings`] is all that is said, as plain data. [`drawing::Drawing`] is the one
//! list from which every picture is printed. [`replay::ReplayBundle`] is the oil of the worst moments, small
//! enough to travel inside the page. [`page::page`] puts the three into one HTML file that reads fully with
//! scripts off and asks no network for anything.
//!
//! [`cards`] are the sheets that the bench works from, made of the same list. Knows nothing of how anything was computed.

pub mod cards;
pub mod drawing;
pub mod feed_rows;
pub mod findings;
pub mod json;
pub mod numbers;
pub mod page;
pub mod paper;
pub mod pictures;
pub mod replay;
pub mod section;

pub use findings::Findings;
pub use json::{JsonFault, to_json};
pub use page::{PageFault, page};
pub use replay::ReplayBundle;
