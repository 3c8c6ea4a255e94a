//! Studies on disk: the folder that machines share, the working of a case, the loop over them, the tables.

pub mod folder;
pub mod pictures;
pub mod proof;
pub mod reading;
pub mod say;
pub mod single;
pub mod tables;
pub mod work;
