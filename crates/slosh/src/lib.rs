//! slosh
