//! proofs
