//! Oil between the spaces that plates and doors make: a race in seconds.
//!
//! The pan is cut into **bays**, the spaces of the lattice that the 3-D solver uses, and **ports**, all openings
//! between two of them, kept as patches ([`network`]). In each bay the oil has a volume and a flat surface whose
//! direction swings after apparent gravity as the first sloshing mode of that bay does ([`swing`]). Oil passes a port
//! patch by patch by the difference of the two surfaces' heads, as through an orifice; weirs and gaps under walls are the
//! limit of many patches ([`ports`]). [`run`] puts pump, returns and doors to it and hands back the same cover history as
//! the solver; [`mouth`] tells what stands over the mouth and what can come to it.
//!
//! What it cannot see: waves within a bay other than the first, spray, oil that climbs a wall and falls back. It is a
//! sketch; `slosh` is the proof.
//!
//! Knows the lattice, the circuit and apparent gravity; deliberately knows no cells' motion, no design files.

pub mod levels;
pub mod mouth;
pub mod network;
pub mod ports;
pub mod race;
pub mod run;
mod state;
pub mod swing;
mod wide;

pub use network::Network;
