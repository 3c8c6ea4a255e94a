//! Threads that stand by: a pass is over in some tens of microseconds, and a thread that has to be woken comes too
//! late for it. Mates look for work in a tight loop while a solver is at work, give way to others after a while, and
//! sleep when nothing has come for longer.
//!
//! Parts are taken, not dealt out: where other programs keep a mate off its core, the caller does the mate's part
//! itself. Dealt out, a step waited for the scheduler at every pass (twenty times as long a step beside two busy
//! programs on two cores).

use std::sync::atomic::{AtomicBool, AtomicPtr, AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};

/// Looks before a thread that waits gives way to other programs: some 10 µs.
const EAGER: u32 = 400;
/// Times that a mate gives way before it sleeps.
const PATIENT: u32 = 3000;

/// What a pass does in each of its parts.
type Job<'a> = &'a (dyn Fn(usize) + Sync);

/// The caller's thread and its mates.
pub(crate) struct Crew {
    board: Arc<Board>,
    mates: Vec<JoinHandle<()>>,
    calling: Mutex<()>,
}

/// What caller and mates tell each other.
struct Board {
    /// The call that is up: its number and the parts that are left, as [`Call`] packs them.
    call: AtomicU64,
    /// The job, in a variable of the caller that lives until every taken part is done.
    job: AtomicPtr<()>,
    /// Parts of the call that are done.
    done: AtomicUsize,
    asleep: Vec<AtomicBool>,
    broken: AtomicBool,
    stop: AtomicBool,
}

/// A call for work in one word, so that a part is taken from the call that was looked at or not at all. Parts `low` to
/// `high - 1` are left: the caller takes from below and mates from above, so that with like parts every pass finds
/// its cells in the cache of the same core.
#[derive(Clone, Copy)]
struct Call {
    number: u32,
    low: u16,
    high: u16,
}

/// From which end a part is taken.
#[derive(Clone, Copy, PartialEq)]
enum End {
    Low,
    High,
}

impl Call {
    fn pack(self) -> u64 {
        u64::from(self.number) << 32 | u64::from(self.low) << 16 | u64::from(self.high)
    }

    fn unpack(word: u64) -> Call {
        Call {
            number: (word >> 32) as u32,
            low: (word >> 16) as u16,
            high: word as u16,
        }
    }

    fn left(self) -> u16 {
        self.high - self.low
    }
}

impl Crew {
    /// A crew of `threads`, the caller's among them.
    pub fn new(threads: usize) -> std::io::Result<Crew> {
        let mates = threads.saturating_sub(1);
        let board = Arc::new(Board {
            call: AtomicU64::new(0),
            job: AtomicPtr::new(std::ptr::null_mut()),
            done: AtomicUsize::new(0),
            asleep: (0..mates).map(|_| AtomicBool::new(false)).collect(),
            broken: AtomicBool::new(false),
            stop: AtomicBool::new(false),
        });
        let mut crew = Crew {
            board: board.clone(),
            mates: Vec::with_capacity(mates),
            calling: Mutex::new(()),
        };
        for mate in 0..mates {
            let board = board.clone();
            let started = thread::Builder::new()
                .name(format!("oil {}", mate + 1))
                .spawn(move || board.stand_by(mate))?;
            crew.mates.push(started);
        }
        Ok(crew)
    }

    /// Does `job(0)` to `job(parts - 1)`, side by side, and returns when all are done.
    pub fn run(&self, parts: usize, job: Job) {
        let calling = self.calling.try_lock();
        let alone = parts < 2 || self.mates.is_empty() || calling.is_err();
        let (Ok(count), false) = (u16::try_from(parts), alone) else {
            (0..parts).for_each(job);
            return;
        };
        let board = &*self.board;
        board.done.store(0, Ordering::Relaxed);
        let pointer = std::ptr::from_ref(&job).cast_mut().cast();
        board.job.store(pointer, Ordering::Relaxed);
        let before = Call::unpack(board.call.load(Ordering::Relaxed));
        let call = Call {
            number: before.number.wrapping_add(1),
            low: 0,
            high: count,
        };
        board.call.store(call.pack(), Ordering::SeqCst);
        // From here on the job must outlive what is taken of it, whatever happens in the caller's own parts.
        let ended = Ended(board, count);
        for (mate, asleep) in self.mates.iter().zip(&board.asleep) {
            if asleep.load(Ordering::SeqCst) {
                mate.thread().unpark();
            }
        }
        while let Some(part) = board.take(End::Low) {
            let _done = Done(board);
            job(part);
        }
        drop(ended);
        assert!(
            !board.broken.swap(false, Ordering::Relaxed),
            "a thread of the solver broke down"
        );
    }
}

impl Drop for Crew {
    fn drop(&mut self) {
        self.board.stop.store(true, Ordering::SeqCst);
        for mate in self.mates.drain(..) {
            mate.thread().unpark();
            // A mate catches what breaks in its work, so it ends well.
            let _ = mate.join();
        }
    }
}

/// Counts a part as done on drop.
struct Done<'a>(&'a Board);

impl Drop for Done<'_> {
    fn drop(&mut self) {
        self.0.done.fetch_add(1, Ordering::Release);
    }
}

/// Takes the call of so many parts down on drop and waits until all that was taken of it is done.
struct Ended<'a>(&'a Board, u16);

