//! Ctrl-C: the first asks every run to store its state and stop, the second ends the program at once.

use crate::overseer;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Asked to stop?
#[derive(Clone, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Listens for Ctrl-C (and the system's polite request to end).
    pub fn listen() -> Stop {
        let stop = Stop::default();
        let flag = stop.clone();
        // Without a handler a Ctrl-C ends the program at once; the last checkpoint still serves.
        let _ = ctrlc::set_handler(move || {
            if flag.0.swap(true, Ordering::SeqCst) {
                std::process::exit(3);
            }
        });
        overseer::stops(&stop);
        stop
    }

    /// Asks.
    pub fn ask(&self) {
        self.0.store(true, Ordering::SeqCst);
    }

    /// True once asked.
    pub fn asked(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }
}
