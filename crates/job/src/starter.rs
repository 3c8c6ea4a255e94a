//! The starter design that `sumpwright new` writes.

/// A file of the starter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StarterFile {
    /// Name inside the new folder.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// The files of a new project, the design first.
pub const fn starter() -> &'static [StarterFile] {
    &[StarterFile {
        name: "pan.toml",
        text: include_str!("starter/pan.toml"),
    }]
}
