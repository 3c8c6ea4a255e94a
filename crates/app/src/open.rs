//! What stands behind the page of `sumpwright open`: a folder with designs, asked again and again.
//!
//! Every question names a design and what is changed in it. The [`shelf`] keeps what was read and worked out lately, by the
//! bytes of the files and the changes; nobody waits for anybody else's computing. Answers are those of the commands: the
//! same functions, the same numbers.

mod controls;
mod hub;
mod lap;
mod pan;
mod project;
mod queue;
mod refusals;
mod round;
mod save;
mod section;
mod shelf;
mod still;
mod watch;

pub use hub::Hub;

use queue::Queue;
use refusals::{failure, missing, refused};
use serve::wire::{
    Event, FramesAnswer, LapAnswer, PanAnswer, Project, RoundAnswer, Run, RunAsk, SaveAnswer, SaveAsk,
    SectionAnswer, SectionAsk, StillAnswer, StillAsk, Variant,
};
use serve::workshop::{Answer, Workshop, Wrong};
use shelf::Shelf;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::Receiver;
use watch::Watch;

/// The house behind the page.
pub struct House {
    /// The folder that is served, links resolved.
    folder: PathBuf,
    /// The design named on the command line, relative to the folder.
    opened: Option<String>,
    /// What was read and worked out.
    shelf: Arc<Shelf>,
    /// Whose files are looked at.
    watch: Arc<Watch>,
    /// Who is told of what happens.
    pub hub: Arc<Hub>,
    /// What computes longer than a page waits.
    queue: Queue,
    /// What an earlier server left spoilt, in words.
    said: Option<String>,
}

impl House {
    /// The house of a folder.
    ///
    /// # Errors
    /// When there is no such folder, or `opened` is no file in it, or another server has its runs.
    pub fn of(folder: &Path, opened: Option<String>) -> Answer<House> {
        let gone = |_| missing("there is no such folder", &folder.display().to_string());
        let folder = folder.canonicalize().map_err(gone)?;
        let hub = Arc::<Hub>::default();
        let (queue, said) = Queue::of(&folder, Arc::clone(&hub)).map_err(|fault| failure(&folder, fault))?;
        let house = House {
            shelf: Arc::new(Shelf::new(folder.clone())),
            folder,
            opened,
            watch: Arc::default(),
            hub,
            queue,
            said,
        };
        if let Some(design) = &house.opened {
            house.shelf.path(design)?;
        }
        let failed = |e: std::io::Error| {
            refused(
                Wrong::Computing,
                format!("cannot start threads: {e}"),
                "",
                "end other programs",
            )
        };
        watch::start(&house.watch, &house.shelf, &house.hub).map_err(failed)?;
        // What is known of keys takes a second to gather; the first question finds it begun.
        std::thread::spawn(|| job::meaning("fill"));
        Ok(house)
    }

    /// What an earlier server left spoilt, in words.
    pub fn said(&self) -> Option<&str> {
        self.said.as_deref()
    }

    /// Ends what computes for this house, to go on with the next.
    pub fn end(&self) {
        self.queue.end();
    }
}

impl Workshop for House {
    fn project(&self) -> Answer<Project> {
        project::project(&self.folder, self.opened.clone())
    }

    fn pan(&self, variant: &Variant) -> Answer<PanAnswer> {
        self.watch.follow(&self.shelf, &variant.design);
        pan::pan(self, variant)
    }

    fn still(&self, ask: &StillAsk) -> Answer<StillAnswer> {
        still::still(self, ask)
    }

    fn lap(&self, variant: &Variant) -> Answer<LapAnswer> {
        lap::lap(self, variant)
    }

    fn round(&self, variant: &Variant) -> Answer<RoundAnswer> {
        round::round(self, variant)
    }

    fn section(&self, ask: &SectionAsk) -> Answer<SectionAnswer> {
        section::section(self, ask)
    }

    fn save(&self, ask: &SaveAsk) -> Answer<SaveAnswer> {
        save::save(self, ask)
    }

    fn runs(&self) -> Answer<Vec<Run>> {
        Ok(self.queue.runs())
    }

    fn start(&self, ask: &RunAsk) -> Answer<Run> {
        self.queue.start(&self.shelf, ask)
    }

    fn stop(&self, id: u32) -> Answer<Run> {
        self.queue.stop(id)
    }

    fn resume(&self, id: u32) -> Answer<Run> {
        self.queue.resume(id)
    }

    fn forget(&self, id: u32) -> Answer<()> {
        self.queue.forget(id)
    }

    fn frames(&self, id: u32, moment: usize, from: usize) -> Answer<FramesAnswer> {
        self.queue.frames(id, moment, from)
    }

    fn file(&self, id: u32, name: &str) -> Answer<PathBuf> {
        self.queue.file(id, name)
    }

    fn events(&self) -> Receiver<Event> {
        self.hub.listen()
    }
}

#[cfg(test)]
mod tests;
