//! What the server asks of the house.

use crate::wire::{
    Event, Fault, FramesAnswer, LapAnswer, PanAnswer, Project, RoundAnswer, Run, RunAsk, SaveAnswer, SaveAsk,
    SectionAnswer, SectionAsk, StillAnswer, StillAsk, Variant,
};
use std::path::PathBuf;
use std::sync::mpsc::Receiver;

/// Which kind of refusal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// What was asked is wrong (422).
    Input,
    /// Something on disk is not what it was (409).
    Conflict,
    /// There is no such design, run or file (404).
    Missing,
    /// It could not be computed or written (500).
    Computing,
}

/// A question without an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// Which kind.
    pub wrong: Wrong,
    /// All that is wrong; at least one.
    pub faults: Vec<Fault>,
}

/// An answer, or why there is none.
pub type Answer<T> = Result<T, Refused>;

/// The house behind the page. All of it may be called from many threads at once.
pub trait Workshop: Send + Sync + 'static {
    /// The folder and its designs.
    fn project(&self) -> Answer<Project>;
    /// The pan and its controls.
    fn pan(&self, variant: &Variant) -> Answer<PanAnswer>;
    /// Oil at rest.
    fn still(&self, ask: &StillAsk) -> Answer<StillAnswer>;
    /// The drive by bays.
    fn lap(&self, variant: &Variant) -> Answer<LapAnswer>;
    /// First dry by direction.
    fn round(&self, variant: &Variant) -> Answer<RoundAnswer>;
    /// A part of the report.
    fn section(&self, ask: &SectionAsk) -> Answer<SectionAnswer>;
    /// Writes a revision.
    fn save(&self, ask: &SaveAsk) -> Answer<SaveAnswer>;
    /// All runs, oldest first.
    fn runs(&self) -> Answer<Vec<Run>>;
    /// Puts a run into the queue.
    fn start(&self, ask: &RunAsk) -> Answer<Run>;
    /// Stops a run, which can go on later; one that waits is taken out of the queue.
    fn stop(&self, id: u32) -> Answer<Run>;
    /// Puts a stopped run back into the queue.
    fn resume(&self, id: u32) -> Answer<Run>;
    /// Takes a run that does not compute off the list; what it wrote stays on disk.
    fn forget(&self, id: u32) -> Answer<()>;
    /// Pictures of a run's moment from a frame on.
    fn frames(&self, id: u32, moment: usize, from: usize) -> Answer<FramesAnswer>;
    /// A file that a run wrote: inside its folder, links followed, or none.
    fn file(&self, id: u32, name: &str) -> Answer<PathBuf>;
    /// Everything that happens from now on. A reader that does not keep up loses the oldest.
    fn events(&self) -> Receiver<Event>;
}
