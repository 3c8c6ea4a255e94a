//! Pictures of a run for general viewers, in open formats: the cells as VTK ImageData, the oil's surface with the
//! pan as binary glTF 2.0.

mod collection;
mod gltf;
mod surface;
mod vti;

pub use collection::collection;
pub use gltf::glb;
pub use vti::vti;
