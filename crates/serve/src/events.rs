//! Events to every page that listens. A reader that does not keep up loses the oldest and holds nobody up.

use crate::wire::Event;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use tokio::sync::Notify;

/// Events held for one reader.
const HELD: usize = 256;

/// Where events come in.
#[derive(Default)]
pub struct Events {
    readers: Mutex<Vec<Weak<Reader>>>,
}

/// One page.
#[derive(Default)]
pub struct Reader {
    held: Mutex<VecDeque<Event>>,
    wake: Notify,
}

/// What a lock guards here is whole after every statement, so a panic elsewhere has spoilt nothing.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Events {
    /// A new reader, who gets all that happens from now on.
    pub fn listen(&self) -> Arc<Reader> {
        let reader = Arc::new(Reader::default());
        let mut readers = locked(&self.readers);
        readers.retain(|reader| reader.strong_count() > 0);
        readers.push(Arc::downgrade(&reader));
        reader
    }

    /// Tells all readers.
    pub fn tell(&self, event: &Event) {
        for reader in locked(&self.readers).iter().filter_map(Weak::upgrade) {
            reader.take(event.clone());
        }
    }
}

impl Reader {
    /// How a run stands now takes the place of how it stood, so that progress pushes nothing else out.
    fn take(&self, event: Event) {
        let mut held = locked(&self.held);
        if let Event::Run { run } = &event {
            held.retain(|old| !matches!(old, Event::Run { run: old } if old.id == run.id));
        }
        if held.len() == HELD {
            held.pop_front();
        }
        held.push_back(event);
        self.wake.notify_one();
    }

    /// The oldest that is held, waiting for one when there is none.
    pub async fn next(&self) -> Event {
        loop {
            if let Some(event) = locked(&self.held).pop_front() {
                return event;
            }
            self.wake.notified().await;
        }
    }
}

/// An event as it passes over the wire, named by its kind.
pub fn line(event: &Event) -> String {
    let kind = match event {
        Event::Run { .. } => "run",
        Event::Forgotten { .. } => "forgotten",
        Event::Changed { .. } => "changed",
        Event::Alive => "alive",
    };
    let data = serde_json::to_string(event).expect("an event is plain data");
    format!("event: {kind}\ndata: {data}\n\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changed(n: usize) -> Event {
        Event::Changed {
            design: n.to_string(),
            digest: None,
        }
    }

    #[test]
    fn a_slow_reader_loses_the_oldest() {
        let events = Events::default();
        let reader = events.listen();
        for n in 0..HELD + 3 {
            events.tell(&changed(n));
        }
        let held: Vec<Event> = locked(&reader.held).iter().cloned().collect();
        assert_eq!(held.len(), HELD);
        assert_eq!(held[0], changed(3));
        assert_eq!(held[HELD - 1], changed(HELD + 2));
    }

    #[test]
    fn one_that_left_is_not_kept() {
        let events = Events::default();
        drop(events.listen());
        let _stays = events.listen();
        assert_eq!(locked(&events.readers).len(), 1);
    }
}
