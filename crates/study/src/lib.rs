//! Many designs: what is varied, how it is sampled, searched and shared out, what the results say.
//!
//! Deliberately does not know how one design is computed, nor files: whoever computes a case hands its figures back.
