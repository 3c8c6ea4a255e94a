//! Many designs: what is varied, how it is sampled, searched and shared out, what the results say.
//!
//! A [`Plan`] says which inputs move ([`Spread`]) and how cases are picked ([`Method`]). Cases are numbered from 0; each is a
//! *draw*, one number from 0 to 1 for each input, that depends on the plan and the number alone, so any machine may work any
//! slice. A search picks its next generation from the scores of the ones before ([`search`]). What comes back are
//! [`Figures`], and three readings of them: which cases nothing beats ([`front`]), how much of the scatter each input makes
//! ([`sensitivity`]), how likely the pump draws air ([`chance`]).
//!
//! Deliberately does not know how one design is computed, nor files: whoever computes a case hands its figures back.

pub mod chance;
mod dice;
mod figures;
pub mod front;
mod plan;
pub mod sample;
pub mod search;
pub mod sensitivity;

pub use figures::{Figure, Figures};
pub use plan::{Method, Plan, PlanFault, Spread};
