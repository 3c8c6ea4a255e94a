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
mod refusals;
mod round;
mod save;
mod section;
mod shelf;
mod still;
mod watch;

pub use hub::Hub;

use refusals::{missing, refused};
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
}

impl House {
    /// The house of a folder.
    ///
    /// # Errors
    /// When there is no such folder, or `opened` is no file in it.
    pub fn of(folder: &Path, opened: Option<String>) -> Answer<House> {
        let gone = |_| missing("there is no such folder", &folder.display().to_string());
        let folder = folder.canonicalize().map_err(gone)?;
        let house = House {
            shelf: Arc::new(Shelf::new(folder.clone())),
            folder,
            opened,
            watch: Arc::default(),
            hub: Arc::default(),
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
        Ok(house)
    }
}

fn not_yet<T>() -> Answer<T> {
    Err(refused(Wrong::Computing, "this is not answered yet", "", ""))
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
        not_yet()
    }

    fn start(&self, _ask: &RunAsk) -> Answer<Run> {
        not_yet()
    }

    fn stop(&self, _id: u32) -> Answer<Run> {
        not_yet()
    }

    fn resume(&self, _id: u32) -> Answer<Run> {
        not_yet()
    }

    fn forget(&self, _id: u32) -> Answer<()> {
        not_yet()
    }

    fn frames(&self, _id: u32, _moment: usize, _from: usize) -> Answer<FramesAnswer> {
        not_yet()
    }

    fn file(&self, _id: u32, _name: &str) -> Answer<PathBuf> {
        not_yet()
    }

    fn events(&self) -> Receiver<Event> {
        self.hub.listen()
    }
}

#[cfg(test)]
mod tests;
