//! The sections of a design file, one file each.

pub(crate) mod doors;
pub(crate) mod drive;
pub(crate) mod engine;
pub(crate) mod face;
pub(crate) mod feed;
pub(crate) mod keep_outs;
pub(crate) mod lifts;
pub(crate) mod limits;
pub(crate) mod liquid;
pub(crate) mod logs;
pub(crate) mod manoeuvres;
pub(crate) mod measured_table;
pub(crate) mod mesh;
pub(crate) mod motions;
pub(crate) mod oil;
pub(crate) mod outline_file;
pub(crate) mod outside;
pub(crate) mod plates;
pub(crate) mod pockets;
pub(crate) mod probes;
pub(crate) mod removal;
pub(crate) mod rods;
pub(crate) mod seal;
pub(crate) mod shapes;
pub(crate) mod start;
pub(crate) mod suction;