impl Drop for Ended<'_> {
    fn drop(&mut self) {
        let Board { call, done, .. } = self.0;
        // Nobody else puts a call up, so the word changes only by parts being taken.
        let number = Call::unpack(call.load(Ordering::Acquire)).number;
        let down = Call {
            number,
            low: 0,
            high: 0,
        };
        let last = Call::unpack(call.swap(down.pack(), Ordering::AcqRel));
        let taken = self.1 - last.left();
        let mut looks = 0;
        while done.load(Ordering::Acquire) < usize::from(taken) {
            looks += 1;
            if looks < EAGER {
                std::hint::spin_loop();
            } else {
                thread::yield_now();
            }
        }
    }
}

impl Board {
    /// Takes a part of the call that is up, if one is left.
    fn take(&self, end: End) -> Option<usize> {
        let before = self
            .call
            .fetch_update(Ordering::AcqRel, Ordering::Acquire, |word| {
                let call = Call::unpack(word);
                let (low, high) = match end {
                    End::Low => (call.low + 1, call.high),
                    End::High => (call.low, call.high.saturating_sub(1)),
                };
                (call.left() > 0).then(|| Call { low, high, ..call }.pack())
            });
        let call = Call::unpack(before.ok()?);
        Some(usize::from(match end {
            End::Low => call.low,
            End::High => call.high - 1,
        }))
    }

    /// The life of a mate.
    fn stand_by(&self, mate: usize) {
        while self.wait(mate) {
            while let Some(part) = self.take(End::High) {
                let done = Done(self);
                let job = std::panic::AssertUnwindSafe(|| self.job()(part));
                if std::panic::catch_unwind(job).is_err() {
                    self.broken.store(true, Ordering::Relaxed);
                }
                drop(done);
            }
        }
    }

    /// Waits until a part may be left to take; false when there will be none.
    fn wait(&self, mate: usize) -> bool {
        let is_up = || Call::unpack(self.call.load(Ordering::SeqCst)).left() > 0;
        let mut looks = 0;
        while !is_up() {
            if self.stop.load(Ordering::SeqCst) {
                return false;
            }
            looks += 1;
            if looks < EAGER {
                std::hint::spin_loop();
            } else if looks < EAGER + PATIENT {
                thread::yield_now();
            } else {
                // The caller puts a call up and then looks who sleeps; a mate says that it sleeps and then looks for a
                // call. One of them sees the other.
                self.asleep[mate].store(true, Ordering::SeqCst);
                if !is_up() && !self.stop.load(Ordering::SeqCst) {
                    thread::park();
                }
                self.asleep[mate].store(false, Ordering::SeqCst);
            }
        }
        true
    }

    /// The job of the call that a part was taken of.
    #[allow(
        unsafe_code,
        reason = "a job borrows from its caller's stack, which no safe type lets a standing thread do"
    )]
    fn job(&self) -> Job<'_> {
        let job = self.job.load(Ordering::Relaxed) as *const Job;
        // SAFETY: only a mate that has taken a part and not yet counted it done asks. The pointer was stored before the
        // call was put up, and taking the part acquired that. `Crew::run` has it point at its own argument; it does
        // not return, nor unwind, nor let another call be put up before all that was taken is done (`Ended`, and
        // `calling` for other callers), so the argument and all it borrows are alive. A `Job` is `Sync`, so several
        // threads may call it.
        unsafe { *job }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_is_done_once_whatever_the_number_of_threads() {
        for threads in 1..5 {
            let crew = Crew::new(threads).expect("threads start");
            for round in 0..2000 {
                let parts = round % 7;
                let done: Vec<_> = (0..parts).map(|_| AtomicUsize::new(0)).collect();
                crew.run(parts, &|part| {
                    done[part].fetch_add(round + 1, Ordering::Relaxed);
                });
                assert!(done.iter().all(|d| d.load(Ordering::Relaxed) == round + 1));
            }
        }
    }

    #[test]
    fn a_mate_that_is_held_up_holds_up_its_own_part_only() {
        let crew = Crew::new(2).expect("threads start");
        let caller = thread::current().id();
        for _ in 0..50 {
            let done = AtomicUsize::new(0);
            crew.run(6, &|_| {
                let start = std::time::Instant::now();
                // Only the caller can do the other five.
                while thread::current().id() != caller && done.load(Ordering::SeqCst) < 5 {
                    assert!(start.elapsed().as_secs() < 10, "the others wait for it");
                }
                done.fetch_add(1, Ordering::SeqCst);
            });
            assert_eq!(done.load(Ordering::SeqCst), 6);
        }
    }

    #[test]
    fn a_crew_that_fell_asleep_wakes() {
        let crew = Crew::new(3).expect("threads start");
        for _ in 0..5 {
            thread::sleep(std::time::Duration::from_millis(60));
            let done = AtomicUsize::new(0);
            crew.run(3, &|_| {
                done.fetch_add(1, Ordering::Relaxed);
            });
            assert_eq!(done.load(Ordering::Relaxed), 3);
        }
    }

    #[test]
    fn work_that_breaks_breaks_the_caller_and_the_crew_goes_on() {
        let crew = Crew::new(2).expect("threads start");
        for bad in 0..2 {
            let run = || crew.run(2, &|part| assert!(part != bad, "meant to break"));
            assert!(std::panic::catch_unwind(std::panic::AssertUnwindSafe(run)).is_err());
            let done = AtomicUsize::new(0);
            crew.run(2, &|_| {
                done.fetch_add(1, Ordering::Relaxed);
            });
            assert_eq!(done.load(Ordering::Relaxed), 2);
        }
    }
}
