//! Events from whoever causes them to every page that listens.

use serve::wire::Event;
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};

/// Events that a listener may be behind.
const BEHIND: usize = 256;

/// All listeners.
#[derive(Default)]
pub struct Hub(Mutex<Vec<SyncSender<Event>>>);

impl Hub {
    /// Everything that is told from now on. The stream of a listener that is too far behind ends: who asks anew afterwards
    /// misses nothing that still stands.
    pub fn listen(&self) -> Receiver<Event> {
        let (sender, receiver) = sync_channel(BEHIND);
        self.listeners().push(sender);
        receiver
    }

    /// Tells everybody.
    pub fn tell(&self, event: &Event) {
        self.listeners()
            .retain(|listener| match listener.try_send(event.clone()) {
                Ok(()) => true,
                Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => false,
            });
    }

    fn listeners(&self) -> std::sync::MutexGuard<'_, Vec<SyncSender<Event>>> {
        self.0.lock().expect("no holder of this lock panics")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_listeners_hear_in_order_and_one_that_sleeps_is_let_go() {
        let hub = Hub::default();
        let (awake, asleep) = (hub.listen(), hub.listen());
        for id in 0..2 * BEHIND as u32 {
            hub.tell(&Event::Forgotten { id });
            assert_eq!(awake.try_recv(), Ok(Event::Forgotten { id }));
        }
        assert_eq!(asleep.iter().count(), BEHIND, "its stream ends");
    }
}
