//! Any bytes as a question of the page: the first chooses the address, the rest is the body. Answered by a house that
//! knows nothing, or refused with words.
#![no_main]

use libfuzzer_sys::fuzz_target;
use serve::question::{Asked, asked};
use serve::wire::*;
use serve::{Answer, Refused, Workshop, Wrong};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};

struct Empty;

fn nothing<T>() -> Answer<T> {
    Err(Refused {
        wrong: Wrong::Missing,
        faults: Vec::new(),
    })
}

impl Workshop for Empty {
    fn project(&self) -> Answer<Project> {
        nothing()
    }
    fn pan(&self, _: &Variant) -> Answer<PanAnswer> {
        nothing()
    }
    fn still(&self, _: &StillAsk) -> Answer<StillAnswer> {
        nothing()
    }
    fn lap(&self, _: &Variant) -> Answer<LapAnswer> {
        nothing()
    }
    fn round(&self, _: &Variant) -> Answer<RoundAnswer> {
        nothing()
    }
    fn section(&self, _: &SectionAsk) -> Answer<SectionAnswer> {
        nothing()
    }
    fn save(&self, _: &SaveAsk) -> Answer<SaveAnswer> {
        nothing()
    }
    fn runs(&self) -> Answer<Vec<Run>> {
        nothing()
    }
    fn start(&self, _: &RunAsk) -> Answer<Run> {
        nothing()
    }
    fn stop(&self, _: u32) -> Answer<Run> {
        nothing()
    }
    fn resume(&self, _: u32) -> Answer<Run> {
        nothing()
    }
    fn forget(&self, _: u32) -> Answer<()> {
        nothing()
    }
    fn frames(&self, _: u32, _: usize, _: usize) -> Answer<FramesAnswer> {
        nothing()
    }
    fn file(&self, _: u32, name: &str) -> Answer<PathBuf> {
        // The promise of the wire: a name that comes through stays below any folder it is joined to.
        let path = PathBuf::from(name);
        assert!(path.components().all(|part| matches!(part, std::path::Component::Normal(_))), "{name:?}");
        nothing()
    }
    fn events(&self) -> Receiver<Event> {
        channel().1
    }
}

fuzz_target!(|bytes: &[u8]| {
    let Some((which, body)) = bytes.split_first() else { return };
    let text = String::from_utf8_lossy(body);
    let (path, query) = text.split_once('?').unwrap_or((&text, ""));
    let named = ["pan", "still", "lap", "round", "section", "save", "runs"];
    let (method, path) = match named.get(usize::from(*which)) {
        Some(path) => ("POST", *path),
        None if which % 2 == 0 => ("GET", path),
        None => ("POST", path),
    };
    let answered = match asked(method, path, Some(query)) {
        Ok(Asked::Events) => return,
        Ok(Asked::Whole(question)) => question.put(&Empty).map(|_| ()),
        Ok(Asked::Body(read)) => read(body).and_then(|question| question.put(&Empty).map(|_| ())),
        Err(refusing) => Err(refusing),
    };
    assert!((400..500).contains(&answered.expect_err("an empty house has no answer").status));
});
