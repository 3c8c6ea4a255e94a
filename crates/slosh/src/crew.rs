//! Threads that stand by: a pass is over in some tens of microseconds, and a thread that has to be woken comes too
//! late for it. Mates look for work in a tight loop while a solver is at work, give way to others after a while, and
//! sleep when nothing has come for longer.

use std::sync::atomic::{AtomicBool, AtomicPtr, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};

/// Looks before a thread that waits gives way to other programs: some 10 µs. Where more threads want to run than there
/// are cores, the one waited for may be one of those that are given way to.
const EAGER: u32 = 400;
/// Times it gives way before it sleeps.
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
    /// Number of the last job that was called.
    called: AtomicUsize,
    /// The job, in a variable of the caller that lives until every mate has taken itself off `left`.
    job: AtomicPtr<()>,
    parts: AtomicUsize,
    /// Mates that have not ended the job.
    left: AtomicUsize,
    asleep: Vec<AtomicBool>,
    broken: AtomicBool,
    stop: AtomicBool,
}

impl Crew {
    /// A crew of `threads`, the caller's among them.
    pub fn new(threads: usize) -> std::io::Result<Crew> {
        let mates = threads.saturating_sub(1);
        let board = Arc::new(Board {
            called: AtomicUsize::new(0),
            job: AtomicPtr::new(std::ptr::null_mut()),
            parts: AtomicUsize::new(0),
            left: AtomicUsize::new(0),
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
        let free = self.calling.try_lock();
        if parts < 2 || self.mates.is_empty() || free.is_err() {
            (0..parts).for_each(job);
            return;
        }
        let board = &*self.board;
        board.parts.store(parts, Ordering::Relaxed);
        board.left.store(self.mates.len(), Ordering::Relaxed);
        board
            .job
            .store(std::ptr::from_ref(&job).cast_mut().cast(), Ordering::Relaxed);
        board.called.fetch_add(1, Ordering::SeqCst);
        // From here on the job must outlive the mates' work, whatever happens in the caller's own part.
        let ended = AllEnded(board);
        for (mate, asleep) in self.mates.iter().zip(&board.asleep) {
            if asleep.load(Ordering::SeqCst) {
                mate.thread().unpark();
            }
        }
        (0..parts).step_by(1 + self.mates.len()).for_each(job);
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

/// Waits on drop until no mate is at work.
struct AllEnded<'a>(&'a Board);

impl Drop for AllEnded<'_> {
    fn drop(&mut self) {
        let mut looks = 0;
        while self.0.left.load(Ordering::Acquire) > 0 {
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
    /// The life of a mate.
    fn stand_by(&self, mate: usize) {
        let mut seen = 0;
        while self.wait(mate, seen) {
            seen += 1;
            let parts = self.parts.load(Ordering::Relaxed);
            let work = || {
                (mate + 1..parts)
                    .step_by(1 + self.asleep.len())
                    .for_each(self.job());
            };
            if std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)).is_err() {
                self.broken.store(true, Ordering::Relaxed);
            }
            self.left.fetch_sub(1, Ordering::Release);
        }
    }

    /// Waits for the job after number `seen`; false when there will be none.
    fn wait(&self, mate: usize, seen: usize) -> bool {
        let mut looks = 0;
        loop {
            if self.called.load(Ordering::Acquire) != seen {
                return true;
            }
            if self.stop.load(Ordering::Relaxed) {
                return false;
            }
            looks += 1;
            if looks < EAGER {
                std::hint::spin_loop();
            } else if looks < EAGER + PATIENT {
                thread::yield_now();
            } else {
                // The caller counts up and then looks who sleeps; a mate says that it sleeps and then looks at the
                // count. One of them sees the other.
                self.asleep[mate].store(true, Ordering::SeqCst);
                if self.called.load(Ordering::SeqCst) == seen && !self.stop.load(Ordering::SeqCst) {
                    thread::park();
                }
                self.asleep[mate].store(false, Ordering::SeqCst);
            }
        }
    }

    /// The job that was called last.
    #[allow(
        unsafe_code,
        reason = "a job borrows from its caller's stack, which no safe type lets a standing thread do"
    )]
    fn job(&self) -> Job<'_> {
        let job = self.job.load(Ordering::Relaxed) as *const Job;
        // SAFETY: only a mate that is counted in `left` asks, after it saw `called` go up (acquire), which came after
        // the pointer was stored. `Crew::run` has it point at its own argument and does not return, nor unwind, before
        // `left` is zero (`AllEnded`), so the argument and all it borrows are alive; only one caller at a time gets there
        // (`calling`). `Job` is `Sync`, so several threads may call it.
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
