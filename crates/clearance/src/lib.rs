//! What stands round a pan and what turns inside it: least gaps, room to grow, the way out.
//!
//! Bodies are unions of convex pieces ([`Piece`]), skins of triangles, or half-spaces; distances between them are
//! exact but for 0.1 µm (`meet`), whatever moves they may make. [`outside`] makes the pan's own bodies from its
//! cavity, wall and flange; [`rods`] what the rods sweep; [`survey`] measures each pair against the gap wanted.
//!
//! All lengths in metres in the pan frame. Knows nothing of oil, of files, or of how anything is drawn.

pub mod body;
pub mod growth;
mod least;
mod meet;
pub mod outside;
mod piece;
mod pose;
pub mod removal;
pub mod rods;
pub mod silhouette;
pub mod survey;
mod tree;

pub use body::{Body, Filled, HalfSpace, Road, Shape, Swing};
pub use least::{Gap, least_gap};
pub use piece::{Core, Piece, Rim};
pub use pose::{Pose, Stretch};
pub use rods::Rods;
pub use survey::{Surroundings, survey};
pub use tree::Tree;
